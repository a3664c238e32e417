"""The cubic spline through fit points, as drawing programs make it.

The curve is the C² cubic with its knots at the points, parametrised by the length of the chords
between them; its ends have the tangents given, else no curvature. The second derivatives M solve

    h[i-1] M[i-1] + 2 (h[i-1] + h[i]) M[i] + h[i] M[i+1] = 6 (slope[i] - slope[i-1])

(de Boor, A Practical Guide to Splines, ch. IV), a tridiagonal system that elimination solves in
one sweep, whatever the number of points; the DXF library fills a square matrix.
"""

from __future__ import annotations

import numpy as np

from edgetime.geometry.path import FloatArray


def spline_through(
    points: FloatArray, tangents: tuple[FloatArray, FloatArray] | None = None
) -> tuple[FloatArray, FloatArray] | None:
    """Return control points and knots of the cubic spline through points.

    Parameters
    ----------
    points : (n + 1, 3) array
        At least two.
    tangents : two (3,) arrays, optional
        Directions at the start and at the end.

    Returns
    -------
    ((n + 3, 3) array, (n + 7,) array) or None
        Control points, and knots from 0 to 1. None where two neighbours are at one place or a
        tangent has no length.
    """
    step = np.diff(points, axis=0)
    size = np.sqrt(np.sum(step * step, axis=1))
    total = float(size.sum())
    if not (np.isfinite(total) and float(size.min()) > 1e-12 * total > 0.0):
        return None
    ends = None
    if tangents is not None:
        scale = [float(np.sqrt(t @ t)) for t in tangents]
        if min(scale) == 0.0:
            return None
        ends = tangents[0] * (total / scale[0]), tangents[1] * (total / scale[1])
    h = size / total
    slope = step / h[:, None]
    bend = _second_derivatives(h, slope, ends)
    first = slope - h[:, None] * (2.0 * bend[:-1] + bend[1:]) / 6.0
    last = slope[-1] + h[-1] * (bend[-2] + 2.0 * bend[-1]) / 6.0
    # Blossoms at three knots in a row (Ramshaw): a cubic's value there, slope and bend counted in.
    inner = (
        points[1:-1]
        + first[1:] * ((h[1:] - h[:-1]) / 3.0)[:, None]
        - bend[1:-1] * (h[1:] * h[:-1] / 6.0)[:, None]
    )
    control = np.vstack(
        [
            points[:1],
            points[:1] + first[:1] * h[0] / 3.0,
            inner,
            points[-1:] - last * h[-1] / 3.0,
            points[-1:],
        ]
    )
    knots = np.concatenate([np.zeros(4), np.cumsum(h)[:-1], np.ones(4)])
    return control, knots


def _second_derivatives(
    h: FloatArray, slope: FloatArray, ends: tuple[FloatArray, FloatArray] | None
) -> FloatArray:
    """Return the second derivative at each point (n + 1, 3)."""
    n = len(h)
    lower, upper = np.append(h, 0.0), np.append(0.0, h)
    middle = 2.0 * (lower + upper)
    right = np.zeros((n + 1, slope.shape[1]))
    right[1:-1] = 6.0 * np.diff(slope, axis=0)
    # Row i is upper[i] M[i-1] + middle[i] M[i] + lower[i] M[i+1].
    if ends is None:
        middle[0] = middle[-1] = 1.0
        lower[0] = upper[-1] = 0.0
    else:
        right[0], right[-1] = 6.0 * (slope[0] - ends[0]), 6.0 * (ends[1] - slope[-1])
    below, diagonal, above = upper.tolist(), middle.tolist(), lower.tolist()
    rows = right.T.tolist()
    # Thomas' algorithm: the system is tridiagonal, and all coordinates share its elimination.
    for i in range(1, n + 1):
        factor = below[i] / diagonal[i - 1]
        diagonal[i] -= factor * above[i - 1]
        for row in rows:
            row[i] -= factor * row[i - 1]
    for row in rows:
        row[n] /= diagonal[n]
        for i in range(n - 1, -1, -1):
            row[i] = (row[i] - above[i] * row[i + 1]) / diagonal[i]
    return np.array(rows).T
