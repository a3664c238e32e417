"""The quote on the screen and in files; numbers on the screen as the shop's locale has them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.price.quote import ADDED, CostShare, PartPrice
from edgetime.report.columns import COUNT, Cell, Column, NumberForm, Sheet
from edgetime.report.costing import rate_tables, work_tables
from edgetime.report.differ import edge_counts_apart
from edgetime.report.document import Block, Heading, Line, Table, Tone
from edgetime.report.findings import cannot_run_parts, finding_parts, kinds_text
from edgetime.report.labour import tasks_text
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_thickness
from edgetime.report.text import NONE
from edgetime.report.what_if import what_if_parts
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.comparison import WhatIf
    from edgetime.estimating import Estimate
    from edgetime.price import Quote
    from edgetime.price.costing import Costing
    from edgetime.price.formulas import Exact
    from edgetime.price.quote import Line as Item

_FOOT: Final = Decimal("0.3048")

_NAMES: Final = {
    "holes": "holes",
    "corners": "radius corners",
    "handling": "handling of unworked parts",
    "set-up": "set-up",
}


class QuoteRow(NamedTuple):
    """A row of a quote's CSV form.

    Attributes
    ----------
    what_if : str
        What is changed; empty for the job as it is.
    view : str
        ``line``, ``part``, ``cost``, ``total``, or ``refused`` with the reason as ``name``.
    item, name, unit, currency : str or None
        What the figures are of.
    quantity, per_unit, per_ft, amount : Decimal or None
        Plain numbers.
    tax : Decimal or None
        Of a line, where tax is rounded line by line.
    """

    what_if: str
    view: str
    item: str | None = None
    name: str | None = None
    quantity: Decimal | None = None
    unit: str | None = None
    per_unit: Decimal | None = None
    per_ft: Decimal | None = None
    amount: Decimal | None = None
    currency: str | None = None
    tax: Decimal | None = None


QUOTE: Final[Sheet[QuoteRow]] = Sheet(tuple(Column(key=key) for key in QuoteRow._fields))
"""The CSV form of a quote."""


def quote_rows(quote: Quote, what_ifs: Sequence[WhatIf] = ()) -> Iterator[QuoteRow]:
    """Yield the rows of a quote's CSV form."""
    for asked, one, refused in (("", quote, None), *what_ifs):
        if one is None:
            yield QuoteRow(asked, "refused", name=refused)
            continue
        code = one.currency
        for x in one.lines:
            yield QuoteRow(
                asked, "line", x.item, None, x.quantity, x.unit, x.per_unit, x.per_ft, x.amount,
                code, x.tax,
            )  # fmt: skip
        for part in one.parts:
            yield QuoteRow(
                asked, "part", part.part_id, part.name, amount=part.amount, currency=code
            )
        for kind in one.costs:
            yield QuoteRow(asked, "cost", kind.kind, amount=kind.amount, currency=code)
        for key in ("net", "tax", "gross"):
            yield QuoteRow(asked, "total", key, amount=getattr(one, key), currency=code)


def _title(item: Item) -> str:
    kind, _, profile = item.item.partition(":")
    if kind in {"cutout", "preparation"}:
        return f"{'cutouts' if kind == 'cutout' else kind}, {profile}"
    return profile or _NAMES[item.item]


def _item_origin(
    quote: Quote, live: Costing, numbers: Numbers, quantity: Callable[[Item], Decimal | None]
) -> Iterator[Column[Item]]:
    """Yield what the price of an item follows from, for surfaces that calculate."""
    number = {id(x): n for n, x in enumerate(quote.lines, 1)}
    fine = numbers.form(4)
    yield Column(key="number", heading="#", unit=COUNT, get=lambda x: number[id(x)], kept=True)
    yield Column(
        key="scale",
        heading="Times",
        unit=COUNT,
        get=lambda _: 1.0,
        form=NumberForm(1.0, "0.000"),
        formula=lambda x: f"quantity / {quantity(x)}" if _scaled(x) else "",
        kept=True,
    )
    yield Column(
        key="exact",
        heading="Before rounding",
        unit=COUNT,
        get=lambda x: live.exact(x.item),
        form=fine,
        formula=live.exact_of("item_number"),
        kept=True,
    )
    if live.by_line:
        yield Column(
            key="rounded",
            heading="Rounded",
            unit=COUNT,
            get=lambda x: live.rounded_to(x.item),
            form=fine,
            formula=live.rounded,
            kept=True,
        )


def _scaled(x: Item) -> bool:
    """Return whether an item is sold by its quantity, so that a changed one changes its price."""
    return x.unit != "load" and x.quantity > 0 and x.amount > 0


def _item_sheet(
    quote: Quote, numbers: Numbers, system: UnitSystem, live: Costing | None = None
) -> Sheet[Item]:
    """Declare the items; with ``live`` their prices follow from its tables."""
    feet = system is UnitSystem.IMPERIAL
    fine = numbers.form(4)

    def quantity(x: Item) -> Decimal | None:
        if x.unit == "m":
            return x.quantity / _FOOT if feet else x.quantity
        return None if x.unit == "load" else x.quantity

    def quantity_cell(x: Item) -> Cell | str:
        found = quantity(x)
        if found is None:
            return ""
        whole, digits = ("0.000", 2) if x.unit == "m" else ("0", 0)
        own: Column[Any] = Column(
            show=lambda q, _: numbers.number(q, digits), form=NumberForm(1.0, whole)
        )
        return Cell(own, found)

    def blank(value: Decimal | str) -> str:
        return value if isinstance(value, str) else numbers.amount(value)

    def unit(x: Item) -> str:
        return {"m": "ft" if feet else "m", "load": ""}.get(x.unit, x.unit)

    def price(*, per_foot: bool) -> Any:
        def get(x: Item) -> Decimal | str:
            found = x.per_ft if per_foot and x.unit == "m" else x.unit_price
            return "" if found is None else found

        return get

    def other(x: Item) -> Decimal | str:
        return price(per_foot=not feet)(x) if x.unit == "m" else ""

    tax = "Tax in it" if quote.tax_included else "Tax"
    taxed = any(x.tax is not None for x in quote.lines)
    columns: list[Column[Item]] = [
        Column(heading="Item", get=_title, total=lambda _: "Total"),
        Column(
            key="quantity", heading="Quantity", unit=COUNT, get=quantity_cell, entry=_scaled
        ),
        Column(heading="Unit", get=unit),
        numbers.column(
            "", "Unit price", price(per_foot=feet), show=blank, form=fine,
            formula=lambda x: "amount / quantity" if _scaled(x) else "",
        ),
        numbers.column(
            "", "Per m" if feet else "Per ft", other, show=blank, form=fine,
            formula=lambda x: f"amount / quantity {'/' if feet else '*'} {_FOOT}" if _scaled(x)
            else "",
        ),
        numbers.column(
            "amount", quote.currency, total=lambda _: quote.shown,
            formula="" if live is None else live.amount,
        ),
    ]  # fmt: skip
    if taxed:
        columns.append(
            numbers.column(
                "tax", tax, total=lambda _: quote.tax,
                formula="" if live is None else live.tax_of("amount"),
            )
        )  # fmt: skip
    if live is not None:
        columns += _item_origin(quote, live, numbers, quantity)
    return Sheet(tuple(columns))


def _part_sheet(quote: Quote, numbers: Numbers, live: Costing | None = None) -> Sheet[PartPrice]:
    """Declare the parts; with ``live`` their prices follow from its tables."""
    number = {p.part_id: n for n, p in enumerate(quote.parts, 1)}
    own: tuple[Column[PartPrice], ...] = ()
    shown = ""
    if live is not None:
        shown = f"apportion({live.shown}, parts.exact, {live.cent})"
        own = (
            Column(key="number", heading="#", unit=COUNT, get=lambda p: number[p.part_id],
                   kept=True),
            Column(key="exact", heading="Before rounding", unit=COUNT, kept=True,
                   form=numbers.form(4), get=lambda p: live.exact_part(number[p.part_id]),
                   formula=live.exact_of("part_number")),
        )  # fmt: skip
    return Sheet(
        (
            Column(heading="Part", get=lambda p: p.part_id or NONE, total=lambda _: "Total"),
            Column(heading="Name", get=lambda p: p.name),
            numbers.column(
                "amount", quote.currency, total=lambda _: quote.shown, formula=shown
            ),
            *own,
        )
    )  # fmt: skip


def _cost_sheet(quote: Quote, numbers: Numbers, live: Costing | None = None) -> Sheet[CostShare]:
    """Declare the kinds of cost; with ``live`` their amounts follow from its tables."""
    own: tuple[Column[CostShare], ...] = ()
    if live is not None:
        own = (
            Column(key="exact", heading="Before rounding", unit=COUNT, kept=True,
                   form=numbers.form(4), get=lambda k: live.exact_kind(k.kind),
                   formula=lambda k: live.kind_formula(k.kind)),
        )  # fmt: skip
    return Sheet(
        (
            Column(heading="Cost", get=lambda k: k.kind, total=lambda _: "Net"),
            numbers.column(
                "amount", quote.currency, total=lambda _: quote.net,
                formula="" if live is None else lambda k: live.kind_amount(k.kind),
            ),
            numbers.column(
                "", "%", lambda k: k.share, total=lambda _: Decimal(1),
                show=lambda share: numbers.percent(share, 1), form=NumberForm(1.0, "0.0%"),
                formula="" if live is None else "amount / net if net > 0 else 0",
            ),
            *own,
        )
    )  # fmt: skip


def _margin_line(quote: Quote, numbers: Numbers) -> Iterator[Block]:
    """Yield what margin is left, where minimum or rounding change it."""
    own = quote.figures
    if quote.net and any(k.amount for k in quote.costs if k.kind in ADDED):
        yield Line(
            f"Margin with minimum and rounding: {numbers.money(own['margin-in-all'].value)}, "
            f"{numbers.percent(own['margin-share'].value, 1)} % of the net price."
        )


def _total(quote: Quote, numbers: Numbers) -> str:
    if not quote.tax_rate:
        return f"Total {numbers.money(quote.net)}, tax 0 %"
    rate = numbers.percent(quote.tax_rate, 2)
    return (
        f"Net {numbers.money(quote.net)} + tax {rate} % {numbers.money(quote.tax)} "
        f"= total {numbers.money(quote.gross)}"
    )


def _without_drawing(quote: Quote, numbers: Numbers) -> str:
    """Return how far a price without a drawing may be off; the minimum is charged in any case."""
    off = numbers.percent(quote.error or Decimal(0))
    text = (
        f"No drawing: parts are assumed from the lengths. The price may differ by {off} % from "
        f"that of the drawing, on top of the estimate's own error"
    )
    low, high = quote.band or (quote.shown, quote.shown)
    net = "" if quote.tax_included or not quote.tax else " net"
    if low == high == quote.shown and quote.figures["minimum"].value:
        return f"{text}; the minimum charge of {numbers.money(low)}{net} covers that."
    return f"{text}: from {numbers.money(low)} to {numbers.money(high)}{net}."


def _labour(estimates: Sequence[Estimate]) -> str:
    sums: dict[str, float] = {}
    for est in estimates:
        for kind, seconds in est.labour.by_kind:
            sums[kind] = sums.get(kind, 0.0) + seconds
    return f"Labour {tasks_text(sums.items())}."


def quote_screen(
    quote: Quote,
    estimates: Sequence[Estimate],
    system: UnitSystem,
    *,
    what_ifs: Sequence[WhatIf] = (),
    figures: Sequence[Exact] = (),
    live: Costing | None = None,
) -> Iterator[Block]:
    """Return the document of the command ``price``.

    With ``live`` its tables follow from those of the costing, which are added: for a surface on
    which a person may change a rate.
    """
    numbers = Numbers(quote.locale, quote.currency)
    load = estimates[0].load
    yield from cannot_run_parts(quote.errors, system, decimal=numbers.decimal)
    yield Line(
        f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal; stack "
        f"{load.stack.name}; machine {load.machine.name}; "
        f"{'one load' if quote.loads == 1 else f'{quote.loads} loads'}, machine cycle "
        f"{format_time(float(quote.machine_s))}."
    )
    if quote.error is not None:
        yield Line(_without_drawing(quote, numbers))
    else:
        found = [f for est in estimates for f in est.findings]
        more = "; edgetime estimate shows them" if found else ""
        yield Line(f"Findings of the estimate: {kinds_text(found)}{more}.")
    yield from quote_parts(quote, estimates, numbers, system, live)
    if what_ifs:
        yield from what_if_parts(quote, what_ifs, numbers, system)
    yield from figure_blocks(figures, numbers)
    if live is not None:
        yield from work_tables(live, numbers)
    if quote.findings:
        yield from finding_parts(quote.findings, system, decimal=numbers.decimal)


def quote_parts(
    quote: Quote,
    estimates: Sequence[Estimate],
    numbers: Numbers,
    system: UnitSystem,
    live: Costing | None = None,
) -> Iterator[Block]:
    """Yield the total of a quote and its tables: by item, by part, by cost."""
    with_tax = ", tax included" if quote.tax_included and quote.tax_rate else ""
    yield Line(f"\n{_total(quote, numbers)}", tone=Tone.STRONG)
    if live is not None:
        yield from rate_tables(live, numbers)
    yield Heading(f"Quote{with_tax} (items include their share of tool changes, loading and setup)")
    yield Table(_item_sheet(quote, numbers, system, live), quote.lines, name="items")
    if quote.error is None:
        yield from edge_counts_apart(quote, estimates, numbers, system)
        yield Heading(f"By part{with_tax}")
        yield Table(_part_sheet(quote, numbers, live), quote.parts, name="parts")
    yield Heading("Net price by cost")
    # A kind that costs nothing may do so once a rate is changed.
    kinds = [k for k in quote.costs if k.amount or live is not None]
    yield Table(_cost_sheet(quote, numbers, live), kinds, name="costs")
    yield from _margin_line(quote, numbers)
    yield Line(_labour(estimates), hang=2)
