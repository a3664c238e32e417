"""What is never advised: other work, work left out, tools nobody owns without a word on it."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from support.catalogue import (
    PROFILES,
    STACK,
    STEPS,
    TOOLS,
    a_catalogue,
    a_cutout,
    a_part,
    a_profile,
    a_rectangle,
    a_section,
    a_step,
    a_tool,
)
from support.estimates import an_estimate
from support.shapes import circle, rectangle
from support.takeoffs import Builder

from edgetime.errors import UsageError
from edgetime.estimating import advise, estimate_take_off, follow
from edgetime.load import Options
from edgetime.takeoff import take_off
from edgetime.tooling import Operation, PreparationStep, ToolKind, load_catalogue

GLUE = PreparationStep(name="glue-up", s_per_mm=0.5, material_per_m=Decimal(4), currency="EUR")
HIGH = (a_section(40.0, height_mm=40.0),)

EXTRA = (
    a_profile("glued", preparation=(GLUE,)),
    a_profile("high", section=HIGH),
    a_profile("strip", gauge_strip_mm=20.0),
    a_profile("bevel", "arris", 3.0),
)


def kinds(est):
    """Return the advice by kind."""
    found: dict[str, list] = {}
    for each in advise(est):
        found.setdefault(each.kind, []).append(each)
    return found


def mixed(rare, common):
    """Return the estimate of a part with a side of one profile, and the rest of another."""
    names = [common, rare, common, common]
    return an_estimate(a_rectangle(names), catalogue=a_catalogue(profiles=(*PROFILES, *EXTRA)))


@pytest.mark.parametrize(
    ("rare", "common"),
    [
        ("eased", "glued"),
        ("glued", "eased"),
        ("eased", "high"),
        ("high", "eased"),
        ("eased", "strip"),
        ("eased", "ogee"),
        ("eased", "full-bullnose"),
        ("mitre", "eased"),
        ("eased", "mitre"),
    ],
)
def test_profile_that_needs_other_work_takes_no_place(rare, common):
    """A strip to glue, another height, a back strip, turning over, work elsewhere."""
    found = kinds(mixed(rare, common))
    offered = [a.what for a in (*found.get("rare-profile", ()), *found.get("turning-over", ()))]
    assert not [what for what in offered if f"{rare} may be {common}" in what]


def test_like_profile_takes_the_place_of_a_rare_one_and_not_the_other_way():
    """0.6 m of bevel for eased: asked once, in the direction that saves wheels."""
    (only,) = kinds(mixed("bevel", "eased"))["rare-profile"]
    assert "0.60 m of bevel may be eased" in only.what


def test_apron_of_the_shipped_catalogue_is_not_offered_for_an_eased_edge():
    """5.1 m of apron and a side of eased: no glue-up is asked for, nor one left out."""
    catalogue = load_catalogue()
    drawing = Builder()
    for layer, a, b in (
        ("LAMINATED", (100, 100), (2100, 100)),
        ("EASED", (2100, 100), (2100, 700)),
        ("LAMINATED", (2100, 700), (100, 700)),
        ("LAMINATED", (100, 700), (100, 100)),
    ):
        drawing.line(layer, a, b)
    parts = take_off([drawing.drawing()], catalogue.layers, profiles=tuple(catalogue.profiles))
    est = estimate_take_off(parts, catalogue, Options())
    assert {name for _, name in est.plan.treated_mm} == {"laminated-40", "eased"}
    assert "rare-profile" not in kinds(est)


def with_stack(steps, *, tools=TOOLS, file=""):
    """Return the estimate of an eased part where the shop has a second stack."""
    catalogue = a_catalogue(tools=tools)
    other = replace(STACK, name="other", title="Other", steps=tuple(steps), file=file)
    stacks = catalogue.stacks | {"other": other}
    return an_estimate(a_rectangle(), catalogue=replace(catalogue, stacks=stacks))


@pytest.mark.parametrize("left_out", [Operation.ROUGH, Operation.PROFILE, Operation.POLISH])
def test_stack_that_leaves_work_out_is_not_offered(left_out):
    """Quicker for want of a step: no saving."""
    est = with_stack([s for s in STEPS if s.operation is not left_out])
    assert "other-stack" not in kinds(est)


def test_stack_that_makes_an_error_is_not_offered():
    """A drum at twice the speed that the spindle reaches, and twice the feed."""
    steps = [replace(s, feed_mm_per_s=2.0 * s.feed_mm_per_s) for s in STEPS]
    assert "other-stack" in kinds(with_stack(steps))
    too_fast = [replace(s, rotation_rad_per_s=2000.0) for s in steps]
    assert "other-stack" not in kinds(with_stack(too_fast))


def test_stack_and_tools_that_the_shop_does_not_own_are_said():
    """A shipped stack with a pad of its own, 1.5 times the feed of the wheel."""
    tools = (*TOOLS, replace(a_tool("quick-pad", 100.0, ToolKind.POLISH_PAD),
                             file="shipped/tools/quick-pad.toml"))  # fmt: skip
    steps = [
        a_step(Operation.POLISH, "quick-pad", share=0.25, feed_mm_per_s=90.0)
        if s.operation is Operation.POLISH
        else replace(s, feed_mm_per_s=1.5 * s.feed_mm_per_s)
        if s.operation is Operation.PROFILE
        else s
        for s in STEPS
    ]
    (said,) = kinds(with_stack(steps, tools=tools, file="shipped/stacks/other.toml"))["other-stack"]
    assert "It is shipped with edgetime and not in the shop folder" in said.what
    assert "Tools to buy, not in the shop folder: quick-pad." in said.what
    assert "It feeds wheel more than 1.25 times as fast" in said.what
    (own,) = kinds(with_stack(steps, tools=tools, file="stacks/other.toml"))["other-stack"]
    assert "It is shipped with edgetime" not in own.what


def test_no_seam_is_advised_through_an_opening():
    """A seam of 600 mm and a sink that leaves 2 x 100 mm: it stays where it is."""
    sink = a_cutout(rectangle(500.0, 400.0, x=700.0, y=600.0, radius=60.0), "eased")
    part = a_part(
        rectangle(1000.0, 600.0, x=500.0, y=500.0), ["eased", "seam", "eased", "eased"], sink
    )
    assert not [a for a in advise(an_estimate(part)) if "seam" in a.what]


def slot(**rectangle_options):
    """Return the estimate of a top with a precut slot of 600 x 60 mm, too narrow for the pad."""
    cutout = a_cutout(rectangle(600.0, 60.0, **rectangle_options), "eased", method="precut")
    return an_estimate(a_part(rectangle(1000.0, 600.0, x=500.0, y=500.0), "eased", cutout))


def test_opening_with_no_room_is_not_to_be_wider():
    """The pad needs 102 mm: 21 mm more on each side, where the front is 20 mm away."""
    assert kinds(slot(x=700.0, y=800.0))["wider-opening"][0].computed
    assert "wider-opening" not in kinds(slot(x=700.0, y=520.0))


def test_round_opening_is_to_be_larger_all_round():
    """A hole of 80 mm: 102 mm, all of its edge then finished by the machine."""
    at = np.array([1000.0, 800.0])

    def hole(diameter):
        return a_cutout(circle(*at, 0.5 * diameter), "eased", method="precut", diameter_mm=diameter)

    top = rectangle(1000.0, 600.0, x=500.0, y=500.0)
    est = an_estimate(a_part(top, "eased", hole(80.0)))
    (wider,) = kinds(est)["wider-opening"]
    other = an_estimate(a_part(top, "eased", hole(102.0)))
    assert wider.saving_s == pytest.approx(est.cycle.total_s - other.cycle.total_s, rel=0.01)
    assert wider.saving_hand_mm == pytest.approx(80.0 * np.pi, rel=1e-6)
    assert other.cycle.hand_mm == 0.0


def test_notch_of_an_outline_states_no_saving():
    """A notch of 60 mm in the front: told with its width, to be widened as its designer likes."""
    points = [(500, 500), (900, 500), (900, 700), (960, 700), (960, 500), (1500, 500),
              (1500, 1100), (500, 1100)]  # fmt: skip
    from edgetime.geometry.path import Path  # noqa: PLC0415  of this test only

    est = an_estimate(a_part(Path.from_bulges(points, closed=True), "eased"))
    (told,) = kinds(est)["wider-opening"]
    assert "a notch of 60.0 mm" in told.what
    assert not told.computed
    assert (told.saving_s, told.saving_attended_s, told.saving_hand_mm) == (0.0, 0.0, 0.0)
    with pytest.raises(UsageError, match="cannot be followed"):
        follow(est, told)


def test_parts_moved_apart_as_told_are_far_enough():
    """Two tops 60 mm apart, then further by what the worst of the advice says is lacking."""
    catalogue = load_catalogue()

    def lying(gap):
        drawing = Builder().rectangle("EASED", 100, 100, 800, 600)
        drawing.rectangle("EASED", 900 + gap, 100, 800, 600)
        parts = take_off([drawing.drawing()], catalogue.layers, profiles=tuple(catalogue.profiles))
        return kinds(estimate_take_off(parts, catalogue, Options())).get("spacing", [])

    told = lying(60.0)
    assert told
    assert all(not a.computed and a.saving_s == 0.0 for a in told)
    figures = [re.findall(r"within ([\d.]+) mm .* needs ([\d.]+) mm", a.what) for a in told]
    lacks = max(float(needs) - float(has) for ((has, needs),) in figures)
    assert lacks == pytest.approx(45.0)
    # Rounded up: exactly enough is enough only without rounding.
    assert lying(60.0 + lacks + 0.1) == []


def test_corner_between_two_profiles_keeps_both():
    """An L of eased and bevel fronts: each half of the new arc has its own profile."""
    from edgetime.geometry.path import Path  # noqa: PLC0415  of this test only

    points = [(500, 500), (1500, 500), (1500, 900), (1000, 900), (1000, 1500), (500, 1500)]
    names = ["unfinished", "unfinished", "eased", "bevel", "unfinished", "unfinished"]
    part = a_part(Path.from_bulges(points, closed=True), names)
    est = an_estimate(part, catalogue=a_catalogue(profiles=(*PROFILES, *EXTRA)))
    (rounder,) = kinds(est)["inside-radius"]
    other = follow(est, rounder)
    # Half of the pad's needed radius, 51 mm, on a quarter circle: 51 less, pi / 4 * 51 more.
    changed = 51.0 * (np.pi / 4.0 - 1.0)
    lengths = {name: length for (_, name), length in other.plan.treated_mm.items()}
    assert lengths == pytest.approx({"eased": 500.0 + changed, "bevel": 600.0 + changed})
    assert rounder.saving_hand_mm == pytest.approx(est.cycle.hand_mm)


def test_copies_are_told_once():
    """Two copies of a drawing: one corner to draw anew, hand work saved on both."""
    catalogue = load_catalogue()
    drawing = Builder().rectangle("EASED", 100, 100, 1100, 620)
    drawing.rectangle("SINK", 300, 200, 560, 400)
    parts = take_off([drawing.drawing(path="top.dxf")], catalogue.layers,
                     profiles=tuple(catalogue.profiles))  # fmt: skip
    from edgetime.load import Copies, PartChoice  # noqa: PLC0415  of this test only

    options = Options(choice=PartChoice(copies=(Copies("top.dxf", 2),)))
    est = estimate_take_off(parts, catalogue, options)
    (rounder,) = kinds(est)["inside-radius"]
    assert rounder.saving_hand_mm == pytest.approx(est.cycle.hand_mm)
    assert est.cycle.hand_mm == pytest.approx(2 * 8 * 41.0, rel=0.05)
