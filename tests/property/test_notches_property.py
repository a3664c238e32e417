"""Notches against the difference of polygons of a general geometry library (shapely)."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from shapely import affinity
from support.takeoffs import RULES, Builder, found

from edgetime.takeoff import LayerRules, take_off

SOME = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
PLAIN = LayerRules(RULES.rules, default_profile="bevel")

TOPS = {
    "rectangle": [(0, 0), (2000, 0), (2000, 600), (0, 600)],
    "l": [(0, 0), (2400, 0), (2400, 600), (600, 600), (600, 1800), (0, 1800)],
    "clipped": [(0, 0), (1800, 0), (2000, 200), (2000, 650), (0, 650)],
}


def _size(piece):
    """Return width and height of the box around a piece."""
    x0, y0, x1, y1 = piece.bounds
    return x1 - x0, y1 - y0


@SOME
@example(top="clipped", x=127.0, y=321.0, w=146.0, h=321.0, degrees=45.0)
@given(
    top=st.sampled_from(sorted(TOPS)),
    x=st.floats(-200, 2600),
    y=st.floats(-200, 2000),
    w=st.floats(50, 700),
    h=st.floats(50, 700),
    degrees=st.sampled_from([0.0, 17.0, 45.0, 90.0]),
)
def test_notches_are_the_difference(top, x, y, w, h, degrees) -> None:
    """Areas, lengths of the edge that is left and of the notch, all to 1e-9."""
    outline = shapely.Polygon(TOPS[top])
    cutout = affinity.rotate(shapely.box(x, y, x + w, y + h), degrees, origin=(x, y))
    # Within a tenth of a millimetre lines count as lying on one another: another answer.
    edges = (outline.exterior, cutout.exterior)
    for a, b in (edges, edges[::-1]):
        assume(all(shapely.Point(p).distance(b) > 1.0 for p in a.coords))
    assume(outline.exterior.crosses(cutout.exterior))
    left = outline.difference(cutout)
    pieces = list(left.geoms) if left.geom_type == "MultiPolygon" else [left]
    assume(all(p.area > 2.0 for p in pieces))
    b = Builder().closed("OUTLINE", TOPS[top])
    b.closed("SINK", [tuple(map(float, p)) for p in cutout.exterior.coords[:-1]])
    result = take_off([b.drawing()], PLAIN)
    # A piece shorter than a hand, or narrower on average than a strip, is told as such.
    small = sum(max(_size(p)) < 100.0 or 2.0 * p.area / p.length < 10.0 for p in pieces)
    told = {"part-too-small": small} if small else {}
    assert found(result) == {"cutout-notches": 1, **told}
    assert sorted(p.area_mm2 for p in result.parts) == pytest.approx(
        sorted(p.area for p in pieces), rel=1e-9
    )
    lengths = result.drawings[0].lengths_by_profile_mm
    assert lengths["bevel"] == pytest.approx(
        outline.exterior.difference(cutout).length, rel=1e-9, abs=1e-6
    )
    assert lengths["flat-polish"] == pytest.approx(
        cutout.exterior.intersection(outline).length, rel=1e-9, abs=1e-6
    )
    assert math.isclose(
        sum(p.outline.path.length_mm for p in result.parts),
        sum(p.length for p in pieces),
        rel_tol=1e-9,
    )
