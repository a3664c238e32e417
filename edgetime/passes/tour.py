"""The order in which one tool visits its runs by a short tour.

Nearest neighbour, then reversals and moves of stretches of the tour (2-opt and or-opt: Croes
1958; Or 1976), then the best start of each closed run along the tour by dynamic programming;
both in turn while they save. The result is compared with the order given and is never longer.
Runs have a direction, so what lies between two is measured from the exit of one to the entry of
the other, in seconds or whatever the measure gives.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray

Measure = Callable[[FloatArray, FloatArray], FloatArray]
"""What lies between places: two arrays (..., 2) that broadcast, to an array (...)."""

NEAREST_MOST: Final = 1500
"""Up to this many runs the tour begins as nearest neighbour, whose time grows with the square;
above, the runs are walked in strips to and fro, in n log n."""

IMPROVE_MOST: Final = 120
"""Up to this many runs the tour is improved by 2-opt and or-opt, whose time grows with the cube."""

OR_LENGTHS: Final = (1, 2, 3)
"""Lengths of the stretches or-opt moves."""

SEEDS_MOST: Final = 24
"""Up to this many runs the search also begins with the order given and with its reverse."""

ROUNDS_MOST: Final = 6
"""Order and starts are improved in turn at most so often; two or three is usual."""

PLACES_MOST: Final = 600
"""Up to this many places what lies between any two of them is computed at once."""

SLIGHT: Final = 1e-9
"""A change that saves less is none: rounding must not make the search run in circles."""

Order = list[tuple[int, int]]


def straight_mm(start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the straight distance between places, as a :data:`Measure` [mm]."""
    return np.asarray(np.hypot(start[..., 0] - end[..., 0], start[..., 1] - end[..., 1]))


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


class _Legs:
    """What lies between all the places of a tour; known at once where they are few."""

    def __init__(
        self,
        entries: Sequence[FloatArray],
        exits: Sequence[FloatArray],
        home: FloatArray,
        measure: Measure,
    ) -> None:
        rows = [home[None, :]]
        self._in, self._out = np.vstack([*entries, *rows]), np.vstack([*exits, *rows])
        counts = [*(len(e) for e in entries), 1]
        self._first = np.concatenate([[0], np.cumsum(counts)])
        self._measure = measure
        self._table: FloatArray | None = None
        # All legs at once while the table is small; beyond, those that are asked for.
        if len(self._in) <= PLACES_MOST:
            self._table = measure(self._out[:, None, :], self._in[None, :, :])

    def _slice(self, run: int) -> slice:
        run %= len(self._first) - 1
        return slice(int(self._first[run]), int(self._first[run + 1]))

    def between(self, run: int, then: int) -> FloatArray:
        """Return the table from each exit of a run to each entry of another; -1 is home."""
        a, b = self._slice(run), self._slice(then)
        if self._table is not None:
            return np.asarray(self._table[a, b])
        return np.asarray(self._measure(self._out[a, None, :], self._in[None, b, :]))

    def chosen(self, order: Order) -> FloatArray:
        """Return the table from run to run with the beginnings chosen, home last."""
        rows = np.array([int(self._first[i]) + c for i, c in order] + [len(self._in) - 1])
        if self._table is not None:
            return np.asarray(self._table[np.ix_(rows, rows)])
        return np.asarray(self._measure(self._out[rows, None, :], self._in[None, rows, :]))


def _best_reversal(table: FloatArray, tour: IntArray) -> tuple[float, int, int]:
    """Return the saving of the best reversal and the positions it runs from and to."""
    n = len(tour) - 2
    # Running sums of the legs in both directions: the cost of turning any stretch round is a
    # difference, although a leg is not as long backward as forward.
    forth = np.concatenate([[0.0], np.cumsum(table[tour[1:-2], tour[2:-1]])])
    back = np.concatenate([[0.0], np.cumsum(table[tour[2:-1], tour[1:-2]])])
    before, mid, after = tour[:-2], tour[1:-1], tour[2:]
    old = table[before, mid][:, None] + (forth[None, :] - forth[:, None]) + table[mid, after]
    new = table[np.ix_(before, mid)] + (back[None, :] - back[:, None]) + table[np.ix_(mid, after)]
    save = np.where(np.triu(np.ones((n, n), dtype=np.bool_), 1), old - new, -np.inf)
    flat = int(np.argmax(save))
    return float(save.flat[flat]), flat // n, flat % n


def _best_move(table: FloatArray, tour: IntArray) -> tuple[float, int, int, int]:
    """Return the saving of the best move: first position, length, and the gap it goes to."""
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
        if max(turn, move) <= SLIGHT:
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


def best_starts(
    entries: Sequence[FloatArray],
    exits: Sequence[FloatArray],
    runs: Sequence[int],
    home: FloatArray,
    measure: Measure = straight_mm,
) -> Order:
    """Return runs in the given order with the beginnings that make the tour shortest.

    Parameters
    ----------
    entries, exits : sequence of (c, 2) arrays
        Per run the places where it may begin, and where it then ends [mm].
    home : (2,) array
        Where the tool comes from and goes to [mm].
    measure : callable
        Of what lies between two places.
    runs : sequence of int
        In running order.
    """
    return _started(_Legs(entries, exits, home, measure), runs)[0]


def _started(legs: _Legs, runs: Sequence[int]) -> tuple[Order, float]:
    """Return runs with their best beginnings, by dynamic programming, and the tour's length."""
    # The least way through the starts of each run in turn (dynamic programming): exact for the
    # given order.
    cost = np.zeros(1)
    before = -1
    back: list[IntArray] = []
    for run in runs:
        total = cost[:, None] + legs.between(before, run)
        back.append(total.argmin(axis=0))
        cost = total.min(axis=0)
        before = run
    total = cost + legs.between(before, -1)[:, 0]
    choice = int(total.argmin())
    length = float(total[choice])
    order: Order = []
    for run, origin in zip(reversed(runs), reversed(back), strict=True):
        order.append((run, choice))
        choice = int(origin[choice])
    return order[::-1], length


def short_tour(
    entries: Sequence[FloatArray],
    exits: Sequence[FloatArray],
    home: tuple[float, float],
    measure: Measure = straight_mm,
    seed: Sequence[int] | None = None,
) -> Order:
    """Return a short tour through all runs, never longer than in the order given.

    Parameters
    ----------
    entries, exits : sequence of (c, 2) arrays
        Per run the places where it may begin, and where it then ends [mm].
    home : (float, float)
        Where the tool comes from and goes to [mm].
    measure : callable
        Of what lies between two places; their straight distance when omitted.
    seed : sequence of int, optional
        A good order of the runs to begin the search with.

    Returns
    -------
    list of (int, int)
        Run and which of its beginnings, in running order. The same input gives the same tour.
    """
    n = len(entries)
    if n == 0:
        return []
    base = np.asarray(home, dtype=np.float64)
    legs = _Legs(entries, exits, base, measure)
    given = list(range(n))
    best, least = _started(legs, given)
    for order in _seeds(entries, exits, base, given) if seed is None else [list(seed)]:
        found, length = _searched(legs, order)
        if length < least - SLIGHT:
            best, least = found, length
    return best


def _seeds(
    entries: Sequence[FloatArray], exits: Sequence[FloatArray], home: FloatArray, given: list[int]
) -> list[list[int]]:
    """Return the orders the search begins with."""
    if len(given) > NEAREST_MOST:
        return [[i for i, _ in _strips(entries)]]
    near = [i for i, _ in _nearest(entries, exits, home)]
    return [near, given, given[::-1]] if len(given) <= SEEDS_MOST else [near]


def _searched(legs: _Legs, runs: list[int]) -> tuple[Order, float]:
    """Return the tour that improving order and beginnings in turn leads to, and its length."""
    order, length = _started(legs, runs)
    if not 2 <= len(runs) <= IMPROVE_MOST:
        return order, length
    for _ in range(ROUNDS_MOST):
        again, shorter = _started(legs, _improved(legs.chosen(order), [i for i, _ in order]))
        if shorter >= length - SLIGHT:
            break
        order, length = again, shorter
    return order, length
