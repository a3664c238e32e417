"""Corners rounded to a radius: lengths in closed form, and nothing tight left."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgetime.geometry.measure import corner_turns, signed_area
from edgetime.geometry.path import Path
from edgetime.geometry.rounding import just_tight_stretches, rounded, tight_stretches
from edgetime.geometry.split import start_at


def opening(width, height, tags=(0, 1, 2, 3)):
    """Return a rectangular opening, clockwise, with one tag a side."""
    points = [(0.0, 0.0), (0.0, height), (width, height), (width, 0.0)]
    return Path.from_bulges(points, closed=True, tags=tags)


@pytest.mark.parametrize("start", [0.0, 55.0, 300.0])
def test_rectangle_by_hand(start):
    """760 x 400 mm at 41 mm: 8 x 41 less, 2 pi x 41 more; the area (4 - pi) r² less."""
    path = start_at(opening(760.0, 400.0, (0, 0, 0, 0)), start)
    new = rounded(path, 41.0, tight_stretches(path, 41.0))
    assert new.closed
    assert new.length_mm == pytest.approx(2320.0 + (2.0 * math.pi - 8.0) * 41.0, abs=1e-9)
    assert -signed_area(new) == pytest.approx(304000.0 - (4.0 - math.pi) * 41.0**2, abs=1e-6)
    assert np.abs(corner_turns(new)).max() < 1e-9
    assert tight_stretches(new, 41.0) == []


def test_arcs_between_two_tags_are_halved():
    """Each side keeps its tag up to the middle of both corners: the same length of each."""
    path = opening(500.0, 500.0)
    new = rounded(path, 50.0, tight_stretches(path, 50.0))
    for tag in range(4):
        own = new.lengths[new.tags == tag].sum()
        assert own == pytest.approx(500.0 - 100.0 + 0.5 * math.pi * 50.0)


def test_slot_just_wide_enough_gets_half_circles():
    """600 x 82 mm at 41 mm: two straights of 518 mm and a whole circle."""
    path = opening(600.0, 82.0, (0, 0, 0, 0))
    new = rounded(path, 41.0, just_tight_stretches(path, 41.0))
    assert new.length_mm == pytest.approx(2.0 * 518.0 + 2.0 * math.pi * 41.0, abs=1e-6)
    assert len(new) == 6


def test_slot_too_narrow_is_not_rounded():
    """No arc of 41 mm in 70 mm."""
    path = opening(600.0, 70.0)
    assert rounded(path, 41.0, tight_stretches(path, 41.0)) is None


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.9, 1.1), min_size=6, max_size=6),
    st.floats(5.0, 60.0),
    st.floats(0.0, 1.0),
)
def test_convex_opening_by_hand(spokes, radius, start):
    """Each corner of turn t loses 2 r tan(t / 2) and gains r t, wherever the drawing begins."""
    angles = -np.arange(6) * np.pi / 3.0
    points = 400.0 * np.array(spokes)[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    drawn = Path.from_bulges(points, closed=True)
    turns = -corner_turns(drawn)
    path = start_at(drawn, start * drawn.length_mm)
    new = rounded(path, radius, tight_stretches(path, radius))
    expected = drawn.length_mm - radius * float((2.0 * np.tan(0.5 * turns) - turns).sum())
    assert turns.min() > 0.0
    assert new.length_mm == pytest.approx(expected, abs=1e-6)
    assert tight_stretches(new, radius) == []
