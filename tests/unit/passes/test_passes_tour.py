"""The short tour: never longer than as drawn, and as short as can be where that is known."""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import pytest
from support.curves import tour_length

from edgetime.passes.tour import IMPROVE_MOST, NEAREST_MOST, short_tour

HOME = np.zeros(2)


def stays(points):
    """Return entries and exits of runs that begin and end at one point each."""
    rows = [np.array([p], dtype=np.float64) for p in points]
    return rows, rows


def test_points_on_a_circle_are_walked_around_it():
    """The shortest tour through 24 points on a circle and home on it is the polygon."""
    angles = 2.0 * math.pi * np.arange(25) / 25.0
    ring = 500.0 * np.column_stack([np.cos(angles), np.sin(angles)])
    rng = np.random.default_rng(7)
    entries, exits = stays(ring[1:][rng.permutation(24)])
    order = short_tour(entries, exits, tuple(ring[0]))
    # 25 chords of a circle of radius 500.
    assert tour_length(entries, exits, order, ring[0]) == pytest.approx(
        25 * 2.0 * 500.0 * math.sin(math.pi / 25.0)
    )


def test_open_runs_keep_their_direction():
    """Home at 0; a run from 10 to 0 after one from 0 to 10 costs nothing, the other way 20."""
    entries = [np.array([[10.0, 0.0]]), np.array([[0.0, 0.0]])]
    exits = [np.array([[0.0, 0.0]]), np.array([[10.0, 0.0]])]
    order = short_tour(entries, exits, (0.0, 0.0))
    assert order == [(1, 0), (0, 0)]
    assert tour_length(entries, exits, order, HOME) == 0.0
    assert tour_length(entries, exits, [(0, 0), (1, 0)], HOME) == 20.0


def test_start_of_a_closed_run_is_chosen_along_the_tour():
    """Of four corners the one nearest to home is taken when there is nothing else."""
    corners = np.array([[900.0, 900.0], [900.0, 100.0], [100.0, 100.0], [100.0, 900.0]])
    order = short_tour([corners], [corners], (0.0, 0.0))
    assert order == [(0, 2)]


@pytest.mark.parametrize("seed", range(6))
def test_small_tours_are_within_five_percent_of_the_best(seed):
    """Seven random directed runs against all 5040 orders, by brute force."""
    rng = np.random.default_rng(seed)
    entries = [rng.uniform(0.0, 3000.0, (1, 2)) for _ in range(7)]
    exits = [e + rng.uniform(-400.0, 400.0, (1, 2)) for e in entries]
    best = min(
        tour_length(entries, exits, [(i, 0) for i in order], HOME)
        for order in permutations(range(7))
    )
    found = tour_length(entries, exits, short_tour(entries, exits, (0.0, 0.0)), HOME)
    assert best - 1e-9 <= found <= 1.05 * best


@pytest.mark.parametrize("count", [IMPROVE_MOST, IMPROVE_MOST + 1, NEAREST_MOST + 1])
def test_large_tours_are_short_permutations(count):
    """On either side of each bound: every run once, at most half as long again.

    The shortest tour through n uniform points in a square of area A is about
    0.7124 sqrt(n A) long (Beardwood, Halton & Hammersley 1959; constant from memory).
    """
    rng = np.random.default_rng(count)
    entries, exits = stays(rng.uniform(0.0, 3000.0, (count, 2)))
    order = short_tour(entries, exits, (0.0, 0.0))
    assert sorted(i for i, _ in order) == list(range(count))
    length = tour_length(entries, exits, order, HOME)
    assert length < 1.5 * 0.7124 * math.sqrt(count) * 3000.0


def test_no_run_no_tour():
    """An empty visit has an empty tour."""
    assert short_tour([], [], (0.0, 0.0)) == []
