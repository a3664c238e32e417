"""Small loads and pass plans made by hand, for the tests of tool paths and what follows them.

All figures are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from edgetime.geometry.measure import signed_area
from edgetime.geometry.path import Path
from edgetime.load.model import Load, PlacedPart
from edgetime.passes.model import EdgeRun, Pass, PassPlan, PlannedVisit
from edgetime.takeoff.model import Contour, Cutout, Edge, Part, Place
from edgetime.takeoff.rules import LayerRules
from edgetime.tooling.model import (
    Catalogue,
    Machine,
    Operation,
    ShopDefaults,
    Stack,
    Step,
    Stone,
    Tool,
    ToolKind,
)

THICKNESS_MM = 30.0
QUARTER = math.tan(math.pi / 8.0)

MACHINE = Machine(
    name="bench", title="Bench", table_mm=(4000.0, 2500.0), travel_min_mm=(-300.0, -300.0),
    travel_max_mm=(4300.0, 2800.0), axis_speed_mm_per_s=(500.0, 500.0, 200.0),
    axis_acceleration_mm_per_s2=(1000.0, 1000.0, 1000.0),
    axis_jerk_mm_per_s3=(math.inf, math.inf, math.inf), rapid_mm_per_s=(500.0, 500.0, 200.0),
    path_acceleration_mm_per_s2=1000.0, centripetal_mm_per_s2=1000.0, path_mode="exact-path",
    corner_tolerance_mm=0.0, block_time_s=0.0, pockets=12, rack_mm=(-200.0, -200.0),
    safe_z_mm=60.0, approach_z_mm=5.0, exchange_s=10.0, measure_s=5.0,
    spindle_up_rad_per_s2=100.0, max_rotation_rad_per_s=1000.0, probe_s=3.0, water_on_s=1.0,
    flip_s=60.0, cup_move_s=60.0, slug_s=30.0, load_part_s=60.0, unload_part_s=60.0,
    stop_s=20.0, spacing_mm=5.0, min_hold_mm=100.0, source="invented", file="",
)  # fmt: skip

STEP = Step(
    name="polish", operation=Operation.POLISH, tool="wheel", feed_mm_per_s=30.0,
    plunge_mm_per_s=10.0, retract_mm_per_s=50.0, rotation_rad_per_s=300.0, applies_to=(),
    places=(Place.OUTER, Place.CUTOUT), passes=1, engagement_mm=1.0, depth_step_mm=0.0,
    share=1.0, stock_left_mm=0.0, lead="plunge", lead_mm=0.0, overrun_mm=0.0, overlap_mm=0.0,
    hold_contact_feed=False, feed_floor=0.1, edge_feed_cap_mm_per_s=math.inf, dwell_s=0.0,
)  # fmt: skip


def a_tool(diameter_mm=100.0, *, clearance_mm=0.0, shaft_mm=30.0, name="wheel"):
    """Return a wheel."""
    return Tool(
        name=name, title=name, kind=ToolKind.PROFILE_WHEEL, diameter_mm=diameter_mm,
        shaft_mm=shaft_mm, clearance_mm=clearance_mm, width_mm=40.0, profiled=False,
        max_rotation_rad_per_s=None, max_peripheral_mm_per_s=None, life=(), price=None,
        currency="", pack=1, dress_every_mm=0.0, dress_s=0.0, source="invented", file="",
    )  # fmt: skip


def a_step(**changes):
    """Return a polishing step without leads, with changes."""
    return replace(STEP, **changes)


def rectangle(width, height, *, x=0.0, y=0.0, radius=0.0, hand=1):
    """Return a closed rectangle, counter-clockwise or with ``hand=-1`` clockwise."""
    r = radius
    if r == 0.0:
        points = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        path = Path.from_bulges(points, closed=True)
    else:
        x1, y1 = x + width, y + height
        points = [
            (x + r, y), (x1 - r, y), (x1, y + r), (x1, y1 - r),
            (x1 - r, y1), (x + r, y1), (x, y1 - r), (x, y + r),
        ]  # fmt: skip
        path = Path.from_bulges(points, [0.0, QUARTER] * 4, closed=True)
    return path if hand > 0 else path.reversed()


def polygon(points, bulges=None):
    """Return a closed path, counter-clockwise."""
    path = Path.from_bulges(points, bulges, closed=True)
    return path if signed_area(path) > 0.0 else path.reversed()


def a_contour(path, place=Place.OUTER, profile="eased"):
    """Return a contour that is one edge."""
    edge = Edge(profile, "0", "1", 0, len(path), path.length_mm)
    return Contour(path, (edge,), place, "0", "1")


def a_part(outline, *cutouts, name="p01"):
    """Return a part of an outline and clockwise cutouts."""
    areas = [signed_area(p) for p in (outline, *cutouts)]
    return Part(
        part_id=name, name=name, drawing="load.dxf", outline=a_contour(outline),
        cutouts=tuple(Cutout(a_contour(c, Place.CUTOUT)) for c in cutouts), holes=(),
        recesses=(), area_gross_mm2=areas[0], area_mm2=sum(areas),
    )  # fmt: skip


def a_load(parts, *, tools=None, machine=MACHINE):
    """Return a load of parts."""
    tools = tools or [a_tool()]
    shop = ShopDefaults(
        machine=machine.name, stone="stone", stack="stack", thickness_mm=THICKNESS_MM,
        units="metric", cutout_method="milled",
        stock_mm={"saw": 0.0, "waterjet": 0.0, "router": 0.0}, outer_source="saw",
        seam_source="saw", precut_source="waterjet", order="as-drawn", file="",
    )  # fmt: skip
    stone = Stone("stone", "Stone", "granite", 2700.0, 1.0, 1.0, 0.0, "invented", "")
    stack = Stack("stack", "Stack", (), (), 0.0, (), "invented", "")
    catalogue = Catalogue(
        profiles={}, tools={t.name: t for t in tools}, stacks={"stack": stack},
        machines={machine.name: machine}, stones={"stone": stone}, shop=shop,
        layers=LayerRules(()), digest="",
    )  # fmt: skip
    placed = tuple(PlacedPart(p, THICKNESS_MM, THICKNESS_MM) for p in parts)
    return Load(
        parts=placed, machine=machine, stack=stack, stone=stone, catalogue=catalogue,
        cutout_method="milled", diameters_mm={}, feed_override=1.0, order="as-drawn", findings=(),
    )  # fmt: skip


def a_run(load, part=0, contour=0, first=None, stop=None, *, free=(False, False), path=None):
    """Return a run over segments ``first`` to ``stop - 1`` of a contour, or the whole."""
    if path is None:
        path = load.parts[part].part.contours()[contour].path
        path = replace(path, tags=np.zeros(len(path), dtype=np.int64))
        if first is not None:
            path = path.slice(first, stop)
    place = Place.OUTER if contour == 0 else Place.CUTOUT if contour > 0 else Place.HOLE
    return EdgeRun(part, contour, path, place, *free)


def a_pass(load, run, step=STEP, *, visit=0, offset_mm=None, **changes):
    """Return a pass of a step along a run, the tool's radius off the edge."""
    radius = 0.5 * load.diameter_mm(step.tool)
    values = {
        "run": run, "visit": visit, "step": step,
        "offset_mm": radius if offset_mm is None else offset_mm, "reach_mm": radius,
        "top_z_mm": 0.0, "bottom_z_mm": -THICKNESS_MM, "number": 1, "count": 1,
        "feed_mm_per_s": step.feed_mm_per_s, "plunge_mm_per_s": step.plunge_mm_per_s,
        "removed_mm2": (2.0,),
    }  # fmt: skip
    return Pass(**(values | changes))


def a_plan(load, passes, *, profiles=("eased",), sides=None):
    """Return the plan of passes, one visit per visit number used."""
    count = 1 + max(p.visit for p in passes)
    visits = []
    for v in range(count):
        own = next(p for p in passes if p.visit == v)
        side = sides[v] if sides else 0
        visits.append(PlannedVisit(own.step.tool, own.step.tool, own.step.operation, 300.0, side))
    return PassPlan(
        load=load, profiles=profiles, visits=tuple(visits), passes=tuple(passes), stops=(),
        elsewhere_mm={}, treated_mm={}, findings=(),
    )  # fmt: skip
