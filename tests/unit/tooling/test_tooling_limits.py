"""Speeds, feeds and heights that a catalogue may ask for."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from edgetime.tooling import Operation, load_catalogue
from edgetime.tooling.plausible import catalogue_findings
from edgetime.tooling.step_limits import USUAL_FEEDS, overspeeds


@pytest.fixture(scope="module")
def catalogue():
    """Return the shipped catalogue."""
    return load_catalogue()


def with_step(catalogue, name, **changes):
    """Return the catalogue with one step of the standard stack changed."""
    stack = catalogue.stacks["standard"]
    steps = tuple(replace(s, **changes) if s.name == name else s for s in stack.steps)
    assert steps != stack.steps
    return replace(catalogue, stacks={"standard": replace(stack, steps=steps)})


def with_tool(catalogue, name, **changes):
    """Return the catalogue with one tool changed, and only the standard stack."""
    tools = {**catalogue.tools, name: replace(catalogue.tools[name], **changes)}
    return replace(catalogue, tools=tools, stacks={"standard": catalogue.stacks["standard"]})


def test_shipped_catalogue_is_sound(catalogue):
    """No shipped stack is too fast, oddly fed, or has tools lower than its edges."""
    assert catalogue_findings(catalogue) == ()


def test_speed_above_the_marked_one(catalogue):
    """9,500 rpm on a drum marked 9,000: too fast; its rim, 37.3 m/s of 40, is not."""
    wrong = with_step(catalogue, "drum-75", rotation_rad_per_s=9500 * math.pi / 30)
    (found,) = catalogue_findings(wrong)
    assert (found.code, str(found.severity)) == ("too-fast", "error")
    assert "9500 rev/min; it is marked for 9000 rev/min" in found.message
    assert found.where.key == "step[8].spindle"


def test_rim_of_a_profiled_wheel_counts(catalogue):
    """A metal of 80 mm at 9,000 rpm runs 37.7 m/s where it meets the edge, more at its rim."""
    tool = {"max_rotation_rad_per_s": None}
    wrong = with_tool(catalogue, "metal-1", **tool)
    wrong = with_step(wrong, "metal-1-shaped", rotation_rad_per_s=9000 * math.pi / 30)
    (found,) = catalogue_findings(wrong)
    assert found.code == "too-fast"
    deepest = max(
        u
        for p in catalogue.profiles.values() if p.family == "shaped"
        for s in p.sections.values() for u, _ in s.points_mm
    )  # fmt: skip
    speed = math.pi * (0.08 + 2 * deepest / 1000) * 9000 / 60
    assert f"runs at {speed:.1f} m/s" in found.message


@pytest.mark.parametrize(("stack", "severity"), [("standard", "error"), ("other", "warning")])
def test_speed_the_spindle_does_not_reach(catalogue, stack, severity):
    """An error in the shop's own stack; a warning in one that may be for another machine."""
    slow = replace(catalogue.machines["medium"], max_rotation_rad_per_s=6200 * math.pi / 30)
    wrong = replace(
        catalogue,
        machines={"medium": slow},
        stacks={"standard": catalogue.stacks["standard"]},
        shop=replace(catalogue.shop, stack=stack),
    )
    (found,) = catalogue_findings(wrong)
    assert (found.code, str(found.severity)) == ("spindle-limit", severity)
    assert "drum-75 asks for 6500 rev/min; the spindle of medium reaches 6200" in found.message


def test_wheel_lower_than_the_edge(catalogue):
    """A drum 40 mm high: slabs of 30 mm are covered, an edge glued up to 40 + 1 mm is not."""
    assert catalogue_findings(with_tool(catalogue, "drum-75", width_mm=41.0)) == ()
    (found,) = catalogue_findings(with_tool(catalogue, "drum-75", width_mm=40.0))
    assert found.code == "wheel-low"
    assert "is 40 mm high; laminated-40 in" in found.message
    assert "needs 41 mm, of which 1 mm are the stone's spread" in found.message


def test_core_bit_shorter_than_the_slab(catalogue):
    """A core bit of 25 mm does not go through a slab of 30 + 1 mm."""
    (found,) = catalogue_findings(with_tool(catalogue, "core-35", width_mm=25.0))
    assert found.code == "wheel-low"
    assert "needs 31 mm" in found.message


def test_feed_in_the_wrong_unit(catalogue):
    """450 mm/s on the finger bit is 27 m/min."""
    (found,) = catalogue_findings(with_step(catalogue, "finger-22", feed_mm_per_s=450.0))
    assert found.code == "feed-unusual"
    assert "27 m/min (450 mm/s); 30 to 6000 mm/min is usual for cut" in found.message


def test_every_shipped_feed_read_in_mm_per_s_is_found(catalogue):
    """A feed 60 times too fast lies outside of the usual range for each step of each stack."""
    assert set(USUAL_FEEDS) == set(Operation)
    for stack in catalogue.stacks.values():
        for step in stack.steps:
            usual = USUAL_FEEDS[step.operation]
            assert usual.least_mm_per_s <= step.feed_mm_per_s <= usual.most_mm_per_s
            assert 60.0 * step.feed_mm_per_s > usual.most_mm_per_s, (stack.name, step.name)


def test_feed_above_the_tools_limit(catalogue):
    """A tool that bears 1.5 m/min is fed at 2.5 m/min."""
    (found,) = catalogue_findings(with_tool(catalogue, "drum-75", max_feed_mm_per_s=25.0))
    assert found.code == "feed-above-tool"
    assert "at 2.5 m/min; max_feed of drum-75 is 1.5 m/min" in found.message


def test_limits_are_not_exceeded_by_rounding(catalogue):
    """A speed exactly at its limit is none above it."""
    step = catalogue.stacks["standard"].steps[0]
    tool = replace(
        catalogue.tools[step.tool],
        max_rotation_rad_per_s=step.rotation_rad_per_s,
        max_peripheral_mm_per_s=step.rotation_rad_per_s * 6.0,
    )
    assert list(overspeeds(step, tool, 6.0, step.rotation_rad_per_s)) == []
