"""What a person has to see to before cycle start: each tool with its pocket, speed and feeds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from edgetime.passes.pass_plan import Pass

if TYPE_CHECKING:
    from edgetime.estimating.pipeline import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolSetting:
    """One visit of a tool, as it is set up.

    Attributes
    ----------
    visit : int
        Row of the tool table, from 1.
    pocket : int or None
        Pocket of the rack; None for a tool that is put in by hand.
    tool, piece, operation : str
        As the visit's.
    diameter_mm : float
        Real diameter of the mounted piece [mm].
    rotation_rad_per_s, max_rotation_rad_per_s : float, float or None
        Spindle speed, and the highest marked on the tool [rad/s].
    low_feed_mm_per_s, high_feed_mm_per_s : float
        Lowest and highest programmed feed of its passes [mm/s].
    runs : int
        Edge runs and holes it works.
    passes_per_run : int
        Passes over each of them, the most.
    passes : int
        Passes in all.
    near_mm, far_mm : float
        Least and greatest offset of the tool's centre from the finished edge [mm].
    depth_mm : float
        How far the tip goes below the top face of the slab [mm].
    starts_s : float
        On the machine's clock [s].
    """

    visit: int
    pocket: int | None
    tool: str
    piece: str
    operation: str
    diameter_mm: float
    rotation_rad_per_s: float
    max_rotation_rad_per_s: float | None
    low_feed_mm_per_s: float
    high_feed_mm_per_s: float
    runs: int
    passes_per_run: int
    passes: int
    near_mm: float
    far_mm: float
    depth_mm: float
    starts_s: float


def tool_settings(est: Estimate) -> tuple[ToolSetting, ...]:
    """Return how each tool of a load is set up, in running order."""
    of_visit: dict[int, list[Pass]] = {}
    for p in est.plan.passes:
        of_visit.setdefault(p.visit, []).append(p)
    return tuple(_setting(est, v, of_visit.get(v, [])) for v in range(len(est.cycle.visits)))


def _setting(est: Estimate, v: int, passes: list[Pass]) -> ToolSetting:
    visit, planned = est.cycle.visits[v], est.plan.visits[v]
    tool = est.load.catalogue.tools[visit.tool]
    diameter = est.load.diameter_mm(visit.piece)
    limits = [tool.max_rotation_rad_per_s] if tool.max_rotation_rad_per_s else []
    if tool.max_peripheral_mm_per_s:
        # A marked speed of the rim is one of the spindle by the radius.
        limits.append(2.0 * tool.max_peripheral_mm_per_s / diameter)
    feeds = [p.feed_mm_per_s for p in passes] or [math.nan]
    offsets = [p.offset_mm for p in passes] or [0.0]
    return ToolSetting(
        visit=v + 1,
        pocket=visit.pocket,
        tool=visit.tool,
        piece=visit.piece,
        operation=visit.operation,
        diameter_mm=diameter,
        rotation_rad_per_s=planned.rotation_rad_per_s,
        max_rotation_rad_per_s=min(limits, default=None),
        low_feed_mm_per_s=min(feeds),
        high_feed_mm_per_s=max(feeds),
        runs=len({id(p.run) for p in passes}),
        passes_per_run=max((p.count for p in passes), default=0),
        passes=visit.passes,
        near_mm=min(offsets),
        far_mm=max(offsets),
        depth_mm=-min((p.bottom_z_mm for p in passes), default=0.0),
        starts_s=visit.starts_s,
    )
