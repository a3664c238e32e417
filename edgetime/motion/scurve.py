"""Look-ahead with a jerk limit: S-curves with no acceleration at the vertices.

A change of speed by x under acceleration A and jerk J takes ``x/A + A/J`` if A is reached
(x ≥ A²/J), else ``2 sqrt(x/J)``, over the mean of both speeds (Biagiotti & Melchiorri,
*Trajectory Planning*, 2008, section 3.4). Solved for the end speed over a length L this is a
quadratic or a depressed cubic.

The end speed reached is not monotone in the start speed v0: it falls by up to 5.5 % until
``v* = min((L sqrt(J) / 4 sqrt(2))^(2/3), A²/2J)`` and rises from there, because a faster
start also uses up the length faster. Planning uses the value at max(v0, v*), which is never
more than can be reached and rises with v0. That makes the greatest solution unique and a
higher limit never slower, for less than 0.1 % of time.

``J = inf`` is allowed segment by segment and gives the trapezoid.
"""

from __future__ import annotations

from math import asinh, cbrt, sinh, sqrt
from typing import Final

import numpy as np

from edgetime.motion._arrays import FloatArray, IntArray, in_blocks
from edgetime.motion.lookahead import LOOP_ROWS, capped

_TURNING: Final = 1.0 / (4.0 * sqrt(2.0))
"""v* = (this · L sqrt(J))^(2/3) while A is not reached: there the end speed is 3 v0."""

_SEQUENTIAL: Final = 24
"""A frontier of fewer vertices is followed one by one, cheaper than array passes."""

_ROUNDS: Final = 60
"""Newton's method needs about 12 rounds from above; it is never seen near this."""

_CLOSE: Final = 1e-8
"""Relative step at which Newton's method stops."""


def ramp_time(change: FloatArray, acceleration: FloatArray, jerk: FloatArray) -> FloatArray:
    """Return the least time for a change of speed between two moments without acceleration.

    Parameters
    ----------
    change : (n,) array
        Changes of speed, not negative [mm/s].
    acceleration, jerk : (n,) array
        Limits [mm/s², mm/s³].

    Returns
    -------
    (n,) array
        [s].
    """
    whole = change >= acceleration * (acceleration / jerk)
    return np.where(
        whole, change / acceleration + acceleration / jerk, 2.0 * np.sqrt(change / jerk)
    )


def ramp_length(
    v0: FloatArray, v1: FloatArray, acceleration: FloatArray, jerk: FloatArray
) -> FloatArray:
    """Return the length of the quickest change from v0 to v1: mean speed by time [mm]."""
    return np.asarray(0.5 * (v0 + v1) * ramp_time(np.abs(v1 - v0), acceleration, jerk))


def cubic_root(p: FloatArray, q: FloatArray, flat: float) -> FloatArray:
    """Return the one real root of ``y³ + p y = q`` for ``p, q ≥ 0``.

    The hyperbolic form loses no digits, where Cardano's takes the difference of two nearly
    equal roots; below ``flat`` the linear term does not count.
    """
    safe = np.maximum(p, 1e-300)
    lift = np.sinh(np.arcsinh(1.5 * q / safe * np.sqrt(3.0 / safe)) / 3.0)
    return np.where(p < flat, np.cbrt(q), 2.0 * np.sqrt(safe / 3.0) * lift)


def reach(
    v0: FloatArray, acceleration: FloatArray, jerk: FloatArray, length: FloatArray
) -> FloatArray:
    """Return the end speed that planning counts on after a length, rising with v0 [mm/s].

    Parameters
    ----------
    v0 : (n,) array
        Speeds at the start [mm/s].
    acceleration, jerk, length : (n,) array
        Limits [mm/s², mm/s³] and lengths [mm].

    Returns
    -------
    (n,) array
        Speeds, at most what can really be reached and at least v0.
    """
    knee = acceleration * (acceleration / jerk)
    with np.errstate(invalid="ignore", over="ignore"):
        turning = np.minimum(np.cbrt((_TURNING * length) ** 2 * jerk), 0.5 * knee)
        v = np.maximum(v0, turning)
        # A is reached: (v + v1)/2 · ((v1 - v)/A + A/J) = L, a quadratic in the rise v1 - v.
        b = 2.0 * v + knee
        c = 2.0 * acceleration * length - 2.0 * v * knee
        rise = 2.0 * c / (b + np.sqrt(np.maximum(b * b + 4.0 * c, 0.0)))
        # A is not reached: with y² = v1 - v, y³ + 2 v y = L sqrt(J), one real root.
        p, q = 2.0 * v, length * np.sqrt(jerk)
        y = cubic_root(p, q, 1e-9)
        return v + np.where(length >= b * (acceleration / jerk), rise, y * y)


def reach_one(v0: float, acceleration: float, jerk: float, length: float) -> float:
    """Return :func:`reach` for one segment."""
    knee = acceleration * (acceleration / jerk)
    v = max(v0, min(cbrt((_TURNING * length) ** 2 * jerk), 0.5 * knee))
    b = 2.0 * v + knee
    if length >= b * (acceleration / jerk):
        c = 2.0 * acceleration * length - 2.0 * v * knee
        return v + 2.0 * c / (b + sqrt(max(b * b + 4.0 * c, 0.0)))
    p, q = 2.0 * v, length * sqrt(jerk)
    if p < 1e-9:
        return v + cbrt(q) ** 2
    return v + (2.0 * sqrt(p / 3.0) * sinh(asinh(1.5 * q / p * sqrt(3.0 / p)) / 3.0)) ** 2


def scan_loop(
    cap: FloatArray, acceleration: FloatArray, jerk: FloatArray, length: FloatArray
) -> FloatArray:
    """Return the greatest v ≤ cap with v[i+1] ≤ reach(v[i]), one vertex after the other."""
    v = cap.tolist()
    rows = zip(acceleration.tolist(), jerk.tolist(), length.tolist(), strict=True)
    for i, (a, j, ll) in enumerate(rows):
        if v[i + 1] > v[i]:
            v[i + 1] = min(v[i + 1], reach_one(v[i], a, j, ll))
    return np.array(v)


def scan_frontier(
    cap: FloatArray, acceleration: FloatArray, jerk: FloatArray, length: FloatArray
) -> FloatArray:
    """Return what :func:`scan_loop` returns, in array passes.

    Each round looks again only at the vertices whose predecessor has just changed. As the
    reach rises with the start speed, the order does not matter for the result.

    Parameters
    ----------
    cap : (n + 1,) array
        Bounds at the vertices [mm/s].
    acceleration, jerk, length : (n,) array
        Limits [mm/s², mm/s³] and lengths [mm].

    Returns
    -------
    (n + 1,) array
        [mm/s].
    """
    v = cap.copy()
    n = len(length)
    frontier: IntArray = np.flatnonzero(v[1:] > v[:-1])
    while len(frontier) >= _SEQUENTIAL:
        got = reach(v[frontier], acceleration[frontier], jerk[frontier], length[frontier])
        lower = got < v[frontier + 1]
        changed = frontier[lower] + 1
        v[changed] = got[lower]
        frontier = changed[changed < n]
    for first in frontier.tolist():
        i = first
        while i < n:
            one = reach_one(float(v[i]), float(acceleration[i]), float(jerk[i]), float(length[i]))
            if one >= v[i + 1]:
                break
            v[i + 1] = one
            i += 1
    return v


def vertex_speeds(
    vertex_speed: FloatArray,
    speed: FloatArray,
    acceleration: FloatArray,
    jerk: FloatArray,
    length: FloatArray,
) -> FloatArray:
    """Return the highest speeds at the vertices that planning allows.

    Parameters
    ----------
    vertex_speed : (n + 1,) array
        Bounds at the vertices [mm/s].
    speed, acceleration, jerk, length : (n,) array
        Bounds along the segments [mm/s, mm/s², mm/s³] and their lengths [mm].

    Returns
    -------
    (n + 1,) array
        [mm/s].
    """
    top = capped(vertex_speed, speed)
    # Forward for what speeding up reaches, then backward for what braking still allows.
    scan = scan_loop if len(length) <= LOOP_ROWS else scan_frontier
    v = scan(top, acceleration, jerk, length)
    return scan(v[::-1], acceleration[::-1], jerk[::-1], length[::-1])[::-1]


@in_blocks
def segment_times(
    v0: FloatArray,
    v1: FloatArray,
    speed: FloatArray,
    acceleration: FloatArray,
    jerk: FloatArray,
    length: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Return the time and the peak speed of S-curve segments without acceleration at the ends.

    Parameters
    ----------
    v0, v1 : (n,) array
        Speeds at both ends, mutually reachable [mm/s].
    speed, acceleration, jerk, length : (n,) array
        As in :func:`vertex_speeds`.

    Returns
    -------
    time : (n,) array
        [s].
    peak : (n,) array
        Highest speed on the segment [mm/s].
    """
    fast, slow = np.maximum(v0, v1), np.minimum(v0, v1)
    peak = np.maximum(speed, fast)
    need = ramp_length(fast, peak, acceleration, jerk) + ramp_length(slow, peak, acceleration, jerk)
    k = np.flatnonzero(need > length)
    if len(k):
        peak[k] = _peaks(fast[k], slow[k], speed[k], acceleration[k], jerk[k], length[k])
    up, down = ramp_time(peak - v0, acceleration, jerk), ramp_time(peak - v1, acceleration, jerk)
    # The rest is the cruise; where there is none it is Newton's residual, and adding it at
    # the peak speed makes the time right to second order in that residual.
    rest = length - 0.5 * (v0 + peak) * up - 0.5 * (v1 + peak) * down
    return up + down + rest / peak, peak


def _peaks(
    fast: FloatArray,
    slow: FloatArray,
    speed: FloatArray,
    acceleration: FloatArray,
    jerk: FloatArray,
    length: FloatArray,
) -> FloatArray:
    """Solve ramp(fast, vp) + ramp(slow, vp) = length for vp by Newton from above.

    In y = sqrt(vp - fast) the length is convex and its slope stays positive at y = 0, where in
    vp it would be infinite; so the iteration falls monotonically onto the root. It starts at
    the cap or at the peak without a jerk limit, whichever is lower.
    """
    bound = np.sqrt(0.5 * (fast * fast + slow * slow) + acceleration * length)
    # The length grows with the root of a small change of speed; in that root it is smooth, where
    # Newton in the speed itself would stall at the faster end.
    y = np.sqrt(np.maximum(np.minimum(speed, bound) - fast, 0.0))
    lag = acceleration / jerk
    fixed = (acceleration, acceleration * lag, lag, 2.0 / np.sqrt(jerk), fast, slow, length)
    todo = np.arange(len(y))
    now = y.copy()
    for _ in range(_ROUNDS):
        a, knee, g, r, f, s, full = fixed
        x1 = now * now
        x2 = x1 + (f - s)
        s2 = np.sqrt(np.maximum(x2, 1e-300))
        twice = 2.0 * now
        whole1, whole2 = x1 >= knee, x2 >= knee
        t1, t2 = np.where(whole1, x1 / a + g, now * r), np.where(whole2, x2 / a + g, s2 * r)
        slope1 = np.where(whole1, twice / a, r)
        slope2 = np.where(whole2, twice / a, now * r / s2)
        mean1, mean2 = f + 0.5 * x1, 0.5 * (s + f + x1)
        error = mean1 * t1 + mean2 * t2 - full
        slope = now * (t1 + t2) + mean1 * slope1 + mean2 * slope2
        step = np.divide(error, slope, out=np.zeros_like(error), where=slope > 0.0)
        new = np.maximum(now - step, 0.0)
        y[todo] = new
        # Convergence is quadratic: a step of 1e-8 leaves an error of the order of 1e-16.
        going = np.abs(new - now) > _CLOSE * np.maximum(new, 1e-6)
        left = int(np.count_nonzero(going))
        if not left:
            break
        now = new
        if 2 * left < len(todo):
            todo, now = todo[going], new[going]
            fixed = tuple(x[going] for x in fixed)
    return np.asarray(fast + y * y)
