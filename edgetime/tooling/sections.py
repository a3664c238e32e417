"""Exact area and length of a profile's cross-section.

The contour is given by vertices in the plane of the cross-section, ``u`` into the stone
and ``v`` down from the top face, each reached by a straight line or by a circular arc of a
given radius.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from edgetime.tooling.model import Section

_HALF_TURN_RELATIVE = 1e-9
"""A chord this much longer than the diameter is a half circle written in rounded numbers [-]."""


def arc_bulge(
    start: tuple[float, float], end: tuple[float, float], *, radius_mm: float, convex: bool
) -> float | None:
    """Return the bulge of the shorter arc of a radius between two points.

    The angle over a chord c is ``2 asin(c / 2R)`` and the bulge the tangent of its quarter
    (DXF reference, group code 42). Run from the top face to the bottom face with ``v`` down,
    a convex edge turns right, so its bulge is negative.

    Parameters
    ----------
    start, end : (u, v)
        Ends [mm].
    radius_mm : float
        Radius [mm].
    convex : bool
        True where the stone bulges out, False for a hollow.

    Returns
    -------
    float or None
        Bulge [-]; None when the ends lie further apart than the diameter, or on each other.
    """
    chord = math.hypot(end[0] - start[0], end[1] - start[1])
    ratio = chord / (2.0 * radius_mm)
    if ratio == 0.0 or ratio > 1.0 + _HALF_TURN_RELATIVE:
        return None
    bulge = math.tan(math.asin(min(ratio, 1.0)) / 2.0)
    return -bulge if convex else bulge


def arc_extent(
    start: tuple[float, float], end: tuple[float, float], bulge: float
) -> tuple[float, float, float, float]:
    """Return the least and greatest u and v of a straight or circular segment.

    Parameters
    ----------
    start, end : (u, v)
        Ends [mm].
    bulge : float
        Tangent of a quarter of the turn [-].

    Returns
    -------
    u_min, u_max, v_min, v_max : float
        Extent [mm].
    """
    us, vs = [start[0], end[0]], [start[1], end[1]]
    if bulge != 0.0:
        du, dv = end[0] - start[0], end[1] - start[1]
        # The centre lies on the chord's bisector at c (1 - b²) / 4b to the left.
        k = (1.0 - bulge * bulge) / (4.0 * bulge)
        cu = 0.5 * (start[0] + end[0]) - k * dv
        cv = 0.5 * (start[1] + end[1]) + k * du
        radius = math.hypot(du, dv) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
        first = math.atan2(start[1] - cv, start[0] - cu)
        turn = 4.0 * math.atan(bulge)
        for quarter in range(4):
            along = math.remainder(quarter * math.pi / 2.0 - first, math.tau)
            if any(0.0 < a / turn < 1.0 for a in (along, along + math.tau, along - math.tau)):
                us.append(cu + radius * math.cos(quarter * math.pi / 2.0))
                vs.append(cv + radius * math.sin(quarter * math.pi / 2.0))
    return min(us), max(us), min(vs), max(vs)


def build_section(
    *,
    thickness_mm: float,
    height_mm: float,
    points_mm: Sequence[tuple[float, float]],
    bulges: Sequence[float],
) -> Section:
    """Compute what a cross-section removes and how long its contour is.

    The area between the contour and the plane ``u = 0`` is the polygon's, by the trapezoid
    rule, with the circular segments ``R² (θ − sin θ) / 2`` added on the right-hand side of
    the walk and taken off on its left (Machinery's Handbook, areas of plane figures).

    Parameters
    ----------
    thickness_mm : float
        Nominal thickness of the slab [mm].
    height_mm : float
        Height of the edge: the thickness, or more where an apron is glued on [mm].
    points_mm : sequence of (u, v)
        Vertices from the top face (v = 0) to the bottom face (v = height) [mm].
    bulges : sequence of float
        One per segment [-].

    Returns
    -------
    Section
        With ``removed_mm2`` and ``contour_mm``.
    """
    ring = [*points_mm, (0.0, height_mm), (0.0, 0.0)]
    doubled = sum(
        a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)
    )
    area = 0.5 * doubled
    length = 0.0
    for a, b, bulge in zip(points_mm, points_mm[1:], bulges, strict=False):
        chord = math.hypot(b[0] - a[0], b[1] - a[1])
        if bulge == 0.0:
            length += chord
            continue
        angle = 4.0 * math.atan(abs(bulge))
        radius = chord * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
        length += radius * angle
        area += math.copysign(0.5 * radius * radius * (angle - math.sin(angle)), bulge)
    return Section(
        thickness_mm=thickness_mm,
        height_mm=height_mm,
        points_mm=tuple(points_mm),
        bulges=tuple(bulges),
        # A contour along u = 0 leaves a rounding error of either sign.
        removed_mm2=max(area, 0.0),
        contour_mm=length,
    )
