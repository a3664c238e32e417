"""Runs of chords taken for the lines and arcs they follow."""

import math

import numpy as np
import pytest

from edgetime.geometry.chords import follow_chords
from edgetime.geometry.measure import corner_turns, distance, radii
from edgetime.geometry.path import Path

TOLERANCE = 0.2


def ring(n, a=200.0, b=200.0):
    """Return n points of an ellipse, counter-clockwise."""
    t = np.linspace(0.0, 2.0 * math.pi, n, endpoint=False)
    return np.column_stack([a * np.cos(t), b * np.sin(t)])


def rounded(width, height, radius, chords):
    """Return a rectangle whose corners are quarter circles of so many chords."""
    corners = (
        (width - radius, radius, -90.0),
        (width - radius, height - radius, 0.0),
        (radius, height - radius, 90.0),
        (radius, radius, 180.0),
    )
    angles = [
        (x, y, math.radians(start + 90.0 * k / chords))
        for x, y, start in corners
        for k in range(chords + 1)
    ]
    return np.array([(x + radius * math.cos(a), y + radius * math.sin(a)) for x, y, a in angles])


def followed(points, tags=None, tolerance=TOLERANCE):
    """Return the contour as drawn and as followed, with what was found."""
    path = Path.from_bulges(points, closed=True, tags=tags)
    return (path, *follow_chords(path, tolerance))


@pytest.mark.parametrize("n", [72, 360, 3600])
@pytest.mark.parametrize("hand", [1, -1])
def test_a_circle_drawn_as_chords_is_a_circle(n, hand):
    path, out, found = followed(ring(n)[::hand])
    assert len(out) == 2
    np.testing.assert_allclose(np.abs(radii(out)), 200.0, rtol=1e-9)
    # The chord of the angle 2π/n is 2 r sin(π/n) long.
    assert out.length_mm == pytest.approx(2.0 * n * 200.0 * math.sin(math.pi / n), rel=1e-12)
    (one,) = found
    assert (one.chords, one.arcs, one.straights) == (n, 2, 0)
    assert one.vertex_off_mm < 1e-9
    # The rise of a chord: r (1 - cos(π/n)).
    assert one.chord_off_mm == pytest.approx(200.0 * (1.0 - math.cos(math.pi / n)), rel=1e-6)
    np.testing.assert_allclose(out.points[0], path.points[0], atol=1e-9)


@pytest.mark.parametrize("n", [3, 4, 6, 8, 12, 20, 36])
def test_a_polygon_with_long_sides_stays_a_polygon(n):
    path, out, found = followed(ring(n))
    assert out is path
    assert found == ()


@pytest.mark.parametrize("n", [6, 8, 12])
def test_corners_are_no_curve_however_short_the_sides(n):
    _, _, found = followed(ring(n, 8.0, 8.0))
    assert found == ()


@pytest.mark.parametrize("n", [72, 360, 3600])
def test_an_ellipse_drawn_as_chords_is_followed_by_tangent_arcs(n):
    _, out, found = followed(ring(n, 300.0, 200.0))
    assert sum(f.chords for f in found) == n
    assert float(np.abs(corner_turns(out)).max()) < 1e-9
    # Places of the true curve between the vertices, which no chord passes.
    assert float(distance(out, ring(3331, 300.0, 200.0)).max()) < TOLERANCE / 8.0


@pytest.mark.parametrize("n", [72, 360, 3600])
def test_noise_on_a_straight_is_a_straight(n):
    rng = np.random.default_rng(7)
    x = np.linspace(0.0, 3000.0, n + 1)
    y = rng.uniform(-0.1, 0.1, n + 1)
    points = np.vstack([np.column_stack([x, y]), [(3000.0, 600.0), (0.0, 600.0)]])
    path, out, found = followed(points)
    assert len(out) == 4
    np.testing.assert_array_equal(out.bulges, 0.0)
    np.testing.assert_array_equal(out.points[:2], points[[0, n]])
    (one,) = found
    assert (one.chords, one.arcs, one.straights) == (n, 0, 1)
    assert one.vertex_off_mm <= TOLERANCE
    assert out.lengths[0] == pytest.approx(path.lengths[:n].sum(), rel=1e-12)


@pytest.mark.parametrize("n", [72, 1000, 5000])
def test_noise_on_a_circle_is_a_circle(n):
    rng = np.random.default_rng(8)
    _, out, _ = followed(ring(n) + rng.uniform(-0.1, 0.1, (n, 2)))
    assert len(out) == 2
    np.testing.assert_allclose(radii(out), 200.0, atol=0.1)


@pytest.mark.parametrize(("radius", "chords"), [(5.0, 4), (5.0, 8), (60.0, 8), (60.0, 90)])
def test_rounded_corners_are_arcs_and_the_sides_stay(radius, chords):
    path, out, found = followed(rounded(600.0, 400.0, radius, chords))
    assert len(out) == 8
    bent = out.bulges != 0.0
    np.testing.assert_allclose(radii(out)[bent], radius, rtol=1e-9)
    assert float(np.abs(corner_turns(out)).max()) < 1e-9
    assert [f.chords for f in found] == [chords] * 4
    assert out.length_mm == pytest.approx(path.length_mm, rel=1e-12)


def test_a_drawing_in_inches_with_three_decimals():
    inches = np.round(rounded(600.0, 400.0, 60.0, 24) / 25.4, 3)
    _, out, found = followed(inches * 25.4)
    assert sum(f.chords for f in found) == 96
    np.testing.assert_allclose(radii(out)[out.bulges != 0.0], 60.0, atol=0.3)
    # Rounding to half a thousandth of an inch in two axes.
    assert max(f.vertex_off_mm for f in found) < 0.0005 * 25.4 * math.sqrt(2.0)
    assert float(np.abs(corner_turns(out)).max()) < 1e-9


def test_edges_keep_their_lengths_and_their_order():
    n = 360
    tags = np.repeat([0, 1, 2], [100, 1, n - 101])
    path, out, _ = followed(ring(n), tags)
    np.testing.assert_array_equal(np.unique(out.tags), [0, 1, 2])
    assert (np.diff(out.tags) >= 0).all()
    for tag in (0, 1, 2):
        drawn = path.lengths[path.tags == tag].sum()
        assert out.lengths[out.tags == tag].sum() == pytest.approx(drawn, rel=1e-12)
        begins = out.points[:-1][out.tags == tag][0]
        np.testing.assert_allclose(begins, path.points[:-1][tags == tag][0], atol=1e-9)


def test_an_edge_may_begin_in_the_middle_of_a_chord():
    points = ring(360)
    half = 0.5 * (points[40] + points[41])
    tags = np.repeat([0, 1], [41, 320])
    path, out, _ = followed(np.insert(points, 41, half, axis=0), tags)
    assert len(out) == 3
    np.testing.assert_allclose(radii(out), 200.0, rtol=1e-9)
    drawn = path.lengths[:41].sum()
    assert out.lengths[out.tags == 0].sum() == pytest.approx(drawn, rel=1e-12)


def test_a_digitised_corner_stays_a_corner():
    sides = [np.linspace(0.0, 600.0, 601)[:-1], np.linspace(0.0, 400.0, 401)[:-1]]
    points = np.vstack(
        [
            np.column_stack([sides[0], 0.0 * sides[0]]),
            np.column_stack([600.0 + 0.0 * sides[1], sides[1]]),
            np.column_stack([600.0 - sides[0], 400.0 + 0.0 * sides[0]]),
            np.column_stack([0.0 * sides[1], 400.0 - sides[1]]),
        ]
    )
    rng = np.random.default_rng(9)
    _, out, _ = followed(points + rng.uniform(-0.1, 0.1, points.shape))
    turn = np.degrees(corner_turns(out))
    assert int((turn > 80.0).sum()) == 4
    assert int((out.bulges != 0.0).sum()) == 0


@pytest.mark.parametrize("seed", range(12))
def test_a_digitised_rounded_figure_is_followed_nearly_whole(seed):
    # Points 1 mm apart, ±0.1 mm in both axes. A piece whose joints do not suit it gives up a few
    # chords at its ends, not all of them: a side of 1,000 mm is no longer left as a zigzag.
    corners = rounded(1120.0, 560.0, 60.0, 240)
    closed = np.vstack([corners, corners[:1]])
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    even = np.linspace(0.0, at[-1], int(at[-1]), endpoint=False)
    points = np.column_stack([np.interp(even, at, closed[:, k]) for k in (0, 1)])
    rng = np.random.default_rng(seed)
    path, out, found = followed(points + rng.uniform(-0.1, 0.1, points.shape))
    assert sum(f.chords for f in found) >= 0.985 * len(points)
    assert out.length_mm == pytest.approx(path.length_mm, rel=1e-12)


def test_arcs_and_chords_in_one_polyline():
    # A bulged corner beside one of chords: both 60 mm, and both stay tangent to the sides.
    points = rounded(600.0, 400.0, 60.0, 16)
    keep = np.delete(points, np.arange(1, 16), axis=0)
    bulges = np.zeros(len(keep))
    bulges[0] = math.tan(math.pi / 8.0)
    path = Path.from_bulges(keep, bulges, closed=True)
    out, found = follow_chords(path, TOLERANCE)
    assert len(out) == 8
    assert [f.chords for f in found] == [16] * 3
    np.testing.assert_allclose(radii(out)[out.bulges != 0.0], 60.0, rtol=1e-9)


def test_tangent_arcs_are_left_alone():
    b = math.tan(math.pi / 8.0)
    points = [(60, 0), (540, 0), (600, 60), (600, 340), (540, 400), (60, 400), (0, 340), (0, 60)]
    path = Path.from_bulges(points, [0.0, b] * 4, closed=True)
    out, found = follow_chords(path, TOLERANCE)
    assert out is path
    assert found == ()


def test_no_tolerance_follows_every_chord():
    path, out, found = followed(ring(360), tolerance=0.0)
    assert out is path
    assert found == ()
