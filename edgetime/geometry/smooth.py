"""Ellipses and splines: exact lengths by quadrature, and arcs that replace the curve."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from edgetime.errors import InternalError
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.tolerances import BIARC_TOLERANCE_MM, LENGTH_RELATIVE, ZERO_LENGTH_MM

Curve = Callable[[FloatArray], FloatArray]
"""A vectorised function of the parameter: (m,) to (m, 2) [mm], or to (m,) for a speed."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(10)
_DEEPEST: Final = 60
"""Halvings of an interval; more than the digits of a parameter allow."""

_SAMPLES: Final = np.linspace(0.0, 1.0, 18)[1:-1]
"""Where the fit of an arc pair is measured, as fractions of its parameter interval."""

_MOST_TURN: Final = 0.5 * np.pi
"""An arc of a fit turns by no more [rad], so that it cannot swing round the wrong way."""

_NUDGE: Final = 1e-6
"""One-sided tangents at knots are read this fraction of the interval inside it."""


def _gauss(speed: Curve, low: FloatArray, high: FloatArray) -> FloatArray:
    """Return the ten-point Gauss–Legendre integral over each interval (n,)."""
    half = 0.5 * (high - low)
    at = (0.5 * (high + low))[:, None] + half[:, None] * _NODES
    value = np.asarray(speed(at.ravel()), dtype=np.float64).reshape(at.shape)
    return np.asarray(half * (value @ _WEIGHTS))


def _integrals(speed: Curve, low: FloatArray, high: FloatArray, relative: float) -> FloatArray:
    """Return the integral over each interval, halved until two rules agree (n,)."""
    out = np.zeros(len(low))
    owner = np.arange(len(low))
    coarse = _gauss(speed, low, high)
    scale = float(np.abs(coarse).sum())
    whole = float(np.abs(high - low).sum())
    for _ in range(_DEEPEST):
        if not len(owner):
            break
        middle = 0.5 * (low + high)
        left, right = _gauss(speed, low, middle), _gauss(speed, middle, high)
        fine = left + right
        # An interval may err by its share of the total; the finer rule is far better still.
        share = np.abs(high - low) / whole if whole > 0.0 else np.ones(len(low))
        error = np.abs(fine - coarse)
        done = (error <= relative * scale * share) | (error <= 4e-16 * scale)
        np.add.at(out, owner[done], fine[done])
        more = ~done
        owner = np.repeat(owner[more], 2)
        low, high, coarse = (
            np.column_stack(pair).ravel()
            for pair in (
                (low[more], middle[more]),
                (middle[more], high[more]),
                (left[more], right[more]),
            )
        )
    else:
        np.add.at(out, owner, coarse)
    return out


def _tangents(
    position: Curve, derivative: Curve, low: FloatArray, high: FloatArray, *, end: bool
) -> FloatArray:
    """Return unit tangents (n, 2) at one end of each interval, as seen from inside it.

    A knot may be a corner, where the derivative belongs to one side only, or a place where
    the speed vanishes. There the tangent is extrapolated from inside.
    """
    at = high if end else low
    step = (low - high if end else high - low) * _NUDGE
    here = np.asarray(derivative(at), dtype=np.float64)
    near = np.asarray(derivative(at + step), dtype=np.float64)
    far = np.asarray(derivative(at + 2.0 * step), dtype=np.float64)
    inside = 2.0 * near - far
    size_here = np.hypot(here[:, 0], here[:, 1])
    size_near = np.hypot(near[:, 0], near[:, 1])
    off = np.hypot(*(here - inside).T)
    jumps = (off > 1e-6 * size_near) | (size_here == 0.0)
    # Where the speed vanishes the direction nearby is the limit, and no extrapolation is.
    stalls = size_here < 1e-3 * size_near
    vector = np.where(stalls[:, None], near, np.where(jumps[:, None], inside, here))
    size = np.hypot(vector[:, 0], vector[:, 1])
    stuck = size == 0.0
    if stuck.any():
        ends = np.asarray(position(high)) - np.asarray(position(low))
        vector = np.where(stuck[:, None], ends, vector)
        size = np.hypot(vector[:, 0], vector[:, 1])
    return np.asarray(vector / np.where(size == 0.0, 1.0, size)[:, None])


def biarcs(
    p0: FloatArray, p1: FloatArray, u0: FloatArray, u1: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return joints (n, 2) and the bulges (n,) of both arcs of each biarc.

    It runs from ``p0`` to ``p1`` (n, 2) [mm] with the unit tangents ``u0`` and ``u1`` (n, 2).

    The two arcs meet tangentially at ``(p0 + p1 + d (u0 - u1)) / 2`` with equal distances d
    to the corners of their control polygon: ``v·v - 2 d v·(u0 + u1) - 2 d² (1 - u0·u1) = 0``
    (Bolton, Biarc curves, Computer-Aided Design 7, 1975).
    """
    v = p1 - p0
    vv = np.sum(v * v, axis=1)
    vt = np.sum(v * (u0 + u1), axis=1)
    curl = 1.0 - np.sum(u0 * u1, axis=1)
    root = np.sqrt(np.maximum(vt * vt + 2.0 * curl * vv, 0.0))
    # This form of the root neither cancels nor divides by a vanishing curl.
    below = vt + root
    d = np.divide(vv, below, out=np.zeros_like(vv), where=below > 1e-300)
    joint = 0.5 * (p0 + p1 + d[:, None] * (u0 - u1))

    def between(one: FloatArray, other: FloatArray) -> FloatArray:
        cross = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
        return np.asarray(np.arctan2(cross, np.sum(one * other, axis=1)))

    first = np.tan(0.5 * between(u0, joint - p0))
    second = np.tan(0.5 * between(p1 - joint, u1))
    return np.asarray(joint), np.asarray(first), np.asarray(second)


def _joint_parameters(
    position: Curve, derivative: Curve, low: FloatArray, high: FloatArray, joint: FloatArray
) -> FloatArray:
    """Return the parameter of the point of the curve nearest to each joint (n,)."""
    # Newton for the foot of the joint on the curve; between two knots that near it settles soon.
    at = 0.5 * (low + high)
    for _ in range(8):
        gap = joint - position(at)
        slope = derivative(at)
        size = np.sum(slope * slope, axis=1)
        step = np.divide(
            np.sum(gap * slope, axis=1), size, out=np.zeros_like(size), where=size > 0.0
        )
        at = np.clip(at + step, low, high)
    return np.asarray(at)


def _fits(
    position: Curve,
    low: FloatArray,
    high: FloatArray,
    arcs: tuple[Segments, Segments],
    tolerance_mm: float,
) -> BoolArray:
    """Return whether the curve stays within the tolerance of each pair of arcs (n,)."""
    at = low[:, None] + (high - low)[:, None] * _SAMPLES
    points = np.asarray(position(at.ravel())).reshape(*at.shape, 2)
    worst = np.zeros(len(low))
    for k in range(at.shape[1]):
        x, y = points[:, k, 0], points[:, k, 1]
        worst = np.maximum(worst, np.minimum(arcs[0].distance(x, y), arcs[1].distance(x, y)))
    turn = np.maximum(np.abs(arcs[0].turn), np.abs(arcs[1].turn))
    return np.asarray((worst <= tolerance_mm) & (turn <= _MOST_TURN))


def fit_arcs(
    position: Curve,
    derivative: Curve,
    t_knots: object,
    *,
    tolerance_mm: float = BIARC_TOLERANCE_MM,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return tangent-continuous arcs that follow a curve within a tolerance.

    Parameters
    ----------
    position, derivative : callable
        Of parameters (m,), giving (m, 2) [mm].
    t_knots : (k,) array_like
        Rising parameters from the curve's start to its end, with every cusp, corner and
        change of formula between.
    tolerance_mm : float
        Largest distance of the curve from its arcs, at the places sampled [mm].

    Returns
    -------
    points : (n + 1, 2) array
        Ends of the arcs [mm].
    bulges : (n,) array
    params : (n + 1,) array
        Parameters of the curve at the ends; at a biarc's joint, which lies beside the curve
        by less than the tolerance, that of the nearest point.

    Raises
    ------
    InternalError
        If the knots do not rise or no subdivision reaches the tolerance.
    """
    knots = np.asarray(t_knots, dtype=np.float64).ravel()
    if len(knots) < 2 or not (np.diff(knots) > 0.0).all():
        raise InternalError("The knots of a curve must rise, at least two of them.")
    low, high = knots[:-1], knots[1:]
    done: list[tuple[FloatArray, ...]] = []
    for _ in range(_DEEPEST):
        p0, p1 = np.asarray(position(low)), np.asarray(position(high))
        u0 = _tangents(position, derivative, low, high, end=False)
        u1 = _tangents(position, derivative, low, high, end=True)
        joint, first, second = biarcs(p0, p1, u0, u1)
        arcs = Segments(p0, joint, first), Segments(joint, p1, second)
        fine = _fits(position, low, high, arcs, tolerance_mm)
        # At the last digits of the parameter there is nothing left to halve.
        fine |= high - low <= 1e-12 * (knots[-1] - knots[0])
        done.append((low[fine], high[fine], joint[fine], first[fine], second[fine]))
        if fine.all():
            break
        low, high = low[~fine], high[~fine]
        middle = 0.5 * (low + high)
        low, high = (
            np.column_stack([low, middle]).ravel(),
            np.column_stack([middle, high]).ravel(),
        )
    else:
        raise InternalError(f"No arcs follow the curve within {tolerance_mm} mm.")
    low, high, joint, first, second = (np.concatenate([row[k] for row in done]) for k in range(5))
    order = np.argsort(low)
    low, high, joint = low[order], high[order], joint[order]
    middle = _joint_parameters(position, derivative, low, high, joint)
    n = len(low)
    points = np.empty((2 * n + 1, 2))
    points[:-1:2] = position(low)
    points[1::2] = joint
    points[-1] = np.asarray(position(high[-1:]))[0]
    params = np.empty(2 * n + 1)
    params[:-1:2], params[1::2], params[-1] = low, middle, high[-1]
    return points, np.column_stack([first[order], second[order]]).ravel(), params


def smooth_path(
    position: Curve,
    derivative: Curve,
    knots: object,
    *,
    tolerance_mm: float = BIARC_TOLERANCE_MM,
    closed: bool = False,
    tag: int = 0,
    relative: float = LENGTH_RELATIVE,
) -> Path:
    """Return a curve as a path of arcs that carry the exact lengths of the curve.

    Parameters
    ----------
    position, derivative : callable
        Of parameters (m,), giving (m, 2) [mm].
    knots : (k,) array_like
        As for :func:`fit_arcs`.
    tolerance_mm : float
        Largest distance between curve and arcs [mm].
    closed : bool
        Whether the curve ends where it begins; the last vertex is then set onto the first.
    tag : int
        Tag of every segment.
    relative : float
        Error allowed in the total length [-].

    Returns
    -------
    Path
        Its lengths are those of the curve between the parameters of the vertices, so their
        sum is the curve's length, whatever the tolerance of the arcs.
    """
    points, bulges, params = fit_arcs(position, derivative, knots, tolerance_mm=tolerance_mm)

    def speed(t: FloatArray) -> FloatArray:
        return np.asarray(np.hypot(*np.asarray(derivative(t)).T))

    lengths = _integrals(speed, params[:-1], params[1:], relative)
    chord = np.hypot(*np.diff(points, axis=0).T)
    empty = (chord <= ZERO_LENGTH_MM) & (lengths <= ZERO_LENGTH_MM)
    if empty.any() and not empty.all():
        # A piece without length has no direction; what little it measures goes to a neighbour.
        keep = np.flatnonzero(~empty)
        heir = np.clip(np.searchsorted(keep, np.arange(len(empty)), side="right") - 1, 0, None)
        lengths = np.asarray(np.bincount(heir, weights=lengths), dtype=np.float64)
        points = np.vstack([points[keep], points[-1:]])
        bulges = bulges[keep]
    if closed:
        points[-1] = points[0]
    return Path.from_bulges(
        points, bulges, closed=closed, lengths=lengths, tags=np.full(len(bulges), tag)
    )
