"""Why two screens give different figures for one drawing: said on both."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from edgetime.report.document import Block, Line
from edgetime.report.text import length_header
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.price import Quote
    from edgetime.report.numbers import Numbers

AREA_GROSS: Final = (
    "Areas with the openings in them, as kitchens are sold; takeoff leaves them out."
)
"""Under figures of gross areas."""

_FOOT_MM: Final = Decimal("304.8")
_LEAST: Final = Decimal("0.005")
"""Differences below this are none at two decimals."""


def edge_counts_all(est: Estimate) -> list[Block]:
    """Say under an estimate's edges that a price has some of them as items of their own."""
    cut = any(
        edge.profile in est.plan.profiles and edge.profile != "unfinished"
        for placed in est.load.parts
        for cutout in placed.part.cutouts
        for edge in cutout.contour.edges
    )
    curved = any(bool((p.part.outline.path.bulges != 0.0).any()) for p in est.load.parts)
    names = ["radius corners"] * curved + ["edges of cutouts"] * cut
    if not names:
        return []
    text = f"{' and '.join(names)} included; edgetime price has them as separate items."
    return [Line(text[0].upper() + text[1:], indent=2)]


def edge_counts_apart(
    quote: Quote, estimates: Sequence[Estimate], numbers: Numbers, system: UnitSystem
) -> list[Block]:
    """Say under a quote's edges how long the estimate has them, where that is longer."""
    priced = {own.item.partition(":")[2]: own.quantity for own in quote.lines if own.unit == "m"}
    each = [own for own in quote.lines if own.item == "corners" or own.item.startswith("cutout:")]
    if not each:
        return []
    lengths: dict[str, Decimal] = {}
    for est in estimates:
        for row in est.cycle.profiles:
            length = Decimal(repr(float(row.edge_mm)))
            lengths[row.profile] = lengths.get(row.profile, Decimal(0)) + length
    scale = _FOOT_MM if system is UnitSystem.IMPERIAL else Decimal(1000)
    longer = [
        f"{numbers.number(length / scale, 2)} {length_header(system)} of {name}"
        for name, length in lengths.items()
        if name != "unfinished" and length / 1000 - priced.get(name, Decimal(0)) >= _LEAST
    ]
    if not longer:
        return []
    kinds = ["radius corners"] * any(own.item == "corners" for own in each)
    kinds += ["cutouts"] * any(own.item != "corners" for own in each)
    return [
        Line(
            f"Edge by length leaves out {' and '.join(kinds)}, priced each; with them the estimate "
            f"has {', '.join(longer)}.",
            indent=2,
        )
    ]
