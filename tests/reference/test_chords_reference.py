"""Curves drawn as chords against the same curves drawn as curves, with the shipped wheels.

Hand work and time in the cut are the true curve's, lengths the chords' own (closed forms); twelve
and thirty-six chords are judged by the stone a wheel of 40 mm leaves at their corners.
"""

from __future__ import annotations

import math
import tracemalloc

import numpy as np
import pytest
from support.dxf_text import circle, document, ellipse, lwpolyline, spline

from edgetime import estimate
from edgetime.errors import LimitExceeded
from edgetime.records import as_json

WHEEL_MM = 40.0
CENTRE = (800.0, 350.0)


@pytest.fixture
def load(tmp_path):
    """Return a function that estimates a drawing of the given entities."""

    def made(*entities, insunits=4):
        path = tmp_path / "load.dxf"
        path.write_text(document(*entities, insunits=insunits))
        return estimate([path])

    return made


def top(scale=1.0):
    """Return a top of 1600 × 700 mm."""
    corners = [(0.0, 0.0), (1600.0, 0.0), (1600.0, 700.0), (0.0, 700.0)]
    vertices = [(x * scale, y * scale) for x, y in corners]
    return lwpolyline(vertices, closed=True, layer="EASED")


def ring(n, a, b, scale=1.0):
    """Return an opening of n chords."""
    t = [2.0 * math.pi * k / n for k in range(n)]
    points = [(CENTRE[0] + a * math.cos(u), CENTRE[1] + b * math.sin(u)) for u in t]
    return lwpolyline([(x * scale, y * scale) for x, y in points], closed=True, layer="SINK")


def cut_s(est):
    """Seconds in the cut."""
    return sum(row["cut_s"] for row in as_json(est.cycle)["tools"])


def codes(est):
    return {f.code for f in est.findings}


def cutout_mm(est):
    (cutout,) = est.take_off.parts[0].cutouts
    return cutout.contour.path.length_mm, sum(e.length_mm for e in cutout.contour.edges)


@pytest.mark.parametrize("n", [72, 360, 3600])
def test_a_circle_of_chords_runs_as_a_circle(load, n):
    true = load(top(), circle(CENTRE, 200.0, layer="SINK"))
    est = load(top(), ring(n, 200.0, 200.0))
    assert true.cycle.hand_mm == est.cycle.hand_mm == 0.0
    assert cut_s(est) == pytest.approx(cut_s(true), rel=1e-4)
    for length in cutout_mm(est):
        assert length == pytest.approx(2.0 * n * 200.0 * math.sin(math.pi / n), rel=1e-9)
    assert "chords-followed" in codes(est)
    assert "chords-followed" not in codes(true)


@pytest.mark.parametrize("n", [72, 360, 3600])
def test_an_ellipse_of_chords_runs_as_an_ellipse(load, n):
    true = load(top(), ellipse(CENTRE, (250.0, 0.0), 0.6, layer="SINK"))
    est = load(top(), ring(n, 250.0, 150.0))
    assert true.cycle.hand_mm == est.cycle.hand_mm == 0.0
    assert cut_s(est) == pytest.approx(cut_s(true), rel=1e-4)
    t = 2.0 * math.pi * np.arange(n + 1) / n
    chords = np.hypot(np.diff(250.0 * np.cos(t)), np.diff(150.0 * np.sin(t))).sum()
    for length in cutout_mm(est):
        assert length == pytest.approx(float(chords), rel=1e-9)


@pytest.mark.parametrize("n", [72, 360, 3600])
def test_a_noisy_front_runs_as_a_straight(load, n):
    rng = np.random.default_rng(3)
    x = np.linspace(0.0, 1600.0, n + 1)
    y = np.concatenate([[0.0], rng.uniform(-0.1, 0.1, n - 1), [0.0]])
    front = list(zip(x.tolist(), y.tolist(), strict=True))
    est = load(lwpolyline([*front, (1600.0, 700.0), (0.0, 700.0)], closed=True, layer="EASED"))
    true = load(top())
    assert est.cycle.hand_mm == 0.0
    assert cut_s(est) == pytest.approx(cut_s(true), rel=1e-4)
    drawn = float(np.hypot(np.diff(x), np.diff(y)).sum()) + 2.0 * 700.0 + 1600.0
    (edge,) = est.take_off.parts[0].outline.edges
    assert edge.length_mm == pytest.approx(drawn, rel=1e-9)


@pytest.mark.parametrize("n", [12, 36])
def test_a_few_long_chords_are_judged_by_the_stone_left(load, n):
    est = load(top(), ring(n, 200.0, 200.0))
    half = math.pi / n
    # The wheels' clearance of 1 mm counts as radius where they must fit.
    left = (WHEEL_MM + 1.0) * (1.0 / math.cos(half) - 1.0)
    expected = n * 2.0 * WHEEL_MM * math.tan(half) if left > 0.2 else 0.0
    assert (left > 0.2) == (n == 12)
    assert est.cycle.hand_mm == pytest.approx(expected, rel=1e-9)
    assert "chords-followed" not in codes(est)


def test_a_corner_of_5_mm_is_told_however_it_is_drawn(load):
    def opening(chords):
        corners = [(1000.0, 200.0, -90.0), (1000.0, 500.0, 0.0), (600.0, 500.0, 90.0)]
        corners.append((600.0, 200.0, 180.0))
        points = []
        for x, y, start in corners:
            for k in range(chords + 1):
                a = math.radians(start + 90.0 * k / chords)
                bulge = math.tan(math.pi / 8.0) if chords == 1 and k == 0 else 0.0
                points.append((x + 5.0 * math.cos(a), y + 5.0 * math.sin(a), bulge))
        return lwpolyline(points, closed=True, layer="SINK")

    # A fillet of r at a right angle leaves R - r on both sides and itself.
    expected = 4.0 * (2.0 * (WHEEL_MM - 5.0) + 0.5 * math.pi * 5.0)
    assert load(top(), opening(1)).cycle.hand_mm == pytest.approx(expected, rel=1e-9)
    est = load(top(), opening(8))
    # Lengths are the chords' own: 8 chords of 2 r sin(90° / 16) in each corner.
    drawn = 8 * 2.0 * 5.0 * math.sin(math.pi / 32.0)
    expected += 4.0 * (drawn - 0.5 * math.pi * 5.0)
    assert est.cycle.hand_mm == pytest.approx(expected, rel=1e-9)
    assert any("inside radius is 5.0 mm" in f.message for f in est.findings)


def test_an_inch_drawing_is_followed_as_well(load):
    est = load(top(1.0 / 25.4), ring(360, 200.0, 200.0, 1.0 / 25.4), insunits=1)
    assert est.cycle.hand_mm == 0.0
    assert cutout_mm(est)[0] == pytest.approx(720 * 200.0 * math.sin(math.pi / 360), rel=1e-9)
    assert "chords-followed" in codes(est)


def teeth(count, *, step=0.5, depth=0.5):
    """Return a top whose front has teeth."""
    front = [(k * step, -depth if k % 2 else 0.0) for k in range(count)]
    end = front[-1][0]
    return lwpolyline([*front, (end, 600.0), (0.0, 600.0)], closed=True, layer="EASED")


def live_edge(count):
    """Return a top with a rough front."""
    y = np.random.default_rng(5).uniform(-1.5, 1.5, count).tolist()
    x = np.linspace(0.0, 2400.0, count).tolist()
    front = list(zip(x, y, strict=True))
    return lwpolyline([*front, (2400.0, 600.0), (0.0, 600.0)], closed=True, layer="EASED")


def fit_spline(count):
    """Return a top whose front is a spline through points."""
    x = np.linspace(0.0, 2400.0, count)
    fit = [(float(a), 20.0 * math.sin(a / 130.0)) for a in x]
    rest = [fit[-1], (2400.0, 600.0), (0.0, 600.0), fit[0]]
    return spline(3, [], fit=fit, layer="EASED") + lwpolyline(rest, layer="EASED")


@pytest.mark.slow
@pytest.mark.parametrize("front", [teeth, live_edge, fit_spline])
def test_memory_grows_with_the_points_and_no_faster(load, front):
    """Peak memory of 4,000 points over that of 1,000: a table of pairs would make it 16."""
    peaks = []
    load(front(50))
    for count in (1000, 4000):
        tracemalloc.start()
        load(front(count))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 8.0 * peaks[0]
    # 500 MB at 10,000 points, with room for what does not grow.
    assert peaks[1] < 0.4 * 500e6


@pytest.mark.slow
def test_a_contour_beyond_the_limit_is_refused(load):
    with pytest.raises(LimitExceeded) as caught:
        load(teeth(40_001))
    error = caught.value
    assert error.exit_code == 3
    assert "40003 lines and arcs" in str(error)
    assert error.where is not None
    assert error.where.layer == "EASED"
    assert "contour_tolerance" in (error.remedy or "")
