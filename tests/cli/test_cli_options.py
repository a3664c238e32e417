"""How the options' texts become numbers."""

from __future__ import annotations

import math

import pytest

from edgetime.cli.options import (
    factor_option,
    length_option,
    parse_diameters,
    parse_place,
    parse_resume,
)


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [
        ("30", 30.0),
        ("30mm", 30.0),
        ("3 cm", 30.0),
        ("1-1/4 in", 31.75),  # 1.25 × 25.4
        ("1-1/4in", 31.75),
        ('1.25"', 31.75),
    ],
)
def test_lengths(text: str, length_mm: float) -> None:
    """A bare number is millimetres, anything else carries its unit."""
    assert length_option(text, "--thickness") == pytest.approx(length_mm, rel=1e-12)


def test_no_length() -> None:
    """An option that is not given stays so."""
    assert length_option(None, "--thickness") is None


@pytest.mark.parametrize(("text", "factor"), [("0.8", 0.8), ("80%", 0.8), ("120 %", 1.2)])
def test_factors(text: str, factor: float) -> None:
    """A factor or a percentage, as the knob shows it."""
    assert factor_option(text, "--feed-override") == pytest.approx(factor, rel=1e-12)


def test_diameters() -> None:
    """Each tool gets its own, in any unit of length."""
    found = parse_diameters(["drum-75=72.5", "metal-1 = 3 in"])
    assert found == {"drum-75": 72.5, "metal-1": pytest.approx(76.2)}


def test_places() -> None:
    """The only drawing needs no name; several do; degrees become radians."""
    (alone,) = parse_place(["-10.5,20"], ["a.dxf"])
    assert (alone.drawing, alone.x_mm, alone.y_mm, alone.rotation_rad) == (0, -10.5, 20.0, 0.0)
    (named,) = parse_place(["b=1.dxf=1,2,-90"], ["a.dxf", "b=1.dxf"])
    assert named.drawing == "b=1.dxf"
    assert named.rotation_rad == pytest.approx(-math.pi / 2.0)


def test_resume() -> None:
    """A part may follow the tool."""
    assert parse_resume("drum-75") == ("drum-75", None)
    assert parse_resume("drum-75, p02") == ("drum-75", "p02")


def test_options_reach_the_estimate(run, drawings) -> None:
    """Half the feed takes longer in the cut; a placed drawing off the table is found out."""
    name = drawings[0]
    plain = run("estimate", name, "--format", "json").json()
    slow = run("estimate", name, "--feed-override", "50%", "--format", "json").json()
    cut = [sum(row["cut_s"] for row in d["tools"]) for d in (plain, slow)]
    # Twice the time at half the feed, but for corners, which are not slower than before.
    assert 1.9 * cut[0] < cut[1] <= 2.0 * cut[0] + 1e-6
    away = run("estimate", name, "--place", "90000,0", "--format", "json")
    assert away.code in {0, 4}
    if away.code == 0:
        assert {f["code"] for f in away.json()["findings"]} - {f["code"] for f in plain["findings"]}
    thick = run("estimate", name, "--thickness", "20", "--format", "json").json()
    assert thick["thickness_mm"] == 20.0
    stone = run("estimate", name, "--stone", "marble", "--stack", "marble", "--format", "json")
    assert stone.json()["stone"] == "marble"
    assert len({plain["digest"], slow["digest"], thick["digest"], stone.json()["digest"]}) == 4
