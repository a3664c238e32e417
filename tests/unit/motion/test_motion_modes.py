"""The three path modes, blends that take time, and the habits of controllers."""

from dataclasses import replace
from math import cos, inf, pi, sin, sqrt, tan

import numpy as np
import pytest

from edgetime.motion import MotionLimits, compute_motion
from edgetime.moves import Moves

A = 500.0
QUARTER = tan(pi / 8)
PLAIN = MotionLimits(
    axis_speed_mm_per_s=(1000.0, 800.0, 200.0), axis_acceleration_mm_per_s2=(A, A, A)
)
JERKY = replace(PLAIN, axis_jerk_mm_per_s3=(5000.0, 5000.0, 5000.0))
SMOOTH = replace(
    PLAIN,
    path_mode="continuous",
    corner_tolerance_mm=0.1,
    arc_shares=(0.5, 0.8),
)
ANGLE = [[0, 0], [100, 0], [100, 100]]
RADIUS = 0.1 * sqrt(0.5) / (1 - sqrt(0.5))
CORNER = sqrt(0.8 * A * RADIUS)


def trapezoid(length, speed, a=A):
    """Rest to rest: h/v + v/a, or the triangle 2 sqrt(h/a)."""
    return length / speed + speed / a if length * a >= speed**2 else 2 * sqrt(length / a)


def line(*xs, **more):
    return Moves.simple([[x, 0.0, 0.0] for x in xs], **more)


def slowing(length, speed, end, up=A, down=None):
    """From rest to a speed, and down to another at the end: its time."""
    down = down or up
    rise, fall = speed**2 / (2 * up), (speed**2 - end**2) / (2 * down)
    return speed / up + (speed - end) / down + (length - rise - fall) / speed


@pytest.mark.parametrize("limits", [PLAIN, JERKY], ids=["plain", "jerk"])
def test_exact_stop_stands_after_every_move(limits):
    """Three pieces of one line, and two of one arc, are each run from rest to rest."""
    stop = replace(limits, path_mode="exact-stop")
    each = compute_motion(line(0, 100, feed=200.0), limits).seconds[0]
    times = compute_motion(line(0, 100, 200, 300, feed=200.0), stop)
    assert times.seconds == pytest.approx([each] * 3, rel=1e-14)
    arcs = compute_motion(Moves.simple([[50, 0], [0, 50], [-50, 0]], feed=60, bulge=QUARTER), stop)
    assert (arcs.exit_speed == 0.0).all()


def test_exact_path_runs_through_tangent_joins_and_stops_in_corners():
    """G61: a line runs on into an arc, a right angle is a rest."""
    times = compute_motion(Moves.simple(ANGLE, feed=200.0), PLAIN)
    assert times.seconds == pytest.approx([0.9, 0.9], rel=1e-14)
    tangent = Moves.simple([[0, 0], [100, 0], [200, 100]], feed=100.0, bulge=[0.0, QUARTER])
    assert compute_motion(tangent, PLAIN).exit_speed[0] == pytest.approx(100.0)


def test_a_blend_takes_its_time():
    """Two lines of 100 mm at a right angle: each loses R, the arc R π/2 runs at sqrt(0.8 A R)."""
    times = compute_motion(Moves.simple(ANGLE, feed=150.0), SMOOTH)
    arc = RADIUS * pi / 2 / CORNER
    side = slowing(100.0 - RADIUS, 150.0, CORNER)
    assert times.total_s == pytest.approx(2 * side + arc, rel=1e-12)
    assert times.seconds == pytest.approx([side + arc / 2] * 2, rel=1e-12)
    assert times.rounded_mm == pytest.approx([RADIUS * (1 - pi / 4)] * 2, rel=1e-12)
    assert times.exit_speed[0] == pytest.approx(CORNER, rel=1e-12)


def test_place_runs_on_through_a_blend():
    """Sampled places go from 0 to the programmed length on each side of a blend."""
    times = compute_motion(Moves.simple(ANGLE, feed=150.0), replace(SMOOTH, corner_tolerance_mm=9))
    for row in range(2):
        profile = times.profile(row, points=500)
        assert profile.place[[0, -1]] == pytest.approx([0.0, 100.0], abs=1e-9)
        assert (np.diff(profile.place) >= 0.0).all()
    middle = times.sample([times.seconds[0]])
    assert middle.row[0] == 1
    assert middle.place[0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("share", "cut"), [(0.5, 5.0), (0.2, 2.0)])
def test_a_blend_takes_no_more_than_its_share_of_a_move(share, cut):
    """With more tolerance than room, a right angle of 10 mm sides is cut by the share of them."""
    limits = replace(SMOOTH, corner_tolerance_mm=5.0, blend_share=share)
    times = compute_motion(Moves.simple([[0, 0], [10, 0], [10, 10]], feed=20.0), limits)
    assert times.rounded_mm.sum() == pytest.approx(2 * cut - cut * pi / 2, rel=1e-12)


def test_a_circle_of_chords_runs_as_the_circle():
    """In chords of 0.5 mm, blended, a circle keeps sqrt(0.8 A R) instead of stopping.

    The blends meet in the middle of the chords; only half a chord is left at either end, which
    has all of A, and the arcs half of it.
    """
    radius, n = 60.0, 754
    angle = np.linspace(0.0, 2 * pi, n + 1)
    turn, chord = angle[1], 2 * radius * sin(angle[1] / 2)
    points = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    times = compute_motion(Moves.simple(points, feed=400.0), SMOOTH)
    blend = chord / 2 / tan(turn / 2)
    start = A / cos(turn / 2)  # the first chord lies that little off Y
    top, first = sqrt(0.8 * A * blend), sqrt(start * chord)
    run = (n - 1) * blend * turn - (top**2 - first**2) / (0.5 * A)
    ramps = 2 * first / start + 2 * (top - first) / (0.5 * A)
    assert times.peak_speed.max() == pytest.approx(top, rel=1e-9)
    assert times.total_s == pytest.approx(ramps + run / top, rel=1e-9)


@pytest.mark.parametrize("feeds", [[inf, 50.0], [50.0, inf]])
def test_feed_and_rapid_do_not_run_into_each_other(feeds):
    """In line, a rapid and a feed are two runs from rest to rest, unless the machine says so."""
    table = line(0, 200, 400, feed=feeds)
    each = [trapezoid(200, min(feed, 1000.0)) for feed in feeds]
    assert compute_motion(table, PLAIN).seconds == pytest.approx(each, rel=1e-14)
    through = compute_motion(table, replace(PLAIN, stop_at_rapids=False))
    assert through.exit_speed[0] == pytest.approx(50.0)
    assert through.total_s < sum(each) - 0.05


def test_a_row_without_length_does_not_part_two_rapids():
    """Only rows that move count: a rapid, a row without length at a feed, a rapid."""
    table = line(0, 100, 100, 200, feed=[inf, 50.0, inf])
    assert compute_motion(table, PLAIN).total_s == pytest.approx(trapezoid(200, 1000), rel=1e-14)


@pytest.mark.parametrize("ahead", [1, 7, 40])
def test_look_ahead_of_so_many_moves(ahead):
    """On pieces of 0.5 mm in line, v² ≤ 2 a n L at each join; the end is a plain slowing."""
    length, n = 0.5, 400
    table = line(*(length * np.arange(n + 1)), feed=900.0)
    times = compute_motion(table, replace(PLAIN, look_ahead_moves=ahead))
    bound = sqrt(2 * A * ahead * length)
    assert times.exit_speed[n // 2] == pytest.approx(bound, rel=1e-12)
    left = np.arange(ahead)
    assert times.exit_speed[n - 1 - left] == pytest.approx(np.sqrt(2 * A * left * length))
    assert times.peak_speed.max() == pytest.approx(sqrt(bound**2 + A * length), rel=1e-12)


def test_look_ahead_on_chords_of_a_curve():
    """Blended chords with half the acceleration along: v = sqrt(A n L)."""
    n, ahead, radius = 1200, 20, 400.0
    angle = 0.5 / radius * np.arange(n + 1)
    points = radius * np.column_stack([np.sin(angle), 1 - np.cos(angle)])
    limits = replace(SMOOTH, look_ahead_moves=ahead)
    times = compute_motion(Moves.simple(points, feed=400.0), limits)
    assert times.exit_speed[n // 2] == pytest.approx(sqrt(A * ahead * 0.5), rel=1e-3)


def test_more_look_ahead_than_moves_changes_nothing():
    """With all moves known the plan is the unlimited one."""
    rng = np.random.default_rng(5)
    table = Moves.simple(np.cumsum(rng.uniform(-5, 5, (80, 2)), axis=0), feed=80.0)
    free = compute_motion(table, SMOOTH).seconds
    assert compute_motion(table, replace(SMOOTH, look_ahead_moves=80)).seconds == pytest.approx(
        free, rel=1e-12
    )


def test_share_beside_a_stopped_corner():
    """At 0.9 A both sides of a stopped corner are trapezoids of 0.9 A; a line alone is not."""
    shy = replace(PLAIN, corner_share=0.9)
    times = compute_motion(Moves.simple(ANGLE, feed=150.0), shy)
    assert times.seconds == pytest.approx([trapezoid(100, 150, 0.9 * A)] * 2, rel=1e-12)
    alone = compute_motion(line(0, 100, feed=150.0), shy)
    assert alone.total_s == pytest.approx(trapezoid(100, 150), rel=1e-12)


@pytest.mark.parametrize("end", ["table", "dwell", "tool"])
def test_share_on_the_last_move(end):
    """Half of A on the last line before the end, a dwell, or another tool; all of it before."""
    limits = replace(SMOOTH, last_move_share=0.5)
    table = Moves.simple(ANGLE, feed=150.0)
    more = Moves.simple([[100, 100], [100, 150]], feed=50.0, exact_stop=[True])
    if end == "dwell":
        table = replace(table, dwell=np.array([0.0, 1.0]))
        table = Moves.stack([table, more])
    elif end == "tool":
        table = replace(table, exact_stop=np.array([False, True]))
        table = Moves.stack([table, replace(more, visit=np.array([1]))])
    times = compute_motion(table, limits)
    half = RADIUS * pi / 4 / CORNER
    rise = (150.0**2 - CORNER**2) / A
    last = (150.0 - CORNER) / (0.5 * A) + 150.0 / (0.5 * A)
    last += (100.0 - RADIUS - rise - 150.0**2 / A) / 150.0
    assert times.seconds[0] == pytest.approx(slowing(100.0 - RADIUS, 150.0, CORNER) + half)
    assert times.seconds[1] == pytest.approx(last + half, rel=1e-12)
    assert compute_motion(table, replace(limits, path_mode="exact-path")).seconds[
        :2
    ] == pytest.approx([trapezoid(100, 150)] * 2)


def test_arc_shares_slow_the_start_of_an_arc():
    """A half circle from rest with half the acceleration along: h/v + v/(A/2)."""
    limits = replace(PLAIN, arc_shares=(0.5, 0.866))
    times = compute_motion(Moves.simple([[0, 0], [0, 200]], feed=60.0, bulge=1.0), limits)
    assert times.total_s == pytest.approx(100 * pi / 60.0 + 60.0 / (0.5 * A), rel=1e-12)


def test_a_turn_back_is_a_stop_in_continuous_mode():
    """A path that turns back on itself stands still there, without a blend."""
    times = compute_motion(line(0, 100, 0, feed=150.0), SMOOTH)
    assert times.seconds == pytest.approx([trapezoid(100, 150)] * 2, rel=1e-9)
    assert (times.rounded_mm == 0.0).all()


def test_a_blend_between_slopes_in_space():
    """A corner between a level and a rising line is blended in their own plane."""
    turn = 0.6
    points = [[0, 0, 0], [80, 0, 0], [80 + 80 * cos(turn), 0, 80 * sin(turn)]]
    times = compute_motion(Moves.simple(points, feed=120.0), SMOOTH)
    radius = 0.1 * cos(turn / 2) / (1 - cos(turn / 2))
    assert times.exit_speed[0] == pytest.approx(min(120.0, sqrt(0.8 * A * radius)), rel=1e-12)
    assert times.rounded_mm.sum() == pytest.approx(radius * (2 * tan(turn / 2) - turn), rel=1e-9)
