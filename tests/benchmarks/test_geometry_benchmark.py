"""Speed of the planar geometry, as ratios of two timings in one run."""

import math
from time import perf_counter

import numpy as np
import pytest
import shapely

from edgetime.geometry import Path, is_simple, nest_loops, offset_path, parallel_lengths

QUARTER = math.sqrt(2.0) - 1.0
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


def worktops(count):
    """Return rectangles with four rounded corners and their radii."""
    out = []
    for k in range(count):
        w, h, r = 600.0 + k, 500.0, 20.0 + k % 7
        points = [
            (r, 0), (w - r, 0), (w, r), (w, h - r), (w - r, h), (r, h), (0, h - r), (0, r),
        ]  # fmt: skip
        out.append((Path.from_bulges(points, [0, QUARTER] * 4, closed=True), w, h, r))
    return out


def comb(n):
    """Return a closed comb of n vertices, with concave corners all along."""
    x = np.repeat(np.arange(n // 2), 2) * 30.0
    y = np.where(np.arange(n) % 4 < 2, 0.0, 100.0)
    ring = np.vstack([np.column_stack([x, y]), [(x[-1], 500.0), (0.0, 500.0)]])
    return Path.from_bulges(ring, closed=True)


def test_parallel_lengths_against_buffer(benchmark):
    """Lengths of a thousand parallels are at least 100 times as fast as buffers, and exact."""
    made = worktops(1000)
    paths = [m[0] for m in made]
    d = 50.0
    quarter = np.linspace(0, math.pi / 2, QUADRANT + 1)

    def rounded(w, h, r):
        corners = [(w - r, r, -1), (w - r, h - r, 0), (r, h - r, 1), (r, r, 2)]
        return shapely.Polygon(
            np.vstack(
                [
                    np.column_stack(
                        [
                            x + r * np.cos(quarter + q * math.pi / 2),
                            y + r * np.sin(quarter + q * math.pi / 2),
                        ]
                    )
                    for x, y, q in corners
                ]
            )
        )

    polygons = np.array([rounded(*m[1:]) for m in made[:50]])
    lengths = benchmark(lambda: parallel_lengths(paths, d))
    ours = best_of(9, lambda: parallel_lengths(paths, d)) / len(paths)
    theirs = best_of(
        3, lambda: shapely.length(shapely.buffer(polygons, d, quad_segs=QUADRANT))
    ) / len(polygons)
    exact = np.array([2 * (w + h) - 8 * r + 2 * math.pi * (r + d) for _, w, h, r in made])
    error = float(np.abs(lengths / exact - 1).max())
    benchmark.extra_info.update(ratio_to_buffer=theirs / ours, relative_error=error)
    assert error <= 1e-12
    assert theirs / ours >= 100


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


def test_nesting_grows_no_faster_than_linearly(benchmark):
    """Ten times the loops, ten thousand, take less than forty times as long to nest."""
    loops = []
    for k in range(5000):
        x, y = (k % 70) * 100.0, (k // 70) * 100.0
        ring = [(x, y), (x + 90, y), (x + 90, y + 90), (x, y + 90)]
        loops.append(Path.from_bulges(ring, closed=True))
        loops.append(Path.from_bulges([(x + 20, y + 45), (x + 60, y + 45)], [1, 1], closed=True))
    parent = benchmark.pedantic(lambda: nest_loops(loops), rounds=2, iterations=1)
    growth = best_of(3, lambda: nest_loops(loops)) / best_of(3, lambda: nest_loops(loops[:1000]))
    benchmark.extra_info.update(growth_for_tenfold=growth)
    assert (parent[1::2] == np.arange(0, 10000, 2)).all()
    assert (parent[::2] == -1).all()
    assert growth < 40
