"""``edgetime survive``: with and without a ledger, its forms, its exit codes."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest

from edgetime.ledger import open_ledger


@pytest.fixture
def shop(run, tmp_path):
    """Make a shop of its own."""
    folder = tmp_path / "shop"
    assert run("init", folder).code == 0
    return folder


def test_without_a_ledger(run, drawings) -> None:
    """New pieces and the files' lives, said so on the screen and in the document."""
    ran = run("survive", *drawings)
    assert ran.code == 0
    assert "no ledger: new tools assumed" in ran.out.replace("\n", " ")
    assert "no-ledger" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    document = run("survive", *drawings, "--format", "json").json()
    assert document["schema"] == "edgetime.survive/1"
    assert document["ledger"] is None
    assert all(t["assumed_new"] and t["used_lives"] == 0.0 for t in document["tools"])
    product = np.prod([t["chance"] for t in document["tools"]])
    assert document["chance"] == pytest.approx(float(product))


def test_shares_are_those_of_the_wear(run, drawings) -> None:
    """The load's share of life per piece is what ``wear`` says."""
    wear = run("wear", *drawings, "--format", "json").json()
    found = run("survive", *drawings, "--format", "json").json()
    assert found["digest"] == wear["digest"]
    assert [(t["piece"], t["share_lives"]) for t in found["tools"]] == [
        (t["piece"], t["share"]) for t in wear["tools"]
    ]


def test_the_ledger_is_heeded(run, drawings, shop) -> None:
    """Pads retired at 0.3 of the stated life and one used for 0.3: it is the one to swap."""
    with open_ledger(shop=shop) as books:
        for i in range(12):
            serial = f"OLD-{i}"
            books.receive("polish-1", serials=[serial])
            books.mount(serial, pocket=20)
            books.adjust(serial, share=0.25 + 0.01 * i)
            books.retire(serial, reason="worn")
        books.receive("polish-1", serials=["NOW"])
        books.mount("NOW", pocket=20)
        books.adjust("NOW", share=0.3)
        books.receive("polish-1", count=3)
    document = run("survive", *drawings, "--shop", shop, "--format", "json").json()
    (pad,) = (t for t in document["tools"] if t["piece"] == "polish-1")
    assert (pad["serial"], pad["pocket"], pad["spares"]) == ("NOW", 20, 3)
    assert pad["used_lives"] == pytest.approx(0.3)
    assert pad["chance"] < 0.8
    assert pad["chance_new"] > 0.95
    assert document["swap"][0] == "polish-1"
    assert document["chance_swapped"] > document["chance"]
    (fit,) = (f for f in document["fits"] if f["tool"] == "polish-1")
    assert fit["trust"] == "own"
    assert fit["retirements"]["worn"] == 12
    assert fit["retirements"]["in_service"] == 1
    assert fit["mean_life"]["low"] < 0.305 < fit["mean_life"]["high"]
    codes = {f["code"] for f in document["findings"]}
    assert {"may-not-last", "catalogue-off", "not-mounted"} <= codes
    screen = run("survive", *drawings, "--shop", shop)
    assert screen.code == 0
    assert "1. polish-1 in pocket 20" in screen.out
    assert max(map(len, screen.out.splitlines())) <= 80
    assert run("survive", *drawings, "--shop", shop, "--strict").code == 1


def test_csv_is_one_table(run, drawings) -> None:
    """A row per piece, as in the document."""
    document = run("survive", *drawings, "--format", "json").json()
    ran = run("survive", *drawings, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert [r["piece"] for r in rows] == [t["piece"] for t in document["tools"]]
    for row, tool in zip(rows, document["tools"], strict=True):
        assert float(row["chance"]) == tool["chance"]
        assert row["assumed_new"] == "yes"


def test_a_ledger_that_is_named_must_be_there(run, drawings, tmp_path) -> None:
    """Exit code 5, and nothing is made in its place."""
    ran = run("survive", drawings[0], "--ledger", tmp_path / "none.sqlite", "--format", "json")
    assert ran.code == 5
    assert ran.json()["code"] == "ledger"
    assert not (tmp_path / "none.sqlite").exists()


def test_the_ledger_may_be_named_by_the_environment(run, drawings, tmp_path, monkeypatch) -> None:
    """As for every other command that reads the ledger."""
    name = tmp_path / "seats.sqlite"
    with open_ledger(str(name)) as books:
        books.receive("polish-1", serials=["NOW"])
        books.mount("NOW", pocket=20)
    monkeypatch.setenv("EDGETIME_LEDGER", str(name))
    document = run("survive", *drawings, "--format", "json").json()
    (pad,) = (t for t in document["tools"] if t["piece"] == "polish-1")
    assert pad["serial"] == "NOW"


def test_least_chance_out_of_range_is_wrong_use(run, drawings) -> None:
    """Neither 100 % nor what is no number."""
    assert run("survive", drawings[0], "--least-chance", "100%").code == 2
    assert run("survive", drawings[0], "--least-chance", "often").code == 2
