"""Measures are stored, shares are calculated from the lives that are stated when it is read."""

from __future__ import annotations

import gzip
import json
from dataclasses import replace
from pathlib import Path

import pytest
from support.ledgers import FakeMeasure, FakeToolWear, FakeWear

from edgetime.ledger import open_ledger
from edgetime.tooling import load_catalogue

MONTH = Path(__file__).parent / "released" / "month" / "month"


def _pad(length_mm: float, life_mm: float) -> FakeWear:
    share = FakeMeasure("length", length_mm / life_mm)
    return FakeWear((FakeToolWear("polish-1", contact_mm=length_mm, measures=(share,)),))


@pytest.fixture
def stating():
    """Return a function that makes a catalogue in which polish-1 lasts so many millimetres."""
    shipped = load_catalogue(None)
    pad = shipped.tools["polish-1"]

    def make(life_mm: float):
        lives = tuple(replace(life, value=life_mm) for life in pad.life if life.by == "length")[:1]
        tool = replace(pad, life=tuple(replace(one, stone=None) for one in lives))
        return replace(shipped, tools={**shipped.tools, "polish-1": tool})

    return make


def test_a_corrected_catalogue_corrects_once(place, stating) -> None:
    """Twenty pads, the file corrected twice: all reads as if it had always been right.

    Pads last 279 m; the file says 450 m, then 350 m, then what is true.
    """
    said = iter([450e3] * 8 + [350e3] * 6 + [279e3] * 6)
    for number in range(20):
        life_mm = next(said)
        with open_ledger(place, catalogue=stating(life_mm)) as ledger:
            ledger.receive("polish-1")
            ledger.mount("polish-1", pocket=1)
            ledger.post_run(_pad(279e3, life_mm), digest="d", load_name="L", run=number + 1)
            ledger.retire(f"polish-1-{number + 1:03d}", reason="worn")
    with open_ledger(place, catalogue=stating(279e3)) as ledger:
        lives = ledger.lives()
        assert [life.share for life in lives] == pytest.approx([1.0] * 20, rel=1e-9)
        assert {life.used for life in lives} == {279e3}
        assert [b.share for b in ledger.balances()] == pytest.approx([1.0] * 20, rel=1e-9)
        assert ledger.audit().problems == ()
    # Without a catalogue they are what was stated on the day.
    with open_ledger(place) as ledger:
        assert ledger.lives()[0].share == pytest.approx(279 / 450)


def test_a_reversal_and_an_adjustment_count_as_they_did(place, stating) -> None:
    """What was reversed is gone by any life; a share that was entered as a share stays it."""
    with open_ledger(place, catalogue=stating(300e3)) as ledger:
        ledger.receive("polish-1")
        ledger.mount("polish-1", pocket=1)
        ledger.post_run(_pad(30e3, 450e3), digest="d", load_name="L")
        ledger.post_run(_pad(30e3, 450e3), digest="d", load_name="L", run=2)
        ledger.adjust("polish-1-001", share=0.25)
        ledger.reverse_run("L", run=2)
        (balance,) = ledger.balances()
        assert balance.share == pytest.approx(0.1 + 0.25)
        assert balance.left_amount == pytest.approx(300e3 * 0.65)
        assert ledger.balances_of(["polish-1-001"]) == (balance,)
        assert ledger.balances("polish-1-001") == (balance,)


def test_a_tool_the_files_no_longer_know_keeps_its_shares(place, stating) -> None:
    """A tool, a stone or a measure that is gone leaves what was stated when it was entered."""
    catalogue = stating(300e3)
    without = replace(
        catalogue, tools={n: t for n, t in catalogue.tools.items() if n != "polish-1"}
    )
    for files in (without, replace(catalogue, stones={})):
        with open_ledger(place, catalogue=files) as ledger:
            if not ledger.count():
                ledger.receive("polish-1")
                ledger.mount("polish-1", pocket=1)
                ledger.post_run(_pad(45e3, 450e3), digest="d", load_name="L")
                by_share = FakeWear(
                    (FakeToolWear("polish-1", measures=(FakeMeasure("length", 0.2),)),)
                )
                ledger.post_run(by_share, digest="d", load_name="without measures")
            assert ledger.balances()[0].share == pytest.approx(0.3)


def test_a_released_month_reads_the_same_by_the_same_files(tmp_path) -> None:
    """With the catalogue of the release, shares are those it showed, to its last digit.

    But for core bits: of a run that was stopped half way the release stored whole holes beside a
    share with half ones. Now the holes count: 92 of 500, no longer 93.
    """
    path = tmp_path / "ledger.sqlite"
    path.write_bytes(gzip.decompress(MONTH.with_suffix(".sqlite.gz").read_bytes()))
    then = {b["serial"]: b for b in json.loads(MONTH.with_suffix(".balances.json").read_text())}
    with open_ledger(path, catalogue=load_catalogue(None)) as ledger:
        for balance in ledger.balances():
            old = then[balance.serial]
            if balance.tool == "core-35":
                assert (old["share"], balance.share) == (93 / 500, 92 / 500)
                continue
            assert balance.share == pytest.approx(old["share"], abs=2e-11), balance.serial
            assert balance.governing == old["governing"]
            shares = {u["by"]: u["share"] for u in old["used"]}
            assert {u.by: u.share for u in balance.used} == pytest.approx(shares, abs=2e-11)
