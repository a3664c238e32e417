"""Curves to segments: arcs in closed form, ellipses and splines with exact lengths.

The segments of all curves are gathered in plain lists and become arrays once, at the end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from edgetime.drawing.affine import Trace
from edgetime.drawing.bspline import BSpline
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.smooth import smooth_path
from edgetime.tolerances import STRAIGHT_BULGE

MAX_COORDINATE_MM: Final = 1e9
"""Coordinates further out are damage, not a drawing. Up to here, a thousand kilometres (maps
with a parcel's true coordinates), double precision still resolves 1e-7 mm."""

ELLIPSE_FLAT: Final = 1e-9
"""An ellipse whose axes differ by this factor or more is a line run to and fro."""
_ROUND: Final = 1e-12
"""Axes that differ by less, relatively, are those of a circle."""
_FULL_TURN: Final = 1e-9
"""A sweep this close to 0 or 2π is the full turn [rad]: files write 2π with 16 digits or fewer."""


def sweep_of(start: float, end: float) -> float:
    """Return the angle an arc turns counter-clockwise from start to end, in (0, 2π].

    Equal angles, also modulo a full turn and within the rounding of a file, mean the full turn.

    Parameters
    ----------
    start, end : float
        Angles [rad].

    Returns
    -------
    float
        Sweep [rad].
    """
    sweep = math.fmod(end - start, math.tau)
    if sweep < 0.0:
        sweep += math.tau
    if sweep < _FULL_TURN or math.tau - sweep < _FULL_TURN:
        return math.tau
    return sweep


_Point = tuple[float, float]


class Strokes:
    """Segments of all curves read so far, in millimetres.

    Attributes
    ----------
    x0, y0, x1, y1, bulge : list of float
        Ends and bulge of every segment.
    length : list of float
        Exact length; NaN where the straight or circular segment itself gives it.
    """

    __slots__ = ("bulge", "length", "x0", "x1", "y0", "y1")

    def __init__(self) -> None:
        self.x0: list[float] = []
        self.y0: list[float] = []
        self.x1: list[float] = []
        self.y1: list[float] = []
        self.bulge: list[float] = []
        self.length: list[float] = []

    def __len__(self) -> int:
        return len(self.x0)

    def cut_back(self, size: int) -> None:
        """Forget all segments after the first ``size``."""
        for name in self.__slots__:
            del getattr(self, name)[size:]

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Add a straight segment."""
        self.x0.append(x0)
        self.y0.append(y0)
        self.x1.append(x1)
        self.y1.append(y1)
        self.bulge.append(0.0)
        self.length.append(math.nan)

    def chain(
        self,
        xs: Sequence[float],
        ys: Sequence[float],
        bulges: Sequence[float],
        lengths: Sequence[float] | None = None,
    ) -> None:
        """Add the segments between consecutive points."""
        n = len(xs) - 1
        self.x0 += xs[:n]
        self.y0 += ys[:n]
        self.x1 += xs[1:]
        self.y1 += ys[1:]
        self.bulge += bulges
        self.length += lengths or [math.nan] * n

    def path(self, path: Path) -> None:
        """Add a path with its own lengths."""
        xs, ys = path.points.T.tolist()
        self.chain(xs, ys, path.bulges.tolist(), path.lengths.tolist())

    def arc(self, t: Trace, u: float, v: float, radius: float, start: float, sweep: float) -> None:
        """Add a circular arc of a plane curve: an arc under a similarity, else part of an ellipse.

        Parameters
        ----------
        t : Trace
            Where the arc's plane falls.
        u, v, radius : float
            Centre and radius in that plane.
        start, sweep : float
            First angle and counter-clockwise turn [rad]; a negative turn is clockwise.
        """
        a, b, c, d, e, f, scale, turn, _ = t
        cx, cy = a * u + b * v + e, c * u + d * v + f
        if scale is None:
            self.ellipse((cx, cy), (a * radius, c * radius), (b * radius, d * radius), start, sweep)
            return
        # An arc of more than a half circle has a bulge above 1; two halves keep digits.
        n = 1 if abs(sweep) <= math.pi else 2
        step = sweep / n
        xs, ys = [], []
        for i in range(n + 1):
            du = radius * math.cos(start + i * step)
            dv = radius * math.sin(start + i * step)
            xs.append(cx + a * du + b * dv)
            ys.append(cy + c * du + d * dv)
        if abs(sweep) == math.tau:
            xs[-1], ys[-1] = xs[0], ys[0]
        length = scale * radius * abs(step)
        self.chain(xs, ys, [turn * math.tan(step / 4.0)] * n, [length] * n)

    def polyline(
        self, t: Trace, us: list[float], vs: list[float], bulges: list[float], *, closed: bool
    ) -> None:
        """Add a chain of straight and circular segments in a plane.

        Parameters
        ----------
        t : Trace
            Where the plane falls.
        us, vs, bulges : list of float
            Vertices, and for each the bulge of the segment that leaves it.
        closed : bool
            Whether the last vertex is joined to the first.
        """
        a, b, c, d, e, f = t[:6]
        if b == 0.0 == c:
            # Model space and unturned blocks: most drawings have nothing else.
            xs = [a * u + e for u in us]
            ys = [d * v + f for v in vs]
        else:
            xs = [a * u + b * v + e for u, v in zip(us, vs, strict=True)]
            ys = [c * u + d * v + f for u, v in zip(us, vs, strict=True)]
        if closed:
            xs.append(xs[0])
            ys.append(ys[0])
        else:
            bulges = bulges[:-1]
        if t.scale is not None or not any(bulges):
            self.chain(xs, ys, bulges if t.turn > 0.0 else [-bulge for bulge in bulges])
            return
        us, vs = [*us, us[0]], [*vs, vs[0]]
        for i, bulge in enumerate(bulges):
            if abs(bulge) < STRAIGHT_BULGE:
                self.line(xs[i], ys[i], xs[i + 1], ys[i + 1])
            else:
                # Centre of the arc over a chord, from its bulge (DXF reference, code 42):
                # it lies off the chord's middle by (1 - b²) / 4b chords to the left.
                du, dv = us[i + 1] - us[i], vs[i + 1] - vs[i]
                off = (1.0 - bulge * bulge) / (4.0 * bulge)
                cu = 0.5 * (us[i] + us[i + 1]) - off * dv
                cv = 0.5 * (vs[i] + vs[i + 1]) + off * du
                radius = math.hypot(us[i] - cu, vs[i] - cv)
                if radius > 0.0:
                    start = math.atan2(vs[i] - cv, us[i] - cu)
                    self.arc(t, cu, cv, radius, start, 4.0 * math.atan(bulge))

    def ellipse(self, centre: _Point, p: _Point, q: _Point, start: float, sweep: float) -> None:
        """Add the curve ``centre + p·cos t + q·sin t``.

        Parameters
        ----------
        centre, p, q : (2,) tuple
            Centre and two conjugate half-axes, not necessarily at right angles [mm].
        start, sweep : float
            First parameter and how far it runs [rad].
        """
        (cx, cy), (px, py), (qx, qy) = centre, p, q
        # A sum, for the largest of numbers hides a NaN.
        _within_reach(sum(map(abs, (cx, cy, px, py, qx, qy, start, sweep))))
        pp, qq, pq = px * px + py * py, qx * qx + qy * qy, px * qx + py * qy
        area = px * qy - py * qx
        big = max(pp, qq)
        if big == 0.0:
            return
        if abs(area) <= ELLIPSE_FLAT * big:
            self._flat_ellipse(centre, p, q, start, sweep)
            return
        if abs(pp - qq) <= 2.0 * _ROUND * big and abs(pq) <= _ROUND * big:
            # Round after all: the plane of (p, q) is a turned, scaled, maybe mirrored one.
            turn = 1.0 if area > 0.0 else -1.0
            t = Trace(px, qx, py, qy, cx, cy, math.sqrt(pp), turn, tilted=False)
            self.arc(t, 0.0, 0.0, 1.0, start, sweep)
            return

        def position(t: FloatArray) -> FloatArray:
            cos, sin = np.cos(t), np.sin(t)
            return np.column_stack((cx + px * cos + qx * sin, cy + py * cos + qy * sin))

        def derivative(t: FloatArray) -> FloatArray:
            cos, sin = np.cos(t), np.sin(t)
            return np.column_stack((qx * cos - px * sin, qy * cos - py * sin))

        # A quarter turn at most for each piece: biarcs over more turn too far.
        pieces = max(1, math.ceil(abs(sweep) / (math.pi / 2.0) - 1e-9))
        knots = np.linspace(start, start + sweep, pieces + 1)
        path = smooth_path(position, derivative, knots)
        size = len(self)
        self.path(path)
        if sweep == math.tau:
            self.x1[-1], self.y1[-1] = self.x0[size], self.y0[size]

    def _flat_ellipse(
        self, centre: _Point, p: _Point, q: _Point, start: float, sweep: float
    ) -> None:
        # p and q are parallel: the curve runs along their line and turns where
        # cos(t - turn) = ±1 with tan(turn) = |q| / |p|, signed along the line.
        (px, py), (qx, qy) = p, q
        along = (px, py) if px * px + py * py >= qx * qx + qy * qy else (qx, qy)
        turn = math.atan2(qx * along[0] + qy * along[1], px * along[0] + py * along[1])
        first, last = sorted((start, start + sweep))
        k = math.floor((first - turn) / math.pi) + 1
        params = [first]
        while turn + k * math.pi < last:
            params.append(turn + k * math.pi)
            k += 1
        params.append(last)
        if sweep < 0.0:
            params.reverse()
        xs = [centre[0] + px * math.cos(t) + qx * math.sin(t) for t in params]
        ys = [centre[1] + py * math.cos(t) + qy * math.sin(t) for t in params]
        self.chain(xs, ys, [0.0] * (len(xs) - 1))

    def spline(self, curve: BSpline) -> None:
        """Add a B-spline in the XY plane [mm]."""
        _within_reach(float(np.abs(curve.control[:, :2] / curve.control[:, 2:]).max()))
        if curve.degree == 1:
            points = curve.position(curve.breaks())
            self.chain(points[:, 0].tolist(), points[:, 1].tolist(), [0.0] * (len(points) - 1))
            return
        for piece, knots in curve.smooth_pieces():
            self.path(smooth_path(piece.position, piece.derivative, knots))


def _within_reach(size: float) -> None:
    # Fitting arcs to a curve of 1e200 mm within 0.01 mm would not end. False for NaN.
    if not size <= MAX_COORDINATE_MM:
        raise OverflowError(f"{size:.3g} mm, at most {MAX_COORDINATE_MM:g} mm is read")
