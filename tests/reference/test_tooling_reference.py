"""Cross-sections of the shipped profiles against the closed forms of handbooks.

MH is Machinery's Handbook, 31st edition, Industrial Press 2020.
"""

import math

import pytest

from edgetime.tooling import load_catalogue
from edgetime.tooling.sections import arc_bulge, contour_length_mm, removed_area_mm2


def spandrel(r):
    """Area between a quarter circle and its two tangents: MH p. 80, (1 - pi/4) r^2."""
    return (1.0 - math.pi / 4.0) * r * r


def segment(r, angle):
    """Area between an arc and its chord: MH p. 79, circular segment, r^2 (a - sin a) / 2."""
    return 0.5 * r * r * (angle - math.sin(angle))


def quarter(r):
    """Area of a quarter circle: MH p. 77, pi r^2 / 4."""
    return math.pi * r * r / 4.0


SIXTY = math.pi / 3.0

AREAS = {
    ("flat-polish", 20): 1.0 * 1.0 / 2.0,
    ("flat-polish", 30): 1.0 * 1.0 / 2.0,
    ("eased", 20): spandrel(3.0),
    ("eased", 30): spandrel(3.0),
    ("bevel", 20): 6.0 * 6.0 / 2.0,
    ("bevel", 30): 6.0 * 6.0 / 2.0,
    ("half-bullnose", 20): spandrel(10.0),
    ("half-bullnose", 30): spandrel(15.0),
    ("full-bullnose", 20): 2.0 * spandrel(10.0),
    ("full-bullnose", 30): 2.0 * spandrel(15.0),
    # The fascia's rectangle, a hollow quarter, the rectangle beside it, a spandrel.
    ("ogee", 20): 12.0 * 2.0 + quarter(6.0) + 6.0 * 6.0 + spandrel(6.0),
    ("ogee", 30): 20.0 * 3.0 + quarter(10.0) + 10.0 * 10.0 + spandrel(10.0),
    ("cove", 20): quarter(10.0),
    ("cove", 30): quarter(15.0),
    # The triangle under the chord less the segment that stands over it.
    ("waterfall-radius", 20): 24.0 * math.sin(SIXTY) * 12.0 / 2.0 - segment(24.0, SIXTY),
    ("waterfall-radius", 30): 36.0 * math.sin(SIXTY) * 18.0 / 2.0 - segment(36.0, SIXTY),
    ("mitre", 20): 20.0 * 20.0 / 2.0,
    ("mitre", 30): 30.0 * 30.0 / 2.0,
    ("laminated-40", 20): spandrel(3.0),
    ("laminated-40", 30): spandrel(3.0),
    ("seam", 20): 0.0,
    ("seam", 30): 0.0,
    ("unfinished", 20): 0.0,
    ("unfinished", 30): 0.0,
}

ROOT2 = math.sqrt(2.0)
CONTOURS = {
    ("flat-polish", 20): ROOT2 + 19.0,
    ("eased", 30): 3.0 * math.pi / 2.0 + 27.0,
    ("bevel", 20): 6.0 * ROOT2 + 14.0,
    ("half-bullnose", 20): 10.0 * math.pi / 2.0 + 10.0,
    ("full-bullnose", 30): 15.0 * math.pi,
    ("ogee", 20): 2.0 + 2.0 * 6.0 * math.pi / 2.0 + 6.0,
    ("cove", 30): 15.0 * math.pi / 2.0 + 15.0,
    ("waterfall-radius", 30): 36.0 * SIXTY + 12.0,
    ("mitre", 20): 20.0 * ROOT2,
    ("laminated-40", 20): 3.0 * math.pi / 2.0 + 37.0,
    ("seam", 20): 20.0,
}


@pytest.fixture(scope="module")
def profiles():
    return load_catalogue().profiles


def test_every_section_is_checked(profiles):
    """No shipped profile is without a closed form here, and each has 20 and 30 mm."""
    shipped = {(p.name, t) for p in profiles.values() for t in p.sections}
    assert shipped == set(AREAS)


@pytest.mark.parametrize(("name", "thickness"), AREAS)
def test_removed_area_is_the_closed_form(profiles, name, thickness):
    """The removed area is that of the handbook's figures it is composed of."""
    removed = profiles[name].sections[thickness].removed_mm2
    # The waterfall's u = R sin 60 degrees is written with eight decimals.
    assert removed == pytest.approx(AREAS[name, thickness], rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(("name", "thickness"), CONTOURS)
def test_contour_is_the_closed_form(profiles, name, thickness):
    """The length of the finished contour is the sum of its lines and arcs."""
    contour = profiles[name].sections[thickness].contour_mm
    assert contour == pytest.approx(CONTOURS[name, thickness], rel=1e-9)


@pytest.mark.parametrize(
    ("chord", "radius", "expected"),
    [
        # Handbook examples of a circular segment: radius, chord, arc, area.
        # MH p. 50-51, examples 3 and 4: R = 12, depth 2, chord 13.27, arc 14.06, area 18.01.
        (13.26650, 12.0, (14.05645, 18.00622)),
        # matheass.eu, circular sections: c = 21, h = 6, r = 12.1875, arc 25.308373, area 89.254148.
        # Its arc turns less than a half circle, as a section's always does.
        (21.0, 12.1875, (25.308373, 89.254148)),
    ],
)
def test_arc_of_a_section_is_the_handbooks_segment(chord, radius, expected):
    """A single arc has the arc length and the segment area that handbooks print."""
    bulge = arc_bulge((0.0, 0.0), (0.0, chord), radius_mm=radius, convex=False)
    points = [(0.0, 0.0), (0.0, chord)]
    assert contour_length_mm(points, [bulge]) == pytest.approx(expected[0], rel=1e-6)
    assert removed_area_mm2(points, [bulge], chord) == pytest.approx(expected[1], rel=1e-6)


@pytest.mark.parametrize(
    ("degrees", "bulge"),
    # tan of a quarter of the angle: DXF reference, group code 42.
    [(45, 0.198912367), (60, 0.267949192), (90, 0.414213562), (180, 1.0)],
)
def test_arc_bulge_is_the_tangent_of_a_quarter(degrees, bulge):
    """The bulge over the chord of an angle is the tangent of its quarter."""
    chord = 2.0 * 50.0 * math.sin(math.radians(degrees) / 2.0)
    found = arc_bulge((0.0, 0.0), (chord, 0.0), radius_mm=50.0, convex=False)
    assert found == pytest.approx(bulge, rel=1e-8)
    assert arc_bulge((0.0, 0.0), (chord, 0.0), radius_mm=50.0, convex=True) == -found
