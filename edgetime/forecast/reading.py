"""From the rows of a pipeline file to jobs, with everything wrong told at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from edgetime.errors import PipelineInvalid, UnitInvalid, Where
from edgetime.findings import Finding
from edgetime.forecast import codes
from edgetime.forecast.model import Job, Pipeline
from edgetime.forecast.sources import NEEDED, Row, Source, WrongValue, drawing_paths, read_source
from edgetime.load.build import THICKNESS_RANGE_MM, stack_serves
from edgetime.tooling.model import Catalogue
from edgetime.tooling.words import shown, suggest
from edgetime.units import parse_quantity

MOST_PIECES: Final = 100_000
"""Largest quantity of a job; more is a slip."""

MOST_METRES: Final = 1_000_000.0
"""Longest edge of a job [m]; more is a unit mistaken."""


def read_pipeline(path: str | Path, catalogue: Catalogue) -> Pipeline:
    """Read the jobs to come from a CSV or TOML file.

    Parameters
    ----------
    path : path
        The file; the drawings it names are looked for from its folder.
    catalogue : Catalogue
        Gives the names of profiles, stones and stacks, and the shop's defaults.

    Returns
    -------
    Pipeline
        Its jobs, in the order of the file.

    Raises
    ------
    PipelineInvalid
        The first thing wrong, with all others beside it: each with file, line, column or
        key, the value found and what is allowed.
    """
    source = read_source(Path(path), str(path))
    reader = _Reader(source, Path(path).parent, catalogue)
    jobs = [reader.job(row) for row in source.rows]
    errors = sorted([*source.errors, *reader.errors], key=lambda e: e.where.line or 0)
    if not source.rows and not errors:
        errors = [
            PipelineInvalid(
                "The pipeline holds no job.",
                where=Where(path=source.name),
                remedy="Add a line per job below the column names, or a [[job]] table.",
            )
        ]
    if errors:
        raise PipelineInvalid(
            errors[0].what, where=errors[0].where, remedy=errors[0].remedy, others=errors[1:]
        )
    return Pipeline(
        path=source.name,
        jobs=tuple(job for job in jobs if job is not None),
        findings=tuple(reader.findings),
    )


class _Reader:
    def __init__(self, source: Source, folder: Path, catalogue: Catalogue) -> None:
        self.source, self.folder, self.catalogue = source, folder, catalogue
        self.errors: list[PipelineInvalid] = []
        self.findings: list[Finding] = []

    def _where(self, row: Row, key: str) -> Where:
        return Where(path=self.source.name, line=row.lines.get(key, row.line), key=f"{row.at}{key}")

    def _value(self, row: Row, key: str, default: Any, read: Callable[[Any], Any]) -> Any:
        """Return a value as read, the default when it is missing or cannot be used."""
        if key not in row.values:
            if key in NEEDED:
                self._add(row, key, WrongValue(f"The job has no {key}.", _DATE_REMEDY))
            return default
        try:
            return read(row.values[key])
        except WrongValue as wrong:
            self._add(row, key, wrong)
            return default

    def _add(self, row: Row, key: str, wrong: WrongValue) -> None:
        where = self._where(row, key)
        self.errors.append(PipelineInvalid(wrong.what, where=where, remedy=wrong.remedy))

    def job(self, row: Row) -> Job | None:
        """Return the job of a row; None when its date cannot be read."""
        shop, before = self.catalogue.shop, len(self.errors)
        day = self._value(row, "date", None, _day)
        name = self._value(row, "name", "", _text)
        drawings = self._value(row, "drawing", (), self._drawings)
        metres = self._value(row, "metres", (), self._metres)
        stone = self._value(row, "stone", shop.stone, self._known("stone", self.catalogue.stones))
        thickness = self._value(row, "thickness", shop.thickness_mm, self._thickness)
        stack = self._value(row, "stack", None, self._known("stack", self.catalogue.stacks))
        quantity = self._value(row, "quantity", 1, _quantity)
        chance = self._value(row, "probability", 1.0, self._probability)
        if not ({"drawing", "metres"} & set(row.values)):
            wrong = WrongValue(
                "The job names neither a drawing nor metres of a profile.",
                "Give a DXF file in drawing, or lengths in metres such as eased=12.5.",
            )
            self._add(row, "drawing", wrong)
        if len(self.errors) > before:
            return None
        return Job(
            day=day,
            name=name,
            drawings=drawings,
            metres=metres,
            stone=stone,
            stack=self._stack(row, stack, stone, thickness),
            thickness_mm=thickness,
            quantity=quantity,
            probability=chance,
            line=row.line,
        )

    def _drawings(self, value: Any) -> tuple[str, ...]:
        return drawing_paths(value, self.folder, "pipeline")

    def _metres(self, value: Any) -> tuple[tuple[str, float], ...]:
        pairs = value.items() if isinstance(value, dict) else _pairs(value)
        found: dict[str, float] = {}
        for name, length in pairs:
            if name not in self.catalogue.profiles:
                raise WrongValue(
                    f"There is no profile {shown(name)}.",
                    suggest(name, sorted(self.catalogue.profiles)),
                )
            if name in found:
                raise WrongValue(f"The profile {shown(name)} stands twice.", "Add its lengths up.")
            metres = self._number(length, f"length of {name}")
            if not 0.0 <= metres <= MOST_METRES:
                raise WrongValue(
                    f"The length of {name} is {metres:g} m; allowed is from 0 to "
                    f"{MOST_METRES:,.0f} m.".replace(",", " "),
                    "Give metres of edge.",
                )
            found[name] = metres
        return tuple(found.items())

    def _number(self, value: Any, what: str) -> float:
        if isinstance(value, str):
            text = value.removesuffix("m").strip()
            text = text.replace(",", ".") if self.source.decimal_comma else text
            with suppress(ValueError):
                value = float(text)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise WrongValue(
                f"The {what} is {shown(value)}, no number.", "Write a number of metres."
            )
        return float(value)

    def _thickness(self, value: Any) -> float:
        low, high = THICKNESS_RANGE_MM
        allowed = f"Allowed: {low:g} mm to {high:g} mm, or with another unit of length."
        try:
            # A bare number is millimetres, as with --thickness.
            number = float(value) if _bare(value) else parse_quantity(value, "length")
        except UnitInvalid as error:
            raise WrongValue(error.what, error.remedy or allowed) from None
        if not low <= number <= high:
            raise WrongValue(f"The thickness is {shown(value)}, out of range.", allowed)
        return number

    def _probability(self, value: Any) -> float:
        allowed = "Allowed: 0 to 1, or 0 % to 100 %."
        try:
            number = parse_quantity(value, "ratio")
        except UnitInvalid as error:
            raise WrongValue(error.what, allowed) from None
        if not 0.0 <= number <= 1.0:
            raise WrongValue(f"The probability is {shown(value)}, out of range.", allowed)
        return number

    def _known(self, what: str, records: Iterable[str]) -> Callable[[Any], str]:
        def read(value: Any) -> str:
            if not isinstance(value, str) or value not in records:
                raise WrongValue(
                    f"There is no {what} {shown(value)}.", suggest(str(value), sorted(records))
                )
            return value

        return read

    def _stack(self, row: Row, stack: str | None, stone: str, thickness_mm: float) -> str:
        """Return the stack of a job: as named, else the shop's, else the first that serves."""
        catalogue = self.catalogue
        the_stone = catalogue.stones[stone]
        own = catalogue.shop.stack if stack is None else stack
        if stack_serves(catalogue.stacks[own], the_stone, thickness_mm):
            return own
        fitting = sorted(
            s.name for s in catalogue.stacks.values() if stack_serves(s, the_stone, thickness_mm)
        )
        where = self._where(row, "stack")
        if stack is None and fitting:
            self.findings.append(
                Finding(
                    codes.STACK_CHOSEN,
                    f"Stack {own} does not serve {stone} of {thickness_mm:g} mm; taken is "
                    f"{fitting[0]}.",
                    where,
                )
            )
            return fitting[0]
        self.errors.append(
            PipelineInvalid(
                f"Stack {own!r} does not serve {stone} of {thickness_mm:g} mm.",
                where=where,
                remedy=f"Stacks that do: {', '.join(fitting)}."
                if fitting
                else "No stack does; add one to the shop's stacks folder.",
            )
        )
        return own


_DATE_REMEDY: Final = "Write the day as year-month-day, such as 2027-03-15."


def _bare(value: Any) -> bool:
    if isinstance(value, str):
        return value.strip().replace(".", "", 1).isdecimal()
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _day(value: Any) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    try:
        # Only the long form: 20270315 is more often a slip than a day.
        return datetime.strptime(str(value), "%Y-%m-%d").date()  # noqa: DTZ007  a day has no zone
    except ValueError:
        raise WrongValue(f"{shown(value)} is no day.", _DATE_REMEDY) from None


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise WrongValue(f"{shown(value)} is no text.", "Write a name in quotes.")
    return value.strip()


def _quantity(value: Any) -> int:
    allowed = f"Allowed: a whole number from 0 to {MOST_PIECES}."
    if isinstance(value, str):
        text = value.strip()
        if not text.lstrip("+-").isdecimal() or len(text) > 20:
            raise WrongValue(f"The quantity is {shown(value)}, no whole number.", allowed)
        value = int(text)
    if isinstance(value, bool) or not isinstance(value, int):
        raise WrongValue(f"The quantity is {shown(value)}, no whole number.", allowed)
    if not 0 <= value <= MOST_PIECES:
        raise WrongValue(f"The quantity is {value}, out of range.", allowed)
    return value


def _pairs(value: Any) -> list[tuple[str, str]]:
    found = []
    for piece in str(value).split(";"):
        name, sign, length = piece.partition("=")
        if not sign or not name.strip():
            raise WrongValue(
                f"{shown(piece.strip())} is no profile with its metres.",
                "Write PROFILE=METRES, several parted by semicolons: eased=12.5; seam=1.2.",
            )
        found.append((name.strip(), length.strip()))
    return found
