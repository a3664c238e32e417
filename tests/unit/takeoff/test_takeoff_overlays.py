"""Curves on one another: the more specific layer counts, whatever the order of drawing."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from support.takeoffs import RULES, Builder, found

from edgetime.findings import Severity
from edgetime.takeoff import LayerRule, LayerRules, Meaning, take_off

W, D = 2400.0, 620.0
AROUND = 2 * (W + D)
SINK = (700.0, 100.0, 500.0, 400.0)
DEFAULT = LayerRules(
    (LayerRule("HOB", Meaning.CUTOUT, method="precut"), *RULES.rules), default_profile="mitre"
)


def _drawn(*calls, rules=DEFAULT):
    """Return the take-offs of the same curves in every order of drawing, up to 24 of them."""
    out = []
    step = max(1, math.factorial(len(calls)) // 24)
    for order in itertools.islice(itertools.permutations(calls), 0, None, step):
        b = Builder()
        for method, *args in order:
            getattr(b, method)(*args)
        out.append(take_off([b.drawing()], rules, core_diameters_mm=[35.0]))
    return out


def test_finish_over_a_cutout_drawn_on_the_outline_layer():
    """A sink's loop over the same loop on the outline layer gives it profile and method."""
    for result in _drawn(
        ("rectangle", "OUTLINE", 0, 0, W, D),
        ("rectangle", "OUTLINE", *SINK),
        ("rectangle", "SINK", *SINK),
    ):
        (cutout,) = result.parts[0].cutouts
        assert cutout.method == "milled"
        lengths = result.drawings[0].lengths_by_profile_mm
        assert lengths == pytest.approx({"mitre": AROUND, "flat-polish": 1800.0}, abs=1e-9)
        assert found(result) == {}


def test_worked_edge_over_an_unfinished_outline():
    """A wall all around with one eased front is eased there, and that is said."""
    for result in _drawn(
        ("rectangle", "OUTLINE", 0, 0, W, D),
        ("rectangle", "WALL", 0, 0, W, D),
        ("line", "EASED", (0, 0), (W, 0)),
    ):
        lengths = result.drawings[0].lengths_by_profile_mm
        assert lengths == pytest.approx({"eased": W, "unfinished": AROUND - W}, abs=1e-9)
        (finding,) = result.findings
        assert (finding.code, finding.severity) == ("worked-over-unfinished", Severity.NOTE)
        assert "2400.0 mm are drawn as unfinished and as eased" in finding.message


@pytest.mark.parametrize("outline", [True, False])
def test_two_profiles_all_around_are_a_conflict(outline):
    """Two closed lines of worked profiles: the earlier rule counts, the finding names both."""
    calls = [("rectangle", "BULLNOSE", 0, 0, W, D), ("rectangle", "EASED", 0, 0, W, D)]
    if outline:
        calls.append(("rectangle", "OUTLINE", 0, 0, W, D))
    for rules, counts, other in (
        (DEFAULT, "eased", "half-bullnose"),
        (LayerRules(DEFAULT.rules[::-1]), "half-bullnose", "eased"),
    ):
        for result in _drawn(*calls, rules=rules):
            assert result.drawings[0].lengths_by_profile_mm == {counts: AROUND}
            (finding,) = result.findings
            assert finding.code == "profile-conflict"
            assert f"{AROUND:.1f} mm are drawn as {other} and as {counts}" in finding.message
            assert "its layer rule comes first" in finding.message


def test_finish_over_one_side_of_a_cutout():
    """Part of a sink's line over a cutout of another layer gives that side its profile."""
    for layer in ("OUTLINE", "CUTOUT"):
        for result in _drawn(
            ("rectangle", "OUTLINE", 0, 0, W, D),
            ("rectangle", layer, *SINK),
            ("line", "SINK", (700, 100), (1200, 100)),
        ):
            lengths = result.drawings[0].lengths_by_profile_mm
            expected = {"mitre": AROUND, "flat-polish": 500.0, "unfinished": 1300.0}
            assert lengths == pytest.approx(expected, abs=1e-9)
            assert result.parts[0].cutouts[0].method == "milled"


def test_cutout_of_two_layers_that_overlap():
    """A cutout half on the outline layer, half on a sink's, with a stretch on both."""
    for result in _drawn(
        ("rectangle", "OUTLINE", 0, 0, W, D),
        ("chain", "OUTLINE", [(700, 500), (700, 100), (1200, 100), (1200, 500)]),
        ("chain", "SINK", [(1200, 300), (1200, 500), (700, 500)]),
    ):
        lengths = result.drawings[0].lengths_by_profile_mm
        expected = {"mitre": AROUND, "flat-polish": 700.0, "unfinished": 1100.0}
        assert lengths == pytest.approx(expected, abs=1e-9)


def test_sink_on_the_front_of_a_part_drawn_by_its_edges():
    """The front's line serves the part, not the sink that ends on it."""
    calls = [
        ("line", "EASED", (0, 0), (W, 0)),
        ("chain", "WALL", [(W, 0), (W, D), (0, D), (0, 0)]),
    ]
    whole = ("rectangle", "SINK", 700, 0, 500, 400)
    corners = [(700, 0), (1200, 0), (1200, 400), (700, 400), (700, 0)]
    lines = [("line", "SINK", a, b) for a, b in itertools.pairwise(corners)]
    for result in [*_drawn(*calls, whole), *_drawn(*calls, *lines)]:
        lengths = result.drawings[0].lengths_by_profile_mm
        expected = {"eased": W - 500.0, "flat-polish": 1300.0, "unfinished": W + 2 * D}
        assert lengths == pytest.approx(expected, abs=1e-9)
        assert found(result) == {"cutout-notches": 1}


@pytest.mark.parametrize("layer", ["OUTLINE", "CUTOUT", "HOB"])
def test_hole_over_another_opening_is_a_hole(layer):
    """A circle on a bare layer and on a hole layer is bored."""
    for result in _drawn(
        ("rectangle", "OUTLINE", 0, 0, W, D),
        ("circle", layer, 950, 560, 35),
        ("circle", "TAP", 950, 560, 35),
    ):
        assert [h.diameter_mm for h in result.parts[0].holes] == [35.0]
        assert result.parts[0].cutouts == ()
        assert found(result) == {}


@pytest.mark.parametrize(("layer", "profile"), [("EASED", "eased"), ("SINK", "flat-polish")])
def test_profile_on_a_hole_is_told(layer, profile):
    """A core bit makes no profile: the hole stays, the length is named."""
    for result in _drawn(
        ("rectangle", "OUTLINE", 0, 0, W, D),
        ("circle", layer, 950, 560, 35),
        ("circle", "TAP", 950, 560, 35),
    ):
        assert [h.diameter_mm for h in result.parts[0].holes] == [35.0]
        (finding,) = result.findings
        assert finding.code == "hole-profile"
        assert f"{35 * math.pi:.1f} mm {profile}" in finding.message


def test_a_profile_for_bare_openings_is_not_drawn_on_a_hole():
    """The profile of openings without one, as of --cutout-profile, says nothing about holes."""
    rules = replace(DEFAULT, cutout_profile="eased")
    outline, hole = ("rectangle", "OUTLINE", 0, 0, W, D), ("circle", "TAP", 950, 560, 35)
    for result in _drawn(outline, hole, rules=rules):
        assert [h.diameter_mm for h in result.parts[0].holes] == [35.0]
        assert found(result) == {}
    for result in _drawn(outline, hole, ("circle", "EASED", 950, 560, 35), rules=rules):
        assert found(result) == {"hole-profile": 1}


def test_two_methods_on_one_cutout():
    """The earlier rule's method counts, the other is named."""
    for rules, method in ((DEFAULT, "precut"), (LayerRules(DEFAULT.rules[::-1]), "milled")):
        for result in _drawn(
            ("rectangle", "OUTLINE", 0, 0, W, D),
            ("rectangle", "HOB", *SINK),
            ("rectangle", "SINK", *SINK),
            rules=rules,
        ):
            assert result.parts[0].cutouts[0].method == method
            assert found(result)["method-conflict"] == 1


def test_seam_over_an_eased_outline():
    """A joined edge is not seen: the seam counts, and that is said."""
    for result in _drawn(
        ("rectangle", "EASED", 0, 0, W, D),
        ("line", "SEAM", (W, 0), (W, D)),
    ):
        lengths = result.drawings[0].lengths_by_profile_mm
        assert lengths == pytest.approx({"eased": AROUND - D, "seam": D}, abs=1e-9)
        assert found(result) == {"seam-over-profile": 1}


def test_profiles_of_what_is_left_out_are_told():
    """A sink in no part takes its profile with it, and the finding says how much."""
    b = Builder().rectangle("OUTLINE", 0, 0, W, D).rectangle("SINK", 3000, 0, 500, 400)
    (finding,) = take_off([b.drawing()], DEFAULT).findings
    assert finding.code == "cutout-outside"
    assert finding.message.endswith("With it go 1800.0 mm flat-polish.")


def test_an_overlay_that_runs_past_its_edge_is_no_open_chain():
    """What sticks out at both ends is a stray line, not a part that failed to close."""
    b = Builder().rectangle("OUTLINE", 0, 0, 2000, 600).line("EASED", (-5, 0), (2008, 0))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    assert result.drawings[0].lengths_by_profile_mm == {"eased": 2000.0, "bevel": 3200.0}
    assert found(result) == {"edge-stray": 2}
    assert {f.severity for f in result.findings} == {Severity.WARNING}


def test_an_overlay_beside_its_edge_says_how_far():
    """Three tenths off: the finding has the distance and the one allowed."""
    b = Builder().rectangle("OUTLINE", 0, 0, 2000, 600).line("EASED", (0, 0.3), (2000, 0.3))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    (finding,) = result.findings
    assert finding.code == "edge-stray"
    assert "the nearest is up to 0.30 mm away (up to 0.1 mm is on it)" in finding.message


def test_an_arc_over_chords_says_how_far_it_strays():
    """Chords of 200 mm under an arc of 1,000 mm: it touches them and rises 5.01 mm above."""
    half = math.asin(0.1)
    b = Builder().closed("OUTLINE", [(0, 0), (200, 0), (200, 600), (0, 600)])
    b.arc("EASED", (0, 0), (200, 0), -math.tan(0.5 * half))
    result = take_off([b.drawing()], LayerRules(RULES.rules, default_profile="bevel"))
    (finding,) = [f for f in result.findings if f.code == "edge-stray"]
    # The rise of an arc above its chord.
    assert f"up to {1000.0 * (1.0 - math.cos(half)):.2f} mm away" in finding.message
