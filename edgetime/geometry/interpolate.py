"""Tangent arcs through points that lie on a smooth curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgetime.geometry.arcfit import Limits
from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import Segments, wrapped_angle
from edgetime.geometry.smooth import biarcs

_MOST_TURN = 0.5 * np.pi
"""One arc turns by no more [rad]."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """Arcs from one point of a row to another.

    Attributes
    ----------
    first, last : int
        Rows of the points.
    table : Segments
        One arc or two, end to end.
    """

    first: int
    last: int
    table: Segments


def directions(points: FloatArray, *, closed: bool) -> FloatArray:
    """Return the direction at each point, that of the circle through it and its neighbours.

    Parameters
    ----------
    points : (m + 1, 2) array
        No two neighbours at one place; of a closed row the last is the first again [mm].
    closed : bool
        Whether the row is closed; the ends of an open one take the circle of their neighbour.

    Returns
    -------
    (m + 1,) array
        Not wrapped [rad].
    """
    step = np.diff(points, axis=0)
    size, heading = np.hypot(step[:, 0], step[:, 1]), np.arctan2(step[:, 1], step[:, 0])
    if closed:
        size, heading = np.append(size, size[0]), np.append(heading, heading[0])
    turn = wrapped_angle(np.diff(heading))
    before, after = size[:-1], size[1:]
    # Chord and tangent differ by half the arc; the sines of both halves are as the chords.
    half = np.arctan2(before * np.sin(turn), after + before * np.cos(turn))
    inner = heading[:-1] + half
    if closed:
        return np.concatenate([inner[-1:], inner])
    return np.concatenate([heading[:1] - half[:1], inner, heading[-1:] + (turn - half)[-1:]])


def through(points: FloatArray, along: FloatArray, lim: Limits) -> list[Stretch] | None:
    """Return arcs through some of the points that pass the others within limits.

    Parameters
    ----------
    points : (m + 1, 2) array
        The row [mm].
    along : (m + 1,) array
        Direction at each [rad].
    lim : Limits
        How far points and chords may be from the arcs.

    Returns
    -------
    list of Stretch or None
        None if the arc between some two neighbours rises too far above its chord.
    """
    unit = np.column_stack([np.cos(along), np.sin(along)])
    end = len(points) - 1
    at, out = 0, []
    while at < end:
        best: Stretch | None = None
        beyond, reach = end + 1, at + 1
        while reach < beyond:
            found = _between(points, unit, at, reach, lim)
            if found is None:
                beyond = reach
                if best is None:
                    return None
            else:
                best = found
            known = best.last if best is not None else at
            reach = min(2 * known - at, end) if beyond > end else (known + beyond) // 2
            if reach == known:
                break
        if best is None:
            return None
        out.append(best)
        at = best.last
    return out


def _between(
    points: FloatArray, unit: FloatArray, first: int, last: int, lim: Limits
) -> Stretch | None:
    ends, tangents = points[[first, last]], unit[[first, last]]
    joint, one, other = biarcs(ends[:1], ends[1:], tangents[:1], tangents[1:])
    table = Segments(
        np.vstack([ends[:1], joint]), np.vstack([joint, ends[1:]]), np.concatenate([one, other])
    )
    if float(np.abs(table.turn).max()) > _MOST_TURN:
        return None
    own = points[first : last + 1]
    middles = 0.5 * (own[:-1] + own[1:])
    for p, limit in ((own[1:-1], lim.points_mm), (middles, lim.chords_mm)):
        if len(p) and float(table.distance(p[:, :1], p[:, 1:]).min(axis=1).max()) > limit:
            return None
    return Stretch(first, last, table)
