"""Documents as HTML: a renderer beside that of the terminal, and as ignorant of wheels."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import groupby
from typing import Any, Final

from edgetime.picture.plan import attribute, clean
from edgetime.report.document import Block, Fact, Heading, Line, Table
from edgetime.units import UnitSystem

LONG: Final = 40
"""A table with more rows scrolls in itself on a screen."""

Marks = Callable[[Any], Mapping[str, str]]
"""Gives the ``data-`` attributes of a table's row, without their prefix."""


def no_marks(_: object) -> Mapping[str, str]:
    """Mark no row."""
    return {}


def _attributes(marks: Mapping[str, str]) -> str:
    return "".join(f" data-{key}={attribute(value)}" for key, value in marks.items())


def _cells(cells: Iterable[object], right: list[bool], tag: str) -> str:
    out = []
    for k, (cell, figures) in enumerate(zip(cells, right, strict=True)):
        kind = ' class="n"' if figures else ""
        # The first cell of a body row names the row.
        name, scope = ("th", ' scope="row"') if tag == "td" and k == 0 else (tag, "")
        scope = ' scope="col"' if tag == "th" else scope
        out.append(f"<{name}{scope}{kind}>{clean('' if cell is None else str(cell))}</{name}>")
    return "".join(out)


def _row(cells: Iterable[object], marks: Mapping[str, str], right: list[bool]) -> str:
    # Tab reaches a table, arrow keys its rows: the script makes the first one the way in.
    reached = ' tabindex="-1"' if marks else ""
    return f"<tr{_attributes(marks)}{reached}>{_cells(cells, right, 'td')}</tr>"


def table_html(
    headings: list[str],
    right: list[bool],
    rows: Iterable[tuple[Iterable[object], Mapping[str, str]]],
    total: Iterable[object] | None = None,
    *,
    caption: str = "",
) -> str:
    """Return a table; rows with marks can be reached by keyboard.

    Parameters
    ----------
    headings : list of str
        Of the columns.
    right : list of bool
        Which columns are figures.
    rows : iterable of (cells, marks)
        Of the body.
    total : iterable, optional
        A last row.
    caption : str
        For readers who do not see the heading above.
    """
    body = [_row(cells, marks, right) for cells, marks in rows]
    long = " long" if len(body) > LONG else ""
    foot = f"<tfoot><tr>{_cells(total, right, 'td')}</tr></tfoot>" if total is not None else ""
    said = f"<caption>{clean(caption)}</caption>" if caption else ""
    return (
        f'<div class="scroll{long}" tabindex="0" role="group" aria-label={attribute(caption or "table")}>'
        f"<table>{said}<thead><tr>{_cells(headings, right, 'th')}</tr></thead>"
        f"<tbody>{''.join(body)}</tbody>{foot}</table></div>"
    )


def _table(table: Table[Any], system: UnitSystem, marks: Marks, caption: str) -> str:
    headings, cells, total = table.sheet.printed(table.rows, system)
    right = [c.unit.right for c in table.sheet.shown]
    rows = [(c, marks(row)) for c, row in zip(cells, table.rows, strict=True)]
    return table_html(headings, right, rows, total, caption=caption)


def _line(line: Line) -> str:
    depth = min(max(line.indent, 0) // 2, 3)
    return f'<p class="{line.tone} in{depth}">{clean(line.text.strip())}</p>'


def blocks_html(
    blocks: Iterable[Block], system: UnitSystem, *, marks: Marks = no_marks, caption: str = ""
) -> Iterator[str]:
    """Yield the HTML of blocks below a heading."""
    for kind, group in groupby(blocks, type):
        if kind is Fact:
            rows = "".join(
                f"<dt>{clean(f.label)}</dt><dd>{clean(f.text)}</dd>"
                for f in group
                if isinstance(f, Fact)
            )
            yield f"<dl>{rows}</dl>"
            continue
        for block in group:
            match block:
                case Line():
                    yield _line(block)
                case Table():
                    yield _table(block, system, marks, caption)
                case _:
                    continue


def sections(blocks: Iterable[Block]) -> list[tuple[str, list[Block]]]:
    """Divide blocks at their headings.

    Returns
    -------
    list of (str, list of Block)
        What is before the first heading has none.
    """
    out: list[tuple[str, list[Block]]] = [("", [])]
    for block in blocks:
        if isinstance(block, Heading):
            out.append((block.text, []))
        else:
            out[-1][1].append(block)
    return [(title, held) for title, held in out if title or held]
