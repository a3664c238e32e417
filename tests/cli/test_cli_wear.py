"""``edgetime wear`` and ``edgetime estimate --wear``: documents, tables, screens."""

from __future__ import annotations

import csv
import io
import math
from decimal import Decimal

import pytest


@pytest.fixture
def document(run, drawings):
    """Return the JSON document of the demo's wear."""
    ran = run("wear", *drawings, "--format", "json")
    assert ran.code == 0
    return ran.json()


def test_document(document) -> None:
    """Schema, digest, and per piece a share that its parts add up to."""
    assert document["schema"] == "edgetime.wear/1"
    assert len(document["digest"]) == 64
    for tool in document["tools"]:
        assert tool["share"] == max(m["share"] for m in tool["measures"])
        assert math.fsum(p["share"] for p in tool["by_part"]) == pytest.approx(tool["share"])
        assert Decimal(tool["cost"]) == Decimal(tool["price"]) * Decimal(repr(tool["share"]))
        for m in tool["measures"]:
            assert m["file"].endswith(f"{tool['tool']}.toml")
            assert m["key"].startswith("life[")
    ((cost),) = document["cost"]
    assert Decimal(cost["amount"]) == sum(Decimal(t["cost"]) for t in document["tools"])
    used = document["consumables"]
    assert used["electricity_kwh"] == used["spindle_kwh"] + used["base_kwh"]


def test_estimate_carries_the_same_wear(run, drawings, document) -> None:
    """``--wear`` adds a key and changes nothing else; without it there is none."""
    plain = run("estimate", *drawings, "--format", "json").json()
    with_wear = run("estimate", *drawings, "--wear", "--format", "json").json()
    wear = with_wear.pop("wear")
    assert with_wear == plain
    assert wear["tools"] == document["tools"]
    assert wear["cost"] == document["cost"]
    assert document["digest"] == plain["digest"]


def test_stone_decides(run, drawings, document) -> None:
    """Lives stated for all stones last longer in engineered quartz, by its abrasiveness 0.9."""
    quartz = run("wear", *drawings, "--stone", "quartz", "--format", "json").json()
    for tool, before in zip(quartz["tools"], document["tools"], strict=True):
        if tool["governing"] == "length":
            assert tool["contact_mm"] == before["contact_mm"]
            assert tool["share"] == pytest.approx(0.9 * before["share"], rel=1e-12)


def test_units_of_tables_never_change_json(run, drawings) -> None:
    """``--units`` is for tables only."""
    metric = run("wear", *drawings, "--format", "json", "--units", "metric")
    assert metric.out == run("wear", *drawings, "--format", "json", "--units", "imperial").out


def test_csv_is_one_table(run, drawings, document) -> None:
    """A row per piece; figures in millimetres and seconds, money as written."""
    ran = run("wear", *drawings, "--format", "csv")
    assert ran.code == 0
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert [r["piece"] for r in rows] == [t["piece"] for t in document["tools"]]
    for row, tool in zip(rows, document["tools"], strict=True):
        assert float(row["contact_mm"]) == tool["contact_mm"]
        assert float(row["share"]) == tool["share"]
        assert Decimal(row["cost"]) == Decimal(tool["cost"])


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_screen_fits_80_columns(run, drawings, units: str) -> None:
    """The table, what is used up and the total stand within 80 columns, every piece in a row."""
    ran = run("wear", *drawings, "--units", units)
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= 80
    for word in ("Of its life", "Total", "EUR", "Water", "Electricity", "Tools used", "Radius"):
        assert word in ran.out
    starts = [line.split(" ")[0] for line in ran.out.splitlines()]
    assert "metal-1/half-bullnose" in starts
    assert ("gal" in ran.out) is (units == "imperial")
    section = run("estimate", *drawings, "--wear", "--units", units).out
    assert "Wear by tool (" in section
    assert max(map(len, section.splitlines())) <= 80


def test_a_tool_that_does_not_last_the_load_fails_under_strict(run, tmp_path, drawings) -> None:
    """A pad for two metres of edge: a warning on the screen, exit code 1 under ``--strict``."""
    assert run("init", tmp_path / "shop").code == 0
    pad = tmp_path / "shop" / "tools" / "polish-1.toml"
    text = pad.read_text(encoding="utf-8")
    assert 'length = "450 m"' in text
    pad.write_text(text.replace('length = "450 m"', 'length = "2 m"'), encoding="utf-8")
    lax = run("wear", drawings[0], "--shop", tmp_path / "shop")
    assert lax.code == 0
    assert "life-exceeded" in lax.out
    assert "second tool" in lax.out
    assert run("wear", drawings[0], "--shop", tmp_path / "shop", "--strict").code == 1


def test_two_currencies_are_told_apart(run, tmp_path, drawings) -> None:
    """No total row; a sentence with both sums."""
    assert run("init", tmp_path / "shop").code == 0
    pad = tmp_path / "shop" / "tools" / "polish-1.toml"
    text = pad.read_text(encoding="utf-8")
    pad.write_text(text.replace("60.00 EUR", "66.00 USD"), encoding="utf-8")
    out = run("wear", drawings[0], "--shop", tmp_path / "shop").out
    assert "EUR and " in out
    assert "currencies are not added up" in out
    assert not [line for line in out.splitlines() if line.startswith("Total  ")]
