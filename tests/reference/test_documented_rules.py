"""What the pages say to somebody who works out an estimate on his own, rule by rule.

The rules are in docs/explanation: passes.md ("The order, exactly"), toolpath.md and
cycle.md. Every expectation is worked out on paper from the rule as written there.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from support import catalogue as shop
from support import plans as bench
from support.shapes import polygon, rectangle
from support.sketch import Sketch, write_dxf

from edgetime import estimate
from edgetime.cycle import compute_cycle
from edgetime.moves import MoveKind
from edgetime.passes import plan_passes
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths


def planned(*parts, **options):
    return plan_passes(shop.a_load(*parts, **options))


def of(plan, operation):
    return [p for p in plan.passes if p.step.operation is operation]


@pytest.mark.parametrize(
    ("thickness", "depths"), [(20.0, [12.0, 23.0]), (30.0, [12.0, 24.0, 33.0])]
)
def test_slot_depths_of_the_standard_stack(tmp_path, thickness, depths):
    """Bites of 12 mm, the last what is left: nominal + 1 mm spread + 2 mm below the slab."""
    sketch = Sketch()
    sketch.polyline("EASED", [(500, 500), (1700, 500), (1700, 1100), (500, 1100)])
    sketch.polyline("HOB", [(800, 600), (1300, 600), (1300, 1000), (800, 1000)])
    path = tmp_path / "hob.dxf"
    path.write_text(write_dxf(sketch, {}), encoding="ascii")
    load = estimate(
        [path], stack="standard", stone="granite", thickness_mm=thickness, cutout_method="milled"
    )
    assert [-p.bottom_z_mm for p in of(load.plan, Operation.CUT)] == depths


def test_roughing_takes_full_bites_first_and_a_seam_even_ones():
    """2.5 mm: 1, 1 and 0.5 mm by the drum; a seam wheel of the same bite 2.5 ÷ 3 each time."""
    stock = {"stock_mm": {"saw": 2.5, "waterjet": 0.0}}
    steps = [
        shop.a_step(Operation.ROUGH, "drum", engagement_mm=1.0),
        shop.a_step(Operation.SEAM, "drum", engagement_mm=1.0, rotation_rad_per_s=99.0),
        shop.a_step(Operation.POLISH, "pad"),
    ]
    part = shop.a_rectangle(["eased", "seam", "unfinished", "unfinished"])
    plan = planned(part, catalogue=shop.a_catalogue(steps=steps, shop=stock))

    def bites(operation):
        passes = of(plan, operation)
        left = [2.5, *(p.offset_mm - p.reach_mm for p in passes)]
        return [before - after for before, after in pairwise(left)]

    assert bites(Operation.ROUGH) == pytest.approx([1.0, 1.0, 0.5])
    assert bites(Operation.SEAM) == pytest.approx([2.5 / 3.0] * 3)


def test_gauging_finishes_a_lane_layer_by_layer_before_the_next():
    """A strip of 45 mm in lanes of 20, 1.5 mm in layers of 1, from the edge inward and up."""
    steps = [
        shop.a_step(Operation.GAUGE, "gauger", engagement_mm=20.0, depth_step_mm=1.0),
        shop.a_step(Operation.POLISH, "pad"),
    ]
    profiles = (*shop.PROFILES, shop.a_profile("deep", "laminated", gauge_strip_mm=45.0))
    catalogue = shop.a_catalogue(
        steps=steps, profiles=profiles, shop={"stock_mm": {"saw": 0.0, "waterjet": 0.0}},
        gauge_below_nominal_mm=0.5,
    )  # fmt: skip
    plan = planned(shop.a_rectangle("deep"), catalogue=catalogue)
    gauge = of(plan, Operation.GAUGE)
    radius = plan.load.diameter_mm("gauger") / 2.0
    # 31 mm thick, to 29.5 mm: the back lies at Z = -31.
    assert [(radius - p.offset_mm, p.bottom_z_mm) for p in gauge] == [
        (20.0, -30.0), (20.0, -29.5),
        (40.0, -30.0), (40.0, -29.5),
        (45.0, -30.0), (45.0, -29.5),
    ]  # fmt: skip


def test_steps_of_one_stay_are_taken_run_by_run():
    """Two steps of one piece at one speed on the same runs: both steps here, then both there."""
    steps = [
        shop.a_step(Operation.FINE, "pad", name="first", passes=2),
        shop.a_step(Operation.POLISH, "pad", name="second"),
    ]
    stock = {"stock_mm": {"saw": 0.0, "waterjet": 0.0}}
    parts = [shop.a_rectangle(), shop.a_rectangle(y=1300.0, name="p02")]
    plan = planned(*parts, catalogue=shop.a_catalogue(steps=steps, shop=stock))
    assert [(p.run.part, p.step.name, p.number) for p in plan.passes] == [
        (part, step, number)
        for part in (0, 1)
        for step, number in (("first", 1), ("first", 2), ("second", 1))
    ]


def begun_at(step, size=(200.0, 150.0)):
    """Return where the cut begins on a cutout drawn at (1000, 900) from its short left side on."""
    width, height = size
    corners = [(0.0, 0.0), (0.0, height), (width, height), (width, 0.0)]
    cutout = polygon([(1000.0 + x, 900.0 + y) for x, y in corners]).reversed()
    vertex = next(
        k for k, p in enumerate(cutout.points.tolist()) if p == [1000.0, 900.0]
    )  # fmt: skip
    load = bench.a_load([bench.a_part(rectangle(2000.0, 1500.0), cutout)])
    run = bench.a_run(load, contour=1)
    path = replace(
        run.path,
        points=np.roll(run.path.points, -vertex, axis=0),
        bulges=np.roll(run.path.bulges, -vertex),
    )
    moves = build_tool_paths(
        bench.a_plan(load, [bench.a_pass(load, replace(run, path=path), step)])
    ).moves
    first = int(np.flatnonzero(moves.kind == MoveKind.CUT)[0])
    return moves.start[first, :2].tolist()


def test_twice_the_lead_is_compared_with_the_straights_of_the_centre():
    """A wheel of 100 mm in 200 × 150 mm: the centre's straights are 100 and 50 mm long.

    A lead of 20 mm begins on the first of them, 50 ≥ 40; one of 30 mm does not, 50 < 60,
    though that side of the edge is 150 mm long.
    """
    assert begun_at(bench.a_step(lead="arc", lead_mm=20.0)) == pytest.approx([1050.0, 975.0])
    assert begun_at(bench.a_step(lead="arc", lead_mm=30.0))[0] == pytest.approx(1100.0)


@pytest.mark.parametrize("override", [1.0, 0.6, 0.1])
def test_feed_cap_does_not_follow_the_override(override):
    """Radius 450, d = 50 mm, cap 18 mm/s: the centre runs at min(F × override, 18 × 500 / 450)."""
    outline = polygon([(1000.0, 1000.0), (1900.0, 1000.0)], [1.0, 1.0])
    load = replace(bench.a_load([bench.a_part(outline)]), feed_override=override)
    step = bench.a_step(edge_feed_cap_mm_per_s=18.0)
    told = bench.a_pass(load, bench.a_run(load), step, feed_mm_per_s=step.feed_mm_per_s * override)
    moves = build_tool_paths(bench.a_plan(load, [told])).moves
    cut = moves.kind == MoveKind.CUT
    assert moves.feed[cut] == pytest.approx(min(30.0 * override, 20.0))
    # The same through the plan: the step, and with it the cap, goes on as it is.
    catalogue = shop.a_catalogue(steps=[shop.a_step(Operation.POLISH, "pad",
        edge_feed_cap_mm_per_s=18.0)], shop={"stock_mm": {"saw": 0.0, "waterjet": 0.0}})  # fmt: skip
    plan = planned(shop.a_rectangle(), catalogue=catalogue, feed_override=override)
    (pad,) = plan.passes
    assert pad.step.edge_feed_cap_mm_per_s == 18.0
    assert pad.feed_mm_per_s == pytest.approx(pad.step.feed_mm_per_s * override)


class Seconds:
    """Every move takes no time, so that waits are left."""

    def __init__(self, moves):
        self.seconds = np.zeros(len(moves))


def test_water_comes_on_once_in_every_stay():
    """Three stays, the second with the piece of the first at another speed: 1 s each, and shared."""
    load = bench.a_load(
        [bench.a_part(rectangle(1000.0, 600.0, x=500.0, y=500.0))],
        tools=[bench.a_tool(), bench.a_tool(name="other")],
    )
    other = bench.a_step(tool="other")
    passes = [
        bench.a_pass(load, bench.a_run(load), step, visit=v)
        for v, step in enumerate((shop.STEP, shop.STEP, other))
    ]
    plan = bench.a_plan(load, passes)
    slower = replace(plan.visits[1], rotation_rad_per_s=200.0)
    paths = build_tool_paths(replace(plan, visits=(plan.visits[0], slower, plan.visits[2])))
    cycle = compute_cycle(paths, Seconds(paths.moves))
    assert math.isclose(load.machine.water_on_s, 1.0)
    # The first stay holds the probing of the one part as well, 3 s.
    assert [v.time.dwell_s for v in cycle.visits] == [4.0, 1.0, 1.0]
    shared = next(p for p in cycle.profiles if p.profile == "(shared)")
    assert shared.time.dwell_s == pytest.approx(6.0)
