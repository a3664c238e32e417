"""The quote and the price list on the screen, numbers written as the shop's locale does."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from edgetime.price.listing import LIST_GROUPS
from edgetime.price.model import ADDED
from edgetime.report.differ import edge_counts_apart
from edgetime.report.document import Grid, Heading, Line, Tone
from edgetime.report.findings import cannot_run_parts, finding_parts, kinds_text
from edgetime.report.labour import tasks_text
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_edge, format_thickness
from edgetime.report.text import NONE
from edgetime.report.what_if import what_if_parts
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.price import PriceList, Quote, WhatIf
    from edgetime.price.formulas import Exact
    from edgetime.price.listing import Row
    from edgetime.report.document import Block

QUOTE_HEADER = (
    "what_if", "view", "item", "name", "quantity", "unit", "per_unit", "per_ft", "amount",
    "currency", "tax",
)  # fmt: skip
"""Columns of a quote's CSV form; ``view`` is line, part, cost, total, or refused with the reason as
``name``. ``tax`` is that of a line where it is rounded line by line."""

LIST_HEADER = (
    "stone", "thickness_mm", "profile", "stack", "per_m", "per_ft", "currency",
    "machine_s_per_m", *LIST_GROUPS, "why_not",
)  # fmt: skip
"""Columns of the price list's CSV form; the kinds of cost are shares of the net price."""

_FOOT: Final = Decimal("0.3048")

_NAMES: Final = {
    "holes": "holes",
    "corners": "radius corners",
    "handling": "handling of unworked parts",
    "set-up": "set-up",
}


def _title(item: str) -> str:
    kind, _, profile = item.partition(":")
    if kind in {"cutout", "preparation"}:
        return f"{'cutouts' if kind == 'cutout' else kind}, {profile}"
    return profile or _NAMES[item]


def quote_csv_rows(quote: Quote, what_ifs: Sequence[WhatIf] = ()) -> list[list[object]]:
    """Return the rows of a quote's CSV form: plain numbers, the currency in its column.

    Parameters
    ----------
    quote : Quote
        As it is.
    what_ifs : sequence of WhatIf
        Told after it.
    """
    rows: list[list[object]] = []
    for name, one, refused in (
        ("", quote, ""),
        *((w.text, w.quote, w.refused) for w in what_ifs),
    ):
        if one is None:
            rows.append([name, "refused", None, refused, *[None] * 7])
            continue
        code = one.currency
        rows += [
            [
                name, "line", own.item, None, own.quantity, own.unit,
                None if own.each is None else round(own.each, 4),
                round(own.each * _FOOT, 4) if own.each is not None and own.unit == "m" else None,
                own.amount, code, own.tax,
            ]
            for own in one.lines
        ]  # fmt: skip
        rows += [
            [name, "part", p.part_id, p.name, None, None, None, None, p.amount, code, None]
            for p in one.parts
        ]
        rows += [
            [name, "cost", k.kind, None, None, None, None, None, k.amount, code, None]
            for k in one.kinds
        ]
        rows += [
            [name, "total", key, None, None, None, None, None, value, code, None]
            for key, value in (("net", one.net), ("tax", one.tax), ("gross", one.gross))
        ]
    return rows


def _line_table(quote: Quote, numbers: Numbers, system: UnitSystem) -> Block:
    taxed = any(own.tax is not None for own in quote.lines)
    feet = system is UnitSystem.IMPERIAL
    rows = []
    for own in quote.lines:
        quantity, unit, per, per_other = "", "", "", ""
        if own.unit == "m":
            length = own.quantity / _FOOT if feet else own.quantity
            quantity, unit = numbers.number(length, 2), "ft" if feet else "m"
        elif own.unit != "load":
            quantity, unit = numbers.number(own.quantity, 0), own.unit
        if own.each is not None:
            per = numbers.amount(own.each)
            if own.unit == "m":
                # The unit of the quantity first, then the other one.
                per_other = numbers.amount(own.each * _FOOT)
                per, per_other = (per_other, per) if feet else (per, per_other)
        tax = [] if own.tax is None else [numbers.amount(own.tax)]
        amount = numbers.amount(own.amount)
        rows.append([_title(own.item), quantity, unit, per, per_other, amount, *tax])
    other = "Per m" if feet else "Per ft"
    columns = [("Item", "<"), ("", ">"), ("", "<"), ("Per unit", ">"), (other, ">"),
               (quote.currency, ">")]  # fmt: skip
    total = ["Total", "", "", "", "", numbers.amount(quote.shown)]
    if taxed:
        columns.append(("Tax in it" if quote.tax_included else "Tax", ">"))
        total.append(numbers.amount(quote.tax))
    return Grid(columns, rows, total=total)


def _cost_table(quote: Quote, numbers: Numbers) -> Block:
    rows = [
        [kind.kind, numbers.amount(kind.amount), numbers.percent(kind.share, 1)]
        for kind in quote.kinds
        if kind.amount
    ]
    return Grid(
        [("Cost", "<"), (quote.currency, ">"), ("%", ">")],
        rows,
        total=["Net", numbers.amount(quote.net), numbers.number(Decimal(100), 1)],
    )


def _margin_line(quote: Quote, numbers: Numbers) -> list[Block]:
    """Say what margin is left, where minimum or rounding change it."""
    own = quote.figures
    if not quote.net or not any(k.amount for k in quote.kinds if k.kind in ADDED):
        return []
    return [
        Line(
            f"Margin with minimum and rounding: {numbers.money(own['margin-in-all'].value)}, "
            f"{numbers.percent(own['margin-share'].value, 1)} % of the net price."
        )
    ]


def _totals(quote: Quote, numbers: Numbers) -> list[Block]:
    if not quote.tax_rate:
        return [
            Line(f"\nTotal {numbers.money(quote.net)}, no tax in it or on it", tone=Tone.STRONG)
        ]
    rate = numbers.percent(quote.tax_rate, 2)
    return [
        Line(
            f"\nNet {numbers.money(quote.net)} + tax {rate} % {numbers.money(quote.tax)} "
            f"= total {numbers.money(quote.gross)}",
            tone=Tone.STRONG,
        )
    ]


def _without_drawing(quote: Quote, numbers: Numbers) -> str:
    """Say how far a price without a drawing may be off; the minimum is charged in any case."""
    off = numbers.percent(quote.error or Decimal(0))
    text = (
        f"No drawing: parts are imagined from the lengths. The price may be {off} % off that from "
        f"the drawing, on top of the estimate's own error"
    )
    low, high = quote.band or (quote.shown, quote.shown)
    net = "" if quote.tax_included or not quote.tax else " net"
    if low == high == quote.shown and quote.figures["minimum"].value:
        return f"{text}; the minimum charge of {numbers.money(low)}{net} covers that."
    return f"{text}: from {numbers.money(low)} to {numbers.money(high)}{net}."


def quote_screen(
    quote: Quote,
    estimates: Sequence[Estimate],
    system: UnitSystem,
    *,
    what_ifs: Sequence[WhatIf] = (),
    figures: Sequence[Exact] = (),
) -> list[Block]:
    """Return the screen of the command ``price``.

    Parameters
    ----------
    quote : Quote
        The price.
    estimates : sequence of Estimate
        The loads behind it.
    system : UnitSystem
        Units of the head; prices are told per metre and per foot always.
    what_ifs : sequence of WhatIf
        Told side by side with it.
    figures : sequence of Explained
        To be explained.
    """
    numbers = Numbers(quote.locale, quote.currency)
    load = estimates[0].load
    findings = [f for est in estimates for f in est.findings]
    parts: list[Block] = [
        *cannot_run_parts(quote.errors, system, decimal=numbers.decimal),
        Line(
            f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal; stack "
            f"{load.stack.name}; machine {load.machine.name}; "
            f"{'one load' if quote.loads == 1 else f'{quote.loads} loads'}, machine cycle "
            f"{format_time(float(quote.machine_s))}."
        ),
    ]
    if quote.error is not None:
        parts.append(Line(_without_drawing(quote, numbers)))
    else:
        told = "; edgetime estimate shows them" if findings else ""
        parts.append(Line(f"Findings of the estimate: {kinds_text(findings)}{told}."))
    with_tax = ", tax included" if quote.tax_included and quote.tax_rate else ""
    parts += [
        *_totals(quote, numbers),
        Heading(f"Quote{with_tax} (each item with its share of changes, loading and set-up)"),
        _line_table(quote, numbers, system),
    ]
    if quote.error is None:
        parts += edge_counts_apart(quote, estimates, numbers, system)
        rows = [[p.part_id or NONE, p.name, numbers.amount(p.amount)] for p in quote.parts]
        parts += [
            Heading(f"By part{with_tax}"),
            Grid(
                [("Part", "<"), ("Name", "<"), (quote.currency, ">")],
                rows,
                total=["Total", "", numbers.amount(quote.shown)],
            ),
        ]
    parts += [Heading("What the net price is made of"), _cost_table(quote, numbers)]
    parts += _margin_line(quote, numbers)
    sums: dict[str, float] = {}
    for est in estimates:
        for kind, seconds in est.labour.by_kind:
            sums[kind] = sums.get(kind, 0.0) + seconds
    parts.append(Line(f"Labour {tasks_text(sums.items())}.", hang=2))
    if what_ifs:
        parts += what_if_parts(quote, what_ifs, numbers, system)
    parts += figure_blocks(figures, numbers)
    if quote.errors or quote.findings:
        parts += finding_parts((*quote.errors, *quote.findings), system, decimal=numbers.decimal)
    return parts


def list_csv_rows(prices: PriceList) -> list[list[object]]:
    """Return the rows of the price list's CSV form.

    Parameters
    ----------
    prices : PriceList
        The list.
    """
    return [
        [
            row.stone, row.thickness_mm, row.profile, row.stack, row.per_m, row.per_ft,
            prices.currency,
            None if row.seconds_per_m is None else round(row.seconds_per_m, 3),
            *(round(row.shares[k], 6) if row.shares else None for k in LIST_GROUPS),
            row.why_not,
        ]
        for row in prices.rows
    ]  # fmt: skip


def _group_parts(rows: Sequence[Row], numbers: Numbers) -> list[Block]:
    """Return the table of one stone and thickness, and why some profiles are not in it."""
    cells = [
        [
            row.profile, numbers.amount(row.per_m), numbers.amount(row.per_ft),
            *(numbers.percent(row.shares[k]) for k in LIST_GROUPS),
        ]
        for row in rows
        if row.per_m is not None and row.per_ft is not None
    ]  # fmt: skip
    columns = [("Profile", "<"), ("Per m", ">"), ("Per ft", ">")]
    columns += [(name.capitalize(), ">") for name in LIST_GROUPS]
    missing = [f"{row.profile}: {row.why_not}" for row in rows if row.per_m is None]
    return [
        *([Grid(columns, cells)] if cells else []),
        *(Line(text, indent=2, hang=4) for text in missing),
    ]


def list_screen(
    prices: PriceList, system: UnitSystem, *, figures: Sequence[Exact] = ()
) -> list[Block]:
    """Return the screen of the command ``price-list``.

    Parameters
    ----------
    prices : PriceList
        The list.
    system : UnitSystem
        Units of the thickness.
    figures : sequence of Explained
        To be explained.
    """
    numbers = Numbers(prices.locale, prices.currency)
    tax = "tax included" if prices.tax_included else "net"
    parts: list[Block] = [
        Line(
            f"Edges in {prices.currency}, {tax}, machine {prices.machine}. Each line is worked out "
            f"by itself: {prices.edges} straight edges of "
            f"{format_edge(prices.edge_mm, system)} on {prices.loads} "
            f"{'table' if prices.loads == 1 else 'tables'}, each a load with its tool changes, "
            f"loading and set-up. Shares of the net price in per cent; power and water are with "
            f"the machine."
        )
    ]
    groups: dict[tuple[str, float], list[Row]] = {}
    for row in prices.rows:
        groups.setdefault((row.stone, row.thickness_mm), []).append(row)
    for (stone, thickness), rows in groups.items():
        with_stack = f"stack {rows[0].stack}" if rows[0].stack else "no stack"
        parts.append(Heading(f"{stone}, {format_thickness(thickness, system)}, {with_stack}"))
        parts += _group_parts(rows, numbers)
    parts += figure_blocks(figures, numbers)
    if prices.findings:
        parts += finding_parts(prices.findings, system, decimal=numbers.decimal)
    return parts
