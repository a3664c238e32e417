"""What may not change when the same parts are drawn another way."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from support.takeoffs import QUARTER, RULES, Builder, Curve, summary

from edgetime.takeoff import take_off

FEW = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))


def _load() -> Builder:
    """Two runs, one in each habit, an island with a rounded end, a sink, tap holes."""
    b = Builder()
    b.rectangle("OUTLINE", 0, 0, 2400, 620)
    b.line("EASED", (0, 0), (2400, 0)).line("WALL", (2400, 620), (0, 620))
    b.line("SEAM", (2400, 0), (2400, 620)).line("EASED", (0, 620), (0, 200))
    b.rectangle("SINK", 700, 100, 500, 400).circle("TAP", 950, 560, 35)
    b.line("EASED", (3000, 0), (4200, 0)).line("WALL", (4200, 0), (4200, 620))
    b.line("WALL", (4200, 620), (3000, 620)).line("BULLNOSE", (3000, 620), (3000, 0))
    b.chain("BULLNOSE", [(100, 1500), (1500, 1500), (1500, 2300), (100, 2300)], [0, 1.0, 0])
    b.arc("EASED", (100, 2300), (50, 2250), QUARTER)
    b.line("EASED", (50, 2250), (50, 1550)).arc("EASED", (50, 1550), (100, 1500), QUARTER)
    return b


REFERENCE = [summary(p) for p in take_off([_load().drawing()], RULES).parts]


def _parts(builder: Builder, **units):
    return [summary(p) for p in take_off([builder.drawing(**units)], RULES).parts]


def _turned_about(c: Curve) -> None:
    c.points = c.points[::-1]
    c.bulges = [-x for x in c.bulges[::-1]]


def test_reference_load_by_hand():
    """The load the properties are tried on has the lengths and areas reckoned by hand."""
    assert len(REFERENCE) == 3
    areas = sorted(a for a, *_ in REFERENCE)
    hand = sorted(
        [
            2400 * 620 - 500 * 400 - math.pi / 4 * 35**2,
            1200 * 620,
            # 1450 x 800 less two fillets of radius 50, and a half circle of radius 400.
            1450 * 800 - 2 * (1 - math.pi / 4) * 50**2 + math.pi / 2 * 400**2,
        ]
    )
    assert areas == pytest.approx(hand, abs=1e-3)


@FEW
@given(st.randoms(use_true_random=False))
def test_order_of_entities_does_not_matter(chance: random.Random):
    """Any order of the same entities gives the same parts in the same order."""
    b = _load()
    chance.shuffle(b.curves)
    assert _parts(b) == REFERENCE


@FEW
@given(st.lists(st.booleans(), min_size=40, max_size=40))
def test_direction_of_drawing_does_not_matter(flips: list[bool]):
    """Any curves drawn the other way round give the same parts."""
    b = _load()
    for c, flip in zip(b.curves, flips, strict=False):
        if flip:
            _turned_about(c)
    assert _parts(b) == REFERENCE


@FEW
@given(st.floats(-5e4, 5e4), st.floats(-5e4, 5e4), st.floats(0.0, 2.0 * math.pi), st.booleans())
def test_moving_turning_and_mirroring_change_nothing(dx, dy, angle, mirror):
    """Lengths, areas and holes do not depend on where and how the load lies."""
    b = _load()
    c, s = math.cos(angle), math.sin(angle)
    for curve in b.curves:
        flip = -1.0 if mirror else 1.0
        curve.points = [
            (c * x * flip - s * y + dx, s * x * flip + c * y + dy) for x, y in curve.points
        ]
        curve.bulges = [flip * v for v in curve.bulges]
    got = sorted(_parts(b))
    for one, two in zip(got, sorted(REFERENCE), strict=True):
        assert one[:2] == pytest.approx(two[:2], rel=1e-9)
        assert [e[:2] for e in one[2]] == [e[:2] for e in two[2]]
        assert [e[2] for e in one[2]] == pytest.approx([e[2] for e in two[2]], abs=1e-5)


def test_inches_and_millimetres_agree():
    """The same load drawn in inches is the same take-off."""
    b = _load()
    for c in b.curves:
        c.points = [(x / 25.4, y / 25.4) for x, y in c.points]
    got = _parts(b, units="in", mm_per_unit=25.4)
    for one, two in zip(got, REFERENCE, strict=True):
        assert one[:2] == pytest.approx(two[:2], rel=1e-12)
        assert [e[:2] for e in one[2]] == [e[:2] for e in two[2]]
        assert [e[2] for e in one[2]] == pytest.approx([e[2] for e in two[2]], abs=2e-6)


@FEW
@given(st.data())
def test_splitting_curves_changes_nothing(data):
    """Lines cut into pieces anywhere give the same parts."""
    b = _load()
    whole, b.curves = b.curves, []
    for c in whole:
        if c.kind != "LINE":
            b.add(c)
            continue
        (x0, y0), (x1, y1) = c.points
        cuts = data.draw(
            st.lists(st.floats(0.05, 0.95), max_size=3, unique_by=lambda t: round(t, 2))
        )
        marks = [0.0, *sorted(cuts), 1.0]
        for low, high in itertools.pairwise(marks):
            b.line(
                c.layer,
                (x0 + low * (x1 - x0), y0 + low * (y1 - y0)),
                (x0 + high * (x1 - x0), y0 + high * (y1 - y0)),
            )
    got = _parts(b)
    for one, two in zip(got, REFERENCE, strict=True):
        assert one[:2] == pytest.approx(two[:2], rel=1e-12)
        assert [e[:2] for e in one[2]] == [e[:2] for e in two[2]]
        assert [e[2] for e in one[2]] == pytest.approx([e[2] for e in two[2]], abs=2e-6)


@FEW
@given(st.lists(st.tuples(st.integers(0, 30), st.booleans()), min_size=1, max_size=6))
def test_copies_change_only_the_findings(picks):
    """Curves drawn again, either way round, leave the parts as they are and are named."""
    b = _load()
    originals = list(b.curves)
    twice = 0
    for k, flip in picks:
        c = originals[k % len(originals)]
        if c.kind == "CIRCLE":
            continue
        copy = Curve(c.layer, list(c.points), list(c.bulges), c.kind, closed=c.closed)
        if flip:
            _turned_about(copy)
        b.add(copy)
        twice += 1
    result = take_off([b.drawing()], RULES)
    assert [summary(p) for p in result.parts] == REFERENCE
    assert any(f.code == "duplicate-curve" for f in result.findings) == (twice > 0)


_GRID = st.tuples(
    st.sampled_from([0.0, 100.0, 100.05, 200.0, 300.3, 400.0]),
    st.sampled_from([0.0, 1e-4, 100.0, 200.0, 299.7, 300.0]),
)
_BULGE = st.sampled_from([0.0, 0.0, QUARTER, -QUARTER, 1.0, -0.3, 1e-8])
_LAYER = st.sampled_from(
    ["OUTLINE", "CUTOUT", "TAP", "EASED", "BULLNOSE", "SEAM", "WALL", "DRAINER", "OTHER"]
)
_CURVE = st.tuples(_LAYER, st.lists(_GRID, min_size=2, max_size=5), _BULGE, st.booleans())


@FEW
@example(
    [
        ("EASED", [(300.3, 299.7), (0.0, 300.0), (0.0, 0.0)], 0.0, False),
        ("CUTOUT", [(0.0, 300.0), (400.0, 0.0), (0.0, 0.0)], 0.0, False),
    ]
)
@given(st.lists(_CURVE, max_size=20))
def test_any_heap_of_curves_is_taken_off(heap):
    """Whatever is drawn, nothing is raised, and edges cover every contour exactly once."""
    b = Builder()
    for layer, points, bulge, closed in heap:
        if closed and len(points) > 2:
            b.closed(layer, points, [bulge] * len(points))
        else:
            b.chain(layer, points, [bulge] * (len(points) - 1))
    result = take_off([b.drawing()], RULES, core_diameters_mm=[35])
    for part in result.parts:
        assert part.area_gross_mm2 > 0.0
        for contour in part.contours():
            marks = [0, *(e.stop for e in contour.edges)]
            assert [e.first for e in contour.edges] == marks[:-1]
            assert marks[-1] == len(contour.path)
            total = sum(e.length_mm for e in contour.edges)
            assert total == pytest.approx(contour.path.length_mm, rel=1e-12)
    profiles = result.drawings[0].lengths_by_profile_mm
    edges = sum(e.length_mm for p in result.parts for c in p.contours() for e in c.edges)
    assert sum(profiles.values()) == pytest.approx(edges, rel=1e-12)
