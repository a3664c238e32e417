"""Cutouts, holes, islands, and closed lines that make no sense."""

from __future__ import annotations

import json
import math

import pytest
from support.takeoffs import RULES, Builder, found

from edgetime.drawing.drawing import LayerState
from edgetime.findings import Severity
from edgetime.records import as_json
from edgetime.takeoff import LayerRules, take_off

PLAIN = LayerRules(RULES.rules, default_profile="bevel")


def _top() -> Builder:
    return Builder().rectangle("OUTLINE", 0, 0, 2000, 600)


def test_circle_that_fits_a_core_bit_is_a_hole():
    """A tap hole within half a millimetre of a core bit is a hole, net of the area."""
    b = _top().circle("TAP", 1000, 550, 35.4)
    result = take_off([b.drawing()], PLAIN, core_diameters_mm=[25.0, 35.0])
    (part,) = result.parts
    (hole,) = part.holes
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((1000, 550, 35.4))
    assert part.area_mm2 == pytest.approx(1.2e6 - math.pi / 4 * 35.4**2)
    assert part.cutouts == ()
    assert result.findings == ()


def test_circle_of_another_size_is_a_cutout_and_a_finding():
    """The finding names the diameter found and the nearest at hand."""
    b = _top().circle("TAP", 1000, 550, 30.0)
    result = take_off([b.drawing()], PLAIN, core_diameters_mm=[25.0, 35.5])
    (part,) = result.parts
    assert part.holes == ()
    assert part.cutouts[0].diameter_mm == 30.0
    assert found(result) == {"hole-size": 1, "cutout-profile-missing": 1}
    message = next(f.message for f in result.findings if f.code == "hole-size")
    assert "30.00 mm" in message
    assert "25 mm" in message


def test_hole_drawn_as_two_arcs_is_a_hole():
    """Two half circles on the hole layer make one hole."""
    b = _top().arc("TAP", (1017.5, 550), (982.5, 550), 1.0)
    b.arc("TAP", (1017.5, 550), (982.5, 550), -1.0)
    (part,) = take_off([b.drawing()], PLAIN, core_diameters_mm=[35.0]).parts
    assert [h.diameter_mm for h in part.holes] == [pytest.approx(35.0)]


def _ring(n, x, y, diameter):
    """Return n points on a circle."""
    angles = [2.0 * math.pi * (k + 0.3) / n for k in range(n)]
    r = 0.5 * diameter
    return [(x + r * math.cos(a), y + r * math.sin(a)) for a in angles]


@pytest.mark.parametrize("n", [16, 24, 36, 72, 360])
def test_hole_drawn_as_chords_is_a_hole(n):
    """Its diameter is that of the circle through the vertices; its length is the chords' own."""
    b = _top().closed("TAP", _ring(n, 1000, 550, 35.3))
    result = take_off([b.drawing()], PLAIN, core_diameters_mm=[25.0, 35.0])
    (part,) = result.parts
    (hole,) = part.holes
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((1000, 550, 35.3))
    # A chord over the angle 2π/n is 2 r sin(π/n) long; a triangle on it r² sin(2π/n) / 2 large.
    assert hole.perimeter_mm == pytest.approx(n * 35.3 * math.sin(math.pi / n))
    lost = 0.5 * n * 17.65**2 * math.sin(2.0 * math.pi / n)
    assert part.area_mm2 == pytest.approx(1.2e6 - lost)
    assert part.cutouts == ()
    assert found(result) == {"chords-followed": 1}
    assert f"{n} chords of a hole count as a circle of 35.30 mm" in result.findings[0].message


def test_chords_of_another_size_are_a_cutout_of_that_size():
    """The finding names the diameter of the circle meant, as of a true circle."""
    b = _top().closed("TAP", _ring(48, 1000, 550, 30.0))
    result = take_off([b.drawing()], PLAIN, core_diameters_mm=[25.0, 35.5])
    assert result.parts[0].holes == ()
    assert result.parts[0].cutouts[0].diameter_mm == pytest.approx(30.0)
    assert found(result) == {"hole-size": 1, "cutout-profile-missing": 1, "chords-followed": 1}
    assert any("diameter 30.00 mm" in f.message for f in result.findings)


@pytest.mark.parametrize("n", [4, 8, 12])
def test_a_polygon_on_a_hole_layer_is_no_hole(n):
    """A square or a coarse polygon of a core bit's size is not taken for a circle."""
    b = _top().closed("TAP", _ring(n, 1000, 550, 35.0))
    result = take_off([b.drawing()], PLAIN, core_diameters_mm=[35.0])
    assert result.parts[0].holes == ()
    assert found(result) == {"hole-size": 1, "cutout-profile-missing": 1}


def test_hole_across_the_outline_is_left_out():
    """A hole that crosses the part's edge is an error with its place."""
    b = _top().circle("TAP", 1000, 595, 35.0)
    result = take_off([b.drawing()], PLAIN, core_diameters_mm=[35.0])
    assert result.parts[0].holes == ()
    assert found(result) == {"loops-cross": 1}
    assert result.findings[0].where.layer == "TAP"


def test_hole_and_cutout_outside_every_part():
    """Openings in no part, and openings inside openings, are left out and named."""
    b = _top().circle("TAP", 3000, 0, 35.0).rectangle("SINK", 300, 100, 500, 400)
    b.rectangle("CUTOUT", 320, 120, 460, 360)
    result = take_off([b.drawing()], PLAIN)
    assert len(result.parts[0].cutouts) == 1
    assert result.parts[0].area_mm2 == pytest.approx(1.2e6 - 200000)
    assert found(result) == {"cutout-outside": 2}


def test_island_in_a_cutout_is_a_part():
    """A closed outline inside a cutout is a second part with its own edges."""
    b = _top().rectangle("SINK", 300, 100, 500, 400).rectangle("EASED", 400, 200, 300, 200)
    result = take_off([b.drawing()], PLAIN)
    assert [round(p.area_mm2) for p in result.parts] == [1000000, 60000]
    assert found(result) == {"part-in-opening": 1}


def test_outline_inside_an_outline_is_an_opening():
    """A closed line on an outline layer inside a part counts as a cutout, with a note."""
    b = _top().rectangle("OUTLINE", 300, 100, 500, 400)
    result = take_off([b.drawing()], PLAIN)
    assert [len(p.cutouts) for p in result.parts] == [1]
    assert found(result) == {"opening-by-depth": 1, "cutout-profile-missing": 1}


def test_bow_tie_is_left_out():
    """An outline that crosses itself is an error at the crossing, and no part."""
    b = Builder().closed("OUTLINE", [(0, 0), (1000, 600), (1000, 0), (0, 600)])
    result = take_off([b.drawing()], PLAIN)
    assert found(result) == {"self-crossing": 1, "no-parts": 1}
    finding = result.findings[0]
    assert finding.severity is Severity.ERROR
    assert (finding.where.x_mm, finding.where.y_mm) == pytest.approx((500.0, 300.0))


def test_figure_of_eight_through_a_vertex_is_left_out():
    """Two lobes of one line through one vertex: no crossing inside a side, but no part."""
    b = Builder().closed(
        "OUTLINE", [(0, 0), (500, 300), (1000, 600), (1000, 0), (500, 300), (0, 600)]
    )
    assert found(take_off([b.drawing()], PLAIN)) == {"self-crossing": 1, "no-parts": 1}


def test_tiny_and_flat_loops_are_left_out():
    """A closed line of no size and one of no area are named."""
    b = _top().rectangle("OUTLINE", 3000, 0, 0.5, 0.5)
    b.closed("OUTLINE", [(3000, 100), (3500, 100), (3200, 100.0001)])
    result = take_off([b.drawing()], PLAIN)
    assert len(result.parts) == 1
    assert found(result) == {"loop-tiny": 2}


def test_round_table_of_arcs():
    """Three arcs of one circle are a round table of area pi r squared."""
    r, third = 600.0, math.tan(math.pi / 6.0)
    p = [(r * math.cos(k * 2 * math.pi / 3), r * math.sin(k * 2 * math.pi / 3)) for k in range(3)]
    b = Builder()
    for k in range(3):
        b.arc("EASED", p[k], p[(k + 1) % 3], third)
    (part,) = take_off([b.drawing()], RULES).parts
    assert part.area_mm2 == pytest.approx(math.pi * r * r, rel=1e-12)
    assert part.outline.path.length_mm == pytest.approx(2 * math.pi * r, rel=1e-12)
    assert part.size_mm == pytest.approx((1200.0, 1200.0))


def test_overlapping_parts_are_both_kept_with_a_finding():
    """Two outlines that cross each other are two parts and an error."""
    b = _top().rectangle("OUTLINE", 1800, 300, 1000, 600)
    result = take_off([b.drawing()], PLAIN)
    assert len(result.parts) == 2
    assert found(result) == {"loops-cross": 1}


def test_unmatched_hidden_and_recess_layers_are_named():
    """Each layer that is left out is named once, with its length and number of curves."""
    b = _top().line("WASTE", (0, 0), (300, 0)).line("WASTE", (0, 0), (0, 200))
    b.line("EASED", (0, 0), (2000, 0), visible=False).line("NOTES", (5, 5), (9, 9))
    b.line("DRAINER", (100, 100), (100, 400)).line("DEFPOINTS", (0, 0), (10, 0))
    b.layers = {"EASED": LayerState.FROZEN}
    result = take_off([b.drawing()], PLAIN)
    assert found(result) == {"layer-unmatched": 2, "layer-hidden": 1, "recess-listed": 1}
    text = {f.where.layer: f for f in result.findings}
    assert "2 curves, 500.0 mm" in text["WASTE"].message
    assert "frozen" in text["EASED"].message
    assert text["DEFPOINTS"].severity is Severity.NOTE
    assert result.drawings[0].lengths_by_layer_mm["EASED"] == 2000.0
    assert [r.length_mm for r in result.parts[0].recesses] == [300.0]


def test_no_rule_matches():
    """A drawing without one known layer still has its lengths by layer."""
    result = take_off([_top().drawing()], LayerRules(()))
    assert found(result) == {"layer-unmatched": 1, "no-parts": 1}
    assert result.drawings[0].lengths_by_layer_mm == {"OUTLINE": 5200.0}


def test_empty_drawing():
    """A drawing without a curve has no part and says so."""
    assert found(take_off([Builder().drawing()], PLAIN)) == {"no-parts": 1}


def test_parts_smaller_than_a_hand():
    """A kitchen in metres read as millimetres is flagged."""
    result = take_off([Builder().rectangle("EASED", 0, 0, 2.4, 0.6).drawing()], RULES)
    assert found(result) == {"part-small": 1}


def test_many_findings_of_a_kind_are_summed_up():
    """Twenty of a kind are listed, the rest is counted in one line."""
    b = _top()
    for k in range(30):
        b.line("OUTLINE", (3000 + 10 * k, 0), (3000 + 10 * k, 500))
    result = take_off([b.drawing()], PLAIN)
    assert found(result) == {"open-chain": 21}
    assert result.findings[-1].message == "10 more of this kind, 30 in all."


def test_document_has_the_keys_of_the_contract():
    """The JSON form has every key outside checks rely on, and is plain JSON."""
    b = _top().rectangle("SINK", 300, 100, 500, 400).circle("TAP", 1000, 550, 35)
    document = json.loads(json.dumps(as_json(take_off([b.drawing()], PLAIN))))
    assert document["schema"] == "edgetime.takeoff/1"
    (drawing,) = document["drawings"]
    assert {
        "path",
        "units",
        "mm_per_unit",
        "lengths_by_layer_mm",
        "lengths_by_profile_mm",
        "parts",
        "findings",
    } <= set(drawing)
    (part,) = drawing["parts"]
    assert {
        "part_id",
        "name",
        "area_mm2",
        "area_gross_mm2",
        "outline_mm",
        "cutouts",
        "holes",
        "edges",
    } <= set(part)
    assert part["cutouts"][0]["perimeter_mm"] == 1800.0
    assert part["cutouts"][0]["diameter_mm"] is None
    assert part["holes"][0]["perimeter_mm"] == pytest.approx(math.pi * 35)
    assert {e["place"] for e in part["edges"]} == {"outer", "cutout"}
    assert {"profile", "length_mm", "layer", "place"} <= set(part["edges"][0])
