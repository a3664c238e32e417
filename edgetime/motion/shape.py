"""Directions and curvature of moves: the part of the geometry that motion needs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgetime.motion._arrays import BoolArray, FloatArray
from edgetime.tolerances import STRAIGHT_BULGE


@dataclass(frozen=True, eq=False)
class Shape:
    """Directions and curvature of n moves.

    Attributes
    ----------
    entry, exit : (n, 3) array
        Unit directions of travel at the start and at the end [-].
    arc : (n,) bool array
        The move turns in XY (a circle or a helix).
    radius : (n,) array
        Radius of the turn in XY [mm], ``inf`` for a straight move.
    sweep : (n,) array
        Angle turned in XY, positive to the left [rad].
    level : (n,) array
        Share of the move's length that lies in XY, the cosine of its slope [-].
    """

    entry: FloatArray
    exit: FloatArray
    arc: BoolArray
    radius: FloatArray
    sweep: FloatArray
    level: FloatArray


def shape_of(start: FloatArray, end: FloatArray, bulge: FloatArray) -> Shape:
    """Return directions and curvature of straight, circular and helical moves.

    With the bulge b an arc turns by 4 atan b, so its end directions lie ∓2 atan b off the
    chord, and ``cos(2 atan b) = (1 - b²)/(1 + b²)``, ``sin(2 atan b) = 2b/(1 + b²)``; its
    radius is ``chord (1 + b²) / 4|b|``.

    Parameters
    ----------
    start, end : (n, 3) array
        Ends of the moves [mm]; they must differ.
    bulge : (n,) array
        Tangent of a quarter of the turn in XY [-].
    """
    step = end - start
    chord = np.hypot(step[:, 0], step[:, 1])
    length = np.hypot(chord, step[:, 2])
    entry = step / length[:, None]
    leave = entry.copy()
    level = chord / length
    radius = np.full(len(bulge), np.inf)
    sweep = np.zeros(len(bulge))
    arc = (np.abs(bulge) > STRAIGHT_BULGE) & (chord > 0.0)
    k = np.flatnonzero(arc)
    if len(k):
        b = bulge[k]
        size = np.abs(b)
        square = 1.0 + b * b
        flat = chord[k] * square * np.arctan(size) / size
        full = np.hypot(flat, step[k, 2])
        share = flat / full
        rise = step[k, 2] / full
        cos, sin = (1.0 - b * b) / square, 2.0 * b / square
        cx, cy = step[k, 0] / chord[k], step[k, 1] / chord[k]
        entry[k] = np.column_stack(
            [share * (cx * cos + cy * sin), share * (cy * cos - cx * sin), rise]
        )
        leave[k] = np.column_stack(
            [share * (cx * cos - cy * sin), share * (cy * cos + cx * sin), rise]
        )
        radius[k] = chord[k] * square / (4.0 * size)
        sweep[k] = 4.0 * np.arctan(b)
        level[k] = share
    return Shape(entry, leave, arc, radius, sweep, level)


def deflections(leave: FloatArray, entry: FloatArray) -> FloatArray:
    """Return the angles between unit vectors, exact near 0 and near π [rad].

    ``2 atan2(|a - b|, |a + b|)``, after Kahan's formula for unit vectors.

    Parameters
    ----------
    leave, entry : (n, 3) array
        Unit vectors [-].

    Returns
    -------
    (n,) array
        Angles from 0 to π [rad].
    """
    # Both sizes are exact for small and for straight angles, where an arc cosine is not.
    apart = np.sqrt(np.sum((leave - entry) ** 2, axis=1))
    along = np.sqrt(np.sum((leave + entry) ** 2, axis=1))
    return np.asarray(2.0 * np.arctan2(apart, along))


def max_abs_sinusoid(p: FloatArray, q: FloatArray, sweep: FloatArray) -> FloatArray:
    """Return the maximum of ``|p cos φ + q sin φ|`` over 0 ≤ φ ≤ sweep.

    The amplitude if a crest lies in the range, otherwise the larger of the two ends.

    Parameters
    ----------
    p, q : (n,) array
        Coefficients.
    sweep : (n,) array
        Ends of the ranges, not negative [rad].

    Returns
    -------
    (n,) array
        The maxima, in the unit of p and q.
    """
    crest = np.mod(np.arctan2(q, p), np.pi)
    ends = np.maximum(np.abs(p), np.abs(p * np.cos(sweep) + q * np.sin(sweep)))
    return np.where(crest <= sweep, np.hypot(p, q), ends)
