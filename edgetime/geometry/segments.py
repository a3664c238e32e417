"""The kernel under all of planar geometry: a table of segments, straight and circular alike.

Every formula here is written in the frame of the chord and in the curvature, not in the
radius, so that it holds without a branch from a straight segment to nearly a full circle
and loses no digits on the very flat arcs that splines and drafting programs leave behind.

In the frame with its origin at the middle of the chord, x along it and y to its left, the
circle has the curvature ``k = 4 b / (c (1 + b²))`` and its centre at ``y = h / k`` with
``h = (1 - b²) / (1 + b²)``; both follow from the radius ``c (1 + b²) / (4 b)`` and the sag
``b c / 2`` of an arc of chord c and bulge b (CRC Concise Encyclopedia of Mathematics,
"Segment").
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from edgetime.columns import Columns
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.tolerances import STRAIGHT_BULGE

BoolArray = NDArray[np.bool_]


def wrapped_angle(angle: FloatArray) -> FloatArray:
    """Return angles [rad] brought into (-π, π]."""
    return np.asarray(np.pi - np.mod(np.pi - angle, 2.0 * np.pi))


def _sinc(x: FloatArray) -> FloatArray:
    """Return sin(x)/x."""
    return np.asarray(np.sinc(x / np.pi))


def box_around(boxes: FloatArray) -> tuple[float, float, float, float]:
    """Return the least box (x min, y min, x max, y max) around boxes (n, 4), at least one."""
    low, high = boxes[:, :2].min(axis=0).tolist(), boxes[:, 2:].max(axis=0).tolist()
    return low[0], low[1], high[0], high[1]


@dataclass(frozen=True, eq=False)
class Segments(Columns):
    """n segments that need not be connected.

    Attributes
    ----------
    start, end : (n, 2) array
        Ends [mm].
    bulge : (n,) array
        Tangent of a quarter of the turned angle [-].
    """

    start: FloatArray
    end: FloatArray
    bulge: FloatArray

    @classmethod
    def of(cls, path: Path) -> Segments:
        """Return the segments of a path."""
        return cls(path.points[:-1], path.points[1:], path.bulges)

    # Written out: it is called for every handful of segments that are compared.
    def take(self, rows: IntArray | BoolArray | slice) -> Segments:
        """Return the given rows."""
        return Segments(self.start[rows], self.end[rows], self.bulge[rows])

    @cached_property
    def chord(self) -> FloatArray:
        """Distance between the ends (n,) [mm]."""
        step = self.end - self.start
        return np.asarray(np.hypot(step[:, 0], step[:, 1]))

    @cached_property
    def unit(self) -> FloatArray:
        """Direction of the chord (n, 2), (1, 0) where it has none [-]."""
        step = self.end - self.start
        zero = self.chord == 0.0
        out = step / np.where(zero, 1.0, self.chord)[:, None]
        out[zero] = (1.0, 0.0)
        return np.asarray(out)

    @cached_property
    def turn(self) -> FloatArray:
        """Angle turned from start to end (n,), positive to the left [rad]."""
        return np.asarray(4.0 * np.arctan(self.bulge))

    @cached_property
    def curvature(self) -> FloatArray:
        """Signed curvature (n,), positive to the left [1/mm]."""
        b = self.bulge
        zero = self.chord == 0.0
        k = 4.0 * b / (np.where(zero, 1.0, self.chord) * (1.0 + b * b))
        return np.asarray(np.where(zero, 0.0, k))

    @cached_property
    def height(self) -> FloatArray:
        """Curvature times the centre's distance to the left of the chord (n,) [-]."""
        b2 = self.bulge * self.bulge
        return np.asarray((1.0 - b2) / (1.0 + b2))

    @cached_property
    def straight(self) -> BoolArray:
        """Whether a segment counts as straight (n,)."""
        return np.asarray(np.abs(self.bulge) < STRAIGHT_BULGE)

    @cached_property
    def lengths(self) -> FloatArray:
        """Length of the line or arc (n,) [mm]."""
        b = np.abs(self.bulge)
        ratio = np.divide(np.arctan(b), b, out=np.ones_like(b), where=b > 0.0)
        return np.asarray(self.chord * (1.0 + b * b) * ratio)

    @cached_property
    def heading(self) -> FloatArray:
        """Direction angle of the chord (n,) [rad]."""
        return np.asarray(np.arctan2(self.unit[:, 1], self.unit[:, 0]))

    @cached_property
    def centre(self) -> FloatArray:
        """Centres (n, 2), infinite for straight segments [mm]."""
        middle = 0.5 * (self.start + self.end)
        bent = ~self.straight & (self.chord > 0.0)
        rise = np.divide(self.height, self.curvature, out=np.full(len(self), np.inf), where=bent)
        left = np.column_stack([-self.unit[:, 1], self.unit[:, 0]])
        out = np.full((len(self), 2), np.inf)
        out[bent] = middle[bent] + rise[bent, None] * left[bent]
        return out

    @cached_property
    def radius(self) -> FloatArray:
        """Signed radius (n,), positive for a left turn, infinite when straight [mm]."""
        bent = ~self.straight & (self.chord > 0.0)
        full = np.full(len(self), np.inf)
        return np.asarray(np.divide(1.0, self.curvature, out=full, where=bent))

    def point(self, fraction: FloatArray) -> FloatArray:
        """Return the points (n, 2) at a fraction (n,) of each segment [mm].

        The chord to a point after the turn ``u θ`` is ``c sin(u θ/2) / sin(θ/2)`` long and
        leaves the start in the direction half that turn on.
        """
        # From chord and angle, not centre and radius: the centre of a flat arc is too far away.
        half = 0.5 * self.turn
        reach = fraction * _sinc(fraction * half) / _sinc(half)
        angle = half * (fraction - 1.0)
        cos, sin = reach * np.cos(angle), reach * np.sin(angle)
        step = self.end - self.start
        return np.asarray(
            self.start
            + np.column_stack(
                [cos * step[:, 0] - sin * step[:, 1], sin * step[:, 0] + cos * step[:, 1]]
            )
        )

    def direction(self, fraction: FloatArray) -> FloatArray:
        """Return the tangent angles (n,) at a fraction of each segment [rad]."""
        return np.asarray(self.heading + self.turn * (fraction - 0.5))

    def between(self, low: FloatArray, high: FloatArray) -> Segments:
        """Return the pieces between two fractions (n,) of each segment."""
        start = np.where((low == 0.0)[:, None], self.start, self.point(low))
        end = np.where((high == 1.0)[:, None], self.end, self.point(high))
        whole = (low == 0.0) & (high == 1.0)
        bulge = np.where(whole, self.bulge, np.tan(0.25 * (high - low) * self.turn))
        return Segments(start, end, bulge)

    @cached_property
    def _frame(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Middle and direction of each chord, coordinate by coordinate."""
        middle = 0.5 * (self.start + self.end)
        return middle[:, 0], middle[:, 1], self.unit[:, 0], self.unit[:, 1]

    def _local(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return coordinates in each segment's chord frame, broadcast against the rows."""
        mx, my, ux, uy = self._frame
        dx, dy = x - mx, y - my
        return dx * ux + dy * uy, dy * ux - dx * uy

    def side(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return the signed distance to the whole line or circle, positive to the right [mm].

        It is ``(|q - C|² - R²) / (|q - C| + R)`` with the sign of the curvature, multiplied
        out so that it stays exact as the curvature vanishes.
        """
        along, left = self._local(x, y)
        k, h, c = self.curvature, self.height, self.chord
        # The equation of the circle times its curvature becomes that of the line as the curvature
        # goes to 0: one form serves both, and flat arcs lose no digits.
        numerator = k * (along * along + left * left - 0.25 * c * c) - 2.0 * left * h
        return np.asarray(numerator / (np.hypot(k * along, k * left - h) + 1.0))

    def normal(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return the gradient of :meth:`side` at one point a row (n, 2) [-]."""
        along, left = self._local(x, y)
        k = self.curvature
        gx, gy = k * along, k * left - self.height
        size = np.hypot(gx, gy)
        size = np.where(size == 0.0, 1.0, size)
        gx, gy = gx / size, gy / size
        ux, uy = self.unit[:, 0], self.unit[:, 1]
        return np.column_stack([gx * ux - gy * uy, gx * uy + gy * ux])

    def fraction(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return where along each segment a point's foot is: 0 at its start, 1 at its end [-].

        Outside that range there is no foot on the segment; a segment without length gives -1.
        """
        along, left = self._local(x, y)
        k, c, turn = self.curvature, self.chord, self.turn
        angle = np.arctan2(k * along, self.height - k * left)
        # An arc this flat and its chord share their feet to all digits.
        flat = np.abs(turn) < 1e-12
        zero = c == 0.0
        line = along / np.where(zero, 1.0, c)
        arc = angle / np.where(flat, 1.0, turn)
        return np.asarray(np.where(zero, -1.0, np.where(flat, line, arc) + 0.5))

    def end_distances(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the distances to the start and to the end [mm]."""
        return (
            np.asarray(np.hypot(x - self.start[:, 0], y - self.start[:, 1])),
            np.asarray(np.hypot(x - self.end[:, 0], y - self.end[:, 1])),
        )

    def distance(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return the exact distance to the segment, broadcast against the rows [mm]."""
        at = self.fraction(x, y)
        first, last = self.end_distances(x, y)
        inside = (at >= 0.0) & (at <= 1.0)
        return np.asarray(np.where(inside, np.abs(self.side(x, y)), np.minimum(first, last)))

    def nearest(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return (fraction of the nearest point, distance [mm]), broadcast against the rows."""
        at = self.fraction(x, y)
        first, last = self.end_distances(x, y)
        inside = (at >= 0.0) & (at <= 1.0)
        distance = np.where(inside, np.abs(self.side(x, y)), np.minimum(first, last))
        return (
            np.asarray(np.where(inside, at, np.where(first <= last, 0.0, 1.0))),
            np.asarray(distance),
        )

    def boxes(self) -> FloatArray:
        """Return exact bounds (n, 4): x min, y min, x max, y max [mm]."""
        low = np.minimum(self.start, self.end)
        high = np.maximum(self.start, self.end)
        if not self.straight.all():
            begin = self.direction(np.zeros(len(self)))
            sign = np.where(self.turn >= 0.0, 1.0, -1.0)
            span = np.where(self.turn == 0.0, 1.0, np.abs(self.turn))
            for axis, tangent in ((0, 0.5 * np.pi), (0, -0.5 * np.pi), (1, 0.0), (1, np.pi)):
                # The coordinate is extreme where the tangent is square to its axis.
                gone = np.mod(sign * (tangent - begin), 2.0 * np.pi)
                hit = (gone < span) & ~self.straight
                if hit.any():
                    at = self.take(hit).point(gone[hit] / span[hit])[:, axis]
                    low[hit, axis] = np.minimum(low[hit, axis], at)
                    high[hit, axis] = np.maximum(high[hit, axis], at)
        return np.column_stack([low, high])
