"""Arcs that stand in for curves: how near, how smooth, how long."""

import math

import numpy as np
import pytest

from edgetime.errors import InternalError
from edgetime.geometry.measure import corner_turns, distance
from edgetime.geometry.segments import Segments
from edgetime.geometry.smooth import fit_arcs, smooth_path


def wave(t):
    return np.column_stack([100 * t, 40 * np.sin(3 * t)])


def wave_slope(t):
    return np.column_stack([np.full_like(t, 100), 120 * np.cos(3 * t)])


@pytest.mark.parametrize("tolerance", [1.0, 0.1, 0.01, 0.001])
def test_a_fit_keeps_its_tolerance_and_its_smoothness(tolerance):
    """Nowhere is the curve further than the tolerance; arcs meet tangentially; length is exact."""
    path = smooth_path(wave, wave_slope, [0.0, 1.0, 4.0], tolerance_mm=tolerance)
    points = wave(np.linspace(0, 4, 4001))
    assert distance(path, points).max() <= tolerance * 1.05
    assert np.abs(corner_turns(path)).max() < 1e-9

    fine = np.hypot(*np.diff(wave(np.linspace(0, 4, 400001)), axis=0).T).sum()
    assert path.length_mm == pytest.approx(fine, rel=1e-9)


def test_parameters_lie_at_the_vertices():
    """The curve at each parameter is within the tolerance of the arc's end."""
    points, bulges, params = fit_arcs(wave, wave_slope, [0.0, 4.0], tolerance_mm=0.01)
    assert len(points) == len(params) == len(bulges) + 1
    assert (np.diff(params) > 0).all()
    assert np.hypot(*(wave(params) - points).T).max() < 0.01


def test_a_line_is_one_line():
    """A curve that is straight becomes straight segments without bulge."""

    def position(t):
        return np.column_stack([3 * t, 4 * t])

    def derivative(t):
        return np.column_stack([np.full_like(t, 3), np.full_like(t, 4)])

    path = smooth_path(position, derivative, [0.0, 10.0], tag=7)
    assert len(path) == 2
    assert path.bulges == pytest.approx([0, 0], abs=1e-12)
    assert path.length_mm == pytest.approx(50)
    assert path.tags.tolist() == [7, 7]


def test_a_corner_at_a_knot_stays_a_corner():
    """A derivative that jumps at a knot is read from either side of it."""

    def position(t):
        return np.column_stack([t, np.abs(t) * 10])

    def derivative(t):
        return np.column_stack([np.ones_like(t), np.where(t < 0, -10.0, 10.0)])

    path = smooth_path(position, derivative, [-1.0, 0.0, 1.0], tolerance_mm=0.001)
    assert len(path) == 4
    assert np.abs(corner_turns(path)).max() == pytest.approx(2 * math.atan(10), rel=1e-6)
    assert path.length_mm == pytest.approx(2 * math.sqrt(101))


def test_a_circle_is_fitted_by_itself():
    """The arcs of a circle's fit have its radius."""

    def position(t):
        return 50 * np.column_stack([np.cos(t), np.sin(t)])

    def derivative(t):
        return 50 * np.column_stack([-np.sin(t), np.cos(t)])

    path = smooth_path(position, derivative, np.linspace(0, 2 * math.pi, 5), closed=True)
    assert len(path) == 8
    assert Segments.of(path).radius == pytest.approx(np.full(8, 50.0), rel=1e-9)
    assert np.array_equal(path.points[0], path.points[-1])


def test_a_curve_that_stands_still_at_its_end():
    """Doubled control points stop the derivative; the tangent is the limit from inside."""

    def position(t):
        return np.column_stack([100 * t**3, 50 * t**4])

    def derivative(t):
        return np.column_stack([300 * t**2, 200 * t**3])

    path = smooth_path(position, derivative, [0.0, 1.0])
    assert Segments.of(path).direction(np.zeros(len(path)))[0] == pytest.approx(0.0, abs=1e-4)
    assert distance(path, position(np.linspace(0, 1, 999))).max() < 0.0105


def test_knots_must_rise():
    """Knots out of order are a mistake of the caller."""
    with pytest.raises(InternalError, match="must rise"):
        fit_arcs(wave, wave_slope, [0.0, 0.0], tolerance_mm=0.01)
