"""What compute_motion makes of a table: stops, merging, corners, blocks, profiles."""

import re
from dataclasses import replace
from math import inf, nan, pi, sqrt, tan

import numpy as np
import pytest

from edgetime.errors import MotionInfeasible, UsageError
from edgetime.motion import MotionLimits, compute_motion
from edgetime.moves import MoveKind, Moves

QUARTER = tan(pi / 8)
A = 500.0
PLAIN = MotionLimits(
    axis_speed_mm_per_s=(1000.0, 800.0, 200.0), axis_acceleration_mm_per_s2=(A, A, A)
)
JERKY = replace(PLAIN, axis_jerk_mm_per_s3=(5000.0, 5000.0, 5000.0))
BLEND = replace(
    PLAIN,
    path_mode="continuous",
    corner_tolerance_mm=0.1,
    centripetal_acceleration_mm_per_s2=A,
)


def trapezoid(length, speed, a=A):
    """Rest to rest: h/v + v/a, or the triangle 2 sqrt(h/a)."""
    return length / speed + speed / a if length * a >= speed**2 else 2 * sqrt(length / a)


def line(*xs, **more):
    return Moves.simple([[x, 0.0, 0.0] for x in xs], **more)


def test_an_empty_table_takes_no_time():
    """No rows give empty arrays and 0 s."""
    times = compute_motion(Moves.empty(), JERKY)
    assert times.seconds.shape == times.peak_speed.shape == (0,)
    assert times.total_s == 0.0


@pytest.mark.parametrize("limits", [PLAIN, JERKY], ids=["plain", "jerk"])
def test_a_table_without_any_length_takes_no_time(limits):
    """Rows of length 0 only take 0 s and stand still."""
    times = compute_motion(Moves.simple(np.zeros((6, 3)), feed=50.0), limits)
    assert (times.seconds == 0.0).all()
    assert (times.peak_speed == 0.0).all()


def test_one_row_is_a_trapezoid():
    """100 mm at 200 mm/s from rest to rest: h/v + v/a = 0.9 s."""
    times = compute_motion(line(0, 100, feed=200.0), PLAIN)
    assert times.seconds == pytest.approx([0.9], rel=1e-15)
    assert times.peak_speed == pytest.approx([200.0])
    assert times.entry_speed[0] == times.exit_speed[0] == 0.0


@pytest.mark.parametrize("limits", [PLAIN, JERKY], ids=["plain", "jerk"])
def test_rows_without_length_change_nothing(limits):
    """One row in twenty of length 0 leaves the other rows' times as they are."""
    rng = np.random.default_rng(1)
    points = np.cumsum(rng.uniform(-5, 5, (200, 3)), axis=0)
    rich = np.insert(points, np.arange(0, 200, 20), points[::20], axis=0)
    bare = compute_motion(Moves.simple(points, feed=80.0), limits)
    full = compute_motion(Moves.simple(rich, feed=80.0), limits)
    still = Moves.simple(rich, feed=80.0).length == 0.0
    assert still.sum() == 10
    assert (full.seconds[still] == 0.0).all()
    assert full.seconds[~still] == pytest.approx(bare.seconds, rel=1e-14)


def test_a_row_without_length_shows_the_speed_of_its_place():
    """A row of length 0 in the middle of a cruise has the cruise's speed in all columns."""
    times = compute_motion(line(0, 100, 100, 200, feed=150.0), PLAIN)
    assert times.entry_speed[1] == times.peak_speed[1] == times.exit_speed[1]
    assert times.exit_speed[1] == pytest.approx(150.0)


@pytest.mark.parametrize(
    "stop",
    [
        {"exact_stop": [True, False]},
        {"dwell": [0.7, 0.0]},
    ],
)
@pytest.mark.parametrize("limits", [PLAIN, JERKY], ids=["plain", "jerk"])
def test_stops_stand_still_and_dwell_is_not_counted(stop, limits):
    """An exact stop or a dwell splits a straight run in two runs from rest to rest."""
    half = compute_motion(line(0, 100, feed=200.0), limits).seconds[0]
    times = compute_motion(line(0, 100, 200, feed=200.0, **stop), limits)
    assert times.seconds == pytest.approx([half, half], rel=1e-14)
    assert times.exit_speed[0] == 0.0


def test_a_stop_on_a_row_without_length_holds():
    """A dwell on a row of length 0 is a rest between its neighbours."""
    times = compute_motion(line(0, 100, 100, 200, feed=200.0, dwell=[0.0, 1.0, 0.0]), PLAIN)
    assert times.seconds == pytest.approx([0.9, 0.0, 0.9], rel=1e-14)


def test_a_break_in_the_path_is_a_rest():
    """A move that starts elsewhere than the one before ended begins from rest."""
    table = Moves.stack([line(0, 100, feed=200.0), line(150, 250, feed=200.0)])
    assert compute_motion(table, BLEND).seconds == pytest.approx([0.9, 0.9], rel=1e-14)


def test_exact_stop_stops_in_corners_and_not_in_tangent_joins():
    """A right angle is a rest; a line running on into an arc is not."""
    corner = compute_motion(Moves.simple([[0, 0], [100, 0], [100, 100]], feed=200.0), PLAIN)
    assert corner.seconds == pytest.approx([0.9, 0.9], rel=1e-14)
    tangent = Moves.simple([[0, 0], [100, 0], [200, 100]], feed=100.0, bulge=[0.0, QUARTER])
    assert compute_motion(tangent, PLAIN).exit_speed[0] == pytest.approx(100.0)


@pytest.mark.parametrize("limits", [PLAIN, JERKY], ids=["plain", "jerk"])
@pytest.mark.parametrize("feed", [60.0, 400.0])
def test_a_line_in_pieces_is_one_line(limits, feed):
    """300 mm cut in 30 pieces takes the time of the whole, and each piece its share of it."""
    points = np.linspace(0.0, 300.0, 31)
    pieces = compute_motion(line(*points, feed=feed), limits)
    whole = compute_motion(line(0, 300, feed=feed), limits)
    assert pieces.total_s == pytest.approx(whole.total_s, rel=1e-13)
    profile = whole.profile(0, points=20001)
    at = np.interp(points, profile.place, profile.time)
    assert pieces.seconds == pytest.approx(np.diff(at), rel=2e-4)
    assert pieces.entry_speed[1:] == pytest.approx(pieces.exit_speed[:-1], rel=1e-12)
    assert pieces.peak_speed.max() == pytest.approx(whole.peak_speed[0], rel=1e-12)
    assert pieces.peak_speed[0] == pytest.approx(pieces.exit_speed[0])


def test_pieces_under_gravity_like_acceleration():
    """From rest, n equal pieces take times as sqrt(k) - sqrt(k - 1) (uniform acceleration)."""
    pieces = compute_motion(line(*np.linspace(0, 100, 101), feed=inf), PLAIN)
    k = np.arange(1, 51)
    expected = sqrt(2 / A) * (np.sqrt(k) - np.sqrt(k - 1))
    assert pieces.seconds[:50] == pytest.approx(expected, rel=1e-12)
    assert pieces.seconds[:49:-1] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("limits", [PLAIN, JERKY], ids=["plain", "jerk"])
def test_tiny_pieces_behind_a_huge_one_keep_their_digits(limits):
    """1e9 mm and then 1e-6 mm pieces of one line: each tail piece from rest backward."""
    n = 200
    table = line(0.0, 1.0, *np.linspace(1.0, 2.0, n + 1)[1:], feed=200.0)
    length = np.full(n + 1, 1e-6)
    length[0] = 1e9
    times = compute_motion(replace(table, length=length), limits)
    k = np.arange(1, n + 1)
    at = np.sqrt(2 * k * 1e-6 / A) if limits is PLAIN else np.cbrt(6 * k * 1e-6 / 5000.0)
    assert times.seconds[:0:-1] == pytest.approx(np.diff(at, prepend=0.0), rel=1e-8)
    assert times.total_s == pytest.approx(1e9 / 200.0, rel=1e-6)


def test_an_arc_in_pieces_is_one_arc():
    """A half circle in seven pieces takes the time of the whole, jerk on."""
    angles = np.linspace(0.0, pi, 8)
    points = np.column_stack([50 * np.cos(angles), 50 * np.sin(angles)])
    pieces = compute_motion(Moves.simple(points, feed=120.0, bulge=tan(pi / 28)), JERKY)
    whole = compute_motion(Moves.simple(points[[0, -1]], feed=120.0, bulge=1.0), JERKY)
    assert pieces.total_s == pytest.approx(whole.total_s, rel=1e-12)


def test_different_feeds_do_not_merge():
    """A slower feed in the middle of a line is kept: caps 200, 50, 200."""
    times = compute_motion(line(0, 100, 200, 300, feed=[200.0, 50.0, 200.0]), PLAIN)
    assert times.peak_speed == pytest.approx([200.0, 50.0, 200.0])


def test_block_time_slows_short_moves_only():
    """At 2 ms a block, 0.1 mm moves run at 50 mm/s; a long one keeps its feed."""
    limits = replace(BLEND, block_time_s=0.002)
    times = compute_motion(line(0, 100, *(100 + 0.1 * np.arange(1, 51)), 200, feed=150.0), limits)
    assert times.peak_speed[1:-1] == pytest.approx(np.full(50, 50.0), rel=1e-9)
    assert (times.seconds >= 0.002 * (1 - 1e-9)).all()
    assert times.peak_speed[[0, -1]] == pytest.approx([150.0, 150.0])


def test_a_rapid_runs_at_the_slowest_axis_straight():
    """A rapid of (300, 400, 0) with Y at 800 mm/s may run 1000, with A/0.8 along the path."""
    far = 1000.0
    table = Moves.simple([[0, 0, 0], [3 * far, 4 * far, 0]], feed=inf, kind=MoveKind.RAPID)
    times = compute_motion(table, PLAIN)
    assert times.peak_speed[0] == pytest.approx(1000.0)
    assert times.seconds[0] == pytest.approx(trapezoid(5 * far, 1000.0, A / 0.8), rel=1e-14)


def test_a_mixed_table_of_rapids_plunges_and_cuts():
    """Rapid, plunge, cut round a corner, retract: each between rests by the closed form."""
    table = Moves.simple(
        [[0, 0, 50], [500, 0, 50], [500, 0, 0], [800, 0, 0], [800, 200, 0], [800, 200, 50]],
        feed=[inf, 20.0, 60.0, 60.0, inf],
        kind=[MoveKind.RAPID, MoveKind.PLUNGE, MoveKind.CUT, MoveKind.CUT, MoveKind.RAPID],
    )
    expected = [
        trapezoid(500, 1000.0),
        trapezoid(50, 20.0),
        trapezoid(300, 60.0),
        trapezoid(200, 60.0),
        trapezoid(50, 200.0),
    ]
    assert compute_motion(table, PLAIN).seconds == pytest.approx(expected, rel=1e-14)


def test_a_helix_runs_through_its_turns():
    """Two half turns down a helix merge to one run with the helix' length."""
    points = [[50, 0, 0], [-50, 0, -2.5], [50, 0, -5]]
    times = compute_motion(Moves.simple(points, feed=40.0, bulge=1.0), PLAIN)
    length = 2 * sqrt((50 * pi) ** 2 + 2.5**2)
    share = 50 * pi / sqrt((50 * pi) ** 2 + 2.5**2)
    assert times.total_s == pytest.approx(trapezoid(length, 40.0, A / sqrt(2) / share), rel=1e-12)
    assert times.exit_speed[0] == pytest.approx(40.0)


@pytest.mark.parametrize("limits", [PLAIN, JERKY, BLEND], ids=["plain", "jerk", "blend"])
def test_paths_laid_end_to_end_are_the_separate_paths(limits):
    """A hundred short paths in one table take exactly the times they take alone."""
    rng = np.random.default_rng(11)
    paths = [
        Moves.simple(
            rng.uniform(0, 100, (int(rng.integers(2, 9)), 2)), feed=float(rng.uniform(30, 300))
        )
        for _ in range(100)
    ]
    together = compute_motion(Moves.stack(paths), limits).seconds
    alone = np.concatenate([compute_motion(path, limits).seconds for path in paths])
    assert together == pytest.approx(alone, rel=1e-12)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"feed": [50.0, -3.0]}, "move 1 has the feed -3 mm/s; allowed is any value above 0"),
        ({"feed": [50.0, 0.0]}, "move 1 has the feed 0 mm/s"),
        ({"feed": [nan, 50.0]}, "move 0 has the feed nan"),
        ({"length": [100.0, -1.0]}, "move 1 has a length that is not 0 or a finite value"),
        ({"length": [inf, 1.0]}, "move 0 has a length"),
        ({"bulge": [0.0, nan]}, "move 1 has a coordinate or bulge that is not a finite number"),
        ({"end": [[100.0, 0, 0], [100.0, 0, 0]]}, "move 1 has the length 100 mm but ends where"),
    ],
)
def test_moves_that_admit_no_motion_are_refused(change, says):
    """The row, the value and the place on the table stand in the error."""
    table = replace(line(0, 100, 200, feed=50.0), **{k: np.array(v) for k, v in change.items()})
    with pytest.raises(MotionInfeasible) as caught:
        compute_motion(table, PLAIN)
    assert re.search(re.escape(says), caught.value.what)
    assert caught.value.where.x_mm in (0.0, 100.0)
    assert caught.value.remedy


def test_a_rapid_without_any_speed_limit_is_refused():
    """An infinite feed on axes without a limit has no answer."""
    free = replace(PLAIN, axis_speed_mm_per_s=(inf, inf, inf))
    with pytest.raises(MotionInfeasible, match="move 0 has no speed limit"):
        compute_motion(line(0, 100, feed=inf), free)


@pytest.mark.parametrize("limits", [PLAIN, JERKY], ids=["plain", "jerk"])
def test_profile_integrates_to_the_move(limits):
    """Speed integrates to place, acceleration to speed, and both ends are those of the row."""
    times = compute_motion(line(0, 30, 100, 200, feed=[200.0, 200.0, 90.0]), limits)
    for row, length in enumerate((30.0, 70.0, 100.0)):
        p = times.profile(row, points=4001)
        assert p.time[[0, -1]] == pytest.approx([0.0, times.seconds[row]])
        assert p.place[[0, -1]] == pytest.approx([0.0, length], abs=1e-9)
        assert p.speed[0] == pytest.approx(times.entry_speed[row], abs=1e-9)
        assert p.speed[-1] == pytest.approx(times.exit_speed[row], abs=1e-6)
        assert p.speed.max() == pytest.approx(times.peak_speed[row], rel=1e-9)
        step = np.diff(p.time)
        assert np.sum(0.5 * (p.speed[1:] + p.speed[:-1]) * step) == pytest.approx(length, rel=1e-6)
        change = np.sum(0.5 * (p.acceleration[1:] + p.acceleration[:-1]) * step)
        assert change == pytest.approx(p.speed[-1] - p.speed[0], abs=0.3)


def test_sample_follows_the_whole_table():
    """Moments of the whole table name the move under way and how far it has come."""
    times = compute_motion(line(0, 100, 200, feed=200.0, exact_stop=[True, False]), PLAIN)
    got = times.sample([0.0, 0.2, 0.45, 1.1, times.total_s])
    assert got.row.tolist() == [0, 0, 0, 1, 1]
    assert got.place == pytest.approx([0.0, 0.5 * A * 0.04, 50.0, 0.5 * A * 0.04, 100.0])
    assert got.speed == pytest.approx([0.0, 100.0, 200.0, 100.0, 0.0], abs=1e-9)


def test_sample_and_profile_refuse_what_is_not_there():
    """Moments outside the motion and rows outside the table are refused with the range."""
    times = compute_motion(line(0, 100, feed=200.0), PLAIN)
    with pytest.raises(UsageError, match=r"runs from 0 to 0\.9 s"):
        times.sample([1.0])
    with pytest.raises(UsageError, match="there are moves 0 to 0"):
        times.profile(1)


def test_profile_of_a_row_without_length_is_empty():
    """A row that takes no time has no states."""
    times = compute_motion(line(0, 100, 100, feed=200.0), PLAIN)
    assert len(times.profile(1).time) == 0
