"""The two drawing habits, and what gives an edge its profile."""

from __future__ import annotations

import math

import pytest
from support.takeoffs import QUARTER, RULES, Builder, found, summary

from edgetime.geometry.measure import signed_area
from edgetime.places import Place
from edgetime.takeoff import LayerRules, take_off

W, D, R = 2400.0, 620.0, 50.0


def _kitchen_by_edges() -> Builder:
    """Every edge on the layer of its profile; one rounded front corner."""
    b = Builder()
    b.line("WALL", (0, D), (0, 0))
    b.line("EASED", (W - R, 0), (0, 0))  # drawn backwards
    b.arc("EASED", (W - R, 0), (W, R), QUARTER)
    b.line("BULLNOSE", (W, R), (W, D))
    b.line("WALL", (0, D), (W, D))
    return b


def _kitchen_by_overlay() -> Builder:
    """One closed outline, with the edges drawn over it."""
    b = Builder()
    b.closed("OUTLINE", [(0, 0), (W - R, 0), (W, R), (W, D), (0, D)], [0, QUARTER, 0, 0, 0])
    b.line("WALL", (0, D), (0, 0))
    b.chain("EASED", [(0, 0), (W - R, 0), (W, R)], [0, QUARTER])
    b.line("BULLNOSE", (W, R), (W, D))
    b.line("WALL", (0, D), (W, D))
    return b


def test_both_habits_give_the_same_kitchen():
    """One outline with overlays and one outline of edges are the same part."""
    one = take_off([_kitchen_by_edges().drawing()], RULES)
    two = take_off([_kitchen_by_overlay().drawing()], RULES)
    assert len(one.parts) == len(two.parts) == 1
    assert summary(one.parts[0]) == summary(two.parts[0])
    assert one.findings == two.findings == ()
    profiles = [e.profile for e in one.parts[0].outline.edges]
    assert profiles == [e.profile for e in two.parts[0].outline.edges]
    # By hand: 2350 straight and a quarter of a circle of radius 50.
    assert one.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": 2350.0 + 25.0 * 3.14159265358979, "half-bullnose": 570.0, "unfinished": 3020.0}
    )


def test_outline_of_mixed_layers_closes():
    """Three sides on the outline layer and one on a profile layer make one part."""
    b = Builder()
    b.chain("OUTLINE", [(W, 0), (W, D), (0, D), (0, 0)])
    b.line("EASED", (W, 0), (0, 0))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": W, "bevel": W + 2 * D}
    )
    assert result.findings == ()


def test_overlay_off_by_a_twentieth_of_a_millimetre_still_counts():
    """An overlay within the tolerance labels the outline; the outline's own length counts."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D)
    b.line("EASED", (0.03, 0.05), (W - 0.04, 0.05))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": W, "bevel": W + 2 * D}, abs=1e-9
    )
    assert result.findings == ()


def test_overlay_beyond_the_tolerance_is_a_stray_curve():
    """An overlay a millimetre off labels nothing and is named."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D).line("EASED", (0, 1.0), (W, 1.0))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    assert found(result) == {"edge-stray": 1}
    (finding,) = result.findings
    assert (finding.where.layer, finding.where.handle) == ("EASED", "21")
    assert "eased" not in result.drawings[0].lengths_by_profile_mm


def test_overlay_splits_the_outline_where_it_begins_and_ends():
    """An overlay over part of a side splits that side, to the last digit of its length."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D).line("EASED", (400, 0), (1500, 0))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    edges = result.parts[0].outline.edges
    assert [(e.profile, e.layer) for e in edges] == [("eased", "EASED"), ("bevel", "OUTLINE")]
    assert edges[0].length_mm == pytest.approx(1100.0, abs=1e-9)
    assert result.parts[0].outline.path.length_mm == pytest.approx(2 * (W + D), abs=1e-9)
    assert (edges[0].first, edges[-1].stop) == (0, len(result.parts[0].outline.path))


def test_overlay_across_the_start_of_a_closed_outline_is_one_edge():
    """An overlay that runs over the outline's first vertex makes one edge, not two."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D)
    b.chain("EASED", [(0, 300), (0, 0), (1000, 0)])
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    eased = [e for e in result.parts[0].outline.edges if e.profile == "eased"]
    assert [e.length_mm for e in eased] == [pytest.approx(1300.0, abs=1e-9)]


def test_overlay_over_two_sides_and_the_arc_between():
    """An overlay drawn in one go over side, corner arc and side gives all three its profile."""
    b = Builder().closed(
        "OUTLINE", [(0, 0), (W - R, 0), (W, R), (W, D), (0, D)], [0, QUARTER, 0, 0, 0]
    )
    b.chain("BULLNOSE", [(W, 400), (W, R), (W - R, 0), (700, 0)], [0, -QUARTER, 0])
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    (edge,) = [e for e in result.parts[0].outline.edges if e.profile == "half-bullnose"]
    assert edge.length_mm == pytest.approx(350.0 + 1650.0 + 25.0 * 3.14159265358979)


def test_part_of_an_arc_can_be_overlaid():
    """An overlay over the first third of a round table splits the circle there."""
    angle = 2.0 * math.pi / 3.0
    end = (500.0 * math.cos(angle), 500.0 * math.sin(angle))
    b = Builder().circle("OUTLINE", 0, 0, 1000).arc("EASED", (500, 0), end, math.tan(angle / 4))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"eased": 1000.0 * math.pi / 3.0, "bevel": 2000.0 * math.pi / 3.0}
    )


def test_closed_overlay_labels_the_whole_outline():
    """A closed curve on a profile layer on top of an outline is no second part."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D).rectangle("EASED", 0, 0, W, D)
    result = take_off([b.drawing()], RULES)
    assert len(result.parts) == 1
    assert result.drawings[0].lengths_by_profile_mm == {"eased": 2 * (W + D)}
    assert result.findings == ()


def test_closed_curve_on_a_profile_layer_is_a_part_of_its_own():
    """A rectangle on a profile layer needs no outline layer."""
    result = take_off([Builder().rectangle("EASED", 0, 0, W, D).drawing()], RULES)
    assert result.drawings[0].lengths_by_profile_mm == {"eased": 2 * (W + D)}


def test_text_then_default_then_unfinished():
    """Without overlays a text decides, then the default, then unfinished with a finding."""
    plain = Builder().rectangle("OUTLINE", 0, 0, W, D)
    told = Builder().rectangle("OUTLINE", 0, 0, W, D).text("profile: Half Bullnose", 100, 100)
    default = LayerRules(RULES.rules, default_profile="eased")
    profiles = ("eased", "half-bullnose")

    def lengths(builder, rules):
        result = take_off([builder.drawing()], rules, profiles=profiles)
        return result.drawings[0].lengths_by_profile_mm, found(result)

    whole = 2 * (W + D)
    assert lengths(told, default) == ({"half-bullnose": whole}, {})
    assert lengths(plain, default) == ({"eased": whole}, {})
    assert lengths(plain, RULES) == ({"unfinished": whole}, {"outline-profile-missing": 1})


def test_text_beside_a_part_counts_and_far_away_does_not():
    """A PROFILE: text just outside belongs to the nearest part; far away it is a finding."""
    near = Builder().rectangle("OUTLINE", 0, 0, W, D).text("PROFILE: eased", 100, -80)
    far = Builder().rectangle("OUTLINE", 0, 0, W, D).text("PROFILE: eased", 100, -800)
    one = take_off([near.drawing()], RULES)
    two = take_off([far.drawing()], RULES)
    assert one.drawings[0].lengths_by_profile_mm == {"eased": 2 * (W + D)}
    assert found(two) == {"profile-text-loose": 1, "outline-profile-missing": 1}


def test_unknown_profile_in_a_text_is_a_finding():
    """A misspelt profile is named, and does not become a profile."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D).text("PROFILE: eesed", 100, 100)
    result = take_off([b.drawing()], RULES, profiles=("eased",))
    assert found(result) == {"profile-unknown": 1, "outline-profile-missing": 1}
    assert result.drawings[0].lengths_by_profile_mm == {"unfinished": 2 * (W + D)}


def test_cutout_profiles_by_rule_by_overlay_and_missing():
    """A rule's profile serves where no curve is drawn over the cutout; neither is a finding."""
    b = Builder().rectangle("EASED", 0, 0, W, D)
    b.rectangle("SINK", 300, 100, 500, 400)
    b.rectangle("CUTOUT", 1200, 100, 600, 400).line("BULLNOSE", (1200, 100), (1800, 100))
    result = take_off([b.drawing()], RULES)
    one, two = result.parts[0].cutouts
    sides = {(e.profile, round(e.length_mm, 6)) for c in (one, two) for e in c.contour.edges}
    assert sides == {("flat-polish", 1800.0), ("half-bullnose", 600.0), ("unfinished", 1400.0)}
    assert found(result) == {"cutout-profile-missing": 1}
    assert {c.method for c in (one, two)} == {"milled", None}


def test_two_profiles_on_one_stretch_are_a_conflict():
    """The curve drawn first counts; the other is named with its length."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D)
    b.line("EASED", (0, 0), (W, 0)).line("BULLNOSE", (500, 0), (900, 0))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    assert found(result) == {"profile-conflict": 1}
    assert "400.0 mm" in result.findings[0].message
    assert result.findings[0].where.handle == "22"
    assert result.drawings[0].lengths_by_profile_mm["eased"] == pytest.approx(W)


def test_stone_is_on_the_left_of_every_contour():
    """Outlines run counter-clockwise, cutouts clockwise, however they are drawn."""
    b = Builder().closed("EASED", [(0, 0), (0, D), (W, D), (W, 0)])
    b.closed("SINK", [(300, 100), (800, 100), (800, 500), (300, 500)])
    (part,) = take_off([b.drawing()], RULES).parts
    assert part.outline.place is Place.OUTER
    assert signed_area(part.outline.path) == pytest.approx(W * D)
    assert signed_area(part.cutouts[0].contour.path) == pytest.approx(-200000.0)
    assert part.area_mm2 == pytest.approx(W * D - 200000.0)
