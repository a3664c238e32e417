"""Speed of the planar geometry, as ratios of two timings in one run."""

from time import perf_counter

import numpy as np
import pytest
import shapely

from edgetime.geometry.measure import is_simple
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path

QUADRANT = 64
"""Chords a quarter circle: the least that keeps shapely's arcs within 1e-4."""


def best_of(rounds, call):
    """Return the least time of several calls [s]."""
    times = []
    for _ in range(rounds):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return min(times)


def comb(n):
    """Return a closed comb of n vertices, with concave corners all along."""
    x = np.repeat(np.arange(n // 2), 2) * 30.0
    y = np.where(np.arange(n) % 4 < 2, 0.0, 100.0)
    ring = np.vstack([np.column_stack([x, y]), [(x[-1], 500.0), (0.0, 500.0)]])
    return Path.from_bulges(ring, closed=True)


@pytest.mark.parametrize("n", [100, 1000, 10000])
def test_offset_of_a_comb(benchmark, n):
    """Offsets with corners trimmed everywhere grow about linearly, and beside a buffer."""
    path = comb(n)
    polygon = shapely.Polygon(path.points)
    found = benchmark.pedantic(lambda: offset_path(path, 7.0), rounds=2, iterations=1)
    ours = best_of(2, lambda: offset_path(path, 7.0))
    theirs = best_of(2, lambda: polygon.buffer(7.0, quad_segs=QUADRANT))
    benchmark.extra_info.update(ratio_to_buffer=theirs / ours, seconds_per_segment=ours / n)
    assert len(found.chains) == 1
    expected = polygon.buffer(7.0, quad_segs=QUADRANT).length
    assert found.length_mm == pytest.approx(expected, rel=1e-4)


def test_crossings_grow_no_faster_than_linearly(benchmark):
    """Ten times the segments take less than forty times as long to check for crossings."""
    small, large = comb(1000), comb(10000)
    is_simple(large)
    benchmark.pedantic(lambda: is_simple(large), rounds=2, iterations=1)
    growth = best_of(3, lambda: is_simple(large)) / best_of(3, lambda: is_simple(small))
    benchmark.extra_info.update(growth_for_tenfold=growth)
    assert growth < 40
