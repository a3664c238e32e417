"""Records as columns of one table, for what is compared on the screen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Block, Line, Table
from edgetime.report.screen import DEFAULT_WIDTH

if TYPE_CHECKING:
    from edgetime.units import UnitSystem


def _columns(first: str, names: Sequence[str], shown: Sequence[int]) -> Sheet[Sequence[str]]:
    own: list[Column[Sequence[str]]] = [
        Column(heading=names[i - 1], unit=COUNT, get=itemgetter(i)) for i in shown
    ]
    return Sheet((Column(heading=first, get=itemgetter(0)), *own))


def side_by_side(
    sheet: Sheet[Any],
    records: Sequence[Any],
    names: Sequence[str],
    system: UnitSystem,
    *,
    first: str = " ",
) -> Iterator[Block]:
    """Return a table with a column for each record, in blocks where a line cannot hold them."""
    headings, cells, _ = sheet.printed(records, system)
    rows = [
        [heading, *(cell or "-" for cell in row)]
        for heading, row in zip(headings, zip(*cells, strict=True), strict=True)
    ]
    widths = [max(map(len, column)) + 1 for column in zip([first, *names], *rows, strict=True)]
    blocks: list[list[int]] = [[]]
    at = before = sum(widths[:2])
    for column, width in enumerate(widths[2:], 2):
        if blocks[-1] and at + width > DEFAULT_WIDTH:
            blocks.append([])
            at = before
        blocks[-1].append(column)
        at += width
    for number, block in enumerate(blocks):
        if number:
            yield Line("")
        yield Table(_columns(first, names, [1, *block]), rows)
