"""Overlay curves on an outline: on it, beside it, crossing it, over its start."""

import math

import numpy as np
import pytest

from edgetime.geometry import Path, ellipse_arc_length, overlaps, smooth_path, start_at

TOLERANCE = 0.1
TOP = Path.from_bulges([(0, 0), (400, 0), (400, 300), (0, 300)], closed=True)
RING = Path.from_bulges([(5, 0), (-5, 0)], [1, 1], closed=True)


def line(*points, bulges=None):
    return Path.from_bulges(points, bulges)


@pytest.mark.parametrize(
    ("other", "expected"),
    [
        (line((0, 0), (400, 0)), [(0, 400, 0, 400)]),
        (line((400, 0.05), (0.03, -0.05)), [(0, 400, 400, 0)]),
        (line((100, 0), (250, 0.05)), [(100, 250, 0, 150)]),
        (line((100, 0.02), (200, 0.02), (250, 0.02)), [(100, 250, 0, 150)]),
        (line((0, 100), (0, 0), (100, 0)), [(1300, 1500, 0, 200)]),
        (line((100, 0.05), (0.05, 0.05), (0.05, 100)), [(1300, 1500, 200, 0)]),
        (line((50, 0), (50, -80), (150, -80), (150, 0), (300, 0)), [(150, 300, 260, 410)]),
        (line((200, -50), (200, 350)), []),
        (line((100, 20), (300, -20)), []),
        (line((200, 10), (300, 10)), []),
        (line((400, 300), (500, 300)), []),
        (line((200, 0.2), (300, 0.2)), []),
    ],
)
def test_overlays_of_a_rectangle(other, expected):
    """Whole sides, parts, corners, over the start, drawn off, leaving, crossing, too far."""
    found = overlaps(TOP, other, TOLERANCE)
    assert len(found) == len(expected)
    for got, want in zip(found, expected, strict=True):
        assert got == pytest.approx(want, abs=0.2)


def test_an_overlay_set_onto_a_vertex_is_exactly_there():
    """An end within the tolerance of a vertex leaves no sliver of an edge."""
    (found,) = overlaps(TOP, line((0.06, 0.03), (399.95, -0.02)), TOLERANCE)
    assert found[:2] == (0.0, 400.0)


def test_two_stretches():
    """One curve may run along a path twice."""
    other = line((50, 0), (100, 0), (100, 50), (150, 50), (150, 0), (200, 0))
    found = overlaps(TOP, other, TOLERANCE)
    assert [f[:2] for f in found] == [
        pytest.approx((50, 100), abs=0.2),
        pytest.approx((150, 200), abs=0.2),
    ]


def test_a_path_overlaps_itself_all_round():
    """Copies that run either way or start elsewhere cover everything once."""
    for other in (TOP, TOP.reversed(), start_at(TOP, 123.0)):
        (found,) = overlaps(TOP, other, TOLERANCE)
        assert found[:2] == (0.0, 1400.0)
        assert abs(found[3] - found[2]) == pytest.approx(1400.0)
    (found,) = overlaps(TOP, start_at(TOP, 123.0), TOLERANCE)
    assert found[2] == pytest.approx(1277.0)


def test_arcs_on_a_circle():
    """A half circle lies on a circle over the quarter points, with or against it."""
    (found,) = overlaps(RING, line((0, -5), (0, 5), bulges=[1]), TOLERANCE)
    assert found == pytest.approx((7.5 * math.pi, 12.5 * math.pi, 0, 5 * math.pi), abs=1e-6)
    (found,) = overlaps(RING, line((0, -5), (0, 5), bulges=[-1]), TOLERANCE)
    assert found == pytest.approx((2.5 * math.pi, 7.5 * math.pi, 5 * math.pi, 0), abs=1e-6)


def test_an_arc_of_another_radius_runs_along_only_so_far():
    """A flatter arc that touches the circle leaves it by the tolerance."""
    big = 500.0
    ring = Path.from_bulges([(0, -big), (0, big)], [1, 1], closed=True)
    tangent = line((big, -100), (big, 100))
    (found,) = overlaps(ring, tangent, TOLERANCE)
    half = math.sqrt(2 * big * TOLERANCE)  # the sag of the arc over a half chord
    assert found[1] - found[0] == pytest.approx(2 * half, rel=1e-3)


def test_a_stretch_of_an_ellipse_fitted_anew():
    """Other arcs of the same ellipse are found along its exact lengths."""

    def position(t):
        return np.column_stack([500 * np.cos(t), 300 * np.sin(t)])

    def derivative(t):
        return np.column_stack([-500 * np.sin(t), 300 * np.cos(t)])

    whole = smooth_path(position, derivative, np.linspace(0, 2 * math.pi, 5), closed=True)
    part = smooth_path(position, derivative, [1.0, 2.0, 2.5])
    (found,) = overlaps(whole, part, TOLERANCE)
    expected = (ellipse_arc_length(500, 300, 0, 1.0), ellipse_arc_length(500, 300, 0, 2.5))
    assert found[:2] == pytest.approx(expected, abs=0.01)


def test_nothing_overlaps_nothing():
    """Empty paths and paths far away overlap nowhere."""
    empty = Path.from_bulges(np.zeros((0, 2)))
    assert overlaps(TOP, empty, TOLERANCE) == []
    assert overlaps(empty, TOP, TOLERANCE) == []
    assert overlaps(TOP, line((900, 900), (950, 900)), TOLERANCE) == []
