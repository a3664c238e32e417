"""Visits, their order, attended stops, and what is checked about tools."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from support import plans
from support.catalogue import (
    STEPS,
    TOOLS,
    a_catalogue,
    a_cutout,
    a_load,
    a_part,
    a_rectangle,
    a_step,
)
from support.shapes import rectangle
from support.shifts import RULES

from edgetime.errors import NothingToCut
from edgetime.passes import AttendedStop, PassPlan, PlannedVisit, plan_passes
from edgetime.passes.pass_plan import pocket_stops
from edgetime.passes.pockets import hand_swaps
from edgetime.records import as_json
from edgetime.tooling import Operation


def codes(plan):
    """Return the codes of a plan's findings."""
    return [f.code for f in plan.findings]


def test_visits_follow_the_stack():
    """Each step that finds work is one stay, in the order of the stack; others are none."""
    plan = plan_passes(a_load(a_rectangle(holes=[(900.0, 800.0, 35.0)])))
    assert [(v.tool, v.operation.value) for v in plan.visits] == [
        ("core-35", "core"),
        ("drum", "rough"),
        ("wheel", "profile"),
        ("pad", "polish"),
    ]
    assert [p.visit for p in plan.passes] == sorted(p.visit for p in plan.passes)


def test_consecutive_steps_of_one_piece_share_a_stay():
    """Seaming and polishing with one wheel at one speed: one stay; at two speeds: two."""
    for rotation, stays in ((300.0, 1), (250.0, 2)):
        steps = [
            a_step(Operation.SEAM, "pad", engagement_mm=0.0),
            a_step(Operation.POLISH, "pad", rotation_rad_per_s=rotation),
        ]
        part = a_rectangle(["seam", "eased", "unfinished", "unfinished"])
        catalogue = a_catalogue(steps=steps, shop={"stock_mm": {"saw": 0.0, "waterjet": 0.0}})
        plan = plan_passes(a_load(part, catalogue=catalogue))
        assert len(plan.visits) == stays
        assert plan.visits[0].operation is Operation.SEAM


def test_passes_of_a_run_stay_together():
    """With two runs the drum finishes its three passes on one before it goes to the other."""
    for order in ("as-drawn", "short-travel"):
        part = a_rectangle(["eased", "unfinished", "eased", "unfinished"])
        plan = plan_passes(a_load(part, order=order))
        drum = [id(p.run) for p in plan.passes if p.step.tool == "drum"]
        assert len(set(drum)) == 2
        assert drum[:3] == [drum[0]] * 3
        assert drum[3:] == [drum[3]] * 3


def test_steps_of_one_stay_on_overlapping_runs_go_one_after_the_other():
    """A pad for eased edges, then the same pad for all: the first step ends before the second."""
    steps = [
        a_step(Operation.FINE, "pad", applies_to=("eased",), name="first"),
        a_step(Operation.POLISH, "pad", name="second"),
    ]
    catalogue = a_catalogue(steps=steps, shop={"stock_mm": {"saw": 0.0, "waterjet": 0.0}})
    parts = [
        a_rectangle(["eased", "half-bullnose", "unfinished", "unfinished"], y=0.0),
        a_rectangle(["eased", "half-bullnose", "unfinished", "unfinished"], y=900.0, name="p02"),
    ]
    for order in ("as-drawn", "short-travel"):
        plan = plan_passes(a_load(*parts, catalogue=catalogue, order=order))
        assert [p.step.name for p in plan.passes] == ["first", "first", "second", "second"]


def test_order_as_drawn_is_part_by_part():
    """As drawn, part 0 comes before part 1 though part 1 lies at the rack."""
    far, near = a_rectangle(x=2800.0, y=1500.0), a_rectangle(x=0.0, y=0.0, name="p02")
    drawn = plan_passes(a_load(far, near))
    assert [p.run.part for p in drawn.passes if p.step.tool == "pad"] == [0, 1]


def test_short_tour_visits_a_row_along_the_row():
    """Three parts in a row drawn as first, third, second: the tour does not go to and fro."""
    parts = [
        a_rectangle(width=400.0, x=x, name=f"p{i}") for i, x in enumerate([0.0, 2000.0, 1000.0])
    ]
    plan = plan_passes(a_load(*parts, order="short-travel"))
    order = [p.run.part for p in plan.passes if p.step.tool == "pad"]
    assert order in ([0, 2, 1], [1, 2, 0])


def test_two_plans_of_one_load_are_equal():
    """The plan is a function of the load: the JSON form comes out the same."""
    parts = [a_rectangle(width=300.0, depth=250.0, x=350.0 * i, y=(i * 700.0) % 1900.0,
                         name=f"p{i}") for i in range(8)]  # fmt: skip
    first, second = (
        json.dumps(as_json(plan_passes(a_load(*parts, order="short-travel")))) for _ in range(2)
    )
    assert first == second


def test_strip_gauged_on_both_sides_needs_its_cups_moved():
    """140 mm wide, 2 × 25 mm ground: less than 100 mm left to hold; 200 mm wide: enough."""
    for depth, stops in ((140.0, ["cups"]), (149.0, ["cups"]), (151.0, []), (200.0, [])):
        part = a_rectangle(["apron", "unfinished", "apron", "unfinished"], depth=depth)
        plan = plan_passes(a_load(part))
        assert [s.reason for s in plan.stops] == stops
        if stops:
            gauge = [v.operation for v in plan.visits].index(Operation.GAUGE)
            assert plan.stops[0].before_visit == gauge
            assert plan.stops[0].seconds == 60.0 + 20.0


def test_strip_gauged_on_one_side_keeps_its_cups():
    """Cups under the other half hold it."""
    part = a_rectangle(["apron", "unfinished", "unfinished", "unfinished"], depth=140.0)
    assert plan_passes(a_load(part)).stops == ()


def test_nothing_to_do_is_said_with_the_reason():
    """Wall edges only: no tool is used in this load."""
    with pytest.raises(NothingToCut, match="is used in this load"):
        plan_passes(a_load(a_rectangle("unfinished")))
    with pytest.raises(NothingToCut, match="made elsewhere"):
        plan_passes(a_load(a_rectangle("mitre")))


def test_tool_that_is_not_there_is_an_error_and_its_step_left_out():
    """A stack may name a tool the shop has deleted."""
    tools = [t for t in TOOLS if t.name != "pad"]
    plan = plan_passes(a_load(a_rectangle(), catalogue=a_catalogue(tools=tools)))
    assert codes(plan) == ["tool-missing"]
    assert "pad" not in {v.tool for v in plan.visits}


def test_peripheral_speed_is_pi_d_n():
    """A pad of 100 mm at 300 rad/s runs 15 m/s; marked for 14 m/s it is too fast."""
    tools = {t.name: t for t in TOOLS}
    for limit, found in ((14_000.0, ["too-fast"]), (15_000.0, [])):
        pad = replace(tools["pad"], max_peripheral_mm_per_s=limit)
        catalogue = a_catalogue(tools=[*(t for t in TOOLS if t.name != "pad"), pad])
        plan = plan_passes(a_load(a_rectangle(), catalogue=catalogue))
        assert codes(plan) == found
        if found:
            assert "15.0 m/s" in plan.findings[0].message
            # π × 0.1 m × n with n = 300 / 2π per second.
            assert math.pi * 100.0 * 300.0 / (2.0 * math.pi) == pytest.approx(15_000.0)
            worn = a_load(a_rectangle(), catalogue=catalogue, diameters_mm={"pad": 93.0})
            assert codes(plan_passes(worn)) == []


def test_marked_and_spindle_maximum_are_held():
    """300 rad/s are 2865 rev/min: above a marked 2800, and above a spindle of 250 rad/s."""
    tools = {t.name: t for t in TOOLS}
    pad = replace(tools["pad"], max_rotation_rad_per_s=2800.0 * math.pi / 30.0)
    catalogue = a_catalogue(tools=[*(t for t in TOOLS if t.name != "pad"), pad])
    plan = plan_passes(a_load(a_rectangle(), catalogue=catalogue))
    assert codes(plan) == ["too-fast"]
    assert "2865 rev/min" in plan.findings[0].message
    assert "2800 rev/min" in plan.findings[0].message
    slow = a_catalogue(machine={"max_rotation_rad_per_s": 250.0})
    plan = plan_passes(a_load(a_rectangle(), catalogue=slow))
    assert codes(plan) == ["spindle-limit"] * 3


def test_too_few_pockets_say_how_many_swaps():
    """Drum, two wheels and a pad in a rack of three: one swap."""
    catalogue = a_catalogue(machine={"pockets": 3})
    part = a_rectangle(["eased", "half-bullnose", "unfinished", "unfinished"])
    plan = plan_passes(a_load(part, catalogue=catalogue))
    assert codes(plan) == ["pockets-short"]
    assert "4 tools" in plan.findings[0].message
    assert "3 pockets, so 1 " in plan.findings[0].message
    enough = a_catalogue(machine={"pockets": 4})
    assert codes(plan_passes(a_load(part, catalogue=enough))) == []


@pytest.mark.parametrize(
    ("pieces", "pockets", "expected"),
    [
        ("abc", 3, 0),
        ("abc", 2, 1),
        ("abcab", 2, 2),
        ("aabbaa", 2, 0),
        # Belady's sequence as in operating-systems textbooks (from memory): 3 frames, 7 faults
        # of which 3 fill the frames.
        ("123412512345", 3, 4),
    ],
)
def test_least_number_of_swaps(pieces, pockets, expected):
    """The piece needed last makes room, and the first fill of the rack is no swap."""
    assert len(hand_swaps(list(pieces), pockets)) == expected


def test_json_form_of_the_plan():
    """Visits, passes, stops and lengths in plain values, with units in the keys."""
    sink = a_cutout(rectangle(500.0, 300.0, x=700.0, y=650.0, radius=60.0), "eased")
    plan = plan_passes(a_load(a_part(rectangle(1000.0, 600.0, x=500.0, y=500.0), "eased", sink)))
    data = json.loads(json.dumps(as_json(plan)))
    assert data["schema"] == "edgetime.plan/1"
    assert len(data["passes"]) == len(plan.passes)
    assert data["stops"] == [
        {"before_visit": 2, "reason": "slug", "part_ids": ["p01"], "attended_s": 50.0}
    ]
    length = 3200.0 + sink.contour.path.length_mm
    assert data["treated_mm"][0]["length_mm"] == pytest.approx(length)
    assert STEPS[0].name == data["passes"][0]["step"]


def _plan_of_five_visits():
    """Visits 0 to 2 on the first face, 3 and 4 on the second; two parts, cutouts 1 of each."""
    operations = [Operation.GAUGE, Operation.CUT, Operation.CUT, Operation.POLISH, Operation.POLISH]
    visits = [PlannedVisit(f"t{v}", f"t{v}", o, 300.0, v // 3) for v, o in enumerate(operations)]
    load = plans.a_load([plans.a_part(rectangle(1000.0, 600.0)) for _ in range(2)])

    def a_pass(visit, part, contour):
        path = rectangle(1000.0, 600.0)
        run = plans.a_run(load, part=part, contour=contour, path=path)
        step = replace(plans.a_pass(load, run).step, operation=operations[visit])
        return plans.a_pass(load, run, visit=visit, step=step)

    rows = [(0, 0, 0), (1, 0, 1), (1, 1, 1), (2, 1, 1), (3, 0, 0), (3, 1, 0), (4, 1, 0)]
    stops = [
        AttendedStop(0, "cups", ((0, 0),), 1.0, 100.0),
        AttendedStop(2, "slug", ((0, 1), (1, 1)), 2.0, 200.0),
        AttendedStop(3, "slug", ((1, 1),), 3.0, 300.0),
        AttendedStop(3, "flip", ((0, 0), (1, 0)), 4.0, 400.0),
    ]
    return PassPlan(
        load=load, profiles=("eased",), visits=tuple(visits),
        passes=tuple(a_pass(*row) for row in rows), stops=tuple(stops), elsewhere_mm={},
        treated_mm={}, findings=(),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("kept", "tools", "stops"),
    [
        # Everything: one cup, two slugs, one slug, two parts turned.
        (range(7), "t0 t1 t2 t3 t4", [(0, 101.0), (2, 204.0), (3, 303.0), (3, 408.0)]),
        # No gauging: no cups. The visit is gone, so the others move up.
        (range(1, 7), "t1 t2 t3 t4", [(1, 204.0), (2, 303.0), (2, 408.0)]),
        # Nothing cuts part 0 free in visit 1: one slug of the two.
        ([0, 2, 3, 4, 5, 6], "t0 t1 t2 t3 t4", [(0, 101.0), (2, 202.0), (3, 303.0), (3, 408.0)]),
        # Nothing is worked on the other face of part 0: one part to turn, a visit later.
        ([1, 2, 6], "t1 t4", [(1, 204.0), (1, 404.0)]),
        # The first face only: nobody turns anything.
        ([0, 1, 2], "t0 t1", [(0, 101.0), (2, 204.0)]),
    ],
)
def test_a_plan_keeps_what_belongs_to_the_passes_it_keeps(kept, tools, stops):
    """Visits without a pass go; a slug needs its cut, a flip an edge on the other face."""
    plan = _plan_of_five_visits().keeping(kept)
    assert " ".join(v.tool for v in plan.visits) == tools
    assert len(plan.passes) == len(kept)
    assert [plan.visits[p.visit].operation for p in plan.passes] == [
        p.step.operation for p in plan.passes
    ]
    assert [(s.before_visit, s.seconds) for s in plan.stops] == stops


def test_a_tool_without_a_pocket_is_put_in_by_hand_before_its_first_use():
    """Pieces a to d on a rack of two: c and d each take the place of one that is done."""
    load = plans.a_load([plans.a_part(rectangle(1000.0, 600.0))])
    machine = replace(load.machine, pockets=2, stop_s=20.0)
    visits = [PlannedVisit(t, t, Operation.POLISH, 300.0, 0) for t in "abcacd"]
    shop = replace(load.catalogue.shop, shift=replace(RULES, tool_swap_s=180.0))
    stops = pocket_stops(visits, machine, shop)
    assert [(s.before_visit, s.reason, s.seconds) for s in stops] == [
        (2, "pocket", 200.0), (5, "pocket", 200.0),
    ]  # fmt: skip
    assert pocket_stops(visits, machine, shop, pockets=4) == []
    again = [PlannedVisit(t, t, Operation.POLISH, 300.0, 0) for t in "abcab"]
    # b makes room for c, and comes back in the place of c or a.
    assert [s.before_visit for s in pocket_stops(again, machine, shop)] == [2, 4]
