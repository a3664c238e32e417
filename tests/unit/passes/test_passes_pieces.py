"""Real diameters of the pieces of one profiled wheel."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.catalogue import a_catalogue, a_cutout, a_load, a_part, a_rectangle
from support.shapes import rectangle

from edgetime.errors import UsageError
from edgetime.passes import plan_passes
from edgetime.tooling import ToolKind
from edgetime.toolpath import build_tool_paths


def wheel(catalogue):
    """Return the name of the profiled wheel of the test catalogue."""
    return next(n for n, t in catalogue.tools.items() if t.kind is ToolKind.PROFILE_WHEEL)


def offsets(load):
    """Return the offset of the passes of each piece."""
    plan = plan_passes(load)
    return {plan.visits[p.visit].piece: p.offset_mm for p in plan.passes}


def two_profiles():
    """Return a part with two profiles on its sides."""
    return a_rectangle(["eased", "half-bullnose", "eased", "half-bullnose"])


def test_each_piece_runs_at_its_own_radius():
    """Of two pieces of one wheel the worn one is offset by its own radius, the other as new."""
    catalogue = a_catalogue()
    name = wheel(catalogue)
    new = catalogue.tools[name].diameter_mm
    found = offsets(a_load(two_profiles(), diameters_mm={f"{name}/eased": new - 3.0}))
    assert found[f"{name}/eased"] == pytest.approx(0.5 * new - 1.5)
    assert found[f"{name}/half-bullnose"] == pytest.approx(0.5 * new)


def test_piece_goes_before_tool_before_new():
    """The tool's diameter holds for the pieces that have none of their own."""
    catalogue = a_catalogue()
    name = wheel(catalogue)
    new = catalogue.tools[name].diameter_mm
    load = a_load(two_profiles(), diameters_mm={name: new - 1.0, f"{name}/eased": new - 3.0})
    assert load.diameter_mm(f"{name}/eased") == new - 3.0
    assert load.diameter_mm(f"{name}/half-bullnose") == new - 1.0
    assert load.diameter_mm(name) == new - 1.0


def test_rim_speed_is_that_of_the_largest_piece():
    """A mark between the rim speeds of both pieces is exceeded by the larger one only."""
    catalogue = a_catalogue()
    name = wheel(catalogue)
    new = catalogue.tools[name].diameter_mm
    step = next(s for s in catalogue.stacks["stack"].steps if s.tool == name)
    mark = step.rotation_rad_per_s * 0.5 * (new - 1.0)
    tools = {**catalogue.tools, name: replace(catalogue.tools[name], max_peripheral_mm_per_s=mark)}
    catalogue = replace(catalogue, tools=tools)
    small = {f"{name}/{p}": new - 2.0 for p in ("eased", "half-bullnose")}
    for diameters, found in ((small, False), (small | {f"{name}/half-bullnose": new}, True)):
        load = a_load(two_profiles(), catalogue=catalogue, diameters_mm=diameters)
        assert ("too-fast" in {f.code for f in plan_passes(load).findings}) is found


def test_reach_is_the_pieces_own():
    """In a sharp corner of an opening a piece misses its own radius on both sides, four times."""
    name = wheel(a_catalogue())
    new = a_catalogue().tools[name].diameter_mm
    opening = rectangle(500.0, 300.0, x=700.0, y=600.0, hand=-1)
    for diameter in (new, new - 4.0):
        part = a_part(
            rectangle(1000.0, 600.0, x=500.0, y=500.0), "unfinished", a_cutout(opening, "eased")
        )
        load = a_load(part, cutout_method="precut", diameters_mm={f"{name}/eased": diameter})
        paths = build_tool_paths(plan_passes(load))
        message = next(f.message for f in paths.findings if f"tool {name} " in f.message)
        assert f"{8 * 0.5 * diameter:.1f} mm in 4 places" in message


@pytest.mark.parametrize(
    ("key", "says"),
    [("{wheel}/eesed", "No profile 'eesed'"), ("drum/eased", "is not ground to a profile"),
     ("wheeel/eased", "No tool 'wheeel'")],
)  # fmt: skip
def test_pieces_there_are_not(key, says):
    """An unknown tool or profile, and a tool that has one piece for all profiles."""
    name = key.format(wheel=wheel(a_catalogue()))
    with pytest.raises(UsageError, match=says) as caught:
        a_load(two_profiles(), diameters_mm={name: 60.0})
    assert caught.value.remedy


def test_a_diameter_of_what_does_nothing_is_said():
    """A piece for a profile that is not drawn, and a tool that no step uses; not those at work."""
    catalogue = a_catalogue()
    name = wheel(catalogue)
    idle = next(n for n, t in catalogue.tools.items() if t.kind is ToolKind.CORE_BIT)
    given = {
        n: catalogue.tools[n.partition("/")[0]].diameter_mm
        for n in (name, f"{name}/eased", f"{name}/ogee", idle)
    }
    plan = plan_passes(a_load(two_profiles(), diameters_mm=given))
    told = [f for f in plan.findings if f.code == "diameter-unused"]
    assert [f.message.split()[0] for f in told] == [f"{name}/ogee", idle]
    assert {f.where.key for f in told} == {"--diameter"}
