"""Which of a tool's stated lives hold, and what a use takes out of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from edgetime.tooling import Life, Stone, Tool
from edgetime.tooling.stacks import NOMINAL_MATCH_MM
from edgetime.wear.tool_wear import EXACT, Measure

UNITS: Final[dict[str, str]] = {
    "length": "mm",
    "volume": "mm3",
    "g-ratio": "mm3",
    "time": "s",
    "holes": "1",
    "area": "mm2",
}
"""Measure → unit of what is used and of the life."""


def lives_for(tool: Tool, stone: Stone, thickness_mm: float) -> tuple[Life, ...]:
    """Return the lives that hold for a stone and a thickness, one per measure.

    Of the entries of one measure the one that names the stone goes before the one that names
    its family, and that before one without a stone; among equals the one that names the
    thickness, the nearest within 2 mm, goes before one without.

    Parameters
    ----------
    tool : Tool
        From the catalogue.
    stone : Stone
        What is cut.
    thickness_mm : float
        Nominal thickness [mm].

    Returns
    -------
    tuple of Life
        In the order in which the tool's file first names the measures.
    """
    # A life for the stone itself comes before one for its family, and that before one for any.
    by_stone = {None: 2, stone.family: 1, stone.name: 0}
    best: dict[str, tuple[tuple[int, float], Life]] = {}
    for life in tool.life:
        off = math.inf if life.thickness_mm is None else abs(life.thickness_mm - thickness_mm)
        if life.stone not in by_stone or NOMINAL_MATCH_MM < off < math.inf:
            continue
        rank = (by_stone[life.stone], off)
        if life.by not in best or rank < best[life.by][0]:
            best[life.by] = (rank, life)
    order = dict.fromkeys(life.by for life in tool.life)
    return tuple(best[by][1] for by in order if by in best)


def measure(tool: Tool, life: Life, stone: Stone, used: Mapping[str, float]) -> Measure:
    """Hold a life against what a load uses.

    A life stated without a stone is stated for granite, whose abrasiveness is 1, and is
    divided by the stone's. By G-ratio, the stone removed per wheel worn, the wheel wears by
    ``removed / G``, against its usable volume; it lasts for ``G × usable volume`` of stone.

    Parameters
    ----------
    tool : Tool
        Gives file and usable volume.
    life : Life
        As :func:`lives_for` chose it.
    stone : Stone
        What is cut.
    used : mapping
        Measure → what the load uses, in the units of :data:`UNITS`; ``g-ratio`` the stone
        removed [mm³].
    """
    abrasiveness = stone.abrasiveness if life.stone is None else 1.0
    value = life.value / abrasiveness
    amount = used[life.by]
    if life.by == "g-ratio":
        assert tool.usable_volume_mm3 is not None  # noqa: S101 - the catalogue's check
        amount, value = amount / value, tool.usable_volume_mm3
    return Measure(
        by=life.by,
        used=amount,
        life=value,
        unit=UNITS[life.by],
        share=amount / value,
        abrasiveness=abrasiveness,
        file=tool.file,
        key=life.key,
    )


def radius_loss_mm(worn_mm3: float, diameter_mm: float, width_mm: float) -> float:
    """Return how deep a ring of a given volume is: the inverse of the ring's volume [mm].

    Parameters
    ----------
    worn_mm3 : float
        Volume worn off, evenly over the width [mm³].
    diameter_mm, width_mm : float
        Diameter before, width [mm].
    """
    left = max(0.0, diameter_mm**2 - 4.0 * worn_mm3 / (math.pi * width_mm))
    # (D - sqrt(left)) / 2 without the loss of digits where little is worn.
    return 0.5 * (diameter_mm**2 - left) / (diameter_mm + math.sqrt(left))


def cost_of(price: Decimal, share: float) -> Decimal:
    """Return price times share, the product of the two decimals without any rounding.

    Parameters
    ----------
    price : Decimal
        Of one piece.
    share : float
        Of its life [-]; read as the shortest decimal that represents it.
    """
    return EXACT.multiply(price, Decimal(repr(share)))
