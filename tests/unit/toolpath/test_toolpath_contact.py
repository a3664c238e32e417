"""The feed along the edge in tight inside corners, by its closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support.plans import a_load, a_part, a_pass, a_plan, a_run, a_step, a_tool
from support.shapes import rectangle

from edgetime.moves import MoveKind
from edgetime.tooling import Operation
from edgetime.toolpath import build_tool_paths

OUTLINE = rectangle(1600.0, 900.0, x=300.0, y=300.0)


def paths(radius, diameter=100.0, **step):
    """Return the paths of a pad in a cutout of 500 × 400 mm with rounded corners."""
    cutout = rectangle(500.0, 400.0, x=600.0, y=500.0, radius=radius, hand=-1)
    load = a_load([a_part(OUTLINE, cutout)], tools=[a_tool(diameter)])
    made = a_step(operation=Operation.POLISH, **step)
    return build_tool_paths(a_plan(load, [a_pass(load, a_run(load, 0, 1), made)]))


def told(made):
    """Return the findings on contact feed."""
    return [f for f in made.findings if f.code == "contact-feed"]


def test_pad_in_a_tight_corner_is_told_with_its_ratio():
    """R = 50 in r = 60 mm: 60 / (60 - 50) = 6 times the feed, in four corners."""
    (finding,) = told(paths(60.0))
    assert "up to 6.0 times as fast as programmed, in 4 inside arcs: radius 60.0 mm" in (
        finding.message
    )
    # The middle of the corner: r (1 - 1/√2) from both sides.
    inset = 60.0 * (1.0 - math.sqrt(0.5))
    assert min(abs(finding.where.x_mm - x) for x in (600 + inset, 1100 - inset)) < 1e-6
    assert min(abs(finding.where.y_mm - y) for y in (500 + inset, 900 - inset)) < 1e-6


def test_ratio_is_that_of_the_moves():
    """Edge treated per second on the corner's moves is the ratio times the programmed feed."""
    moves = paths(60.0).moves
    arcs = np.flatnonzero((moves.kind == MoveKind.CUT) & (moves.bulge < 0.0))
    assert len(arcs)
    seconds = moves.length[arcs] / moves.feed[arcs]
    assert moves.treated[arcs] / seconds / 30.0 == pytest.approx(6.0, rel=1e-9)


@pytest.mark.parametrize(
    ("radius", "step", "ratio"),
    [
        (75.0, {}, 3.0),
        (76.0, {}, None),
        (60.0, {"hold_contact_feed": True, "feed_floor": 0.1}, None),
        # The centre would run at 1/6 of the feed; the floor keeps half of it: 6 × 0.5.
        (60.0, {"hold_contact_feed": True, "feed_floor": 0.5}, 3.0),
        (60.0, {"hold_contact_feed": True, "feed_floor": 0.4}, None),
    ],
)
def test_threshold_and_held_contact_feed(radius, step, ratio):
    """From three times on it is told; a step that holds the contact feed only at its floor."""
    found = told(paths(radius, **step))
    assert bool(found) is (ratio is not None)
    if ratio is not None:
        assert f"up to {ratio:.1f} times" in found[0].message


def test_corner_that_is_not_reached_is_not_told():
    """In a corner tighter than the pad nothing runs past it."""
    assert told(paths(40.0)) == []
