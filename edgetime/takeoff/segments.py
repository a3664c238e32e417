"""Many segments at once, as columns: the form in which a whole drawing is taken off.

Functions work row by row on equally long arrays; nothing here knows of layers or parts.
A segment turns by ``4 atan(bulge)``; a point on it at the fraction *t* of its length lies
on the chord of the part-arc, whose direction is the chord's turned back by
``(1 − t) · 2 atan(bulge)`` and whose length is in the ratio of the half-angles' sines.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgetime.geometry.path import FloatArray, IntArray

__all__ = [
    "BoolArray",
    "Segments",
    "bounds",
    "centres",
    "concatenate",
    "enclosed_area",
    "nearest",
    "point_at",
    "signed_areas",
    "tangent",
]

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Segments:
    """Rows of segments.

    Attributes
    ----------
    start, end : (n, 2) array
        Ends [mm].
    bulge : (n,) array
        Tangent of a quarter of the turn [-].
    length : (n,) array
        Exact length of the curve the segment stands for [mm].
    entity : (n,) integer array
        The entity it is a piece of, -1 for the bridge over a gap.
    label : (n,) integer array
        The entity whose layer gives its profile, -1 for none.
    """

    start: FloatArray
    end: FloatArray
    bulge: FloatArray
    length: FloatArray
    entity: IntArray
    label: IntArray

    def __len__(self) -> int:
        return len(self.bulge)

    def take(self, rows: object) -> Segments:
        """Return the rows selected by an index or mask array."""
        return Segments(
            self.start[rows],  # type: ignore[index]
            self.end[rows],  # type: ignore[index]
            self.bulge[rows],  # type: ignore[index]
            self.length[rows],  # type: ignore[index]
            self.entity[rows],  # type: ignore[index]
            self.label[rows],  # type: ignore[index]
        )

    def turned(self, mask: object) -> Segments:
        """Return the same rows, those of the mask run the other way (order unchanged)."""
        flip = np.broadcast_to(np.asarray(mask, dtype=bool), (len(self),))
        return Segments(
            np.where(flip[:, None], self.end, self.start),
            np.where(flip[:, None], self.start, self.end),
            np.where(flip, -self.bulge, self.bulge),
            self.length,
            self.entity,
            self.label,
        )

    def reversed(self) -> Segments:
        """Return the chain of all rows run the other way."""
        return self.turned(mask=True).take(np.s_[::-1])

    def part(self, rows: IntArray, t0: FloatArray, t1: FloatArray) -> Segments:
        """Return the stretches from ``t0`` to ``t1`` (fractions of length) of given rows."""
        base = self.take(rows)
        start, end = point_at(base, t0), point_at(base, t1)
        # The vertices themselves are kept to the last bit, so that joins stay exact.
        start = np.where((t0 == 0.0)[:, None], base.start, start)
        end = np.where((t1 == 1.0)[:, None], base.end, end)
        whole = (t0 == 0.0) & (t1 == 1.0)
        bulge = np.where(whole, base.bulge, np.tan((t1 - t0) * np.arctan(base.bulge)))
        return Segments(start, end, bulge, base.length * (t1 - t0), base.entity, base.label)


def concatenate(pieces: list[Segments]) -> Segments:
    """Return all rows of several tables, in order."""
    return Segments(
        np.concatenate([p.start for p in pieces]),
        np.concatenate([p.end for p in pieces]),
        np.concatenate([p.bulge for p in pieces]),
        np.concatenate([p.length for p in pieces]),
        np.concatenate([p.entity for p in pieces]),
        np.concatenate([p.label for p in pieces]),
    )


def point_at(s: Segments, t: FloatArray) -> FloatArray:
    """Return the (n, 2) points at the fractions ``t`` of the rows' lengths [mm]."""
    half = 2.0 * np.arctan(s.bulge)
    straight = np.abs(half) < 1e-12
    safe = np.where(straight, 1.0, half)
    ratio = np.where(straight, t, np.sin(t * safe) / np.sin(safe))
    turn = np.where(straight, 0.0, -(1.0 - t) * half)
    d = s.end - s.start
    c, w = np.cos(turn), np.sin(turn)
    x = ratio * (c * d[:, 0] - w * d[:, 1])
    y = ratio * (w * d[:, 0] + c * d[:, 1])
    return s.start + np.column_stack([x, y])


def tangent(s: Segments, t: FloatArray) -> FloatArray:
    """Return the direction of travel at the fractions ``t`` of the rows' lengths [rad]."""
    d = s.end - s.start
    return np.asarray(np.arctan2(d[:, 1], d[:, 0]) + (2.0 * t - 1.0) * 2.0 * np.arctan(s.bulge))


def centres(s: Segments) -> tuple[FloatArray, FloatArray]:
    """Return centres (n, 2) and radii (n,) of the rows' circles [mm]; rows must be arcs."""
    d = s.end - s.start
    b = s.bulge
    k = (1.0 - b * b) / (4.0 * b)
    mid = 0.5 * (s.start + s.end)
    centre = mid + k[:, None] * np.column_stack([-d[:, 1], d[:, 0]])
    radius = np.hypot(d[:, 0], d[:, 1]) * (1.0 + b * b) / (4.0 * np.abs(b))
    return centre, np.asarray(radius)


def nearest(s: Segments, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return, row by row, the nearest place on a segment to a point.

    Returns
    -------
    t : (n,) array
        Fraction of the segment's length.
    distance : (n,) array
        Distance from the point [mm].
    """
    d = s.end - s.start
    q = points - s.start
    square = np.maximum((d * d).sum(axis=1), 1e-300)
    t = np.clip((q * d).sum(axis=1) / square, 0.0, 1.0)
    arc = np.nonzero(np.abs(s.bulge) > 1e-9)[0]
    if len(arc):
        rows = s.take(arc)
        centre, _ = centres(rows)
        r0, r1 = rows.start - centre, points[arc] - centre
        sense = np.sign(rows.bulge)
        angle = sense * np.arctan2(r0[:, 0] * r1[:, 1] - r0[:, 1] * r1[:, 0], (r0 * r1).sum(axis=1))
        sweep = 4.0 * np.arctan(np.abs(rows.bulge))
        # Beyond the end the nearer end wins: the split lies opposite the arc's middle.
        low = 0.5 * sweep - np.pi
        angle = low + np.mod(angle - low, 2.0 * np.pi)
        t[arc] = np.clip(angle / sweep, 0.0, 1.0)
    gap = point_at(s, t) - points
    return t, np.hypot(gap[:, 0], gap[:, 1])


def enclosed_area(chain: Segments) -> float:
    """Return the signed area of one closed chain [mm²], positive counter-clockwise."""
    origin = chain.start[0]
    s = chain
    local = Segments(s.start - origin, s.end - origin, s.bulge, s.length, s.entity, s.label)
    return float(signed_areas(local).sum())


def bounds(s: Segments) -> FloatArray:
    """Return the exact boxes (n, 4) of the rows: x_min, y_min, x_max, y_max [mm]."""
    box = np.column_stack([np.minimum(s.start, s.end), np.maximum(s.start, s.end)])
    arc = np.nonzero(np.abs(s.bulge) > 1e-9)[0]
    if len(arc):
        rows = s.take(arc)
        centre, radius = centres(rows)
        sweep = 4.0 * np.arctan(rows.bulge)
        first = tangent(rows, np.zeros(len(arc))) - np.sign(rows.bulge) * np.pi / 2.0
        low = np.minimum(first, first + sweep)
        for quarter, (axis, side) in enumerate(((0, 1), (1, 1), (0, -1), (1, -1))):
            beyond = np.mod(quarter * np.pi / 2.0 - low, 2.0 * np.pi)
            hit = beyond <= np.abs(sweep)
            reach = centre[:, axis] + side * radius
            column = axis if side < 0 else axis + 2
            pick = np.minimum if side < 0 else np.maximum
            box[arc, column] = np.where(hit, pick(box[arc, column], reach), box[arc, column])
    return np.asarray(box)


def signed_areas(s: Segments) -> FloatArray:
    """Return what each row adds to the area of the closed chain it belongs to [mm²].

    The triangle with the origin plus the circular segment between arc and chord, which over
    a chord c is ``R² (θ − sin θ) / 2``, and ``c² b (1/3 + b²/15 − b⁴/105)`` for small bulges,
    where the difference would lose digits (series of the same expression).
    """
    d = s.end - s.start
    square = (d * d).sum(axis=1)
    b = s.bulge
    small = np.abs(b) < 0.03
    safe = np.where(small, 1.0, b)
    theta = 4.0 * np.arctan(safe)
    exact = (1.0 + safe * safe) ** 2 / (32.0 * safe * safe) * (theta - np.sin(theta))
    series = b * (1.0 / 3.0 + b * b / 15.0 - b**4 / 105.0)
    cross = s.start[:, 0] * s.end[:, 1] - s.start[:, 1] * s.end[:, 0]
    return np.asarray(0.5 * cross + square * np.where(small, series, exact))
