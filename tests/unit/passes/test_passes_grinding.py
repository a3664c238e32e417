"""Roughing, seams, the gauge strip, and the finishing steps."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.catalogue import (
    PROFILES,
    STEPS,
    STONE,
    a_catalogue,
    a_load,
    a_profile,
    a_rectangle,
    a_step,
)

from edgetime.passes import plan_passes
from edgetime.tooling import FaceUp, Operation


def passes_of(plan, operation):
    """Return the passes of an operation, in running order."""
    return [p for p in plan.passes if p.step.operation is operation]


def plan_of(profiles="eased", *, catalogue=None, **options):
    """Return the plan of one rectangle."""
    return plan_passes(a_load(a_rectangle(profiles), catalogue=catalogue, **options))


def codes(plan):
    """Return the codes of a plan's findings."""
    return [f.code for f in plan.findings]


def stock(mm, *, source="saw", steps=None, **shop):
    """Return a catalogue whose slabs carry so much stock."""
    amounts = {"saw": 2.5, "waterjet": 0.5, "router": 0.0} | {source: mm}
    return a_catalogue(steps=steps, shop={"stock_mm": amounts, **shop})


def test_stock_is_roughed_in_passes_of_the_engagement():
    """2.5 mm in steps of 1 mm: centres 30 mm and what is left off the edge, 31 mm thick."""
    rough = passes_of(plan_of(), Operation.ROUGH)
    assert [p.offset_mm for p in rough] == [31.5, 30.5, 30.0]
    assert [p.removed_mm2[0] for p in rough] == [31.0, 31.0, 15.5]
    assert [(p.number, p.count) for p in rough] == [(1, 3), (2, 3), (3, 3)]
    assert {p.reach_mm for p in rough} == {30.0}
    assert {p.bottom_z_mm for p in rough} == {-33.0}


@pytest.mark.parametrize(("mm", "count"), [(0.0, 0), (0.3, 3), (3.0, 30), (3.05, 31), (0.05, 1)])
def test_rounding_adds_no_pass(mm, count):
    """3.0 mm in steps of 0.1 mm are 30 passes, not 31; no stock, no pass."""
    steps = [replace(s, engagement_mm=0.1) if s.operation == "rough" else s for s in STEPS]
    assert len(passes_of(plan_of(catalogue=stock(mm, steps=steps)), Operation.ROUGH)) == count


def test_worn_drum_runs_nearer_to_the_edge():
    """A drum of 58 mm instead of 60 runs 29 mm off the edge at last."""
    rough = passes_of(plan_of(diameters_mm={"drum": 58.0}), Operation.ROUGH)
    assert rough[-1].offset_mm == 29.0


def test_wall_edges_and_seams_are_not_roughed():
    """Only the eased front of 1000 mm is roughed."""
    rough = passes_of(plan_of(["eased", "unfinished", "seam", "mitre"]), Operation.ROUGH)
    assert {p.run.path.length_mm for p in rough} == {1000.0}


def test_stock_is_removed_once_by_the_first_rough_step():
    """A second drum for the same edges finds no stock; for other profiles it finds its own."""
    second = a_step(Operation.ROUGH, "seamer", engagement_mm=1.0)
    plan = plan_of(catalogue=a_catalogue(steps=[*STEPS, second]))
    assert {p.step.tool for p in passes_of(plan, Operation.ROUGH)} == {"drum"}
    first = replace(STEPS[2], applies_to=("round",))
    plan = plan_of(
        ["eased", "half-bullnose", "unfinished", "unfinished"],
        catalogue=a_catalogue(steps=[first, second, *STEPS[3:]]),
    )
    lengths = {p.step.tool: p.run.path.length_mm for p in passes_of(plan, Operation.ROUGH)}
    assert lengths == {"drum": 600.0, "seamer": 1000.0}


def test_stock_without_a_rough_step_is_a_finding():
    """Sawn edges with 2.5 mm and no drum in the stack."""
    plan = plan_of(catalogue=a_catalogue(steps=STEPS[3:]))
    assert codes(plan) == ["no-rough-step"]
    assert "2.5 mm of stock" in plan.findings[0].message


def test_seam_is_cleaned_up_in_the_step_s_passes():
    """Two passes over 2.5 mm of stock: 25 + 1.25 mm, then 25 mm off the seam."""
    steps = [replace(s, passes=2) if s.operation == "seam" else s for s in STEPS]
    seam = passes_of(plan_of(["seam", *["unfinished"] * 3], catalogue=a_catalogue(steps=steps)),
                     Operation.SEAM)  # fmt: skip
    assert [p.offset_mm for p in seam] == [26.25, 25.0]
    assert [p.removed_mm2[0] for p in seam] == [1.25 * 31.0] * 2
    assert {p.run.path.length_mm for p in seam} == {1000.0}


def test_seam_takes_more_passes_when_its_stock_asks_for_them():
    """2.5 mm with at most 1 mm a pass need three passes, though the step says one."""
    steps = [replace(s, engagement_mm=1.0) if s.operation == "seam" else s for s in STEPS]
    plan = plan_of(["seam", *["unfinished"] * 3], catalogue=a_catalogue(steps=steps))
    assert [p.offset_mm for p in plan.passes] == pytest.approx([25.0 + 5 / 3, 25.0 + 2.5 / 3, 25.0])


def test_sawn_seam_without_stock_is_still_passed_once():
    """A clean-up pass on a seam runs on the finished line even where nothing is left."""
    seam = passes_of(plan_of(["seam", *["unfinished"] * 3], catalogue=stock(0.0)), Operation.SEAM)
    assert [(p.offset_mm, p.removed_mm2[0]) for p in seam] == [(25.0, 0.0)]


def test_seams_without_a_seam_step_are_a_finding():
    """The stack leaves them as they come."""
    steps = [s for s in STEPS if s.operation != "seam"]
    plan = plan_of(
        ["seam", "eased", "unfinished", "unfinished"], catalogue=a_catalogue(steps=steps)
    )
    assert codes(plan) == ["no-seam-step"]


def test_back_strip_is_ground_in_lanes_and_layers():
    """25 mm in lanes of 20, 31 - 29.5 mm in layers of 1: four passes of a wheel of 120 mm."""
    gauge = passes_of(plan_of("apron"), Operation.GAUGE)
    assert [p.offset_mm for p in gauge] == [40.0, 40.0, 35.0, 35.0]
    assert [p.bottom_z_mm for p in gauge] == [-30.0, -29.5, -30.0, -29.5]
    assert [p.removed_mm2[0] for p in gauge] == [20.0, 10.0, 5.0, 2.5]
    assert {p.run.path.closed for p in gauge} == {True}


def test_slab_at_gauge_thickness_is_not_ground():
    """A slab probed at 29.5 mm is at gauge, one at 29.6 mm is not."""
    assert passes_of(plan_of("apron", actual_mm=29.5), Operation.GAUGE) == []
    assert len(passes_of(plan_of("apron", actual_mm=29.6), Operation.GAUGE)) == 2


def test_only_profiles_with_a_strip_are_gauged():
    """The apron of 1000 mm is, the eased edges beside it are not."""
    gauge = passes_of(plan_of(["apron", "eased", "eased", "eased"]), Operation.GAUGE)
    assert {p.run.path.length_mm for p in gauge} == {1000.0}


def test_strips_of_different_width_are_runs_of_their_own():
    """Strips of 25 and 15 mm side by side: two lanes on one, one lane on the other."""
    profiles = (*PROFILES, a_profile("lip", "laminated", gauge_strip_mm=15.0))
    gauge = passes_of(
        plan_of(
            ["apron", "lip", "unfinished", "unfinished"],
            catalogue=a_catalogue(profiles=profiles),
            actual_mm=30.0,
        ),
        Operation.GAUGE,
    )
    assert [(p.run.path.length_mm, p.offset_mm) for p in gauge] == [
        (1000.0, 40.0),
        (1000.0, 35.0),
        (600.0, 45.0),
    ]


def test_strip_beyond_the_shaft_is_a_finding_and_not_ground():
    """A strip of 50 mm leaves 60 - 50 = 10 mm for a shaft of 10 + 1 mm."""
    profiles = tuple(replace(p, gauge_strip_mm=50.0) if p.name == "apron" else p for p in PROFILES)
    plan = plan_of("apron", catalogue=a_catalogue(profiles=profiles))
    assert codes(plan) == ["gauge-reach"]
    assert "10.0 mm between" in plan.findings[0].message
    assert "need 11.0 mm" in plan.findings[0].message
    assert passes_of(plan, Operation.GAUGE) == []


def test_back_of_a_part_loaded_face_down_is_ground_from_above():
    """Its back is the upper face: 1 and 1.5 mm down from it."""
    profiles = tuple(replace(p, face_up=FaceUp.DOWN) if p.name == "apron" else p for p in PROFILES)
    plan = plan_of("apron", catalogue=a_catalogue(profiles=profiles))
    gauge = passes_of(plan, Operation.GAUGE)
    assert [p.bottom_z_mm for p in gauge] == [-1.0, -1.5, -1.0, -1.5]


def test_missing_gauge_step_is_a_finding():
    """A profile that needs its back ground, in a stack that cannot."""
    steps = [s for s in STEPS if s.operation != "gauge"]
    plan = plan_of("apron", catalogue=a_catalogue(steps=steps))
    assert codes(plan) == ["no-gauge-step"]
    assert "ground by 1.50 mm" in plan.findings[0].message


def test_finishing_runs_at_the_radius_and_shares_the_section():
    """The wheel of 80 mm takes 75 % in two passes, the pad of 100 mm 25 % in one."""
    plan = plan_of("half-bullnose")
    wheel = passes_of(plan, Operation.PROFILE)
    pad = passes_of(plan, Operation.POLISH)
    assert [(p.offset_mm, p.reach_mm) for p in wheel] == [(40.0, 40.0)] * 2
    assert [p.removed_mm2 for p in wheel] == [(40.0 * 0.75 / 2,)] * 2
    assert [(p.offset_mm, p.removed_mm2) for p in pad] == [(50.0, (10.0,))]
    assert sum(p.removed_mm2[0] for p in (*wheel, *pad)) == 40.0
    assert {p.bottom_z_mm for p in (*wheel, *pad)} == {-31.0}


def test_tools_go_down_to_the_foot_of_an_apron():
    """A slab of 31 mm with 10 mm glued below: tools reach 41 mm, stock is 41 mm high there."""
    apron = next(p for p in PROFILES if p.name == "apron")
    apron = replace(apron, section=(replace(apron.sections[30.0], height_mm=40.0),))
    profiles = [apron, *(p for p in PROFILES if p.name != "apron")]
    plan = plan_of(
        ["apron", "eased", "unfinished", "unfinished"], catalogue=a_catalogue(profiles=profiles)
    )
    rough = passes_of(plan, Operation.ROUGH)
    assert {p.bottom_z_mm for p in rough} == {-43.0}
    heights = dict(zip(plan.profiles, rough[0].removed_mm2, strict=True))
    assert (heights["apron"], heights["eased"]) == (41.0, 31.0)
    lows = {
        plan.profiles[p.run.path.tags[0]]: p.bottom_z_mm for p in passes_of(plan, Operation.PROFILE)
    }
    assert lows == {"apron": -41.0, "eased": -31.0}


def test_feeds_carry_the_stone_s_factor_and_the_override():
    """30 mm/s × 0.8 for the stone × 0.5 on the knob; the plunge alike."""
    catalogue = a_catalogue()
    catalogue.stones["stone"] = replace(STONE, feed_factor=0.8)
    plan = plan_of(catalogue=catalogue, feed_override=0.5)
    assert {p.feed_mm_per_s for p in plan.passes} == {12.0}
    assert {p.plunge_mm_per_s for p in plan.passes} == {4.0}


def test_step_applies_by_profile_name_or_family():
    """``round`` takes the half bullnose, ``eased`` the eased edge, nothing else."""
    wheel = replace(STEPS[5], applies_to=("round", "eased"))
    plan = plan_of(
        ["eased", "half-bullnose", "apron", "unfinished"],
        catalogue=a_catalogue(steps=[*STEPS[:5], wheel, *STEPS[6:]]),
    )
    assert [v.piece for v in plan.visits if v.tool == "wheel"] == [
        "wheel/eased",
        "wheel/half-bullnose",
    ]


def test_profile_without_a_step_is_an_error():
    """A stack for round profiles does not make an apron; its length is not lost silently."""
    steps = [replace(s, applies_to=("round",)) if s.operation.finishing else s for s in STEPS]
    plan = plan_of(["half-bullnose", "apron", "eased", "eased"], catalogue=a_catalogue(steps=steps))
    assert codes(plan) == ["no-step", "no-step"]
    assert {f.severity for f in plan.findings} == {"error"}
    assert "makes apron on outer edges" in plan.findings[0].message
    assert plan.treated_mm[0, "apron"] == 600.0


def test_profile_the_catalogue_does_not_know_is_an_error():
    """A name without a profile file belongs to no family, so steps by family pass it over."""
    steps = [replace(s, applies_to=("round",)) if s.operation.finishing else s for s in STEPS]
    plan = plan_of(["half-bullnose", "unheard-of", "unfinished", "unfinished"],
                   catalogue=a_catalogue(steps=steps))  # fmt: skip
    assert codes(plan) == ["no-step"]
    assert "the catalogue has no such profile" in plan.findings[0].message


def test_section_for_another_thickness_is_a_finding():
    """Sections for 30 mm only, a slab of 20 mm: time as usual, volume 0."""
    plan = plan_of(catalogue=a_catalogue(thicknesses_mm=()), thickness_mm=20.0)
    assert codes(plan) == ["no-section"]
    assert passes_of(plan, Operation.POLISH)[0].removed_mm2 == (0.0,)


def test_work_made_elsewhere_is_listed_not_timed():
    """A sawn mitre of 600 mm: a note, a length, no pass over it."""
    plan = plan_of(["eased", "mitre", "unfinished", "mitre"])
    assert plan.elsewhere_mm == {"mitre": 1200.0}
    assert codes(plan) == ["made-elsewhere"]
    assert plan.findings[0].severity == "note"
    assert {p.run.path.length_mm for p in plan.passes} == {1000.0}


def test_treated_length_counts_finished_edges_made_here():
    """Seams, wall edges and work made elsewhere are not among them."""
    plan = plan_of(["eased", "seam", "half-bullnose", "mitre"])
    assert plan.treated_mm == {(0, "eased"): 1000.0, (0, "half-bullnose"): 1000.0}
