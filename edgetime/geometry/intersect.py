"""Exact intersections of straight and circular segments, many pairs at once."""

from __future__ import annotations

from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import Segments

_TOUCH_MM: Final = 1e-7
"""An end this close to the other segment touches it [mm]: far above the rounding of
coordinates in metres, far below anything that can be drawn."""

_DENSE: Final = 1 << 20
"""Up to this many pairs of boxes a plain comparison is quicker than building a tree."""


def candidate_pairs(
    boxes: FloatArray, others: FloatArray | None = None
) -> tuple[IntArray, IntArray]:
    """Return the pairs of boxes that meet.

    Parameters
    ----------
    boxes : (n, 4) array
        x min, y min, x max, y max [mm].
    others : (m, 4) array, optional
        The second set. Without it the pairs are within ``boxes``, each once, i < j.

    Returns
    -------
    i, j : (k,) integer arrays
        Rows of the first and of the second set, sorted by i, then j.
    """
    other = boxes if others is None else others
    if len(boxes) * len(other) <= _DENSE:
        # All against all beats building a tree up to a million pairs.
        meets = (
            (boxes[:, None, 0] <= other[None, :, 2] + _TOUCH_MM)
            & (other[None, :, 0] <= boxes[:, None, 2] + _TOUCH_MM)
            & (boxes[:, None, 1] <= other[None, :, 3] + _TOUCH_MM)
            & (other[None, :, 1] <= boxes[:, None, 3] + _TOUCH_MM)
        )
        if others is None:
            meets = np.triu(meets, 1)
        i, j = np.nonzero(meets)
    else:
        import shapely  # noqa: PLC0415 - only large tables need the tree

        tree = shapely.STRtree(shapely.box(*other.T))
        grown = boxes + np.array([-_TOUCH_MM, -_TOUCH_MM, _TOUCH_MM, _TOUCH_MM])
        i, j = tree.query(shapely.box(*grown.T))
        if others is None:
            i, j = i[i < j], j[i < j]
        order = np.lexsort((j, i))
        i, j = i[order], j[order]
    return i.astype(np.int64), j.astype(np.int64)


def _line_line(a: Segments, b: Segments) -> FloatArray:
    """Return the crossing of two lines a row, NaN when parallel (n, 2) [mm]."""
    cross = a.unit[:, 0] * b.unit[:, 1] - a.unit[:, 1] * b.unit[:, 0]
    gap = b.start - a.start
    along = np.divide(
        gap[:, 0] * b.unit[:, 1] - gap[:, 1] * b.unit[:, 0],
        cross,
        out=np.full(len(a), np.nan),
        where=np.abs(cross) > 1e-14,
    )
    return np.asarray(a.start + along[:, None] * a.unit)


def _conic(table: Segments, origin: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return k, v, w of ``k |X|² - 2 v·X + w = 0`` for each line or circle about an origin.

    A line has k = 0. The form loses no digits on flat arcs, whose centres are far away.
    """
    middle = 0.5 * (table.start + table.end) - origin
    k = np.where(table.straight, 0.0, table.curvature)
    left = np.column_stack([-table.unit[:, 1], table.unit[:, 0]])
    rise = np.where(table.straight, 1.0, table.height)[:, None] * left
    v = k[:, None] * middle + rise
    size = np.sum(middle * middle, axis=1) - 0.25 * table.chord**2
    return k, v, np.asarray(k * size + 2.0 * np.sum(rise * middle, axis=1))


def _circles(a: Segments, b: Segments) -> tuple[FloatArray, FloatArray]:
    """Return both crossings of two circles, or a line and a circle, a row; NaN when they miss.

    The difference of the two equations is the line through both crossings (the radical axis);
    that line is met with the rounder of the two.
    """
    origin = 0.5 * (a.start + a.end)
    ka, va, wa = _conic(a, origin)
    kb, vb, wb = _conic(b, origin)
    normal = kb[:, None] * va - ka[:, None] * vb
    size = np.hypot(normal[:, 0], normal[:, 1])
    # Two circles about one centre, or one and the same, have no such line.
    distinct = size > 1e-14 * (np.abs(ka) + np.abs(kb))
    inverse = np.divide(1.0, size, out=np.full(len(a), np.nan), where=distinct)
    normal = normal * inverse[:, None]
    foot = (0.5 * (kb * wa - ka * wb) * inverse)[:, None] * normal
    along = np.column_stack([-normal[:, 1], normal[:, 0]])
    of_a = np.abs(ka) > np.abs(kb)
    k, w = np.where(of_a, ka, kb), np.where(of_a, wa, wb)
    v = np.where(of_a[:, None], va, vb)
    half_b = k * np.sum(foot * along, axis=1) - np.sum(v * along, axis=1)
    c = k * np.sum(foot * foot, axis=1) - 2.0 * np.sum(v * foot, axis=1) + w
    square = half_b * half_b - k * c
    # Rounding may hide that the two touch.
    square = np.where((square < 0.0) & (square > -4.0 * np.abs(k) * _TOUCH_MM), 0.0, square)
    root = np.sqrt(square, out=np.full(len(a), np.nan), where=square >= 0.0)
    # Of the two forms of a root each is used where it does not cancel.
    q = -(half_b + np.copysign(root, half_b))
    far = q / k
    near = np.divide(c, q, out=far.copy(), where=q != 0.0)
    base = origin + foot
    return np.asarray(base + near[:, None] * along), np.asarray(base + far[:, None] * along)


def _polish(a: Segments, b: Segments, points: FloatArray) -> FloatArray:
    """Return the points after Newton steps on both signed distances, exact to rounding."""
    for _ in range(2):
        x, y = points[:, 0], points[:, 1]
        na, nb = a.normal(x, y), b.normal(x, y)
        fa, fb = a.side(x, y), b.side(x, y)
        cross = na[:, 0] * nb[:, 1] - na[:, 1] * nb[:, 0]
        # A Newton step on both equations at once. Curves that run almost alike are left as they
        # are: their step would be wild.
        good = np.abs(cross) > 1e-4
        inverse = np.divide(1.0, cross, out=np.zeros_like(cross), where=good)
        step = np.column_stack(
            [(na[:, 1] * fb - nb[:, 1] * fa) * inverse, (nb[:, 0] * fa - na[:, 0] * fb) * inverse]
        )
        points = points + step
    return points


def intersections(a: Segments, b: Segments) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return where the segments of each row of two tables meet.

    Parameters
    ----------
    a, b : Segments
        n rows each; row i of ``a`` is met with row i of ``b``.

    Returns
    -------
    row : (k,) integer array
        The row each meeting belongs to.
    at_a, at_b : (k,) array
        Fractions along both segments, in [0, 1]. A touch counts; of a common stretch the
        ends are given; one place may be given more than once, within rounding.
    """
    n = len(a)
    rows: list[IntArray] = []
    points: list[FloatArray] = []

    def add(index: IntArray, *found: FloatArray) -> None:
        for each in found:
            fine = np.isfinite(each[:, 0])
            rows.append(index[fine])
            points.append(each[fine])

    both = a.straight & b.straight
    for lines in (True, False):
        index = np.flatnonzero(both == lines)
        if not len(index):
            continue
        sa, sb = a.take(index), b.take(index)
        if lines:
            add(index, _line_line(sa, sb))
        else:
            add(index, *_circles(sa, sb))
    found_row = np.concatenate([*rows, np.zeros(0, dtype=np.int64)])
    found = np.concatenate([*points, np.zeros((0, 2))])
    # A crossing far from both segments is no business of theirs and may overflow the polish.
    pa, pb = a.take(found_row), b.take(found_row)
    near = (pa.distance(found[:, 0], found[:, 1]) < 1.0) & (
        pb.distance(found[:, 0], found[:, 1]) < 1.0
    )
    found_row, pa, pb = found_row[near], pa.take(near), pb.take(near)
    found = found[near]
    if not (pa.straight & pb.straight).all():
        found = _polish(pa, pb, found)
    out_row = [found_row]
    out_a = [pa.fraction(found[:, 0], found[:, 1])]
    out_b = [pb.fraction(found[:, 0], found[:, 1])]
    # Ends that lie on the other segment, so that touches and common stretches are not missed.
    ends = np.concatenate([a.start, a.end, b.start, b.end])
    at, away = Segments.stack([b, b, a, a]).nearest(ends[:, 0], ends[:, 1])
    own = np.repeat([0.0, 1.0, 0.0, 1.0], n)
    hit = np.flatnonzero(away <= _TOUCH_MM)
    of_a = hit < 2 * n
    out_row.append(hit % max(n, 1))
    out_a.append(np.where(of_a, own[hit], at[hit]))
    out_b.append(np.where(of_a, at[hit], own[hit]))
    row = np.concatenate(out_row)
    at_a, at_b = np.concatenate(out_a), np.concatenate(out_b)
    # The slack is a length: as a share it would reach far beyond a long segment.
    slack_a = _TOUCH_MM / np.maximum(a.lengths[row], _TOUCH_MM)
    slack_b = _TOUCH_MM / np.maximum(b.lengths[row], _TOUCH_MM)
    on = (at_a >= -slack_a) & (at_a <= 1.0 + slack_a) & (at_b >= -slack_b) & (at_b <= 1.0 + slack_b)
    return (
        row[on].astype(np.int64),
        np.clip(at_a[on], 0.0, 1.0),
        np.clip(at_b[on], 0.0, 1.0),
    )
