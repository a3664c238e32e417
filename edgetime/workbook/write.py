"""A document as a workbook: its text on the first sheet, each table on its own sheet.

Figures stay numbers: times are times, lengths lengths, with a number format and the unit in the
heading. Totals are formulas, so that they follow when a person changes a figure above them.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.report.columns import (
    AREA,
    CLOCK,
    EDGE,
    HOURS,
    PERCENT,
    PLACE,
    VOLUME,
    Column,
    Unit,
)
from edgetime.report.document import Document, Fact, Heading, Line, Table, Tone
from edgetime.unit_table import FT_MM, IN_MM
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

_DAY_S: Final = 86400.0
"""Spreadsheets keep times in days."""


class _Form(NamedTuple):
    """How a figure is kept: what it is multiplied by, and its number format."""

    factor: float
    pattern: str


_FORMS: Final[dict[Unit, tuple[_Form, _Form]]] = {
    EDGE: (_Form(1e-3, "0.000"), _Form(1.0 / FT_MM, "0.00")),
    PLACE: (_Form(1.0, "0"), _Form(1.0 / IN_MM, "0.0")),
    CLOCK: (_Form(1.0 / _DAY_S, "[m]:ss"), _Form(1.0 / _DAY_S, "[m]:ss")),
    HOURS: (_Form(1.0 / _DAY_S, "[h]:mm"), _Form(1.0 / _DAY_S, "[h]:mm")),
    AREA: (_Form(1e-6, "0.00"), _Form(1.0 / FT_MM**2, "0.0")),
    VOLUME: (_Form(1.0, "#,##0"), _Form(1.0, "#,##0")),
    PERCENT: (_Form(1.0, "0%"), _Form(1.0, "0%")),
}
"""By unit, metric and imperial; what is not listed keeps its number as it is."""

_DIGITS: Final = re.compile(r"-?\d+(?:\.\d+)?")
_NAME: Final = re.compile(r"[\[\]:*?/\\]")
_WIDEST: Final = 60
_ROWS: Final = 1_048_575
"""Rows of a sheet below its heading, by the Office Open XML format."""


def workbook_bytes(document: Document, *, title: str = "") -> bytes:
    """Return a document as an .xlsx file.

    Parameters
    ----------
    document : Document
        Any.
    title : str
        In the file's properties; the document's own when empty.

    Returns
    -------
    bytes
        An Office Open XML workbook. Texts are texts, whatever they begin with.
    """
    from xlsxwriter import Workbook  # noqa: PLC0415  only for this surface

    out = io.BytesIO()
    # A name such as =HYPERLINK(...) or http://... from a drawing stays what it is.
    book = Workbook(
        out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    book.set_properties({"title": title or document.title, "comments": "Written by edgetime"})
    _Book(book, document).write()
    book.close()
    return out.getvalue()


class _Book:
    """One workbook being written."""

    def __init__(self, book: Workbook, document: Document) -> None:
        self.book, self.document = book, document
        self.metric = document.system is UnitSystem.METRIC
        self.head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True})
        self.bold = book.add_format({"bold": True})
        self.wrapped = book.add_format({"text_wrap": True, "valign": "top"})
        self.error = book.add_format({"bold": True, "font_color": "#A61C00"})
        self.used: set[str] = set()
        self.formats: dict[tuple[str, bool], Format] = {}

    def write(self) -> None:
        """Write all sheets."""
        text = self.book.add_worksheet(self._free("Summary"))
        text.set_column(0, 0, 24)
        text.set_column(1, 1, 90)
        row, heading = 0, ""
        for block in self.document.blocks:
            match block:
                case Heading():
                    heading = block.text
                    text.write_string(row + 1, 0, heading, self.bold)
                    row += 2
                case Fact():
                    text.write_string(row, 0, block.label)
                    text.write_string(row, 1, block.text, self.wrapped)
                    row += 1
                case Line():
                    said = block.text.strip()
                    style = {Tone.ERROR: self.error, Tone.STRONG: self.bold}.get(block.tone)
                    text.write_string(row, 0, said, style)
                    row += 1
                case Table():
                    name = self._table(block, heading)
                    text.write_url(row, 0, f"internal:'{name}'!A1", string=f"see sheet {name}")
                    row += 1
        text.set_paper(9)
        text.fit_to_pages(1, 0)
        text.set_landscape()

    def _free(self, wanted: str) -> str:
        """Return a name no sheet has yet, as the format allows it: 31 characters."""
        base = _NAME.sub(" ", wanted).strip().strip("'")[:28].strip() or "Table"
        base, name, number = base[:1].upper() + base[1:], "", 1
        name = base
        while name.lower() in self.used:
            number += 1
            name = f"{base} {number}"
        self.used.add(name.lower())
        return name

    def _format(self, pattern: str, *, bold: bool = False) -> Format:
        known = self.formats.get((pattern, bold))
        if known is None:
            known = self.book.add_format(
                {"num_format": pattern, "bold": bold, **({"top": 1} if bold else {})}
            )
            self.formats[pattern, bold] = known
        return known

    def _table(self, table: Table[Any], heading: str) -> str:
        name = self._free(table.name or heading.split("(", maxsplit=1)[0])
        sheet = self.book.add_worksheet(name)
        columns = table.sheet.shown
        rows = table.rows[:_ROWS]
        titles = [c.title(self.document.system) for c in columns]
        sheet.write_row(0, 0, titles, self.head)
        for k, column in enumerate(columns):
            widest = self._column(sheet, k, column, rows)
            sheet.set_column(k, k, min(max(widest, len(titles[k])) + 2, _WIDEST))
        if any(c.total for c in columns) and rows:
            self._totals(sheet, columns, rows)
        sheet.freeze_panes(1, 1)
        sheet.autofilter(0, 0, max(len(rows), 1), max(len(columns) - 1, 0))
        sheet.repeat_rows(0)
        sheet.set_paper(9)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.print_area(0, 0, len(rows) + 1, max(len(columns) - 1, 0))
        return name

    def _column(self, sheet: Worksheet, k: int, column: Column[Any], rows: Sequence[Any]) -> int:
        """Write the cells of a column; return the width of the widest."""
        widest = 0
        for r, row in enumerate(rows, 1):
            value = column.value(row)
            if value is None:
                continue
            number = self._number(column, value)
            said = column.cell(value, self.document.system) or ""
            widest = max(widest, len(said))
            if number is None:
                sheet.write_string(r, k, said)
            else:
                sheet.write_number(r, k, number[0], self._format(number[1]))
        return widest

    def _form(self, unit: Unit) -> _Form | None:
        forms = _FORMS.get(unit)
        return None if forms is None else forms[0 if self.metric else 1]

    def _number(self, column: Column[Any], value: object) -> tuple[float, str] | None:
        """Return the number a cell keeps and its format, None for a text."""
        if isinstance(value, bool) or not isinstance(value, (int, float, Decimal, Fraction)):
            return None
        form = self._form(column.unit) if column.show is None else None
        if form is not None:
            number, pattern = float(value) * form.factor, form.pattern
        elif isinstance(value, Decimal):
            number, pattern = float(value), "#,##0.00"
        else:
            # Written in a way of its own: the digits people read are the figure.
            said = column.cell(value, self.document.system) or ""
            if not _DIGITS.fullmatch(said):
                return None
            decimals = len(said.partition(".")[2])
            number, pattern = float(said), "0" + ("." + "0" * decimals if decimals else "")
        return (number, pattern) if abs(number) < float("inf") else None

    def _totals(
        self, sheet: Worksheet, columns: Iterable[Column[Any]], rows: Sequence[Any]
    ) -> None:
        last = len(rows)
        for k, column in enumerate(columns):
            if column.total is None:
                sheet.write_blank(last + 1, k, None, self._format("General", bold=True))
                continue
            value = column.total(rows)
            number = self._number(column, value)
            if number is None:
                sheet.write_string(last + 1, k, str(value), self._format("General", bold=True))
                continue
            letter = _letter(k)
            sheet.write_formula(
                last + 1,
                k,
                f"=SUM({letter}2:{letter}{last + 1})",
                self._format(number[1], bold=True),
                number[0],
            )


def _letter(column: int) -> str:
    """Return A, B, ... Z, AA, ... for 0, 1, ..."""
    out, column = "", column + 1
    while column:
        column, rest = divmod(column - 1, 26)
        out = chr(ord("A") + rest) + out
    return out
