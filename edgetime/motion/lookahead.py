"""Look-ahead without a jerk limit: vertex speeds as exact min-plus scans over v².

On a segment of length L with acceleration a the square u = v² changes by at most 2aL. The
highest feasible squares at the vertices are therefore the greatest solution of
``u[i+1] ≤ u[i] + 2 a L`` and the same backward, below the caps: one scan in each direction.

The scan doubles its window: after the pass of width k every vertex has seen the k vertices
before it. Only sums of positive rises are formed, never differences of running totals, so
the result does not lose digits on a table that holds a segment of 1e9 mm before segments of
1e-6 mm. A vertex with cap 0 stops every window by itself, so paths that begin and end at
rest are planned together by laying them end to end.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from edgetime.motion._arrays import FloatArray, in_blocks

LOOP_ROWS: Final = 100
"""Up to this many segments a plain loop is faster than array passes."""


def scan_forward(cap: FloatArray, rise: FloatArray) -> FloatArray:
    """Return the greatest u ≤ cap with u[i+1] ≤ u[i] + rise[i], by doubling windows.

    The first pass that changes nothing has reached the fixed point: with no vertex improved
    by its k-th predecessor, none is by a farther one either.

    Parameters
    ----------
    cap : (n + 1,) array
        Bounds at the vertices [mm²/s²].
    rise : (n,) array
        Largest rise over each segment, not negative [mm²/s²].

    Returns
    -------
    (n + 1,) array
        The greatest solution [mm²/s²].
    """
    u = cap.copy()
    window = rise
    width = 1
    while width < len(u):
        candidate = u[:-width] + window
        ahead = u[width:]
        if not (candidate < ahead).any():
            break
        np.minimum(ahead, candidate, out=ahead)
        if 2 * width >= len(u):
            break
        window = window[width:] + window[:-width]
        width *= 2
    return u


def scan_forward_loop(cap: FloatArray, rise: FloatArray) -> FloatArray:
    """Return what :func:`scan_forward` returns, one vertex after the other."""
    u = cap.tolist()
    for i, step in enumerate(rise.tolist()):
        reached = u[i] + step
        if reached < u[i + 1]:  # noqa: PLR1730 (min() would halve the speed)
            u[i + 1] = reached
    return np.array(u)


def window_sums(value: FloatArray, width: int) -> FloatArray:
    """Return the sum of each value and those behind it, ``width`` of them or what there is.

    The windows are put together from doubled ones, so that no difference of running totals
    loses digits.

    Parameters
    ----------
    value : (n,) array
        Not negative.
    width : int
        At least 1.

    Returns
    -------
    (n,) array
    """
    n = len(value)
    width = min(width, n)
    total, block, begin, size = np.zeros(n), value.copy(), 0, 1
    while begin < n:
        # Sums over 1, 2, 4 … values make up any width with log n additions of whole columns.
        if width & size:
            total[: n - begin] += block[begin:]
            begin += size
        if width < 2 * size:
            break
        block[:-size] += block[size:].copy()
        size *= 2
    return total


def capped(vertex_speed: FloatArray, speed: FloatArray) -> FloatArray:
    """Return the speeds at the vertices, at most those of the segments on both sides [mm/s]."""
    top = vertex_speed.copy()
    np.minimum(top[1:], speed, out=top[1:])
    np.minimum(top[:-1], speed, out=top[:-1])
    return top


def vertex_squares(
    vertex_speed: FloatArray,
    speed: FloatArray,
    acceleration: FloatArray,
    length: FloatArray,
) -> FloatArray:
    """Return the squares of the highest feasible speeds at the vertices.

    Parameters
    ----------
    vertex_speed : (n + 1,) array
        Bounds at the vertices [mm/s].
    speed, acceleration, length : (n,) array
        Bounds along the segments [mm/s, mm/s²] and their lengths [mm].

    Returns
    -------
    (n + 1,) array
        Squares of the vertex speeds [mm²/s²].
    """
    top = capped(vertex_speed, speed) ** 2
    rise = 2.0 * acceleration * length
    # In v² a ramp is linear in its length, so that reaching a speed is a sum, and keeping below a
    # cap a minimum. Below a hundred moves the overhead of arrays costs more than a loop.
    scan = scan_forward_loop if len(length) <= LOOP_ROWS else scan_forward
    return scan(scan(top, rise)[::-1], rise[::-1])[::-1]


@in_blocks
def segment_times(
    u0: FloatArray,
    u1: FloatArray,
    speed: FloatArray,
    acceleration: FloatArray,
    length: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Return the time and the peak speed of accelerating, cruising, decelerating segments.

    The peak follows from ``vp² = (v0² + v1²)/2 + a L`` (Biagiotti & Melchiorri, *Trajectory
    Planning*, 2008, section 3.2), cut at the cap. Times are sums of length over mean speed
    with lengths that add up to L, so that rounding in the split costs nothing.

    Parameters
    ----------
    u0, u1 : (n,) array
        Squares of the speeds at both ends, mutually reachable [mm²/s²].
    speed, acceleration, length : (n,) array
        As in :func:`vertex_squares`.

    Returns
    -------
    time : (n,) array
        [s].
    peak : (n,) array
        Highest speed on the segment [mm/s].
    """
    top = np.minimum(speed * speed, 0.5 * (u0 + u1) + acceleration * length)
    np.maximum(top, u0, out=top)
    np.maximum(top, u1, out=top)
    peak = np.sqrt(top)
    half = 0.5 / acceleration
    up, down = (top - u0) * half, (top - u1) * half
    time = 2.0 * up / (np.sqrt(u0) + peak)
    time += 2.0 * down / (np.sqrt(u1) + peak)
    time += (length - up - down) / peak
    return time, peak
