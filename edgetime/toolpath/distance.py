"""Exact distances between straight and circular segments, many pairs at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray, Segments

_BLOCK: Final = 1 << 16
"""Pairs measured at once, to bound the memory."""


def closest(a: Segments, b: Segments) -> FloatArray:
    """Return the distance between the segments of each row.

    Two segments that do not meet are nearest at an end of one of them, or where both have a
    common normal: at the foot of a circle's centre on a line, or on the line of two centres.

    Parameters
    ----------
    a, b : Segments
        n rows each; row i of ``a`` is measured against row i of ``b``.

    Returns
    -------
    (n,) array
        Distances, 0 where they meet [mm].
    """
    out = np.minimum(
        np.minimum(b.distance(a.start[:, 0], a.start[:, 1]), b.distance(a.end[:, 0], a.end[:, 1])),
        np.minimum(a.distance(b.start[:, 0], b.start[:, 1]), a.distance(b.end[:, 0], b.end[:, 1])),
    )
    _common_normals(a, b, out)
    _common_normals(b, a, out)
    # Where two cross, none of the candidates above is the nearest place.
    row, _, _ = intersections(a, b)
    out[row] = 0.0
    return np.asarray(out)


def _common_normals(a: Segments, b: Segments, out: FloatArray) -> None:
    """Lower the distances by those at the places on the arcs of ``a`` with a common normal."""
    index = np.flatnonzero(~a.straight)
    if not len(index):
        return
    arc, other = a.take(index), b.take(index)
    radius = np.abs(arc.radius)
    to_line = np.column_stack([-other.unit[:, 1], other.unit[:, 0]])
    gap = np.where(other.straight[:, None], 0.0, other.centre - arc.centre)
    size = np.hypot(gap[:, 0], gap[:, 1])
    # Concentric arcs have every normal in common: the distance is the same all along, and was
    # measured at their ends.
    single = other.straight | (size > 0.0)
    apart = np.where(size > 0.0, size, 1.0)
    normal = np.where(other.straight[:, None], to_line, gap / apart[:, None])
    for sign in (1.0, -1.0):
        p = arc.centre + (sign * radius)[:, None] * normal
        at = arc.fraction(p[:, 0], p[:, 1])
        on = single & (at >= 0.0) & (at <= 1.0)
        found = np.where(on, other.distance(p[:, 0], p[:, 1]), np.inf)
        out[index] = np.minimum(out[index], found)


def nearest_within(
    lines: Segments,
    reach: FloatArray,
    others: Segments,
    allowed: Callable[[IntArray, IntArray], BoolArray],
) -> tuple[FloatArray, IntArray]:
    """Return how near each segment comes to any of the others.

    Parameters
    ----------
    lines : Segments
        n rows.
    reach : (n,) array
        What lies further from a segment than this is of no interest [mm].
    others : Segments
        m rows.
    allowed : callable
        Given row numbers of both tables, says which pairs count.

    Returns
    -------
    distance : (n,) array
        Exact where it is less than the reach, else infinite [mm].
    other : (n,) integer array
        The nearest row of ``others``, -1 for none.
    """
    away = np.full(len(lines), np.inf)
    which = np.full(len(lines), -1, dtype=np.int64)
    if not len(lines) or not len(others):
        return away, which
    boxes = lines.boxes() + np.column_stack([-reach, -reach, reach, reach])
    i, j = candidate_pairs(boxes, others.boxes())
    use = allowed(i, j)
    i, j = i[use], j[use]
    for first in range(0, len(i), _BLOCK):
        a, b = i[first : first + _BLOCK], j[first : first + _BLOCK]
        found = closest(lines.take(a), others.take(b))
        near = np.flatnonzero(found < reach[a])
        # Far first, so that the nearest of a row is written last.
        near = near[np.argsort(-found[near], kind="stable")]
        nearer = found[near] < away[a[near]]
        near = near[nearer]
        away[a[near]] = found[near]
        which[a[near]] = b[near]
    return away, which
