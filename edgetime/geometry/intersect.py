"""Exact intersections of straight and circular segments, many pairs at once."""

from __future__ import annotations

from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import Segments

__all__ = ["candidate_pairs", "intersections"]

_TOUCH_MM: Final = 1e-7
"""An end this close to the other segment touches it [mm]: far above the rounding of
coordinates in metres, far below anything that can be drawn."""

_DENSE: Final = 1 << 20
"""Up to so many pairs of boxes a plain comparison is quicker than building a tree."""


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


def _root(square: FloatArray, scale: FloatArray) -> FloatArray:
    """Return the root of a half chord's square; zero where rounding hides a touch, else NaN."""
    touching = (square < 0.0) & (square > -2.0 * _TOUCH_MM * scale)
    value = np.where(touching, 0.0, square)
    return np.sqrt(value, out=np.full(len(value), np.nan), where=value >= 0.0)


def _line_circle(line: Segments, arc: Segments) -> tuple[FloatArray, FloatArray]:
    """Return both crossings of a line and a circle a row, NaN when they miss [mm]."""
    gap = arc.centre - line.start
    u = line.unit
    along = gap[:, 0] * u[:, 0] + gap[:, 1] * u[:, 1]
    off = np.abs(u[:, 0] * gap[:, 1] - u[:, 1] * gap[:, 0])
    r = np.abs(arc.radius)
    half = _root((r - off) * (r + off), r)
    return (
        np.asarray(line.start + (along - half)[:, None] * u),
        np.asarray(line.start + (along + half)[:, None] * u),
    )


def _circle_circle(a: Segments, b: Segments) -> tuple[FloatArray, FloatArray]:
    """Return both crossings of two circles a row, NaN when they miss or coincide [mm]."""
    gap = b.centre - a.centre
    apart = np.hypot(gap[:, 0], gap[:, 1])
    ra, rb = np.abs(a.radius), np.abs(b.radius)
    distinct = apart > 0.0
    safe = np.where(distinct, apart, 1.0)
    u = gap / safe[:, None]
    along = np.where(distinct, 0.5 * (safe + (ra - rb) * (ra + rb) / safe), np.nan)
    half = _root((ra - along) * (ra + along), np.minimum(ra, rb))
    foot = a.centre + along[:, None] * u
    left = np.column_stack([-u[:, 1], u[:, 0]])
    return np.asarray(foot + half[:, None] * left), np.asarray(foot - half[:, None] * left)


def _polish(a: Segments, b: Segments, points: FloatArray) -> FloatArray:
    """Return the points after Newton steps on both signed distances.

    The circles of very flat arcs are so large that crossing them directly loses digits that
    the signed distances still have.
    """
    for _ in range(2):
        x, y = points[:, 0], points[:, 1]
        na, nb = a.normal(x, y), b.normal(x, y)
        fa, fb = a.side(x, y), b.side(x, y)
        cross = na[:, 0] * nb[:, 1] - na[:, 1] * nb[:, 0]
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

    for flat_a, flat_b in ((True, True), (True, False), (False, True), (False, False)):
        index = np.flatnonzero((a.straight == flat_a) & (b.straight == flat_b))
        if not len(index):
            continue
        sa, sb = a.take(index), b.take(index)
        if flat_a and flat_b:
            add(index, _line_line(sa, sb))
        elif flat_a:
            add(index, *_line_circle(sa, sb))
        elif flat_b:
            add(index, *_line_circle(sb, sa))
        else:
            add(index, *_circle_circle(sa, sb))
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
    slack_a = _TOUCH_MM / np.maximum(a.lengths[row], _TOUCH_MM)
    slack_b = _TOUCH_MM / np.maximum(b.lengths[row], _TOUCH_MM)
    on = (at_a >= -slack_a) & (at_a <= 1.0 + slack_a) & (at_b >= -slack_b) & (at_b <= 1.0 + slack_b)
    return (
        row[on].astype(np.int64),
        np.clip(at_a[on], 0.0, 1.0),
        np.clip(at_b[on], 0.0, 1.0),
    )
