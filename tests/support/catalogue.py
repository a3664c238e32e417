"""A small catalogue and take-offs made by hand, for the tests of load, passes and cycle.

All figures are invented and round, so that expectations can be worked out on paper.
"""

from __future__ import annotations

import math
from dataclasses import replace

from edgetime.geometry.measure import signed_area
from edgetime.load import make_load
from edgetime.places import Place
from edgetime.takeoff.parts import (
    Contour,
    Cutout,
    DrawingTakeOff,
    Edge,
    Hole,
    Part,
    TakeOff,
)
from edgetime.tooling import (
    Catalogue,
    FaceUp,
    Machine,
    Operation,
    Profile,
    Section,
    ShiftDefaults,
    ShopDefaults,
    Stack,
    Step,
    Stone,
    Tool,
    ToolKind,
)
from edgetime.tooling.layers import LayerRules
from edgetime.tooling.profiles import Vertex
from support.shapes import rectangle

EVERYWHERE = (Place.OUTER, Place.CUTOUT)

MACHINE = Machine(
    name="bench", title="Bench", table_mm=(4000.0, 2500.0), travel_min_mm=(-300.0, -300.0),
    travel_max_mm=(4300.0, 2800.0), axis_speed_mm_per_s=(500.0, 500.0, 200.0),
    axis_acceleration_mm_per_s2=(1000.0, 1000.0, 1000.0),
    axis_jerk_mm_per_s3=(math.inf, math.inf, math.inf), rapid_mm_per_s=(500.0, 500.0, 200.0),
    path_acceleration_mm_per_s2=1000.0, centripetal_mm_per_s2=1000.0, path_mode="exact-path",
    corner_tolerance_mm=0.0, block_time_s=0.0, pockets=12, rack_mm=(-200.0, -200.0),
    safe_z_mm=60.0, approach_z_mm=5.0, exchange_s=10.0, measure_s=5.0,
    spindle_up_s=10.0, max_rotation_rad_per_s=1000.0, probe_s=3.0, water_on_s=1.0,
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


def a_section(removed_mm2, height_mm=30.0):
    """Return a section at 30 mm that is straight and yet removes an area."""
    points = (Vertex(u_mm=0.0, v_mm=0.0), Vertex(u_mm=0.0, v_mm=height_mm))
    return Section(thickness_mm=30.0, height_mm=height_mm, points=points, removed_mm2=removed_mm2)


def a_profile(name, family="round", removed_mm2=40.0, **changes):
    """Return a profile with one section at 30 mm."""
    sections = ()
    if family not in {"none", "seam"}:
        sections = (a_section(removed_mm2),)
    values = {
        "name": name, "title": name, "family": family, "face_up": FaceUp.UP, "made_here": True,
        "sides": 1, "gauge_strip_mm": 0.0, "section": sections, "source": "invented", "file": "",
    }  # fmt: skip
    return Profile(**(values | changes))


def a_tool(name, diameter_mm, kind=ToolKind.DRUM, **changes):
    """Return a tool without marked maximum, life, price or dressing."""
    values = {
        "name": name, "title": name, "kind": kind, "diameter_mm": diameter_mm, "shaft_mm": 20.0,
        "clearance_mm": 1.0, "width_mm": 40.0, "profiled": kind is ToolKind.PROFILE_WHEEL,
        "max_rotation_rad_per_s": None, "max_peripheral_mm_per_s": None, "life": (),
        "price": None, "currency": "", "pack": 1, "dress_every_mm": 0.0, "dress_s": 0.0,
        "source": "invented", "file": "",
    }  # fmt: skip
    return Tool(**(values | changes))


def a_step(operation, tool, **changes):
    """Return a step of an operation; it works on outlines and cutouts."""
    values = {"name": f"{operation}-{tool}", "operation": operation, "tool": tool,
              "places": EVERYWHERE, "rotation_rad_per_s": 300.0}  # fmt: skip
    return replace(STEP, **(values | changes))


PROFILES = (
    a_profile("eased", "arris", 2.0),
    a_profile("half-bullnose", "round", 40.0),
    a_profile("ogee", "shaped", 60.0, face_up=FaceUp.DOWN),
    a_profile("full-bullnose", "round", 80.0, sides=2),
    a_profile("apron", "laminated", 10.0, gauge_strip_mm=25.0),
    a_profile("mitre", "mitred", made_here=False),
    a_profile("seam", "seam"),
    a_profile("unfinished", "none"),
)

TOOLS = (
    a_tool("core-35", 35.0, ToolKind.CORE_BIT),
    a_tool("core-12", 12.0, ToolKind.CORE_BIT),
    a_tool("finger", 20.0, ToolKind.FINGER_BIT),
    a_tool("drum", 60.0),
    a_tool("seamer", 50.0),
    a_tool("gauger", 120.0, ToolKind.GAUGE_WHEEL),
    a_tool("wheel", 80.0, ToolKind.PROFILE_WHEEL),
    a_tool("pad", 100.0, ToolKind.POLISH_PAD),
)

STEPS = (
    a_step(
        Operation.CORE,
        "core-35",
        places=(Place.HOLE, Place.CUTOUT),
        depth_step_mm=10.0,
        feed_mm_per_s=1.0,
    ),
    a_step(Operation.CUT, "finger", places=(Place.CUTOUT,), depth_step_mm=8.0, stock_left_mm=1.0),
    a_step(Operation.ROUGH, "drum", engagement_mm=1.0),
    a_step(Operation.SEAM, "seamer", engagement_mm=0.0),
    a_step(Operation.GAUGE, "gauger", engagement_mm=20.0, depth_step_mm=1.0),
    a_step(Operation.PROFILE, "wheel", share=0.75, passes=2),
    a_step(Operation.POLISH, "pad", share=0.25),
)

STONE = Stone(
    name="stone", title="Stone", family="granite", density_kg_per_m3=2700.0,
    thickness_spread_mm=1.0, source="invented", file="",
)  # fmt: skip
STACK = Stack(
    name="stack", title="Stack", stones=("granite",), thicknesses_mm=(30.0,),
    gauge_below_nominal_mm=0.5, steps=STEPS, source="invented", file="",
)  # fmt: skip
SHOP = ShopDefaults(
    machine="bench", stone="stone", stack="stack", thickness_mm=30.0, units="metric",
    cutout_method="milled", stock_mm={"saw": 2.5, "waterjet": 0.5, "router": 0.0},
    outer_source="saw", seam_source="saw", precut_source="waterjet", order="as-drawn", file="",
    shift=ShiftDefaults(tool_swap_s=0.0, measure_s=0.0, scrap=0.0),
)  # fmt: skip


def _named(records):
    return {r.name: r for r in records}


def a_catalogue(
    *, steps=None, machine=None, stone=None, tools=TOOLS, profiles=PROFILES, shop=None, **stack
):
    """Return a catalogue of one machine, stone and stack, with changes."""
    the_stack = replace(STACK, **({"steps": STEPS if steps is None else tuple(steps)} | stack))
    return Catalogue(
        profiles=_named(profiles), tools=_named(tools), stacks=_named([the_stack]),
        machines=_named([replace(MACHINE, **(machine or {}))]), stones=_named([replace(STONE, **(stone or {}))]),
        shop=replace(SHOP, **(shop or {})), layers=LayerRules(()), digest="",
    )  # fmt: skip


def a_contour(path, profiles, place=Place.OUTER):
    """Return a contour whose segments get the profiles, one each or one for all."""
    names = [profiles] * len(path) if isinstance(profiles, str) else list(profiles)
    edges = []
    for i, name in enumerate(names):
        first = edges.pop().first if edges and edges[-1].profile == name else i
        length = float(path.lengths[first : i + 1].sum())
        edges.append(Edge(name, name, "1", first, i + 1, length))
    return Contour(path, tuple(edges), place, "0", "1")


def a_cutout(path, profiles="unfinished", *, method=None, diameter_mm=None):
    """Return a cutout of a path drawn either way round."""
    clockwise = path if signed_area(path) < 0.0 else path.reversed()
    return Cutout(a_contour(clockwise, profiles, Place.CUTOUT), diameter_mm, method)


def a_part(path, profiles, *cutouts, holes=(), name="p01", drawing="load.dxf"):
    """Return a part; holes are (x, y, diameter)."""
    gross = signed_area(path)
    net = gross + sum(signed_area(c.contour.path) for c in cutouts)
    net -= sum(math.pi * d * d / 4.0 for _, _, d in holes)
    return Part(
        part_id=name, name=name, drawing=drawing, outline=a_contour(path, profiles),
        cutouts=tuple(cutouts), holes=tuple(Hole(x, y, d, "holes", "2") for x, y, d in holes),
        recesses=(), area_gross_mm2=gross, area_mm2=net,
    )  # fmt: skip


def a_drawing(*parts, path="load.dxf"):
    """Return the take-off of one drawing."""
    return DrawingTakeOff(path, "mm", 1.0, "", (0.0, 0.0), {}, {}, tuple(parts), ())


def a_load(*parts, catalogue=None, **options):
    """Return a load of parts on the small catalogue."""
    return make_load(TakeOff((a_drawing(*parts),)), catalogue or a_catalogue(), **options)


def a_rectangle(profiles="eased", *, width=1000.0, depth=600.0, x=500.0, y=500.0, **part):
    """Return a rectangular part: front, right, back, left edge."""
    return a_part(rectangle(width, depth, x=x, y=y), profiles, **part)
