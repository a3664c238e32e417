"""What must hold for every path: symmetries, bounds, monotony, limits when resampled."""

from dataclasses import replace
from itertools import pairwise
from math import atan, cos, inf, pi, sin, tan

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgetime.motion import MotionLimits, compute_motion
from edgetime.moves import PATH_MODES, Moves

some = settings(max_examples=40, deadline=None)

coordinates = st.integers(-4000, 4000).map(lambda k: k / 40)
bulges = st.one_of(st.just(0.0), st.integers(-60, 60).filter(bool).map(lambda k: k / 40))
feeds = st.sampled_from([15.0, 60.0, 150.0, 400.0, inf])


@st.composite
def paths(draw, *, space=True, finite_feed=False):
    """Chains of one to eight lines, arcs and helices without steps of length 0."""
    n = draw(st.integers(1, 8))
    height = coordinates if space else st.just(0.0)
    points = [draw(st.tuples(coordinates, coordinates, height))]
    while len(points) <= n:
        step = draw(
            st.tuples(coordinates, coordinates, height).filter(lambda s: abs(s[0]) + abs(s[1]) > 0)
        )
        points.append(tuple(a + 0.3 * b for a, b in zip(points[-1], step, strict=True)))
    feed = feeds.filter(np.isfinite) if finite_feed else feeds
    bulge = draw(st.lists(bulges, min_size=n, max_size=n))
    return Moves.simple(points, feed=draw(st.lists(feed, min_size=n, max_size=n)), bulge=bulge)


def positive(low, high):
    """Values with an even spread of magnitudes."""
    return st.floats(np.log(low), np.log(high)).map(lambda x: float(np.exp(x)))


@st.composite
def machines(draw, *, modes=PATH_MODES, foresight=True, last=True):
    """Limits of an invented machine; without foresight its look-ahead is unlimited."""
    jerky = draw(st.booleans())
    return MotionLimits(
        axis_speed_mm_per_s=draw(st.tuples(*[positive(50, 1000)] * 3)),
        axis_acceleration_mm_per_s2=draw(st.tuples(*[positive(100, 3000)] * 3)),
        axis_jerk_mm_per_s3=draw(st.tuples(*[positive(1e3, 1e5)] * 3)) if jerky else (inf,) * 3,
        path_acceleration_mm_per_s2=draw(st.one_of(st.just(inf), positive(100, 3000))),
        centripetal_acceleration_mm_per_s2=draw(st.one_of(st.just(inf), positive(50, 3000))),
        path_mode=draw(st.sampled_from(modes)),
        corner_tolerance_mm=draw(st.sampled_from([0.0, 0.01, 0.1, 1.0])),
        blend_share=draw(st.sampled_from([0.1, 0.5])),
        stop_at_rapids=draw(st.booleans()),
        look_ahead_moves=draw(st.sampled_from([None, 1, 2, 50])) if foresight else None,
        arc_shares=draw(st.sampled_from([None, (0.5, 0.866), (0.9, 0.3)])),
        corner_share=draw(st.sampled_from([1.0, 0.6])),
        last_move_share=draw(st.sampled_from([1.0, 0.6])) if last else 1.0,
    )


def turned(moves, angle):
    """Turn the moves about Z."""
    c, s = round(cos(angle), 15), round(sin(angle), 15)
    turn = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return replace(moves, start=moves.start @ turn, end=moves.end @ turn)


def backward(moves):
    """Run the same path from its end to its start."""
    return replace(
        moves,
        start=moves.end[::-1],
        end=moves.start[::-1],
        bulge=-moves.bulge[::-1],
        length=moves.length[::-1],
        feed=moves.feed[::-1],
    )


def place(start, end, bulge, share):
    """Points of a line, arc or helix at shares of its length."""
    share = np.asarray(share)[:, None]
    if bulge == 0.0:
        return start + share * (end - start)
    chord = (end - start)[:2]
    centre = 0.5 * (start + end)[:2] + np.array([-chord[1], chord[0]]) * (1 - bulge**2) / (
        4 * bulge
    )
    angle = 4 * atan(bulge) * share
    x, y = (start[:2] - centre).tolist()
    flat = centre + np.hstack(
        [x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)]
    )
    return np.hstack([flat, start[2] + share * (end[2] - start[2])])


def cut_up(moves, shares):
    """Every move cut at the shares of its length; lines stay lines, arcs arcs."""
    edges = np.concatenate([[0.0], np.sort(shares), [1.0]])
    points, bulge, feed = [moves.start[:1]], [], []
    for i in range(len(moves)):
        inner = place(moves.start[i], moves.end[i], moves.bulge[i], edges[1:-1])
        points += [inner, moves.end[i : i + 1]]
        bulge += [tan(atan(moves.bulge[i]) * d) for d in np.diff(edges)]
        feed += [moves.feed[i]] * (len(edges) - 1)
    return Moves.simple(np.vstack(points), feed=feed, bulge=bulge)


@some
@given(paths(), machines(), st.integers(1, 3))
def test_quarter_turns_change_nothing(moves, limits, quarters):
    """Turning path and axes together by quarter turns leaves every second."""
    swap = (1, 0, 2) if quarters % 2 else (0, 1, 2)
    other = replace(
        limits,
        **{
            name: tuple(getattr(limits, name)[i] for i in swap)
            for name in (
                "axis_speed_mm_per_s",
                "axis_acceleration_mm_per_s2",
                "axis_jerk_mm_per_s3",
            )
        },
    )
    moved = turned(moves, quarters * np.pi / 2)
    assert compute_motion(moved, other).seconds == pytest.approx(
        compute_motion(moves, limits).seconds, rel=1e-9
    )


@some
@given(paths(finite_feed=True), st.floats(0, 7), positive(100, 3000), positive(50, 3000))
def test_any_turn_changes_nothing_under_path_limits(moves, angle, along, across):
    """With limits along and across the path only, the direction does not matter."""
    limits = MotionLimits(
        axis_speed_mm_per_s=(inf,) * 3,
        axis_acceleration_mm_per_s2=(inf,) * 3,
        path_acceleration_mm_per_s2=along,
        centripetal_acceleration_mm_per_s2=across,
        path_mode="continuous",
        corner_tolerance_mm=0.1,
    )
    assert compute_motion(turned(moves, angle), limits).seconds == pytest.approx(
        compute_motion(moves, limits).seconds, rel=1e-9
    )


@some
@given(paths(), machines(foresight=False, last=False))
def test_running_backward_takes_the_same_time(moves, limits):
    """A path reversed takes each row's time in reverse order, where no habit looks forward."""
    forward = compute_motion(moves, limits).seconds
    assert compute_motion(backward(moves), limits).seconds[::-1] == pytest.approx(forward, rel=1e-9)


@some
@given(
    paths(),
    machines(modes=["exact-path", "continuous"], foresight=False),
    st.lists(st.integers(1, 99), min_size=1, max_size=4, unique=True),
)
def test_cutting_moves_up_changes_nothing(moves, limits, percents):
    """Every move cut in pieces takes, summed over the pieces, the time it takes whole.

    Not after an exact stop behind every piece, nor where the moves known in advance are fewer.
    """
    pieces = compute_motion(cut_up(moves, [p / 100 for p in percents]), limits).seconds
    summed = pieces.reshape(len(moves), -1).sum(axis=1)
    assert summed == pytest.approx(compute_motion(moves, limits).seconds, rel=1e-9)


@some
@given(paths(), machines(), st.sampled_from([0.0, 0.001, 0.05]))
def test_no_move_is_faster_than_its_feed(moves, limits, block):
    """Time ≥ length run ÷ feed, and no less than the block time of it where that is on."""
    times = compute_motion(moves, replace(limits, block_time_s=block))
    run = moves.length - times.rounded_mm
    floor = np.maximum(run / moves.feed, block * run / moves.length)
    assert (times.rounded_mm >= 0.0).all()
    assert (times.seconds >= floor * (1 - 1e-12)).all()
    assert (times.peak_speed <= moves.feed * (1 + 1e-12)).all()


@some
@given(paths(), machines(), st.floats(1.0001, 4.0), st.integers(0, 2))
def test_a_higher_limit_is_never_slower(moves, limits, factor, axis):
    """Raising any one limit, or all feeds, never adds time.

    The corner tolerance is such a limit only as long as corners are stopped in: an arc of a
    larger radius is slower than the corner it replaces where the turn is sharp. With jerk and a
    limited look-ahead, moves that go on straight are no longer planned as one.
    """
    if np.isfinite(limits.axis_jerk_mm_per_s3).all():
        limits = replace(limits, look_ahead_moves=None)
    before = compute_motion(moves, limits).total_s * (1 + 1e-12)
    for name in (
        "axis_speed_mm_per_s",
        "axis_acceleration_mm_per_s2",
        "axis_jerk_mm_per_s3",
        "path_acceleration_mm_per_s2",
        "centripetal_acceleration_mm_per_s2",
        "look_ahead_moves",
        "corner_share",
        "last_move_share",
    ):
        value = getattr(limits, name)
        if name == "look_ahead_moves":
            raised = None if value is None else value + axis + 1
        elif name.endswith("_share"):
            raised = min(1.0, value * factor)
        elif isinstance(value, tuple):
            raised = tuple(v * factor if i == axis else v for i, v in enumerate(value))
        else:
            raised = value * factor
        assert compute_motion(moves, replace(limits, **{name: raised})).total_s <= before, name
    assert compute_motion(replace(moves, feed=moves.feed * factor), limits).total_s <= before


@settings(max_examples=20, deadline=None)
@given(paths(), machines())
def test_resampled_motion_obeys_every_limit(moves, limits):
    """Differences of places in space stay below speed, acceleration and jerk of each axis.

    The places come from the geometry here, not from the planner; each stretch between two
    jumps of the jerk is resampled at 33 moments and differenced up to three times.
    """
    if limits.path_mode == "continuous":
        limits = replace(limits, corner_tolerance_mm=0.0)
    times = compute_motion(moves, limits)
    axes = (
        limits.axis_speed_mm_per_s,
        limits.axis_acceleration_mm_per_s2,
        limits.axis_jerk_mm_per_s3,
    )
    clock = np.concatenate([[0.0], np.cumsum(times.seconds)])
    for row in range(len(moves)):
        start, end = moves.start[row], moves.end[row]
        bends = times.profile(row, points=2).time
        for t0, t1 in pairwise(bends):
            if t1 - t0 < 1e-6:
                continue
            # Half a step inside, so that rounding does not reach over the jump.
            edge = (t1 - t0) * 1e-6
            moments = np.linspace(t0 + edge, t1 - edge, 33)
            state = times.sample(np.clip(clock[row] + moments, 0.0, clock[-1]))
            share = state.place / moves.length[row]
            value = place(start, end, float(moves.bulge[row]), share)
            step = moments[1] - moments[0]
            rounding = 1e-12 * (1 + np.abs(value).max() + clock[-1] * state.speed.max())
            for order, limit in enumerate(axes, start=1):
                value = np.diff(value, axis=0) / step
                allowed = np.array(limit) * (1 + 1e-6) + 2**order * rounding / step**order
                assert (np.abs(value) <= allowed).all(), (row, order)
            speed, a, j = state.speed, state.acceleration, state.jerk
            assert (speed <= moves.feed[row] * (1 + 1e-12)).all()
            assert (np.abs(a) <= limits.path_acceleration_mm_per_s2 * (1 + 1e-12)).all()
            assert np.diff(speed) / step == pytest.approx(
                0.5 * (a[1:] + a[:-1]), abs=1e-6 * (1 + np.abs(a).max()) + 1e-12 / step
            )
            assert np.diff(a) / step == pytest.approx(j[1:], rel=1e-6, abs=1e-3 + 1e-9 / step)


def blended_places(points, cuts, turns, radii, row, along):
    """Points of a chain of lines with blends at its corners, by plane geometry.

    ``along`` counts along the programmed line; the half of a blend on this side of a corner
    stands for the length ``cut`` of the line.
    """
    length = np.linalg.norm(points[row + 1] - points[row])
    direction = (points[row + 1] - points[row]) / length
    out = points[row] + along[:, None] * direction
    for corner, part in ((row, cuts[row] - along), (row + 1, along - length + cuts[row + 1])):
        k = part > 0.0
        if not k.any():
            continue
        before = points[corner] - points[corner - 1]
        before = before / np.linalg.norm(before)
        behind = points[corner + 1] - points[corner]
        behind = behind / np.linalg.norm(behind)
        turn, radius, cut = turns[corner], radii[corner], cuts[corner]
        inward = (behind - before * cos(turn)) / sin(turn)
        centre = points[corner] - cut * before + radius * inward
        half = part[k] / cut * turn / 2
        angle = (half if corner == row + 1 else turn - half)[:, None]
        out[k] = centre + radius * (before * np.sin(angle) - inward * np.cos(angle))
    return out


@some
@given(
    st.lists(st.tuples(*[st.integers(-80, 80)] * 3), min_size=3, max_size=8),
    machines(modes=["continuous"]),
    feeds,
)
def test_resampled_blends_obey_every_limit(steps, limits, feed):
    """Lines in space with their blends, drawn anew from the tolerance, and differenced.

    Speed and acceleration of every axis stay below their limits on lines and blends, the jerk
    on lines, and the blend within the tolerance of its corner.
    """
    steps = np.array([s for s in steps if any(s)], dtype=float) / 4
    assume(len(steps) >= 2)
    size = np.linalg.norm(steps, axis=1)
    directions = steps / size[:, None]
    turn = np.arccos(np.clip((directions[:-1] * directions[1:]).sum(axis=1), -1.0, 1.0))
    assume((turn > 0.01).all() and (turn < pi - 0.01).all())
    room = limits.blend_share * np.minimum(size[:-1], size[1:])
    radius = np.minimum(
        limits.corner_tolerance_mm * np.cos(turn / 2) / (1 - np.cos(turn / 2)),
        room / np.tan(turn / 2),
    )
    cut = radius * np.tan(turn / 2)
    assert (radius / np.cos(turn / 2) - radius <= limits.corner_tolerance_mm * (1 + 1e-9)).all()
    turns, radii, cuts = (np.concatenate([[0.0], x, [0.0]]) for x in (turn, radius, cut))
    points = np.vstack([np.zeros(3), np.cumsum(steps, axis=0)])
    times = compute_motion(Moves.simple(points, feed=feed), limits)
    assert times.rounded_mm.sum() == pytest.approx((2 * cut - radius * turn).sum(), abs=1e-9)
    orders = (
        limits.axis_speed_mm_per_s,
        limits.axis_acceleration_mm_per_s2,
        limits.axis_jerk_mm_per_s3,
    )
    clock = np.concatenate([[0.0], np.cumsum(times.seconds)])
    for row in range(len(steps)):
        bends = times.profile(row, points=2).time
        for t0, t1 in pairwise(bends):
            if t1 - t0 < 1e-5:
                continue
            moments = np.linspace(t0, t1, 35)[1:-1]
            state = times.sample(clock[row] + moments)
            value = blended_places(points, cuts, turns, radii, row, state.place)
            step = moments[1] - moments[0]
            rounding = 1e-11 * (1 + np.abs(points).max())
            on_line = cuts[row] <= state.place[0] and state.place[-1] <= size[row] - cuts[row + 1]
            for order, limit in enumerate(orders[: 3 if on_line else 2], start=1):
                value = np.diff(value, axis=0) / step
                allowed = np.array(limit) * (1 + 1e-6) + 2**order * rounding / step**order
                assert (np.abs(value) <= allowed).all(), (row, order)
            assert (state.speed <= feed * (1 + 1e-12)).all()


@pytest.mark.parametrize("acceleration", [1e5, 300.0])
@pytest.mark.parametrize("radius", [5.0, 50.0, 400.0])
def test_jerk_on_a_circle_is_used_and_obeyed(radius, acceleration):
    """Four times round a circle: the jerk of X and Y stays below its limit and comes near it.

    The path is long enough to reach the speed that the jerk of turning allows. The places
    come from the angle, the jerk from their third differences.
    """
    points = [[radius * (-1) ** k, 0.0] for k in range(9)]
    moves = Moves.simple(points, feed=inf, bulge=1.0)
    limit = 1000.0
    limits = MotionLimits(
        axis_speed_mm_per_s=(1e4,) * 3,
        axis_acceleration_mm_per_s2=(acceleration,) * 3,
        axis_jerk_mm_per_s3=(limit,) * 3,
    )
    times = compute_motion(moves, limits)
    whole = Moves.simple([[0.0, 0.0], [8 * np.pi * radius, 0.0]], feed=inf)
    bends = np.unique(
        np.concatenate(
            [times.profile(k, points=2).time + times.seconds[:k].sum() for k in range(len(moves))]
        )
    )
    most = 0.0
    for t0, t1 in pairwise(bends):
        if t1 - t0 < 1e-3:
            continue
        state = times.sample(np.linspace(t0 + 1e-9, t1 - 1e-9, 200))
        run = state.row * whole.length[0] / 8 + state.place
        value = radius * np.column_stack([np.cos(run / radius), np.sin(run / radius)])
        step = state.time[1] - state.time[0]
        for order in range(3):
            value = np.diff(value, axis=0) / step
            if order == 1:
                assert np.abs(value).max() <= acceleration * (1 + 1e-6) + 1e-9 / step**2
        most = max(most, float(np.abs(value).max()) - 1e-11 * radius / step**3)
    assert most <= limit * (1 + 1e-6)
    if acceleration > 300.0:
        assert most >= 0.7 * limit


@some
@given(paths(), machines(), st.booleans())
def test_speeds_meet_at_the_joins(moves, limits, rest):
    """Each move starts at the speed at which the one before ended; both table ends rest."""
    if rest:
        moves = replace(moves, exact_stop=np.ones(len(moves), dtype=np.bool_))
    times = compute_motion(moves, limits)
    assert times.entry_speed[0] == times.exit_speed[-1] == 0.0
    assert times.entry_speed[1:] == pytest.approx(times.exit_speed[:-1], rel=1e-12, abs=1e-12)
    highest = np.maximum(times.entry_speed, times.exit_speed)
    assert (times.peak_speed >= highest * (1 - 1e-12)).all()
    if rest:
        assert (times.exit_speed == 0.0).all()


@some
@given(st.lists(paths(), min_size=1, max_size=5), machines(foresight=False))
def test_a_batch_is_its_paths(several, limits):
    """Paths of several tools, laid in one table, take the times they take alone."""
    stopped = [
        replace(m, exact_stop=np.arange(len(m)) == len(m) - 1, visit=np.full(len(m), k))
        for k, m in enumerate(several)
    ]
    together = compute_motion(Moves.stack(stopped), limits).seconds
    alone = np.concatenate([compute_motion(m, limits).seconds for m in several])
    assert together == pytest.approx(alone, rel=1e-12)
