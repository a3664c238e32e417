"""Cored holes, entry holes, milled and precut cutouts."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from support.catalogue import STEPS, a_catalogue, a_cutout, a_load, a_rectangle, a_step
from support.shapes import circle, rectangle

from edgetime.geometry.measure import contains, distance
from edgetime.passes import plan_passes
from edgetime.places import Place
from edgetime.tooling import Operation

SINK = rectangle(500.0, 300.0, x=700.0, y=650.0, radius=60.0)


def passes_of(plan, operation):
    """Return the passes of an operation, in running order."""
    return [p for p in plan.passes if p.step.operation is operation]


def codes(plan):
    """Return the codes of a plan's findings."""
    return [f.code for f in plan.findings]


def with_sink(*, catalogue=None, profiles="unfinished", method=None, path=SINK, **options):
    """Return the plan of a rectangle with one cutout."""
    part = a_rectangle()
    part = replace(part, cutouts=(a_cutout(path, profiles, method=method),))
    return plan_passes(a_load(part, catalogue=catalogue, **options))


def test_drawn_hole_is_cored_through_the_slab_in_one_pass():
    """A hole of 35 mm: centre as drawn, down to 31 + 2 mm, the area of the bored disc."""
    plan = plan_passes(a_load(a_rectangle(holes=[(900.0, 800.0, 35.0)])))
    (core,) = passes_of(plan, Operation.CORE)
    assert core.run.contour == -1
    assert core.run.place is Place.HOLE
    assert core.run.path.points[:2].mean(axis=0).tolist() == [900.0, 800.0]
    assert (core.offset_mm, core.top_z_mm, core.bottom_z_mm) == (0.0, 0.0, -33.0)
    assert core.removed_mm2[0] == pytest.approx(math.pi * 17.5**2)


@pytest.mark.parametrize(("diameter", "fits"), [(34.6, True), (35.4, True), (35.6, False)])
def test_hole_fits_a_bit_within_half_a_millimetre(diameter, fits):
    """The core bit of 35 mm makes holes of 34.5 to 35.5 mm; others are an error finding."""
    plan = plan_passes(a_load(a_rectangle(holes=[(900.0, 800.0, diameter)])))
    assert bool(passes_of(plan, Operation.CORE)) is fits
    assert codes(plan) == ([] if fits else ["no-core-bit"])
    if not fits:
        assert "35.60 mm; the stack bores 35 mm" in plan.findings[0].message


def test_hole_goes_to_the_nearest_of_two_bits():
    """With bits of 35 and 35.4 mm a hole of 35.3 mm goes to the latter."""
    catalogue = a_catalogue(
        steps=[*STEPS, a_step(Operation.CORE, "core-12", places=(Place.HOLE,), depth_step_mm=5.0)]
    )
    tools = catalogue.tools
    tools["core-12"] = replace(tools["core-12"], diameter_mm=35.4)
    part = a_rectangle(holes=[(900.0, 800.0, 35.3), (1000.0, 800.0, 35.0)])
    plan = plan_passes(a_load(part, catalogue=catalogue))
    at = {
        p.step.tool: p.run.path.points[:2].mean(axis=0)[0] for p in passes_of(plan, Operation.CORE)
    }
    assert at == {"core-35": 1000.0, "core-12": 900.0}


@pytest.mark.parametrize(("profile", "offset"), [("eased", 11.0), ("unfinished", 10.0)])
def test_milled_cutout_is_slotted_in_depth_steps_below_the_slab(profile, offset):
    """33 mm in steps of 8: five passes, the stone of the last two cut at 31 mm.

    The bit of 20 mm leaves 1 mm where roughing follows, and cuts to size where nothing does.
    """
    cuts = passes_of(with_sink(profiles=profile), Operation.CUT)
    assert [p.offset_mm for p in cuts] == [offset] * 5
    assert [p.top_z_mm for p in cuts] == [0.0, -8.0, -16.0, -24.0, -32.0]
    assert [p.bottom_z_mm for p in cuts] == [-8.0, -16.0, -24.0, -32.0, -33.0]
    assert [p.removed_mm2[0] for p in cuts] == [160.0, 160.0, 160.0, 140.0, 0.0]
    assert [(p.number, p.count) for p in cuts] == [(k, 5) for k in range(1, 6)]
    assert cuts[0].run.path.closed


def test_milled_cutout_is_entered_through_a_core_in_the_slug():
    """The core of 35 mm touches the stock of 1 mm; the cut begins at the middle of 380 mm."""
    plan = with_sink(profiles="eased")
    (core,) = passes_of(plan, Operation.CORE)
    assert core.run.contour == 1
    assert core.run.place is Place.CUTOUT
    centre = core.run.path.points[:2].mean(axis=0)
    assert centre[0] == pytest.approx(950.0)
    assert distance(SINK, centre[None, :])[0] == pytest.approx(1.0 + 17.5)
    assert contains(SINK, centre[None, :])[0]
    cut = passes_of(plan, Operation.CUT)[0].run.path
    assert cut.points[0][0] == pytest.approx(950.0)
    assert abs(cut.points[0][1] - centre[1]) == pytest.approx(18.5)


def test_small_core_lies_on_the_finger_bit_s_centre_path():
    """A core of 12 mm, narrower than the finger bit of 20 mm, lies 1 + 10 mm off the edge."""
    core = a_step(Operation.CORE, "core-12", places=(Place.CUTOUT,), depth_step_mm=10.0)
    plan = with_sink(catalogue=a_catalogue(steps=[core, *STEPS[1:]]), profiles="eased")
    (entry,) = passes_of(plan, Operation.CORE)
    centre = entry.run.path.points[:2].mean(axis=0)
    assert distance(SINK, centre[None, :])[0] == pytest.approx(11.0)


def test_without_a_core_step_for_cutouts_the_bit_plunges_by_itself():
    """The cut is planned all the same, and a note says how it is entered."""
    plan = with_sink(catalogue=a_catalogue(steps=STEPS[1:]))
    assert codes(plan) == ["no-entry-core"]
    assert len(passes_of(plan, Operation.CUT)) == 5


@pytest.mark.parametrize(("width", "cored"), [(18.0, False), (36.0, False), (37.1, True)])
def test_core_must_fit_the_slug(width, cored):
    """A core of 35 mm with 1 mm of stock on each side fits a slot of 37 mm, none narrower."""
    plan = with_sink(path=rectangle(400.0, width, x=700.0, y=700.0), profiles="eased")
    assert ("no-entry-core" not in codes(plan)) is cored
    assert bool(passes_of(plan, Operation.CORE)) is cored


def test_milled_cutout_without_a_cut_step_is_an_error():
    """Its time is missing, and the finding says which cutout of which part."""
    plan = with_sink(catalogue=a_catalogue(steps=[s for s in STEPS if s.operation != "cut"]))
    assert codes(plan) == ["no-cut-step"]
    assert "Cutout 1 of part p01" in plan.findings[0].message


def test_precut_cutout_is_not_cut():
    """Precut by option or by its layer: no core, no cut, no slug."""
    for plan in (with_sink(cutout_method="precut"), with_sink(method="precut")):
        assert passes_of(plan, Operation.CORE) == []
        assert passes_of(plan, Operation.CUT) == []
        assert plan.stops == ()


def test_layer_rule_beats_the_load_s_method():
    """A cutout said to be milled is milled in a load of precut cutouts."""
    assert passes_of(with_sink(cutout_method="precut", method="milled"), Operation.CUT)


def test_round_cutout_is_milled_too():
    """A circle of 200 mm is slotted as any other opening."""
    cuts = passes_of(with_sink(path=circle(950.0, 800.0, 100.0)), Operation.CUT)
    assert len(cuts) == 5
    assert cuts[0].run.path.length_mm == pytest.approx(200.0 * math.pi)


@pytest.mark.parametrize(("method", "stock"), [("milled", 1.0), ("precut", 0.5)])
def test_stock_of_a_polished_cutout_is_what_its_maker_left(method, stock):
    """The finger bit leaves 1 mm, the waterjet 0.5 mm: one roughing pass of that stock."""
    plan = with_sink(profiles="eased", method=method)
    rough = [p for p in passes_of(plan, Operation.ROUGH) if p.run.contour == 1]
    assert [(p.offset_mm, p.removed_mm2[0]) for p in rough] == [(30.0, stock * 31.0)]


def test_slug_stop_follows_the_cut():
    """Two cutouts: 2 × 30 s for the slugs and 20 s for the stop, before the next tool."""
    other = rectangle(200.0, 100.0, x=1250.0, y=900.0, radius=30.0)
    part = replace(a_rectangle(), cutouts=(a_cutout(SINK), a_cutout(other)))
    plan = plan_passes(a_load(part))
    (stop,) = plan.stops
    cut = next(v for v, visit in enumerate(plan.visits) if visit.operation is Operation.CUT)
    assert (stop.reason, stop.before_visit, stop.parts) == ("slug", cut + 1, (0,))
    assert stop.seconds == 80.0
