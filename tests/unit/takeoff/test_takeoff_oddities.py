"""Parts that can be measured but are probably not intended, each with its finding."""

from __future__ import annotations

import math

import pytest
from support.takeoffs import RULES, Builder, found

from edgetime.findings import Severity
from edgetime.takeoff import LayerRule, LayerRules, Meaning, take_off


def _top() -> Builder:
    return Builder().rectangle("EASED", 0, 0, 2000, 600)


@pytest.mark.parametrize(
    ("w", "h", "level"),
    [
        (2.0, 0.6, Severity.ERROR),
        (19.0, 19.0, Severity.ERROR),
        (90.0, 60.0, Severity.WARNING),
        (2000.0, 0.01, Severity.ERROR),
        (2000.0, 8.0, Severity.WARNING),
    ],
)
def test_small_part_beside_a_sound_one(w, h, level):
    """Too short to hold, or too narrow for a strip; the worst of them are errors."""
    result = take_off([_top().rectangle("EASED", 3000, 0, w, h).drawing()], RULES)
    (finding,) = result.findings
    assert (finding.code, finding.severity) == ("part-too-small", level)
    assert f"{w:.2f} mm long and {w * h / (w + h):.2f} mm wide" in finding.message


@pytest.mark.parametrize(("w", "h"), [(2000.0, 40.0), (600.0, 60.0), (120.0, 100.0)])
def test_strips_and_small_slabs_are_parts(w, h):
    """Upstands, strips for laminating and small tops are sold every day."""
    result = take_off([_top().rectangle("EASED", 3000, 0, w, h).drawing()], RULES)
    assert found(result) == {}


def test_nothing_but_a_crumb():
    """A drawing of 2.4 x 0.6 mm is an error of the units, told once."""
    (finding,) = take_off([Builder().rectangle("EASED", 0, 0, 2.4, 0.6).drawing()], RULES).findings
    assert (finding.code, finding.severity) == ("part-small", Severity.ERROR)


@pytest.mark.parametrize(("method", "level"), [("milled", "warning"), ("precut", "note")])
def test_part_in_an_opening(method, level):
    """It comes loose with the waste; of an opening that is cut already it is only noted."""
    rules = LayerRules((LayerRule("BOWL", Meaning.CUTOUT, "eased", method), *RULES.rules))
    b = _top().rectangle("BOWL", 300, 100, 500, 400).rectangle("EASED", 400, 200, 300, 200)
    (finding,) = take_off([b.drawing()], rules).findings
    assert (finding.code, finding.severity) == ("part-in-opening", level)
    assert "an opening of 500.0 × 400.0 mm in another part" in finding.message


@pytest.mark.parametrize("turned", [0.0, 30.0, 45.0, 80.0])
@pytest.mark.parametrize("sides", [2, 4])
def test_circle_tangent_to_its_part(sides, turned):
    """A circle that touches two or all four sides is a cutout with no stone beside it."""
    a = math.radians(turned)
    width = 600.0 if sides == 4 else 1500.0
    corners = [(-width / 2, -300), (width / 2, -300), (width / 2, 300), (-width / 2, 300)]
    turn = [
        (x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a)) for x, y in corners
    ]
    b = Builder().closed("EASED", turn).circle("SINK", 0, 0, 600)
    result = take_off([b.drawing()], RULES)
    assert [c.diameter_mm for c in result.parts[0].cutouts] == [600.0]
    assert found(result) == {"rib-thin": 1}


def test_parts_that_touch():
    """Parts that share an edge have no room for a tool there; a shared seam is meant so."""
    b = Builder().rectangle("EASED", 0, 0, 1000, 600).rectangle("EASED", 1000, 100, 1000, 600)
    (finding,) = take_off([b.drawing()], RULES).findings
    assert (finding.code, finding.severity) == ("parts-touch", Severity.NOTE)
    assert "500.0 mm" in finding.message
    assert (finding.where.x_mm, finding.where.y_mm) == pytest.approx((1000.0, 100.0))
