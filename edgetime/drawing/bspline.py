"""B-splines, rational or not, clamped or not, evaluated by de Boor's algorithm in bulk."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from edgetime.geometry.path import FloatArray

_KNOT_ROUNDING = 1e-10
"""Knots closer than this, relative to their range, are one knot written with rounding."""


def _settle(knots: FloatArray) -> FloatArray:
    steps = np.diff(knots)
    rounding = _KNOT_ROUNDING * float(knots[-1] - knots[0])
    if (steps < -rounding).any():
        raise ValueError("knots must not fall")
    # Each knot takes the value of the first of its run of all but equal ones.
    first = np.concatenate(([True], steps > rounding))
    return np.asarray(knots[np.flatnonzero(first)][np.cumsum(first) - 1])


@dataclass(frozen=True, eq=False)
class BSpline:
    """A B-spline in the plane.

    Attributes
    ----------
    degree : int
        Degree p ≥ 1.
    knots : (n + p + 1,) array
        Non-decreasing. The curve's domain is [t_p, t_n], whether or not the ends are clamped.
    control : (n, 3) array
        Homogeneous control points (w x, w y, w) [mm, mm, -].
    first, last : float
        The part of the domain this object represents.
    """

    degree: int
    knots: FloatArray
    control: FloatArray
    first: float
    last: float

    @classmethod
    def build(
        cls,
        degree: int,
        points: FloatArray,
        knots: FloatArray | None = None,
        weights: FloatArray | None = None,
    ) -> BSpline:
        """Build a spline, checking that its parts fit together.

        Parameters
        ----------
        degree : int
            Degree p.
        points : (n, 2) array
            Control points [mm].
        knots : (n + p + 1,) array, optional
            Clamped and uniform when omitted.
        weights : (n,) array, optional
            All one when omitted.

        Raises
        ------
        ValueError
            Too few points, a wrong number of knots or weights, falling knots, an empty
            domain, a weight that is not positive.
        """
        n = len(points)
        if degree < 1 or n < degree + 1:
            raise ValueError(f"degree {degree} needs {degree + 1} control points, has {n}")
        if knots is None or len(knots) == 0:
            inner = np.arange(1.0, n - degree)
            knots = np.concatenate(
                (np.zeros(degree + 1), inner, np.full(degree + 1, float(n - degree)))
            )
        if len(knots) != n + degree + 1:
            raise ValueError(f"{n + degree + 1} knots are needed, has {len(knots)}")
        if weights is None or len(weights) == 0:
            weights = np.ones(n)
        if len(weights) != n:
            raise ValueError(f"{n} weights are needed, has {len(weights)}")
        if not (np.isfinite(knots).all() and np.isfinite(weights).all()):
            raise ValueError("knots and weights must be finite")
        if (weights <= 0.0).any():
            raise ValueError("weights must be positive")
        knots = _settle(knots)
        if not knots[degree] < knots[n]:
            raise ValueError("the knots leave no curve")
        control = np.column_stack((points * weights[:, None], weights))
        return cls(degree, knots, control, float(knots[degree]), float(knots[n]))

    def breaks(self) -> FloatArray:
        """Return the distinct knots within [first, last], both ends included."""
        inside = self.knots[(self.knots > self.first) & (self.knots < self.last)]
        return np.concatenate(([self.first], np.unique(inside), [self.last]))

    def smooth_pieces(self) -> Iterator[tuple[BSpline, FloatArray]]:
        """Yield the pieces between kinks, each with its breaks.

        A knot as often repeated as the degree may be a kink. Within a piece position and
        derivative are one-sided at its ends.
        """
        breaks = self.breaks()
        repeats = np.searchsorted(self.knots, breaks, "right") - np.searchsorted(self.knots, breaks)
        kinks = (np.flatnonzero(repeats[1:-1] >= self.degree) + 1).tolist()
        for i, j in zip([0, *kinks], [*kinks, len(breaks) - 1], strict=True):
            piece = BSpline(
                self.degree, self.knots, self.control, float(breaks[i]), float(breaks[j])
            )
            yield piece, breaks[i : j + 1]

    def _spans(self, t: FloatArray) -> np.ndarray:
        low = int(np.searchsorted(self.knots, self.first, side="right")) - 1
        high = int(np.searchsorted(self.knots, self.last, side="left")) - 1
        return np.clip(np.searchsorted(self.knots, t, side="right") - 1, low, high)

    def _homogeneous(self, t: FloatArray) -> tuple[FloatArray, FloatArray]:
        # de Boor's triangle (Piegl & Tiller, The NURBS Book, 2nd ed., ch. 2 to 4); its last
        # but one column also gives the derivative, p (d1 - d0) / (u[k+1] - u[k]).
        p, u = self.degree, self.knots
        k = self._spans(t)
        d = self.control[k[:, None] + np.arange(-p, 1)]
        rate = np.zeros((len(t), 3))
        for level in range(1, p + 1):
            i = k[:, None] + np.arange(level - p, 1)
            left, right = u[i], u[i + p + 1 - level]
            if level == p:
                rate = p * (d[:, 1] - d[:, 0]) / (right - left)
            alpha = ((t[:, None] - left) / (right - left))[:, :, None]
            d = (1.0 - alpha) * d[:, :-1] + alpha * d[:, 1:]
        return d[:, 0], rate

    def position(self, t: FloatArray) -> FloatArray:
        """Return the points at parameters t.

        Parameters
        ----------
        t : (m,) array
            Within [first, last].

        Returns
        -------
        (m, 2) array
            Points [mm].
        """
        value, _ = self._homogeneous(np.asarray(t, dtype=np.float64))
        return value[:, :2] / value[:, 2:]

    def derivative(self, t: FloatArray) -> FloatArray:
        """Return the derivative by the parameter at t.

        Parameters
        ----------
        t : (m,) array
            Within [first, last].

        Returns
        -------
        (m, 2) array
            Derivative [mm per unit of t], by the quotient rule for rational splines.
        """
        value, rate = self._homogeneous(np.asarray(t, dtype=np.float64))
        point = value[:, :2] / value[:, 2:]
        return (rate[:, :2] - point * rate[:, 2:]) / value[:, 2:]
