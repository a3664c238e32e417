"""What holds of every curve drawn as chords, and of long contours however they are computed."""

import math

import numpy as np
import pytest
from ezdxf.math import fit_points_to_cad_cv
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgetime.drawing.fitpoints import spline_through
from edgetime.geometry import near as near_module
from edgetime.geometry import offset as offset_module
from edgetime.geometry.chords import follow_chords
from edgetime.geometry.measure import distance, is_simple, radii, signed_area
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path
from edgetime.toolpath.centre import centre_lines

FEW = settings(max_examples=30, deadline=None)
TOLERANCE = 0.2
R = 40.0


def curve(waves, n):
    """Return n points of a smooth closed curve of radius about 400, counter-clockwise."""
    t = np.linspace(0.0, 2.0 * math.pi, n, endpoint=False)
    r = 400.0 + sum(a * 100.0 / k**2 * np.cos(k * t + p) for k, (a, p) in enumerate(waves, start=2))
    return np.column_stack([r * np.cos(t), r * np.sin(t)])


waves = st.lists(st.tuples(st.floats(-1.0, 1.0), st.floats(0.0, 6.28)), min_size=1, max_size=4)


@FEW
@given(waves, st.sampled_from([600, 1500]), st.sampled_from([0.0, 0.02, 0.1]), st.integers(0, 99))
def test_smooth_curves_are_reached_as_if_drawn_smooth(shape, n, noise, seed):
    points = curve(shape, n)
    points += np.random.default_rng(seed).uniform(-noise, noise, points.shape)
    # As an opening: the stone outside.
    path = Path.from_bulges(points[::-1], closed=True, tags=np.arange(n) * 3 // n)
    assume(is_simple(path))
    out, _ = follow_chords(path, TOLERANCE)
    assert float(distance(out, path.points).max()) <= TOLERANCE * (1.0 + 1e-9)
    for tag in range(3):
        drawn = path.lengths[path.tags == tag].sum()
        assert out.lengths[out.tags == tag].sum() == pytest.approx(drawn, rel=1e-9)
    # The true curve bends nowhere near as tightly as the wheel: nothing is left to the hand.
    _, missed = centre_lines(out, R, 1.0, (), TOLERANCE)
    assert len(missed) == 0


@FEW
@given(waves, st.sampled_from([600, 1500]))
def test_mirroring_and_reversing_change_no_length_and_no_reach(shape, n):
    points = curve(shape, n)
    one, _ = follow_chords(Path.from_bulges(points, closed=True), TOLERANCE)
    other, _ = follow_chords(Path.from_bulges((points * [-1.0, 1.0])[::-1], closed=True), TOLERANCE)
    assert other.length_mm == pytest.approx(one.length_mm, rel=1e-12)
    assert signed_area(other) == pytest.approx(signed_area(one), rel=1e-5)


@FEW
@given(
    st.lists(st.floats(200.0, 500.0), min_size=5, max_size=9),
    st.floats(0.0, 6.28),
)
def test_polygons_with_real_corners_stay_polygons(reaches, begin):
    angle = begin + np.linspace(0.0, 2.0 * math.pi, len(reaches), endpoint=False)
    points = np.array(reaches)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    path = Path.from_bulges(points, closed=True)
    out, found = follow_chords(path, TOLERANCE)
    assert out is path
    assert found == ()


@FEW
@given(
    st.lists(st.tuples(st.floats(0.3, 6.0), st.floats(-12.0, 12.0)), min_size=8, max_size=60),
    st.sampled_from([5.0, 11.0, 40.0]),
    st.booleans(),
    st.booleans(),
)
def test_long_contours_are_offset_as_short_ones(steps, d, turned, whole):
    x = np.cumsum([s for s, _ in steps])
    front = np.column_stack([x, [y for _, y in steps]])
    points = np.vstack([front, [(x[-1], 400.0), (x[0], 400.0)]])
    path = Path.from_bulges(points, closed=True)
    assume(is_simple(path))
    path = path.reversed() if turned else path
    count = len(path) if whole else len(path) // 2
    run, rest = path.slice(0, count), [] if whole else [path.slice(count, len(path))]
    many, few = offset_module._MANY, near_module._FEW
    try:
        offset_module._MANY = near_module._FEW = 10**12
        plain = offset_path(run, d, against=rest)
        offset_module._MANY = near_module._FEW = 0
        freed = offset_path(run, d, against=rest)
    finally:
        offset_module._MANY, near_module._FEW = many, few
    assert len(freed.chains) == len(plain.chains)
    assert freed.treated_mm == pytest.approx(plain.treated_mm, abs=1e-6)
    # Circles of one radius about near vertices cross so flatly that 1e-10 mm beside them is up
    # to 1e-5 mm along them.
    assert freed.length_mm == pytest.approx(plain.length_mm, abs=1e-4)
    np.testing.assert_allclose(freed.unreached, plain.unreached, atol=1e-6)


@FEW
@given(st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=2, max_size=30))
def test_fit_splines_are_those_of_the_dxf_library(pairs):
    points = np.column_stack([np.array(pairs), np.zeros(len(pairs))])
    size = np.hypot(*np.diff(points[:, :2], axis=0).T)
    assume(float(size.max()) > 1.0)
    assume(float(size.min()) > 1e-3 * float(size.max()))
    for ends in (None, (np.array([1.0, 0.5, 0.0]), np.array([0.0, -2.0, 0.0]))):
        found = spline_through(points, ends)
        assert found is not None
        other = fit_points_to_cad_cv(points.tolist(), None if ends is None else list(ends))
        wanted = np.array([tuple(p) for p in other.control_points])
        np.testing.assert_allclose(found[0], wanted, atol=1e-6 * float(np.abs(wanted).max()))
        np.testing.assert_allclose(found[1], other.knots(), atol=1e-12)


def test_radii_of_a_noisy_curve_stay_those_of_the_curve():
    points = curve([(0.5, 1.0)], 3000)
    points += np.random.default_rng(1).uniform(-0.1, 0.1, points.shape)
    out, _ = follow_chords(Path.from_bulges(points, closed=True), TOLERANCE)
    # The curve's own tightest bend is above 250 mm.
    assert float(np.abs(radii(out)).min()) > 2.0 * R
