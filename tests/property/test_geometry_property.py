"""What holds of every path: turning, mirroring, reversing and splitting change nothing."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.curves import turns, unreached_mm

from edgetime.geometry.intersect import intersections
from edgetime.geometry.measure import (
    bounds,
    contains,
    direction_at,
    distance,
    is_simple,
    locate,
    nearest,
    point_at,
    radii,
    signed_area,
)
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path, segment_lengths
from edgetime.geometry.segments import Segments
from edgetime.geometry.split import concatenate, split_at, start_at, sub_path

FEW = settings(max_examples=40, deadline=None)


@st.composite
def outlines(draw, most=9):
    """Draw simple counter-clockwise outlines of lines and arcs around the origin."""
    n = draw(st.integers(3, most))
    steps = np.array(draw(st.lists(st.floats(0.4, 1.0), min_size=n, max_size=n)))
    angle = np.cumsum(steps) / steps.sum() * 2 * math.pi
    r = np.array(draw(st.lists(st.floats(150.0, 500.0), min_size=n, max_size=n)))
    bulge = st.one_of(st.just(0.0), st.floats(-0.5, 0.5))
    b = np.array(draw(st.lists(bulge, min_size=n, max_size=n)))
    points = np.column_stack([r * np.cos(angle), r * np.sin(angle)])
    path = Path.from_bulges(points, b, closed=True, tags=np.arange(n))
    assume(is_simple(path))
    assume(signed_area(path) > 1e4)
    return path


@st.composite
def convex_outlines(draw):
    """Draw convex outlines: points of an ellipse, bulging outwards."""
    n = draw(st.integers(3, 9))
    steps = np.array(draw(st.lists(st.floats(0.5, 1.0), min_size=n, max_size=n)))
    angle = np.cumsum(steps) / steps.sum() * 2 * math.pi
    points = np.column_stack([400 * np.cos(angle), 250 * np.sin(angle)])
    return Path.from_bulges(points, np.full(n, draw(st.floats(0.0, 0.02))), closed=True)


def turned(path, angle, shift=(0.0, 0.0)):
    """Return the path turned about the origin and moved."""
    c, s = math.cos(angle), math.sin(angle)
    points = path.points @ np.array([[c, s], [-s, c]]) + shift
    points[-1] = points[0] if path.closed else points[-1]
    return Path(points, path.bulges, path.lengths, path.closed, path.tags)


def mirrored(path):
    """Return the path mirrored in the y axis."""
    return Path(path.points * (-1.0, 1.0), -path.bulges, path.lengths, path.closed, path.tags)


@FEW
@given(outlines(), st.floats(0, 6.2), st.floats(-3000, 3000))
def test_rigid_motion_changes_no_measure(path, angle, shift):
    """Length, area, radii, sides and distances survive turning, shifting and mirroring."""
    other = turned(path, angle, (shift, -shift))
    flipped = mirrored(path)
    assert signed_area(other) == pytest.approx(signed_area(path), rel=1e-9)
    assert signed_area(flipped) == pytest.approx(-signed_area(path), rel=1e-12)
    assert segment_lengths(other.points, other.bulges) == pytest.approx(path.lengths, rel=1e-9)
    assert 1.0 / radii(flipped) == pytest.approx(-1.0 / radii(path), rel=1e-9)
    points = np.array([[10.0, 20.0], [300.0, 100.0], [-900.0, 50.0]])
    moved = points @ np.array(
        [[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]]
    ) + (shift, -shift)
    assert distance(other, moved) == pytest.approx(distance(path, points), abs=1e-8)
    clear = distance(path, points) > 1e-6
    assert (contains(other, moved) == contains(path, points))[clear].all()


@FEW
@given(outlines())
def test_reversal_negates_the_area_and_keeps_the_rest(path):
    """A path run backwards has the same length, bounds and distances."""
    back = path.reversed()
    assert signed_area(back) == pytest.approx(-signed_area(path), rel=1e-12)
    assert bounds(back) == pytest.approx(bounds(path), abs=1e-9)
    assert turns(back) == pytest.approx(-turns(path)[::-1])
    points = np.array([[10.0, 20.0], [700.0, 100.0]])
    assert distance(back, points) == pytest.approx(distance(path, points), abs=1e-9)


@FEW
@given(outlines(), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8))
def test_splitting_changes_no_measure(path, fractions):
    """Inserted vertices keep length, area, places and tags."""
    positions = np.array(fractions) * path.length_mm
    cut = split_at(path, positions)
    assert cut.length_mm == pytest.approx(path.length_mm, rel=1e-12)
    assert signed_area(cut) == pytest.approx(signed_area(path), rel=1e-10)
    assert segment_lengths(cut.points, cut.bulges) == pytest.approx(cut.lengths, abs=1e-9)
    s = np.linspace(0, path.length_mm, 50)
    assert point_at(cut, s) == pytest.approx(point_at(path, s), abs=1e-8)
    for tag in range(len(path)):
        assert cut.lengths[cut.tags == tag].sum() == pytest.approx(path.lengths[tag], rel=1e-12)


@FEW
@given(outlines(), st.floats(0.0, 1.0), st.floats(0.05, 0.95))
def test_stretches_of_a_closed_path_make_it_up_again(path, start, share):
    """Two stretches that meet have together the length and area of the whole."""
    total = path.length_mm
    s0 = start * total
    s1 = s0 + share * total
    first = sub_path(path, s0, s1)
    second = sub_path(path, s1, s0 + total)
    assert first.length_mm == pytest.approx(share * total, abs=1e-5)
    assert not first.closed
    again = concatenate([first, second], closed=True)
    assert again.length_mm == pytest.approx(total, rel=1e-12)
    assert signed_area(again) == pytest.approx(signed_area(path), rel=1e-9)
    other = start_at(path, s0)
    assert other.points[0] == pytest.approx(point_at(path, [s0])[0], abs=2e-6)
    assert other.length_mm == pytest.approx(total, rel=1e-12)


@FEW
@given(outlines(), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5), st.floats(0.01, 1.0))
def test_the_nearest_place_is_where_the_point_came_from(path, fractions, away):
    """A point just beside the path is nearest to its own foot, at its own distance."""
    s = np.array(fractions) * path.length_mm
    foot = point_at(path, s)
    angle = direction_at(path, s)
    beside = foot + away * np.column_stack([np.sin(angle), -np.cos(angle)])
    place, gap = nearest(path, beside)
    assert (gap <= away + 1e-9).all()
    assert np.hypot(*(point_at(path, place) - beside).T) == pytest.approx(gap, abs=1e-9)
    _, fraction = locate(path, s)
    inner = (fraction > 0.1) & (fraction < 0.9) & (gap >= away - 1e-9)
    assert place[inner] == pytest.approx(s[inner], abs=1e-6)


@FEW
@given(convex_outlines(), st.floats(0.1, 300.0))
def test_convex_outlines_obey_steiner(path, d):
    """The outer parallel of a convex outline is 2 pi d longer; moved back, it is the outline."""
    out = offset_path(path, d)
    assert out.length_mm == pytest.approx(path.length_mm + 2 * math.pi * d, rel=1e-12)
    assert signed_area(out.chains[0]) == pytest.approx(
        signed_area(path) + path.length_mm * d + math.pi * d * d, rel=1e-10
    )
    back = offset_path(out.chains[0], -d)
    assert back.length_mm == pytest.approx(path.length_mm, rel=1e-9)
    assert signed_area(back.chains[0]) == pytest.approx(signed_area(path), rel=1e-9)


@FEW
@given(outlines(), st.floats(1.0, 120.0), st.booleans())
def test_offsets_keep_their_distance_and_account_for_the_edge(path, d, inward):
    """Each chain is at the distance everywhere, and treated plus unreached is the edge.

    What is unreached is what a brute-force look at many places finds unreachable.
    """
    d = -d if inward else d
    found = offset_path(path, d)
    for chain in found.chains:
        places = point_at(chain, np.linspace(0, chain.length_mm, 120))
        assert distance(path, places) == pytest.approx(np.full(120, abs(d)), abs=1e-6)
        assert segment_lengths(chain.points, chain.bulges) == pytest.approx(chain.lengths, abs=1e-5)
        assert chain.closed
    assert found.treated_mm + unreached_mm(found) == pytest.approx(path.length_mm, abs=1e-2)
    s = np.linspace(0, path.length_mm, 400)[1:-1]
    angle = direction_at(path, s)
    centre = point_at(path, s) + d * np.column_stack([np.sin(angle), -np.cos(angle)])
    slack = distance(path, centre) - abs(d)
    low, high = found.unreached.T
    inside = ((s[:, None] > low) & (s[:, None] < high)).any(axis=1)
    assert not (inside & (slack > -1e-9) & ~_near(s, found.unreached)).any()
    assert not (~inside & (slack < -1e-3)).any()


def _near(s, intervals):
    """Return which places are within 0.02 mm of an interval's end."""
    return (np.abs(s[:, None] - intervals.ravel()) < 0.02).any(axis=1)


@FEW
@given(outlines(most=7), st.floats(1.0, 80.0), st.floats(0.0, 6.2))
def test_offsets_do_not_depend_on_how_the_path_lies_or_runs(path, d, angle):
    """Turned, mirrored, reversed or split, an outline has the same offset."""
    length = offset_path(path, d).length_mm
    back = offset_path(path.reversed(), -d)
    assert offset_path(turned(path, angle), d).length_mm == pytest.approx(length, abs=1e-4)
    assert offset_path(mirrored(path), -d).length_mm == pytest.approx(length, abs=1e-4)
    assert back.length_mm == pytest.approx(length, abs=1e-6)
    s = np.linspace(0.0, path.length_mm, 5)
    assert offset_path(split_at(path, s), d).length_mm == pytest.approx(length, abs=1e-4)
    assert unreached_mm(back) == pytest.approx(unreached_mm(offset_path(path, d)), abs=1e-6)


@FEW
@given(outlines(), st.floats(0.1, 0.9), st.floats(-0.8, 0.8))
def test_a_chord_through_an_outline_is_found_crossing_it(path, share, bulge):
    """A cut from the middle to far outside and back elsewhere meets the outline on both."""
    ray = share * 2 * math.pi
    far = 2000 * np.array([math.cos(ray), math.sin(ray)])
    cut = Path.from_bulges([(0.0, 0.0), far], [bulge])
    lines, outline = Segments.of(cut), Segments.of(path)
    n = len(path)
    row, at_cut, at_path = intersections(lines.take(np.zeros(n, dtype=int)), outline)
    on_cut = lines.take(np.zeros(len(row), dtype=int)).point(at_cut)
    on_path = outline.take(row).point(at_path)
    assert on_cut == pytest.approx(on_path, abs=1e-6)
    if contains(path, [(0.0, 0.0)])[0]:
        assert len(row) >= 1
