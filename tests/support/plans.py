"""Small loads and pass plans made by hand, for the tests of tool paths and what follows them.

All figures are invented.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from edgetime.load.load import Load, PlacedPart
from edgetime.passes.pass_plan import EdgeRun, Pass, PassPlan, PlannedVisit
from edgetime.places import Place
from edgetime.tooling import ToolKind
from support import catalogue
from support.catalogue import MACHINE, STEP, a_catalogue, a_cutout

THICKNESS_MM = 30.0


def a_tool(diameter_mm=100.0, *, clearance_mm=0.0, shaft_mm=30.0, name="wheel"):
    """Return a wheel."""
    return catalogue.a_tool(
        name, diameter_mm, ToolKind.PROFILE_WHEEL, profiled=False, clearance_mm=clearance_mm,
        shaft_mm=shaft_mm,
    )  # fmt: skip


def a_step(**changes):
    """Return a polishing step without leads, with changes."""
    return replace(STEP, **changes)


def a_part(outline, *cutouts, name="p01"):
    """Return a part of an outline and clockwise cutouts, all eased."""
    return catalogue.a_part(outline, "eased", *(a_cutout(c, "eased") for c in cutouts), name=name)


def a_load(parts, *, tools=None, machine=MACHINE):
    """Return a load of parts in a shop that has a machine, tools and nothing else."""
    shop = a_catalogue(
        tools=tools or [a_tool()], machine={"name": machine.name}, profiles=(), steps=(),
        shop={"machine": machine.name, "stock_mm": {"saw": 0.0, "waterjet": 0.0, "router": 0.0}},
    )  # fmt: skip
    shop.machines[machine.name] = machine
    placed = tuple(PlacedPart(p, THICKNESS_MM, THICKNESS_MM) for p in parts)
    return Load(
        parts=placed, machine=machine, stack=shop.stacks["stack"], stone=shop.stones["stone"],
        catalogue=shop, cutout_method="milled", diameters_mm={}, feed_override=1.0,
        order="as-drawn", findings=(),
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
