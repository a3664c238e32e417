"""Highest speed, acceleration and jerk along each move, from the limits and its direction.

Straight moves
    Each axis takes the share |u| of its unit direction: speed ≤ V/|u|, acceleration ≤ A/|u|,
    jerk ≤ J/|u|, the least over the axes.

Arcs and helices
    At the horizontal speed w on radius R the acceleration is ``w'`` along and ``w²/R``
    across the path, the jerk ``w'' - w³/R²`` along and ``3 w w'/R`` across. An axis sees a
    share t of the first and n of the second, and the worst of ``|t| + |n|`` over the angles
    actually swept is K. Therefore along and across each get the same budget, the least A/K
    over X and Y, and correspondingly J/K for jerk:

    * ``w² / R`` ≤ centripetal limit and ≤ A/K, and ``w'`` ≤ A/K;
    * ``w''`` ≤ J/2K and ``w³/R²`` ≤ J/2K, that is w ≤ (J R²/2K)^(1/3);
    * ``3 w w'/R`` then needs no separate bound: on an S-curve up to a speed W under the jerk
      j the product w w' is at most (2/3)^(3/2) W sqrt(j W), which makes it at most 0.82 J/K.

    Fixed shares cost up to 29 % of the acceleration along an arc (the other share may be
    unused), but they make every bound grow with every limit: a higher limit is never slower.
    A controller with its own shares (``arc_shares``) gives them of its weakest axis,
    whatever the direction; as their squares add up to 1 at most, every axis still obeys.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgetime.columns import Columns
from edgetime.motion._arrays import FloatArray
from edgetime.motion.limits import MotionLimits
from edgetime.motion.shape import Shape, max_abs_sinusoid


@dataclass(frozen=True, eq=False)
class Caps(Columns):
    """Bounds along the path of n moves.

    Attributes
    ----------
    speed : (n,) array
        Highest speed [mm/s].
    acceleration : (n,) array
        Highest acceleration along the path [mm/s²].
    jerk : (n,) array
        Highest jerk along the path [mm/s³], ``inf`` when off.
    """

    speed: FloatArray
    acceleration: FloatArray
    jerk: FloatArray


def caps_of(shape: Shape, feed: FloatArray, limits: MotionLimits) -> Caps:
    """Return the bounds along each move.

    Parameters
    ----------
    shape : Shape
        Directions and curvature of the n moves.
    feed : (n,) array
        Programmed speeds [mm/s], ``inf`` for a rapid.
    limits : MotionLimits
        What the machine allows.
    """
    with np.errstate(divide="ignore"):
        share = np.abs(shape.entry)
        speed = np.minimum(feed, least_over_axes(limits.axis_speed_mm_per_s, share))
        if limits.rapid_speed_mm_per_s is not None:
            speed = np.where(
                np.isinf(feed), least_over_axes(limits.rapid_speed_mm_per_s, share), speed
            )
        acceleration = least_over_axes(limits.axis_acceleration_mm_per_s2, share)
        jerk = least_over_axes(limits.axis_jerk_mm_per_s3, share)
        if shape.arc.any():
            _bend(shape, feed, limits, speed=speed, acceleration=acceleration, jerk=jerk)
    return Caps(
        speed=speed,
        acceleration=np.minimum(acceleration, limits.path_acceleration_mm_per_s2),
        jerk=jerk,
    )


def least_over_axes(axis: tuple[float, ...], share: FloatArray) -> FloatArray:
    """Least over the axes of limit/share, column by column to spare temporaries."""
    least = axis[0] / share[:, 0]
    for i in range(1, len(axis)):
        np.minimum(least, axis[i] / share[:, i], out=least)
    return np.asarray(least)


def turning_load(t: FloatArray, n: FloatArray, sweep: FloatArray) -> FloatArray:
    """Return the worst of ``|t| + |n|`` that an axis sees over a turn: K of the module's text.

    Parameters
    ----------
    t, n : (n,) array
        Components of the axis along and across the path where the turn begins [-].
    sweep : (n,) array
        Angles turned, not negative [rad].

    Returns
    -------
    (n,) array
    """
    # Both are sinusoids a quarter turn apart; the sum of their sizes has its crests halfway.
    crest = np.mod(0.25 * np.pi + np.arctan2(n, t), 0.5 * np.pi)
    cos, sin = np.cos(sweep), np.sin(sweep)
    last = np.abs(t * cos + n * sin) + np.abs(n * cos - t * sin)
    ends = np.maximum(np.abs(t) + np.abs(n), last)
    return np.asarray(np.where(crest <= sweep, np.sqrt(2.0) * np.hypot(t, n), ends))


def _bend(
    shape: Shape,
    feed: FloatArray,
    limits: MotionLimits,
    *,
    speed: FloatArray,
    acceleration: FloatArray,
    jerk: FloatArray,
) -> None:
    """Overwrite the rows of arcs and helices with the bounds that hold on the whole turn."""
    k = np.flatnonzero(shape.arc)
    level, radius, sweep = shape.level[k], shape.radius[k], np.abs(shape.sweep[k])
    turn = np.sign(shape.sweep[k])
    tx, ty = shape.entry[k, 0] / level, shape.entry[k, 1] / level
    climb = np.abs(shape.entry[k, 2])
    # Along X the direction runs as tx cos φ + nx sin φ, the inward normal as nx cos φ - tx sin φ.
    nx, ny = -ty * turn, tx * turn

    reach = np.column_stack([max_abs_sinusoid(tx, nx, sweep), max_abs_sinusoid(ty, ny, sweep)])
    share = np.column_stack([reach * level[:, None], climb])
    fastest = np.minimum(feed[k], least_over_axes(limits.axis_speed_mm_per_s, share))

    both = np.column_stack([turning_load(tx, nx, sweep), turning_load(ty, ny, sweep)])
    if limits.arc_shares is None:
        budget = across = least_over_axes(limits.axis_acceleration_mm_per_s2[:2], both)
    else:
        weakest = np.full(len(k), min(limits.axis_acceleration_mm_per_s2[:2]))
        budget, across = (share * weakest for share in limits.arc_shares)
    across = np.minimum(limits.centripetal_acceleration_mm_per_s2, across)
    fastest = np.minimum(fastest, np.sqrt(across * radius) / level)
    along = np.minimum(budget / level, limits.axis_acceleration_mm_per_s2[2] / climb)

    shock = least_over_axes(limits.axis_jerk_mm_per_s3[:2], both)
    # At an even speed the jerk on an arc is v³/R². It gets one half of what the axes allow, changes
    # of speed the other.
    fastest = np.minimum(fastest, np.cbrt(0.5 * shock * radius * radius) / level)
    speed[k] = fastest
    acceleration[k] = along
    jerk[k] = np.minimum(0.5 * shock / level, limits.axis_jerk_mm_per_s3[2] / climb)
