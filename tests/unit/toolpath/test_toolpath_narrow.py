"""Openings that no rounding of corners makes wide enough, told apart from tight corners."""

from __future__ import annotations

import math

import pytest
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import polygon, rectangle

from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths
from edgetime.toolpath.narrow import Opening
from edgetime.toolpath.reach import InsideCorners

OUTLINE = rectangle(1600.0, 900.0, x=300.0, y=300.0)
STEP = a_step(operation=Operation.FINE)


def findings_in(cutout, *, tools=None, **run):
    """Return the findings of one pass of an 80 mm wheel with 1 mm clearance in a cutout."""
    tools = tools or [a_tool(80.0, clearance_mm=1.0)]
    load = a_load([a_part(OUTLINE, cutout.reversed())], tools=tools)
    made = a_run(load, 0, 1, **run)
    paths = build_tool_paths(a_plan(load, [a_pass(load, made, STEP)]))
    return paths, {f.code: f for f in paths.findings}


def test_slot_is_narrow_and_has_no_tight_corners():
    """A 760 × 70 mm cutout: no corner radius lets in a wheel that needs 82 mm."""
    paths, found = findings_in(rectangle(760.0, 70.0, x=500.0, y=500.0))
    assert set(found) == {"opening-narrow"}
    message = found["opening-narrow"].message
    assert "70.0 mm wide" in message
    assert "radius of 35.0 mm" in message
    assert "needs 82.0 mm, a radius of 41.0 mm" in message
    assert "1660.0 mm in 1 place" in message
    assert "at most 68.0 mm diameter" in message
    assert paths.hand_mm == pytest.approx(1660.0, rel=1e-12)


def test_tool_that_would_fit_is_named():
    """Of the wheels of the catalogue those are named that enter the 70 mm slot, largest first."""
    tools = [a_tool(80.0, clearance_mm=1.0)] + [
        a_tool(d, clearance_mm=1.0, name=f"w{d:.0f}") for d in (40.0, 68.0, 69.0)
    ]
    _, found = findings_in(rectangle(760.0, 70.0, x=500.0, y=500.0), tools=tools)
    assert "the catalogue has w68 (68 mm), w40 (40 mm)." in found["opening-narrow"].message


def test_wide_enough_slot_has_tight_corners_only():
    """At 84 mm the same wheel goes in: the four corners are told, and a radius is what they need."""
    _, found = findings_in(rectangle(760.0, 84.0, x=500.0, y=500.0))
    assert set(found) == {"inside-radius"}


def test_taper_is_narrow_at_its_thin_end():
    """A cutout that tapers from 150 to 50 mm: corners at the wide end, too narrow at the other."""
    shape = polygon([(500, 500), (1100, 500), (1100, 550), (500, 650)])
    _, found = findings_in(shape)
    assert set(found) == {"inside-radius", "opening-narrow"}
    assert "50.0 mm wide" in found["opening-narrow"].message
    assert "in 2 places" in found["inside-radius"].message
    assert found["opening-narrow"].where.x_mm == pytest.approx(1100.0, abs=0.1)


def test_leg_of_an_l_is_narrow_beside_a_wide_one():
    """An L with legs of 200 and 60 mm: the thin leg is narrow, the wide one's corners are corners."""
    shape = polygon([(500, 500), (1100, 500), (1100, 560), (700, 560), (700, 900), (500, 900)])
    _, found = findings_in(shape)
    assert "60.0 mm wide" in found["opening-narrow"].message
    # Bottom left, top left and top right corner of the wide leg: R on both sides of each.
    assert f"{6 * 40.0:.1f} mm in 3 places" in found["inside-radius"].message


def test_run_that_ends_in_a_corner_of_a_wide_opening_is_a_corner():
    """Only one side of the corner is worked; the other side still belongs to the opening."""
    _, found = findings_in(rectangle(400.0, 300.0, x=500.0, y=500.0), first=1, stop=2)
    assert set(found) == {"inside-radius"}


@pytest.mark.parametrize(("degrees", "rounds"), [(90, True), (60, True), (46, True), (40, False)])
def test_points_of_triangles(degrees, rounds):
    """A point of 45° and more is rounded; a sharper one is a taper."""
    half = math.radians(0.5 * degrees)
    path = polygon([(0, 0), (1000 * math.cos(half), -1000 * math.sin(half)),
                    (1000 * math.cos(half), 1000 * math.sin(half))]).reversed()  # fmt: skip
    radius = 30.0
    tangent = radius / math.tan(half)
    at = next(float(path.lengths[:k].sum()) for k in range(3) if abs(path.points[k]).max() < 1e-9)
    assert Opening(path).can_be_rounded(at - tangent, at + tangent, radius) is rounds


def test_width_of_a_symmetric_taper_is_its_end():
    """Sides that run together are nearest at the end wall: 40 mm, not square to either side."""
    path = polygon([(0, -20), (0, 20), (-300, 90), (-300, -90)]).reversed()
    width, _ = Opening(path).narrowest(0.0, path.length_mm, 500.0)
    assert width == pytest.approx(40.0, abs=1e-6)


def test_corners_within_a_stretch():
    """A rectangle with 10 mm fillets has four inside radii of 10 mm."""
    path = rectangle(400.0, 300.0, radius=10.0, hand=-1)
    assert InsideCorners(path).within_mm(0.0, path.length_mm) == pytest.approx([10.0] * 4)
