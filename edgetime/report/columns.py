"""Tables declared once: from their columns follow screen, CSV and JSON.

A :class:`Column` says what a figure is called in files (``key``), what it is called on the
screen (``heading``), in which unit it is, how it is got from a row, and how it is printed. A
:class:`Sheet` is a sequence of columns and makes all three forms of a table.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, Final, Generic, NamedTuple, TypeVar

from edgetime.report.areas import area_text, area_unit
from edgetime.report.text import clock, hours, length_column, length_header, share
from edgetime.unit_table import FT_MM, IN_MM
from edgetime.units import UnitSystem

Row = TypeVar("Row")

_DAY_S: Final = 86400.0
"""Spreadsheets count time in days."""


class NumberForm(NamedTuple):
    """How a surface that keeps numbers keeps a figure.

    Attributes
    ----------
    factor : float
        What it is multiplied by, so that it is in the unit of the heading.
    pattern : str
        Number format of ECMA-376; the program that opens it writes the decimal sign of its user.
    """

    factor: float = 1.0
    pattern: str = "General"


def _forms(metric: NumberForm, imperial: NumberForm) -> Callable[[UnitSystem], NumberForm]:
    return lambda system: metric if system is UnitSystem.METRIC else imperial


@dataclass(frozen=True, slots=True)
class Unit:
    """What kind of figure a column holds, and how the screen shows such figures.

    Attributes
    ----------
    suffix : str
        How the keys of such columns end: ``_s``, ``_mm``; empty for texts and counts.
    show : callable
        Writes a value for the screen in a system of units.
    heading : callable
        What follows the heading in a system of units; empty for nothing.
    right : bool
        Whether the cells are aligned right and are never broken.
    form : callable or None
        How numbers are kept in a system of units; None: with the digits that are shown.
    """

    suffix: str
    show: Callable[[Any, UnitSystem], str]
    heading: Callable[[UnitSystem], str] = lambda _: ""
    right: bool = True
    form: Callable[[UnitSystem], NumberForm] | None = None


def _place(value: float, system: UnitSystem) -> str:
    return f"{value:.0f}" if system is UnitSystem.METRIC else f"{value / IN_MM:.1f}"


# Hours are not reduced to days, and seconds are rounded, not cut off, as on the screen.
_TIME: Final = NumberForm(1.0 / _DAY_S, "[h]:mm:ss")


TEXT: Final = Unit("", lambda value, _: str(value), right=False)
"""Words; they may be broken at blanks."""

COUNT: Final = Unit("", lambda value, _: str(value))
"""Whole numbers."""

CLOCK: Final = Unit("_s", lambda value, _: clock(value), form=_forms(_TIME, _TIME))
"""Seconds, shown in minutes and seconds."""

EDGE: Final = Unit(
    "_mm",
    length_column,
    length_header,
    form=_forms(NumberForm(1e-3, "0.000"), NumberForm(1.0 / FT_MM, "0.00")),
)
"""Lengths of edge, shown in metres or feet."""

PLACE: Final = Unit(
    "_mm",
    _place,
    lambda s: "mm" if s is UnitSystem.METRIC else "in",
    form=_forms(NumberForm(1.0, "0"), NumberForm(1.0 / IN_MM, "0.0")),
)
"""Coordinates, shown in millimetres or inches."""

VOLUME: Final = Unit(
    "_mm3",
    lambda value, _: f"{value:.0f}",
    form=_forms(NumberForm(1.0, "#,##0"), NumberForm(1.0, "#,##0")),
)
"""Volumes."""

HOURS: Final = Unit(
    "_s", lambda value, _: hours(value), lambda _: "h:min", form=_forms(_TIME, _TIME)
)
"""Seconds, shown in hours and minutes."""

AREA: Final = Unit(
    "_mm2",
    area_text,
    area_unit,
    form=_forms(NumberForm(1e-6, "0.00"), NumberForm(1.0 / FT_MM**2, "0.0")),
)
"""Areas, shown in square metres or feet."""

_WHOLE_PERCENT: Final = NumberForm(1.0, "0%")

PERCENT: Final = Unit(
    "", lambda value, _: share(value, 1.0), form=_forms(_WHOLE_PERCENT, _WHOLE_PERCENT)
)
"""Shares of 1, shown in per cent."""


@dataclass(frozen=True, kw_only=True)
class Column(Generic[Row]):
    """One column of a table, for all its forms.

    Attributes
    ----------
    get : callable or None
        Gets the value from a row, which has None where there is none; when omitted, the
        attribute named as the key.
    key : str
        Name in CSV and JSON, ending with its unit; empty for a column of the screen only.
    heading : str
        Name on the screen; empty for a column of files only.
    unit : Unit
        What kind of figure it is.
    show : callable or None
        Writes the value for the screen otherwise than its unit does.
    total : callable or None
        Gets the value of the last row, under the rule, from all rows.
    form : NumberForm or None
        How the value is kept where numbers are; otherwise as its unit says.
    formula : str or callable
        How the value follows from other cells, where a person may change those; a callable
        gives it by row. Names are keys of columns of the same row (of this table and of those it
        is ``beside``), or headings in lower case where there is no key, cells with a name, and ``table.key`` for a whole column; functions are
        those of :mod:`edgetime.workbook.formulas`. Empty where it does not follow.
    named : callable or None
        Gives the cell of a row a name that formulas of all tables may use.
    entry : bool or callable
        Whether a person is meant to change the value; a callable decides by row.
    kept : bool
        Only for surfaces that keep numbers: what other cells follow from.
    """

    key: str = ""
    get: Callable[[Row], Any] | None = None
    heading: str = ""
    unit: Unit = TEXT
    show: Callable[[Any, UnitSystem], str] | None = None
    total: Callable[[Sequence[Row]], Any] | None = None
    form: NumberForm | None = None
    formula: str | Callable[[Row], str] = ""
    named: Callable[[Row], str] | None = None
    entry: bool | Callable[[Row], bool] = False
    kept: bool = False

    def value(self, row: Row) -> Any:
        """Return the value of a row."""
        return attrgetter(self.key)(row) if self.get is None else self.get(row)

    def cell(self, value: object, system: UnitSystem) -> str | None:
        """Return a value as the screen shows it, None for none."""
        if isinstance(value, Cell):
            return value.column.cell(value.value, system)
        if value is None:
            return None
        return (self.show or self.unit.show)(value, system)

    def number_form(self, system: UnitSystem) -> NumberForm | None:
        """Return how numbers are kept, None for with the digits that are shown."""
        if self.form is not None:
            return self.form
        if self.show is not None or self.unit.form is None:
            return None
        return self.unit.form(system)

    def formula_of(self, row: Row) -> str:
        """Return how the value of a row follows from others; empty where it does not."""
        return self.formula(row) if callable(self.formula) else self.formula

    def is_entry(self, row: Row) -> bool:
        """Return whether a person is meant to change the value of a row."""
        return self.entry(row) if callable(self.entry) else self.entry

    def title(self, system: UnitSystem) -> str:
        """Return the heading with its unit."""
        return " ".join(word for word in (self.heading, self.unit.heading(system)) if word)


class Cell(NamedTuple):
    """A value of another column, in a table whose rows are of different kinds.

    Attributes
    ----------
    column : Column
        How it is written and kept.
    value : object
        The value.
    """

    column: Column[Any]
    value: Any


@dataclass(frozen=True)
class Sheet(Generic[Row]):
    """A table declared by its columns.

    Attributes
    ----------
    columns : tuple of Column
        In order.

    Raises
    ------
    ValueError
        Two columns have one key, or a key does not end with its unit.
    """

    columns: tuple[Column[Row], ...]

    def __post_init__(self) -> None:
        """Refuse a table whose files could not be read."""
        if len(set(self.header)) < len(self.header):
            message = f"two columns have one key: {self.header}"
            raise ValueError(message)
        for column in self.columns:
            if column.key and not column.key.endswith(column.unit.suffix):
                message = f"{column.key} does not end with its unit {column.unit.suffix}"
                raise ValueError(message)

    @property
    def shown(self) -> tuple[Column[Row], ...]:
        """The columns that people see."""
        return tuple(c for c in self.columns if c.heading and not c.kept)

    @property
    def numbers(self) -> tuple[Column[Row], ...]:
        """The columns of a surface that keeps numbers."""
        return tuple(c for c in self.columns if c.heading)

    @property
    def header(self) -> tuple[str, ...]:
        """The keys, as the first row of a CSV file."""
        return tuple(c.key for c in self._filed)

    @property
    def _filed(self) -> tuple[Column[Row], ...]:
        return tuple(c for c in self.columns if c.key and not c.kept)

    def csv_rows(self, rows: Sequence[Row]) -> list[list[Any]]:
        """Return the rows of the CSV form, one cell per key."""
        return [[c.value(row) for c in self._filed] for row in rows]

    def records(self, rows: Sequence[Row]) -> list[dict[str, Any]]:
        """Return the rows of the JSON form, by key."""
        return [dict(zip(self.header, cells, strict=True)) for cells in self.csv_rows(rows)]

    def printed(
        self, rows: Sequence[Row], system: UnitSystem
    ) -> tuple[list[str], list[list[str | None]], list[str | None] | None]:
        """Return what people read of a table: headings, cells and the row of totals.

        Returns
        -------
        list of str, list of list of (str or None), list of (str or None) or None
            None for a cell with nothing in it; no totals where no column has one.
        """
        shown = self.shown
        cells = [[c.cell(c.value(row), system) for c in shown] for row in rows]
        total = None
        if any(c.total for c in shown):
            total = ["" if c.total is None else c.cell(c.total(rows), system) for c in shown]
        return [c.title(system) for c in shown], cells, total
