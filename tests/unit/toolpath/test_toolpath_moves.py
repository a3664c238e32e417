"""Travel, leads, plunges and the order of rows."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from support.catalogue import MACHINE
from support.plans import THICKNESS_MM, a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import polygon, rectangle

from edgetime.geometry.path import Path
from edgetime.moves import NO_INDEX, MoveKind, move_lengths
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths

OUTLINE = rectangle(1000.0, 600.0, x=500.0, y=500.0)
ARC = a_step(lead="arc", lead_mm=30.0)


def kinds(paths):
    """Return the kinds of all moves, first letters."""
    return "".join(MoveKind(k).name[0] for k in paths.moves.kind)


def of_kind(paths, kind):
    """Return the row numbers of a kind."""
    return np.flatnonzero(paths.moves.kind == kind)


def build(load, *passes, **plan):
    return build_tool_paths(a_plan(load, list(passes), **plan))


@pytest.mark.parametrize("water_on_s", [0.0, 2.0])
def test_tool_stands_where_it_waits_for_water(water_on_s):
    """At the end of the way from the rack, in each stay; without a wait it goes on down."""
    load = a_load([a_part(OUTLINE)], machine=replace(MACHINE, water_on_s=water_on_s))
    moves = build(load, a_pass(load, a_run(load, first=0, stop=1))).moves
    assert moves.end[0, 2] == moves.end[-1, 2]
    assert bool(moves.exact_stop[0]) == (water_on_s > 0.0)


def test_one_visit_from_rack_to_rack():
    """A visit goes rack, over the start, down, along the edge, up, rack; each row's numbers fit."""
    load = a_load([a_part(OUTLINE)])
    paths = build(load, a_pass(load, a_run(load, first=0, stop=1)))
    assert kinds(paths) == "RRPCPRR"
    moves = paths.moves
    assert moves.start[0].tolist() == [-200.0, -200.0, 60.0]
    assert moves.end[:, 2].tolist() == [60.0, 5.0, -30.0, -30.0, 5.0, 60.0, 60.0]
    assert moves.end[-1].tolist() == [-200.0, -200.0, 60.0]
    assert moves.feed.tolist() == [math.inf, math.inf, 10.0, 30.0, 50.0, math.inf, math.inf]
    assert moves.exact_stop.tolist() == [True, False, True, True, False, False, True]
    assert paths.change_rows == ((1, 1),)
    assert moves.pass_index.tolist() == [NO_INDEX, 0, 0, 0, 0, 0, NO_INDEX]
    assert moves.part.tolist() == [NO_INDEX, 0, 0, 0, 0, 0, NO_INDEX]


def test_rows_are_connected_and_their_lengths_exact():
    """Every move starts where the one before ended, over visits and parts, and is as long as it is."""
    load = a_load(
        [a_part(OUTLINE), a_part(rectangle(500.0, 400.0, x=2000.0, y=500.0), name="p02")],
        tools=[a_tool(), a_tool(80.0, name="small")],
    )
    step = a_step(lead="arc", lead_mm=30.0, overlap_mm=80.0, dwell_s=2.0)
    passes = [
        a_pass(load, a_run(load, part), replace(step, tool=tool), visit=v, number=n, count=2)
        for v, tool in enumerate(("wheel", "small"))
        for part in (0, 1)
        for n in (1, 2)
    ]
    moves = build(load, *passes).moves
    assert np.array_equal(moves.end[:-1], moves.start[1:])
    own = move_lengths(moves.start, moves.end, moves.bulge)
    assert moves.length == pytest.approx(own, rel=1e-12, abs=1e-9)
    assert (np.diff(moves.visit) >= 0).all()
    assert np.isinf(moves.feed[moves.kind == MoveKind.RAPID]).all()
    assert np.isfinite(moves.feed[moves.kind != MoveKind.RAPID]).all()
    flat = np.isin(moves.kind, (MoveKind.LEAD, MoveKind.CUT))
    assert np.array_equal(moves.start[flat, 2], moves.end[flat, 2])


def test_arc_leads_are_tangent_quarter_circles():
    """The lead in ends and the lead out begins along the edge; each is π/2 · 30 mm long."""
    load = a_load([a_part(OUTLINE)])
    paths = build(load, a_pass(load, a_run(load), ARC))
    moves = paths.moves
    first, last = of_kind(paths, MoveKind.LEAD)
    assert moves.length[[first, last]] == pytest.approx(15.0 * math.pi, rel=1e-12)
    # The run begins in the middle of the front edge; the tool comes 30 mm from before and outside.
    assert moves.start[first] == pytest.approx([970.0, 420.0, -30.0])
    assert moves.end[last] == pytest.approx([1030.0, 420.0, -30.0])
    assert moves.bulge[[first, last]] == pytest.approx(-math.tan(math.pi / 8.0))


def test_straight_leads_are_square_to_the_edge():
    """A straight lead comes from the air at a right angle."""
    load = a_load([a_part(OUTLINE)])
    paths = build(load, a_pass(load, a_run(load), a_step(lead="straight", lead_mm=25.0)))
    first, last = of_kind(paths, MoveKind.LEAD)
    assert paths.moves.start[first] == pytest.approx([1000.0, 425.0, -30.0])
    assert paths.moves.end[last] == pytest.approx([1000.0, 425.0, -30.0])


def test_overlap_runs_on_over_the_start_by_edge_length():
    """An overlap of 520 mm of edge passes 500 mm of front edge, a rolled corner and 20 mm more."""
    load = a_load([a_part(OUTLINE)])
    paths = build(load, a_pass(load, a_run(load), a_step(overlap_mm=520.0)))
    lead = of_kind(paths, MoveKind.LEAD)
    length = paths.moves.length[lead]
    assert length == pytest.approx([500.0, 25.0 * math.pi, 20.0], rel=1e-9)
    assert paths.moves.treated[lead].tolist() == [0.0, 0.0, 0.0]
    assert paths.moves.end[lead[-1]] == pytest.approx([1550.0, 520.0, -30.0])


def test_free_ends_are_overrun_tangentially():
    """Free ends are overrun by 40 mm at feed, ends that are not free by nothing."""
    load = a_load([a_part(OUTLINE)])
    step = a_step(overrun_mm=40.0)
    free = build(load, a_pass(load, a_run(load, first=0, stop=1, free=(True, False)), step))
    (row,) = of_kind(free, MoveKind.LEAD)
    assert free.moves.start[row] == pytest.approx([460.0, 450.0, -30.0])
    assert free.moves.end[row] == pytest.approx([500.0, 450.0, -30.0])
    held = build(load, a_pass(load, a_run(load, first=0, stop=1), step))
    assert not len(of_kind(held, MoveKind.LEAD))


def test_lead_shrinks_in_a_small_cutout():
    """In a round hole of 160 mm a wheel of 100 mm has a centre circle of 30 mm: 40 mm halve to 20."""
    circle = Path.from_bulges([(1080.0, 800.0), (920.0, 800.0)], [-1.0, -1.0], closed=True)
    load = a_load([a_part(OUTLINE, circle)])
    paths = build(load, a_pass(load, a_run(load, 0, 1), a_step(lead="arc", lead_mm=40.0)))
    first, last = of_kind(paths, MoveKind.LEAD)
    assert paths.moves.length[[first, last]] == pytest.approx(10.0 * math.pi, rel=1e-12)


def test_lead_without_room_is_left_out():
    """With half a millimetre of play the tool goes down on the edge line itself."""
    circle = Path.from_bulges([(1050.5, 800.0), (949.5, 800.0)], [-1.0, -1.0], closed=True)
    load = a_load([a_part(OUTLINE, circle)])
    paths = build(load, a_pass(load, a_run(load, 0, 1), ARC))
    assert not len(of_kind(paths, MoveKind.LEAD))
    assert len(of_kind(paths, MoveKind.CUT)) == 3


def test_passes_of_a_closed_run_stay_down():
    """Between two passes of one closed run the tool shifts at depth, without rapids."""
    load = a_load([a_part(OUTLINE)])
    run = a_run(load)
    paths = build(
        load,
        a_pass(load, run, ARC, offset_mm=51.0, number=1, count=2),
        a_pass(load, run, ARC, offset_mm=50.0, number=2, count=2),
    )
    cut = "CCCCCCCCC"
    assert kinds(paths) == f"RRPL{cut}LLL{cut}LPRR"
    shift = of_kind(paths, MoveKind.LEAD)[2]
    assert paths.moves.start[shift] == pytest.approx([1030.0, 419.0, -30.0])
    assert paths.moves.end[shift] == pytest.approx([970.0, 420.0, -30.0])


def test_passes_of_an_open_run_go_back_by_rapid():
    """Between two passes of an open run the tool goes up and back."""
    load = a_load([a_part(OUTLINE)])
    run = a_run(load, first=0, stop=1)
    paths = build(load, a_pass(load, run, count=2), a_pass(load, run, number=2, count=2))
    assert kinds(paths) == "RRPCPRRRPCPRR"
    back = 6
    assert paths.moves.part[back] == 0
    assert paths.moves.profile[back] == 0
    assert paths.moves.length[back] == pytest.approx(1000.0)


def test_shift_that_would_cut_the_stone_is_not_taken():
    """On a round part with the tool down on the edge line, the chord back would cut: it goes up."""
    round_part = Path.from_bulges([(1300.0, 800.0), (700.0, 800.0)], [1.0, 1.0], closed=True)
    load = a_load([a_part(round_part)])
    run = a_run(load)
    step = a_step(overlap_mm=100.0)
    paths = build(
        load, a_pass(load, run, step, count=2), a_pass(load, run, step, number=2, count=2)
    )
    assert kinds(paths).count("P") == 4


def test_travel_between_parts_belongs_to_none():
    """The rapid from one part to the next carries no part, that within a part carries it."""
    load = a_load([a_part(OUTLINE), a_part(rectangle(500.0, 400.0, x=2000.0, y=500.0), name="p02")])
    runs = [a_run(load, 0, 0, 0, 1), a_run(load, 0, 0, 2, 3), a_run(load, 1, 0, 0, 1)]
    moves = build(load, *(a_pass(load, r) for r in runs)).moves
    across = (moves.kind == MoveKind.RAPID) & (moves.start[:, 2] == moves.end[:, 2])
    assert moves.part[across].tolist() == [NO_INDEX, 0, NO_INDEX, NO_INDEX]


def test_dwell_stands_before_the_lead():
    """The wait at the start of a run is in the air, at depth, where the plunge ends."""
    load = a_load([a_part(OUTLINE)])
    run = a_run(load)
    step = replace(ARC, dwell_s=2.5)
    paths = build(
        load, a_pass(load, run, step, count=2), a_pass(load, run, step, number=2, count=2)
    )
    waits = np.flatnonzero(paths.moves.dwell)
    assert paths.moves.dwell[waits].tolist() == [2.5]
    assert paths.moves.kind[waits].tolist() == [MoveKind.PLUNGE]
    assert paths.moves.exact_stop[waits].all()


def test_milled_cutout_goes_deeper_in_place():
    """Depth steps of a slot follow each other without leads, from the hole cored for the entry."""
    cutout = rectangle(400.0, 300.0, x=700.0, y=650.0, radius=60.0, hand=-1)
    bit, core = a_tool(20.0, name="bit"), a_tool(35.0, name="core", shaft_mm=20.0)
    load = a_load([a_part(OUTLINE, cutout)], tools=[bit, core])
    hole = Path.from_bulges([(900.0, 670.0), (865.0, 670.0)], [-1.0, -1.0], closed=True)
    entry = a_run(load, 0, 1, path=replace(hole, tags=np.array([-1, -1])))
    drill = a_step(tool="core", operation=Operation.CORE, name="core")
    slot = a_step(tool="bit", operation=Operation.CUT, name="cut", lead="arc", lead_mm=30.0)
    depths = [0.0, -12.0, -24.0, -32.0]
    passes = [
        a_pass(load, entry, drill, offset_mm=0.0, bottom_z_mm=-32.0),
        *(
            a_pass(
                load, a_run(load, 0, 1), slot, visit=1, offset_mm=12.0, top_z_mm=top,
                bottom_z_mm=low, number=k + 1, count=3,
            )
            for k, (top, low) in enumerate(itertools.pairwise(depths))
        ),
    ]  # fmt: skip
    paths = build(load, *passes)
    moves = paths.moves
    mine = moves.visit == 1
    assert "".join(MoveKind(k).name[0] for k in moves.kind[mine]).replace("C", "") == "RRPPPPRR"
    downs = np.flatnonzero(mine & (moves.kind == MoveKind.PLUNGE))
    assert moves.end[downs, 2].tolist() == [-12.0, -24.0, -32.0, 5.0]
    # Straight below the hole's centre, on the centre line inside the lower side: at the bit's
    # radius of 10 mm, for no roughing follows that would take 2 mm of stock off.
    assert moves.end[downs, :2] == pytest.approx(np.tile([882.5, 660.0], (4, 1)))
    loop = 2 * 700.0 - 8 * 60.0 + 2 * math.pi * 50.0
    length = 0.0
    for k, depth in enumerate((12.0, 12.0, 6.0), start=1):
        own = (moves.pass_index == k) & (moves.kind == MoveKind.CUT)
        length = float(moves.length[own].sum())
        assert length == pytest.approx(loop, rel=1e-12)
        # The last step drills 2 mm of air below the slab.
        assert float(moves.volume[own].sum()) == pytest.approx(20.0 * depth * loop, rel=1e-12)


def test_core_goes_down_in_pecks():
    """30 mm and 2 mm breakthrough in pecks of 12: three bottoms, back up between, a step back."""
    core = a_tool(40.0, name="core")
    load = a_load([a_part(OUTLINE)], tools=[core])
    hole = Path.from_bulges([(920.0, 800.0), (880.0, 800.0)], [-1.0, -1.0], closed=True)
    run = a_run(load, 0, -1, path=replace(hole, tags=np.array([-1, -1])))
    step = a_step(tool="core", operation=Operation.CORE, depth_step_mm=12.0, dwell_s=1.0)
    paths = build(
        load, a_pass(load, run, step, offset_mm=0.0, bottom_z_mm=-32.0, feed_mm_per_s=2.0)
    )
    moves = paths.moves
    assert kinds(paths) == "RRPPPPPPPPRR"
    assert moves.end[:, 2].tolist() == [60, 5, -12, 5, -11.5, -24, 5, -23.5, -32, 5, 60, 60]
    assert moves.feed[2:10].tolist() == [2.0, 50.0, 50.0, 2.0, 50.0, 50.0, 2.0, 50.0]
    assert moves.exact_stop[2:9].tolist() == [True, True, False, True, True, False, True]
    assert (moves.end[1:10, :2] == [900.0, 800.0]).all()
    assert moves.dwell[1] == 1.0
    # A ring 3 mm wide of 40 mm outside diameter, 30 mm deep: π (20² - 17²) 30.
    assert float(moves.volume.sum()) == pytest.approx(math.pi * 111.0 * 30.0, rel=1e-12)
    assert float(moves.treated.sum()) == pytest.approx(40.0 * math.pi, rel=1e-12)


def test_gauge_comes_in_from_the_side_below_the_stone():
    """A disc for the back goes down clear of the stone by the spacing, then in under it."""
    disc = a_tool(200.0, name="disc", shaft_mm=60.0)
    load = a_load([a_part(OUTLINE)], tools=[disc])
    step = a_step(tool="disc", operation=Operation.GAUGE, lead="arc", lead_mm=10.0)
    paths = build(
        load,
        a_pass(load, a_run(load), step, offset_mm=60.0, reach_mm=60.0, bottom_z_mm=-THICKNESS_MM),
    )
    down = of_kind(paths, MoveKind.PLUNGE)[0]
    # R + spacing = 105 mm from the front edge at y = 500.
    assert paths.moves.end[down] == pytest.approx([1000.0, 395.0, -30.0])
    first, last = of_kind(paths, MoveKind.LEAD)
    assert paths.moves.length[[first, last]] == pytest.approx(45.0)
    assert not paths.findings


def test_gauge_without_an_entry_is_an_error():
    """A cutout with no place for the disc to go down is a finding with the radius it needs."""
    cutout = rectangle(180.0, 180.0, x=900.0, y=700.0, radius=85.0, hand=-1)
    disc = a_tool(200.0, name="disc", shaft_mm=60.0)
    load = a_load([a_part(OUTLINE, cutout)], tools=[disc])
    step = a_step(tool="disc", operation=Operation.GAUGE)
    run = a_run(load, 0, 1)
    paths = build(load, a_pass(load, run, step, offset_mm=60.0, reach_mm=60.0))
    assert [f.code for f in paths.findings] == ["gauge-entry"]
    assert "100.0 mm clear" in paths.findings[0].message


def test_a_tool_that_reaches_nothing_is_not_fetched():
    """Of two visits in a slot of 60 mm only that of the slimmer wheel is left, with its pass."""
    slot = rectangle(300.0, 60.0, x=900.0, y=700.0, hand=-1)
    load = a_load([a_part(OUTLINE, slot)], tools=[a_tool(100.0), a_tool(40.0, name="slim")])
    run = a_run(load, 0, 1)
    slim = a_pass(load, run, a_step(tool="slim"), visit=1, offset_mm=20.0, reach_mm=20.0)
    paths = build(load, a_pass(load, run), slim)
    assert [v.tool for v in paths.plan.visits] == ["slim"]
    assert [(p.visit, p.step.tool) for p in paths.plan.passes] == [(0, "slim")]
    assert paths.change_rows == ((1, 1),)
    assert set(paths.moves.visit.tolist()) == {0}
    assert set(paths.moves.pass_index.tolist()) == {NO_INDEX, 0}


def test_side_one_works_on_the_part_turned_over():
    """A turned run keeps off the turned contour: the tool paths are each other's mirror image."""
    outline = polygon([(500, 500), (1300, 500), (1300, 900), (900, 900), (900, 1300), (500, 1300)])
    load = a_load([a_part(outline)])
    run = a_run(load, first=2, stop=4)
    path = run.path
    points = path.points[::-1] * [-1.0, 1.0] + [1800.0, 0.0]
    turned = replace(run, path=Path.from_bulges(points, tags=[0, 0]))
    paths = build(load, a_pass(load, run, ARC), a_pass(load, turned, ARC, visit=1), sides=(0, 1))
    moves = paths.moves
    cut = moves.kind == MoveKind.CUT
    one, two = cut & (moves.visit == 0), cut & (moves.visit == 1)
    assert moves.treated[one] == pytest.approx([350.0, 350.0])
    assert moves.start[two][:, 0] == pytest.approx(1800.0 - moves.end[one][::-1, 0])
    assert moves.start[two][:, 1] == pytest.approx(moves.end[one][::-1, 1])
    # Missed on both sides at the same corner: counted once.
    assert paths.hand_mm == pytest.approx(100.0)


def test_equal_passes_are_computed_once():
    """Three steps with equal tools on one run have equal moves, apart from what names them."""
    tools = [a_tool(name=f"pad-{k}") for k in range(3)]
    load = a_load([a_part(OUTLINE)], tools=tools)
    run = a_run(load)
    steps = [replace(ARC, tool=t.name, name=t.name) for t in tools]
    moves = build(load, *(a_pass(load, run, s, visit=v) for v, s in enumerate(steps))).moves
    tables = [moves.end[moves.visit == v] for v in range(3)]
    assert np.array_equal(tables[0], tables[1])
    assert np.array_equal(tables[0], tables[2])


def test_run_in_two_pieces_is_two_engagements():
    """Two basins joined by a channel the wheel does not pass are worked one after the other."""
    dumbbell = polygon(
        [(700, 600), (900, 600), (900, 770), (1000, 770), (1000, 600), (1200, 600), (1200, 1000),
         (1000, 1000), (1000, 830), (900, 830), (900, 1000), (700, 1000)]
    ).reversed()  # fmt: skip
    load = a_load([a_part(OUTLINE, dumbbell)])
    run = a_run(load, 0, 1)
    paths = build(load, a_pass(load, run, a_step(lead="straight", lead_mm=20.0)))
    assert kinds(paths).count("L") == 4
    assert kinds(paths).count("P") == 4
    moves = paths.moves
    treated = float(moves.treated.sum())
    assert treated + paths.hand_mm == pytest.approx(run.path.length_mm, rel=1e-12)
    # Two squares of 100 × 300 mm, whose centre dips towards the channel's mouth in between:
    # from corner to corner the mouth is 60 mm wide, the wheel rolls about both by asin(30/50).
    cut = float(moves.length[moves.kind == MoveKind.CUT].sum())
    assert cut == pytest.approx(2 * (800.0 - 60.0 + 50.0 * 2.0 * math.asin(0.6)), rel=1e-12)


def test_machine_heights_are_used():
    """Safe height, approach height and rack are the machine's."""
    machine = replace(MACHINE, safe_z_mm=80.0, approach_z_mm=10.0, rack_mm=(10.0, 20.0))
    load = a_load([a_part(OUTLINE)], machine=machine)
    moves = build(load, a_pass(load, a_run(load))).moves
    assert moves.start[0].tolist() == [10.0, 20.0, 80.0]
    assert moves.end[1, 2] == 10.0
