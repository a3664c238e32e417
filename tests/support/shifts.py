"""Loads and rules of a shift made by hand, and plain counterparts of what it computes.

All figures are invented and round, so that expectations can be worked out on paper.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

from edgetime.shift.engine import AsPlanned
from edgetime.shift.load_runs import ShiftLoad
from edgetime.tooling import ShiftDefaults

MIN = 60.0
HOUR = 3600.0

RULES = ShiftDefaults(
    starts_s=7 * HOUR, hours_s=8 * HOUR, breaks=(), zones=1, zone_length_mm=None, warm_up_s=0.0,
    measure_s=0.0, tool_swap_s=0.0, used=0.0, scrap=0.0, stoppage_every_s=math.inf,
    stoppage_s=0.0, cycle_spread=0.0, handling_spread=0.0, replications=30, seed=1,
)  # fmt: skip

PLAN = AsPlanned(0.0, {})


def rules(**changes) -> ShiftDefaults:
    """Return an eight-hour shift without breaks, spreads or anything going wrong, changed."""
    return replace(RULES, **changes)


def a_load(cycle_min=60.0, *, load_min=6.0, unload_min=4.0, parts=1, name="load", **more):
    """Return a load of one part of a square metre."""
    return ShiftLoad(
        name=name, cycle_s=cycle_min * MIN, parts=parts, area_mm2=parts * 1e6,
        load_part_s=load_min * MIN, unload_part_s=unload_min * MIN, **more,
    )  # fmt: skip


def keep_soonest(needs, pockets):
    """Return the swaps of keeping the pieces needed soonest, as Tang and Denardo write it.

    The rack begins with the pieces needed first. Before each load what is missing comes in
    for the pieces that are needed latest, but for those the load needs itself.
    """

    def next_use(piece, at):
        return next((k for k in range(at, len(needs)) if piece in needs[k]), len(needs))

    pieces = sorted(set().union(*needs), key=lambda p: (next_use(p, 0), p))
    rack = set(pieces[:pockets])
    swaps = 0
    for at, need in enumerate(needs):
        for piece in sorted(set(need) - rack):
            if len(rack) >= pockets:
                out = max(rack - set(need), key=lambda p: (next_use(p, at), p))
                rack.remove(out)
            rack.add(piece)
            swaps += 1
    return swaps


def fewest_swaps(needs, pockets):
    """Return the fewest swaps with the order given, over every rack that may be kept."""
    pieces = sorted(set().union(*needs))
    if len(pieces) <= pockets:
        return 0
    racks = [frozenset(c) for c in combinations(pieces, pockets)]
    cost = {r: 0 for r in racks if r >= set(needs[0])}
    for need in needs[1:]:
        cost = {
            rack: min(paid + len(rack - before) for before, paid in cost.items())
            for rack in racks
            if rack >= set(need)
        }
    return min(cost.values())
