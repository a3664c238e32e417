"""A job with something changed, beside the job as it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.report.document import Grid, Heading, Line
from edgetime.report.quantities import format_thickness
from edgetime.report.screen import DEFAULT_WIDTH
from edgetime.report.wording import in_units

if TYPE_CHECKING:
    from edgetime.price import Quote, WhatIf
    from edgetime.report.document import Block
    from edgetime.report.numbers import Numbers
    from edgetime.units import UnitSystem


def _what_if_table(
    quote: Quote, made: Sequence[tuple[int, Quote]], kinds: Sequence[str], numbers: Numbers
) -> tuple[list[str], list[list[str]]]:
    """Return header and rows of the quotes side by side, the job as it is before them."""
    quotes = [quote, *(q for _, q in made)]
    amounts = [{k.kind: k.amount for k in q.kinds} for q in quotes]
    rows = [[kind, *(numbers.amount(own[kind]) for own in amounts)] for kind in kinds]
    rows.append(["net", *(numbers.amount(q.net) for q in quotes)])
    if quote.tax_rate:
        rows.append(["tax", *(numbers.amount(q.tax) for q in quotes)])
        rows.append(["gross", *(numbers.amount(q.gross) for q in quotes)])
    rows.append(["difference", "", *(numbers.change(q.shown - quote.shown) for q in quotes[1:])])
    rows.append(["cycle, min", *(numbers.number(q.machine_s / 60, 1) for q in quotes)])
    return ["", "As it is", *(str(number) for number, _ in made)], rows


def _in_blocks(header: list[str], rows: list[list[str]]) -> list[Block]:
    """Return a table, or several where its columns are more than a line holds.

    Each has the names of the rows and the job as it is before what is compared with it.
    """
    widths = [max(map(len, column)) + 1 for column in zip(header, *rows, strict=True)]
    before = sum(widths[:2])
    blocks: list[list[int]] = [[]]
    at = before
    for column, width in enumerate(widths[2:], 2):
        if blocks[-1] and at + width > DEFAULT_WIDTH:
            blocks.append([])
            at = before
        blocks[-1].append(column)
        at += width
    parts: list[Block] = []
    for number, block in enumerate(blocks):
        shown = [0, 1, *block]
        columns = [(header[i], "<" if i == 0 else ">") for i in shown]
        parts += [Line("")] if number else []
        parts.append(Grid(columns, [[row[i] for i in shown] for row in rows]))
    return parts


def what_if_parts(
    quote: Quote, what_ifs: Sequence[WhatIf], numbers: Numbers, system: UnitSystem
) -> list[Block]:
    """Return the section on what-ifs: side by side, then what each leaves out or lacks.

    Parameters
    ----------
    quote : Quote
        The job as it is.
    what_ifs : sequence of WhatIf
        With something changed.
    numbers : Numbers
        Writes them.
    system : UnitSystem
        Units of lengths.
    """

    def said(text: str) -> str:
        return in_units(text, system, decimal=numbers.decimal)

    made = [(number, w.quote) for number, w in enumerate(what_ifs, 1) if w.quote is not None]
    quotes = [quote, *(q for _, q in made)]
    kinds = [k.kind for k in quote.kinds if any(q.figures[k.kind].value for q in quotes)]
    parts: list[Block] = [Heading(f"What if ({quote.currency})")]
    for number, w in enumerate(what_ifs, 1):
        one = w.quote
        text = f"{w.text}: cannot be made. {said(w.refused)}"
        if one is not None:
            text = (
                f"{w.text}: {one.stone} {format_thickness(one.thickness_mm, system)}, {one.stack}"
            )
        parts.append(Line(f"{number}  {text}", indent=2, hang=5))
    if made:
        parts += _in_blocks(*_what_if_table(quote, made, kinds, numbers))
    known = {(f.code, f.message) for f in (*quote.errors, *quote.findings)}
    for number, one in made:
        groups: dict[tuple[str, str], list[str]] = {}
        for f in (*one.errors, *one.findings):
            if (f.code, f.message) not in known:
                groups.setdefault((str(f.severity), f.code), []).append(f.message)
        for (severity, code), messages in groups.items():
            times = f", {len(messages)} times" if len(messages) > 1 else ""
            text = f"{number}  {severity} {code}{times}: {said(messages[0])}"
            parts.append(Line(text, indent=2, hang=5))
    return parts
