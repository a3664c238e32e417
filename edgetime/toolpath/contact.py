"""Inside corners where the edge runs past the wheel much faster than the programmed feed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.findings import Finding
from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import Segments
from edgetime.passes.pass_plan import Pass, PassPlan
from edgetime.tolerances import COINCIDENT_MM
from edgetime.tooling import Step
from edgetime.tooling.step_limits import COVERS_EDGE
from edgetime.toolpath.codes import CONTACT_FEED
from edgetime.toolpath.reach import place_name

CONTACT_RATIO: Final = 3.0
"""From this multiple of the programmed feed on, the feed along the edge is reported [-]: an
assumption; a polish that is good to half the feed more or less is not good to three times
it."""

SHORT_MM: Final = 1.0
"""Shorter arcs are passed over [mm]: joints of curves, not corners."""


def contact_ratio(step: Step, radius: FloatArray, offset: float) -> FloatArray:
    """Return the feed along the edge over the programmed feed, on inside arcs.

    The centre runs on a radius of r − d, so the contact runs r / (r − d) times as fast as it.
    A step that holds the contact feed slows the centre by the inverse, down to its floor.

    Parameters
    ----------
    step : Step
        With or without ``hold_contact_feed``.
    radius : (n,) array
        Radii of the edge, greater than the offset [mm].
    offset : float
        Of the centre from the edge [mm].
    """
    share = (radius - offset) / radius
    centre = np.maximum(share, step.feed_floor) if step.hold_contact_feed else 1.0
    return np.asarray(centre / share)


@dataclass(frozen=True)
class _Corners:
    """The fast inside arcs of one run under one pass."""

    source: Pass
    worst: float
    radius_mm: float
    count: int
    place: tuple[float, float]


def _corners(plan: PassPlan, p: Pass) -> _Corners | None:
    table = Segments.of(p.run.path)
    tool = plan.load.catalogue.tools[p.step.tool]
    needed = max(p.reach_mm, p.offset_mm) + tool.clearance_mm
    arcs = np.flatnonzero(
        (table.turn < 0.0)
        & (-table.radius >= needed - COINCIDENT_MM)
        & (-table.radius > p.offset_mm + COINCIDENT_MM)
        & (p.run.path.lengths >= SHORT_MM)
    )
    ratio = contact_ratio(p.step, -table.radius[arcs], p.offset_mm)
    # The smallest radius that is reached has the greatest ratio; those below are left out of the
    # pass.
    fast = np.flatnonzero(ratio >= CONTACT_RATIO * (1.0 - 1e-9))
    if not len(fast):
        return None
    k = fast[np.argmax(ratio[fast])]
    middle = table.take(arcs[k : k + 1]).point(np.array([0.5]))[0]
    return _Corners(
        p,
        float(ratio[k]),
        float(-table.radius[arcs[k]]),
        len(fast),
        (float(middle[0]), float(middle[1])),
    )


def contact_findings(plan: PassPlan) -> list[Finding]:
    """Return where the edge runs past a wheel much faster than programmed.

    Returns
    -------
    list of Finding
        One per contour and ratio, naming the steps, the place and the ratio.
    """
    groups: dict[tuple[object, ...], list[_Corners]] = {}
    for p in plan.passes:
        if p.number != p.count or p.step.operation not in COVERS_EDGE:
            continue
        found = _corners(plan, p)
        if found is not None:
            side = plan.visits[p.visit].side
            key = (p.run.part, p.run.contour, side, found.place, round(found.worst, 2))
            groups.setdefault(key, []).append(found)
    return [_finding(plan, group) for group in groups.values()]


def _finding(plan: PassPlan, group: list[_Corners]) -> Finding:
    worst = group[0]
    run = worst.source.run
    part = plan.load.parts[run.part].part
    steps = ", ".join(dict.fromkeys(c.source.step.name for c in group))
    places = f"{worst.count} inside arc{'s' if worst.count > 1 else ''}"
    return Finding(
        CONTACT_FEED,
        f"On {place_name(plan, run.part, run.contour)} the edge runs past the wheel up to "
        f"{worst.worst:.1f} times as fast as programmed, in {places}: radius "
        f"{worst.radius_mm:.1f} mm, the centre {worst.source.offset_mm:.1f} mm from it ({steps}).",
        part.where(worst.place),
    )
