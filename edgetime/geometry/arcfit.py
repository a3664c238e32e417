"""Lines and arcs that follow a row of points: one, or as few as a tolerance allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import Segments, wrapped_angle

LEAST_CHORDS: Final = 4
"""Fewer chords in a row say too little: any three points lie on a circle."""

_MOST_TURN: Final = np.radians(170.0)
"""One arc of a fit turns by no more [rad]: beyond, its ends say little about its middle."""

_FLAT_MM: Final = 1e-6
"""An arc that rises less above its chord is a straight line [mm]."""


@dataclass(frozen=True, slots=True)
class Limits:
    """How far points and chords may be from what replaces them.

    Attributes
    ----------
    points_mm : float
        Distance of a vertex [mm].
    chords_mm : float
        Rise of the arc above the middle of a chord [mm].
    back_mm : float
        How far a point may lie behind the one before it [mm].
    """

    points_mm: float
    chords_mm: float
    back_mm: float


@dataclass(frozen=True, eq=False)
class Fit:
    """A line or arc that follows the points ``first`` to ``last`` of a row.

    Attributes
    ----------
    first, last : int
        Rows of the points.
    start, end : (2,) array
        Its ends: the feet of the first and the last point [mm].
    bulge : float
        0 for a line.
    """

    first: int
    last: int
    start: FloatArray
    end: FloatArray
    bulge: float

    @property
    def chords(self) -> int:
        """How many chords it represents."""
        return self.last - self.first

    @property
    def size_mm(self) -> float:
        """Distance between its ends [mm]."""
        return float(np.hypot(*(self.end - self.start)))

    def table(self) -> Segments:
        """Return it as one segment."""
        return Segments(self.start[None, :], self.end[None, :], np.array([self.bulge]))

    def tangent(self, at: float) -> float:
        """Return its direction at a fraction [rad]."""
        return float(self.table().direction(np.array([at]))[0])

    def moved(self, by: int) -> Fit:
        """Return it for a row that begins this many points earlier."""
        return Fit(self.first + by, self.last + by, self.start, self.end, self.bulge)


def _circle(points: FloatArray) -> tuple[FloatArray, float] | None:
    """Return centre and radius of the circle nearest to the points, None for a line.

    The fit of Taubin (IEEE Trans. Pattern Analysis 13, 1991), which noise on a short arc does
    not draw towards smaller circles.
    """
    middle = points.mean(axis=0)
    own = points - middle
    z = np.einsum("ij,ij->i", own, own)
    mean = float(z.mean())
    if mean <= 0.0:
        return None
    # Taubin's fit: a plain algebraic fit draws short arcs to small radii, this one does not.
    root = 2.0 * np.sqrt(mean)
    _, _, v = np.linalg.svd(np.column_stack([(z - mean) / root, own]), full_matrices=False)
    k = float(v[-1, 0]) / root
    vector = v[-1, 1:]
    # |k| is half the curvature where the gradient has length 1.
    if abs(k) * mean <= _FLAT_MM * float(np.hypot(*vector)):
        return None
    centre = -0.5 * vector / k
    radius = float(np.sqrt(centre @ centre + mean))
    return centre + middle, radius


def _line(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return a point and the direction of the line nearest to the points."""
    middle = points.mean(axis=0)
    _, _, v = np.linalg.svd(points - middle, full_matrices=False)
    along = v[0]
    return middle, along if float(along @ (points[-1] - points[0])) >= 0.0 else -along


def _holds(points: FloatArray, off: FloatArray, gone: FloatArray, rise: float, lim: Limits) -> bool:
    """Return whether distances, progress along the curve, and rise over the longest chord do."""
    if float(np.abs(off).max()) > lim.points_mm or float(np.diff(gone).min()) < -lim.back_mm:
        return False
    step = np.diff(points, axis=0)
    # A chord leaves its arc by its square over eight radii.
    return rise * float(np.einsum("ij,ij->i", step, step).max()) / 8.0 <= lim.chords_mm


def fit_row(points: FloatArray, lim: Limits) -> Fit | None:
    """Return the line or arc that follows all of the points, ends included, if there is one.

    Parameters
    ----------
    points : (m + 1, 2) array
        At least two [mm].
    lim : Limits
        How far they may be from it.
    """
    last = len(points) - 1
    if last == 1:
        return Fit(0, 1, points[0], points[1], 0.0)
    base, along = _line(points)
    own = points - base
    off = along[0] * own[:, 1] - along[1] * own[:, 0]
    if _holds(points, off, own @ along, 0.0, lim):
        return Fit(0, last, base + (own[0] @ along) * along, base + (own[-1] @ along) * along, 0.0)
    return fit_arc(points, lim)


def _gone_round(
    points: FloatArray, centre: FloatArray, radius: float
) -> tuple[FloatArray, FloatArray, FloatArray, float, FloatArray]:
    """Return points from a centre, how far away, the angles between, their sum, the way gone."""
    own = points - centre
    steps = wrapped_angle(np.diff(np.arctan2(own[:, 1], own[:, 0])))
    turn = float(steps.sum())
    gone = np.concatenate([[0.0], np.cumsum(steps)]) * radius * np.sign(turn)
    return own, np.hypot(own[:, 0], own[:, 1]), steps, turn, gone


def fit_arc(points: FloatArray, lim: Limits) -> Fit | None:
    """Return the arc that follows all of the points, if there is one; as :func:`fit_row`."""
    found = _circle(points)
    if found is None:
        return None
    centre, radius = found
    own, size, _, turn, gone = _gone_round(points, centre, radius)
    if float(size.min()) <= 0.0:
        return None
    if abs(turn) > _MOST_TURN or not _holds(points, size - radius, gone, 1.0 / radius, lim):
        return None
    feet = centre + own[[0, -1]] * (radius / size[[0, -1]])[:, None]
    return Fit(0, len(points) - 1, feet[0], feet[1], float(np.tan(0.25 * turn)))


def fit_points(points: FloatArray, lim: Limits, most: int) -> list[Fit]:
    """Return lines and arcs that follow a row of points one after another, each as far as it can.

    Parameters
    ----------
    points : (m + 1, 2) array
        The row [mm].
    lim : Limits
        How far they may be from the points.
    most : int
        Give up when this many are found; what is left of the row then stays chords.

    Returns
    -------
    list of Fit
        They cover the row up to where it was given up.
    """
    out: list[Fit] = []
    at, end = 0, len(points) - 1
    while at < end and len(out) < most:
        out.append(_farthest(points[at:], lim).moved(at))
        at = out[-1].last
    return _evened(points, out, lim)


def _farthest(points: FloatArray, lim: Limits) -> Fit:
    """Return the longest line or arc from the first point on: doubling, then closing in."""
    end = len(points) - 1
    best, beyond = Fit(0, 1, points[0], points[1], 0.0), end + 1
    while best.last + 1 < beyond:
        # Doubling until a row no longer fits, then halving: log n fits instead of n.
        ahead = 2 * best.last
        reach = min(ahead, end) if beyond > end else (best.last + beyond) // 2
        found = fit_row(points[: reach + 1], lim)
        if found is None:
            beyond = reach
        else:
            best = found
    return best


def _evened(points: FloatArray, fits: list[Fit], lim: Limits) -> list[Fit]:
    """Return the fits with a short last one and the one before it made of equal shares."""
    if len(fits) < 2 or fits[-1].chords >= LEAST_CHORDS or fits[-2].chords < LEAST_CHORDS:
        return fits
    first, last = fits[-2].first, fits[-1].last
    # A last arc over few points is badly determined: the last two share theirs evenly.
    middle = (first + last) // 2
    one = fit_row(points[first : middle + 1], lim)
    other = fit_row(points[middle : last + 1], lim)
    if one is None or other is None:
        return fits
    return [*fits[:-2], one.moved(first), other.moved(middle)]


def pinned(points: FloatArray, lim: Limits) -> Fit | None:
    """Return one line or arc from the first point to the last that follows those between.

    Parameters
    ----------
    points : (m + 1, 2) array
        The row [mm].
    lim : Limits
        How far they may be from it.
    """
    start, end = points[0], points[-1]
    chord = end - start
    size = float(np.hypot(*chord))
    if size <= lim.points_mm:
        return None
    along = chord / size
    own = points - start
    off = along[0] * own[:, 1] - along[1] * own[:, 0]
    if _holds(points, off, own @ along, 0.0, lim):
        return Fit(0, len(points) - 1, start, end, 0.0)
    # The free fit gives a bulge to begin with; its ends are not those wanted.
    free = fit_arc(points, lim)
    if free is None:
        return None
    bulge = _best_bulge(points, free.bulge)
    table = Segments(start[None, :], end[None, :], np.array([bulge]))
    at = table.fraction(points[1:-1, :1], points[1:-1, 1:])[:, 0]
    away = table.distance(points[1:-1, :1], points[1:-1, 1:])[:, 0]
    gone = np.concatenate([[0.0], at, [1.0]]) * float(table.lengths[0])
    ends = np.concatenate([[0.0], away, [0.0]])
    if not _holds(points, ends, gone, abs(float(table.curvature[0])), lim):
        return None
    return Fit(0, len(points) - 1, start, end, bulge)


def _best_bulge(points: FloatArray, first: float) -> float:
    """Return the bulge of the arc between the end points that is nearest to the others.

    Gauss-Newton on the one unknown, whose derivative is taken by differences.
    """
    inner = points[1:-1]

    def off(bulge: float) -> FloatArray:
        table = Segments(points[:1], points[-1:], np.array([bulge]))
        return table.side(inner[:, :1], inner[:, 1:])[:, 0]

    # Gauss-Newton on the one unknown; the slope is a difference, for the side of an arc has no
    # short derivative by its bulge.
    bulge = first
    for _ in range(6):
        here = off(bulge)
        slope = (off(bulge + 1e-6) - here) / 1e-6
        square = float(slope @ slope)
        if square == 0.0:
            break
        step = float(slope @ here) / square
        bulge -= step
        if abs(step) < 1e-12:
            break
    return bulge


def round_trip(points: FloatArray, lim: Limits) -> tuple[Fit, Fit] | None:
    """Return the two arcs of a circle that follows a closed row of points, if there is one.

    Parameters
    ----------
    points : (m + 1, 2) array
        The last is the first again [mm].
    lim : Limits
        How far they may be from it.
    """
    found = _circle(points[:-1])
    if found is None:
        return None
    centre, radius = found
    own, size, steps, turn, gone = _gone_round(points, centre, radius)
    if abs(abs(turn) - 2.0 * np.pi) > 1e-6:
        return None
    if not _holds(points, size - radius, gone, 1.0 / radius, lim):
        return None
    # In two halves: a full circle has no chord, so no bulge either.
    half = int(np.argmin(np.abs(gone - np.pi * radius)))
    feet = centre + own[[0, half]] * (radius / size[[0, half]])[:, None]
    first = float(steps[:half].sum())
    bulges = np.tan([0.25 * first, 0.25 * (turn - first)])
    return (
        Fit(0, half, feet[0], feet[1], float(bulges[0])),
        Fit(half, len(points) - 1, feet[1], feet[0], float(bulges[1])),
    )
