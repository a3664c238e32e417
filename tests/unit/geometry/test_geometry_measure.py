"""Places, sides, distances, crossings, and the parting and joining of paths."""

import math

import numpy as np
import pytest
from support.curves import centres, turns

from edgetime.errors import InternalError
from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.measure import (
    bounds,
    contains,
    corner_turns,
    direction_at,
    distance,
    is_simple,
    nearest,
    point_at,
    radii,
    self_intersections,
    signed_area,
    start_directions,
)
from edgetime.geometry.path import Path
from edgetime.geometry.segments import Segments
from edgetime.geometry.split import concatenate, split_at, start_at, sub_path

CIRCLE = Path.from_bulges([(5, 0), (-5, 0)], [1, 1], closed=True)
SQUARE = Path.from_bulges([(0, 0), (4, 0), (4, 4), (0, 4)], closed=True, tags=range(4))


def one(start, end, bulge=0.0):
    return Segments(np.array([start], float), np.array([end], float), np.array([bulge], float))


class TestDirections:
    def test_directions_of_a_half_circle(self):
        """It leaves at a right angle to its diameter and comes back the other way."""
        path = Path.from_bulges([(5, 0), (-5, 0)], [1])
        assert math.cos(start_directions(path)[0] - math.pi / 2) == pytest.approx(1)
        assert math.cos(direction_at(path, [path.length_mm])[0] + math.pi / 2) == pytest.approx(1)
        assert direction_at(path, [path.length_mm / 2])[0] == pytest.approx(math.pi)
        assert turns(path) == pytest.approx([math.pi])

    def test_straight_segments_have_no_centre(self):
        """Radius and centre of a straight segment are infinite."""
        assert radii(SQUARE).tolist() == [math.inf] * 4
        assert np.isinf(centres(SQUARE)).all()
        assert centres(CIRCLE) == pytest.approx(np.zeros((2, 2)), abs=1e-12)

    def test_corners_of_a_square(self):
        """Four left turns; on an open path the last has no corner."""
        assert corner_turns(SQUARE) == pytest.approx([math.pi / 2] * 4)
        assert corner_turns(SQUARE.slice(0, 3)) == pytest.approx([math.pi / 2] * 2 + [0])


class TestPlaces:
    def test_places_wrap_on_a_closed_path_and_stop_on_an_open_one(self):
        """Beyond the end a closed path begins again, an open one ends."""
        assert point_at(SQUARE, [-1, 17, 16]) == pytest.approx(np.array([[0, 1], [1, 0], [0, 0]]))
        assert point_at(SQUARE.slice(0, 3), [-1, 99]) == pytest.approx(np.array([[0, 0], [0, 4]]))

    def test_bounds_reach_round_an_arc(self):
        """The extremes of an arc lie between its ends."""
        assert bounds(CIRCLE) == pytest.approx((-5, -5, 5, 5))
        assert bounds(Path.from_bulges([(5, 0), (0, 5)], [math.tan(math.pi / 8)])) == (0, 0, 5, 5)

    def test_empty_path_has_no_area(self):
        """A path of no segments encloses nothing."""
        assert signed_area(Path.from_bulges(np.zeros((0, 2)))) == 0.0


class TestSides:
    def test_points_in_and_about_a_circle(self):
        """The centre, which lies on the chords of both halves, is inside."""
        points = [(0, 0), (4.99, 0), (5.01, 0), (0, 4.99), (0, 5.01), (-6, 0), (3, 3), (3.6, 3.6)]
        expected = [True, True, False, True, False, False, True, False]
        assert contains(CIRCLE, points).tolist() == expected
        assert contains(CIRCLE.reversed(), points).tolist() == expected

    def test_level_with_vertices(self):
        """A ray through a vertex counts once."""
        diamond = Path.from_bulges([(0, -5), (5, 0), (0, 5), (-5, 0)], closed=True)
        assert contains(diamond, [(0, 0), (-6, 0), (6, 0), (-1, 5), (-1, -5)]).tolist() == [
            True, False, False, False, False,
        ]  # fmt: skip

    def test_a_bay_is_outside(self):
        """An arc that bulges inwards takes its bay away."""
        bay = Path.from_bulges([(0, 0), (10, 0), (10, 10), (0, 10)], [-1, 0, 0, 0], closed=True)
        assert contains(bay, [(5, 4), (5, 6), (0.5, 3)]).tolist() == [False, True, True]

    def test_distances(self):
        """Inside, outside, at the centre of a circle, and beyond the ends of an open arc."""
        assert distance(CIRCLE, [(0, 0), (6, 0), (0, 9)]) == pytest.approx([5, 1, 4])
        arc = Path.from_bulges([(5, 0), (-5, 0)], [1])
        assert distance(arc, [(5, -3), (0, -5)]) == pytest.approx([3, math.hypot(5, 5)])
        place, gap = nearest(arc, [(0, 7), (-9, -1)])
        assert place == pytest.approx([2.5 * math.pi, 5 * math.pi])
        assert gap == pytest.approx([2, math.hypot(4, 1)])

    def test_a_very_flat_arc_is_nearly_its_chord(self):
        """A bulge of 1e-12 neither divides by nothing nor loses the distance."""
        path = Path.from_bulges([(0, 0), (1000, 0)], [1e-12])
        assert distance(path, [(500, 3), (500, -3)]) == pytest.approx([3, 3], abs=1e-9)


class TestCrossings:
    @pytest.mark.parametrize(
        ("a", "b", "points"),
        [
            (one((0, 0), (10, 10)), one((0, 10), (10, 0)), [(5, 5)]),
            (one((-10, 3), (10, 3)), one((5, 0), (-5, 0), 1), [(-4, 3), (4, 3)]),
            (one((5, 0), (-5, 0), 1), one((1, 0), (11, 0), -1), [(3, 4)]),
            (one((0, 0), (10, 0)), one((5, 0), (5, 9)), [(5, 0)]),
            (one((-9, 5), (9, 5)), one((5, 0), (-5, 0), 1), [(0, 5)]),
            (one((0, 0), (10, 0)), one((4, 0), (14, 0)), [(4, 0), (10, 0)]),
            (one((0, 0), (10, 0)), one((0, 1), (10, 1)), []),
            (one((0, 0), (10, 0)), one((11, -1), (11, 1)), []),
            (one((5, 0), (-5, 0), 1), one((3, 0), (-3, 0), 1), []),
        ],
    )
    def test_where_two_segments_meet(self, a, b, points):
        """Lines and arcs cross, touch, share a stretch, or miss; 3-4-5 triangles tell where."""
        for first, second in ((a, b), (b, a)):
            row, at, at_second = intersections(first, second)
            found = first.take(row).point(at)
            assert second.take(row).point(at_second) == pytest.approx(found, abs=1e-6)
            rounded = {(round(float(x), 5) + 0.0, round(float(y), 5) + 0.0) for x, y in found}
            assert rounded == {(float(x), float(y)) for x, y in points}

    def test_a_flat_arc_crosses_a_line_twice(self):
        """An arc of 1000 with a sag of 1e-4 is crossed where it rises and where it falls."""
        arc = one((0, 0), (1000, 0), -2e-7)
        row, at, _ = intersections(one((0, 5e-5), (1000, 5e-5)), arc)
        x = np.sort(at) * 1000
        assert len(row) == 2
        # Of a parabola of that sag, half the height is at 1 ± sqrt(1/2) of the half chord.
        assert x == pytest.approx(
            [500 - 500 * math.sqrt(0.5), 500 + 500 * math.sqrt(0.5)], abs=1e-3
        )

    def test_simple_and_crossed(self):
        """Shared vertices do not count, crossings and touches do."""
        assert is_simple(SQUARE)
        assert is_simple(CIRCLE)
        bow = Path.from_bulges([(0, 0), (1, 1), (1, 0), (0, 1)], closed=True)
        assert self_intersections(bow) == pytest.approx(np.array([[0.5, 0.5]]))
        touching = Path.from_bulges([(0, 0), (10, 0), (10, 5), (5, 0), (0, 5)], closed=True)
        assert self_intersections(touching) == pytest.approx(np.array([[5, 0]]))
        assert not is_simple(Path.from_bulges([(0, 0), (10, 0), (4, 0)]))

    def test_many_boxes_give_the_same_pairs_as_few(self):
        """The tree that serves large tables finds what the plain comparison finds."""
        rng = np.random.default_rng(7)
        low = rng.uniform(0, 1000, (1100, 2))
        boxes = np.hstack([low, low + rng.uniform(0, 30, (1100, 2))])
        i, j = candidate_pairs(boxes)
        few = [candidate_pairs(boxes[k : k + 1], boxes[k + 1 :]) for k in range(len(boxes))]
        expected = [(k, k + 1 + m) for k, (_, other) in enumerate(few) for m in other.tolist()]
        assert list(zip(i.tolist(), j.tolist(), strict=True)) == expected


class TestParting:
    def test_positions_at_vertices_add_none(self):
        """A vertex that is there already is not doubled."""
        assert split_at(SQUARE, [0, 4, 8 + 1e-9, 16]) is SQUARE
        assert len(split_at(SQUARE, [2, 2 + 1e-9, 6])) == 6

    def test_exact_lengths_are_shared_out(self):
        """A segment that stands for a longer curve gives each part its share."""
        path = Path.from_bulges([(0, 0), (10, 0)], lengths=[12.0], tags=[3])
        cut = split_at(path, [3.0])
        assert cut.lengths == pytest.approx([3, 9])
        assert cut.points[1] == pytest.approx([2.5, 0])
        assert cut.tags.tolist() == [3, 3]

    def test_a_stretch_over_the_start(self):
        """On a closed path an end before its beginning, or beyond the length, runs over."""
        for stretch in (sub_path(SQUARE, 14, 2), sub_path(SQUARE, 14, 18)):
            assert stretch.points == pytest.approx(np.array([[0, 2], [0, 0], [2, 0]]))
            assert stretch.tags.tolist() == [3, 0]
            assert not stretch.closed

    def test_a_whole_round(self):
        """From a place once round to itself."""
        stretch = sub_path(SQUARE, 3, 19)
        assert stretch.length_mm == pytest.approx(16)
        assert stretch.points[0] == pytest.approx(stretch.points[-1])
        assert not sub_path(SQUARE, 0, 16).closed

    def test_an_empty_stretch_is_refused(self):
        """A stretch without length is a mistake of the caller."""
        with pytest.raises(InternalError, match="has no length"):
            sub_path(SQUARE, 3, 3)

    def test_another_start(self):
        """A closed path started elsewhere is the same, tags and all."""
        other = start_at(SQUARE, 6.0)
        assert other.points[0] == pytest.approx([4, 2])
        assert other.tags.tolist() == [1, 2, 3, 0, 1]
        assert other.closed
        assert start_at(SQUARE, 16.0) is SQUARE

    def test_joining_what_does_not_meet_is_refused(self):
        """Paths apart by more than a micrometre are not joined silently."""
        with pytest.raises(InternalError, match="apart"):
            concatenate([SQUARE.slice(0, 1), SQUARE.slice(2, 3)])
