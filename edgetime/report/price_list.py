"""The price list on the screen and in files."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING

from edgetime.price.listing import LIST_GROUPS, Row
from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.findings import finding_parts
from edgetime.report.numbers import Numbers, figure_blocks
from edgetime.report.quantities import format_edge, format_thickness

if TYPE_CHECKING:
    from edgetime.price import PriceList
    from edgetime.price.formulas import Exact
    from edgetime.units import UnitSystem


def _share(group: str) -> Callable[[Row], Decimal | None]:
    return lambda row: round(row.shares[group], 6) if row.shares else None


def list_sheet(prices: PriceList) -> Sheet[Row]:
    """Declare the table of a price list; the kinds of cost are shares of the net price."""
    numbers = Numbers(prices.locale, prices.currency)
    return Sheet(
        (
            Column(key="stone"),
            Column(key="thickness_mm", unit=COUNT),
            Column(key="profile", heading="Profile"),
            Column(key="stack"),
            numbers.column("per_m", "Per m"),
            numbers.column("per_ft", "Per ft"),
            Column(key="currency", get=lambda _: prices.currency),
            Column(
                key="machine_s_per_m",
                unit=COUNT,
                get=lambda r: None if r.machine_s_per_m is None else round(r.machine_s_per_m, 3),
            ),
            *(
                numbers.column(group, group.capitalize(), _share(group), show=numbers.percent)
                for group in LIST_GROUPS
            ),
            Column(key="why_not"),
        )
    )


def list_screen(
    prices: PriceList, system: UnitSystem, *, figures: Sequence[Exact] = ()
) -> Iterator[Block]:
    """Return the screen of the command ``price-list``."""
    numbers, sheet = Numbers(prices.locale, prices.currency), list_sheet(prices)
    tax = "tax included" if prices.tax_included else "net"
    on = prices.reference
    yield Line(
        f"Edges in {prices.currency}, {tax}, machine {prices.machine}. Each line is calculated "
        f"separately: {on.edges} straight edges of {format_edge(on.edge_mm, system)} on {on.loads} "
        f"{'table' if on.loads == 1 else 'tables'}, each a load with its tool changes, "
        "loading and setup. Shares of the net price in per cent; the machine includes power and "
        "water."
    )
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
    if prices.findings:
        yield from finding_parts(prices.findings, system, decimal=numbers.decimal)
