"""How each column of a job list is read: from a text or a number to a value in base units."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from edgetime.durations import parse_duration
from edgetime.errors import UnitInvalid
from edgetime.load.make_load import THICKNESS_RANGE_MM
from edgetime.tooling import Catalogue
from edgetime.tooling.suggest import shown, suggest
from edgetime.units import parse_quantity

MOST_PIECES: Final = 100_000
"""Largest quantity of a job; more is a slip."""

MOST_METRES: Final = 1_000_000.0
"""Longest edge of a job [m]; more is a mistaken unit."""

DAY_REMEDY: Final = "Write the day as year-month-day, such as 2027-03-15."


class WrongValue(Exception):
    """One value that cannot be used.

    Attributes
    ----------
    what, remedy : str
        As of :class:`edgetime.errors.EdgetimeError`.
    """

    def __init__(self, what: str, remedy: str) -> None:
        self.what, self.remedy = what, remedy
        super().__init__(what)


@dataclass(frozen=True, slots=True)
class Context:
    """What a value is read with.

    Attributes
    ----------
    folder : Path
        Of the list; drawings are looked for from there.
    catalogue : Catalogue
        Knows the profiles, stones and stacks.
    decimal_comma : bool
        Whether texts may hold decimal commas.
    """

    folder: Path
    catalogue: Catalogue
    decimal_comma: bool


Read = Callable[[Any, Context], Any]

_COLUMN: Final = "edgetime.job_column"


def column(key: str, read: Read) -> dict[str, Any]:
    """Return the metadata of a field that a job list has a column for."""
    return {_COLUMN: (key, read)}


def column_of(metadata: Any) -> tuple[str, Read] | None:
    """Return the key of a field's column and how it is read; None for no column."""
    return metadata.get(_COLUMN)  # type: ignore[no-any-return]


def text(value: Any, _: Context) -> str:
    """Read a name."""
    if not isinstance(value, str):
        raise WrongValue(f"{shown(value)} is not a text.", "Write a name in quotes.")
    return value.strip()


def day(value: Any, _: Context) -> date:
    """Read a date."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    # Only the long form: 20270315 is more often a slip than a date.
    with suppress(ValueError):
        return datetime.strptime(str(value), "%Y-%m-%d").date()  # noqa: DTZ007  a day has no zone
    raise WrongValue(f"{shown(value)} is not a date.", DAY_REMEDY)


def drawings(value: Any, context: Context) -> tuple[str, ...]:
    """Read the paths of the drawings of one load; a text may hold several with ``;`` between."""
    found = []
    for name in value if isinstance(value, list) else str(value).split(";"):
        if not isinstance(name, str) or not name.strip():
            raise WrongValue(f"{shown(value)} does not name a drawing.", "Name a DXF file.")
        path = context.folder / name.strip()
        if not path.is_file():
            state = "is a folder" if path.is_dir() else "does not exist"
            raise WrongValue(
                f"The drawing {shown(name.strip())} {state}.",
                f"Give its path from the list's folder, {context.folder.as_posix()}.",
            )
        found.append(str(path))
    return tuple(found)


def whole(what: str, low: int, high: int) -> Read:
    """Return a reader of whole numbers within bounds."""
    allowed = f"Allowed: a whole number from {low} to {high}."

    def read(value: Any, _: Context) -> int:
        # What int() takes beyond signs and digits, such as 1_000, is a slip in a list.
        plain = isinstance(value, str) and value.strip().lstrip("+-").isdecimal()
        number = int(value) if plain and len(value) <= 20 else value
        if isinstance(number, bool) or not isinstance(number, int):
            raise WrongValue(f"The {what} is {shown(value)}, not a whole number.", allowed)
        if not low <= number <= high:
            raise WrongValue(f"The {what} is {number}, out of range.", allowed)
        return number

    return read


def _bare(value: Any) -> bool:
    if isinstance(value, str):
        return value.strip().replace(".", "", 1).isdecimal()
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def thickness(value: Any, _: Context) -> float:
    """Read a nominal thickness [mm]; a bare number is millimetres, as with ``--thickness``."""
    low, high = THICKNESS_RANGE_MM
    allowed = f"Allowed: {low:g} mm to {high:g} mm, or with another unit of length."
    try:
        number = float(value) if _bare(value) else parse_quantity(value, "length")
    except UnitInvalid as error:
        raise WrongValue(error.what, error.remedy or allowed) from None
    if not low <= number <= high:
        raise WrongValue(f"The thickness is {shown(value)}, out of range.", allowed)
    return number


def _bounded(
    value: Any, number: Callable[[], float], fits: Callable[[float], bool], bound: str
) -> float:
    try:
        found = number()
    except UnitInvalid as error:
        raise WrongValue(error.what, error.remedy) from None
    if not fits(found):
        raise WrongValue(f"{shown(value)} is out of range.", f"Allowed: {bound}.")
    return found


def duration(clock: str, *, zero: bool) -> Read:
    """Return a reader of times [s], with what one colon separates, and whether 0 will do."""

    def read(value: Any, _: Context) -> float:
        bound = "at least 0" if zero else "above 0"
        return _bounded(
            value,
            lambda: parse_duration(value, clock=clock),
            lambda s: s >= 0.0 if zero else s > 0.0,
            bound,
        )

    return read


def area(value: Any, _: Context) -> float:
    """Read an area [mm²]."""
    return _bounded(value, lambda: parse_quantity(value, "area"), lambda a: a > 0.0, "above 0")


def probability(value: Any, _: Context) -> float:
    """Read a probability [-]."""
    allowed = "Allowed: 0 to 1, or 0 % to 100 %."
    try:
        number = parse_quantity(value, "ratio")
    except UnitInvalid as error:
        raise WrongValue(error.what, allowed) from None
    if not 0.0 <= number <= 1.0:
        raise WrongValue(f"The probability is {shown(value)}, out of range.", allowed)
    return number


def stone(value: Any, context: Context) -> str:
    """Read the name of a stone."""
    return _known("stone", value, context.catalogue.stones)


def stack(value: Any, context: Context) -> str:
    """Read the name of a stack."""
    return _known("stack", value, context.catalogue.stacks)


def _known(what: str, value: Any, records: Any) -> str:
    if not isinstance(value, str) or value not in records:
        raise WrongValue(
            f"There is no {what} {shown(value)}.", suggest(str(value), sorted(records))
        )
    return value


def metres(value: Any, context: Context) -> tuple[tuple[str, float], ...]:
    """Read lengths of edge by profile [m]: a table, or ``eased=12.5; seam=1.2``."""
    profiles = context.catalogue.profiles
    found: dict[str, float] = {}
    for name, length in value.items() if isinstance(value, dict) else _pairs(value):
        if name not in profiles:
            raise WrongValue(f"There is no profile {shown(name)}.", suggest(name, sorted(profiles)))
        if name in found:
            raise WrongValue(f"The profile {shown(name)} is given twice.", "Add its lengths up.")
        number = _metres(length, f"length of {name}", context)
        if not 0.0 <= number <= MOST_METRES:
            raise WrongValue(
                f"The length of {name} is {number:g} m; allowed is from 0 to "
                f"{MOST_METRES:,.0f} m.".replace(",", " "),
                "Give metres of edge.",
            )
        found[name] = number
    return tuple(found.items())


def _metres(value: Any, what: str, context: Context) -> float:
    if isinstance(value, str):
        written = value.removesuffix("m").strip()
        with suppress(ValueError):
            value = float(written.replace(",", ".") if context.decimal_comma else written)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise WrongValue(
            f"The {what} is {shown(value)}, not a number.", "Write a number of metres."
        )
    return float(value)


def _pairs(value: Any) -> list[tuple[str, str]]:
    found = []
    for pair in str(value).split(";"):
        name, sign, length = pair.partition("=")
        if not sign or not name.strip():
            raise WrongValue(
                f"{shown(pair.strip())} is not a profile with its metres.",
                "Write PROFILE=METRES, several separated by semicolons: eased=12.5; seam=1.2.",
            )
        found.append((name.strip(), length.strip()))
    return found
