"""Cross-sections against an independent polygon area and length."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from edgetime.tooling.sections import arc_extent, contour_length_mm, removed_area_mm2

HEIGHT = 30.0


CELLS = 500
"""Chords per arc. An arc here turns at most 4 atan 0.3 = 67 degrees and rises at most
0.3 x 36 / 2 mm over its chord, so a chord of its chords is short by (67 deg / 500)^2 / 24 =
2.3e-7 of its length and leaves the arc by 5.4 / 500^2 = 2.2e-5 mm."""


def flatten(start, end, bulge):
    """Return points of an arc from its ends and its turn, z(t) = c (1 - e^iat) / (1 - e^ia)."""
    if bulge == 0.0:
        return np.array([start, end])
    turn = 4.0j * np.arctan(bulge)
    part = (1.0 - np.exp(turn * np.linspace(0.0, 1.0, CELLS + 1))) / (1.0 - np.exp(turn))
    z = complex(*start) + (complex(*end) - complex(*start)) * part
    return np.column_stack([z.real, z.imag])


@st.composite
def contours(draw):
    """Draw contours that step down the edge, with mild arcs that do not cross."""
    count = draw(st.integers(1, 5))
    vs = [HEIGHT * k / count for k in range(count + 1)]
    us = draw(st.lists(st.floats(20.0, 40.0), min_size=count + 1, max_size=count + 1))
    bulges = draw(
        st.lists(
            st.one_of(st.just(0.0), st.floats(0.01, 0.3), st.floats(-0.3, -0.01)),
            min_size=count,
            max_size=count,
        )
    )
    return list(zip(us, vs, strict=True)), bulges


@given(contours())
def test_area_and_length_are_those_of_a_fine_polygon(contour):
    """Removed area and contour agree with shapely on 500 chords per arc."""
    points, bulges = contour
    arcs = [flatten(a, b, c) for a, b, c in zip(points, points[1:], bulges, strict=False)]
    line = np.vstack([arcs[0], *(arc[1:] for arc in arcs[1:])])
    polygon = shapely.Polygon([*line, (0.0, HEIGHT), (0.0, 0.0)])
    assume(polygon.exterior.is_simple)
    assert removed_area_mm2(points, bulges, HEIGHT) == pytest.approx(polygon.area, rel=1e-6)
    length = contour_length_mm(points, bulges)
    assert length == pytest.approx(shapely.LineString(line).length, rel=3e-7)


@given(contours())
def test_extent_is_that_of_the_points_of_the_arc(contour):
    """The extent of a segment is that of its points."""
    points, bulges = contour
    for a, b, bulge in zip(points, points[1:], bulges, strict=False):
        dots = flatten(a, b, bulge)
        (u_low, v_low), (u_high, v_high) = dots.min(axis=0), dots.max(axis=0)
        expected = (u_low, u_high, v_low, v_high)
        assert arc_extent(a, b, bulge) == pytest.approx(expected, abs=2.5e-5)
