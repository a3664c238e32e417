"""Rapids in seconds, and the places where a closed run may begin."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from support.catalogue import MACHINE
from support.hand_loads import Hand
from support.shapes import rectangle

from edgetime.estimating.pipeline import motion_limits
from edgetime.geometry.measure import point_at
from edgetime.geometry.path import Path
from edgetime.motion import compute_motion
from edgetime.moves import MoveKind, Moves
from edgetime.passes.starts import DIRECTIONS, places
from edgetime.passes.travel import RapidClock

SLOW_X = replace(
    MACHINE, rapid_mm_per_s=(300.0, 500.0, 100.0), axis_speed_mm_per_s=(300.0, 500.0, 100.0),
    axis_acceleration_mm_per_s2=(800.0, 1500.0, 900.0), axis_jerk_mm_per_s3=(6e3, 2e4, 9e3),
    path_acceleration_mm_per_s2=1200.0,
)  # fmt: skip
NO_JERK = replace(SLOW_X, axis_jerk_mm_per_s3=(math.inf,) * 3)


def ways(count=300):
    """Return starts and ends from a tenth of a millimetre to four metres apart."""
    rng = np.random.default_rng(3)
    size = 10.0 ** rng.uniform(-1.0, 3.6, count)
    angle = rng.uniform(0.0, 2.0 * math.pi, count)
    angle[:8] = 0.5 * math.pi * np.arange(8)
    start = rng.uniform(0.0, 1000.0, (count, 2))
    return start, start + size[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])


@pytest.mark.parametrize("machine", [MACHINE, SLOW_X, NO_JERK], ids=["bench", "slow x", "no jerk"])
def test_rapids_take_what_the_motion_model_says(machine):
    """Each alone, from rest to rest."""
    start, end = ways()
    found = RapidClock(machine)(start, end)
    for k in range(len(start)):
        moves = Moves.simple([start[k], end[k]], feed=math.inf, kind=MoveKind.RAPID)
        expected = compute_motion(moves, motion_limits(machine)).total_s
        assert found[k] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("machine", [SLOW_X, NO_JERK])
def test_rapids_take_what_a_hand_sum_says(machine):
    """The closed forms of the double-S profile, worked out on their own."""
    start, end = ways(100)
    hand = Hand(machine)
    expected = [hand.travel(tuple(a), tuple(b)) for a, b in zip(start, end, strict=True)]
    assert RapidClock(machine)(start, end) == pytest.approx(expected, rel=1e-12)


def test_no_way_takes_no_time():
    """From a place to itself, in any shape."""
    here = np.array([[3.0, 4.0]])
    assert RapidClock(SLOW_X)(here[:, None, :], here[None, :, :]).tolist() == [[0.0]]


def circle(begin, count, hand):
    """Return a circle of 200 mm radius about (500, 400) of equal arcs."""
    angle = begin + hand * 2.0 * math.pi * np.arange(count) / count
    points = np.column_stack([500.0 + 200.0 * np.cos(angle), 400.0 + 200.0 * np.sin(angle)])
    return Path.from_bulges(
        points, np.full(count, hand * math.tan(0.5 * math.pi / count)), closed=True
    )


@pytest.mark.parametrize("hand", [1, -1])
@pytest.mark.parametrize(("begin", "count"), [(0.0, 2), (0.3, 2), (1.7, 5), (4.0, 90)])
def test_places_on_a_circle_do_not_depend_on_its_drawing(begin, count, hand):
    """Every 15° from the table's axes, wherever the arcs begin."""
    path = circle(begin, count, hand)
    spots = places(path, 60.0)
    angle = np.sort(
        np.arctan2(spots.point[:, 1] - 400.0, spots.point[:, 0] - 500.0) % (2 * math.pi)
    )
    # A place at 0 may round to the full turn.
    angle = np.sort(np.where(angle > 2.0 * math.pi - 1e-9, 0.0, angle))
    assert angle == pytest.approx(2.0 * math.pi * np.arange(DIRECTIONS) / DIRECTIONS, abs=1e-9)
    assert point_at(path, spots.at) == pytest.approx(spots.point, abs=1e-9)
    radius = np.hypot(*(spots.moved(35.0).point - [500.0, 400.0]).T)
    assert radius == pytest.approx(np.full(DIRECTIONS, 200.0))
    away = np.hypot(*(spots.beside(0.0, 12.0) - [500.0, 400.0]).T)
    assert away == pytest.approx(np.full(DIRECTIONS, 200.0 + 12.0 * hand))


def test_straights_with_room_come_before_curves():
    """A rounded rectangle begins in the middle of a side that has room for the leads."""
    path = rectangle(500.0, 140.0, radius=60.0)
    assert sorted(places(path, 60.0).point[:, 1].tolist()) == [0.0, 140.0]
    assert len(places(path, 20.0)) == 4
    assert len(places(path, 381.0)) == DIRECTIONS


def test_polygon_of_short_sides_may_begin_on_any_of_them():
    """A circle drawn as 240 chords: the outermost in each direction, in their middles."""
    angle = 2.0 * math.pi * np.arange(240) / 240.0
    path = Path.from_bulges(300.0 * np.column_stack([np.cos(angle), np.sin(angle)]), closed=True)
    spots = places(path, 60.0)
    assert len(spots) == DIRECTIONS
    assert np.hypot(*spots.point.T) == pytest.approx(300.0 * math.cos(math.pi / 240.0))
