"""The centre path along an edge: exact lengths, what is treated, what is missed, and feeds."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import polygon, rectangle

from edgetime.moves import MoveKind
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths


def paths_along(outline, *cutouts, contour=0, diameter=100.0, step=None, **run):
    """Return the tool paths of one pass along a contour."""
    load = a_load([a_part(outline, *cutouts)], tools=[a_tool(diameter)])
    made = a_run(load, 0, contour, **run)
    return build_tool_paths(a_plan(load, [a_pass(load, made, step or a_step())]))


def cut_length(paths):
    """Return the length of the centre in the cut [mm]."""
    return float(paths.moves.length[paths.moves.kind == MoveKind.CUT].sum())


def treated(paths):
    """Return the edge treated [mm]."""
    return float(paths.moves.treated.sum())


def test_rectangle_is_rolled_at_its_corners():
    """The centre path around a convex outline is P + 2 π R long (Steiner)."""
    paths = paths_along(rectangle(1000.0, 600.0, x=500.0, y=500.0))
    assert cut_length(paths) == pytest.approx(3200.0 + 100.0 * math.pi, rel=1e-12)
    assert treated(paths) == pytest.approx(3200.0, rel=1e-12)


def test_rolled_corners_are_cut_and_treat_nothing():
    """The tool stays in contact on a rolled corner: in the cut, no edge treated, no stone taken."""
    moves = paths_along(rectangle(1000.0, 600.0, x=500.0, y=500.0)).moves
    rolled = (moves.bulge > 0.0) & (moves.kind == MoveKind.CUT)
    assert int(rolled.sum()) == 4
    assert moves.length[rolled] == pytest.approx(0.5 * math.pi * 50.0, rel=1e-12)
    assert not moves.treated[rolled].any()
    assert not moves.volume[rolled].any()


def test_sharp_inside_corner_shortens_both_sides():
    """An L-shape has five rolled corners and loses R on both sides of the inside one."""
    outline = polygon([(0, 0), (800, 0), (800, 400), (400, 400), (400, 800), (0, 800)])
    paths = paths_along(outline)
    assert cut_length(paths) == pytest.approx(3200.0 + 5 * math.pi * 25.0 - 100.0, rel=1e-12)
    assert treated(paths) == pytest.approx(3200.0 - 100.0, rel=1e-12)
    assert paths.hand_mm == pytest.approx(100.0, rel=1e-12)


@pytest.mark.parametrize(
    ("radius", "length", "missed"),
    [
        (70.0, 2 * 700.0 - 8 * 70.0 + 2 * math.pi * 20.0, 0.0),
        (50.0, 2 * 700.0 - 8 * 50.0, 0.0),
        (30.0, 2 * 700.0 - 8 * 50.0, 4 * (2 * 20.0 + 0.5 * math.pi * 30.0)),
        (0.0, 2 * 700.0 - 8 * 50.0, 4 * 100.0),
    ],
)
def test_cutout_corners_of_every_size(radius, length, missed):
    """In a 400 × 300 cutout a wheel of R = 50 follows corners of r ≥ R and misses tighter ones."""
    cutout = rectangle(400.0, 300.0, x=700.0, y=650.0, radius=radius, hand=-1)
    perimeter = 2 * 700.0 - 8 * radius + 2 * math.pi * radius
    paths = paths_along(rectangle(1000.0, 600.0, x=500.0, y=500.0), cutout, contour=1)
    assert cut_length(paths) == pytest.approx(length, rel=1e-12)
    assert treated(paths) == pytest.approx(perimeter - missed, rel=1e-12)
    assert paths.hand_mm == pytest.approx(missed, rel=1e-12, abs=1e-9)
    codes = [f.code for f in paths.findings if f.code != "contact-feed"]
    assert codes == (["inside-radius"] if missed else [])


def test_clearance_asks_for_a_larger_radius():
    """A corner of r = 52 suits R = 50 without clearance and is left out when 5 mm are asked."""
    cutout = rectangle(400.0, 300.0, x=700.0, y=650.0, radius=52.0, hand=-1)
    load = a_load(
        [a_part(rectangle(1000.0, 600.0, x=500.0, y=500.0), cutout)],
        tools=[a_tool(100.0), a_tool(100.0, clearance_mm=5.0, name="wide")],
    )
    run = a_run(load, 0, 1)
    passes = [a_pass(load, run), a_pass(load, run, a_step(tool="wide"), visit=1)]
    paths = build_tool_paths(a_plan(load, passes))
    assert paths.hand_mm == pytest.approx(4 * 0.5 * math.pi * 52.0, rel=1e-12)
    (finding,) = (f for f in paths.findings if f.code != "contact-feed")
    assert finding.code == "inside-radius"
    assert "52.0 mm" in finding.message
    assert "needs 55.0 mm" in finding.message


def test_slot_narrower_than_the_tool_is_left_out():
    """A slot 60 mm wide in the front edge is passed by a wheel of 100 mm and reported."""
    outline = polygon(
        [(0, 0), (500, 0), (500, 300), (560, 300), (560, 0), (1000, 0), (1000, 600), (0, 600)]
    )
    paths = paths_along(outline)
    # Entering the mouth, the centre dips between the two corners it rolls about.
    dip = 2.0 * math.asin(30.0 / 50.0)
    straight = 500.0 + 440.0 + 600.0 + 1000.0 + 600.0
    assert treated(paths) == pytest.approx(straight, rel=1e-12)
    assert cut_length(paths) == pytest.approx(straight + 4 * math.pi * 25.0 + 50.0 * dip, rel=1e-12)
    assert paths.hand_mm == pytest.approx(300.0 + 60.0 + 300.0, rel=1e-12)
    (finding,) = (f for f in paths.findings if f.code != "wheel-off-table")
    assert finding.code == "opening-narrow"
    assert "660.0 mm in 1 place left out of polish" in finding.message


def test_round_ended_slot_is_too_narrow():
    """A slot without any tight corner is reported as too narrow, with what it admits."""
    r = 30.0
    cutout = polygon(
        [(700, 700), (900, 700), (900, 700 + 2 * r), (700, 700 + 2 * r)], [0.0, 1.0, 0.0, 1.0]
    ).reversed()
    step = a_step(operation=Operation.FINE)
    paths = paths_along(rectangle(1000.0, 600.0, x=500.0, y=500.0), cutout, contour=1, step=step)
    assert len(paths.moves) == 0
    assert paths.change_rows == paths.plan.visits == ()
    assert paths.hand_mm == pytest.approx(400.0 + 2.0 * math.pi * r, rel=1e-12)
    assert "30.0 mm" in paths.findings[0].message


def test_straight_opening_admits_half_its_width():
    """Between two straight sides 60 mm apart the largest radius that fits is 30 mm."""
    cutout = polygon(
        [(700, 700), (900, 700), (900, 760), (700, 760)], [0.0, 1.0, 0.0, 1.0]
    ).reversed()
    outline = rectangle(1000.0, 600.0, x=500.0, y=500.0)
    paths = paths_along(outline, cutout, contour=1, first=1, stop=2)
    (finding,) = paths.findings
    assert finding.code == "opening-narrow"
    assert "admits a radius of 30.0 mm" in finding.message


def test_open_run_stops_at_its_ends():
    """Where a run is not free at its ends the centre stops exactly square to them."""
    paths = paths_along(rectangle(1000.0, 600.0, x=500.0, y=500.0), first=0, stop=1)
    cut = np.flatnonzero(paths.moves.kind == MoveKind.CUT)
    assert len(cut) == 1
    assert paths.moves.start[cut[0]] == pytest.approx([500.0, 450.0, -30.0])
    assert paths.moves.end[cut[0]] == pytest.approx([1500.0, 450.0, -30.0])


def test_open_run_keeps_off_the_rest_of_its_contour():
    """A run that ends in an inside corner stops where the wheel meets the wall edge there."""
    outline = polygon([(0, 0), (800, 0), (800, 400), (400, 400), (400, 800), (0, 800)])
    # The edge from (800, 400) to (400, 400); the next one rises from its end.
    paths = paths_along(outline, first=2, stop=3)
    assert treated(paths) == pytest.approx(400.0 - 50.0, rel=1e-12)
    assert paths.hand_mm == pytest.approx(50.0, rel=1e-12)


@pytest.mark.parametrize(
    ("cap", "expected"),
    [(math.inf, 30.0), (15.0, 15.0 * 150.0 / 100.0), (25.0, 30.0)],
)
def test_outer_arc_caps_the_contact_feed(cap, expected):
    """On an outer arc of r = 100 the contact moves at F r/(r + R); a cap on it slows the centre."""
    outline = rectangle(1000.0, 600.0, x=500.0, y=500.0, radius=100.0)
    moves = paths_along(outline, step=a_step(edge_feed_cap_mm_per_s=cap)).moves
    arcs = (moves.bulge > 0.0) & (moves.kind == MoveKind.CUT)
    assert moves.feed[arcs] == pytest.approx(expected, rel=1e-12)
    straight = (moves.bulge == 0.0) & (moves.kind == MoveKind.CUT)
    assert moves.feed[straight] == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("hold", "floor", "expected"),
    [(False, 0.1, 30.0), (True, 0.1, 30.0 * 20.0 / 70.0), (True, 0.5, 15.0)],
)
def test_inside_arc_holds_the_contact_feed(hold, floor, expected):
    """On an inside arc of r = 70 a held contact feed slows the centre to F (r - R)/r, or its floor."""
    cutout = rectangle(400.0, 300.0, x=700.0, y=650.0, radius=70.0, hand=-1)
    step = a_step(hold_contact_feed=hold, feed_floor=floor)
    outline = rectangle(1000.0, 600.0, x=500.0, y=500.0)
    moves = paths_along(outline, cutout, contour=1, step=step).moves
    arcs = (moves.bulge < 0.0) & (moves.kind == MoveKind.CUT)
    assert int(arcs.sum()) == 4
    assert moves.feed[arcs] == pytest.approx(expected, rel=1e-12)


def test_rolled_corners_keep_the_programmed_feed():
    """On a rolled corner the contact stands still, so a cap on its feed does nothing there."""
    step = a_step(edge_feed_cap_mm_per_s=1.0)
    moves = paths_along(rectangle(1000.0, 600.0, x=500.0, y=500.0), step=step).moves
    assert moves.feed[moves.kind == MoveKind.CUT] == pytest.approx(30.0)


def test_volume_is_section_times_treated_edge():
    """A finishing pass removes its cross-section of 2 mm² along all the edge it treats."""
    paths = paths_along(rectangle(1000.0, 600.0, x=500.0, y=500.0))
    assert float(paths.moves.volume.sum()) == pytest.approx(2.0 * 3200.0, rel=1e-12)


def test_hand_work_is_the_union_over_finishing_steps():
    """Two wheels miss nested stretches: the longer counts once; a roughing wheel counts not at all."""
    cutout = rectangle(400.0, 300.0, x=700.0, y=650.0, radius=30.0, hand=-1)
    tools = [a_tool(100.0), a_tool(80.0, name="small"), a_tool(120.0, name="drum")]
    load = a_load([a_part(rectangle(1000.0, 600.0, x=500.0, y=500.0), cutout)], tools=tools)
    run = a_run(load, 0, 1)
    passes = [
        a_pass(load, run, a_step(tool="drum", operation=Operation.ROUGH, name="rough")),
        a_pass(load, run, a_step(), visit=1),
        a_pass(load, run, a_step(tool="small", name="fine"), visit=2),
    ]
    paths = build_tool_paths(a_plan(load, passes))
    assert paths.hand_mm == pytest.approx(4 * (2 * 20.0 + 0.5 * math.pi * 30.0), rel=1e-12)
    assert len(paths.hand) == 4
    assert {h.contour for h in paths.hand} == {1}
    # One finding per tool radius.
    assert len(paths.findings) == 3


def test_hand_work_is_split_by_profile():
    """A missed corner between two profiles counts half for each."""
    load = a_load(
        [a_part(polygon([(0, 0), (800, 0), (800, 400), (400, 400), (400, 800), (0, 800)]))]
    )
    path = load.parts[0].part.outline.path
    tagged = type(path)(path.points, path.bulges, path.lengths, True, np.array([0, 0, 0, 1, 1, 1]))
    run = a_run(load, path=tagged)
    plan = a_plan(load, [a_pass(load, run, removed_mm2=(2.0, 3.0))], profiles=("bevel", "eased"))
    paths = build_tool_paths(plan)
    assert {h.profile: round(h.length_mm, 6) for h in paths.hand} == {"bevel": 50.0, "eased": 50.0}
    by_profile = [paths.moves.treated[paths.moves.profile == k].sum() for k in (0, 1)]
    assert by_profile == pytest.approx([1550.0, 1550.0], rel=1e-12)
    assert float(paths.moves.volume.sum()) == pytest.approx(5.0 * 1550.0, rel=1e-12)
