"""Each entity type to segments: lengths in closed form, places, loops that close."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import BSpline as ScipySpline
from scipy.special import ellipe, ellipeinc
from support.dxf_text import (
    arc,
    circle,
    document,
    ellipse,
    entity,
    line,
    lwpolyline,
    point,
    polyline,
    spline,
)

from edgetime.errors import DrawingUnreadable

TAU = 2.0 * math.pi


def total(drawing):
    """Sum all lengths [drawing units]."""
    return sum(drawing.lengths_by_layer_mm().values()) / drawing.mm_per_unit


def codes(drawing):
    """List the findings' codes."""
    return [finding.code for finding in drawing.findings]


def test_line_in_inches_becomes_millimetres(read_text):
    """A 3-4-5 triangle's hypotenuse in inches is 127 mm."""
    drawing = read_text(document(line((1, 1, 0), (4, 5, 0)), insunits=1))
    assert drawing.units == "in"
    assert drawing.length.tolist() == pytest.approx([127.0], rel=1e-15)
    assert drawing.start.tolist() == [[25.4, 25.4]]


@pytest.mark.parametrize(
    ("start", "end", "sweep_deg"),
    [(0, 90, 90), (350, 10, 20), (10, 350, 340), (-90, 90, 180), (0, 360, 360), (45, 45, 360)],
)
def test_arc_length_is_radius_times_angle(read_text, start, end, sweep_deg):
    """An ARC turns counter-clockwise from its first to its second angle; equal ones: full turn."""
    drawing = read_text(document(arc((100, 50, 0), 120.0, float(start), float(end))))
    assert total(drawing) == pytest.approx(120.0 * math.radians(sweep_deg), rel=1e-14)
    first, last = drawing.start[0], drawing.end[-1]
    for at, angle in ((first, start), (last, end)):
        expected = (
            100 + 120 * math.cos(math.radians(angle)),
            50 + 120 * math.sin(math.radians(angle)),
        )
        assert at == pytest.approx(expected, abs=1e-11)
    assert (drawing.bulge > 0).all()
    assert drawing.entities[0].closed == (sweep_deg == 360)


def test_circle_is_exact_and_carries_its_diameter(read_text):
    """A circle of 35 mm measures π d, not what a polygon or Bézier makes of it."""
    drawing = read_text(document(circle((10, 20, 0), 17.5), line((0, 0, 0), (500, 0, 0))))
    round_ = drawing.entities[0]
    assert round_.circle_diameter_mm == 35.0
    assert round_.closed
    assert drawing.length[drawing.entity == 0].sum() == pytest.approx(math.pi * 35.0, rel=1e-15)


def test_bulge_of_a_quarter_turn(read_text):
    """tan(90°/4) over the chord of a quarter circle of radius 10 has length 5π (DXF code 42)."""
    drawing = read_text(document(lwpolyline([(0, 0, math.tan(math.pi / 8)), (10, 10)])))
    assert total(drawing) == pytest.approx(5.0 * math.pi, rel=1e-15)


def test_closed_lwpolyline_returns_to_its_start(read_text):
    """The closing segment carries the last vertex's bulge; the slot measures 2 l + π d."""
    slot = [(0, 0), (300, 0, 1.0), (300, 80), (0, 80, 1.0)]
    drawing = read_text(document(lwpolyline(slot, closed=True, elevation=7.0)))
    assert total(drawing) == pytest.approx(600.0 + 80.0 * math.pi, rel=1e-15)
    assert drawing.entities[0].closed
    assert drawing.bounds_mm() == pytest.approx((-40.0, 0.0, 340.0, 80.0), abs=1e-12)


def test_two_half_circles_make_a_circle(read_text):
    """A closed polyline of two half circles is a circle with a diameter."""
    drawing = read_text(document(lwpolyline([(0, 0, 1.0), (200, 0, 1.0)], closed=True)))
    assert drawing.entities[0].circle_diameter_mm == pytest.approx(200.0, rel=1e-15)


def test_old_polyline_with_bulges(read_text):
    """A 2D POLYLINE measures what the LWPOLYLINE of the same vertices does."""
    slot = [(0, 0, 0), (300, 0, 0, 1.0), (300, 80, 0), (0, 80, 0, 1.0)]
    drawing = read_text(document(polyline(slot, closed=True)))
    assert total(drawing) == pytest.approx(600.0 + 80.0 * math.pi, rel=1e-15)
    assert len(drawing.entities) == 1


def test_planar_polyline_in_space_is_projected_without_a_word(read_text):
    """A 3D POLYLINE at constant height is a plain outline."""
    square = [(0, 0, 30), (200, 0, 30), (200, 100, 30), (0, 100, 30)]
    drawing = read_text(document(polyline(square, closed=True, space=True)))
    assert total(drawing) == 600.0
    assert codes(drawing) == []


def test_rising_polyline_is_projected_with_a_finding(read_text):
    """A 3D POLYLINE that rises counts its XY projection and says so."""
    drawing = read_text(document(polyline([(0, 0, 0), (300, 400, 200)], space=True)))
    assert total(drawing) == pytest.approx(500.0, rel=1e-15)
    assert codes(drawing) == ["entity-not-planar"]


def test_meshes_are_no_curves(read_text):
    """A polygon mesh is a POLYLINE too, but is only counted as ignored."""
    mesh = [(0, 0, 0), (100, 0, 0), (100, 100, 0), (0, 100, 0)]
    drawing = read_text(document(polyline(mesh, flags=16), line((0, 0, 0), (100, 0, 0))))
    assert total(drawing) == 100.0
    assert codes(drawing) == ["entities-ignored"]


@pytest.mark.parametrize(
    ("a", "ratio", "perimeter"),
    [(5.0, 0.6, 25.526998863), (10.0, 0.8, 56.723335778), (10.0, 0.5, 48.442241103)],
)
def test_ellipse_perimeter(read_text, a, ratio, perimeter):
    """P = 4 a E(m), m = 1 - (b/a)², from tabulated complete elliptic integrals."""
    drawing = read_text(document(ellipse((50, 50, 0), (a * 0.6, a * 0.8, 0), ratio)))
    assert total(drawing) == pytest.approx(perimeter, rel=1e-10)
    assert total(drawing) == pytest.approx(4 * a * ellipe(1 - ratio**2), rel=1e-9)
    assert drawing.entities[0].closed


def test_part_of_an_ellipse(read_text):
    """An elliptic arc's length is a (E(π/2 - t0) - E(π/2 - t1)) for parameters from the major axis."""
    drawing = read_text(document(ellipse((0, 0, 0), (200, 0, 0), 0.4, 0.3, 1.2)))
    m = 1 - 0.4**2
    expected = 200 * (ellipeinc(math.pi / 2 - 0.3, m) - ellipeinc(math.pi / 2 - 1.2, m))
    assert total(drawing) == pytest.approx(expected, rel=1e-9)
    assert drawing.start[0] == pytest.approx((200 * math.cos(0.3), 80 * math.sin(0.3)), abs=1e-11)
    assert drawing.end[-1] == pytest.approx((200 * math.cos(1.2), 80 * math.sin(1.2)), abs=1e-11)


def test_round_ellipse_is_a_circle(read_text):
    """An ellipse of ratio 1 is drawn as arcs and carries its diameter."""
    drawing = read_text(document(ellipse((0, 0, 0), (60, 80, 0), 1.0)))
    assert drawing.entities[0].circle_diameter_mm == pytest.approx(200.0, rel=1e-15)
    assert len(drawing.length) == 2


def spline_length(degree, points, knots, weights=None):
    """Measure a spline with scipy: homogeneous B-spline, adaptive quadrature knot by knot."""
    points = np.asarray(points, dtype=float)[:, :2]
    weights = np.ones(len(points)) if weights is None else np.asarray(weights, dtype=float)
    curve = ScipySpline(knots, np.column_stack((points * weights[:, None], weights)), degree)
    rate = curve.derivative()

    def speed(t):
        value, slope = curve(t), rate(t)
        velocity = (slope[:2] - value[:2] / value[2] * slope[2]) / value[2]
        return math.hypot(*velocity)

    breaks = np.unique([k for k in knots if knots[degree] <= k <= knots[len(points)]])
    return sum(quad(speed, a, b, epsabs=0, epsrel=1e-12)[0] for a, b in itertools.pairwise(breaks))


CONTROL = [(0, 0, 0), (100, 250, 0), (300, -80, 0), (420, 200, 0), (600, 40, 0), (640, 300, 0)]


@pytest.mark.parametrize(
    ("degree", "knots"),
    [
        (3, [0, 0, 0, 0, 1, 2.5, 3, 3, 3, 3]),
        (3, [0, 0, 0, 0, 1, 1, 3, 3, 3, 3]),
        (2, [0, 0, 0, 1, 1, 2, 3, 3, 3]),
        (3, [-3, -2, -1, 0, 1, 2, 3, 4, 5, 6]),
        (5, [0, 0, 0, 0, 0, 0, 2, 2, 2, 2, 2, 2]),
    ],
)
@pytest.mark.parametrize("weights", [None, [1, 2, 0.5, 1, 3, 1]])
def test_splines_of_all_kinds(read_text, degree, knots, weights):
    """Clamped, unclamped, with kinks, rational: length and ends as by scipy's B-splines."""
    drawing = read_text(document(spline(degree, CONTROL, knots, weights or ())))
    assert total(drawing) == pytest.approx(spline_length(degree, CONTROL, knots, weights), rel=1e-9)
    homogeneous = (
        np.column_stack((np.array(CONTROL, dtype=float)[:, :2], np.ones(6)))
        * np.array(weights or [1.0] * 6)[:, None]
    )
    curve = ScipySpline(np.array(knots, dtype=float), homogeneous, degree)
    for at, t in ((drawing.start[0], knots[degree]), (drawing.end[-1], knots[6])):
        value = curve(float(t))
        assert at == pytest.approx(value[:2] / value[2], abs=1e-9)


def test_rational_spline_is_a_circle(read_text):
    """The nine-point rational quadratic full circle measures 2 π r (The NURBS Book, ch. 7)."""
    s = math.sqrt(0.5)
    square = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    points = [(150 * x, 150 * y, 0) for x, y in square]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    drawing = read_text(document(spline(2, points, knots, [1, s] * 4 + [1])))
    assert total(drawing) == pytest.approx(TAU * 150.0, rel=1e-9)
    assert drawing.entities[0].closed


def test_straight_spline_of_degree_one(read_text):
    """A spline of degree 1 is its control polygon."""
    points = [(0, 0, 0), (300, 400, 0), (300, 500, 0)]
    drawing = read_text(document(spline(1, points, [0, 0, 1, 2, 2])))
    assert drawing.length.tolist() == [500.0, 100.0]


def test_spline_through_fit_points(read_text):
    """A spline given by fit points alone passes through them; collinear ones give their line."""
    fit = [(0, 0, 0), (90, 120, 0), (300, 400, 0)]
    drawing = read_text(document(spline(3, (), fit=fit)))
    assert total(drawing) == pytest.approx(500.0, rel=1e-9)
    bent = read_text(document(spline(3, (), fit=[(0, 0, 0), (100, 100, 0), (200, 0, 0)])))
    assert total(bent) > 2 * math.hypot(100, 100)
    gaps = np.hypot(*(np.vstack((bent.start, bent.end)) - (100, 100)).T)
    assert gaps.min() < 0.5


@pytest.mark.parametrize(
    ("points", "knots", "weights", "says"),
    [
        (CONTROL, [0, 0, 0, 0, 1, 2], (), "10 knots are needed"),
        (CONTROL, [0, 0, 0, 0, 2, 1, 3, 3, 3, 3], (), "fall"),
        (CONTROL, [0, 0, 0, 0, 1, 2, 3, 3, 3, 3], [1, 1, 0, 1, 1, 1], "positive"),
        (CONTROL[:3], [], (), "control points"),
        ((), [], (), "neither"),
    ],
)
def test_damaged_splines_are_findings(read_text, points, knots, weights, says):
    """A spline whose numbers contradict each other is left out, with the reason."""
    drawing = read_text(document(spline(3, points, knots, weights), line((0, 0, 0), (100, 0, 0))))
    assert total(drawing) == 100.0
    (finding,) = drawing.findings
    assert finding.code == "entity-damaged"
    assert says in finding.message


def test_tilted_circle_is_its_projection(read_text):
    """A circle tilted by 60° is measured as the ellipse of ratio cos 60°, with a finding."""
    normal = (math.sin(math.radians(60)), 0.0, math.cos(math.radians(60)))
    drawing = read_text(document(circle((0, 0, 0), 100.0, extrusion=normal)))
    assert total(drawing) == pytest.approx(400 * ellipe(1 - 0.25), rel=1e-9)
    assert codes(drawing) == ["entity-tilted"]
    assert drawing.entities[0].circle_diameter_mm is None


def test_circle_on_edge_is_a_line_to_and_fro(read_text):
    """A circle seen from its side measures twice its diameter."""
    drawing = read_text(document(circle((0, 0, 0), 100.0, extrusion=(1, 0, 0))))
    assert total(drawing) == pytest.approx(400.0, rel=1e-12)


def test_what_has_no_length_is_left_out(read_text):
    """Lines of length zero, circles of radius zero or less: one note, no segments."""
    drawing = read_text(
        document(
            line((5, 5, 0), (5, 5, 0)),
            circle((0, 0, 0), 0.0),
            circle((0, 0, 0), -3.0),
            lwpolyline([(1, 1)]),
            line((0, 0, 0), (100, 0, 0)),
        )
    )
    assert total(drawing) == 100.0
    assert len(drawing.entities) == 1
    (finding,) = drawing.findings
    assert finding.code == "zero-length"
    assert finding.message.startswith("4 ")


@pytest.mark.parametrize(
    "bad",
    [
        line((0, 0, 0), (math.nan, 0, 0)),
        line((0, 0, 0), (1e300, 0, 0)),
        line((0, 0, 0), (math.inf, 0, 0)),
        circle((math.nan, 0, 0), 5.0),
        circle((0, 0, 0), math.inf),
        arc((0, 0, 0), 5.0, math.nan, 90.0),
        ellipse((0, 0, 0), (math.nan, 1, 0), 0.5),
        ellipse((0, 0, 0), (1e300, 1, 0), 0.5),
        lwpolyline([(0, 0), (1e300, 0), (1e300, 1e300)]),
        lwpolyline([(0, 0, math.nan), (5, 5)]),
        lwpolyline([(0, 0, 1e20), (5, 5)]),
        polyline([(0, 0, 0), (math.inf, 0, 0)]),
        spline(3, [(0, 0, 0), (1, math.nan, 0), (2, 0, 0), (3, 0, 0)]),
        spline(3, [(0, 0, 0), (1e200, 1, 0), (2, 0, 0), (3, 0, 0)]),
    ],
)
def test_numbers_beyond_use_are_findings(read_text, bad):
    """NaN, infinity and absurd coordinates leave the entity out and never crash."""
    drawing = read_text(document(bad, line((0, 0, 0), (100, 0, 0))))
    assert total(drawing) == 100.0
    assert "entity-out-of-range" in codes(drawing)


def test_no_curve_but_unusable_ones_is_an_error(read_text):
    """When all there is cannot be used, the drawing is refused."""
    with pytest.raises(DrawingUnreadable, match="No curve"):
        read_text(document(line((0, 0, 0), (math.nan, 0, 0))))


def test_bounds_reach_over_arcs_and_skip_hidden_curves(read_text):
    """Bounds take in the crown of an arc and only what is visible."""
    drawing = read_text(
        document(
            lwpolyline([(0, 0, 1.0), (200, 0)]),
            line((0, 0, 0), (900, 900, 0), common=[(60, 1)]),
        )
    )
    assert drawing.bounds_mm() == pytest.approx((0, -100, 200, 0), abs=1e-12)
    assert read_text(document()).bounds_mm() is None


def test_points_are_ignored_by_name(read_text):
    """Entities that are not curves are named and counted."""
    dots = [entity("POINT", "AcDbPoint", *point(10, (i, 0, 0))) for i in range(3)]
    drawing = read_text(document(*dots, line((0, 0, 0), (100, 0, 0))))
    (finding,) = drawing.findings
    assert finding.message == "Not counted: 3 POINT."
