"""``edgetime survive`` without a drawing: how long the tools last."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from support.ledgers import FakeMeasure, FakeToolWear, FakeWear

from edgetime.ledger import open_ledger

START = datetime(2026, 3, 2, 6, tzinfo=UTC)


@pytest.fixture
def shop(run, tmp_path):
    """Keep the books of twelve pads of two suppliers: 300 m in 10 days and 5 runs, or 150 m."""
    folder = tmp_path / "shop"
    assert run("init", folder).code == 0
    with open_ledger(shop=folder) as books:
        for number in range(12):
            serial, at = f"P{number}", START + timedelta(days=20 * number)
            north = number % 2 == 0
            books.receive(
                "polish-1", serials=[serial], supplier="north" if north else "south", at=at
            )
            books.mount(serial, pocket=1, at=at)
            metres = (60.0 if north else 30.0) * (0.95 + 0.01 * number)
            for k in range(5):
                used = FakeMeasure("length", metres / 400.0, 1e3 * metres)
                wear = FakeWear(
                    (FakeToolWear("polish-1", contact_mm=1e3 * metres, measures=(used,)),)
                )
                day = at + timedelta(days=[0, 2, 4, 6, 9][k], hours=2)
                books.post_run(wear, digest="d", load_name=f"load {number}", run=k + 1, at=day)
            books.retire(serial, reason="worn", at=at + timedelta(days=10))
    return folder


def test_metres_days_and_runs_by_supplier(run, shop) -> None:
    """By hand: 5 runs of 60 m within 10 days for north's pads, half the metres for south's."""
    document = run("survive", "--shop", shop, "--by", "supplier", "--format", "json").json()
    assert document["schema"] == "edgetime.tool-lives/1"
    north, south = document["tools"]
    assert (north["group"], south["group"]) == ("north", "south")
    assert (north["worn"], north["pieces"]) == (6, 6)
    for found, metres in ((north, 300.0), (south, 150.0)):
        amount = found["amount"]
        assert found["unit"] == "mm"
        assert amount["low"] < 1e3 * metres < amount["high"]
        assert amount["value"] == pytest.approx(1e3 * metres, rel=0.06)
        assert found["duration_d"]["value"] == pytest.approx(10.0, rel=0.06)
        assert found["runs"]["value"] == pytest.approx(5.0, rel=0.06)
    both = run("survive", "--shop", shop, "--format", "json").json()
    (all_pads,) = both["tools"]
    assert (all_pads["worn"], all_pads["group"]) == (12, None)


def test_screen_and_table(run, shop) -> None:
    """The screen says metres and what they rest on, within 80 columns; CSV has a row for each."""
    ran = run("survive", "--shop", shop, "--by", "supplier")
    assert ran.code == 0, ran.err
    assert max(map(len, ran.out.splitlines())) <= 80
    assert " m " in ran.out
    assert "own" in ran.out
    table = run("survive", "--shop", shop, "--by", "supplier", "--format", "csv").out
    assert len(table.splitlines()) == 3


def test_wrong_use(run, shop, drawings) -> None:
    """--by with a drawing is wrong use; without a ledger there is nothing to say."""
    assert run("survive", drawings[0], "--by", "batch").code == 2
    assert run("survive", "--ledger", shop / "none.sqlite").code == 5
