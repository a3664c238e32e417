"""Faces: what runs as the parts lie, what after they were turned over."""

from __future__ import annotations

from support.catalogue import a_load, a_part, a_rectangle
from support.shapes import polygon

from edgetime.passes import plan_passes
from edgetime.tooling import Operation


def sides(plan, tool):
    """Return (side, profile) of a tool's runs."""
    return sorted(
        {
            (plan.visits[p.visit].side, plan.profiles[t])
            for p in plan.passes
            if p.step.tool == tool
            for t in p.run.path.tags.tolist()
        }
    )


def test_profiles_that_need_the_back_up_run_after_a_flip():
    """An ogee made face down beside an eased edge: the ogee runs on side 1, after the flip."""
    plan = plan_passes(a_load(a_rectangle(["eased", "ogee", "unfinished", "unfinished"])))
    assert sides(plan, "wheel") == [(0, "eased"), (1, "ogee")]
    assert sides(plan, "pad") == [(0, "eased"), (1, "ogee")]
    (flip,) = plan.stops
    first = next(v for v, visit in enumerate(plan.visits) if visit.side == 1)
    assert (flip.reason, flip.before_visit, flip.parts) == ("flip", first, (0,))
    assert flip.seconds == 60.0 + 20.0
    assert all(v.side == 1 for v in plan.visits[first:])


def test_walls_are_roughed_as_the_parts_lie_first():
    """The drum takes the ogee's stock on side 0, with the eased edge in one run."""
    plan = plan_passes(a_load(a_rectangle(["eased", "ogee", "unfinished", "unfinished"])))
    assert sides(plan, "drum") == [(0, "eased"), (0, "ogee")]


def test_part_with_only_such_profiles_is_loaded_face_down():
    """No flip for a part whose only profile is an ogee; another part of the load has none."""
    parts = (a_rectangle("ogee"), a_rectangle("eased", y=1300.0, name="p02"))
    plan = plan_passes(a_load(*parts))
    assert {v.side for v in plan.visits} == {0}
    assert plan.stops == ()


def test_flip_counts_the_parts_that_are_turned():
    """Two of three parts are turned over: 2 × 60 s and one stop of 20 s."""
    mixed = ["eased", "ogee", "unfinished", "unfinished"]
    parts = (
        a_rectangle(mixed, depth=300.0, y=0.0),
        a_rectangle("eased", depth=300.0, y=500.0, name="p02"),
        a_rectangle(mixed, depth=300.0, y=1000.0, name="p03"),
    )
    (flip,) = plan_passes(a_load(*parts)).stops
    assert flip.parts == (0, 2)
    assert flip.seconds == 2 * 60.0 + 20.0


def test_two_sided_profile_runs_on_both_sides_with_half_the_section():
    """A full bullnose of 80 mm²: 40 mm² a side, 75 % of it in two passes of the wheel."""
    plan = plan_passes(a_load(a_rectangle("full-bullnose")))
    assert sides(plan, "wheel") == [(0, "full-bullnose"), (1, "full-bullnose")]
    wheel = [p for p in plan.passes if p.step.operation is Operation.PROFILE]
    assert [p.removed_mm2 for p in wheel] == [(15.0,)] * 4
    finishing = [p for p in plan.passes if p.step.operation.finishing]
    assert sum(p.removed_mm2[0] for p in finishing) == 80.0


def test_turned_runs_are_mirrored_in_place():
    """About x = 500, the slant side of a trapezoid from (1000, 0) to (700, 600) lies left."""
    path = polygon([(0, 0), (1000, 0), (700, 600), (0, 600)])
    plan = plan_passes(a_load(a_part(path, ["eased", "ogee", "unfinished", "unfinished"])))
    run = next(p.run for p in plan.passes if plan.visits[p.visit].side == 1)
    # Stone on the left: down the slant side, where it went up before.
    assert run.path.points.tolist() == [[300.0, 600.0], [0.0, 0.0]]
    assert (run.free_start, run.free_end) == (True, True)


def test_a_wheel_back_on_the_second_side_is_the_same_piece():
    """The wheel of a full bullnose takes one pocket for its two stays."""
    plan = plan_passes(a_load(a_rectangle("full-bullnose")))
    stays = [v for v in plan.visits if v.tool == "wheel"]
    assert [(v.piece, v.side) for v in stays] == [
        ("wheel/full-bullnose", 0),
        ("wheel/full-bullnose", 1),
    ]
