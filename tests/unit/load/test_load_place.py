"""Placing drawings: exact rigid motions, the right drawing, once."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support.catalogue import a_catalogue, a_cutout, a_drawing, a_part, a_rectangle
from support.shapes import rectangle

from edgetime.errors import UsageError
from edgetime.geometry.measure import bounds, signed_area
from edgetime.load import Placement, make_load
from edgetime.takeoff.parts import TakeOff


def two_drawings():
    """Return a take-off of two drawings, the first with a rounded part, a cutout and a hole."""
    outline = rectangle(1000.0, 600.0, x=50.0, y=70.0, radius=40.0)
    first = a_part(
        outline, "eased", a_cutout(rectangle(300.0, 200.0, x=200.0, y=200.0)),
        holes=[(700.0, 300.0, 35.0)], drawing="a/one.dxf",
    )  # fmt: skip
    second = a_rectangle(x=10.0, y=2000.0, name="p02", drawing="a/two.dxf")
    return TakeOff((a_drawing(first, path="a/one.dxf"), a_drawing(second, path="a/two.dxf")))


def test_lower_left_of_the_drawing_lands_on_the_place():
    """The drawing's bounds begin at the given point; the other drawing stays."""
    load = make_load(two_drawings(), a_catalogue(), place=[Placement(0, 1500.0, 900.0)])
    assert bounds(load.parts[0].part.outline.path) == pytest.approx((1500.0, 900.0, 2500.0, 1500.0))
    assert bounds(load.parts[1].part.outline.path) == (10.0, 2000.0, 1010.0, 2600.0)


def test_quarter_turn_is_exact_and_moves_cutouts_and_holes_along():
    """After 90° a point (x, y) of the drawing is at (y1 - y, x - x0) from the place."""
    load = make_load(
        two_drawings(), a_catalogue(), place=[Placement("a/one.dxf", 100.0, 200.0, math.pi / 2)]
    )
    part = load.parts[0].part
    assert bounds(part.outline.path) == pytest.approx((100.0, 200.0, 700.0, 1200.0), abs=1e-9)
    hole = part.holes[0]
    # The drawing reaches from (50, 70) to (1050, 670); the hole is drawn at (700, 300).
    assert (hole.x_mm, hole.y_mm) == pytest.approx((100.0 + 670.0 - 300.0, 200.0 + 700.0 - 50.0))
    assert bounds(part.cutouts[0].contour.path) == pytest.approx(
        (100.0 + 670.0 - 400.0, 200.0 + 150.0, 100.0 + 670.0 - 200.0, 200.0 + 450.0)
    )


@pytest.mark.parametrize("angle", [0.3, -2.0, math.pi / 2, math.pi, 5.0])
def test_turning_changes_no_length_no_bulge_and_no_area(angle):
    """A rigid motion keeps bulges and lengths to the last bit, areas to rounding."""
    before = two_drawings().parts[0]
    load = make_load(two_drawings(), a_catalogue(), place=[Placement(0, 0.0, 0.0, angle)])
    after = load.parts[0].part
    for old, new in zip(before.contours(), after.contours(), strict=True):
        assert np.array_equal(old.path.bulges, new.path.bulges)
        assert np.array_equal(old.path.lengths, new.path.lengths)
        assert signed_area(new.path) == pytest.approx(signed_area(old.path), rel=1e-12)
    x0, y0, _, _ = bounds(after.outline.path)
    assert (x0, y0) == pytest.approx((0.0, 0.0), abs=1e-9)


def test_bare_file_name_names_the_only_drawing_of_that_name():
    """``two.dxf`` means ``a/two.dxf`` when no other drawing is called so."""
    load = make_load(two_drawings(), a_catalogue(), place=[Placement("two.dxf", 7.0, 8.0)])
    assert bounds(load.parts[1].part.outline.path)[:2] == pytest.approx((7.0, 8.0))


@pytest.mark.parametrize(
    ("place", "match"),
    [
        ([Placement("three.dxf", 0.0, 0.0)], "not in the load"),
        ([Placement(2, 0.0, 0.0)], "numbered from 0"),
        ([Placement(-1, 0.0, 0.0)], "numbered from 0"),
        ([Placement(0, math.nan, 0.0)], "not finite"),
        ([Placement(0, 0.0, 1e300)], "exceeds"),
        ([Placement(0, 0.0, 0.0, math.inf)], "not finite"),
        ([Placement(0, 0.0, 0.0), Placement("one.dxf", 9.0, 9.0)], "placed twice"),
    ],
)
def test_placements_that_make_no_sense_are_refused(place, match):
    """Unknown drawing, number out of range, no number, placed twice: each a usage error."""
    with pytest.raises(UsageError, match=match):
        make_load(two_drawings(), a_catalogue(), place=place)
