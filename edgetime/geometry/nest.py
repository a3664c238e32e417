"""Which closed loop lies in which."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from edgetime.geometry.intersect import candidate_pairs
from edgetime.geometry.measure import Monotone, segment_areas
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import Segments

_INSET_MM = 1e-4
"""How far inside its loop the point that stands for it lies [mm]."""

_BLOCK = 1 << 20
"""Tests of a point against a piece done at once, to bound the memory."""


def _representatives(
    table: Segments, first: IntArray, counts: IntArray, areas: FloatArray
) -> FloatArray:
    """Return a point just inside each loop, beside the middle of its longest segment [mm].

    A vertex may lie on the loop around it, where parts share an edge; this point cannot.
    """
    lengths = table.lengths
    owner = np.repeat(np.arange(len(counts)), counts)
    order = np.lexsort((lengths, owner))
    longest = order[first + counts - 1]
    own = table.take(longest)
    half = np.full(len(own), 0.5)
    angle = own.direction(half)
    inset = np.minimum(_INSET_MM, 1e-3 * own.lengths) * np.sign(areas)
    return np.asarray(
        own.point(half) + inset[:, None] * np.column_stack([-np.sin(angle), np.cos(angle)])
    )


def nest_loops(paths: Sequence[Path]) -> IntArray:
    """Return for each simple closed path the innermost other one that it lies in.

    Parameters
    ----------
    paths : sequence of Path
        Closed, none crossing another; either direction. They may share edges.

    Returns
    -------
    (n,) integer array
        Index of the parent, -1 for the outermost. Of two equal loops the later is in the
        earlier.
    """
    n = len(paths)
    parent = np.full(n, -1, dtype=np.int64)
    counts = np.array([len(p) for p in paths], dtype=np.int64)
    if n < 2:
        return parent
    table = Segments.stack([Segments.of(p) for p in paths])
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    owner = np.repeat(np.arange(n), counts)
    boxes = table.boxes()
    box = np.column_stack(
        [np.minimum.reduceat(boxes[:, :2], first), np.maximum.reduceat(boxes[:, 2:], first)]
    )
    # About the loop's own first vertex, so that far-off coordinates cost no digits.
    base = table.start[first][owner]
    s, e = table.start - base, table.end - base
    share = 0.5 * (s[:, 0] * e[:, 1] - e[:, 0] * s[:, 1]) + segment_areas(table)
    areas = np.add.reduceat(share, first)
    point = _representatives(table, first, counts, areas)
    size = np.abs(areas)
    inner, outer = candidate_pairs(np.column_stack([point, point]), box)
    larger = (size[outer] > size[inner]) | ((size[outer] == size[inner]) & (outer < inner))
    larger &= outer != inner
    inner, outer = inner[larger], outer[larger]
    pieces = Monotone(table)
    piece_counts = np.bincount(owner[pieces.row], minlength=n)
    piece_first = np.concatenate([[0], np.cumsum(piece_counts)[:-1]])
    within = np.zeros(len(inner), dtype=np.bool_)
    ends = np.cumsum(piece_counts[outer])
    begin = 0
    while begin < len(inner):
        spent = ends[begin - 1] if begin else 0
        stop = max(int(np.searchsorted(ends, spent + _BLOCK, side="right")), begin + 1)
        many = piece_counts[outer[begin:stop]]
        pair = np.repeat(np.arange(stop - begin), many)
        start_of = np.cumsum(many) - many
        rows = piece_first[outer[begin:stop]][pair] + np.arange(len(pair)) - start_of[pair]
        at = point[inner[begin:stop]][pair]
        wind = pieces.take(rows).crossings(at[:, 0], at[:, 1])
        within[begin:stop] = np.bincount(pair, weights=wind, minlength=stop - begin) != 0.0
        begin = stop
    inner, outer = inner[within], outer[within]
    # The smallest of those around it; of equal ones the latest.
    order = np.lexsort((outer, -size[outer], inner))
    parent[inner[order]] = outer[order]
    return parent
