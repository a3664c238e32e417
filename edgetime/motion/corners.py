"""Blends: the arcs that round corners in continuous mode.

A corner is replaced by an arc tangent to both moves. With the interior angle t and the arc
nowhere further from the corner than d its radius is at most
``R = d sin(t/2) / (1 - sin(t/2))`` (plane geometry). The tangent points lie
``R / tan(t/2)`` before and behind the corner and must stay within a share of either move.
The speed on the arc is ``sqrt(a R)``. Along and across it each get their share of the
acceleration, as on any arc.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgetime.columns import Columns
from edgetime.motion._arrays import FloatArray
from edgetime.motion.caps import Caps, least_over_axes, turning_load
from edgetime.motion.limits import MotionLimits
from edgetime.motion.shape import max_abs_sinusoid

_LEAST_RADIUS_MM = 1e-9
"""A corner that leaves no more room than this is a turn back: the tool stands still in it."""


@dataclass(frozen=True, eq=False)
class Blends(Columns):
    """Blends of n corners; a corner without one has the radius 0.

    Attributes
    ----------
    radius : (n,) array
        [mm].
    cut : (n,) array
        Length of either move that the blend takes the place of [mm].
    length : (n,) array
        Length of the blend itself, less than twice ``cut`` [mm].
    caps : Caps
        Bounds along the blends.
    """

    radius: FloatArray
    cut: FloatArray
    length: FloatArray
    caps: Caps


def blend_radius(deflection: FloatArray, *, tolerance: float, room: FloatArray) -> FloatArray:
    """Return the largest radius of a blend that keeps its tolerance and fits its moves [mm].

    Parameters
    ----------
    deflection : (n,) array
        Change of direction, π less the interior angle; above 0 [rad].
    tolerance : float
        Largest distance from the corner to the blend [mm].
    room : (n,) array
        Length available on either side [mm].

    Returns
    -------
    (n,) array
        Radii; 0 where the path turns back on itself.
    """
    half = 0.5 * deflection
    # 1 - cos(x) = 2 sin²(x/2) keeps all digits for the smallest angles.
    near = tolerance * np.cos(half) / (2.0 * np.sin(0.5 * half) ** 2)
    return np.asarray(np.maximum(np.minimum(near, room / np.tan(half)), 0.0))


def blends_of(
    leave: FloatArray,
    entry: FloatArray,
    deflection: FloatArray,
    room: FloatArray,
    speed: FloatArray,
    limits: MotionLimits,
) -> Blends:
    """Return the blends of corners.

    Parameters
    ----------
    leave, entry : (n, 3) array
        Directions before and behind the corner [-].
    deflection : (n,) array
        Angle between them, above 0 [rad].
    room : (n,) array
        Length available for the blend on either side [mm].
    speed : (n,) array
        The lower cap of both moves [mm/s].
    limits : MotionLimits
        What the machine allows.
    """
    sine = np.sin(deflection)
    # The plane of the turn: the part of the new direction that is square to the old one.
    normal = entry - leave * np.cos(deflection)[:, None]
    normal = np.divide(normal, sine[:, None], out=normal, where=sine[:, None] > 0.0)
    pairs = [(leave[:, i], normal[:, i]) for i in range(3)]
    with np.errstate(divide="ignore"):
        if speed.max(initial=0.0) > min(limits.axis_speed_mm_per_s):
            share = np.column_stack([max_abs_sinusoid(p, q, deflection) for p, q in pairs])
            speed = np.minimum(speed, least_over_axes(limits.axis_speed_mm_per_s, share))
        load = np.column_stack([turning_load(p, q, deflection) for p, q in pairs])
        if limits.arc_shares is None:
            along = across = least_over_axes(limits.axis_acceleration_mm_per_s2, load)
        else:
            moved = (load > 1e-9).astype(np.float64)
            weakest = least_over_axes(limits.axis_acceleration_mm_per_s2, moved)
            along, across = (part * weakest for part in limits.arc_shares)
        jerk = 0.5 * least_over_axes(limits.axis_jerk_mm_per_s3, load)
    across = np.minimum(across, limits.centripetal_acceleration_mm_per_s2)
    radius = blend_radius(deflection, tolerance=limits.corner_tolerance_mm, room=room)
    radius[radius < _LEAST_RADIUS_MM] = 0.0
    # In the two factors of sqrt(a R) an endless a never meets R = 0.
    bend = np.zeros(len(deflection))
    np.sqrt(across * radius, out=bend, where=radius > 0.0)
    return Blends(
        radius=radius,
        cut=radius * np.tan(0.5 * deflection),
        length=radius * deflection,
        caps=Caps(
            speed=np.minimum(speed, bend),
            acceleration=np.minimum(along, limits.path_acceleration_mm_per_s2),
            jerk=jerk,
        ),
    )
