"""Joining of loose curves: gaps, duplicates, branches, blocks, seams."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from support.takeoffs import QUARTER, RULES, Builder, found, summary

from edgetime.findings import Severity
from edgetime.takeoff import LayerRules, take_off

PLAIN = LayerRules(RULES.rules, default_profile="bevel")


def _sides(x, y, w, h, layer="OUTLINE", **more):
    corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
    b = Builder()
    for k in range(4):
        b.line(layer, corners[k], corners[(k + 1) % 4], **more)
    return b


def test_gap_of_four_tenths_is_bridged():
    """The gap's own length is added, the drawn pieces keep theirs, and it is said."""
    b = Builder().chain("OUTLINE", [(0, 0.4), (0, 600), (2000, 600), (2000, 0), (0, 0)])
    result = take_off([b.drawing()], PLAIN)
    assert result.parts[0].outline.path.length_mm == pytest.approx(5200.0, abs=1e-9)
    assert found(result) == {"gap-bridged": 1}
    assert result.findings[0].severity is Severity.NOTE
    assert result.findings[0].where.y_mm == pytest.approx(0.2)


@pytest.mark.parametrize("over", [0.002, 0.05, 0.15, 0.3])
@pytest.mark.parametrize("both", [True, False])
@pytest.mark.parametrize("turned", [False, True])
def test_lines_over_a_corner_are_trimmed_to_it(over, both, turned):
    """A slip of the mouse at a corner loses no part: lengths and area are the true corner's."""
    top = (1000.0, -over if both else 0.0)
    b = Builder().line("EASED", (0, 0), (1000 + over, 0))
    b.line("EASED", *((top, (1000, 600)) if turned else ((1000, 600), top)))
    b.line("WALL", (1000, 600), (0, 600)).line("EASED", (0, 600), (0, 0))
    result = take_off([b.drawing()], PLAIN)
    (part,) = result.parts
    assert part.area_mm2 == pytest.approx(600000.0, rel=1e-12)
    assert part.outline.path.length_mm == pytest.approx(3200.0, rel=1e-12)
    assert found(result) == {"corner-trimmed": 1 + both}
    assert f"runs {over:.3f} mm past" in result.findings[0].message


@pytest.mark.parametrize("over", [0.05, 0.15])
def test_a_side_of_two_lines_that_overlap_a_little(over):
    """Two lines along one side that overlap within the tolerance are one side."""
    b = Builder().line("EASED", (0, 0), (500 + over, 0)).line("EASED", (500, 0), (1000, 0))
    b.line("EASED", (1000, 0), (1000, 600)).line("WALL", (1000, 600), (0, 600))
    b.line("EASED", (0, 600), (0, 0))
    (part,) = take_off([b.drawing()], PLAIN).parts
    assert part.area_mm2 == pytest.approx(600000.0, rel=1e-12)
    assert part.outline.path.length_mm == pytest.approx(3200.0, rel=1e-12)


def test_a_line_over_the_start_of_an_arc_is_trimmed_to_it():
    """A side that runs past the tangent point of a rounded corner ends there."""
    b = Builder().line("EASED", (0, 0), (900.2, 0)).arc("EASED", (900, 0), (1000, 100), QUARTER)
    b.line("EASED", (1000, 100), (1000, 600)).line("WALL", (1000, 600), (0, 600))
    b.line("EASED", (0, 600), (0, 0))
    result = take_off([b.drawing()], PLAIN)
    (part,) = result.parts
    assert part.area_mm2 == pytest.approx(600000.0 - (1.0 - math.pi / 4.0) * 1e4, rel=1e-9)
    assert found(result) == {"corner-trimmed": 1}


def test_gap_beyond_the_tolerance_is_an_open_chain():
    """The finding has both ends, the gap and the gap allowed, and the drawing has no part."""
    b = Builder().chain("OUTLINE", [(0, 0.6), (0, 600), (2000, 600), (2000, 0), (0, 0)])
    result = take_off([b.drawing()], PLAIN)
    assert found(result) == {"open-chain": 1, "no-parts": 1}
    message = result.findings[0].message
    assert "0.600 mm" in message
    assert "0.5 mm" in message
    assert "5199.4 mm long" in message
    wider = take_off([b.drawing()], replace(PLAIN, gap_mm=1.0))
    assert len(wider.parts) == 1


def test_line_drawn_twice_counts_once():
    """A second copy of one side is a finding with its handle, and changes nothing else."""
    b = _sides(0, 0, 2000, 600)
    once = take_off([b.drawing()], PLAIN)
    b.line("OUTLINE", (1500, 600), (200, 600))
    twice = take_off([b.drawing()], PLAIN)
    assert summary(once.parts[0]) == summary(twice.parts[0])
    assert found(twice) == {"duplicate-curve": 1}
    assert twice.findings[0].where.handle == "24"
    assert "1300.0 mm" in twice.findings[0].message
    assert twice.drawings[0].lengths_by_layer_mm == {"OUTLINE": pytest.approx(6500.0)}


def test_sides_that_overlap_each_other_still_close():
    """Two pieces of one side that overlap in the middle make one side."""
    b = Builder()
    b.line("OUTLINE", (0, 0), (1200, 0)).line("OUTLINE", (800, 0), (2000, 0))
    b.chain("OUTLINE", [(2000, 0), (2000, 600), (0, 600), (0, 0)])
    result = take_off([b.drawing()], PLAIN)
    assert result.parts[0].outline.path.length_mm == pytest.approx(5200.0, abs=1e-9)
    assert found(result) == {"duplicate-curve": 1}


def test_outline_drawn_twice_is_one_part():
    """A closed outline on top of another, once as lines, is one part and a finding."""
    b = _sides(0, 0, 2000, 600)
    b.rectangle("OUTLINE", 0, 0, 2000, 600).rectangle("OUTLINE", 0, 0, 2000, 600)
    result = take_off([b.drawing()], PLAIN)
    assert len(result.parts) == 1
    assert result.parts[0].area_mm2 == pytest.approx(1.2e6)
    assert found(result) == {"duplicate-curve": 2}


def test_parts_that_share_a_line_drawn_once():
    """Two parts with one seam line between them are both found and both have the seam."""
    b = Builder()
    b.chain("EASED", [(1000, 0), (0, 0), (0, 600), (1000, 600)])
    b.chain("EASED", [(1000, 600), (2000, 600), (2000, 0), (1000, 0)])
    b.line("SEAM", (1000, 0), (1000, 600))
    result = take_off([b.drawing()], RULES)
    assert [round(p.area_mm2) for p in result.parts] == [600000, 600000]
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": 5200.0, "seam": 1200.0}
    )
    assert found(result) == {"seam-divides": 1}


def test_parts_that_share_a_line_where_no_layer_closes():
    """Where no layer closes by itself the enclosed areas are the parts."""
    b = Builder()
    b.chain("EASED", [(1000, 0), (0, 0), (0, 600), (1000, 600)])
    b.chain("WALL", [(1000, 600), (2000, 600), (2000, 0), (1000, 0)])
    b.line("BULLNOSE", (1000, 0), (1000, 600))
    result = take_off([b.drawing()], RULES)
    assert [round(p.area_mm2) for p in result.parts] == [600000, 600000]
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": 2600.0, "unfinished": 2600.0, "half-bullnose": 1200.0}
    )
    assert found(result) == {"branch": 2, "parts-touch": 1}


def test_touching_parts_drawn_apart_stay_apart():
    """Two closed outlines with a common side are two parts of full length each."""
    b = Builder().rectangle("OUTLINE", 0, 0, 1000, 600).rectangle("OUTLINE", 1000, 0, 800, 600)
    b.line("SEAM", (1000, 0), (1000, 600))
    result = take_off([b.drawing()], PLAIN)
    assert [round(p.area_mm2) for p in result.parts] == [600000, 480000]
    assert result.drawings[0].lengths_by_profile_mm["seam"] == pytest.approx(1200.0)


def test_shorter_part_beside_a_longer_side():
    """A part whose side lies along part of its neighbour's side is found (T joints)."""
    b = _sides(0, 0, 1000, 600)
    b.line("OUTLINE", (1000, 100), (1800, 100)).line("OUTLINE", (1800, 100), (1800, 400))
    b.line("OUTLINE", (1800, 400), (1000, 400))
    result = take_off([b.drawing()], PLAIN)
    assert [round(p.area_mm2) for p in result.parts] == [600000, 240000]
    assert found(result) == {"branch": 2, "parts-touch": 1}


def test_stray_line_at_a_corner_does_not_spoil_the_part():
    """A loose line that starts at a corner is an open chain; the part stands."""
    b = _sides(0, 0, 2000, 600).line("OUTLINE", (2000, 600), (2500, 900))
    result = take_off([b.drawing()], PLAIN)
    assert len(result.parts) == 1
    assert found(result) == {"open-chain": 1}


def test_cutout_that_touches_the_outline_is_told_by_its_layer():
    """The lines of an opening that close by themselves go together."""
    b = _sides(0, 0, 2000, 600)
    corner = [(0, 0), (400, 100), (100, 300)]
    for k in range(3):
        b.line("CUTOUT", corner[k], corner[(k + 1) % 3])
    result = take_off([b.drawing()], PLAIN)
    (part,) = result.parts
    assert part.area_gross_mm2 == pytest.approx(1.2e6)
    # The triangle by hand: (400 x 300 - 100 x 100) / 2.
    assert part.area_mm2 == pytest.approx(1.2e6 - 55000.0)
    assert found(result) == {"cutout-profile-missing": 1, "rib-thin": 1}


def test_blocks_are_not_joined_with_each_other():
    """Lines of two INSERTs that meet at corners stay two parts, named by their block."""
    one = _sides(0, 0, 1000, 600, insert=0, blocks=("VANITY",))
    for c in _sides(1000, 0, 1000, 600, insert=1, blocks=("VANITY",)).curves:
        one.add(c)
    result = take_off([one.drawing()], PLAIN)
    assert [(p.part_id, p.name, round(p.area_mm2)) for p in result.parts] == [
        ("p01", "VANITY", 600000),
        ("p02", "VANITY (2)", 600000),
    ]
    assert found(result) == {"parts-touch": 1}


def test_blocks_that_only_close_together_are_joined():
    """Two halves of one outline in two INSERTs close when nothing else does."""
    b = Builder()
    b.chain("OUTLINE", [(1000, 0), (0, 0), (0, 600), (1000, 600)], insert=0, blocks=("LEFT",))
    b.chain("OUTLINE", [(1000, 600), (2000, 600), (2000, 0), (1000, 0)], insert=1)
    result = take_off([b.drawing()], PLAIN)
    assert [round(p.area_mm2) for p in result.parts] == [1200000]


def test_seam_across_a_part_divides_it():
    """A seam from edge to edge makes two parts, each with the seam as an edge."""
    b = Builder().rectangle("EASED", 0, 0, 2000, 600).line("SEAM", (800, 0), (800, 600))
    result = take_off([b.drawing()], RULES)
    assert [round(p.area_mm2) for p in result.parts] == [480000, 720000]
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": 5200.0, "seam": 1200.0}
    )
    assert found(result) == {"seam-divides": 1}


def test_seam_through_a_cutout_divides_the_part_there():
    """Two seams that end on a sink divide the part; the sink becomes part of both outlines."""
    b = Builder().rectangle("EASED", 0, 0, 2000, 600).rectangle("SINK", 700, 100, 500, 400)
    b.line("SEAM", (900, 0), (900, 100)).line("SEAM", (900, 500), (900, 600))
    result = take_off([b.drawing()], RULES)
    assert [round(p.area_mm2) for p in result.parts] == [
        900 * 600 - 200 * 400,
        1100 * 600 - 300 * 400,
    ]
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": 5200.0, "seam": 400.0, "flat-polish": 1800.0}
    )
    assert not any(p.cutouts for p in result.parts)


def test_seam_that_ends_inside_divides_nothing():
    """A seam with a free end inside the part is named and changes nothing."""
    b = Builder().rectangle("EASED", 0, 0, 2000, 600).line("SEAM", (800, 0), (800, 300))
    result = take_off([b.drawing()], RULES)
    assert len(result.parts) == 1
    assert found(result) == {"seam-loose": 1}


def test_seam_with_a_gap_at_its_end_is_bridged():
    """A seam that stops three tenths short still divides; areas are those of the line."""
    b = Builder().rectangle("EASED", 0, 0, 2000, 600).line("SEAM", (800, 0.3), (800, 600))
    result = take_off([b.drawing()], RULES)
    assert [p.area_mm2 for p in result.parts] == pytest.approx([480000, 720000])
    assert result.drawings[0].lengths_by_profile_mm["seam"] == pytest.approx(1200.0)


def test_mirrored_copy_of_a_block_is_the_same_part():
    """A mirrored instance runs the other way round and has the same edges and areas."""
    b = Builder()
    for insert, side in ((0, 1.0), (1, -1.0)):
        more = {"insert": insert, "blocks": ("RUN",)}
        b.line("EASED", (side * 100, 0), (side * 2100, 0), **more)
        b.arc("EASED", (side * 2100, 0), (side * 2200, 100), side * 0.41421356237309503, **more)
        b.line("BULLNOSE", (side * 2200, 100), (side * 2200, 600), **more)
        b.chain("WALL", [(side * 2200, 600), (side * 100, 600), (side * 100, 0)], **more)
    one, two = take_off([b.drawing()], RULES).parts
    assert summary(one) == summary(two)
    assert {one.name, two.name} == {"RUN", "RUN (2)"}
    # A quarter circle of radius 100 leaves out (1 - pi/4) r² at its corner.
    assert one.area_mm2 == pytest.approx(2100 * 600 - (1 - 0.785398163397448) * 1e4)


def test_seam_shared_by_two_blocks_stays_with_its_own():
    """A seam drawn in one block labels that block's outline, not its neighbour's."""
    b = Builder()
    b.rectangle("EASED", 0, 0, 1000, 600, insert=0).line("SEAM", (1000, 0), (1000, 600), insert=0)
    b.rectangle("EASED", 1000, 0, 1000, 600, insert=1)
    one, two = take_off([b.drawing()], RULES).parts
    assert [e.profile for e in two.outline.edges] == ["eased"]
    assert sorted(e.profile for e in one.outline.edges) == ["eased", "seam"]
