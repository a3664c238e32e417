"""What a command says, free of any surface.

A :class:`Document` is a sequence of blocks: headings, facts, lines, tables, findings. The
functions of this package make documents from results; a renderer turns one into a terminal
screen, a CSV file, a page or a workbook, and computes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from operator import itemgetter
from typing import Any, Generic, TypeVar

from edgetime.report.columns import Column, Sheet
from edgetime.units import UnitSystem

Row = TypeVar("Row")


class Tone(StrEnum):
    """How a line is set off, on surfaces that can."""

    PLAIN = "plain"
    STRONG = "strong"
    WARNING = "warning"
    ERROR = "error"


@dataclass(frozen=True, slots=True)
class Heading:
    """The title of what follows.

    Attributes
    ----------
    text : str
        The title.
    """

    text: str


@dataclass(frozen=True, slots=True)
class Fact:
    """A name and what it is: ``Machine``, ``medium: ...``.

    Attributes
    ----------
    label, text : str
        Both sides.
    """

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph.

    Attributes
    ----------
    text : str
        Its words; never markup.
    indent : int
        How far it is set in, in characters.
    hang : int or None
        How far its further lines are set in; as the first when None.
    tone : Tone
        How it is set off.
    """

    text: str
    indent: int = 0
    hang: int | None = None
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True)
class Table(Generic[Row]):
    """Rows under declared columns.

    Attributes
    ----------
    sheet : Sheet
        The columns.
    rows : sequence
        In order.
    name : str
        What the table is called where a surface keeps several: the sheet of a workbook.
    beside : tuple of str
        Names of tables whose rows are of the same things, one by one: formulas may use their
        columns.
    title : str
        What people read over it where several tables are on one sheet.
    page : str
        The sheet it shares with other tables of the same page; its own when empty.
    """

    sheet: Sheet[Row]
    rows: Sequence[Row]
    name: str = ""
    beside: tuple[str, ...] = ()
    title: str = ""
    page: str = ""

    @property
    def header(self) -> tuple[str, ...]:
        """The keys of its columns."""
        return self.sheet.header

    def cells(self) -> list[list[Any]]:
        """Return the values by row, one for each key."""
        return self.sheet.csv_rows(self.rows)


def one_row(facts: Mapping[str, Any]) -> Table[Mapping[str, Any]]:
    """Return a table of a single row, for files: its columns are the keys."""
    return Table(Sheet(tuple(Column(key=key, get=itemgetter(key)) for key in facts)), [facts])


Block = Heading | Fact | Line | Table[Any]


@dataclass(frozen=True, slots=True)
class Document:
    """What a command says.

    Attributes
    ----------
    blocks : tuple of Heading, Fact, Line or Table
        In the order they are read.
    system : UnitSystem
        Units of the figures that people read.
    title : str
        For surfaces that have one, such as a page.
    """

    blocks: tuple[Block, ...]
    system: UnitSystem = UnitSystem.METRIC
    title: str = ""

    @classmethod
    def of(
        cls, blocks: Iterable[Block], system: UnitSystem = UnitSystem.METRIC, title: str = ""
    ) -> Document:
        """Make a document from any iterable of blocks."""
        return cls(tuple(blocks), system, title)

    @property
    def tables(self) -> tuple[Table[Any], ...]:
        """The tables among the blocks."""
        return tuple(b for b in self.blocks if isinstance(b, Table))
