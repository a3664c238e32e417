"""A value with how it came about: formula, inputs, and the file and key it was read from.

One record serves every ``--explain``: the terms of a tool's time, the figures of a quote, the
yield of a shift.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Generic, NamedTuple, TypeVar

from edgetime.records import as_json, written

Value = TypeVar("Value", float, Decimal)


class Source(NamedTuple):
    """Where a value was read.

    Attributes
    ----------
    file : str
        Path of the file; ``""`` for what is calculated or comes from an option.
    key : str
        Dotted key in that file, or the option.
    written : str
        The text there.
    """

    file: str = ""
    key: str = ""
    written: str = ""

    @property
    def text(self) -> str:
        """The source in one line: ``shop.toml, price.machine_rate = "42 EUR/h"``."""
        place = ", ".join(bit for bit in (self.file, self.key) if bit)
        return place + (f' = "{self.written}"' if self.written else "")


def source_in(raw: Mapping[tuple[str, str], str], file: str, key: str) -> Source:
    """Return the source of a value that is read from a file.

    Parameters
    ----------
    raw : mapping
        Texts of the catalogue's files by (file, key).
    file, key : str
        Where the value is.
    """
    return Source(file, key, raw.get((file, key), ""))


CALCULATED = Source()
"""The source of a value that is in no file."""


@dataclass(frozen=True, slots=True)
class Explained(Generic[Value]):
    """A named value and how it came about.

    Attributes
    ----------
    name : str
        What it is; names in formulas refer to it.
    value : float or Decimal
        In ``unit``. Money and what it is made of is decimal.
    unit : str
        ``mm``, ``s``, ``EUR/h`` …; ``-`` for a number.
    note : str
        The rule in words, or where the value comes from if not from a file.
    source : Source
        File, key and text.
    seconds : float or None
        The value as a term of a total time [s]; None for one that only explains a term.
    formula : str
        Sums, products and quotients of the inputs; empty for what was read or measured.
    inputs : tuple of Explained
        Every name of the formula once.
    """

    name: str
    value: Value
    unit: str
    note: str = ""
    source: Source = field(default=CALCULATED, metadata=written(merged=True))
    seconds: float | None = field(default=None, metadata=written(optional=True))
    formula: str = field(default="", metadata=written(optional=True))
    inputs: tuple[Explained[Value], ...] = field(
        default=(), metadata=written(key="factors", optional=True)
    )


class Explanation:
    """Collects named values and looks up what the files have for each.

    Parameters
    ----------
    raw : mapping
        Texts of the catalogue's files by (file, key).
    """

    def __init__(self, raw: Mapping[tuple[str, str], str]) -> None:
        self.raw = raw
        self.values: list[Explained[float]] = []

    def add(
        self, name: str, value: float, unit: str, note: str = "", *, file: str = "", key: str = ""
    ) -> None:
        """Add a value that explains others.

        Parameters
        ----------
        name, unit, note : str
            As of :class:`Explained`.
        value : float
            In ``unit``.
        file, key : str
            Where it was read; neither for what is calculated.
        """
        self.values.append(Explained(name, value, unit, note, source_in(self.raw, file, key)))

    def add_time(
        self, name: str, seconds: float, note: str = "", *, file: str = "", key: str = ""
    ) -> None:
        """Add a term of the total time.

        Parameters
        ----------
        name, note : str
            As of :class:`Explained`.
        seconds : float
            The term [s].
        file, key : str
            Where it was read; neither for what is calculated.
        """
        source = source_in(self.raw, file, key)
        self.values.append(Explained(name, seconds, "s", note, source, seconds))


def factors_json(values: Iterable[Explained[Any]]) -> list[dict[str, Any]]:
    """Return the JSON form of values of which some are terms of a total time.

    Returns
    -------
    list of dict
        Each with ``seconds``, null for what is not a term.
    """
    return [{"seconds": None, **as_json(value)} for value in values]


def figures_json(values: Iterable[Explained[Any]]) -> list[dict[str, Any]]:
    """Return the JSON form of values that were calculated by a formula.

    Returns
    -------
    list of dict
        Each with its formula and ``factors``.
    """
    return [
        {
            "figure": made.name,
            "value": as_json(made.value),
            "unit": made.unit,
            "formula": made.formula,
            "factors": as_json(made.inputs),
            "note": made.note,
        }
        for made in values
    ]
