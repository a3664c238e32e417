"""Exact area and length of a profile's cross-section.

The contour is given by vertices in the plane of the cross-section, ``u`` into the stone
and ``v`` down from the top face, each reached by a straight line or by a circular arc of a
given radius.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

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
        # An arc is extreme at its ends or where it crosses a quarter of its circle.
        for quarter in range(4):
            along = math.remainder(quarter * math.pi / 2.0 - first, math.tau)
            if any(0.0 < a / turn < 1.0 for a in (along, along + math.tau, along - math.tau)):
                us.append(cu + radius * math.cos(quarter * math.pi / 2.0))
                vs.append(cv + radius * math.sin(quarter * math.pi / 2.0))
    return min(us), max(us), min(vs), max(vs)


def removed_area_mm2(
    points_mm: Sequence[tuple[float, float]], bulges: Sequence[float], height_mm: float
) -> float:
    """Return the exact area between a contour and the plane of the sawn edge.

    The area between the contour and the plane ``u = 0`` is the polygon's, by the trapezoid
    rule, with the circular segments ``R² (θ − sin θ) / 2`` added on the right-hand side of
    the walk and taken off on its left (Machinery's Handbook, areas of plane figures).

    Parameters
    ----------
    points_mm : sequence of (u, v)
        Vertices from the top face (v = 0) to the bottom face (v = height) [mm].
    bulges : sequence of float
        One per segment [-].
    height_mm : float
        Height of the edge: the thickness, or more where an apron is glued on [mm].

    Returns
    -------
    float
        Area [mm²].
    """
    ring = [*points_mm, (0.0, height_mm), (0.0, 0.0)]
    doubled = sum(
        a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)
    )
    area = 0.5 * doubled
    for (a, b), bulge in zip(pairwise(points_mm), bulges, strict=True):
        if bulge != 0.0:
            radius, angle = _arc(a, b, bulge)
            area += math.copysign(0.5 * radius * radius * (angle - math.sin(angle)), bulge)
    # A contour along u = 0 leaves a rounding error of either sign.
    return max(area, 0.0)


def contour_length_mm(points_mm: Sequence[tuple[float, float]], bulges: Sequence[float]) -> float:
    """Return the length of a contour of straight and circular segments.

    Parameters
    ----------
    points_mm : sequence of (u, v)
        Vertices [mm].
    bulges : sequence of float
        One per segment [-].

    Returns
    -------
    float
        Length [mm].
    """
    length = 0.0
    for (a, b), bulge in zip(pairwise(points_mm), bulges, strict=True):
        if bulge == 0.0:
            length += math.dist(a, b)
        else:
            radius, angle = _arc(a, b, bulge)
            length += radius * angle
    return length


def _arc(a: tuple[float, float], b: tuple[float, float], bulge: float) -> tuple[float, float]:
    """Return the radius [mm] and the angle [rad] of a circular segment."""
    radius = math.dist(a, b) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    return radius, 4.0 * math.atan(abs(bulge))
