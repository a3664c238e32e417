"""Explanations that a reader can redo by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from support.catalogue import STEPS, TOOLS, a_catalogue, a_rectangle, a_step
from support.estimates import an_estimate, two_tops

from edgetime.errors import UsageError
from edgetime.estimating import explain_tool
from edgetime.tooling import Operation


def told(est, tool):
    """Return the factors and terms of an explanation by name."""
    factors = explain_tool(est, tool)
    assert len({f.name for f in factors}) == len(factors)
    return {f.name: f.value for f in factors}


def spent(est, tool):
    """Return the time of a tool over all its stays [s]."""
    return sum(v.time.total_s for v in est.cycle.visits if tool in {v.tool, v.piece})


@pytest.mark.parametrize(
    "tool", ["core-35", "finger", "drum", "seamer", "gauger", "wheel/eased", "wheel", "pad"]
)
def test_terms_of_every_kind_of_tool_add_up(tool):
    """Core, cut, rough, seam, gauge, profile and polish: the terms are the tool's time."""
    apron = a_rectangle(["apron", "seam", "eased", "eased"], x=2000.0, y=1400.0, name="p03")
    catalogue = a_catalogue()
    parts = [p.part for p in two_tops().load.parts]
    est = an_estimate(*parts, apron, catalogue=catalogue, feed_override=0.8)
    terms = [f.seconds for f in explain_tool(est, tool) if f.seconds is not None]
    assert len(terms) > 5
    assert sum(terms) == pytest.approx(spent(est, tool), abs=1e-9)


def test_core_bit_by_hand():
    """Two holes of 31 + 2 mm in pecks of 10 mm, from 5 mm above the stone, back off 0.5 mm.

    Down to 10, 20, 30 and 33 mm: 5 + 33 + 3 x 0.5 mm drilled a hole at 1 mm/s; up again
    15 + 25 + 35 + 38 mm, down again 14.5 + 24.5 + 34.5 mm at 50 mm/s.
    """
    est = two_tops()
    by = told(est, "core-35")
    assert by["holes bored"] == 2.0  # the tap's, and the entry of the sink
    assert (by["actual thickness"], by["breakthrough"], by["depth bored"]) == (31.0, 2.0, 33.0)
    assert (by["depth per peck"], by["pecks per hole"]) == (10.0, 4.0)
    assert (by["approach height"], by["back-off"]) == (5.0, 0.5)
    assert by["way drilled"] == pytest.approx(2 * 39.5)
    assert by["way drilled ÷ feed"] == pytest.approx(2 * 39.5 / 1.0)
    assert by["way back up ÷ feed"] == pytest.approx(2 * 113.0 / 50.0)
    assert by["way down again ÷ feed"] == pytest.approx(2 * 73.5 / 50.0)
    assert by["exchange"] == 10.0
    assert by["length measuring"] == 5.0
    assert by["spindle run-up"] == 3.0
    assert by["spindle run-down"] == 0.0
    assert by["probing of thickness"] == 6.0
    assert by["water on"] == 1.0


def test_factors_on_the_feed_are_in_the_terms():
    """At half feed drilling takes twice as long; the retract feed is as it was."""
    by = told(two_tops(feed_override=0.5), "core-35")
    assert by["way drilled ÷ feed"] == pytest.approx(2 * 39.5 / 0.5)
    assert by["way back up ÷ feed"] == pytest.approx(2 * 113.0 / 50.0)


def test_finger_bit_by_hand():
    """33 mm in steps of 8 mm: down to 8, 16, 24, 32 and 33 mm, in five rounds of the sink.

    From approach height to 33 mm are 38 mm at 10 mm/s plunge feed, and once up at 50 mm/s. The
    centre of the bit of 20 mm runs 11 mm inside the sink of 500 x 300 mm: 1 mm stock is left, and
    of the corners of 60 mm remain 49 mm.
    """
    est = two_tops()
    by = told(est, "finger")
    (steps,) = [f for f in explain_tool(est, "finger") if f.name == "depth steps"]
    assert (steps.value, steps.note) == (5.0, "down to 8 mm, 16 mm, 24 mm, 32 mm, 33 mm")
    assert (by["depth cut"], by["depth per step"]) == (33.0, 8.0)
    assert by["passes per run, step cut-finger"] == 5.0
    assert by["way down ÷ feed"] == pytest.approx(38.0 / 10.0)
    assert by["way up ÷ feed"] == pytest.approx(38.0 / 50.0)
    path = 5.0 * (2.0 * 380.0 + 2.0 * 180.0 + 2.0 * math.pi * 49.0)
    assert by["tool-centre path in the cut"] == pytest.approx(path)
    assert by["path ÷ feed"] == pytest.approx(path / 30.0)


def test_piece_that_stays_in_the_spindle_is_not_exchanged_twice():
    """Two steps of one pad at 300 and 250 rad/s: one exchange; 0.5 s less speed, no run-up."""
    steps = [*STEPS, a_step(Operation.POLISH, "pad", name="again", rotation_rad_per_s=250.0,
                            share=0.0)]  # fmt: skip
    est = an_estimate(a_rectangle(), catalogue=a_catalogue(steps=steps))
    assert [v.tool for v in est.cycle.visits][-2:] == ["pad", "pad"]
    by = told(est, "pad")
    assert (by["exchange"], by["length measuring"]) == (10.0, 5.0)
    # From the wheel's 300 rad/s to standstill, then from 300 to 250 at 100 rad/s².
    assert by["spindle run-down"] == pytest.approx(3.0 + 0.5)
    assert by["spindle run-up"] == 3.0
    total = sum(f.seconds for f in explain_tool(est, "pad") if f.seconds is not None)
    assert total == pytest.approx(spent(est, "pad"), abs=1e-9)


def test_steps_that_share_a_stay_are_told_apart():
    """Two polishing steps at 30 and 15 mm/s in one stay: each path over its own feed.

    Once round 1000 x 600 mm at 50 mm, corners rolled: 3200 mm and a circle of 50 mm.
    """
    steps = [*STEPS, a_step(Operation.POLISH, "pad", name="slow", feed_mm_per_s=15.0, share=0.0)]
    est = an_estimate(a_rectangle(), catalogue=a_catalogue(steps=steps))
    by = told(est, "pad")
    path = 3200.0 + 2.0 * math.pi * 50.0
    assert by["tool-centre path in the cut"] == pytest.approx(2.0 * path)
    assert by["path ÷ feed, step polish-pad"] == pytest.approx(path / 30.0)
    assert by["path ÷ feed, step slow"] == pytest.approx(path / 15.0)


def test_dressing_is_a_term_of_its_own():
    """Dressed every metre for 7 s on 3.51 m of path: three times."""
    tools = [
        replace(t, dress_every_mm=1000.0, dress_s=7.0) if t.name == "pad" else t for t in TOOLS
    ]
    est = an_estimate(a_rectangle(), catalogue=a_catalogue(tools=tools))
    assert told(est, "pad")["dressing"] == 21.0


def test_a_tool_that_does_not_run_is_refused():
    """With those that do."""
    with pytest.raises(UsageError, match="No tool 'spoon'") as caught:
        explain_tool(two_tops(), "spoon")
    assert "core-35" in caught.value.remedy
