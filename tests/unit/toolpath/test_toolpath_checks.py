"""Clearance to neighbours, table, travel and shaft: findings with what they need and have."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.catalogue import MACHINE
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import rectangle

from edgetime.findings import Severity, codes_in
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths, codes

OUTLINE = rectangle(1000.0, 600.0, x=500.0, y=500.0)


def findings(load, *passes):
    """Return the findings of passes, or of one pass around the first part."""
    passes = passes or (a_pass(load, a_run(load)),)
    return build_tool_paths(a_plan(load, list(passes))).findings


def beside(gap):
    """Return a load of two parts, one to the right of the other by a gap."""
    other = rectangle(300.0, 600.0, x=1500.0 + gap, y=500.0)
    return a_load([a_part(OUTLINE), a_part(other, name="p02")])


def test_far_neighbour_is_no_finding():
    """The centre runs at 50 mm, the wheel needs 50 + 5 more: 105 mm between parts suffice."""
    assert findings(beside(105.0)) == ()


def test_near_neighbour_is_a_warning():
    """At 103 mm the wheel keeps 3 mm of the 5 asked for."""
    (finding,) = findings(beside(103.0))
    assert (finding.code, finding.severity) == ("neighbour-too-near", Severity.WARNING)
    assert "within 53.0 mm of p02" in finding.message
    assert "needs 55.0 mm" in finding.message


def test_touching_neighbour_is_an_error():
    """At 99 mm the wheel cuts 1 mm into the neighbour."""
    (finding,) = findings(beside(99.0))
    assert (finding.code, finding.severity) == ("neighbour-too-near", Severity.ERROR)
    assert "within 49.0 mm" in finding.message


def test_lead_counts_as_swept():
    """A lead that reaches into the neighbour is found although the cut itself is clear."""
    below = rectangle(1000.0, 100.0, x=500.0, y=290.0)
    load = a_load([a_part(OUTLINE), a_part(below, name="p02")])
    assert findings(load) == ()
    run = a_run(load)
    (finding,) = findings(load, a_pass(load, run, a_step(lead="arc", lead_mm=30.0)))
    # The lead begins 30 mm further out: 500 - 50 - 30 - 390 = 30 mm from the neighbour.
    assert "within 30.0 mm" in finding.message


def test_wheel_over_a_neighbour_is_an_error():
    """A core bit in the middle of a part that lies on another is found, though far from its edges."""
    under = rectangle(3000.0, 2000.0, x=300.0, y=300.0)
    load = a_load(
        [a_part(OUTLINE), a_part(under, name="p02")], tools=[a_tool(40.0, name="core", shaft_mm=20)]
    )
    hole = rectangle(20.0, 20.0, x=900.0, y=800.0, radius=10.0, hand=-1)
    step = a_step(tool="core", operation=Operation.CORE)
    run = a_run(load, 0, -1, path=hole)
    (finding,) = findings(load, a_pass(load, run, step, offset_mm=0.0))
    assert finding.severity is Severity.ERROR
    assert "p02" in finding.message


def test_part_in_the_cutout_of_another_is_measured_to_the_cutout():
    """A small part laid in a sink opening is 103 mm from its border on all sides."""
    big = rectangle(2000.0, 1400.0, x=300.0, y=200.0)
    opening = rectangle(1206.0, 806.0, x=397.0, y=397.0, hand=-1)
    load = a_load([a_part(OUTLINE), a_part(big, opening, name="p02")])
    (finding,) = findings(load)
    assert finding.severity is Severity.WARNING
    assert "within 53.0 mm of p02" in finding.message


def test_centre_outside_travel_is_an_error():
    """A part at the corner of a machine without spare travel needs 50 mm more."""
    machine = replace(MACHINE, travel_min_mm=(500.0, 480.0), rack_mm=(600.0, 600.0))
    found = findings(a_load([a_part(OUTLINE)], machine=machine))
    (finding,) = [f for f in found if f.code == "outside-travel"]
    assert finding.severity is Severity.ERROR
    assert "50 mm too far" in finding.message


def test_part_beside_the_table_is_a_warning():
    """The wheel along a part 100 mm over the table's end is noted; the load tells of the part."""
    machine = replace(MACHINE, table_mm=(1400.0, 2500.0))
    found = {f.code: f for f in findings(a_load([a_part(OUTLINE)], machine=machine))}
    assert found.keys() == {"wheel-off-table"}
    assert found["wheel-off-table"].severity is Severity.NOTE
    # 100 mm of part, 50 mm to the centre, 50 mm of wheel.
    assert "200 mm beyond" in found["wheel-off-table"].message


def test_thick_shaft_hits_the_stone():
    """A disc reaching 90 mm under the stone leaves 10 mm for a shaft that needs 30."""
    disc = a_tool(200.0, name="disc", shaft_mm=60.0)
    load = a_load([a_part(OUTLINE)], tools=[disc])
    step = a_step(tool="disc", operation=Operation.GAUGE)
    (finding,) = findings(load, a_pass(load, a_run(load), step, offset_mm=10.0, reach_mm=10.0))
    assert finding.code == "shaft-hits-stone"
    assert "10.0 mm from the edge" in finding.message
    assert "needs 30.0 mm" in finding.message


def test_messages_name_the_place():
    """Every finding says which drawing, part and place it means."""
    for finding in findings(beside(99.0)):
        assert finding.where.path == "load.dxf"
        assert finding.where.part == "p01"
        assert finding.where.x_mm is not None


def test_codes_are_unique():
    """No two kinds of finding share a name."""
    assert len({c.name for c in codes_in(codes)}) == len(codes_in(codes)) > 0


@pytest.mark.parametrize("code", codes_in(codes), ids=lambda c: c.name)
def test_codes_say_what_to_do(code):
    """Every kind of finding has a meaning and a remedy, in sentences."""
    assert code.meaning.endswith(".")
    assert code.remedy.endswith(".")


def test_wheel_lower_than_the_slab_is_told():
    """A wheel 25 mm high works an edge of 30 mm: 5 mm stay as they are."""
    low = replace(a_tool(), width_mm=25.0)
    (finding,) = findings(a_load([a_part(OUTLINE)], tools=[low]))
    assert (finding.code, finding.severity) == ("wheel-low", Severity.WARNING)
    assert "is 25.0 mm high" in finding.message
    assert "30.0 mm of stone to cover" in finding.message
    assert findings(a_load([a_part(OUTLINE)], tools=[replace(a_tool(), width_mm=30.0)])) == ()


def test_what_runs_below_the_slab_needs_no_height():
    """A drum that runs 2 mm below a slab of 30 mm needs a working part of 30 mm, not of 32."""
    step = a_step(operation=Operation.ROUGH)
    for width, found in ((30.0, 0), (29.0, 1)):
        load = a_load([a_part(OUTLINE)], tools=[replace(a_tool(), width_mm=width)])
        told = findings(load, a_pass(load, a_run(load), step, bottom_z_mm=-32.0))
        assert [f.code for f in told] == ["wheel-low"] * found
