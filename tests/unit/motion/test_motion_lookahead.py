"""The scans against plain loops, on ordinary and on hostile tables."""

from math import sqrt

import numpy as np
import pytest

from edgetime.motion import lookahead, scurve


def table(n, seed=0, *, stops=0.02):
    rng = np.random.default_rng(seed)
    vertex = np.where(rng.random(n + 1) < stops, 0.0, 10 ** rng.uniform(0, 2.5, n + 1))
    vertex[[0, -1]] = 0.0
    speed = 10 ** rng.uniform(0.5, 2.5, n)
    return vertex, speed, 10 ** rng.uniform(2, 3.5, n), 10 ** rng.uniform(-2, 2, n)


def plan_loop(vertex_speed, speed, acceleration, length):
    """Vertex speeds and times one after the other, as plainly as can be."""
    c, a, ll = speed.tolist(), acceleration.tolist(), length.tolist()
    n = len(ll)
    u = [v * v for v in vertex_speed.tolist()]
    for i in range(n):
        u[i] = min(u[i], c[i] * c[i])
        u[i + 1] = min(u[i + 1], c[i] * c[i])
    for i in range(n):
        u[i + 1] = min(u[i + 1], u[i] + 2.0 * a[i] * ll[i])
    for i in range(n - 1, -1, -1):
        u[i] = min(u[i], u[i + 1] + 2.0 * a[i] * ll[i])
    times = []
    for i in range(n):
        top = max(u[i], u[i + 1], min(c[i] * c[i], 0.5 * (u[i] + u[i + 1]) + a[i] * ll[i]))
        up, down = 0.5 * (top - u[i]) / a[i], 0.5 * (top - u[i + 1]) / a[i]
        peak = sqrt(top)
        mean_up, mean_down = 0.5 * (sqrt(u[i]) + peak), 0.5 * (sqrt(u[i + 1]) + peak)
        times.append(up / mean_up + down / mean_down + (ll[i] - up - down) / peak)
    return [sqrt(x) for x in u], times


def scanned(vertex, speed, acceleration, length):
    """Vertex squares by the doubling scan, whatever the size."""
    top = vertex.copy()
    top[1:] = np.minimum(top[1:], speed)
    top[:-1] = np.minimum(top[:-1], speed)
    rise = 2 * acceleration * length
    forward = lookahead.scan_forward(top**2, rise)
    return lookahead.scan_forward(forward[::-1], rise[::-1])[::-1]


@pytest.mark.parametrize("n", [1, 2, 3, 7, 64, 100, 101, 1000, 20000])
def test_planner_equals_the_plain_loop(n):
    """Times and vertex speeds of the arrays equal those of a plain loop to 1e-12."""
    data = table(n, seed=n)
    u = lookahead.vertex_squares(*data)
    times, peaks = lookahead.segment_times(u[:-1], u[1:], *data[1:])
    speeds, expected = plan_loop(*data)
    assert np.sqrt(u) == pytest.approx(speeds, rel=1e-12, abs=1e-12)
    assert times == pytest.approx(expected, rel=1e-12)
    assert (peaks <= data[1] * (1 + 1e-15)).all()
    assert scanned(*data) == pytest.approx(u, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("length", [1e-3, 1.0])
def test_one_long_ramp_needs_every_pass(length):
    """A table that only accelerates is right after all doublings: v² = 2 a s."""
    n = 5000
    rise = np.full(n, 2 * 100.0 * length)
    u = lookahead.scan_forward(np.concatenate([[0.0], np.full(n, 1e30)]), rise)
    assert u == pytest.approx(200.0 * length * np.arange(n + 1), rel=1e-12)


def test_a_huge_segment_before_tiny_ones_loses_no_digits():
    """Behind a segment of 1e9 mm, ramps over segments of 1e-6 mm agree with the loop."""
    n = 2000
    length = np.full(n, 1e-6)
    length[0] = 1e9
    vertex = np.full(n + 1, 1e3)
    vertex[[0, 1, -1]] = 0.0
    data = vertex, np.full(n, 200.0), np.full(n, 500.0), length
    u = lookahead.vertex_squares(*data)
    speeds, expected = plan_loop(*data)
    assert np.sqrt(u) == pytest.approx(speeds, rel=1e-12, abs=0)
    times, _ = lookahead.segment_times(u[:-1], u[1:], *data[1:])
    assert times == pytest.approx(expected, rel=1e-12, abs=0)


@pytest.mark.parametrize("free", [False, True], ids=["all limited", "some without limit"])
@pytest.mark.parametrize("n", [1, 2, 50, 150, 3000])
def test_jerk_scan_equals_the_plain_loop(n, free):
    """The frontier iteration and the loop find the same vertex speeds to 1e-12."""
    vertex, speed, acceleration, length = table(n, seed=n + 1)
    rng = np.random.default_rng(n)
    jerk = 10 ** rng.uniform(3, 5, n)
    if free:
        jerk[rng.random(n) < 0.3] = np.inf
    top = np.minimum(vertex, np.minimum(np.append(speed, np.inf), np.insert(speed, 0, np.inf)))
    loop = scurve.scan_loop(top, acceleration, jerk, length)
    assert scurve.scan_frontier(top, acceleration, jerk, length) == pytest.approx(
        loop, rel=1e-12, abs=1e-12
    )


def test_reach_rises_with_the_start_and_can_be_reached():
    """The planned end speed never falls with the start speed, and its ramp fits the length."""
    rng = np.random.default_rng(2)
    n = 3000
    a, j, length = (
        10 ** rng.uniform(2, 3.5, n),
        10 ** rng.uniform(3, 5, n),
        10 ** rng.uniform(-2, 3, n),
    )
    slow = rng.uniform(0, 100, n) * rng.integers(0, 2, n)
    fast = slow + rng.uniform(0, 10, n)
    low, high = scurve.reach(slow, a, j, length), scurve.reach(fast, a, j, length)
    assert (low <= high * (1 + 1e-12)).all()
    assert (low >= slow).all()
    assert (scurve.ramp_length(slow, low, a, j) <= length * (1 + 1e-9)).all()


def test_reach_is_exact_above_its_turning_point():
    """Where the reach rises by itself the ramp uses the whole length."""
    rng = np.random.default_rng(3)
    n = 2000
    a, j, length = (
        10 ** rng.uniform(2, 3.5, n),
        10 ** rng.uniform(3, 5, n),
        10 ** rng.uniform(-1, 3, n),
    )
    start = 0.5 * a * a / j + rng.uniform(0, 50, n)
    end = scurve.reach(start, a, j, length)
    rise = end - start
    lost = 1e-12 * end / rise  # digits lost in the difference of the speeds
    assert (np.abs(scurve.ramp_length(start, end, a, j) / length - 1) <= 1e-9 + lost).all()


def test_one_vertex_form_equals_the_array_form():
    """The scalar reach of the loop equals the array reach to 1e-13."""
    rng = np.random.default_rng(4)
    v0, a = rng.uniform(0, 50, 500) * rng.integers(0, 2, 500), 10 ** rng.uniform(2, 3.5, 500)
    j, length = 10 ** rng.uniform(3, 5, 500), 10 ** rng.uniform(-2, 3, 500)
    single = [scurve.reach_one(*map(float, row)) for row in zip(v0, a, j, length, strict=True)]
    assert scurve.reach(v0, a, j, length) == pytest.approx(single, rel=1e-13)


def test_infinite_jerk_is_the_trapezoid():
    """The S-curve planner with jerk off gives the times of the acceleration planner."""
    data = table(300, seed=9)
    free = np.full(300, np.inf)
    v = scurve.vertex_speeds(*data[:3], free, data[3])
    times, _ = scurve.segment_times(v[:-1], v[1:], *data[1:3], free, data[3])
    u = lookahead.vertex_squares(*data)
    expected, _ = lookahead.segment_times(u[:-1], u[1:], *data[1:])
    assert v == pytest.approx(np.sqrt(u), rel=1e-11, abs=1e-11)
    assert times == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("n", [0, 1, 2, 3, 7, 8, 33])
def test_window_sums_equal_plain_sums(n):
    """Windows of every width, also wider than the table, behind a huge value."""
    value = np.random.default_rng(n).uniform(0.0, 5.0, n)
    value[:1] = 1e12
    for width in range(1, 2 * n + 4):
        expected = [value[i : i + width].sum() for i in range(n)]
        assert lookahead.window_sums(value, width) == pytest.approx(expected, rel=1e-14)
