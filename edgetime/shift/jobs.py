"""The list of jobs that wait for a shift."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from edgetime.durations import H_MIN, MIN_S, parse_duration
from edgetime.errors import PipelineInvalid, UnitInvalid, Where
from edgetime.forecast.sources import Row, Source, WrongValue, drawing_paths, read_source
from edgetime.tooling.words import shown
from edgetime.units import parse_quantity

JOB_KEYS: Final = (
    "name",
    "drawing",
    "quantity",
    "due",
    "ready",
    "stone",
    "thickness",
    "stack",
    "cycle",
    "area",
    "parts",
)
"""Columns of a CSV file, keys of a ``[[job]]`` in a TOML file."""

_MOST: Final = 1000
"""Most loads of one job, and most parts of one load; more is a slip."""


@dataclass(frozen=True, kw_only=True)
class Job:
    """One line of the list.

    Attributes
    ----------
    name : str
        Of the job.
    drawings : tuple of str
        Paths; together they are one load. Empty for a job that is not drawn yet.
    quantity : int
        How many times the load is to be run.
    due : date or None
        When it must be done.
    ready_s : float
        It cannot be loaded before, from the beginning of the shift [s].
    stone, stack : str or None
        Names; the command's options, then the shop's defaults, when None.
    thickness_mm : float or None
        Nominal [mm].
    cycle_s : float or None
        Machine cycle to reckon with instead of the estimated one [s].
    area_mm2 : float or None
        Of all parts, for a job without drawings [mm²].
    parts : int or None
        For a job without drawings.
    where : Where
        In the file.
    places : mapping of str to Where
        Where each of its keys that is given stands.
    """

    name: str
    drawings: tuple[str, ...] = ()
    quantity: int = 1
    due: date | None = None
    ready_s: float = 0.0
    stone: str | None = None
    stack: str | None = None
    thickness_mm: float | None = None
    cycle_s: float | None = None
    area_mm2: float | None = None
    parts: int | None = None
    where: Where = field(default_factory=Where)
    places: Mapping[str, Where] = field(default_factory=dict, compare=False)


def read_jobs(path: str | Path) -> tuple[Job, ...]:
    """Read a list of jobs from a CSV or TOML file.

    Parameters
    ----------
    path : path
        The file; the drawings it names are looked for from its folder.

    Returns
    -------
    tuple of Job
        In the order of the file.

    Raises
    ------
    PipelineInvalid
        The first thing wrong, with all others beside it.
    """
    source = read_source(Path(path), str(path), keys=JOB_KEYS, needed=())
    reader = _Reader(source, Path(path).parent)
    jobs = [reader.job(row, number) for number, row in enumerate(source.rows, 1)]
    errors = sorted([*source.errors, *reader.errors], key=lambda e: e.where.line or 0)
    if not jobs and not errors:
        errors = [
            PipelineInvalid(
                "The list holds no job.",
                where=Where(path=source.name),
                remedy="Add a line per job below the column names, or a [[job]] table.",
            )
        ]
    if errors:
        first = errors[0]
        raise PipelineInvalid(first.what, where=first.where, remedy=first.remedy, others=errors[1:])
    return tuple(jobs)


class _Reader:
    def __init__(self, source: Source, folder: Path) -> None:
        self.source, self.folder = source, folder
        self.errors: list[PipelineInvalid] = []

    def _at(self, row: Row, key: str) -> Where:
        return Where(path=self.source.name, line=row.lines.get(key, row.line), key=row.at + key)

    def _add(self, row: Row, key: str, wrong: WrongValue) -> None:
        where = self._at(row, key)
        self.errors.append(PipelineInvalid(wrong.what, where=where, remedy=wrong.remedy))

    def _value(self, row: Row, key: str, default: Any, read: Callable[[Any], Any]) -> Any:
        if key not in row.values:
            return default
        try:
            return read(row.values[key])
        except WrongValue as wrong:
            self._add(row, key, wrong)
            return default

    def job(self, row: Row, number: int) -> Job:
        """Return the job of a row."""
        drawings = self._value(row, "drawing", (), self._drawings)
        stem = Path(drawings[0]).stem if drawings else f"job {number}"
        found = Job(
            name=self._value(row, "name", stem, _text),
            drawings=drawings,
            quantity=self._value(row, "quantity", 1, _whole("quantity")),
            due=self._value(row, "due", None, _day),
            ready_s=self._value(row, "ready", 0.0, _quantity("time", low=0.0, clock=H_MIN)),
            stone=self._value(row, "stone", None, _text),
            stack=self._value(row, "stack", None, _text),
            thickness_mm=self._value(row, "thickness", None, _quantity("length", above=0.0)),
            cycle_s=self._value(row, "cycle", None, _quantity("time", above=0.0, clock=MIN_S)),
            area_mm2=self._value(row, "area", None, _quantity("area", above=0.0)),
            parts=self._value(row, "parts", None, _whole("number of parts")),
            where=Where(path=self.source.name, line=row.line, key=row.at.rstrip(".") or None),
            places={key: self._at(row, key) for key in row.values},
        )
        if "drawing" in row.values:
            for key in ("area", "parts"):
                if key in row.values:
                    self._add(
                        row,
                        key,
                        WrongValue(
                            f"The job has a drawing, which gives its {key}.",
                            f"Leave out {key}, or the drawing.",
                        ),
                    )
        else:
            missing = [k for k in ("cycle", "area", "parts") if k not in row.values]
            if missing:
                self._add(
                    row,
                    "drawing",
                    WrongValue(
                        f"The job has no drawing, and no {', no '.join(missing)}.",
                        "Name a DXF file, or state cycle, area and parts: "
                        'cycle = "95 min", area = "8 m2", parts = 6.',
                    ),
                )
        return found

    def _drawings(self, value: Any) -> tuple[str, ...]:
        return drawing_paths(value, self.folder, "list")


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise WrongValue(f"{shown(value)} is no text.", "Write a name in quotes.")
    return value.strip()


def _day(value: Any) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    with suppress(ValueError):
        return datetime.strptime(str(value), "%Y-%m-%d").date()  # noqa: DTZ007  a day has no zone
    raise WrongValue(
        f"{shown(value)} is no day.", "Write the day as year-month-day, such as 2027-03-15."
    )


def _whole(what: str) -> Callable[[Any], int]:
    allowed = f"Allowed: a whole number from 1 to {_MOST}."

    def read(value: Any) -> int:
        if isinstance(value, str) and value.strip().isdecimal() and len(value) <= 20:
            value = int(value)
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= _MOST:
            raise WrongValue(f"The {what} is {shown(value)}.", allowed)
        return value

    return read


def _quantity(
    dimension: str,
    *,
    low: float | None = None,
    above: float | None = None,
    clock: str | None = None,
) -> Callable[[Any], float]:
    def quantity(value: Any) -> float:
        if clock is not None:
            return parse_duration(value, clock=clock)
        if dimension == "length" and str(value).strip().replace(".", "", 1).isdecimal():
            # A bare thickness is millimetres, as with --thickness.
            return float(value)
        return parse_quantity(value, dimension)

    def read(value: Any) -> float:
        try:
            number = quantity(value)
        except UnitInvalid as error:
            raise WrongValue(error.what, error.remedy) from None
        if (low is not None and number < low) or (above is not None and number <= above):
            bound = f"at least {low:g}" if low is not None else f"above {above:g}"
            raise WrongValue(f"{shown(value)} is out of range.", f"Allowed: {bound}.")
        return number

    return read
