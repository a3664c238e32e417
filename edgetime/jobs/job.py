"""Jobs of a list, for every command that reads one: what waits for a shift, what is to come."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, fields, replace
from datetime import date
from pathlib import Path
from typing import Any, Final, NamedTuple

from edgetime.durations import H_MIN, MIN_S
from edgetime.errors import EdgetimeError, PipelineInvalid, Where
from edgetime.jobs import columns
from edgetime.jobs.columns import MOST_PIECES, Context, WrongValue, column, column_of
from edgetime.jobs.rows import Row, read_rows
from edgetime.tooling import Catalogue

_MOST_PARTS: Final = 1000
"""Most parts of one load; more is a slip."""


@dataclass(frozen=True, kw_only=True)
class Job:
    """One line of a job list; each field with a column is read from it.

    Attributes
    ----------
    name : str
        As the shop calls it.
    day : date or None
        When it is cut: the tools must be there.
    drawings : tuple of str
        Paths; together they are one load. Empty for a job that is not drawn yet.
    metres : tuple of (str, float)
        Profile and length of edge of it, for jobs not drawn yet [m].
    quantity : int
        How many times the load is cut.
    due : date or None
        When it must be done.
    ready_s : float
        It cannot be loaded before, from the beginning of the shift [s].
    stone, stack : str or None
        Names in the catalogue; None for the command's or the shop's.
    thickness_mm : float or None
        Nominal; None likewise [mm].
    cycle_s : float or None
        Machine cycle to use instead of the estimated one [s].
    area_mm2 : float or None
        Of all parts, for a job without drawings [mm²].
    parts : int or None
        Number of parts, for a job without drawings.
    probability : float
        That the job comes [-].
    where : Where
        In the file.
    places : mapping of str to Where
        Where each of its columns that is given is written.
    """

    name: str = field(default="", metadata=column("name", columns.text))
    day: date | None = field(default=None, metadata=column("date", columns.day))
    drawings: tuple[str, ...] = field(default=(), metadata=column("drawing", columns.drawings))
    metres: tuple[tuple[str, float], ...] = field(
        default=(), metadata=column("metres", columns.metres)
    )
    quantity: int = field(
        default=1, metadata=column("quantity", columns.whole("quantity", 0, MOST_PIECES))
    )
    due: date | None = field(default=None, metadata=column("due", columns.day))
    ready_s: float = field(
        default=0.0, metadata=column("ready", columns.duration(H_MIN, zero=True))
    )
    stone: str | None = field(default=None, metadata=column("stone", columns.stone))
    thickness_mm: float | None = field(
        default=None, metadata=column("thickness", columns.thickness)
    )
    stack: str | None = field(default=None, metadata=column("stack", columns.stack))
    cycle_s: float | None = field(
        default=None, metadata=column("cycle", columns.duration(MIN_S, zero=False))
    )
    area_mm2: float | None = field(default=None, metadata=column("area", columns.area))
    parts: int | None = field(
        default=None, metadata=column("parts", columns.whole("number of parts", 1, _MOST_PARTS))
    )
    probability: float = field(default=1.0, metadata=column("probability", columns.probability))
    where: Where = field(default_factory=Where)
    places: Mapping[str, Where] = field(default_factory=dict, compare=False)

    def at(self, key: str) -> Where:
        """Return where a column of the job is written, the job's own place if it is not given."""
        return self.places.get(key, self.where)


_COLUMNS: Final = tuple(
    (f.name, *found) for f in fields(Job) if (found := column_of(f.metadata)) is not None
)
COLUMNS: Final = tuple(key for _, key, _ in _COLUMNS)
"""Columns of a CSV file, keys of a ``[[job]]`` in a TOML file."""


class Wrong(NamedTuple):
    """Why a job cannot be used for what a command does.

    Attributes
    ----------
    key : str
        The column.
    what, remedy : str
        As of :class:`edgetime.errors.EdgetimeError`.
    """

    key: str
    what: str
    remedy: str


def read_jobs(
    path: str | Path,
    catalogue: Catalogue,
    *,
    needed: Sequence[str] = (),
    refuse: Callable[[Job], Iterable[Wrong]] = lambda _: (),
) -> tuple[Job, ...]:
    """Read a list of jobs from a CSV or TOML file.

    A list may have columns that one command needs and another does not: they are checked and
    kept.

    Parameters
    ----------
    path : path
        The file; the drawings it names are looked for from its folder.
    catalogue : Catalogue
        Gives the names of profiles, stones and stacks.
    needed : sequence of str
        Columns that a CSV file must have.
    refuse : callable, optional
        Yields what is wrong with a job for this command; ``job.places`` has the
        columns that are given, even those that cannot be read.

    Returns
    -------
    tuple of Job
        In the order of the file.

    Raises
    ------
    PipelineInvalid
        The first thing wrong, with all others beside it: each with file, line, column or
        key, the value found and what is allowed.
    """
    name = str(path)
    source = read_rows(Path(path), name, keys=COLUMNS, needed=needed)
    context = Context(Path(path).parent, catalogue, source.decimal_comma)
    errors = list(source.errors)
    jobs = []
    for number, row in enumerate(source.rows, 1):
        job, wrongs = _job(row, number, context)
        wrongs += refuse(job)
        errors += [PipelineInvalid(w.what, where=row.at(w.key), remedy=w.remedy) for w in wrongs]
        jobs.append(job)
    if not source.rows and not errors:
        errors.append(
            PipelineInvalid(
                "The list has no job.",
                where=Where(path=name),
                remedy="Add a line per job below the column names, or a [[job]] table.",
            )
        )
    if errors:
        first, *others = sorted(errors, key=lambda e: e.where.line or 0)
        raise PipelineInvalid(first.what, where=first.where, remedy=first.remedy, others=others)
    return tuple(jobs)


def _job(row: Row, number: int, context: Context) -> tuple[Job, list[Wrong]]:
    """Return the job of a row, with defaults for what cannot be read, and what that is."""
    found: dict[str, Any] = {}
    wrongs = []
    for name, key, read in _COLUMNS:
        if key in row.values:
            try:
                found[name] = read(row.values[key], context)
            except WrongValue as wrong:
                wrongs.append(Wrong(key, wrong.what, wrong.remedy))
    drawn = found.get("drawings")
    found["name"] = found.get("name") or (Path(drawn[0]).stem if drawn else f"job {number}")
    places = {key: row.at(key) for key in row.values}
    return Job(**found, where=row.where, places=places), wrongs


def named_by_row(error: EdgetimeError, where: Where) -> EdgetimeError:
    """Return what stops one job of a list, with the row that asks for it as its place.

    Parameters
    ----------
    error : EdgetimeError
        Such as of its drawing, or of a stack that does not suit its stone.
    where : Where
        The job's row, with the key that brought it about.

    Returns
    -------
    EdgetimeError
        Of the same kind; its own place is part of its text, and its others are beside it.
    """
    key = error.where.key or ""
    # An option that was not given is not a place.
    place = str(replace(error.where, key=None) if key.startswith("--") else error.where)
    return type(error)(
        f"{place}: {error.what}" if place else error.what,
        where=where,
        remedy=error.remedy,
        others=[named_by_row(other, where) for other in error.others],
    )


@contextmanager
def naming_the_row(job: Job) -> Iterator[None]:
    """Name the row of the list in all that stops its job; a job of no list is left alone.

    What an option would be blamed for is blamed on the list's own column; what is wrong with a
    drawing or a stack keeps its own place and its exit code.

    Parameters
    ----------
    job : Job
        Whose load is estimated.
    """
    try:
        yield
    except EdgetimeError as error:
        if job.where.path is None:
            raise
        key = (error.where.key or "").removeprefix("--")
        place = job.places.get(key)
        if place is not None and error.where.path is None:
            raise PipelineInvalid(error.what, where=place, remedy=error.remedy) from error
        # A stack that is not the row's own does not fit the row's stone or thickness.
        own = (key, "thickness", "stone", "drawing") if key == "stack" else (key, "drawing")
        row = next((job.places[k] for k in own if k in job.places), job.where)
        raise named_by_row(error, row) from error
