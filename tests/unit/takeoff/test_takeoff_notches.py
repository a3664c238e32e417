"""Cutouts that reach the edge of a part: apron sinks, posts, sinks on a seam."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support.takeoffs import RULES, Builder, found

from edgetime.takeoff import LayerRules, take_off
from edgetime.takeoff.loops import Loops, inside
from edgetime.takeoff.pieces import Pieces
from edgetime.tooling.layers import LayerRule, Meaning

PLAIN = LayerRules(RULES.rules, default_profile="bevel")
"""A 2000 x 600 top has an edge of 5200 mm; its sink layer gives flat-polish."""


def _top() -> Builder:
    return Builder().rectangle("OUTLINE", 0, 0, 2000, 600)


def _lengths(result):
    return result.drawings[0].lengths_by_profile_mm


@pytest.mark.parametrize("y", [0.0, -25.0, 0.05, -0.05])
def test_sink_at_the_front_is_a_notch(y) -> None:
    """Ending on the edge, running over it, or off it by less than lines lie on one another.

    By hand: the front loses 600 mm; the sink's back and its two sides up to the edge remain.
    """
    result = take_off([_top().rectangle("SINK", 800, y, 600, 400 - y).drawing()], PLAIN)
    (part,) = result.parts
    assert part.cutouts == ()
    assert part.area_mm2 == pytest.approx(2000 * 600 - 600 * 400, abs=40.0)
    assert _lengths(result) == pytest.approx({"bevel": 4600.0, "flat-polish": 1400.0}, abs=0.2)
    assert found(result) == {"cutout-notches": 1}
    (finding,) = result.findings
    assert "600.0 mm of that edge are cut away" in finding.message
    assert finding.where.layer == "SINK"
    assert (finding.where.x_mm, finding.where.y_mm) == pytest.approx((800.0, 0.0), abs=0.1)


def test_exact_when_drawn_exactly() -> None:
    """No digit is lost where the lines meet exactly."""
    result = take_off([_top().rectangle("SINK", 800, -25, 600, 425).drawing()], PLAIN)
    assert _lengths(result) == pytest.approx({"bevel": 4600.0, "flat-polish": 1400.0}, rel=1e-12)
    assert result.parts[0].area_mm2 == pytest.approx(2000 * 600 - 600 * 400, rel=1e-12)


def test_outline_and_sink_of_lines_are_a_notch_too() -> None:
    """The sink's line along the front is no second copy of the front."""
    b = Builder()
    for layer, x, y, w, h in (("OUTLINE", 0, 0, 2000, 600), ("SINK", 800, 0, 600, 400)):
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        for k in range(4):
            b.line(layer, corners[k], corners[(k + 1) % 4])
    result = take_off([b.drawing()], PLAIN)
    assert _lengths(result) == pytest.approx({"bevel": 4600.0, "flat-polish": 1400.0})
    assert found(result) == {"cutout-notches": 1}


def test_profile_drawn_along_the_whole_front_ends_at_the_notch() -> None:
    """What is drawn over the part of the front that is cut away counts for nothing."""
    b = _top().rectangle("SINK", 800, 0, 600, 400).line("EASED", (0, 0), (2000, 0))
    assert _lengths(take_off([b.drawing()], PLAIN)) == pytest.approx(
        {"eased": 1400.0, "bevel": 3200.0, "flat-polish": 1400.0}
    )


@pytest.mark.parametrize("start", [0.0, 0.3, 0.5])
def test_half_round_for_a_pipe(start) -> None:
    """A circle of radius r on the edge takes 2 r of it and leaves π r, π r² ÷ 2 less area."""
    r = 60.0
    a = 2.0 * math.pi * start
    ends = [(1000 + r * math.cos(a), r * math.sin(a)), (1000 - r * math.cos(a), -r * math.sin(a))]
    b = _top().closed("CUTOUT", ends, [1.0, 1.0])
    (part,) = take_off([b.drawing()], PLAIN).parts
    assert part.area_mm2 == pytest.approx(2000 * 600 - 0.5 * math.pi * r**2, rel=1e-12)
    assert part.outline.path.length_mm == pytest.approx(5200 - 2 * r + math.pi * r, rel=1e-12)


def test_corner_for_a_post() -> None:
    """A notch out of a corner leaves the length of the outline as it was."""
    b = _top().rectangle("CUTOUT", 1900, 500, 200, 200)
    (part,) = take_off([b.drawing()], PLAIN).parts
    assert part.area_mm2 == pytest.approx(2000 * 600 - 100 * 100)
    assert part.outline.path.length_mm == pytest.approx(5200)


def test_two_notches_and_a_cutout_in_one_top() -> None:
    """Each notch is cut out of what the one before left; an inner cutout stays one."""
    b = _top().rectangle("SINK", 200, -5, 500, 405).rectangle("SINK", 900, 300, 500, 310)
    result = take_off([b.rectangle("SINK", 1500, 100, 300, 300).drawing()], PLAIN)
    (part,) = result.parts
    assert len(part.cutouts) == 1
    assert part.area_gross_mm2 == pytest.approx(2000 * 600 - 500 * 400 - 500 * 300)
    assert part.area_mm2 == pytest.approx(part.area_gross_mm2 - 300 * 300)
    assert _lengths(result) == pytest.approx({"bevel": 4200.0, "flat-polish": 1300 + 1100 + 1200})
    assert found(result) == {"cutout-notches": 2}


def test_sink_on_a_seam_notches_both_parts() -> None:
    """Two tops drawn side by side, the sink over the line between them."""
    b = Builder().rectangle("OUTLINE", 0, 0, 1000, 600).rectangle("OUTLINE", 1000, 0, 1000, 600)
    result = take_off([b.rectangle("SINK", 700, 100, 500, 400).drawing()], PLAIN)
    assert [p.area_mm2 for p in result.parts] == pytest.approx([600e3 - 300 * 400, 600e3 - 80e3])
    assert _lengths(result) == pytest.approx({"bevel": 2 * (3200 - 400), "flat-polish": 1800.0})
    assert found(result) == {"cutout-notches": 2, "parts-touch": 1}


def test_notch_and_seam_in_one_part() -> None:
    """A part that a seam divides through its notch keeps the notch on both sides."""
    b = _top().rectangle("SINK", 800, 0, 400, 400).line("SEAM", (1000, 400), (1000, 600))
    result = take_off([b.drawing()], PLAIN)
    assert [p.area_mm2 for p in result.parts] == pytest.approx([600e3 - 80e3] * 2)
    assert _lengths(result) == pytest.approx(
        {"bevel": 5200.0 - 400.0, "flat-polish": 1200.0, "seam": 400.0}
    )
    assert found(result) == {"cutout-notches": 1, "seam-divides": 1}


LEGS = [(800, 0), (800, 400), (1400, 400), (1400, 0)]


@pytest.mark.parametrize("sink", [LEGS, LEGS[::-1]], ids=["one way", "the other"])
@pytest.mark.parametrize("gap", [0.0, 0.3, -0.3])
def test_sink_drawn_open_from_edge_to_edge(sink, gap) -> None:
    """Its line is closed along the edge, gaps at its ends bridged as everywhere."""
    sink = [(x, gap if y == 0 else y) for x, y in sink]
    result = take_off([_top().chain("SINK", sink).drawing()], PLAIN)
    (part,) = result.parts
    assert part.area_mm2 == pytest.approx(2000 * 600 - 600 * 400)
    assert _lengths(result) == pytest.approx({"bevel": 4600.0, "flat-polish": 1400.0})
    assert found(result) == {"cutout-notches": 1}


def test_line_of_a_cutout_across_a_corner() -> None:
    """The shorter way back along the edge is the one around the corner."""
    b = _top().chain("SINK", [(1900, 0), (1900, 100), (2000, 100)])
    (part,) = take_off([b.drawing()], PLAIN).parts
    assert part.area_mm2 == pytest.approx(2000 * 600 - 100 * 100)


def test_line_of_a_cutout_within_an_arc() -> None:
    """The way back is along the arc: by hand, what a slot of width w cuts off a circle.

    The front above y = -200 of a circle of radius r, |x| <= 300: 600 * (-200) + the area under
    the lower arc, 2 * (300 h + r² asin(300 / r)) / 2 with h = sqrt(r² - 300²).
    """
    r = 500.0
    b = Builder().closed("OUTLINE", [(-r, 0), (r, 0)], [1.0, 1.0])
    b.chain("SINK", [(-300, -400), (-300, -200), (300, -200), (300, -400)])
    result = take_off([b.drawing()], PLAIN)
    (part,) = result.parts
    taken = 300.0 * 400.0 + r**2 * math.asin(300.0 / r) - 600.0 * 200.0
    assert part.area_mm2 == pytest.approx(math.pi * r**2 - taken, rel=1e-9)
    assert _lengths(result) == pytest.approx(
        {"bevel": 2.0 * math.pi * r - 2.0 * r * math.asin(300.0 / r), "flat-polish": 1000.0}
    )


@pytest.mark.parametrize(
    "line",
    [
        [(1000, 0), (1000, 600)],
        [(800, 100), (800, 400), (1400, 400), (1400, 100)],
        [(800, -50), (800, -400), (1400, -400), (1400, -50)],
    ],
    ids=["centre line", "ends within", "outside"],
)
def test_open_lines_of_cutouts_that_are_no_notches(line) -> None:
    """What cuts off more than it goes around, or does not end on the edge, stays an error."""
    result = take_off([_top().chain("SINK", line).drawing()], PLAIN)
    assert result.parts[0].area_mm2 == pytest.approx(2000 * 600)
    assert found(result) == {"open-chain": 1}


def test_notch_that_brings_the_edge_to_another_cutout() -> None:
    """Of two cutouts on one another the inner is a notch once the outer is one."""
    b = _top().rectangle("SINK", 800, -10, 400, 310).rectangle("SINK", 800, 300, 400, 100)
    result = take_off([b.drawing()], PLAIN)
    (part,) = result.parts
    assert part.cutouts == ()
    assert part.area_mm2 == pytest.approx(2000 * 600 - 400 * 400)
    assert _lengths(result) == pytest.approx({"bevel": 4800.0, "flat-polish": 1200.0})
    assert found(result) == {"cutout-notches": 2}


def test_round_cutout_that_touches_the_edge_from_inside() -> None:
    """Tangents touch at a point, whatever rounding makes of the place."""
    b = _top().circle("CUTOUT", 300, 100, 200).rectangle("CUTOUT", 800, 0.09, 200, 300)
    (part,) = take_off([b.rectangle("CUTOUT", 1799.97, 0.03, 200, 40).drawing()], PLAIN).parts
    assert len(part.cutouts) == 1
    area = 2000 * 600 - math.pi * 100**2 - 200 * 300 - 200 * 40
    assert part.area_mm2 == pytest.approx(area, abs=0.1 * 1500)


def test_cutout_off_a_corner_by_less_than_the_tolerance() -> None:
    """The bits between the lines go with them: no crumb of the edge is left over."""
    b = _top().rectangle("CUTOUT", 1800, 0.03, 400, 300)
    (part,) = take_off([b.drawing()], PLAIN).parts
    assert part.area_mm2 == pytest.approx(2000 * 600 - 200 * 300, abs=0.1 * 900)
    assert part.outline.path.length_mm == pytest.approx(5200.0, abs=0.5)


@pytest.mark.parametrize(
    ("sink", "seam", "length"),
    [
        ((800, -20, 800, 500), [(1200, 0), (1200, 620)], 140.0),
        ((800, -20, 800, 500), [(1200, 480), (1200, 620)], 140.0),
        ((800, 80, 800, 400), [(1200, 0), (1200, 620)], 220.0),
    ],
    ids=["across an apron sink", "from an apron sink", "across a sink within"],
)
def test_seam_of_one_outline_at_a_sink(sink, seam, length) -> None:
    """Drawn through the sink or ending on it: two parts, each with its half of the sink.

    By hand: the parts are 1200 x 620 less 400 x 400 or 400 x 480; the seam is what of its line
    lies in stone.
    """
    b = Builder().rectangle("OUTLINE", 0, 0, 2400, 620).rectangle("SINK", *sink)
    result = take_off([b.line("SEAM", *seam).drawing()], PLAIN)
    depth = min(sink[1] + sink[3], 480) - max(sink[1], 0)
    assert [p.area_mm2 for p in result.parts] == pytest.approx([1200 * 620 - 400 * depth] * 2)
    assert all(p.cutouts == () for p in result.parts)
    assert _lengths(result)["seam"] == pytest.approx(2 * length)
    assert set(found(result)) == {"cutout-notches", "seam-divides"}


def test_cut_through_leaves_two_parts() -> None:
    """Drawn from edge to edge and beyond, it parts the top, and the finding says so."""
    result = take_off([_top().rectangle("CUTOUT", 500, -10, 100, 620).drawing()], PLAIN)
    assert [p.area_mm2 for p in result.parts] == pytest.approx([500 * 600, 1400 * 600])
    (finding,) = (f for f in result.findings if f.code == "cutout-notches")
    assert "2 parts are left of it" in finding.message


def test_outline_on_a_profile_layer_stays_an_outline() -> None:
    """With pieces of the sink in it, too."""
    b = Builder().rectangle("EASED", 0, 0, 2000, 600).rectangle("SINK", 800, 0, 600, 400)
    result = take_off([b.drawing()], PLAIN)
    assert _lengths(result) == pytest.approx({"eased": 4600.0, "flat-polish": 1400.0})
    assert len(result.parts) == 1


@pytest.mark.parametrize(
    ("x", "y", "w", "h", "codes"),
    [
        (500, -100, 200, 100, {"cutout-outside": 1}),
        (-10, -10, 2020, 620, {"cutout-outside": 1}),
        (0, 0, 2000, 600, {"cutout-outside": 1}),
        (500, 1, 200, 100, {"rib-thin": 1}),
        (500, 6, 200, 100, {}),
    ],
    ids=["beside the edge", "around the part", "the part itself", "close inside", "inside"],
)
def test_no_notches(x, y, w, h, codes) -> None:
    """Beside the edge, all over the part, or with stone left before it."""
    result = take_off([_top().rectangle("SINK", x, y, w, h).drawing()], PLAIN)
    (part,) = result.parts
    assert part.outline.path.length_mm == pytest.approx(5200.0)
    assert found(result) == codes


def test_touching_at_a_point_is_a_cutout() -> None:
    """No stretch of the edge is taken away."""
    b = _top().closed("SINK", [(1000, 0), (1300, 300), (700, 300)])
    result = take_off([b.drawing()], PLAIN)
    (part,) = result.parts
    (rib,) = result.findings
    assert (rib.code, rib.where.x_mm, rib.where.y_mm) == ("rib-thin", 1000.0, 0.0)
    assert "0.00 mm of stone are left" in rib.message
    assert len(part.cutouts) == 1
    assert part.outline.path.length_mm == pytest.approx(5200.0)


def test_hole_close_to_the_edge_is_a_finding() -> None:
    """Its width is the distance of the circle from the edge, which no vertex of it has."""
    b = _top().circle("TAP", 1000, 600 - 17.5 - 3.25, 35)
    (rib,) = take_off([b.drawing()], PLAIN, core_diameters_mm=[35]).findings
    assert rib.code == "rib-thin"
    assert rib.message.startswith("Between an opening of 35.0 mm diameter and the edge")
    assert "3.25 mm of stone are left" in rib.message


def test_cutout_across_an_opening_drawn_as_an_outline_stays_an_error() -> None:
    """What is inside an outline is an opening, whatever its layer; nothing is cut out of it."""
    b = _top().rectangle("OUTLINE", 500, 100, 400, 400).rectangle("SINK", 800, 200, 300, 200)
    assert found(take_off([b.drawing()], PLAIN))["loops-cross"] == 1


def test_layer_that_names_no_profile() -> None:
    """Curves of two cutout layers on one another: the one with a profile counts."""
    rules = LayerRules((LayerRule("A", Meaning.CUTOUT), *RULES.rules), default_profile="bevel")
    b = _top().chain("A", [(500, 100), (900, 100), (900, 500)])
    b.chain("SINK", [(900, 500), (500, 500), (500, 100), (900, 100)])
    result = take_off([b.drawing()], rules)
    assert found(result) == {"cutout-profile-missing": 1}
    lengths = result.drawings[0].lengths_by_profile_mm
    assert lengths == pytest.approx({"bevel": 5200.0, "flat-polish": 1200.0, "unfinished": 400.0})


@pytest.mark.parametrize("turned", np.linspace(0.0, 2.0 * math.pi, 9))
def test_points_on_a_chord_are_judged_by_the_arc(turned) -> None:
    """A circle of two half circles: points on the line between their ends lie inside."""
    r = np.array([100.0 * math.cos(turned), 100.0 * math.sin(turned)])
    nought = np.zeros(2, dtype=np.int64)
    circle = Pieces(
        np.array([r, -r]), np.array([-r, r]), np.ones(2), np.full(2, 100 * math.pi), nought, nought
    )
    shares = np.array([-1.5, -0.9, -0.25, 0.0, 0.25, 0.9, 1.5])
    # Exact multiples, so that the points do lie on the chord, and its normal for comparison.
    points = np.concatenate([shares[:, None] * r, shares[:, None] * np.array([-r[1], r[0]])])
    winding, _ = inside(Loops.of([circle]), np.zeros(len(points), dtype=np.int64), points)
    assert winding.tolist() == 2 * [0, 1, 1, 1, 1, 1, 0]


@pytest.mark.parametrize("y", [800, 300], ids=["outward", "inward"])
def test_line_that_runs_back_on_itself_is_an_error(y) -> None:
    """A spike without width, whichever way it points."""
    corners = [(0, 0), (2000, 0), (2000, 600), (1000, 600), (1000, y), (1000, 600), (0, 600)]
    result = take_off([Builder().closed("OUTLINE", corners).drawing()], PLAIN)
    assert found(result) == {"self-crossing": 1, "no-parts": 1}


def test_cusp_is_no_spike() -> None:
    """Two arcs that meet tangentially from the same side enclose an area between them."""
    b = Builder().closed("OUTLINE", [(0, 0), (1000, 0), (1000, 600)], [0.0, 0.0, 0.0])
    b.closed("OUTLINE", [(2000, 0), (3000, 0)], [0.3, -0.5])
    parts = take_off([b.drawing()], PLAIN).parts
    assert len(parts) == 2
