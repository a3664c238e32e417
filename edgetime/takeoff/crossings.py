"""Where segments cross each other."""

from __future__ import annotations

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray
from edgetime.takeoff.segments import Segments, centres, nearest, tangent
from edgetime.tolerances import COINCIDENT_MM

__all__ = ["crossings", "turning_numbers"]

_SHALLOW = 1e-3
# Curves that meet at a smaller angle [rad] touch; at 1 m length they are apart by less
# than a saw kerf.


def crossings(a: Segments, b: Segments) -> tuple[IntArray, FloatArray]:
    """Return where row k of one table properly crosses row k of the other.

    A crossing lies inside both rows, away from their ends by more than the coincidence
    tolerance, and at an angle.

    Returns
    -------
    rows : (m,) integer array
        The rows that cross; a row appears twice when it crosses twice.
    points : (m, 2) array
        Places [mm].
    """
    arc_a, arc_b = np.abs(a.bulge) > 1e-9, np.abs(b.bulge) > 1e-9
    rows: list[IntArray] = []
    points: list[FloatArray] = []
    for mask, meet in (
        (~arc_a & ~arc_b, lambda p, q: [_line_line(p, q)]),
        (~arc_a & arc_b, _line_arc),
        (arc_a & ~arc_b, lambda p, q: _line_arc(q, p)),
        (arc_a & arc_b, _arc_arc),
    ):
        own = np.nonzero(mask)[0]
        if not len(own):
            continue
        p, q = a.take(own), b.take(own)
        for at in meet(p, q):
            fine = np.isfinite(at).all(axis=1)
            at = np.where(fine[:, None], at, 0.0)  # noqa: PLW2901
            t, far_a = nearest(p, at)
            u, far_b = nearest(q, at)
            fine &= (far_a <= COINCIDENT_MM) & (far_b <= COINCIDENT_MM)
            fine &= np.minimum(t, 1.0 - t) * p.length > COINCIDENT_MM
            fine &= np.minimum(u, 1.0 - u) * q.length > COINCIDENT_MM
            fine &= np.abs(np.sin(tangent(p, t) - tangent(q, u))) > _SHALLOW
            rows.append(own[fine])
            points.append(at[fine])
    if not rows:
        return np.zeros(0, dtype=np.int64), np.zeros((0, 2))
    row, point = np.concatenate(rows), np.concatenate(points)
    order = np.lexsort((point[:, 1], point[:, 0], row))
    return row[order], point[order]


def _line_line(a: Segments, b: Segments) -> FloatArray:
    d, e, g = a.end - a.start, b.end - b.start, b.start - a.start
    det = d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (g[:, 0] * e[:, 1] - g[:, 1] * e[:, 0]) / det
        return np.asarray(a.start + t[:, None] * d)


def _line_arc(line: Segments, arc: Segments) -> list[FloatArray]:
    centre, radius = centres(arc)
    d = line.end - line.start
    length = np.hypot(d[:, 0], d[:, 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        unit = d / length[:, None]
        foot = ((centre - line.start) * unit).sum(axis=1)
        near = line.start + foot[:, None] * unit
        off = ((centre - near) ** 2).sum(axis=1)
        half = np.sqrt(radius**2 - off)
    return [near - half[:, None] * unit, near + half[:, None] * unit]


def _arc_arc(a: Segments, b: Segments) -> list[FloatArray]:
    ca, ra = centres(a)
    cb, rb = centres(b)
    d = cb - ca
    gap = np.hypot(d[:, 0], d[:, 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        unit = d / gap[:, None]
        along = (gap**2 + ra**2 - rb**2) / (2.0 * gap)
        half = np.sqrt(ra**2 - along**2)
    middle = ca + along[:, None] * unit
    side = half[:, None] * np.column_stack([-unit[:, 1], unit[:, 0]])
    return [middle - side, middle + side]


def turning_numbers(s: Segments, first: IntArray) -> FloatArray:
    """Return how many times the direction turns around along each closed chain.

    One for a simple counter-clockwise chain; anything else crosses or retraces itself.

    Parameters
    ----------
    s : Segments
        All chains, one after the other, each head to tail.
    first : (k,) integer array
        First row of each chain.
    """
    n = len(s)
    following = np.arange(1, n + 1)
    following[np.append(first[1:], n) - 1] = first
    zero = np.zeros(n)
    corner = tangent(s.take(following), zero) - tangent(s, zero + 1.0)
    corner = np.pi - np.mod(np.pi - corner, 2.0 * np.pi)
    total = np.add.reduceat(corner + 4.0 * np.arctan(s.bulge), first)
    return np.asarray(total / (2.0 * np.pi))
