"""The order in which one tool visits its runs: as drawn, or by a short tour.

Nearest neighbour, then reversals and moves of stretches of the tour (2-opt and or-opt: Croes
1958; Or 1976), then the best start of each closed run along the tour by dynamic programming.
The result is compared with the order as drawn and is never longer. Runs have a direction, so
the distance from one to the next is taken from its exit to the other's entry.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray

__all__ = ["short_tour", "tour_length_mm"]

NEAREST_MOST: Final = 1500
"""Up to so many runs the tour begins as nearest neighbour, whose time grows with the square;
above, the runs are walked in strips to and fro, in n log n."""

IMPROVE_MOST: Final = 120
"""Up to so many runs the tour is improved by 2-opt and or-opt, whose time grows with the cube."""

OR_LENGTHS: Final = (1, 2, 3)
"""Lengths of the stretches or-opt moves."""

SLIGHT_MM: Final = 1e-6
"""A change that saves less is none [mm]: rounding must not make the search run in circles."""

Order = list[tuple[int, int]]


def tour_length_mm(
    entries: Sequence[FloatArray], exits: Sequence[FloatArray], order: Order, home: FloatArray
) -> float:
    """Return the travel from home through all runs and back, the runs themselves left out.

    Parameters
    ----------
    entries, exits : sequence of (c, 2) arrays
        Per run the places where it may begin, and where it then ends [mm].
    order : list of (int, int)
        Run and which of its beginnings.
    home : (2,) array
        Where the tool comes from and goes to [mm].
    """
    inn = np.array([entries[i][c] for i, c in order])
    out = np.array([exits[i][c] for i, c in order])
    legs = np.vstack([inn, home]) - np.vstack([home, out])
    return float(np.hypot(legs[:, 0], legs[:, 1]).sum())


def _nearest(entries: Sequence[FloatArray], exits: Sequence[FloatArray], home: FloatArray) -> Order:
    counts = np.array([len(e) for e in entries])
    points = np.concatenate(entries)
    owner = np.repeat(np.arange(len(entries)), counts)
    first = np.cumsum(counts) - counts
    open_ = np.zeros(len(points))
    at = home
    order: Order = []
    for _ in entries:
        best = int(np.argmin(np.hypot(points[:, 0] - at[0], points[:, 1] - at[1]) + open_))
        run = int(owner[best])
        choice = best - int(first[run])
        order.append((run, choice))
        open_[first[run] : first[run] + counts[run]] = np.inf
        at = exits[run][choice]
    return order


def _strips(entries: Sequence[FloatArray]) -> Order:
    points = np.array([e[0] for e in entries])
    low, size = points.min(axis=0), np.maximum(np.ptp(points, axis=0), 1.0)
    # Strips of width sqrt(3 A / n) make the shortest expected walk over n random points.
    width = float(np.sqrt(3.0 * size[0] * size[1] / len(points)))
    strip = ((points[:, 0] - low[0]) // width).astype(np.int64)
    y = np.where(strip % 2 == 0, points[:, 1], -points[:, 1])
    return [(int(i), 0) for i in np.lexsort((y, strip))]


def _distances(inn: FloatArray, out: FloatArray, home: FloatArray) -> FloatArray:
    """Return the table of distances from exit to entry, home as the last row and column."""
    a, b = np.vstack([out, home]), np.vstack([inn, home])
    return np.hypot(a[:, None, 0] - b[None, :, 0], a[:, None, 1] - b[None, :, 1])


def _best_reversal(table: FloatArray, tour: IntArray) -> tuple[float, int, int]:
    """Return the saving of the best reversal and the positions it runs from and to."""
    n = len(tour) - 2
    forth = np.concatenate([[0.0], np.cumsum(table[tour[1:-2], tour[2:-1]])])
    back = np.concatenate([[0.0], np.cumsum(table[tour[2:-1], tour[1:-2]])])
    before, mid, after = tour[:-2], tour[1:-1], tour[2:]
    old = table[before, mid][:, None] + (forth[None, :] - forth[:, None]) + table[mid, after]
    new = table[np.ix_(before, mid)] + (back[None, :] - back[:, None]) + table[np.ix_(mid, after)]
    save = np.where(np.triu(np.ones((n, n), dtype=np.bool_), 1), old - new, -np.inf)
    flat = int(np.argmax(save))
    return float(save.flat[flat]), flat // n, flat % n


def _best_move(table: FloatArray, tour: IntArray) -> tuple[float, int, int, int]:
    """Return the saving of the best move: its first position, its length, and the gap it goes to."""
    n = len(tour) - 2
    legs = table[tour[:-1], tour[1:]]
    best = (-np.inf, 0, 0, 0)
    for size in OR_LENGTHS:
        if size >= n:
            break
        i = np.arange(n - size + 1)
        head, tail = tour[1 + i], tour[i + size]
        before, after = tour[i], tour[1 + i + size]
        freed = table[before, head] + table[tail, after] - table[before, after]
        # Gap g lies between positions g and g + 1 of the tour with its two homes.
        g = np.arange(n + 1)
        cost = table[np.ix_(tour[g], head)].T + table[np.ix_(tail, tour[g + 1])] - legs[None, g]
        outside = (g[None, :] < i[:, None]) | (g[None, :] > (i + size)[:, None])
        save = np.where(outside, freed[:, None] - cost, -np.inf)
        flat = int(np.argmax(save))
        value = float(save.flat[flat])
        if value > best[0]:
            best = (value, flat // (n + 1), size, flat % (n + 1))
    return best


def _improved(table: FloatArray, runs: list[int]) -> list[int]:
    """Return the tour after reversals and moves, until none saves anything."""
    n = len(runs)
    tour = np.array([n, *range(n), n], dtype=np.int64)
    for _ in range(4 * n):
        turn, i, j = _best_reversal(table, tour)
        move, k, size, gap = _best_move(table, tour)
        if max(turn, move) <= SLIGHT_MM:
            break
        inner = tour[1:-1]
        if turn >= move:
            inner[i : j + 1] = inner[i : j + 1][::-1].copy()
        else:
            piece = inner[k : k + size].copy()
            rest = np.delete(inner, np.arange(k, k + size))
            at = gap if gap < k else gap - size
            tour[1:-1] = np.insert(rest, at, piece)
    return [runs[i] for i in tour[1:-1]]


def _best_starts(
    entries: Sequence[FloatArray], exits: Sequence[FloatArray], runs: list[int], home: FloatArray
) -> Order:
    """Return the tour with the starts of closed runs that make it shortest."""
    cost = np.zeros(1)
    at = home[None, :]
    back: list[IntArray] = []
    for run in runs:
        legs = np.hypot(
            at[:, None, 0] - entries[run][None, :, 0], at[:, None, 1] - entries[run][None, :, 1]
        )
        total = cost[:, None] + legs
        back.append(np.argmin(total, axis=0))
        cost = total.min(axis=0)
        at = exits[run]
    choice = int(np.argmin(cost + np.hypot(at[:, 0] - home[0], at[:, 1] - home[1])))
    order: Order = []
    for run, origin in zip(reversed(runs), reversed(back), strict=True):
        order.append((run, choice))
        choice = int(origin[choice])
    return order[::-1]


def short_tour(
    entries: Sequence[FloatArray], exits: Sequence[FloatArray], home: tuple[float, float]
) -> Order:
    """Return a short tour through all runs, never longer than in the order given.

    Parameters
    ----------
    entries, exits : sequence of (c, 2) arrays
        Per run the places where it may begin, and where it then ends [mm]; the first pair is
        how it is drawn.
    home : (float, float)
        Where the tool comes from and goes to [mm].

    Returns
    -------
    list of (int, int)
        Run and which of its beginnings, in running order. The same input gives the same tour.
    """
    n = len(entries)
    drawn: Order = [(i, 0) for i in range(n)]
    if n == 0:
        return drawn
    base = np.asarray(home, dtype=np.float64)
    order = _nearest(entries, exits, base) if n <= NEAREST_MOST else _strips(entries)
    if 2 <= n <= IMPROVE_MOST:
        inn = np.array([entries[i][c] for i, c in order])
        out = np.array([exits[i][c] for i, c in order])
        runs = _improved(_distances(inn, out, base), [i for i, _ in order])
    else:
        runs = [i for i, _ in order]
    order = _best_starts(entries, exits, runs, base)
    shorter = tour_length_mm(entries, exits, order, base)
    if shorter < tour_length_mm(entries, exits, drawn, base) - SLIGHT_MM:
        return order
    return drawn
