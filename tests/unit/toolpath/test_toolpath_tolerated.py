"""Reach judged by the stone a tool leaves: closed forms of corners and polygons."""

import math

import numpy as np
import pytest

from edgetime.geometry.path import Path
from edgetime.toolpath.batch_offset import Parallel, plain_lines
from edgetime.toolpath.centre import centre_lines

R = 40.0


def opening(n, radius=200.0):
    """Return a regular polygon that opens in the stone: clockwise, the stone on its left."""
    t = np.linspace(0.0, -2.0 * math.pi, n, endpoint=False)
    return Path.from_bulges(
        np.column_stack([radius * np.cos(t), radius * np.sin(t)]), closed=True, tags=np.arange(n)
    )


def both_ways(path, tolerance, clearance=0.0):
    """Return (treated, missed) lengths by the general and by the quick method."""
    out = []
    quick = plain_lines([Parallel(path, len(path), R, clearance, tolerance)])[0]
    assert quick is not None
    for lines, missed in (centre_lines(path, R, clearance, (), tolerance), quick):
        treated = sum(float(line.treated.sum()) for line in lines)
        out.append((treated, float((missed[:, 1] - missed[:, 0]).sum())))
    return out


def left_mm(turn, clearance=0.0):
    """Stone a wheel leaves at a sharp corner: (R + clearance) (1 / cos(t/2) - 1)."""
    return (R + clearance) * (1.0 / math.cos(0.5 * turn) - 1.0)


@pytest.mark.parametrize("n", [8, 12, 36, 72])
@pytest.mark.parametrize("clearance", [0.0, 1.0])
def test_polygons_are_reached_where_little_enough_is_left(n, clearance):
    turn = 2.0 * math.pi / n
    path = opening(n)
    least = left_mm(turn, clearance)
    for treated, missed in both_ways(path, least * 1.0001, clearance):
        assert missed == 0.0
        assert treated == pytest.approx(path.length_mm, rel=1e-12)
    # Else the wheel leaves R tan(t/2) on both sides of each corner.
    expected = n * 2.0 * R * math.tan(0.5 * turn)
    for treated, missed in both_ways(path, least * 0.9999, clearance):
        assert missed == pytest.approx(expected, rel=1e-9)
        assert treated + missed == pytest.approx(path.length_mm, rel=1e-12)


def test_twelve_sides_want_hand_work_and_thirty_six_do_not():
    # 40 mm wheels, 0.2 mm: 1.41 mm are left at 30 degrees, 0.153 mm at 10 degrees.
    assert left_mm(math.radians(30.0)) == pytest.approx(1.411, abs=5e-4)
    assert left_mm(math.radians(10.0)) == pytest.approx(0.1528, abs=5e-5)
    assert all(missed > 0.0 for _, missed in both_ways(opening(12), 0.2))
    assert all(missed == 0.0 for _, missed in both_ways(opening(36), 0.2))


@pytest.mark.parametrize("radius", [0.0, 5.0])
def test_a_tight_right_angle_is_still_missed(radius):
    width, height = 600.0, 400.0
    if radius:
        b, r = -math.tan(math.pi / 8.0), radius
        points = [(0, r), (0, height - r), (r, height), (width - r, height), (width, height - r)]
        points += [(width, r), (width - r, 0), (r, 0)]
        path = Path.from_bulges(points, [0.0, b] * 4, closed=True)
    else:
        points = [(0, 0), (0, height), (width, height), (width, 0)]
        path = Path.from_bulges(points, closed=True)
    # A right angle loses R on each side; a fillet of r both R - r and its own quarter circle.
    expected = 4.0 * (2.0 * (R - radius) + 0.5 * math.pi * radius)
    for treated, missed in both_ways(path, 0.2):
        assert missed == pytest.approx(expected, rel=1e-9)
        assert treated + missed == pytest.approx(path.length_mm, rel=1e-12)


def test_an_inside_arc_is_judged_by_the_stone_left_too():
    # A bend of 20 degrees and radius 30 between straights: (R - r) (1 / cos(t/2) - 1) is left.
    r, turn = 30.0, math.radians(20.0)
    b = -math.tan(0.25 * turn)
    away = np.array([math.cos(turn), math.sin(turn)])
    begin = np.array([0.0, 0.0])
    corner = begin + np.array([300.0, 0.0])
    tangent = r * math.tan(0.5 * turn)
    first, last = corner - [tangent, 0.0], corner + tangent * away * [1.0, -1.0]
    end = corner + 300.0 * away * [1.0, -1.0]
    points = [begin, first, last, end, (end[0], 500.0), (0.0, 500.0)]
    path = Path.from_bulges(points, [0.0, b, 0.0, 0.0, 0.0, 0.0], closed=True)
    least = (R - r) * (1.0 / math.cos(0.5 * turn) - 1.0)
    for _, missed in both_ways(path, least * 1.001):
        assert missed == 0.0
    for _, missed in both_ways(path, least * 0.999):
        expected = 2.0 * (R - r) * math.tan(0.5 * turn) + r * turn
        assert missed == pytest.approx(expected, rel=1e-9)


def test_what_is_tolerated_belongs_to_the_segments_beside_it():
    path = opening(72)
    for lines, _ in (
        centre_lines(path, R, 0.0, (), 0.2),
        plain_lines([Parallel(path, 72, R, 0.0, 0.2)])[0],
    ):
        (line,) = lines
        each = np.bincount(line.tags, weights=line.treated, minlength=72)
        np.testing.assert_allclose(each, path.lengths, rtol=1e-9)


def test_a_run_that_ends_in_a_tolerated_corner_reaches_its_end():
    path = opening(36)
    rest = path.slice(9, 36)
    run = path.slice(0, 9)
    (line,), missed = centre_lines(run, R, 0.0, (rest,), 0.2)
    assert len(missed) == 0
    assert line.first_mm == 0.0
    assert line.last_mm == pytest.approx(run.length_mm, rel=1e-12)
