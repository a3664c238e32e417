"""Offsets where tools meet corners, slots, pockets, free ends and other curves."""

import math

import numpy as np
import pytest
from support.curves import ellipse_arc_length, unreached_mm

from edgetime.geometry.measure import distance, point_at
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path, segment_lengths
from edgetime.geometry.segments import Segments
from edgetime.geometry.smooth import smooth_path

QUARTER = math.sqrt(2.0) - 1.0


def closed(*points, bulges=None):
    return Path.from_bulges(points, bulges, closed=True)


@pytest.fixture
def slotted():
    """Return a worktop of 100 x 100 with a slot 6 wide and 70 deep from above."""
    return closed(
        (0, 0), (100, 0), (100, 100), (53, 100), (53, 30), (47, 30), (47, 100), (0, 100)
    )  # fmt: skip


@pytest.fixture
def pocketed():
    """Return a worktop with a pocket of 100 x 100 behind a mouth of 6."""
    return closed(
        (0, 0), (200, 0), (200, 200), (103, 200), (103, 150), (150, 150), (150, 50), (50, 50),
        (50, 150), (97, 150), (97, 200), (0, 200),
    )  # fmt: skip


@pytest.fixture
def sink():
    """Return a cutout of 500 x 400 with corners of radius 60, clockwise."""
    r = 60.0
    points = [
        (r, 0), (0, r), (0, 400 - r), (r, 400), (500 - r, 400), (500, 400 - r), (500, r),
        (500 - r, 0),
    ]  # fmt: skip
    return closed(*points, bulges=[-QUARTER, 0] * 4)


def filleted(radius):
    """Return an open inside corner of a given radius between two runs of 200."""
    return Path.from_bulges(
        [(200 + radius, 0), (radius, 0), (0, radius), (0, 200 + radius)], [0, -QUARTER, 0]
    )


class TestCorners:
    def test_a_convex_corner_is_rolled_about_its_vertex(self):
        """The arc has the tool's radius, its centre at the vertex, and treats nothing."""
        found = offset_path(Path.from_bulges([(0, 0), (100, 0), (100, 100)]), 10.0)
        chain = found.chains[0]
        assert found.rolled[0].tolist() == [False, True, False]
        assert Segments.of(chain).centre[1] == pytest.approx([100, 0], abs=1e-9)
        assert chain.lengths == pytest.approx([100, 5 * math.pi, 100])
        assert found.treated[0] == pytest.approx([100, 0, 100])
        assert found.spans[0] == pytest.approx(np.array([[0, 100], [100, 100], [100, 200]]))
        assert chain.tags.tolist() == [0, 0, 1]

    def test_a_concave_corner_is_trimmed_at_the_crossing(self):
        """The tool comes no nearer to the corner than its radius, on either side."""
        found = offset_path(Path.from_bulges([(100, 0), (0, 0), (0, 100)]), 10.0)
        chain = found.chains[0]
        assert chain.points == pytest.approx(np.array([[100, 10], [10, 10], [10, 100]]))
        assert found.treated[0] == pytest.approx([90, 90])
        assert found.unreached == pytest.approx(np.array([[90, 110]]))

    def test_a_blunt_concave_corner_is_trimmed_to_its_tangent_lengths(self):
        """A corner of 0.001 rad loses d tan(half the turn) on either side."""
        turn = 1e-3
        path = Path.from_bulges([(-100, 0), (0, 0), (100 * math.cos(turn), -100 * math.sin(turn))])
        found = offset_path(path, 50.0)
        assert len(found.chains) == 1
        assert found.length_mm == pytest.approx(200 - 100 * math.tan(turn / 2), abs=1e-9)

    def test_a_spike_is_rolled_half_round(self):
        """A line there and back opens on the right by half a turn."""
        found = offset_path(Path.from_bulges([(0, 0), (100, 0), (0, 0)]), 5.0)
        assert found.length_mm == pytest.approx(200 + 5 * math.pi)


class TestInsideArcs:
    @pytest.mark.parametrize("radius", [50.0, 60.0, 500.0])
    def test_an_arc_no_tighter_than_the_tool_is_followed(self, radius):
        """All is treated, the arc at its radius less the tool's."""
        path = filleted(radius)
        found = offset_path(path, 50.0)
        assert len(found.chains) == 1
        assert found.unreached.shape == (0, 2)
        assert found.treated_mm == pytest.approx(path.length_mm)
        assert found.length_mm == pytest.approx(path.length_mm - 25 * math.pi, abs=1e-9)

    def test_a_tighter_arc_is_not_entered(self):
        """Radius 20, tool 50: the tool touches both runs 30 from the arc's ends, and no more."""
        path = filleted(20.0)
        found = offset_path(path, 50.0)
        assert len(found.chains) == 1
        assert found.chains[0].points[1] == pytest.approx([50, 50])
        assert found.unreached == pytest.approx(np.array([[170, 230 + 10 * math.pi]]))

    def test_clearance_leaves_a_passable_arc_out(self):
        """Radius 52, tool 50, clearance 3: the tool passes, but the arc is not treated."""
        path = filleted(52.0)
        found = offset_path(path, 50.0, clearance_mm=3.0)
        assert len(found.chains) == 1
        assert found.treated[0] == pytest.approx([200, 0, 200])
        assert found.unreached == pytest.approx(np.array([[200, 200 + 26 * math.pi]]))
        assert distance(path, point_at(found.chains[0], [201.0])) > 50.0
        assert offset_path(path, 50.0, clearance_mm=2.0).unreached.shape == (0, 2)

    def test_a_sink_of_just_the_clearance(self, sink):
        """Radius 60: a tool of 57 with 3 to spare goes all round, one of 58 leaves the corners."""
        assert offset_path(sink, 57.0, clearance_mm=3.0).unreached.shape == (0, 2)
        found = offset_path(sink, 58.0, clearance_mm=3.0)
        assert unreached_mm(found) == pytest.approx(4 * 30 * math.pi)
        assert found.chains[0].closed

    def test_a_round_hole_the_tool_just_fills(self):
        """The tool stands still in a hole of its own size, and treats it all."""
        hole = closed((5, 0), (-5, 0), bulges=[-1, -1])
        found = offset_path(hole, 5.0)
        assert found.length_mm == pytest.approx(0.0, abs=1e-9)
        assert found.treated_mm == pytest.approx(10 * math.pi)

    def test_a_round_hole_smaller_than_the_tool(self):
        """Nothing is reached, and that is said once."""
        hole = closed((5, 0), (-5, 0), bulges=[-1, -1])
        found = offset_path(hole, 6.0)
        assert found.chains == ()
        assert found.unreached == pytest.approx(np.array([[0, 10 * math.pi]]))
        with_clearance = offset_path(hole, 4.0, clearance_mm=2.0)
        assert with_clearance.chains == ()
        assert unreached_mm(with_clearance) == pytest.approx(10 * math.pi)


class TestNarrowPlaces:
    def test_a_slot_wide_enough_is_gone_through(self, slotted):
        """A tool of radius 2 in a slot of 6 misses only the two corners of its floor."""
        found = offset_path(slotted, 2.0)
        assert found.unreached == pytest.approx(np.array([[315, 319], [321, 325]]))

    def test_a_slot_too_narrow_is_passed_over(self, slotted):
        """A tool of radius 5 dips sqrt(25 - 9) = 4 short of 5 into the mouth of a slot of 6."""
        found = offset_path(slotted, 5.0)
        assert len(found.chains) == 1
        assert found.chains[0].closed
        # Both mouth corners are rolled until the tool meets the other: half an angle of
        # acos(3/5) short of a quarter turn, as the slot is 6 wide.
        rolled = 2 * math.pi * 5 + 2 * 5 * math.asin(3 / 5)
        assert found.length_mm == pytest.approx(300 + 94 + rolled)
        assert found.unreached == pytest.approx(np.array([[247, 393]]))

    def test_a_pocket_behind_a_narrow_mouth_has_its_own_chain(self, pocketed):
        """The tool fits the pocket, not the mouth: an outer chain and one inside, in order."""
        found = offset_path(pocketed, 10.0)
        assert [c.closed for c in found.chains] == [True, True]
        assert found.treated_mm + unreached_mm(found) == pytest.approx(pocketed.length_mm)
        starts = [spans[0, 0] for spans in found.spans]
        assert starts == sorted(starts)
        for chain in found.chains:
            away = distance(pocketed, point_at(chain, np.linspace(0, chain.length_mm, 500)))
            assert away == pytest.approx(np.full(500, 10.0), abs=1e-9)

    def test_distant_stretches_of_an_open_path_collide(self):
        """A hairpin of gap 15 keeps out a tool of radius 10 all along, but for its outsides."""
        path = Path.from_bulges([(0, 15), (300, 15), (300, 0), (0, 0)])
        assert offset_path(path, 10.0).treated_mm == 0.0
        assert offset_path(path, 10.0).unreached == pytest.approx(np.array([[0, 615]]))
        assert offset_path(path, -10.0).treated_mm == pytest.approx(615.0)

    def test_a_free_end_keeps_its_distance_too(self):
        """An end that points at the edge keeps the tool off by a disc about it."""
        path = Path.from_bulges([(0, 0), (200, 0), (200, 100), (100, 100), (100, 8)])
        # Offset to the left; the end at (100, 8) stands over the first run.
        found = offset_path(path, -5.0)
        half = math.sqrt(25 - 9)
        assert found.unreached[0] == pytest.approx([100 - half, 100 + half])


class TestAgainst:
    def test_the_rest_of_the_contour_stops_a_run(self):
        """A run that ends in an inside corner stops a radius short of the wall."""
        run = Path.from_bulges([(300, 0), (0, 0)])
        wall = Path.from_bulges([(0, 0), (0, 200)])
        free = offset_path(run, 20.0)
        held = offset_path(run, 20.0, against=[wall])
        assert free.treated_mm == pytest.approx(300)
        assert held.unreached == pytest.approx(np.array([[280, 300]]))

    def test_a_neighbour_interrupts_a_run(self):
        """A corner 10 from the edge keeps a tool of radius 20 off on both sides of it."""
        run = Path.from_bulges([(300, 0), (0, 0)])
        part = closed((150, 10), (250, 110), (50, 110))
        found = offset_path(run, 20.0, against=[part])
        # At the height of the tool's centre, 20, the sloping sides are 20 away at
        # x = 150 ± (10 + 20 sqrt 2).
        half = 10 + 20 * math.sqrt(2)
        assert len(found.chains) == 2
        assert found.unreached == pytest.approx(np.array([[150 - half, 150 + half]]))


class TestKeeping:
    def test_zero_distance_is_the_path(self, sink):
        """Without a distance the path stays as it is."""
        found = offset_path(sink, 0.0)
        assert np.array_equal(found.chains[0].points, sink.points)
        assert found.chains[0].tags.tolist() == list(range(8))
        assert found.unreached.shape == (0, 2)

    def test_left_is_right_of_the_reverse(self, pocketed):
        """A negative distance is an offset of the reversed path, told along the path itself."""
        left = offset_path(pocketed, -3.0)
        right = offset_path(pocketed.reversed(), 3.0)
        assert left.length_mm == pytest.approx(right.length_mm)
        assert left.unreached == pytest.approx(pocketed.length_mm - right.unreached[::-1, ::-1])
        spans = np.vstack(left.spans)
        treated = np.concatenate(left.treated)
        assert spans[:, 1] - spans[:, 0] == pytest.approx(treated)
        marks = np.concatenate([[0], np.cumsum(pocketed.lengths)])
        tags = np.concatenate([c.tags for c in left.chains])
        assert (spans[:, 0] >= marks[tags] - 1e-9).all()
        assert (spans[:, 1] <= marks[tags + 1] + 1e-9).all()

    def test_closed_chain_begins_at_the_source_start(self, sink):
        """A chain that goes all round begins beside the start of its source."""
        found = offset_path(sink, 20.0)
        assert found.spans[0][0, 0] == 0.0
        assert np.hypot(*(found.chains[0].points[0] - sink.points[0])) == pytest.approx(20.0)

    def test_exact_lengths_of_an_ellipse_stay_exact(self):
        """The parallel of an ellipse is 2 pi d longer than the ellipse, not than its arcs."""

        def position(t):
            return np.column_stack([500 * np.cos(t), 300 * np.sin(t)])

        def derivative(t):
            return np.column_stack([-500 * np.sin(t), 300 * np.cos(t)])

        path = smooth_path(
            position, derivative, np.linspace(0, 2 * math.pi, 5), tolerance_mm=0.1, closed=True
        )
        perimeter = ellipse_arc_length(500, 300, 0, 2 * math.pi)
        for d in (50.0, -50.0, -170.0):
            found = offset_path(path, d)
            assert found.length_mm == pytest.approx(perimeter + 2 * math.pi * d, rel=1e-9)
        # The smallest radius of curvature is b²/a = 180: a tool of 190 does not fit the ends.
        assert unreached_mm(offset_path(path, -190.0)) > 100.0
        assert abs(segment_lengths(path.points, path.bulges).sum() - perimeter) > 1e-3

    def test_segments_without_length_are_passed_over(self):
        """A doubled vertex makes neither a corner nor a gap."""
        path = closed((0, 0), (100, 0), (100, 0), (100, 50), (0, 50))
        found = offset_path(path, 7.0)
        assert found.length_mm == pytest.approx(300 + 14 * math.pi)
        assert found.chains[0].closed
