"""Planar geometry against handbooks, standards and closed forms; the source stands at each."""

import math

import numpy as np
import pytest
import shapely
from scipy.special import ellipe, ellipeinc
from support.curves import centres, ellipse_arc_length, turns

from edgetime.geometry.measure import bounds, radii, signed_area
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path
from edgetime.geometry.segments import Segments
from edgetime.geometry.smooth import smooth_path

QUARTER = math.sqrt(2.0) - 1.0


def polygon(*points, bulges=None):
    return Path.from_bulges(points, bulges, closed=True)


# NISTIR 6556 (Kramer, Proctor, Messina 2000), Table 12: the material edge, clockwise from (2, 3).
NIST_EDGE = polygon(
    (2, 3), (3, 2), (3, -1), (2, -2), (-2, -2), (-2.6, -0.2), (1.4, 2.8),
    bulges=[-QUARTER, 0, -QUARTER, 0, -0.72075922, 0, -0.16227766],
)  # fmt: skip

# The same with the bulges of its 3-4-5 triangle in full, counter-clockwise.
NIST_EXACT = Path.from_bulges(
    NIST_EDGE.points,
    [
        *(-QUARTER, 0, -QUARTER, 0),
        -math.tan((math.pi - math.atan2(3, 4)) / 4),
        0,
        -math.tan(math.atan2(3, 4) / 4),
    ],
    closed=True,
).reversed()


class TestBulge:
    @pytest.mark.parametrize(
        ("degrees", "bulge"),
        [(90, 0.414214), (180, 1.0), (45, 0.198912367), (60, 0.267949192), (270, 2.414213562)],
    )
    def test_turn_of_a_bulge(self, degrees, bulge):
        """A bulge is the tangent of a quarter of the turn.

        90 and 180 degrees: Autodesk help, "GetBulge Method (ActiveX)", and DXF group code 42;
        the others follow from that definition.
        """
        path = Path.from_bulges([(0, 0), (1, 0)], [bulge])
        assert turns(path)[0] == pytest.approx(math.radians(degrees), rel=1e-6)

    def test_radius_sag_length_and_area_from_a_bulge(self):
        """Chord 100, bulge 0.25: CRC Concise Encyclopedia "Segment", equations 1-15."""
        path = Path.from_bulges([(0, 0), (100, 0)], [0.25])
        assert radii(path)[0] == pytest.approx(106.25, rel=1e-12)
        assert path.length_mm == pytest.approx(104.115931829, rel=1e-10)
        assert abs(signed_area(path)) == pytest.approx(843.658878411, rel=1e-10)
        assert bounds(path)[1] == pytest.approx(-12.5, abs=1e-12)

    def test_quarter_circle(self):
        """Bulge tan(pi/8) from (0, 0) to (10, 10) has R = 10 (ezdxf.math.bulge_to_arc)."""
        path = Path.from_bulges([(0, 0), (10, 10)], [math.tan(math.pi / 8)])
        assert radii(path)[0] == pytest.approx(10.0, rel=1e-12)
        assert centres(path)[0] == pytest.approx([0.0, 10.0], abs=1e-12)
        assert path.length_mm == pytest.approx(15.707963, abs=1e-6)

    def test_arc_from_chord_and_sag(self):
        """Chord 21, height 6: matheass.eu, E210 Circular Sections."""
        path = Path.from_bulges([(0, 0), (21, 0)], [2 * 6 / 21])
        assert radii(path)[0] == pytest.approx(12.1875, rel=1e-12)
        assert math.degrees(turns(path)[0]) == pytest.approx(118.97953, abs=1e-5)
        assert path.length_mm == pytest.approx(25.308373, abs=1e-6)
        assert abs(signed_area(path)) == pytest.approx(89.254148, abs=1e-6)

    @pytest.mark.parametrize(
        ("radius", "height", "chord", "tolerance"), [(60, 8, 59.86, 0.01), (8 + 1 / 3, 6, 16, 1e-9)]
    )
    def test_chord_of_a_segment(self, radius, height, chord, tolerance):
        """Machinery's Handbook, 31st ed., p. 79: r = 60, h = 8, and c = 16, h = 6."""
        exact = 2 * math.sqrt(height * (2 * radius - height))
        path = Path.from_bulges([(0, 0), (exact, 0)], [2 * height / exact])
        assert exact == pytest.approx(chord, abs=tolerance)
        assert radii(path)[0] == pytest.approx(radius, rel=1e-12)
        assert bounds(path)[1] == pytest.approx(-height, rel=1e-12)

    def test_handbook_segment(self):
        """R = 12, depth 2: Machinery's Handbook, 31st ed., p. 50-51, examples 3 and 4."""
        chord = 13.26649916
        path = Path.from_bulges([(0, 0), (chord, 0)], [4 / chord])
        assert path.bulges[0] == pytest.approx(0.301511345, abs=1e-8)
        assert math.degrees(turns(path)[0]) == pytest.approx(67.13, abs=0.02)
        assert path.length_mm == pytest.approx(14.06, abs=0.01)
        assert abs(signed_area(path)) == pytest.approx(18.01, abs=0.01)

    def test_sector_area(self):
        """R = 7, 30 degrees: Machinery's Handbook, 31st ed., p. 50, example 2, prints 12.83."""
        angle = math.radians(30)
        path = polygon(
            (0, 0), (7, 0), (7 * math.cos(angle), 7 * math.sin(angle)),
            bulges=[0, math.tan(angle / 4), 0],
        )  # fmt: skip
        assert signed_area(path) == pytest.approx(12.83, abs=0.005)

    @pytest.mark.parametrize(("radius", "area"), [(0.7, 0.105), (2.2 / math.sqrt(2), 0.520)])
    def test_fillet_area(self, radius, area):
        """Spandrel 0.215 r² = 0.1075 c²: Machinery's Handbook, 31st ed., p. 80."""
        path = polygon((0, 0), (radius, 0), (0, radius), bulges=[0, -QUARTER, 0])
        assert signed_area(path) == pytest.approx(area, abs=7e-4)
        assert signed_area(path) == pytest.approx(0.2146018366 * radius**2, rel=1e-9)

    def test_nist_arc(self):
        """G2 from (7, 7) to (10, 16) about (10, 11): NISTIR 6556, 3.5.3.2, radius 5."""
        path = Path.from_bulges([(7, 7), (10, 16)], [-0.720759220])
        assert radii(path)[0] == pytest.approx(-5.0, rel=1e-8)
        assert centres(path)[0] == pytest.approx([10, 11], abs=1e-7)
        assert math.degrees(-turns(path)[0]) == pytest.approx(143.130102, abs=1e-6)
        assert path.length_mm == pytest.approx(12.490457724, rel=1e-8)

    @pytest.mark.parametrize(
        ("sign", "length"), [(1, 18.701700828), (-1, 40 * math.pi - 18.701700828)]
    )
    def test_radius_format_arcs(self, sign, length):
        """R = ±20 from (0, 0) to (10, 15): the rule of NISTIR 6556, 3.5.3.1; together one circle."""
        half = math.asin(math.hypot(10, 15) / 40)
        turn = 2 * half if sign > 0 else 2 * math.pi - 2 * half
        path = Path.from_bulges([(0, 0), (10, 15)], [-math.tan(turn / 4)])
        assert abs(radii(path)[0]) == pytest.approx(20.0, rel=1e-12)
        assert path.length_mm == pytest.approx(length, rel=1e-10)


class TestEllipse:
    @pytest.mark.parametrize(
        ("m", "expected"),
        [
            (0.0, 1.570796326795),
            (0.5, 1.350643881048),
            (0.75, 1.211056027568),
            (0.96, 1.050502226984),
            (1.0, 1.0),
        ],
    )
    def test_complete_integral(self, m, expected):
        """E(m): Abramowitz and Stegun, table 17.1 / DLMF 19 (digits from memory)."""
        quarter = ellipse_arc_length(1.0, math.sqrt(1.0 - m), 0.0, math.pi / 2)
        assert quarter == pytest.approx(expected, abs=1e-12)

    @pytest.mark.parametrize(
        ("a", "b", "perimeter"),
        [(5, 3, 25.526998863), (10, 8, 56.723335778), (10, 5, 48.442241103), (100, 75, 552.587304)],
    )
    def test_perimeter(self, a, b, perimeter):
        """P = 4 a E(m), m = 1 - (b/a)²: Abramowitz and Stegun 17.3, digits worked out."""
        got = ellipse_arc_length(a, b, 0.0, 2 * math.pi)
        assert got == pytest.approx(perimeter, abs=2e-6)
        assert got == pytest.approx(4 * a * ellipe(1 - (b / a) ** 2), rel=1e-12)

    @pytest.mark.parametrize("b", [1.0, 0.3, 1e-3, 1e-9])
    def test_arcs_of_round_and_flat_ellipses(self, b):
        """Arcs agree with scipy's incomplete elliptic integral to 1e-12."""
        m = 1 - b * b
        expected = ellipeinc(math.pi / 2 - 0.3, m) - ellipeinc(math.pi / 2 - 2.2, m)
        assert ellipse_arc_length(1.0, b, 0.3, 2.2) == pytest.approx(expected, rel=1e-12)


class TestSplines:
    def test_parabola(self):
        """The parabola y = x², 0 to 1 (a quadratic B-spline): sqrt(5)/2 + asinh(2)/4, exact calculus."""

        def position(t):
            return np.column_stack([t, t * t])

        def derivative(t):
            return np.column_stack([np.ones_like(t), 2 * t])

        path = smooth_path(position, derivative, [0.0, 1.0], tolerance_mm=1e-4)
        assert path.length_mm == pytest.approx(1.478942857545, rel=1e-9)

    def test_cubic_bezier(self):
        """(0,0)(0,1)(1,1)(1,0): its speed is a polynomial and its length exactly 2."""

        def position(t):
            return np.column_stack([t * t * (3 - 2 * t), 3 * t * (1 - t)])

        def derivative(t):
            return np.column_stack([6 * t * (1 - t), 3 - 6 * t])

        path = smooth_path(position, derivative, [0.0, 1.0], tolerance_mm=1e-4, relative=1e-13)
        assert path.length_mm == pytest.approx(2.0, rel=1e-12)

    def test_rational_quarter_circle(self):
        """Weights 1, sqrt(1/2), 1 make a quarter of the unit circle: pi/2."""
        w = np.array([1.0, math.sqrt(0.5), 1.0])
        control = np.array([[1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])

        def parts(t):
            basis = np.stack([(1 - t) ** 2, 2 * t * (1 - t), t**2], axis=1) * w
            slope = np.stack([-2 * (1 - t), 2 - 4 * t, 2 * t], axis=1) * w
            return basis @ control, slope @ control, basis.sum(axis=1), slope.sum(axis=1)

        def position(t):
            top, _, bottom, _ = parts(t)
            return top / bottom[:, None]

        def derivative(t):
            top, dtop, bottom, dbottom = parts(t)
            return (dtop - top / bottom[:, None] * dbottom[:, None]) / bottom[:, None]

        path = smooth_path(position, derivative, [0.0, 1.0], tolerance_mm=1e-3)
        assert path.length_mm == pytest.approx(1.570796326795, rel=1e-11)

    def test_cusp(self):
        """(t², t³): Neile's parabola, length (13^1.5 - 8)/27 each side (Neile 1657)."""

        def position(t):
            return np.column_stack([t**2, t**3])

        def derivative(t):
            return np.column_stack([2 * t, 3 * t**2])

        path = smooth_path(position, derivative, [-1.0, 0.0, 1.0], tolerance_mm=1e-4)
        assert path.length_mm == pytest.approx(2 * (13**1.5 - 8) / 27, rel=1e-9)


class TestSteiner:
    @pytest.mark.parametrize(
        ("path", "distance", "length", "area"),
        [
            (polygon((0, 0), (4, 0), (4, 3), (0, 3)), 1.0, 20.283185307, 29.141592654),
            (polygon((0, 0), (4, 0), (0, 3)), 1.0, 18.283185307, 21.141592654),
            (NIST_EXACT, 0.5, 21.424777961, 31.068583470),
        ],
    )
    def test_outer_parallel(self, path, distance, length, area):
        """L + 2 pi r and A + L r + pi r²: the Minkowski-Steiner formula; NISTIR 6556 tables."""
        found = offset_path(path, distance)
        assert len(found.chains) == 1
        assert found.chains[0].closed
        assert found.length_mm == pytest.approx(length, abs=1e-8)
        assert found.length_mm == pytest.approx(path.length_mm + 2 * math.pi * distance, rel=1e-12)
        assert signed_area(found.chains[0]) == pytest.approx(area, abs=1e-6)
        assert found.unreached.shape == (0, 2)

    def test_nist_edge_itself(self):
        """NISTIR 6556, Table 12: the segments, and 12 + 2 pi in all."""
        expected = [1.570796, 3, 1.570796, 4, 2.498092, 5, 0.643501]
        assert NIST_EDGE.lengths == pytest.approx(expected, abs=1e-6)
        assert NIST_EDGE.length_mm == pytest.approx(18.283185307, abs=1e-8)

    def test_nist_tool_path(self):
        """NISTIR 6556, Table 13 is the parallel of Table 12 at half a tool diameter of 1."""
        found = offset_path(NIST_EDGE, -0.5)
        expected = [2.356194, 3, 2.356194, 4, 3.747137, 5, 0.965252]
        vertices = [(2, 3.5), (3.5, 2), (3.5, -1), (2, -2.5), (-2, -2.5), (-2.9, 0.2), (1.1, 3.2)]
        assert found.chains[0].points[:-1] == pytest.approx(np.array(vertices), abs=1e-7)
        assert found.chains[0].lengths == pytest.approx(expected, abs=1e-6)
        assert found.length_mm == pytest.approx(12 + 3 * math.pi, abs=1e-8)
        assert not found.rolled[0].any()
        # G94 feed is that of the tool: 17.2 % more time than the contour's length says (B.1).
        assert found.length_mm / NIST_EDGE.length_mm == pytest.approx(1.171829, abs=1e-6)

    def test_reflex_corner(self):
        """An L by 0.5: 16 + 5 pi/4 - 1, five rounds and 2 r less at the reflex corner, exact."""
        path = polygon((0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4))
        found = offset_path(path, 0.5)
        assert found.length_mm == pytest.approx(18.926990817, abs=1e-9)
        assert signed_area(found.chains[0]) == pytest.approx(20.731747704, abs=1e-9)
        assert found.chains[0].closed
        assert found.unreached == pytest.approx(np.array([[7.5, 8.5]]), abs=1e-12)

    def test_inset(self):
        """A rectangle of 4 x 3 inset by 1 is 2 x 1."""
        found = offset_path(polygon((0, 0), (4, 0), (4, 3), (0, 3)), -1.0)
        assert found.length_mm == pytest.approx(6.0, abs=1e-12)
        assert signed_area(found.chains[0]) == pytest.approx(2.0, abs=1e-12)

    def test_corner_rule(self):
        """The path is round at convex corners, its radius that of the tool (NISTIR 6556, B.6)."""
        found = offset_path(polygon((0, 0), (4, 0), (4, 3), (0, 3)), 0.7)
        assert found.rolled[0].sum() == 4
        assert radii(found.chains[0])[found.rolled[0]] == pytest.approx(0.7, rel=1e-12)


class TestShapely:
    """An independent library, within the error of the chords it puts for arcs."""

    @pytest.mark.parametrize("distance", [5.0, 18.0, 40.0, -5.0, -18.0, -40.0])
    def test_offset_of_a_worktop(self, distance):
        """Length and area agree with the union of each edge's own capsule.

        A capsule an edge, since buffering a whole ring simplifies its concave curves first.
        """
        path = polygon(
            (0, 0), (400, 0), (400, 150), (370, 180), (250, 180), (250, 300), (120, 300),
            (120, 240), (60, 240), (60, 300), (0, 300),
            bulges=[0, 0, QUARTER, 0, -0.3, 0, 0, -1.0, 0, 0, 0.2],
        )  # fmt: skip
        found = offset_path(path, distance)
        m = 400
        table = Segments.of(path)
        ring = np.vstack(
            [
                table.take(np.full(m, k)).point(np.arange(m) / m)
                if path.bulges[k]
                else path.points[k : k + 1]
                for k in range(len(path))
            ]
        )
        stone = shapely.Polygon(ring)
        closed = np.vstack([ring, ring[:1]])
        near = shapely.union_all(
            [
                shapely.LineString(closed[i : i + 2]).buffer(abs(distance), quad_segs=64)
                for i in range(len(ring))
            ]
        )
        expected = stone.union(near) if distance > 0 else stone.difference(near)
        assert all(c.closed for c in found.chains)
        # 64 chords a quadrant are 2.5e-5 short; the source's chords take as much again.
        assert found.length_mm == pytest.approx(expected.length, rel=2e-4)
        area = sum(signed_area(c) for c in found.chains)
        assert area == pytest.approx(expected.area, rel=2e-4)

    def test_area_and_bounds_of_arcs(self):
        """Area and bounds agree with a fine polygon within its sag."""
        path = polygon((0, 0), (100, 0), (100, 80), (0, 80), bulges=[0.5, -0.3, 1.2, 0.1])
        table = Segments.of(path)
        m = 5000
        ring = np.vstack([table.take(np.full(m, k)).point(np.arange(m) / m) for k in range(4)])
        other = shapely.Polygon(ring)
        assert signed_area(path) == pytest.approx(other.area, rel=1e-6)
        assert bounds(path) == pytest.approx(other.bounds, abs=1e-5)
