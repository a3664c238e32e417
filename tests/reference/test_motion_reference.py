"""Motion times against published profiles, closed forms and two independent programs.

B&M is L. Biagiotti, C. Melchiorri, *Trajectory Planning for Automatic Machines and Robots*,
Springer 2008, sections 3.2 (trapezoid) and 3.4 (double S). The formulas were seen; the numbers
of its examples are from memory and were recomputed from the formulas.
"""

from dataclasses import replace
from itertools import pairwise
from math import cos, inf, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
import toppra
import toppra.algorithm
import toppra.constraint
from ruckig import InputParameter, Ruckig, Trajectory

from edgetime.motion import MotionLimits, compute_motion, lookahead, scurve
from edgetime.motion.corners import blend_radius
from edgetime.motion.ramps import ramp_between
from edgetime.moves import Moves

FREE = MotionLimits(
    axis_speed_mm_per_s=(inf, inf, inf),
    axis_acceleration_mm_per_s2=(inf, inf, inf),
    path_acceleration_mm_per_s2=500.0,
)


def double_s(length, v0, v1, speed, a, j):
    """Time and peak of one segment by the S-curve planner."""
    args = [np.array([float(x)]) for x in (v0, v1, speed, a, j, length)]
    time, peak = scurve.segment_times(*args)
    return time[0], peak[0]


def trapezoid(length, v0, v1, speed, a):
    """Time of one segment by the acceleration planner."""
    args = [np.array([float(x)]) for x in (v0 * v0, v1 * v1, speed, a, length)]
    return lookahead.segment_times(*args)[0][0]


def ruckig_time(length, v0, v1, speed, a, j=None):
    """Time-optimal time of one axis between two speeds, by ruckig."""
    task = InputParameter(1)
    task.current_position, task.target_position = [0.0], [length]
    task.current_velocity, task.target_velocity = [v0], [v1]
    task.current_acceleration = task.target_acceleration = [0.0]
    task.max_velocity, task.max_acceleration = [speed], [a]
    if j is not None:
        task.max_jerk = [j]
    answer = Trajectory(1)
    Ruckig(1).calculate(task, answer)
    return answer.duration


@pytest.mark.parametrize(
    ("speed", "total", "peak"),
    [(5, 2.7100, 5.0), (10, 2.249380, 8.4136)],
    ids=["B&M example 3.9", "B&M example 3.10"],
)
def test_double_s_examples(speed, total, peak):
    """Distance 10, v0 = 1, v1 = 0, a = 10, j = 30: printed times and peak (from memory)."""
    time, top = double_s(10, 1, 0, speed, 10, 30)
    assert time == pytest.approx(total, abs=1e-6)
    assert top == pytest.approx(peak, abs=1e-4)


@pytest.mark.parametrize(
    ("peak", "up", "down", "cruise"),
    [(5.0, 0.7333, 0.8333, 1.1433), (8.4136, 1.0747, 1.1747, 0.0)],
    ids=["B&M example 3.9", "B&M example 3.10"],
)
def test_double_s_phases(peak, up, down, cruise):
    """The phases of the same examples: Ta, Td, Tv and Tj = 0.3333 s (from memory)."""
    ten, thirty = np.array([10.0]), np.array([30.0])
    rise = ramp_between(np.array([1.0]), np.array([peak]), ten, thirty)
    fall = ramp_between(np.array([0.0]), np.array([peak]), ten, thirty)
    assert rise.time[0] == pytest.approx(up, abs=6e-5)
    assert fall.time[0] == pytest.approx(down, abs=6e-5)
    assert rise.outer[0] == fall.outer[0] == pytest.approx(0.3333, abs=5e-5)
    rest = (10.0 - rise.length[0] - fall.length[0]) / peak
    assert rest == pytest.approx(cruise, abs=6e-5)


@pytest.mark.parametrize(("v0", "total"), [(7.0, 1.780446), (7.5, 1.754215)])
def test_double_s_where_the_book_falls_back(v0, total):
    """B&M examples 3.11 and 3.12: the time-optimal times are ruckig's, not the book's."""
    assert double_s(10, v0, 0, 10, 10, 30)[0] == pytest.approx(total, abs=1e-6)


@pytest.mark.parametrize(
    ("length", "v0", "v1", "speed", "a", "total"),
    [
        (30, 5, 2, 10, 16, 3.278125),
        (30, 5, 2, 20, 16, 2.357813),
        (10, 0, 0, 10, 20, 1.5),
        (10, 0, 0, 10, 10, 2.0),
        (0.01, 0, 0, 0.1, 0.5, 0.282842712),
    ],
)
def test_trapezoid_examples(length, v0, v1, speed, a, total):
    """B&M section 3.2, examples 3.5 and 3.6 type (from memory) and exact triangles."""
    assert trapezoid(length, v0, v1, speed, a) == pytest.approx(total, abs=6e-7)


@pytest.mark.parametrize(
    ("length", "speed", "a", "j", "total"),
    [
        (1000, 250, 1000, 1e4, 4.35),
        (50, 250, 1000, 1e4, 0.558257569),
        (10, 250, 1000, 1e4, 0.317480210),
        (100, 20, 1000, 1000, 5.282842712),
    ],
    ids=["v and a reached", "a reached", "neither", "v reached"],
)
def test_double_s_from_rest_to_rest(length, speed, a, j, total):
    """The four closed forms: h/v + v/a + a/j and its three degenerate cases."""
    limits = MotionLimits(
        axis_speed_mm_per_s=(speed,) * 3,
        axis_acceleration_mm_per_s2=(a,) * 3,
        axis_jerk_mm_per_s3=(j,) * 3,
    )
    times = compute_motion(Moves.simple([[0, 0], [length, 0]], feed=inf), limits)
    assert times.total_s == pytest.approx(total, abs=6e-10)


def test_look_ahead_over_three_blocks():
    """Feeds 200, 50, 200 mm/s over 100 mm each at 500 mm/s²: 0.8125 + 2 + 0.8125 s, exact."""
    table = Moves.simple([[0, 0], [100, 0], [200, 0], [300, 0]], feed=[200.0, 50.0, 200.0])
    times = compute_motion(table, FREE)
    assert times.seconds == pytest.approx([0.8125, 2.0, 0.8125], rel=1e-15)


def test_look_ahead_with_jerk():
    """The same with 5000 mm/s³: the first block takes 0.5 + 0.4 s over exactly 100 mm."""
    table = Moves.simple([[0, 0], [100, 0], [200, 0], [300, 0]], feed=[200.0, 50.0, 200.0])
    limits = replace(
        FREE, axis_acceleration_mm_per_s2=(500.0,) * 3, axis_jerk_mm_per_s3=(5000.0,) * 3
    )
    assert compute_motion(table, limits).seconds == pytest.approx([0.9, 2.0, 0.9], rel=1e-12)


@pytest.mark.parametrize(("interior", "speed"), [(90, 15.5377), (120, 25.4246), (150, 53.2426)])
def test_corner_blend_by_a_tangent_arc(interior, speed):
    """0.1 mm, 1000 mm/s²: R = d sin(t/2)/(1 - sin(t/2)), v = sqrt(aR) (plane geometry)."""
    turn = pi - radians(interior)
    points = [[0, 0], [100, 0], [100 + 100 * cos(turn), 100 * sin(turn)]]
    limits = replace(
        FREE,
        path_mode="continuous",
        corner_tolerance_mm=0.1,
        centripetal_acceleration_mm_per_s2=1000.0,
    )
    times = compute_motion(Moves.simple(points, feed=300.0), limits)
    assert times.exit_speed[0] == pytest.approx(speed, abs=5e-5)
    assert times.entry_speed[1] == times.exit_speed[0]


@pytest.mark.parametrize(
    ("interior", "radius", "saving"),
    [(90, 0.241421, 0.103619), (120, 0.646410, 0.069491), (150, 2.834774, 0.034867)],
)
def test_blend_radius_and_what_it_saves(interior, radius, saving):
    """0.1 mm from corner to arc: its radius, and 2R cot(t/2) - R(pi - t) of path (geometry)."""
    t = radians(interior)
    found = blend_radius(np.array([pi - t]), tolerance=0.1, room=np.array([50.0]))[0]
    assert found == pytest.approx(radius, abs=5e-7)
    assert 2 * found / tan(t / 2) - found * (pi - t) == pytest.approx(saving, abs=5e-7)


def test_arc_speed():
    """sqrt(a R) with R = 100 mm and a = 500 mm/s²: 223.606798 mm/s."""
    half = Moves.simple([[100, 0], [-100, 0]], feed=inf, bulge=1.0)
    limits = replace(
        FREE,
        axis_speed_mm_per_s=(1e4, 1e4, 1e4),
        path_acceleration_mm_per_s2=1e5,
        centripetal_acceleration_mm_per_s2=500.0,
    )
    assert compute_motion(half, limits).peak_speed[0] == pytest.approx(223.606798, abs=5e-7)


@pytest.mark.parametrize("jerk", [False, True], ids=["trapezoid", "double S"])
def test_one_axis_against_ruckig(jerk):
    """1500 random segments with non-zero end speeds agree with ruckig to 1e-9."""
    rng = np.random.default_rng(20)
    n = 1500
    length, a = 10 ** rng.uniform(-2, 3, n), 10 ** rng.uniform(2, 3.5, n)
    j = 10 ** rng.uniform(3, 5, n) if jerk else np.full(n, np.inf)
    speed = 10 ** rng.uniform(0, 2.6, n)
    v0 = speed * rng.uniform(0, 1, n) * (rng.random(n) < 0.8)
    # 1e-6 below what can be reached: at the very edge ruckig may take a detour back.
    v1 = v0 + (np.minimum(speed, scurve.reach(v0, a, j, length)) - v0) * np.minimum(
        rng.uniform(0, 1.3, n), 1 - 1e-6
    )
    swap = rng.random(n) < 0.5
    v0, v1 = np.where(swap, v1, v0), np.where(swap, v0, v1)
    if jerk:
        times, _ = scurve.segment_times(v0, v1, speed, a, j, length)
    else:
        times, _ = lookahead.segment_times(v0 * v0, v1 * v1, speed, a, length)
    rows = np.column_stack([length, v0, v1, speed, a] + ([j] if jerk else []))
    expected = [ruckig_time(*map(float, row)) for row in rows]
    assert times == pytest.approx(expected, rel=1e-9)


def toppra_time(edges, caps, vertex_caps, a, cells):
    """Time along an arc-length path with speed caps a segment, by toppra."""
    grid = np.unique(np.concatenate([np.linspace(s, e, cells + 1) for s, e in pairwise(edges)]))

    def speed_limit(s):
        k = int(np.argmin(np.abs(edges - s)))
        if abs(edges[k] - s) < 1e-9:
            return np.array([[-vertex_caps[k], vertex_caps[k]]])
        v = caps[int(np.searchsorted(edges, s)) - 1]
        return np.array([[-v, v]])

    path = toppra.SplineInterpolator(
        [0.0, edges[-1]], np.array([[0.0], [edges[-1]]]), bc_type="natural"
    )
    speeds = toppra.constraint.JointVelocityConstraintVarying(speed_limit)
    speeds.set_discretization_type(0)
    forces = toppra.constraint.JointAccelerationConstraint(
        np.array([[-a, a]]),
        discretization_scheme=toppra.constraint.DiscretizationType.Collocation,
    )
    solver = toppra.algorithm.TOPPRA(
        [speeds, forces], path, gridpoints=grid, parametrizer="ParametrizeConstAccel"
    )
    return float(solver.compute_trajectory(0, 0).duration)


def test_a_path_of_lines_arcs_and_corners_against_toppra():
    """Same path, caps from the handbook formulas: within 0.5 % at 60 cells a segment."""
    a, across, tolerance = 800.0, 900.0, 0.1
    quarter = tan(pi / 8)
    points = [[0, 0], [100, 0], [120, 20], [120, 80], [200, 80], [206, 74], [206, 20]]
    bulge = [0.0, quarter, 0.0, 0.0, -quarter, 0.0]
    feed = [150.0, 150.0, 150.0, 90.0, 150.0, 300.0]
    limits = MotionLimits(
        axis_speed_mm_per_s=(inf,) * 3,
        axis_acceleration_mm_per_s2=(inf,) * 3,
        path_acceleration_mm_per_s2=a,
        centripetal_acceleration_mm_per_s2=across,
        path_mode="continuous",
        corner_tolerance_mm=tolerance,
    )
    ours = compute_motion(Moves.simple(points, feed=feed, bulge=bulge), limits)
    # The blend of the right angle takes its radius off either side.
    blend = tolerance * sqrt(0.5) / (1 - sqrt(0.5))
    lengths = [100, 10 * pi, 60 - blend, blend * pi / 2, 80 - blend, 3 * pi, 54]
    corner = sqrt(across * blend)
    caps = [150, min(150, sqrt(across * 20)), 150, corner, 90, sqrt(across * 6), 300]
    vertex = [1e-9, caps[1], caps[1], corner, corner, caps[5], caps[5], 1e-9]
    edges = np.concatenate([[0.0], np.cumsum(lengths)])
    reference = toppra_time(edges, caps, vertex, a, 60)
    assert ours.total_s == pytest.approx(reference, rel=5e-3)


def test_one_oblique_line_against_toppra_by_axes():
    """One straight line in space under axis limits: toppra with three joints, 200 cells."""
    end = np.array([240.0, -100.0, 60.0])
    speed, force = np.array([300.0, 200.0, 60.0]), np.array([900.0, 700.0, 150.0])
    path = toppra.SplineInterpolator([0.0, 1.0], np.vstack([np.zeros(3), end]), bc_type="natural")
    solver = toppra.algorithm.TOPPRA(
        [
            toppra.constraint.JointVelocityConstraint(np.column_stack([-speed, speed])),
            toppra.constraint.JointAccelerationConstraint(
                np.column_stack([-force, force]),
                discretization_scheme=toppra.constraint.DiscretizationType.Collocation,
            ),
        ],
        path,
        gridpoints=np.linspace(0, 1, 201),
        parametrizer="ParametrizeConstAccel",
    )
    reference = solver.compute_trajectory(0, 0).duration
    limits = MotionLimits(axis_speed_mm_per_s=speed, axis_acceleration_mm_per_s2=force)
    ours = compute_motion(Moves.simple([[0, 0, 0], end], feed=inf), limits)
    assert ours.total_s == pytest.approx(reference, rel=5e-3)
