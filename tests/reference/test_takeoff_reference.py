"""Areas and lengths of taken-off parts against closed forms and handbook values."""

from __future__ import annotations

import math

import pytest
from support.takeoffs import QUARTER, RULES, Builder

from edgetime.takeoff import take_off


def _only_part(builder: Builder, **units):
    (part,) = take_off([builder.drawing(**units)], RULES).parts
    return part


@pytest.mark.parametrize(
    ("radius", "printed", "exact"),
    [(0.7, 0.105, 0.105155), (12.0, None, 30.902664471)],
)
def test_fillet_takes_its_spandrel_off_each_corner(radius, printed, exact):
    """A rectangle with four fillets lacks four spandrels (1 - pi/4) r².

    Printed: Machinery's Handbook, 31st ed., p. 80 (r = 0.7: 0.105); r = 12 follows from the
    same formula.
    """
    w, h, r = 400.0, 300.0, radius
    b = Builder().closed(
        "EASED",
        [(r, 0), (w - r, 0), (w, r), (w, h - r), (w - r, h), (r, h), (0, h - r), (0, r)],
        [0, QUARTER] * 4,
    )
    part = _only_part(b)
    spandrel = (w * h - part.area_mm2) / 4.0
    assert spandrel == pytest.approx(exact, abs=1e-6)
    if printed is not None:
        assert spandrel == pytest.approx(printed, abs=5e-4)
    assert part.outline.path.length_mm == pytest.approx(
        2 * (w + h) - 8 * r + 2 * math.pi * r, rel=1e-12
    )


def test_bow_front_of_chord_and_sag():
    """A bowed side adds the circular segment of chord 21 and height 6 (scaled by 100).

    Printed: arc 25.308373, area 89.254148 (matheass.eu, E210 Circular Sections).
    """
    b = Builder().closed(
        "EASED", [(0, 0), (2100, 0), (2100, 600), (0, 600)], [12.0 / 21.0, 0, 0, 0]
    )
    part = _only_part(b)
    assert part.area_mm2 - 2100 * 600 == pytest.approx(89.254148e4, rel=1e-7)
    assert part.outline.path.length_mm - 3300 == pytest.approx(2530.8373, rel=1e-7)
    assert part.size_mm == pytest.approx((2100.0, 1200.0))


def test_bow_of_a_quarter_bulge():
    """Chord 100 and bulge 0.25: R = 106.25, arc 104.115931829, segment 843.658878411.

    From R = c(1 + b²)/(4b) and A = R²(θ - sin θ)/2 (CRC Concise Encyclopedia of
    Mathematics, "Segment").
    """
    b = Builder().closed("EASED", [(0, 0), (100, 0), (100, 200), (0, 200)], [0.25, 0, 0, 0])
    part = _only_part(b)
    assert part.area_mm2 - 20000 == pytest.approx(843.658878411, abs=1e-6)
    assert part.outline.path.length_mm - 500 == pytest.approx(104.115931829, abs=1e-8)


def test_inner_bow_takes_the_segment_off():
    """The same bow bent inwards takes the same area off."""
    b = Builder().closed("EASED", [(0, 0), (100, 0), (100, 200), (0, 200)], [-0.25, 0, 0, 0])
    assert 20000 - _only_part(b).area_mm2 == pytest.approx(843.658878411, abs=1e-6)


def test_three_four_five_triangle_with_round_corners():
    """A 3-4-5 triangle with rounds of radius 1 outside it: L = 12 + 2 pi, A = 18 + pi.

    Perimeter and area of a convex set at distance 1 (Steiner): P + 2 pi, A + P + pi; the
    contour is that of NISTIR 6556, table 12. Its numbers are taken as metres here.
    """
    at = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]
    normals = [(0.0, -1.0), (1.0, 0.0), (-0.6, 0.8)]
    points, bulges = [], []
    for k in range(3):
        n, m = normals[k], normals[(k + 1) % 3]
        end = at[(k + 1) % 3]
        start = at[k]
        points += [
            (start[0] + n[0], start[1] + n[1]),
            (end[0] + n[0], end[1] + n[1]),
        ]
        angle = math.acos(n[0] * m[0] + n[1] * m[1])
        bulges += [0.0, math.tan(angle / 4.0)]
    part = _only_part(Builder().closed("EASED", points, bulges), units="m", mm_per_unit=1000.0)
    assert part.outline.path.length_mm == pytest.approx((12 + 2 * math.pi) * 1e3, rel=1e-12)
    assert part.area_mm2 == pytest.approx((18 + math.pi) * 1e6, rel=1e-12)


def test_kitchen_run_by_hand():
    """A run with sink and tap hole by plain arithmetic, every edge and both areas.

    Our own invented kitchen: 2440 x 635 mm, sink 760 x 430 mm with corners of radius 20,
    one 35 mm tap hole.
    """
    x, y, w, h, r = 800.0, 100.0, 760.0, 430.0, 20.0
    b = Builder().rectangle("OUTLINE", 0, 0, 2440, 635)
    b.line("BULLNOSE", (0, 0), (2440, 0)).line("WALL", (0, 635), (2440, 635))
    b.line("WALL", (0, 0), (0, 635)).line("EASED", (2440, 0), (2440, 635))
    b.closed(
        "SINK",
        [
            (x + r, y),
            (x + w - r, y),
            (x + w, y + r),
            (x + w, y + h - r),
            (x + w - r, y + h),
            (x + r, y + h),
            (x, y + h - r),
            (x, y + r),
        ],
        [0, QUARTER] * 4,
    )
    b.circle("TAP", 1180, 580, 35)
    result = take_off([b.drawing()], RULES, core_diameters_mm=[35])
    sink = 2 * (720 + 390) + 40 * math.pi
    assert result.drawings[0].lengths_by_profile_mm == pytest.approx(
        {"half-bullnose": 2440, "unfinished": 3075, "eased": 635, "flat-polish": sink}, rel=1e-12
    )
    (part,) = result.parts
    opening = 760 * 430 - (4 - math.pi) * 400
    assert part.area_gross_mm2 == pytest.approx(2440 * 635, rel=1e-12)
    assert part.area_mm2 == pytest.approx(2440 * 635 - opening - math.pi / 4 * 35**2, rel=1e-12)
    assert result.findings == ()


def test_areas_agree_with_a_finely_drawn_polygon():
    """A shape of lines and arcs agrees with shapely's area of it as a fine polygon."""
    shapely = pytest.importorskip("shapely")
    points = [(0, 0), (900, 100), (1500, 0), (1700, 700), (800, 500), (-100, 650)]
    bulges = [0.2, -0.15, 0.3, 0.0, -0.4, 0.1]
    part = _only_part(Builder().closed("EASED", points, bulges))
    fine = []
    for k, bulge in enumerate(bulges):
        (ax, ay), (bx, by) = points[k], points[(k + 1) % 6]
        n = 4000
        half = 2.0 * math.atan(bulge)
        for i in range(n):
            t = i / n
            ratio = t if bulge == 0.0 else math.sin(t * half) / math.sin(half)
            turn = -(1.0 - t) * half
            dx, dy = bx - ax, by - ay
            fine.append(
                (
                    ax + ratio * (math.cos(turn) * dx - math.sin(turn) * dy),
                    ay + ratio * (math.sin(turn) * dx + math.cos(turn) * dy),
                )
            )
    polygon = shapely.Polygon(fine)
    assert part.area_mm2 == pytest.approx(polygon.area, rel=1e-6)
    assert part.outline.path.length_mm == pytest.approx(polygon.length, rel=1e-6)
