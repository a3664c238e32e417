"""Kinds of stone."""

from __future__ import annotations

from dataclasses import dataclass

from edgetime.tooling.declare import Entry, key
from edgetime.tooling.kinds import Quantity
from edgetime.tooling.shared_kinds import TEXT


@dataclass(frozen=True, kw_only=True)
class Stone(Entry):
    """A kind of stone."""

    family: str = key(TEXT, "Family that stacks and tool lives may refer to.")
    density_kg_per_m3: float = key(
        Quantity("density", above="0 kg/m3", at_most="10 t/m3"), "For weights."
    )
    abrasiveness: float = key(
        Quantity("ratio", above="0 %", at_most="100"),
        "How fast it wears tools; granite is 1.",
        default=1.0,
    )
    feed_factor: float = key(
        Quantity("ratio", above="0 %", at_most="10"),
        "Factor on the feeds of every stack for this stone.",
        default=1.0,
    )
    thickness_spread_mm: float = key(
        Quantity("length", at_least="0 mm", at_most="20 mm"),
        "How far the actual thickness may exceed the nominal one; added to it when the thickness "
        "is not probed.",
        default="0 mm",
    )
