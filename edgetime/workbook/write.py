"""A document as a workbook: its text on the first sheet, its tables on sheets of their own.

Figures stay numbers: times are times, dates dates, lengths lengths, with a number format and the
unit in the heading. What follows from other cells is a formula that keeps our figure as its last
result, so that it shows before anything is recalculated and follows when a person changes a cell.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from edgetime.report.columns import Column
from edgetime.report.document import Document, Fact, Heading, Line, Table, Tone
from edgetime.workbook.cells import Kept, form_of, kept_of, width_of
from edgetime.workbook.formulas import Names, Range, back_from, is_sum, spreadsheet_formula

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet


_NAME: Final = re.compile(r"[\[\]:*?/\\]")
_WIDEST: Final = 60
_HEAD: Final = 14
"""A heading wider than this and than its cells is broken."""
_LABEL_WIDTH: Final = 24
_TEXT_WIDTH: Final = 90
"""Columns of the first sheet, in characters."""
_PAGE_WIDTH: Final = 220
"""Characters that are still read on the width of a page; a wider table goes over several."""
_LINE_PT: Final = 15.0
_FROZEN: Final = 12
"""A first table of at most this many rows stays in sight over those below it."""
_ROWS: Final = 1_048_575
"""Rows of a sheet below its heading, by the Office Open XML format."""
_A4: Final = 9
_SAME: Final = 1e-9
"""A sum as floats differs by less from the same sum of decimals."""

_ENTRY: Final = {
    "bg_color": "#FFF6D6",
    "font_color": "#1F4E8C",
    "border": 1,
    "border_color": "#C9B97A",
}
"""A cell to change: filled, framed and in another colour, so that it is seen in print too."""


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

    Raises
    ------
    ValueError
        A formula names what no table has.
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


@dataclass(eq=False)
class _Page:
    """A sheet with one table or several, one below the other."""

    sheet: Worksheet
    name: str
    rows: int = 0
    widths: dict[int, int] = field(default_factory=dict)
    tall: dict[int, int] = field(default_factory=dict)
    tables: list[_Placed] = field(default_factory=list)

    @property
    def quoted(self) -> str:
        """The name as formulas write it."""
        return "'" + self.name.replace("'", "''") + "'"

    def widen(self, column: int, width: int) -> None:
        """Make room for a text."""
        self.widths[column] = max(self.widths.get(column, 0), width)


@dataclass(frozen=True, eq=False)
class _Placed:
    """A table with its place in the workbook."""

    table: Table[Any]
    page: _Page
    head: int
    columns: tuple[Column[Any], ...]
    rows: Sequence[Any]

    @property
    def totals(self) -> bool:
        """Whether it has a row of totals."""
        return len(self.rows) > 0 and any(c.total for c in self.columns)

    @property
    def page_end(self) -> int:
        """The row after its last one."""
        return self.head + 1 + len(self.rows) + self.totals

    def index(self, key: str) -> int | None:
        """Return the number of the column of a key, or of a heading in lower case without one."""
        own = enumerate(self.columns)
        return next((k for k, c in own if (c.key or c.heading.lower()) == key), None)

    def cell(self, row: int, column: int) -> str:
        """Return the address of a cell, its sheet included."""
        return f"{self.page.quoted}!${_letter(column)}${self.head + row + 2}"

    def cells(self, column: int) -> str:
        """Return the addresses of a column."""
        letter = _letter(column)
        first, last = self.head + 2, self.head + 1 + max(len(self.rows), 1)
        return f"{self.page.quoted}!${letter}${first}:${letter}${last}"


class _Book:
    """One workbook being written."""

    def __init__(self, book: Workbook, document: Document) -> None:
        self.book, self.document = book, document
        self.system = document.system
        self.head = book.add_format(
            {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom"}
        )
        self.head_right = book.add_format(
            {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom", "align": "right"}
        )
        self.head_text = book.add_format(
            {
                "bold": True,
                "bottom": 1,
                "text_wrap": True,
                "valign": "bottom",
                "align": "left",
                "indent": 1,
            }
        )
        self.bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self.title = book.add_format({"bold": True})
        self.error_line = book.add_format({"bold": True, "font_color": "#A61C00"})
        self.first = book.add_format({"valign": "top"})
        # Without a side an indent would be one from the top.
        self.text = book.add_format({"valign": "top", "align": "left", "indent": 1})
        self.total_right = book.add_format({"bold": True, "top": 1, "align": "right"})
        self.text_right = book.add_format({"valign": "top", "align": "right"})
        self.wrapped = book.add_format({"text_wrap": True, "valign": "top"})
        self.wrapped_text = book.add_format(
            {"text_wrap": True, "valign": "top", "align": "left", "indent": 1}
        )
        self.error = book.add_format(
            {"bold": True, "font_color": "#A61C00", "text_wrap": True, "valign": "top"}
        )
        self.used: set[str] = set()
        self.pages: dict[str, _Page] = {}
        self.formats: dict[tuple[str, bool, bool], Format] = {}
        self.tables: dict[str, _Placed] = {}
        self.named: dict[str, str] = {}

    def write(self) -> None:
        """Write all sheets: first every table gets its place, since formulas refer to any."""
        text = self.book.add_worksheet(self._free("Summary"))
        text.set_column(0, 0, _LABEL_WIDTH)
        text.set_column(1, 1, _TEXT_WIDTH)
        row, heading = 0, ""
        placed: list[_Placed] = []
        for block in self.document.blocks:
            match block:
                case Heading():
                    heading = block.text
                    text.write_string(row + 1, 0, heading, self.title)
                    row += 2
                case Fact():
                    text.write_string(row, 0, block.label, self.first)
                    text.write_string(row, 1, block.text, self.wrapped)
                    text.set_row(row, _LINE_PT * _lines(block.text, _TEXT_WIDTH))
                    row += 1
                case Line():
                    row += block.text.startswith("\n")
                    self._line(text, row, block)
                    row += 1
                case Table():
                    found = self._place(block, heading)
                    placed.append(found)
                    name = found.page.name
                    if len(found.page.tables) > 1:
                        continue
                    target = f"internal:{found.page.quoted}!A{found.head + 1}"
                    text.write_url(row, 0, target, string=f"see sheet {name}")
                    row += 1
        _paper(text)
        text.fit_to_pages(1, 0)
        for one in placed:
            self._name_cells(one)
        for one in placed:
            self._table(one)
        for page in self.pages.values():
            _finish(page)

    def _line(self, text: Worksheet, row: int, line: Line) -> None:
        """Write a paragraph over both columns; a program fits no row to merged cells itself."""
        said = line.text.strip()
        lines = _lines(said, _LABEL_WIDTH + _TEXT_WIDTH)
        if lines == 1:
            # Not wrapped, for it runs on over the second column.
            one = {Tone.ERROR: self.error_line, Tone.STRONG: self.title}.get(line.tone)
            text.write_string(row, 0, said, one)
            return
        style = {Tone.ERROR: self.error, Tone.STRONG: self.bold}.get(line.tone, self.wrapped)
        text.merge_range(row, 0, row, 1, "", style)
        text.write_string(row, 0, said, style)
        text.set_row(row, _LINE_PT * lines)

    def _free(self, wanted: str) -> str:
        """Return a name no sheet has yet, as the format allows it: 31 characters."""
        base = _NAME.sub(" ", wanted).strip().strip("'").replace("_", " ")[:28].strip() or "Table"
        base, name, number = base[:1].upper() + base[1:], "", 1
        name = base
        while name.lower() in self.used:
            number += 1
            name = f"{base} {number}"
        self.used.add(name.lower())
        return name

    def _format(self, pattern: str, *, bold: bool = False, entry: bool = False) -> Format:
        known = self.formats.get((pattern, bold, entry))
        if known is None:
            total = {"bold": True, "top": 1} if bold else {}
            known = self.book.add_format(
                {"num_format": pattern, "valign": "top", **total, **(_ENTRY if entry else {})}
            )
            self.formats[pattern, bold, entry] = known
        return known

    # Where everything is ---------------------------------------------------------------

    def _place(self, table: Table[Any], heading: str) -> _Placed:
        name = table.page or table.name or re.split(r"[(:]", heading, maxsplit=1)[0]
        page = self.pages.get(table.page) if table.page else None
        if page is None:
            free = self._free(name)
            page = _Page(self.book.add_worksheet(free), free)
            self.pages[table.page or free.lower()] = page
        if table.title:
            page.rows += len(page.tables) > 0
            page.sheet.write_string(page.rows, 0, table.title, self.title)
            page.rows += 1
        rows = table.rows[:_ROWS]
        columns = table.sheet.numbers
        placed = _Placed(table, page, page.rows, columns, rows)
        page.rows += 1 + len(rows) + placed.totals
        page.tables.append(placed)
        if table.name:
            self.tables.setdefault(table.name, placed)
        return placed

    def _name_cells(self, placed: _Placed) -> None:
        for k, column in enumerate(placed.columns):
            if column.named is None:
                continue
            for r, row in enumerate(placed.rows):
                if (name := column.named(row)) and name not in self.named:
                    self.book.define_name(name, f"={placed.cell(r, k)}")
                    self.named[name] = self._reference(placed, r, k, name)

    def _reference(self, placed: _Placed, r: int, k: int, cell: str) -> str:
        """Return how a formula calls a cell, as the number of its record."""
        column = placed.columns[k]
        value = column.value(placed.rows[r])
        back = back_from(form_of(column, value, self.system).factor)
        return f"({cell}{back})" if back else cell

    def _names(self, placed: _Placed, r: int) -> Names:
        """Return what names mean in a row."""
        beside = [placed, *(self.tables[name] for name in placed.table.beside)]

        def one(name: str) -> str:
            for table in beside:
                k = table.index(name)
                if k is not None:
                    cell = f"{_letter(k)}{table.head + r + 2}"
                    if table.page is not placed.page:
                        cell = table.cell(r, k)
                    return self._reference(table, r, k, cell)
            if name in self.named:
                return self.named[name]
            message = f"a formula of {placed.page.name} names {name}, which there is not"
            raise ValueError(message)

        def column(table: str, key: str) -> Range:
            found = self.tables[table]
            k = found.index(key)
            if k is None:
                message = f"a formula of {placed.page.name} names {table}.{key}, which there is not"
                raise ValueError(message)
            first = found.columns[k].value(found.rows[0]) if found.rows else None
            return Range(
                found.cells(k), back_from(form_of(found.columns[k], first, self.system).factor)
            )

        return Names(one, column)

    # Writing ---------------------------------------------------------------------------

    def _table(self, placed: _Placed) -> None:
        page, width = placed.page, placed.page.widen
        for k, column in enumerate(placed.columns):
            title = column.title(self.system)
            right = self._column(placed, k, column)
            style = self.head_right if right else self.head_text if k else self.head
            page.sheet.write_string(placed.head, k, title, style)
            # A long heading is broken between its words.
            width(k, max(min(len(title), _HEAD), *map(len, title.split()), 4))
        if placed.totals:
            self._totals(placed)

    def _column(self, placed: _Placed, k: int, column: Column[Any]) -> bool:
        """Write the cells of a column; return whether they are aligned right."""
        numbers = False
        tall = placed.page.tall
        for r, row in enumerate(placed.rows):
            at, entry = placed.head + 1 + r, column.is_entry(row)
            value = column.value(row)
            kept = kept_of(column, value, self.system)
            if kept is not None:
                numbers = True
                self._number(placed, r, k, column.formula_of(row), kept, entry=entry)
            elif value is not None and (said := column.cell(value, self.system)):
                placed.page.widen(k, len(said))
                style = self.text if k else self.first
                if column.unit.right and k:
                    style = self.text_right
                if len(said) > _WIDEST:
                    style = self.wrapped_text if k else self.wrapped
                    tall[at] = max(tall.get(at, 1), _lines(said, _WIDEST))
                placed.page.sheet.write_string(at, k, said, style)
        return numbers or (column.unit.right and k > 0)

    def _number(
        self, placed: _Placed, r: int, k: int, formula: str, kept: Kept, *, entry: bool
    ) -> None:
        sheet, at = placed.page.sheet, placed.head + 1 + r
        style = self._format(kept.form.pattern, entry=entry)
        placed.page.widen(k, width_of(kept))
        if not formula:
            sheet.write_number(at, k, kept.number, style)
            return
        text = spreadsheet_formula(formula, self._names(placed, r))
        back = back_from(kept.form.factor)
        if back and is_sum(formula) and text.count(f"{back})") == len(re.findall(r"\w+", formula)):
            # A sum of figures that are all kept alike is kept so too.
            text = text.replace(f"{back})", ")")
        elif back:
            text = f"{text}/{back[1:]}"
        sheet.write_formula(at, k, f"={text}", style, kept.number)

    def _totals(self, placed: _Placed) -> None:
        """Write the last row: sums as formulas, so that they follow what is above them."""
        at, sheet, rows = placed.head + 1 + len(placed.rows), placed.page.sheet, placed.rows
        for k, column in enumerate(placed.columns):
            value = None if column.total is None else column.total(rows)
            kept = None if value is None else kept_of(column, value, self.system)
            if kept is None:
                said = None if value is None else column.cell(value, self.system)
                right = column.unit.right and k > 0
                style = self.total_right if right else self._format("General", bold=True)
                sheet.write_string(at, k, said or "", style)
                continue
            placed.page.widen(k, width_of(kept))
            style = self._format(kept.form.pattern, bold=True)
            cells = [kept_of(column, column.value(row), self.system) for row in rows]
            summed = sum(cell.number for cell in cells if cell is not None)
            # A mean, say, stands under its column without being its sum.
            if abs(summed - kept.number) > _SAME * max(1.0, abs(kept.number)):
                sheet.write_number(at, k, kept.number, style)
                continue
            letter = _letter(k)
            span = f"{letter}{placed.head + 2}:{letter}{at}"
            sheet.write_formula(at, k, f"=SUM({span})", style, kept.number)


def _lines(text: str, width: int) -> int:
    """Return how many lines a text takes; letters are narrower than digits on the whole."""
    return sum(max(1, -(-len(line) // width)) for line in text.split("\n"))


def _finish(page: _Page) -> None:
    """Set widths, panes and print of a sheet."""
    sheet, last = page.sheet, max(page.widths, default=0)
    for at, lines in page.tall.items():
        sheet.set_row(at, _LINE_PT * lines)
    for k, width in page.widths.items():
        sheet.set_column(k, k, min(width + 2, _WIDEST))
    if len(page.tables) == 1:
        (only,) = page.tables
        sheet.freeze_panes(only.head + 1, 1)
        sheet.repeat_rows(only.head)
        sheet.autofilter(only.head, 0, only.head + max(len(only.rows), 1), last)
    elif page.tables[0].page_end <= _FROZEN:
        sheet.freeze_panes(page.tables[0].page_end, 1)
    _paper(sheet)
    wide = sum(min(width + 2, _WIDEST) for width in page.widths.values())
    sheets = -(-wide // _PAGE_WIDTH)
    sheet.fit_to_pages(sheets, 0)
    if sheets > 1:
        sheet.repeat_columns(0, min(1, last))
    sheet.print_area(0, 0, max(page.rows - 1, 1), last)


def _paper(sheet: Worksheet) -> None:
    sheet.set_paper(_A4)
    sheet.set_landscape()
    sheet.set_footer("&L&A&RPage &P of &N")


def _letter(column: int) -> str:
    """Return A, B, ... Z, AA, ... for 0, 1, ..."""
    out, column = "", column + 1
    while column:
        column, rest = divmod(column - 1, 26)
        out = chr(ord("A") + rest) + out
    return out
