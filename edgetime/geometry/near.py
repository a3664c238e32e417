"""Which of many points, and which parts of parallels, are too near to a long contour."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from edgetime.geometry.intersect import candidate_pairs
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray, Segments, wrapped_angle

BLOCK_PAIRS: Final = 1 << 16
"""Pairs worked on at once, to bound the memory: some ten megabytes of tables."""

_FEW: Final = 1 << 18
"""Up to this many pairs are measured one and all."""

_RISE_MM: Final = 0.5
"""Arcs that rise more above their chords are measured one by one [mm]: they are long and few."""

_INSIDE_MM: Final = 1e-5
"""What is nearer than the distance by less than this is not given up [mm]."""


def in_blocks(i: IntArray, j: IntArray) -> Iterator[tuple[IntArray, IntArray]]:
    """Yield pairs in blocks of bounded size."""
    for first in range(0, len(i), BLOCK_PAIRS):
        yield i[first : first + BLOCK_PAIRS], j[first : first + BLOCK_PAIRS]


def any_nearer(points: FloatArray, reach: FloatArray, table: Segments) -> BoolArray:
    """Return which points are nearer to some segment than their reach (n,).

    Few pairs are measured one and all. Of many, each point is measured against the segment whose
    chord is nearest; only where an arc may come nearer still, against what else is in reach.
    Reaches must be positive.

    Parameters
    ----------
    points : (n, 2) array
        Points [mm].
    reach : (n,) array
        Distances [mm].
    table : Segments
        m segments.
    """
    out = np.zeros(len(points), dtype=np.bool_)
    if not len(points) or not len(table):
        return out
    if len(points) * len(table) <= _FEW:
        _measure(points, reach, table, np.arange(len(points)), out)
        return out
    # An arc rises above its chord by half the bulge times the chord.
    rise = 0.5 * np.abs(table.bulge) * table.chord
    # Flat arcs go into the tree as their chords, and the search is widened by their rise; one that
    # rises far would widen it for all.
    flat = rise <= _RISE_MM
    if flat.any():
        _measure_flat(points, reach, table.take(flat), float(rise[flat].max()), out)
    _measure(points, reach, table.take(~flat), np.flatnonzero(~out), out)
    return out


def _measure(
    points: FloatArray, reach: FloatArray, table: Segments, rows: IntArray, out: BoolArray
) -> None:
    """Mark which of the points are nearer to a segment than their reach, pair by pair."""
    if not len(table) or not len(rows):
        return
    p, r = points[rows], reach[rows, None]
    i, j = candidate_pairs(np.column_stack([p - r, p + r]), table.boxes())
    for a, b in in_blocks(rows[i], j):
        x, y = points[a].T
        out[a[table.take(b).distance(x, y) < reach[a]]] = True


def _measure_flat(
    points: FloatArray, reach: FloatArray, table: Segments, rise: float, out: BoolArray
) -> None:
    """Mark the points near to segments that are all but straight, by their nearest chords."""
    import shapely  # noqa: PLC0415 - only large tables need the tree

    tree = shapely.STRtree(shapely.linestrings(np.stack([table.start, table.end], axis=1)))
    spots = shapely.points(points)
    nearest = table.take(tree.nearest(spots))
    out |= nearest.distance(points[:, 0], points[:, 1]) < reach
    left = np.flatnonzero(~out)
    if rise == 0.0 or not len(left):
        return
    i, j = tree.query(spots[left], predicate="dwithin", distance=reach[left] + rise)
    for a, b in in_blocks(left[i], j):
        x, y = points[a].T
        out[a[table.take(b).distance(x, y) < reach[a]]] = True


def _steps(count: int) -> list[int]:
    """Return how far along a contour to look for what covers a piece: finely near, coarsely far."""
    out: list[int] = []
    step = 1
    while step <= count // 2:
        out += [step, step + step // 2] if step > 1 else [step]
        step *= 2
    return [s for k in out for s in (k, -k)]


def uncovered(
    table: Segments, own: IntArray, pivot: BoolArray, vertices: FloatArray, d: float
) -> tuple[FloatArray, FloatArray]:
    """Return what is left of pieces of a parallel outside the discs about other vertices.

    A raw parallel of a toothed edge is many times as long as what the tool can walk, and each
    piece crosses hundreds of others. Most of it lies deep within the discs about vertices
    nearby, where neither the tool goes nor the border of its ground is.

    Parameters
    ----------
    table : Segments
        n pieces: straight ones, and arcs of radius d about a vertex.
    own : (n,) integer array
        Row of the vertex each stands at.
    pivot : (n,) boolean array
        Whether it is an arc about that vertex; other arcs are left whole.
    vertices : (m, 2) array
        Vertices of the contour [mm].
    d : float
        Radius of the discs [mm].

    Returns
    -------
    low, high : (n,) array
        Fractions of each piece; nothing is left where ``high <= low``.
    """
    n = len(table)
    low, high = np.zeros(n), np.ones(n)
    # Of lines, and of arcs about their own vertex, the covered stretch is known in closed form.
    usable = table.straight | pivot
    for step in 2 * _steps(len(vertices)):
        rows = np.flatnonzero(usable & (high > low))
        if not len(rows):
            break
        around = vertices[(own[rows] + step) % len(vertices)]
        about = vertices[own[rows] % len(vertices)]
        first, last = _covered(table.take(rows), about, around, d)
        a, b = low[rows], high[rows]
        low[rows] = np.where((first <= a) & (last > a), last, a)
        high[rows] = np.where((last >= b) & (first < b), first, b)
    return np.clip(low, 0.0, 1.0), np.clip(high, 0.0, 1.0)


def _covered(
    table: Segments, about: FloatArray, q: FloatArray, d: float
) -> tuple[FloatArray, FloatArray]:
    """Return from where to where the disc about q covers each line, or arc about a vertex.

    NaN where it does not. On a circle of radius d about v a place at the angle a from q is nearer
    to q than r where ``cos a > (d² + |q - v|² - r²) / (2 d |q - v|)``.
    """
    inner = d - _INSIDE_MM
    x, y = (q - table.start).T
    chord = np.where(table.chord > 0.0, table.chord, 1.0)
    along = (x * table.unit[:, 0] + y * table.unit[:, 1]) / chord
    across = x * table.unit[:, 1] - y * table.unit[:, 0]
    room = inner * inner - across * across
    wide = np.sqrt(np.maximum(room, 0.0)) / chord
    gap = q - about
    size = np.hypot(gap[:, 0], gap[:, 1])
    far = np.where(size > 0.0, size, 1.0)
    cos = (d * d + size * size - inner * inner) / (2.0 * d * far)
    sign = np.sign(table.bulge)
    turn = np.where(table.bulge == 0.0, 1.0, np.abs(table.turn))
    # The radius is square to the tangent, on the side the arc turns to.
    middle = table.heading - 0.5 * np.pi * sign
    to = sign * wrapped_angle(np.arctan2(gap[:, 1], gap[:, 0]) - middle) / turn + 0.5
    angle = np.arccos(np.clip(cos, -1.0, 1.0)) / turn
    straight = table.straight
    hit = np.where(straight, room > 0.0, (size > 0.0) & (cos < 1.0))
    centre = np.where(hit, np.where(straight, along, to), np.nan)
    half = np.where(straight, wide, angle)
    return centre - half, centre + half
