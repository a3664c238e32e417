"""Speed at which a corner may be run through.

A corner under continuous blending is replaced by an arc tangent to both moves. With the
interior angle t and the arc nowhere further from the corner than d its radius is
``R = d sin(t/2) / (1 - sin(t/2))`` and the speed on it ``sqrt(a R)`` (plane geometry). The
tangent points lie ``R / tan(t/2)`` before and behind the corner and must not pass the middle
of either move, where the blend of its other end begins.
"""

from __future__ import annotations

import numpy as np

from edgetime.motion._arrays import FloatArray
from edgetime.motion.limits import MotionLimits
from edgetime.motion.shape import max_abs_sinusoid

__all__ = ["blend_radius", "corner_speeds"]


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


def corner_speeds(
    leave: FloatArray,
    entry: FloatArray,
    deflection: FloatArray,
    room: FloatArray,
    limits: MotionLimits,
) -> FloatArray:
    """Return the highest speed through each corner [mm/s].

    Parameters
    ----------
    leave, entry : (n, 3) array
        Directions before and behind the corner [-].
    deflection : (n,) array
        Angle between them, above 0 [rad].
    room : (n,) array
        Length available for the blend on either side [mm].
    limits : MotionLimits
        With exact stop every corner is 0.

    Returns
    -------
    (n,) array
        Speeds; the caps of the moves are not in them.
    """
    if limits.corner == "exact-stop":
        return np.zeros(len(deflection))
    radius = blend_radius(deflection, tolerance=limits.corner_tolerance_mm, room=room)
    sine = np.sin(deflection)
    normal = entry - leave * np.cos(deflection)[:, None]
    normal = np.divide(normal, sine[:, None], out=normal, where=sine[:, None] > 0.0)
    speed = np.full(len(deflection), np.inf)
    across = np.full(len(deflection), limits.centripetal_acceleration_mm_per_s2)
    with np.errstate(divide="ignore"):
        for i in range(3):
            p, q = leave[:, i], normal[:, i]
            speed = np.minimum(
                speed, limits.axis_speed_mm_per_s[i] / max_abs_sinusoid(p, q, deflection)
            )
            across = np.minimum(
                across, limits.axis_acceleration_mm_per_s2[i] / max_abs_sinusoid(q, -p, deflection)
            )
    bend = np.zeros(len(deflection))
    np.sqrt(across * radius, out=bend, where=radius > 0.0)
    return np.asarray(np.minimum(speed, bend))
