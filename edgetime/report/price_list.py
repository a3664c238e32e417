"""The price list on the screen and in files."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING, Any

from edgetime.price.costing import lines_costing
from edgetime.price.listing import LIST_GROUPS, Row
from edgetime.report.assumptions import assumption_blocks
from edgetime.report.columns import COUNT, Column, NumberForm, Sheet
from edgetime.report.costing import rate_tables, work_tables
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.findings import finding_parts
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_edge, format_thickness

if TYPE_CHECKING:
    from edgetime.price import PriceList
    from edgetime.price.costing import Costing
    from edgetime.price.formulas import Exact
    from edgetime.tooling import Catalogue
    from edgetime.units import UnitSystem


def _share(group: str) -> Callable[[Row], Decimal | None]:
    return lambda row: round(row.shares[group], 6) if row.shares else None


def list_sheet(prices: PriceList, live: Costing | None = None) -> Sheet[Row]:
    """Declare the table of a price list; the kinds of cost are shares of the net price.

    With ``live`` the prices follow from its tables.
    """
    numbers = Numbers(prices.locale, prices.currency)
    number = {id(row): n for n, row in enumerate(prices.priced, 1)}

    def formula(text: Callable[[Costing], str]) -> str:
        return "" if live is None else text(live)

    def shares(group: str) -> str:
        whole = " + ".join(
            f"sum_if(costing.item_number, number, costing.{kind}_cost)"
            for kind in LIST_GROUPS[group]
        )
        return f"({whole}) / sum_if(costing.item_number, number, costing.price)"

    return Sheet(
        (
            Column(key="stone"),
            Column(key="thickness_mm", unit=COUNT),
            Column(key="profile", heading="Profile"),
            Column(key="stack"),
            numbers.column(
                "per_m", "Per m", formula=formula(lambda c: c.per_length(prices.reference.metres))
            ),
            numbers.column(
                "per_ft",
                "Per ft",
                formula=formula(lambda c: c.per_length(prices.reference.metres, " * 0.3048")),
            ),
            Column(key="currency", get=lambda _: prices.currency),
            Column(
                key="machine_s_per_m",
                unit=COUNT,
                get=lambda r: None if r.machine_s_per_m is None else round(r.machine_s_per_m, 3),
            ),
            *(
                numbers.column(
                    group,
                    group.capitalize(),
                    _share(group),
                    show=numbers.percent,
                    form=NumberForm(1.0, "0%"),
                    formula=shares(group) if live is not None else "",
                )
                for group in LIST_GROUPS
            ),
            Column(key="why_not"),
            Column(key="number", heading="#", unit=COUNT, get=lambda r: number[id(r)], kept=True),
        )
    )


def list_screen(
    prices: PriceList,
    system: UnitSystem,
    *,
    figures: Sequence[Exact] = (),
    live: Costing | None = None,
) -> Iterator[Block]:
    """Return the document of the command ``price-list``; ``live`` as of :func:`list_sheet`."""
    numbers, sheet = Numbers(prices.locale, prices.currency), list_sheet(prices, live)
    tax = "tax included" if prices.tax_included else "net"
    on = prices.reference
    yield Line(
        f"Edges in {prices.currency}, {tax}, machine {prices.machine}. Each line is calculated "
        f"separately: {on.edges} straight edges of {format_edge(on.edge_mm, system)} on {on.loads} "
        f"{'table' if on.loads == 1 else 'tables'}, each a load with its tool changes, "
        "loading and setup. Shares of the net price in per cent; the machine includes power and "
        "water."
    )
    if live is not None:
        yield from rate_tables(live, numbers)
    for (stone, thickness), group in groupby(prices.rows, lambda r: (r.stone, r.thickness_mm)):
        rows = list(group)
        with_stack = f"stack {rows[0].stack}" if rows[0].stack else "no stack"
        yield Heading(f"{stone}, {format_thickness(thickness, system)}, {with_stack}")
        priced = [row for row in rows if row.per_m is not None]
        if priced:
            yield Table(sheet, priced, name=f"{stone} {thickness:g} mm")
        for row in rows:
            if row.per_m is None:
                yield Line(f"{row.profile}: {row.why_not}", indent=2, hang=4)
    yield from figure_blocks(figures, numbers)
    if live is not None:
        yield from work_tables(live, numbers)
    if prices.findings:
        yield from finding_parts(prices.findings, system, decimal=numbers.decimal)


def list_assumptions(prices: PriceList, catalogue: Catalogue) -> list[Block]:
    """Return the table of the figures that a price list rests on."""
    made = prices.priced
    stacks = [catalogue.stacks[name] for name in dict.fromkeys(row.stack for row in made) if name]
    tools = dict.fromkeys(step.tool for stack in stacks for step in stack.steps)
    used: list[tuple[str, Any]] = [
        ("machine", catalogue.machines[prices.machine]),
        *(("stack", stack) for stack in stacks),
        *(("stone", catalogue.stones[name]) for name in dict.fromkeys(row.stone for row in made)),
        *(("tool", catalogue.tools[name]) for name in tools),
    ]
    return assumption_blocks(catalogue, used, ("price", "shift"))


def list_costing(prices: PriceList, catalogue: Catalogue) -> Costing:
    """Take the lines of a list apart for a surface that calculates."""
    lines = [
        (f"{row.stone} {row.thickness_mm:g} mm", row.profile, row.quote)
        for row in prices.priced
        if row.quote is not None
    ]
    return lines_costing(lines, catalogue.shop.price)
