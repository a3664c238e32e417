"""Edge runs: where they begin and end, and whether their ends are free."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support.catalogue import a_load, a_part, a_rectangle

from edgetime.geometry.measure import bounds, corner_turns, signed_area
from edgetime.geometry.path import Path
from edgetime.passes import EdgeRun, plan_passes
from edgetime.passes.runs import circle_run, mirrored
from edgetime.places import Place


def runs_of(plan, tool):
    """Return the runs of a tool, each once, in running order."""
    return list({id(p.run): p.run for p in plan.passes if p.step.tool == tool}.values())


def pad_runs(profiles, path=None):
    """Return the polishing runs of one part."""
    part = a_rectangle(profiles) if path is None else a_part(path, profiles)
    return runs_of(plan_passes(a_load(part)), "pad")


def test_whole_contour_is_one_closed_run():
    """Four eased edges are one closed run of 2 × (1000 + 600) mm without free ends."""
    (run,) = pad_runs("eased")
    assert run.path.closed
    assert run.path.length_mm == 3200.0
    assert not run.free_start
    assert not run.free_end


def test_wall_edges_part_the_runs():
    """Front and back polished, sides left: two runs of 1000 mm with four free corners."""
    runs = pad_runs(["eased", "unfinished", "eased", "unfinished"])
    assert [r.path.length_mm for r in runs] == [1000.0, 1000.0]
    assert all(not r.path.closed and r.free_start and r.free_end for r in runs)


def test_run_goes_on_over_the_contour_s_start():
    """Left and front edge meet where the contour starts; they are one run of 600 + 1000 mm."""
    (run,) = pad_runs(["eased", "unfinished", "unfinished", "eased"])
    assert run.path.points.tolist() == [[500.0, 1100.0], [500.0, 500.0], [1500.0, 500.0]]
    assert run.path.lengths.tolist() == [600.0, 1000.0]


def test_rough_and_pad_run_on_through_a_change_of_profile_but_a_wheel_does_not():
    """One run with two profiles for drum and pad; one run per profile for the profiled wheel."""
    plan = plan_passes(a_load(a_rectangle(["eased", "half-bullnose", "unfinished", "unfinished"])))
    for tool in ("drum", "pad"):
        (run,) = runs_of(plan, tool)
        assert [plan.profiles[t] for t in run.path.tags] == ["eased", "half-bullnose"]
    wheel = runs_of(plan, "wheel")
    assert [r.path.length_mm for r in wheel] == [1000.0, 600.0]
    assert [v.piece for v in plan.visits if v.tool == "wheel"] == [
        "wheel/eased",
        "wheel/half-bullnose",
    ]


def test_steps_with_the_same_stretch_share_one_run():
    """Drum and pad follow the same edges, so they have the same run object."""
    plan = plan_passes(a_load(a_rectangle(["eased", "unfinished", "eased", "unfinished"])))
    assert [id(r) for r in runs_of(plan, "drum")] == [id(r) for r in runs_of(plan, "pad")]


def test_two_profiles_all_round_close_for_the_pad_and_part_for_the_wheel():
    """A whole contour of two profiles is closed for a pad, two open runs for a wheel."""
    plan = plan_passes(a_load(a_rectangle(["eased", "eased", "half-bullnose", "half-bullnose"])))
    (pad,) = runs_of(plan, "pad")
    assert pad.path.closed
    assert [r.path.closed for r in runs_of(plan, "wheel")] == [False, False]
    assert [r.path.length_mm for r in runs_of(plan, "wheel")] == [1600.0, 1600.0]


def test_edge_that_goes_straight_on_is_no_free_end():
    """Half of the front edge polished: free at the corner, not where the wall edge goes on."""
    path = Path.from_bulges([(0, 0), (500, 0), (1000, 0), (1000, 600), (0, 600)], closed=True)
    (run,) = pad_runs(["eased", *["unfinished"] * 4], path)
    assert (run.free_start, run.free_end) == (True, False)
    (run,) = pad_runs(["unfinished", "eased", *["unfinished"] * 3], path)
    assert (run.free_start, run.free_end) == (False, True)


def test_inside_corner_is_no_free_end():
    """At the inner corner of an L the next edge stands in the way."""
    path = Path.from_bulges(
        [(0, 0), (2000, 0), (2000, 600), (600, 600), (600, 1800), (0, 1800)], closed=True
    )
    profiles = ["unfinished"] * 6
    profiles[2] = "eased"
    (run,) = pad_runs(profiles, path)
    assert run.path.points.tolist() == [[2000.0, 600.0], [600.0, 600.0]]
    assert (run.free_start, run.free_end) == (True, False)


@pytest.mark.parametrize(("degrees", "free"), [(20.0, False), (29.0, False), (31.0, True)])
def test_corner_is_free_from_thirty_degrees(degrees, free):
    """A front edge that bends away by so much at its end may be overrun there, or not."""
    a = math.radians(degrees)
    bend = (1000.0 + 400.0 * math.cos(a), 400.0 * math.sin(a))
    path = Path.from_bulges([(0, 0), (1000, 0), bend, (1000, 900), (0, 900)], closed=True)
    (run,) = pad_runs(["eased", *["unfinished"] * 4], path)
    assert run.free_end is free
    assert corner_turns(path)[0] == pytest.approx(a)


def test_core_run_is_a_clockwise_circle_without_profile():
    """The run of a core bit bounds a disc on its right, with no profile index."""
    run = circle_run(0, -1, Place.HOLE, (100.0, 200.0), 35.0)
    assert signed_area(run.path) == pytest.approx(-math.pi * 35.0**2 / 4.0)
    assert bounds(run.path) == pytest.approx((82.5, 182.5, 117.5, 217.5))
    assert run.path.tags.tolist() == [-1, -1]


def test_mirrored_run_keeps_the_stone_on_its_left():
    """Turned over about x = 50, a circle arc keeps length, side and way of turning."""
    path = Path.from_bulges([(0, 0), (80, 0), (100, 20)], [0.0, math.tan(math.pi / 8)], tags=[3, 5])
    run = mirrored(EdgeRun(0, 0, path, Place.OUTER, free_start=True, free_end=False), 50.0)
    assert run.path.points.tolist() == [[0.0, 20.0], [20.0, 0.0], [100.0, 0.0]]
    assert run.path.bulges.tolist() == path.bulges[::-1].tolist()
    assert run.path.tags.tolist() == [5, 3]
    assert (run.free_start, run.free_end) == (False, True)
    closed = circle_run(0, -1, Place.HOLE, (10.0, 0.0), 8.0)
    turned = mirrored(closed, 50.0)
    assert signed_area(turned.path) == pytest.approx(signed_area(closed.path))
    assert bounds(turned.path) == pytest.approx((86.0, -4.0, 94.0, 4.0))
    assert np.array_equal(turned.path.lengths, closed.path.lengths)
