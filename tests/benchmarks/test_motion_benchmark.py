"""Speed of the motion planner, as ratios of timings taken in one run.

The ratios stand in the report under ``extra_info``; the asserts are about half of what was
measured, so that a busy machine does not fail them.
"""

# ruff: noqa: PLR1730 (the plain loop is written for speed, min() would halve it)
import time
from itertools import pairwise
from math import sqrt

import numpy as np
import pytest
import toppra
import toppra.algorithm
import toppra.constraint
from ruckig import InputParameter, Ruckig, Trajectory

from edgetime.motion import MotionLimits, compute_motion, lookahead, scurve
from edgetime.moves import Moves


def best_of(rounds, *functions):
    """Least time of each function over interleaved rounds [s]."""
    best = [float("inf")] * len(functions)
    for _ in range(rounds):
        for k, function in enumerate(functions):
            start = time.perf_counter()
            function()
            best[k] = min(best[k], time.perf_counter() - start)
    return best


def segments(n, seed=0, *, stops=0.0):
    """Random caps and lengths, 5 % of the segments next to nothing."""
    rng = np.random.default_rng(seed)
    vertex = np.where(rng.random(n + 1) < stops, 0.0, rng.uniform(5, 150, n + 1))
    vertex[[0, -1]] = 0.0
    length = np.where(rng.random(n) < 0.05, 1e-6, rng.uniform(0.5, 16, n))
    return vertex, rng.uniform(30, 150, n), np.full(n, 1500.0), length


def plan_loop(vertex_speed, speed, acceleration, length):
    """Vertex speeds and times by plain loops, written for speed: no call that is not needed."""
    c, a, ll = (speed * speed).tolist(), acceleration.tolist(), length.tolist()
    n = len(ll)
    u = (vertex_speed * vertex_speed).tolist()
    for i in range(n):
        if c[i] < u[i]:
            u[i] = c[i]
        if c[i] < u[i + 1]:
            u[i + 1] = c[i]
    for i in range(n):
        x = u[i] + 2.0 * a[i] * ll[i]
        if x < u[i + 1]:
            u[i + 1] = x
    for i in range(n - 1, -1, -1):
        x = u[i + 1] + 2.0 * a[i] * ll[i]
        if x < u[i]:
            u[i] = x
    times = [0.0] * n
    for i in range(n):
        u0, u1 = u[i], u[i + 1]
        top = 0.5 * (u0 + u1) + a[i] * ll[i]
        if c[i] < top:
            top = c[i]
        peak = sqrt(top)
        cruise = ll[i] - (top - 0.5 * (u0 + u1)) / a[i]
        times[i] = (2.0 * peak - sqrt(u0) - sqrt(u1)) / a[i]
        if cruise > 0.0:
            times[i] += cruise / peak
    return u, times


def planned(vertex, speed, acceleration, length):
    u = lookahead.vertex_squares(vertex, speed, acceleration, length)
    return lookahead.segment_times(u[:-1], u[1:], speed, acceleration, length)[0]


@pytest.mark.parametrize(("n", "least"), [(100, 1.0), (1000, 3.0), (10000, 6.0), (100000, 6.0)])
def test_planner_against_a_plain_loop(benchmark, n, least):
    """The array planner is ten and more times faster than a plain loop from 1e4 rows."""
    data = segments(n, seed=n)
    benchmark(planned, *data)
    fast, slow = best_of(5, lambda: planned(*data), lambda: plan_loop(*data))
    error = np.abs(planned(*data).sum() / sum(plan_loop(*data)[1]) - 1.0)
    benchmark.extra_info.update(times_faster_than_loop=slow / fast, relative_error=error)
    assert error <= 1e-12
    assert slow / fast >= least


def toppra_solver(vertex, speed, acceleration, length):
    """Build a toppra problem with the same caps and one grid cell a segment."""
    edges = np.concatenate([[0.0], np.cumsum(length)])
    top = np.minimum(np.append(speed, np.inf), np.insert(speed, 0, np.inf))
    top = np.maximum(np.minimum(vertex, top), 1e-9)
    path = toppra.SplineInterpolator(
        [0.0, edges[-1]], np.array([[0.0], [edges[-1]]]), bc_type="natural"
    )
    speeds = toppra.constraint.JointVelocityConstraintVarying(
        lambda s: np.array([[-1.0, 1.0]]) * top[int(np.argmin(np.abs(edges - s)))]
    )
    speeds.set_discretization_type(0)
    forces = toppra.constraint.JointAccelerationConstraint(
        np.array([[-acceleration[0], acceleration[0]]]),
        discretization_scheme=toppra.constraint.DiscretizationType.Collocation,
    )
    return toppra.algorithm.TOPPRA(
        [speeds, forces], path, gridpoints=edges, parametrizer="ParametrizeConstAccel"
    )


@pytest.mark.parametrize(("n", "least"), [(100, 20.0), (1000, 100.0)])
def test_planner_against_toppra(benchmark, n, least):
    """On toppra's coarsest grid, solving only, the planner is faster by 40 and by 200 times."""
    vertex, speed, acceleration, length = segments(n, seed=3)
    data = vertex, speed, acceleration, np.maximum(length, 0.5)
    solver = toppra_solver(*data)
    benchmark(planned, *data)
    fast, slow = best_of(
        3, lambda: planned(*data), lambda: solver.compute_parameterization(0.0, 0.0)
    )
    _, speeds, _ = solver.compute_parameterization(0.0, 0.0)
    gap = np.abs(speeds - np.sqrt(lookahead.vertex_squares(*data))).max()
    benchmark.extra_info.update(times_faster_than_toppra=slow / fast, speed_gap_mm_per_s=gap)
    assert gap <= 1e-5
    assert slow / fast >= least


def test_batch_against_one_path_at_a_time(benchmark):
    """A thousand paths of twenty segments: one scan against one array scan a path."""
    paths = [segments(20, seed=k) for k in range(1000)]
    vertex = np.concatenate([[0.0], *(p[0][1:] for p in paths)])
    whole = vertex, *(np.concatenate([p[i] for p in paths]) for i in (1, 2, 3))

    def scans(data):
        top, rise = data[0].copy(), 2.0 * data[2] * data[3]
        np.minimum(top[1:], data[1], out=top[1:])
        np.minimum(top[:-1], data[1], out=top[:-1])
        u = lookahead.scan_forward(top * top, rise)
        u = lookahead.scan_forward(u[::-1], rise[::-1])[::-1]
        return lookahead.segment_times(u[:-1], u[1:], *data[1:])[0]

    benchmark(planned, *whole)
    batch, single, loops = best_of(
        3,
        lambda: planned(*whole),
        lambda: [scans(p) for p in paths],
        lambda: [plan_loop(*p) for p in paths],
    )
    alone = np.concatenate([scans(p) for p in paths])
    benchmark.extra_info.update(
        times_faster_than_one_scan_a_path=single / batch, times_faster_than_loops=loops / batch
    )
    assert planned(*whole) == pytest.approx(alone, rel=1e-12)
    assert single / batch >= 5.0


def planned_with_jerk(vertex, speed, acceleration, length, jerk):
    v = scurve.vertex_speeds(vertex, speed, acceleration, jerk, length)
    return scurve.segment_times(v[:-1], v[1:], speed, acceleration, jerk, length)[0], v


def test_jerk_against_ruckig_and_the_trapezoid(benchmark):
    """With jerk: within 1e-9 of ruckig, five times its speed, at most 35 trapezoid plans."""
    n = 5000
    data = segments(n, seed=8, stops=0.01)
    jerk = np.full(n, 20000.0)
    times, v = benchmark(planned_with_jerk, *data, jerk)
    # Ends at the very edge of what can be reached are left out: there rounding may make
    # ruckig take a detour back.
    v0, v1, speed = v[:-1], v[1:], data[1]
    inside = scurve.ramp_length(v0, v1, data[2], jerk) < data[3] * (1 - 1e-6)
    rows = np.column_stack([data[3], v0, v1, speed])[inside].tolist()
    task, solver, answer = InputParameter(1), Ruckig(1), Trajectory(1)
    task.max_acceleration, task.max_jerk = [1500.0], [2e4]

    def ruckig_all():
        out = []
        for length, start, end, top in rows:
            task.target_position, task.max_velocity = [length], [top]
            task.current_velocity, task.target_velocity = [start], [end]
            solver.calculate(task, answer)
            out.append(answer.duration)
        return np.array(out)

    segments_alone, with_jerk, without, by_ruckig = best_of(
        5,
        lambda: scurve.segment_times(v0, v1, speed, data[2], jerk, data[3]),
        lambda: planned_with_jerk(*data, jerk),
        lambda: planned(*data),
        ruckig_all,
    )
    error = np.abs(times[inside] / ruckig_all() - 1.0).max()
    ratio = by_ruckig / len(rows) / (segments_alone / n)
    benchmark.extra_info.update(
        times_faster_than_ruckig=ratio,
        compared=len(rows),
        relative_error=error,
        times_slower_than_trapezoid=with_jerk / without,
    )
    assert error <= 1e-9
    assert ratio >= 2.5
    assert with_jerk / without <= 70.0


@pytest.mark.parametrize("jerk", [np.inf, 20000.0], ids=["plain", "jerk"])
def test_growth_is_linear(benchmark, jerk):
    """From 1e4 to 1e6 rows the whole stage costs about the same a row."""
    limits = MotionLimits(
        axis_speed_mm_per_s=(500.0,) * 3,
        axis_acceleration_mm_per_s2=(1500.0,) * 3,
        axis_jerk_mm_per_s3=(jerk,) * 3,
        centripetal_acceleration_mm_per_s2=500.0,
        path_mode="continuous",
        corner_tolerance_mm=0.1,
    )
    rng = np.random.default_rng(3)

    def table(n):
        heading, step = np.cumsum(rng.normal(0, 0.2, n)), 10 ** rng.uniform(-1, 2, n)
        walk = np.cumsum(
            np.column_stack([np.cos(heading), np.sin(heading)]) * step[:, None], axis=0
        )
        bulge = np.where(rng.random(n) < 0.3, rng.uniform(-0.4, 0.4, n), 0.0)
        return Moves.simple(
            np.vstack([[0.0, 0.0], walk]), feed=rng.choice([50.0, 100.0], n), bulge=bulge
        )

    sizes = [10**4, 10**5, 10**6]
    tables = [table(n) for n in sizes]
    benchmark(compute_motion, tables[0], limits)
    each = [
        best_of(2, lambda moves=moves: compute_motion(moves, limits))[0] / len(moves)
        for moves in tables
    ]
    benchmark.extra_info["microseconds_a_row"] = {
        str(n): t * 1e6 for n, t in zip(sizes, each, strict=True)
    }
    for smaller, larger in pairwise(each):
        assert larger <= 2.5 * smaller
