"""Curves drawn on one another: what counts does not depend on how and in which order they are.

The oracle is the rule of the documentation, side by side: a seam, else the worked profile whose
layer rule comes first, else unfinished.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.takeoffs import QUARTER, Builder, summary

from edgetime.takeoff import LayerRule, LayerRules, Meaning, take_off

SOME = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))

RULES = (
    LayerRule("OUTLINE*", Meaning.OUTLINE),
    LayerRule("CUTOUT*", Meaning.CUTOUT),
    LayerRule("SINK", Meaning.CUTOUT, profile="flat-polish", method="milled"),
    LayerRule("HOB", Meaning.CUTOUT, profile="unfinished", method="precut"),
    LayerRule("TAP", Meaning.HOLE),
    LayerRule("EASED", Meaning.EDGE, profile="eased"),
    LayerRule("BEVEL", Meaning.EDGE, profile="bevel"),
    LayerRule("SEAM", Meaning.SEAM),
    LayerRule("WALL", Meaning.UNFINISHED),
    LayerRule("DRAINER", Meaning.RECESS),
    LayerRule("NOTES", Meaning.IGNORE),
)

_R = 50.0
TOP = [
    ((0, 0), (2350, 0), 0.0),
    ((2350, 0), (2400, 50), QUARTER),
    ((2400, 50), (2400, 620), 0.0),
    ((2400, 620), (0, 620), 0.0),
    ((0, 620), (0, 0), 0.0),
]
SINK = [
    ((700, 130), (730, 100), QUARTER),
    ((730, 100), (1170, 100), 0.0),
    ((1170, 100), (1200, 130), QUARTER),
    ((1200, 130), (1200, 470), 0.0),
    ((1200, 470), (1170, 500), QUARTER),
    ((1170, 500), (730, 500), 0.0),
    ((730, 500), (700, 470), QUARTER),
    ((700, 470), (700, 130), 0.0),
]


APRON = [
    ((700, 0), (1200, 0), 0.0),
    ((1200, 0), (1200, 400), 0.0),
    ((1200, 400), (700, 400), 0.0),
    ((700, 400), (700, 200), 0.0),
    ((700, 200), (700, 0), 0.0),
]
"""A sink that ends on the front."""


def _length(side) -> float:
    (x0, y0), (x1, y1), bulge = side
    chord = math.hypot(x1 - x0, y1 - y0)
    # A quarter circle over its chord; all arcs here are quarters.
    return chord if bulge == 0.0 else chord / math.sqrt(2.0) * math.pi / 2.0


@dataclass(frozen=True)
class Stroke:
    """One overlay: a layer over some sides of a loop, drawn in a style."""

    layer: str
    first: int
    count: int
    style: str


def _strokes(layers: list[str], sides: int):
    return st.builds(
        Stroke,
        st.sampled_from(layers),
        st.integers(0, sides - 1),
        st.integers(1, sides),
        st.sampled_from(["polyline", "pieces", "halves"]),
    )


def _draw(b: Builder, loop, stroke: Stroke) -> None:
    count = min(stroke.count, len(loop))
    sides = [loop[(stroke.first + k) % len(loop)] for k in range(count)]
    points = [sides[0][0], *(end for _, end, _ in sides)]
    if stroke.style == "polyline":
        if count == len(loop):
            b.closed(stroke.layer, points[:-1], [s[2] for s in sides])
        else:
            b.chain(stroke.layer, points, [s[2] for s in sides])
        return
    for start, end, bulge in sides:
        if bulge == 0.0 and stroke.style == "halves":
            middle = tuple(0.5 * (p + q) for p, q in zip(start, end, strict=True))
            b.line(stroke.layer, start, middle).line(stroke.layer, middle, end)
        elif bulge == 0.0:
            b.line(stroke.layer, start, end)
        else:
            b.arc(stroke.layer, start, end, bulge)


def _covers(loop, strokes: list[Stroke], side: int) -> set[str]:
    return {s.layer for s in strokes if (side - s.first) % len(loop) < s.count}


def _profile(layer: str, rules) -> str | None:
    (rule,) = (r for r in rules if r.match.rstrip("*") == layer)
    if rule.means in {Meaning.SEAM, Meaning.UNFINISHED}:
        return str(rule.means)
    return rule.profile


def _expected(loop, strokes: list[Stroke], rules) -> tuple[dict[str, float], set[str], set[str]]:
    """Return the lengths by profile of a loop, the codes that must be told, and that may be.

    Of three profiles on one side the weaker two may be told of each other, too.
    """
    number = {r.match.rstrip("*"): k for k, r in enumerate(rules)}
    lengths: dict[str, float] = {}
    told: set[str] = set()
    may: set[str] = set()
    for k, side in enumerate(loop):
        said: dict[str, int] = {}
        for layer in sorted(_covers(loop, strokes, k), key=number.__getitem__, reverse=True):
            if profile := _profile(layer, rules):
                said[profile] = number[layer]
        worked = sorted((n, p) for p, n in said.items() if p not in {"seam", "unfinished"})
        if "seam" in said:
            profile = "seam"
            told |= {"seam-over-profile"} if len(said) > 1 else set()
        elif worked:
            profile = worked[0][1]
            told |= {"profile-conflict"} if len(worked) > 1 else set()
            told |= {"worked-over-unfinished"} if "unfinished" in said else set()
        else:
            profile = "unfinished"
        may |= {"profile-conflict"} if len(worked) > 1 else set()
        may |= {"worked-over-unfinished"} if worked and "unfinished" in said else set()
        lengths[profile] = lengths.get(profile, 0.0) + _length(side)
    return lengths, told, told | may


def _shuffled(b: Builder, chance: random.Random, *, handles: bool) -> Builder:
    chance.shuffle(b.curves)
    for k, c in enumerate(b.curves):
        if chance.random() < 0.5:
            c.points, c.bulges = c.points[::-1], [-x for x in c.bulges[::-1]]
        c.handle = f"{0x20 + k:X}" if handles else ""
    return b


_OUTER = ["EASED", "BEVEL", "WALL", "SEAM", "OUTLINE", "NOTES"]
_INNER = [*_OUTER, "CUTOUT", "SINK", "HOB"]
_WHOLE = st.sampled_from(["polyline", "pieces", "halves"])
_CODES = {"seam-over-profile", "profile-conflict", "worked-over-unfinished", "method-conflict"}


@SOME
@given(
    st.permutations(RULES),
    st.lists(_strokes(_OUTER, len(TOP)), max_size=3),
    st.lists(_strokes(_INNER, len(SINK)), max_size=3),
    st.sampled_from(["OUTLINE", "CUTOUT", "SINK", "HOB"]),
    _WHOLE,
    _WHOLE,
    st.randoms(use_true_random=False),
    st.booleans(),
)
def test_the_more_specific_layer_counts(rules, outer, inner, sink, one, two, chance, handles):
    """Lengths by profile, cutouts, methods and findings follow the rule, whatever the order."""
    outer = [Stroke("OUTLINE", 0, len(TOP), one), *outer]
    inner = [Stroke(sink, 0, len(SINK), two), *inner]
    b = Builder()
    for loop, strokes in ((TOP, outer), (SINK, inner)):
        for stroke in strokes:
            _draw(b, loop, stroke)
    result = take_off([_shuffled(b, chance, handles=handles).drawing()], LayerRules(tuple(rules)))
    (part,) = result.parts
    (cutout,) = part.cutouts
    must, may = set(), set()
    for contour, loop, strokes in ((part.outline, TOP, outer), (cutout.contour, SINK, inner)):
        expected, told, others = _expected(loop, strokes, rules)
        got: Counter[str] = Counter()
        for edge in contour.edges:
            got[edge.profile] += edge.length_mm
        assert dict(got) == pytest.approx(expected, abs=1e-9)
        must, may = must | told, may | others
    methods = [r.method for r in rules if r.method and any(s.layer == r.match for s in inner)]
    assert cutout.method == (methods[0] if methods else None)
    two_methods = {"method-conflict"} if len(methods) > 1 else set()
    codes = {f.code for f in result.findings} & _CODES
    assert must | two_methods <= codes <= may | two_methods
    assert not {f.code for f in result.findings} & {"open-chain", "edge-stray", "self-crossing"}


_ANY = [r.match.rstrip("*") for r in RULES]


def _heap(outer, inner, taps, askew, sink) -> Builder:
    b = Builder()
    for loop, strokes in ((TOP, outer), (sink, inner)):
        for stroke in strokes:
            _draw(b, loop, stroke)
    for layer in taps:
        b.circle(layer, 1500.0, 500.0, 35.0)
    # Within the tolerance of lying on one another, whatever pair is looked at.
    for c in b.curves[1 :: 2 if askew else len(b.curves) + 1]:
        c.points = [(x + 0.02, y - 0.03) for x, y in c.points]
    return b


_ARGS = (
    st.lists(_strokes(_ANY, len(TOP)), max_size=3),
    st.lists(_strokes(_ANY, len(SINK)), max_size=3),
    st.lists(st.sampled_from(_ANY), max_size=2),
    st.booleans(),
    st.sampled_from([SINK, APRON]),
)


def _seen(result) -> tuple:
    codes = Counter(f.code for f in result.findings)
    methods = sorted(str(c.method) for p in result.parts for c in p.cutouts)
    parts = [(round(p.area_mm2, 3), len(p.cutouts), len(p.holes)) for p in result.parts]
    lengths = {k: round(v, 6) for k, v in result.drawings[0].lengths_by_profile_mm.items()}
    return parts, lengths, methods, codes, [summary(p) for p in result.parts]


@SOME
@given(*_ARGS, st.randoms(use_true_random=False), st.booleans())
def test_any_overlays_in_any_order(outer, inner, taps, askew, sink, chance, handles):
    """Whatever lies on one another, file order, handles and direction change nothing."""
    rules = LayerRules(RULES)
    one = take_off(
        [_heap(outer, inner, taps, askew, sink).drawing()], rules, core_diameters_mm=[35]
    )
    b = _shuffled(_heap(outer, inner, taps, askew, sink), chance, handles=handles)
    two = take_off([b.drawing()], rules, core_diameters_mm=[35])
    assert _seen(one) == _seen(two)


@SOME
@given(*_ARGS)
def test_no_profile_vanishes_without_a_finding(outer, inner, taps, askew, sink):
    """Every worked profile drawn is in the take-off to its full length, or in a finding."""
    b = _heap(outer, inner, taps, askew, sink)
    result = take_off([b.drawing()], LayerRules(RULES), core_diameters_mm=[35])
    got = result.drawings[0].lengths_by_profile_mm
    for layer, profile in (("EASED", "eased"), ("BEVEL", "bevel"), ("SINK", "flat-polish")):
        drawn = 0.0
        for loop, strokes in ((TOP, outer), (sink, inner)):
            for k, side in enumerate(loop):
                drawn += _length(side) * (layer in _covers(loop, strokes, k))
        drawn += 35.0 * math.pi * (layer in taps)
        told = [f for f in result.findings if f.where.layer == layer or profile in f.message]
        assert got.get(profile, 0.0) >= drawn - 1.0 or told
