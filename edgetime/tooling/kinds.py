"""Kinds of figures in the TOML files: how each is read, checked and described.

Every kind knows its own allowed range, so that one description serves the check, the
message and the generated reference.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Any, Final, get_args

from edgetime.amounts import separator_fault
from edgetime.durations import parse_duration
from edgetime.errors import UnitInvalid
from edgetime.tooling.suggest import shown, suggest
from edgetime.unit_table import UNITS
from edgetime.units import parse_quantity, unit_names


class Refused(Exception):
    """A value that its kind does not allow.

    Attributes
    ----------
    what, remedy : str
        As in :class:`edgetime.errors.EdgetimeError`.
    in_inches : str
        The remedy in a file that is written in inches, where it differs.
    """

    def __init__(self, what: str, remedy: str = "", *, in_inches: str = "") -> None:
        super().__init__(what)
        self.what, self.remedy, self.in_inches = what, remedy, in_inches or remedy


def not_read(value: Any, kind: str, allowed: str) -> Refused:
    """Return the error for a figure that is not of the form it must have.

    Parameters
    ----------
    value : any
        As written.
    kind : str
        What it should have been: ``price``.
    allowed : str
        The form.
    """
    fault = separator_fault(value) if isinstance(value, str) else None
    if fault is None:
        return Refused(f"{shown(value)} is not a {kind}.", f"Allowed: {allowed}.")
    return Refused(f"{fault[0]}.", f"{fault[1]} Allowed: {allowed}.")


class Kind:
    """A kind of figure.

    Subclasses implement :meth:`parse`, and give :attr:`form` or implement :meth:`allowed`.

    Attributes
    ----------
    suffix : str
        How the name of a field with such a figure ends: its internal unit, such as ``_mm``.
    form : str
        What is allowed, as a noun phrase, where that is the same for all of the kind.
    """

    suffix = ""
    form = ""

    def parse(self, value: Any) -> Any:
        """Return the checked value in internal units; raise :class:`Refused` otherwise."""
        raise NotImplementedError

    def allowed(self) -> str:
        """Return what is allowed, as a noun phrase."""
        return self.form

    def unit(self) -> str:
        """Return the units it is written in, empty for none."""
        return ""

    def out_of_range(self, value: Any, remedy: str = "Correct the number or its unit.") -> Refused:
        """Return the error for a value beyond what is allowed."""
        return Refused(f"{shown(value)} is out of range; allowed is {self.allowed()}.", remedy)


SUFFIXES: Final = {
    "length": "_mm",
    "area": "_mm2",
    "volume": "_mm3",
    "speed": "_mm_per_s",
    "acceleration": "_mm_per_s2",
    "jerk": "_mm_per_s3",
    "rotation": "_rad_per_s",
    "time": "_s",
    "time per length": "s_per_mm",
    "density": "_kg_per_m3",
    "flow": "_mm3_per_s",
    "power": "_w",
}
"""Dimension → the internal unit at the end of a field's name."""


class Quantity(Kind):
    """A number with a unit, within a range.

    Parameters
    ----------
    dimension : str
        A key of :data:`edgetime.units.UNITS`.
    above, at_least, at_most : str, optional
        Bounds as a person would write them; ``above`` is not itself allowed.
    word : str, optional
        A word that means no limit (infinity).
    usual : str
        A key of :data:`edgetime.usual_units.USUAL`: what to propose where the unit is missing;
        the dimension's own if empty.
    days : bool
        A time that is kept in days instead of seconds.
    """

    def __init__(
        self,
        dimension: str,
        *,
        above: str | None = None,
        at_least: str | None = None,
        at_most: str | None = None,
        word: str | None = None,
        usual: str = "",
        days: bool = False,
    ) -> None:
        self.dimension = dimension
        self.suffix = "_d" if days else SUFFIXES.get(dimension, "")
        self._scale = UNITS["time"]["d"] if days else 1.0
        self.word = word
        self.usual = usual
        self._above_text, self._least_text, self._most_text = above, at_least, at_most
        self._above = -math.inf if above is None else parse_quantity(above, dimension)
        self._least = -math.inf if at_least is None else parse_quantity(at_least, dimension)
        self._most = math.inf if at_most is None else parse_quantity(at_most, dimension)

    def parse(self, value: Any) -> float:
        """Return the quantity in the internal unit."""
        if self.word is not None and value == self.word:
            return math.inf
        try:
            number = self._read(value)
        except UnitInvalid as error:
            what = error.what
            if not isinstance(value, (str, int, float)) or isinstance(value, bool):
                what = f"{shown(value)} is not a quantity."
            remedy = error.remedy or f"Allowed: {self.allowed()}."
            raise Refused(what, remedy, in_inches=self._in_inches(value)) from None
        if not (self._above < number and self._least <= number <= self._most):
            raise self.out_of_range(value)
        return number / self._scale

    def _read(self, value: Any, *, inches: bool = False) -> float:
        if self.dimension == "time":
            return parse_duration(value, usual=self.usual)
        return parse_quantity(value, self.dimension, usual=self.usual, inches=inches)

    def _in_inches(self, value: Any) -> str:
        """Return the remedy for a quantity that cannot be read, beside figures in inches."""
        try:
            self._read(value, inches=True)
        except UnitInvalid as error:
            return error.remedy
        return ""

    def allowed(self) -> str:
        """Return the range in the units it was declared in."""
        bits = []
        if self._above_text is not None:
            bits.append(f"above {self._above_text}")
        if self._least_text is not None:
            bits.append(f"at least {self._least_text}")
        if self._most_text is not None:
            bits.append(f"at most {self._most_text}")
        article = "an" if self.dimension[0] in "aeiou" else "a"
        text = f"{article} {self.dimension} {' and '.join(bits)}".rstrip()
        return text if self.word is None else f'{text}, or "{self.word}"'

    def unit(self) -> str:
        """Return the units of the dimension."""
        return ", ".join(unit_names(self.dimension))


class Count(Kind):
    """A whole number, at least ``low`` and at most ``high``; a word may mean no limit."""

    def __init__(self, low: int, high: int, *, word: str | None = None) -> None:
        self.low, self.high, self.word = low, high, word

    def parse(self, value: Any) -> int | None:
        """Return the number, None for the word."""
        if self.word is not None and value == self.word:
            return None
        if isinstance(value, bool) or not isinstance(value, int):
            raise Refused(
                f"{shown(value)} is not a whole number; allowed is {self.allowed()}.",
                "Write the number without quotes and without a unit.",
            )
        if not self.low <= value <= self.high:
            raise self.out_of_range(value, "Correct the number.")
        return value

    def allowed(self) -> str:
        """Return the range."""
        text = f"a whole number from {self.low} to {self.high}"
        return text if self.word is None else f'{text}, or "{self.word}"'


class Several(Kind):
    """A list of a fixed number of figures of one kind, such as one for each axis.

    Parameters
    ----------
    kind : Kind
        Of each figure.
    labels : str
        What each one represents, in order.
    """

    def __init__(self, kind: Kind, *labels: str) -> None:
        self.kind, self.labels = kind, labels
        self.suffix = kind.suffix

    def parse(self, value: Any) -> tuple[Any, ...]:
        """Return the figures; the word for no limit may be given once for all of them."""
        word = getattr(self.kind, "word", None)
        if word is not None and value == word:
            return tuple(self.kind.parse(word) for _ in self.labels)
        if not isinstance(value, list) or len(value) != len(self.labels):
            found = f"a list of {len(value)}" if isinstance(value, list) else shown(value)
            raise Refused(
                f"Found {found} where {len(self.labels)} figures belong "
                f"({', '.join(self.labels)}).",
                f"Write a list of {len(self.labels)}, each {self.kind.allowed()}.",
            )
        return tuple(self.kind.parse(v) for v in value)

    def allowed(self) -> str:
        """Return the form and the range of each."""
        return f"a list for {', '.join(self.labels)}, each {self.kind.allowed()}"

    def unit(self) -> str:
        """Return the units of each."""
        return self.kind.unit()


class Flag(Kind):
    """True or false."""

    form = "true or false"

    def parse(self, value: Any) -> bool:
        """Return the truth value."""
        if not isinstance(value, bool):
            raise Refused(
                f"{shown(value)} is neither true nor false.", "Write true or false, without quotes."
            )
        return value


class Text(Kind):
    """A text that says something."""

    form = "a text"

    def parse(self, value: Any) -> str:
        """Return the text without surrounding blanks."""
        if not isinstance(value, str):
            raise Refused(f"{shown(value)} is not a text.", "Write a text in quotes.")
        if not value.strip():
            raise Refused("The text is empty.", "Write at least one word.")
        return value.strip()


def words_of(words: Any) -> tuple[str, ...]:
    """Return the words of an enumeration or of a ``Literal``, in their order."""
    return get_args(words) or tuple(words)


class Choice(Kind):
    """One of a few words.

    Parameters
    ----------
    words : StrEnum class or Literal
        The allowed words; a member of an enumeration is read as such.
    """

    def __init__(self, words: Any) -> None:
        self.words = words_of(words)
        self._make: Any = words if isinstance(words, type) else str

    def parse(self, value: Any) -> str:
        """Return the word."""
        if not isinstance(value, str):
            raise Refused(f"{shown(value)} is not a text.", f"Allowed: {self.allowed()}.")
        if value not in self.words:
            raise Refused(f"{shown(value)} is not known here.", suggest(value, self.words))
        word: str = self._make(value)
        return word

    def allowed(self) -> str:
        """Return the words."""
        return ", ".join(self.words)


class Names(Kind):
    """A list of names.

    Parameters
    ----------
    words : StrEnum class, optional
        Each name must be one of its words.
    """

    def __init__(self, words: type[StrEnum] | None = None) -> None:
        self.words: tuple[str, ...] = () if words is None else tuple(words)
        self._make: Any = words or str

    def parse(self, value: Any) -> tuple[str, ...]:
        """Return the names."""
        if not isinstance(value, list) or not all(isinstance(v, str) and v for v in value):
            raise Refused(
                f"{shown(value)} is not a list of names.", 'Write a list such as ["one", "two"].'
            )
        for name in value:
            if self.words and name not in self.words:
                raise Refused(f"{shown(name)} is not known here.", suggest(name, self.words))
        twice = sorted({name for name in value if value.count(name) > 1})
        if twice:
            raise Refused(f"{shown(twice[0])} is in the list twice.", "Name each once.")
        return tuple(self._make(name) for name in value)

    def allowed(self) -> str:
        """Return the words, or the form."""
        return f"a list of {', '.join(self.words)}" if self.words else "a list of names"


class Each(Kind):
    """A list of any number of figures of one kind; each has its own errors.

    Parameters
    ----------
    kind : Kind
        Of each figure.
    """

    def __init__(self, kind: Kind) -> None:
        self.kind = kind
        self.suffix = kind.suffix

    def allowed(self) -> str:
        """Return the form and the range of each."""
        return f"a list, each {self.kind.allowed()}"

    def unit(self) -> str:
        """Return the units of each."""
        return self.kind.unit()


class Table(Kind):
    """A separate table: another record.

    Parameters
    ----------
    record : class
        A declared record.
    """

    form = "a table"

    def __init__(self, record: type[Any]) -> None:
        self.record = record


class Tables(Table):
    """A list of tables: any number of records of one class."""

    form = "a list of tables"
