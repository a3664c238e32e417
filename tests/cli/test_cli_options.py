"""How the options' texts become numbers."""

from __future__ import annotations

import math

import pytest

from edgetime.cli.options import (
    factor_option,
    length_option,
    parse_copies,
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


def test_copies() -> None:
    """The only drawing needs no name; a name may hold the sign itself."""
    (alone,) = parse_copies(["3"], ["a.dxf"])
    assert (alone.drawing, alone.count) == (0, 3)
    (named,) = parse_copies(["b=1.dxf=12"], ["a.dxf", "b=1.dxf"])
    assert (named.drawing, named.count) == ("b=1.dxf", 12)


MACHINE_S = {
    "estimate": lambda d: d["total_s"],
    "wear": lambda d: d["total_s"],
    "survive": lambda d: d["total_s"],
    "advise": lambda d: d["total_s"],
    "price": lambda d: d["machine_s"],
    "compare": lambda d: d["setups"][0]["machine_s"],
    "shift": lambda d: d["loads"][0]["cycle_s"],
}
"""Machine time of one load, as each command that estimates loads tells it."""


@pytest.mark.parametrize("command", MACHINE_S)
def test_every_command_that_estimates_a_load_takes_a_choice(run, drawings, command: str) -> None:
    """Without two of four parts each tells the same shorter time, and refuses unknown parts."""
    more = ["--with", "stack=fast-metal"] if command == "compare" else []
    name, machine_s = drawings[-1].name, MACHINE_S[command]
    shorter = run("estimate", name, "--without", "vanity*", "--format", "json").json()
    assert len(shorter["parts"]) == 2
    less = run(command, name, *more, "--without", "vanity*", "--format", "json")
    assert less.code == 0, less.err
    assert machine_s(less.json()) == pytest.approx(shorter["total_s"], abs=1e-6)
    whole = machine_s(run(command, name, *more, "--format", "json").json())
    assert whole > shorter["total_s"] + 600.0
    wrong = run(command, name, *more, "--only", "vanitty", "--format", "json")
    assert wrong.code == 2
    assert "VANITY" in wrong.json()["remedy"]


def test_copies_are_parts_of_their_own(run, drawings) -> None:
    """Two of each on the large table: ids of their own, each edge twice."""
    args = ("estimate", drawings[0].name, "--machine", "large", "--format", "json")
    one, two = run(*args).json(), run(*args, "--copies", "2").json()
    ids = [p["part_id"] for p in one["parts"]]
    assert [p["part_id"] for p in two["parts"]] == [*ids, *(f"{i}-2" for i in ids)]
    for a, b in zip(one["by_profile"], two["by_profile"], strict=True):
        assert b["edge_mm"] == pytest.approx(2.0 * a["edge_mm"])
    assert one["digest"] != two["digest"]


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
