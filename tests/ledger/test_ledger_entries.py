"""What each kind of entry does to a piece's account."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from sqlalchemy import select, text
from support.ledgers import FakeConsumables, FakeMeasure, FakeToolWear, FakeWear, pad_wear

from edgetime.errors import LedgerError
from edgetime.ledger import Kind, Reason, State, open_ledger
from edgetime.ledger.chain import GENESIS, content_of, next_hash
from edgetime.ledger.currencies import CURRENCIES
from edgetime.ledger.tables import entries, runs


def _one(ledger, serial):
    (balance,) = ledger.balances(serial)
    return balance


def test_received_pieces_are_new_and_numbered(ledger) -> None:
    """A box of three is three pieces with serials of their own, each with a whole life."""
    posted = ledger.receive("polish-1", count=3, price=Decimal("60.00"), currency="EUR")
    assert posted.new
    assert [e.serial for e in posted.entries] == ["polish-1-001", "polish-1-002", "polish-1-003"]
    assert [b.state for b in ledger.balances()] == [State.NEW] * 3
    assert ledger.on_hand("polish-1") == 3
    assert ledger.receive("polish-1").entries[0].serial == "polish-1-004"
    assert _one(ledger, "polish-1-001").price == Decimal("60.00")


def test_a_run_is_charged_to_the_mounted_piece(ledger) -> None:
    """Use, share, cost and state follow from the run, exactly."""
    ledger.receive("polish-1", count=2, price=Decimal(60), currency="EUR")
    ledger.mount("polish-1-002", pocket=7)
    posted = ledger.post_run(pad_wear(0.02), digest="d1", load_name="kitchen 12")
    assert posted.new
    assert [(e.kind, e.serial, e.load, e.run) for e in posted.entries] == [
        (Kind.USED, "polish-1-002", "kitchen 12", 1)
    ]
    balance = _one(ledger, "polish-1-002")
    assert (balance.state, balance.pocket, balance.runs) == (State.MOUNTED, 7, 1)
    assert balance.governing == "length"
    assert balance.share == 0.02
    assert balance.remaining == 0.98
    assert balance.cost == Decimal("1.2")
    by = {u.by: u for u in balance.used}
    assert (by["length"].used, by["length"].unit, by["length"].share) == (9000.0, "mm", 0.02)
    assert by["volume"].share is None
    assert ledger.on_hand("polish-1") == 1


def test_the_same_run_twice_changes_nothing(ledger) -> None:
    """Load and number make the run; neither the digest nor what is mounted since matters."""
    ledger.receive("polish-1", count=2)
    ledger.mount("polish-1-001", pocket=7)
    first = ledger.post_run(pad_wear(), digest="d1", load_name="kitchen 12")
    ledger.mount("polish-1-002", pocket=7)
    before = ledger.export()
    again = ledger.post_run(pad_wear(), digest="d1", load_name="kitchen 12")
    assert not again.new
    assert again.entries == first.entries
    assert ledger.export() == before
    assert ledger.post_run(pad_wear(), digest="d1", load_name="kitchen 12", run=2).new
    assert not ledger.post_run(pad_wear(), digest="d2", load_name="kitchen 12").new
    assert ledger.post_run(pad_wear(), digest="d1", load_name="kitchen 13").new


def test_a_run_with_other_figures_is_refused_until_it_is_said_which(ledger) -> None:
    """Another estimate under the name of a posted run is a question: one more run, or this one."""
    ledger.receive("polish-1")
    ledger.mount("polish-1", pocket=7)
    first = ledger.post_run(pad_wear(0.02), digest="d1", load_name="L", work_digest="w1")
    before = ledger.export()
    # A price or a comment changed: another digest, the same work, by whatever figures.
    for wear in (pad_wear(0.02), pad_wear(0.021)):
        again = ledger.post_run(wear, digest="d2", load_name="L", work_digest="w1")
        assert not again.new
        assert again.entries == first.entries
    # A drawing saved anew adds up in another order.
    resaved = pad_wear(0.02 * (1 + 1e-9))
    assert not ledger.post_run(resaved, digest="d3", load_name="L", work_digest="w2").new
    with pytest.raises(LedgerError) as caught:
        ledger.post_run(pad_wear(0.03), digest="d4", load_name="L", work_digest="w3")
    assert "polish-1 edge in mm, was 9000, now 13500" in caught.value.what
    assert "--run 2" in caught.value.remedy
    assert "--replace" in caught.value.remedy
    with pytest.raises(LedgerError, match="other figures"):
        ledger.post_run(pad_wear(0.02), digest="d1", load_name="L", work_digest="w1", actual=0.5)
    assert ledger.export() == before
    replaced = ledger.post_run(
        pad_wear(0.03), digest="d4", load_name="L", work_digest="w3", replace=True
    )
    assert [e.kind for e in replaced.entries] == ["reversed", "used"]
    assert (_one(ledger, "polish-1-001").share, _one(ledger, "polish-1-001").runs) == (0.03, 1)
    assert ledger.post_run(pad_wear(0.02), digest="d1", load_name="L", run=2).new
    audit = ledger.audit()
    assert (audit.problems, audit.warnings) == ((), ())


def test_a_reversed_run_can_be_posted_again(ledger) -> None:
    """What was taken out of the books by mistake goes in again under its own number."""
    ledger.receive("polish-1")
    ledger.mount("polish-1", pocket=7)
    for _ in range(3):
        assert ledger.post_run(pad_wear(0.02), digest="d1", load_name="L").new
        assert not ledger.post_run(pad_wear(0.02), digest="d1", load_name="L").new
        assert (_one(ledger, "polish-1-001").share, _one(ledger, "polish-1-001").runs) == (0.02, 1)
        ledger.reverse_run("L")
        assert _one(ledger, "polish-1-001").share == 0.0
    assert ledger.audit().problems == ()


def test_a_run_with_one_entry_reversed_is_not_the_run_that_was_posted(ledger) -> None:
    """What was taken out of a run is missing, so the same run is no repetition of it."""
    for tool, pocket in (("polish-1", 7), ("polish-2", 8)):
        ledger.receive(tool)
        ledger.mount(tool, pocket=pocket)
    wear = pad_wear(0.02, "polish-1", "polish-2")
    first = ledger.post_run(wear, digest="d1", load_name="L", work_digest="w1")
    ledger.reverse(first.entries[0].id)
    with pytest.raises(
        LedgerError, match=r"other figures: polish-1 in .* is not charged"
    ) as caught:
        ledger.post_run(wear, digest="d1", load_name="L", work_digest="w1")
    assert "--replace" in caught.value.remedy
    whole = ledger.post_run(wear, digest="d1", load_name="L", work_digest="w1", replace=True)
    assert whole.new
    assert [_one(ledger, f"polish-{n}-001").share for n in (1, 2)] == [0.02, 0.02]
    assert [_one(ledger, f"polish-{n}-001").runs for n in (1, 2)] == [1, 1]
    assert not ledger.post_run(wear, digest="d1", load_name="L", work_digest="w1").new
    assert ledger.audit().problems == ()


def test_one_name_and_number_on_two_machines_are_two_runs(ledger) -> None:
    """A run belongs to its machine; one whose machine was not stated may be any."""
    ledger.receive("polish-1")
    ledger.mount("polish-1", pocket=7)
    small, large = (replace(pad_wear(0.02), machine=name) for name in ("small", "large"))
    assert ledger.post_run(small, digest="d", load_name="L").new
    assert ledger.post_run(large, digest="d", load_name="L").new
    assert not ledger.post_run(small, digest="e", load_name="L").new
    with pytest.raises(LedgerError, match="machines: large, small"):
        ledger.post_run(pad_wear(0.02), digest="d", load_name="L")
    with pytest.raises(LedgerError, match="Name the machine"):
        ledger.reverse_run("L")
    ledger.reverse_run("L", machine="large")
    assert _one(ledger, "polish-1-001").runs == 1
    assert not ledger.post_run(pad_wear(0.02), digest="d", load_name="L").new


def test_a_run_without_a_mounted_piece_is_refused_with_the_commands(ledger) -> None:
    """The message names every model that is missing and what to type."""
    ledger.receive("polish-1")
    before = ledger.export()
    with pytest.raises(LedgerError) as caught:
        ledger.post_run(pad_wear(0.1, "polish-1", "metal-1/ogee"), digest="d", load_name="L")
    assert caught.value.exit_code == 5
    assert "polish-1, metal-1/ogee" in caught.value.what
    assert "edgetime ledger mount polish-1 --pocket 1" in caught.value.remedy
    assert "edgetime ledger receive metal-1 --profile ogee" in caught.value.remedy
    assert "receive polish-1" not in caught.value.remedy
    assert ledger.export() == before


def test_profiled_wheels_are_told_apart(ledger) -> None:
    """A wheel ground to one profile does not serve another."""
    ledger.receive("metal-1", profile="ogee")
    ledger.receive("metal-1", profile="eased")
    ledger.mount("metal-1/ogee", pocket=1)
    ledger.mount("metal-1/eased", pocket=2)
    ledger.post_run(pad_wear(0.3, "metal-1/eased"), digest="d", load_name="L")
    assert _one(ledger, "metal-1-ogee-001").runs == 0
    assert _one(ledger, "metal-1-eased-001").share == 0.3
    assert ledger.on_hand("metal-1") == 0


def test_the_earliest_end_governs_over_all_runs(ledger) -> None:
    """The greatest sum by one measure counts, not the sum of each run's greatest."""
    ledger.receive("drum-75")
    ledger.mount("drum-75", pocket=1)
    for number, (by_length, by_time) in enumerate([(0.3, 0.1), (0.1, 0.2)], 1):
        wear = FakeWear(
            (
                FakeToolWear(
                    "drum-75",
                    measures=(FakeMeasure("length", by_length), FakeMeasure("time", by_time)),
                    governing="length",
                ),
            )
        )
        ledger.post_run(wear, digest="d", load_name="L", run=number)
    balance = _one(ledger, "drum-75-001")
    assert balance.governing == "length"
    assert balance.share == 0.4
    assert {u.by: u.share for u in balance.used if u.share is not None} == {
        "length": 0.4,
        "time": 0.3,
    }


def test_a_tool_without_a_stated_life_has_no_share(ledger) -> None:
    """What no life is known of is counted, and not called full."""
    ledger.receive("core-35")
    ledger.mount("core-35", pocket=1)
    ledger.post_run(FakeWear((FakeToolWear("core-35", holes=4),)), digest="d", load_name="L")
    balance = _one(ledger, "core-35-001")
    assert balance.share is None
    assert balance.remaining is None
    assert {u.by: u.used for u in balance.used}["holes"] == 4.0


def test_actual_use_scales_the_prediction(ledger) -> None:
    """Half a run is half the use and half the cost, and is marked as actual."""
    ledger.receive("polish-1")
    ledger.receive("polish-2")
    ledger.mount("polish-1", pocket=1)
    ledger.mount("polish-2", pocket=2)
    wear = FakeWear(pad_wear(0.02, "polish-1", "polish-2").tools, FakeConsumables(400.0, 12.5))
    posted = ledger.post_run(wear, digest="d", load_name="L", actual=0.5)
    assert {e.actual for e in posted.entries} == {True}
    assert _one(ledger, "polish-1-001").share == 0.01
    assert _one(ledger, "polish-1-001").cost == Decimal("0.6")
    ledger.post_run(wear, digest="d", load_name="L", run=2, actual={"polish-2": 2.0})
    assert _one(ledger, "polish-1-001").share == 0.03
    assert _one(ledger, "polish-2-001").share == 0.05
    with pytest.raises(LedgerError, match="does not use polish-9"):
        ledger.post_run(wear, digest="d", load_name="L", run=3, actual={"polish-9": 2.0})


def test_mounting_takes_out_what_was_there(ledger) -> None:
    """One pocket holds one piece, and one piece is in one pocket."""
    ledger.receive("polish-1", count=2)
    ledger.mount("polish-1-001", pocket=3)
    ledger.mount("polish-1-002", pocket=3)
    assert _one(ledger, "polish-1-001").state is State.SHELF
    assert _one(ledger, "polish-1-002").pocket == 3
    ledger.mount("polish-1-002", pocket=4)
    assert _one(ledger, "polish-1-002").pocket == 4
    assert _one(ledger, "polish-1-001").pocket is None
    ledger.mount("polish-1-002", pocket=None)
    assert _one(ledger, "polish-1-002").state is State.SHELF
    with pytest.raises(LedgerError, match="not in the rack"):
        ledger.mount("polish-1-002", pocket=None)


def test_reprofiling_restores_the_life_and_changes_the_diameter(ledger) -> None:
    """A new life begins at the stated share; the old one is on record as worn."""
    ledger.receive("metal-1", profile="ogee", serials=["A7"], diameter_mm=80.0)
    ledger.mount("A7", pocket=1)
    ledger.post_run(pad_wear(0.7, "metal-1/ogee"), digest="d", load_name="L")
    ledger.reprofile("A7", diameter_mm=78.4, life=0.9)
    ledger.post_run(pad_wear(0.2, "metal-1/ogee"), digest="d", load_name="L", run=2)
    balance = _one(ledger, "A7")
    assert (balance.restored, balance.share, balance.remaining) == (0.9, 0.2, 0.7)
    assert balance.diameter_mm == 78.4
    first, second = ledger.lives()
    assert (first.share, first.ended, first.stone, first.unit) == (0.7, "worn", "granite", "mm")
    assert first.used == 450_000.0 * 0.7
    assert (second.share, second.ended) == (0.2, None)


def test_lives_tell_breakage_from_wear_and_service(ledger) -> None:
    """What broke, was lost, wore out, was renewed early or still works is told apart."""
    ledger.receive("polish-1", serials=["a", "b", "c", "d", "e"])
    for serial, stone in (("a", "granite"), ("b", "marble"), ("c", "granite")):
        ledger.mount(serial, pocket=1)
        ledger.post_run(pad_wear(0.4, stone=stone), digest="d", load_name=serial)
    ledger.post_run(pad_wear(0.1, stone="marble"), digest="d", load_name="z")
    ledger.retire("a", reason="worn")
    ledger.retire("b", reason=Reason.BROKEN)
    ledger.retire("d", reason="lost")
    ledger.reprofile("e", anyway=True, reason="early")
    found = [(r.serial, r.ended, r.stone) for r in ledger.lives()]
    assert found == [
        ("a", "worn", "granite"),
        ("b", "broken", "marble"),
        ("c", None, None),
        ("d", "lost", None),
        ("e", None, None),
        ("e", None, None),
    ]


def test_adjusting_counts_towards_every_measure(ledger) -> None:
    """A pad that came half used has half its life, and never more than it was restored to."""
    ledger.receive("polish-1")
    ledger.adjust("polish-1-001", share=0.5, note="came from the other shop half used")
    ledger.mount("polish-1-001", pocket=1)
    ledger.post_run(pad_wear(0.2), digest="d", load_name="L")
    assert _one(ledger, "polish-1-001").remaining == 0.3
    with pytest.raises(LedgerError, match="less than nothing"):
        ledger.adjust("polish-1-001", share=-0.71)
    ledger.adjust("polish-1-001", share=-0.7)
    assert _one(ledger, "polish-1-001").remaining == 1.0


def test_reversing_undoes_exactly_and_only_once(ledger) -> None:
    """A counter-entry takes everything back; the entry itself stays where it was."""
    ledger.receive("polish-1")
    ledger.mount("polish-1", pocket=1)
    before = _one(ledger, "polish-1-001")
    posted = ledger.post_run(pad_wear(1 / 3), digest="d", load_name="L")
    number = posted.entries[0].id
    undone = ledger.reverse(number, note="wrong load")
    assert undone.entries[0].reverses == number
    after = _one(ledger, "polish-1-001")
    assert (after.share or 0.0, after.cost or 0, after.runs) == (0.0, 0, 0)
    assert (after.state, after.pocket, after.remaining) == (before.state, before.pocket, 1.0)
    history = ledger.history("polish-1-001")
    assert [e.kind for e in history] == ["received", "mounted", "used", "reversed"]
    assert history[2].reversed_by == undone.entries[0].id
    for wrong in (number, undone.entries[0].id, 999):
        with pytest.raises(LedgerError, match="cannot be reversed"):
            ledger.reverse(wrong)
    assert ledger.post_run(pad_wear(1 / 3), digest="d", load_name="L").new


def test_a_run_is_reversed_as_a_whole(ledger) -> None:
    """All pieces of a run get their counter-entries, those reversed already excepted."""
    ledger.receive("polish-1")
    ledger.receive("polish-2")
    ledger.mount("polish-1", pocket=1)
    ledger.mount("polish-2", pocket=2)
    wear = pad_wear(0.1, "polish-1", "polish-2")
    first = ledger.post_run(wear, digest="d", load_name="L")
    ledger.reverse(first.entries[0].id)
    assert [e.reverses for e in ledger.reverse_run("L").entries] == [first.entries[1].id]
    with pytest.raises(LedgerError, match="reversed already"):
        ledger.reverse_run("L")
    with pytest.raises(LedgerError, match="is no run 2"):
        ledger.reverse_run("L", run=2)
    assert all(not b.share for b in ledger.balances())


def test_reversals_restore_the_state_before(ledger) -> None:
    """Undoing a mount, a retirement, a reprofiling and a receipt brings back what was."""
    ledger.receive("metal-1", profile="ogee", serials=["A", "B"])
    ledger.mount("A", pocket=1)
    ledger.post_run(pad_wear(0.5, "metal-1/ogee"), digest="d", load_name="L")
    mounted = ledger.mount("B", pocket=1).entries[0].id
    ledger.reverse(mounted)
    assert (_one(ledger, "A").pocket, _one(ledger, "B").state) == (1, State.NEW)
    retired = ledger.retire("A", reason="broken").entries[0].id
    assert _one(ledger, "A").state is State.RETIRED
    with pytest.raises(LedgerError, match="retired"):
        ledger.mount("A", pocket=2)
    ledger.reverse(retired)
    assert _one(ledger, "A").pocket == 1
    renewed = ledger.reprofile("A", anyway=True, diameter_mm=79.0).entries[0].id
    assert _one(ledger, "A").remaining == 1.0
    ledger.reverse(renewed)
    assert (_one(ledger, "A").remaining, _one(ledger, "A").diameter_mm) == (0.5, None)
    with pytest.raises(LedgerError, match="rest on its receipt"):
        ledger.reverse(1)
    ledger.reverse(2)
    assert [b.serial for b in ledger.balances()] == ["A"]
    assert ledger.receive("metal-1", profile="ogee", serials=["B"]).new


def test_what_follows_a_reversed_reprofiling_belongs_to_the_life_before(ledger, tmp_path) -> None:
    """Balance, audit and a copy made of the export agree."""
    ledger.receive("polish-1", serials=["P"])
    ledger.adjust("P", share=0.2)
    reprofiled = ledger.reprofile("P", anyway=True, life=0.5, diameter_mm=80.0)
    ledger.adjust("P", share=0.1)
    ledger.reverse(reprofiled.entries[0].id)
    ledger.adjust("P", share=0.03)
    (balance,) = ledger.balances()
    assert (balance.restored, balance.share) == (1.0, pytest.approx(0.33))
    assert ledger.audit().problems == ()
    with open_ledger(str(tmp_path / "copy.sqlite")) as copy:
        copy.import_(ledger.export())
        assert copy.balances() == ledger.balances()


def test_reversing_a_use_that_was_adjusted_away_is_refused(ledger) -> None:
    """No sequence leaves less than nothing used."""
    ledger.receive("polish-1")
    ledger.mount("polish-1", pocket=1)
    used = ledger.post_run(pad_wear(0.3), digest="d", load_name="L").entries[0].id
    ledger.adjust("polish-1-001", share=-0.2)
    before = ledger.export()
    with pytest.raises(LedgerError, match="less than nothing"):
        ledger.reverse(used)
    assert ledger.export() == before


def test_times_are_kept_in_utc(ledger) -> None:
    """A time with a zone is kept as UTC to the microsecond; one without is refused."""
    zone = timezone(timedelta(hours=1))
    at = datetime(2026, 3, 2, 14, 0, 0, 123456, tzinfo=zone)
    entry = ledger.receive("polish-1", at=at, who="Ada", note="two boxes").entries[0]
    assert entry.at == at
    assert entry.at.tzinfo is UTC
    assert (entry.who, entry.note) == ("Ada", "two boxes")
    with pytest.raises(LedgerError, match="no time zone"):
        ledger.receive("polish-1", at=datetime(2026, 3, 2))  # noqa: DTZ001  that is the point


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda led: led.receive(""), "empty"),
        (lambda led: led.receive("a\x00b"), "not printable"),
        (lambda led: led.receive("polish-1", count=0), "count"),
        (lambda led: led.receive("x", serials=["P1"]), "taken"),
        (lambda led: led.receive("x", serials=["Q", "Q"]), "taken"),
        (lambda led: led.receive("x", price=Decimal(3)), "without a currency"),
        (lambda led: led.receive("x", diameter_mm=float("nan")), "diameter"),
        (lambda led: led.mount("P1", pocket=0), "pockets count from 1"),
        (lambda led: led.mount("P9", pocket=1), "no tool with serial 'P9'"),
        (lambda led: led.measure("P1", diameter_mm=-1.0), "diameter"),
        (lambda led: led.retire("P1", reason="tired"), "reason"),
        (lambda led: led.reprofile("P1", life=1.5), "life restored"),
        (lambda led: led.adjust("P1"), "difference"),
        (lambda led: led.adjust("P1", share=float("inf")), "at most"),
        (lambda led: led.post_run(FakeWear(()), digest="d", load_name="L"), "no tool"),
        (lambda led: led.post_run(pad_wear(), digest="d", load_name="L", run=0), "count from 1"),
        (lambda led: led.post_run(pad_wear(), digest="d", load_name="L", actual=-1.0), "allowed"),
    ],
)
def test_nonsense_is_refused_and_changes_nothing(sqlite_place, call, says) -> None:
    """Each wrong figure gets its own message."""
    with open_ledger(sqlite_place) as ledger:
        ledger.receive("polish-1", serials=["P1"])
        before = ledger.export()
        with pytest.raises(LedgerError, match=says):
            call(ledger)
        assert ledger.export() == before


def test_the_database_itself_refuses_changes(ledger) -> None:
    """No UPDATE, DELETE, gap or replacement gets past the tables' own guards."""
    ledger.receive("polish-1")
    ledger.mount("polish-1", pocket=1)
    ledger.post_run(pad_wear(), digest="d", load_name="L")
    ledger.reverse(3)
    ledger.post_run(pad_wear(), digest="d", load_name="L")
    before = ledger.export()
    lite = ledger._store.path is not None
    attempts = [
        "UPDATE entries SET who = 'x'",
        "DELETE FROM entries WHERE id = 4",
        "UPDATE runs SET run_no = 9",
        "DELETE FROM runs",
        (
            "INSERT INTO entries (id, at, kind, piece, pocket, who, note) VALUES "
            "(9, '2026-01-01T00:00:00.000000Z', 'mounted', 1, 1, 'x', '')"
        ),
        "INSERT INTO runs (id, load_name, run_no, digest, actual) VALUES (3, 'L', 1, 'e', 0)",
    ]
    if lite:
        attempts += [
            (
                "INSERT OR REPLACE INTO entries (id, at, kind, piece, pocket, who, note) VALUES "
                "(2, '2026-01-01T00:00:00.000000Z', 'mounted', 1, 1, 'x', '')"
            ),
            (
                "INSERT OR REPLACE INTO entries (id, at, kind, piece, reverses, who, note) VALUES "
                "(6, '2026-01-01T00:00:00.000000Z', 'reversed', 1, 3, 'x', '')"
            ),
        ]
    else:
        attempts += ["TRUNCATE entries", "TRUNCATE runs CASCADE"]
    for attempt in attempts:
        with pytest.raises(LedgerError), ledger._store.write() as link:
            link.execute(text(attempt))
    assert ledger.export() == before
    assert not ledger.audit().problems


def test_every_column_is_under_the_hash(sqlite_place) -> None:
    """Whatever is changed in the tables behind the guards' back, the audit finds."""
    with open_ledger(sqlite_place) as ledger:
        at = datetime(2026, 3, 2, tzinfo=UTC)
        ledger.receive("polish-1", price=Decimal(60), currency="EUR", diameter_mm=100.0, at=at)
        ledger.mount("polish-1", pocket=7, at=at)
        wear = FakeWear(pad_wear().tools, FakeConsumables(400.0, 12.5), machine="ours")
        ledger.post_run(wear, digest="d", load_name="L", work_digest="w", note="n", at=at)
        ledger.adjust("polish-1-001", share=0.1, at=at)
        ledger.reverse(4, at=at)
        guards = "DROP TRIGGER entries_no_update; DROP TRIGGER runs_no_update"
        filled, tables = 0, {"entries": entries, "runs": runs}
        for table, keys in (("entries", {"id", "hash"}), ("runs", {"id"})):
            with ledger._store.read() as link:
                found = link.execute(select(tables[table])).mappings().all()
            for row in found:
                for name, value in row.items():
                    if value is None or name in keys:
                        continue
                    changed = value + 1 if isinstance(value, int) else value + "x"
                    filled += 1
                    with closing(sqlite3.connect(sqlite_place)) as raw:
                        raw.execute("PRAGMA ignore_check_constraints = ON")
                        raw.execute("BEGIN")
                        for guard in guards.split(";"):
                            raw.execute(guard)
                        raw.execute(
                            f"UPDATE {table} SET {name} = ? WHERE id = ?",  # noqa: S608  our names
                            (changed, row["id"]),
                        )
                        raw.row_factory = sqlite3.Row
                        rows = raw.execute(
                            "SELECT e.*, r.load_name, r.run_no, r.machine AS run_machine, r.digest, "
                            "r.work_digest, r.actual, r.water_l_e6, r.electricity_kwh_e6 "
                            "FROM entries e LEFT JOIN runs r ON r.id = e.run ORDER BY e.id"
                        ).fetchall()
                        raw.rollback()
                    last = GENESIS
                    for entry in rows:
                        last = next_hash(last, content_of(dict(entry)))
                    assert last != ledger.last_hash(), (table, name)
        assert filled > 60


def _day(day: int, hour: int = 12) -> datetime:
    return datetime(2026, 3, day, hour, tzinfo=UTC)


def test_what_is_entered_late_belongs_to_the_life_of_its_day(ledger) -> None:
    """A run of before a reprofiling, entered after it, wears the life that was running then."""
    ledger.receive("polish-1", serials=["P"], at=_day(1))
    ledger.mount("P", pocket=1, at=_day(1))
    ledger.post_run(pad_wear(0.3), digest="d", load_name="A", at=_day(2))
    ledger.reprofile("P", anyway=True, life=0.9, at=_day(5))
    ledger.post_run(pad_wear(0.1), digest="d", load_name="B", at=_day(6))
    ledger.post_run(pad_wear(0.2), digest="d", load_name="C", at=_day(3))
    ledger.dress("P", at=_day(4))
    first, second = ledger.lives()
    assert (first.share, second.share) == (0.5, 0.1)
    assert (_one(ledger, "P").runs, _one(ledger, "P").dressings) == (1, 0)
    # A reversal counts where what it undoes counts.
    ledger.reverse_run("C")
    assert [life.share for life in ledger.lives()] == [0.3, 0.1]
    assert ledger.audit().problems == ()


def test_a_late_run_is_charged_to_what_was_mounted_on_its_day(ledger) -> None:
    """The pad of Tuesday wears by Tuesday's run, although Thursday's is in the pocket now."""
    ledger.receive("polish-1", serials=["P", "Q"], at=_day(1))
    ledger.mount("P", pocket=1, at=_day(1))
    ledger.mount("Q", pocket=1, at=_day(5))
    ledger.retire("P", reason="worn", at=_day(5, 13))
    late = ledger.post_run(pad_wear(0.3), digest="d", load_name="A", at=_day(3))
    assert [e.serial for e in late.entries] == ["P"]
    assert ledger.post_run(pad_wear(0.3), digest="d", load_name="B").entries[0].serial == "Q"
    with pytest.raises(LedgerError, match="No tool was mounted at 2026-02-01"):
        ledger.post_run(
            pad_wear(0.3), digest="d", load_name="C", at=datetime(2026, 2, 1, tzinfo=UTC)
        )


_REVERSE_A = "reverse --load A --run 1"


@pytest.mark.parametrize(
    ("enter", "says", "do"),
    [
        (lambda led: led.reprofile("P", anyway=True, at=_day(2)), "run 1 of 'A' is", _REVERSE_A),
        (lambda led: led.retire("P", reason="lost", at=_day(2)), "run 1 of 'A' is", _REVERSE_A),
        (lambda led: led.mount("Q", pocket=1, at=_day(2)), "run 1 of 'A' is", "move P Q --load A"),
        (lambda led: led.mount("P", pocket=None, at=_day(2)), "run 1 of 'A' is", _REVERSE_A),
        (lambda led: led.reprofile("Q", anyway=True, at=_day(5)), "Q was mounted", "reverse 5"),
    ],
)
def test_what_would_change_later_entries_is_refused_with_the_reason(
    ledger, enter, says, do
) -> None:
    """A mount, reprofiling or retirement cannot slip in before what rests on its absence."""
    ledger.receive("polish-1", serials=["P", "Q"], at=_day(1))
    ledger.mount("P", pocket=1, at=_day(1))
    ledger.post_run(pad_wear(0.3), digest="d", load_name="A", at=_day(3))
    ledger.mount("Q", pocket=2, at=_day(6))
    before = ledger.export()
    with pytest.raises(LedgerError) as caught:
        enter(ledger)
    assert says in caught.value.what
    assert f"edgetime ledger {do}" in caught.value.remedy
    assert ledger.export() == before


def test_history_is_filtered_by_date(ledger) -> None:
    """From one day on, up to before another, by when it happened."""
    for day in (1, 5, 9):
        ledger.receive("polish-1", at=_day(day))
    assert [e.id for e in ledger.history(since=_day(2))] == [2, 3]
    assert [e.id for e in ledger.history(since=_day(5), until=_day(9))] == [2]


def test_use_is_charged_at_the_price_paid(ledger) -> None:
    """A pad bought at 30.00 is charged at that, in its currency, whatever the catalogue says."""
    ledger.receive("polish-1", serials=["P"], price=Decimal(30), currency="EUR")
    ledger.receive("polish-2", serials=["Q"], price=Decimal(70), currency="USD")
    ledger.receive("polish-3", serials=["R"])
    for pocket, serial in enumerate("PQR", 1):
        ledger.mount(serial, pocket=pocket)
    wear = pad_wear(0.1, "polish-1", "polish-2", "polish-3")
    ledger.post_run(wear, digest="d", load_name="L")
    costs = {b.serial: (b.cost, b.currency, b.price, b.price_currency) for b in ledger.balances()}
    assert costs["P"] == (Decimal(3), "EUR", Decimal(30), "EUR")
    assert costs["Q"] == (Decimal(7), "USD", Decimal(70), "USD")
    # Of a piece without a price the catalogue's is charged: 60.00 EUR.
    assert costs["R"] == (Decimal(6), "EUR", None, None)
    # A reprofiling's price is that of the life it begins.
    ledger.reprofile("P", anyway=True, price=Decimal(20), currency="EUR")
    ledger.post_run(pad_wear(0.1), digest="d", load_name="M")
    assert _one(ledger, "P").cost == Decimal(2)


def test_currencies_are_never_mixed_in_one_piece(ledger) -> None:
    """Money in another currency is refused; a use that only another could charge has no cost."""
    ledger.receive("polish-1", serials=["P"], price=Decimal(70), currency="USD")
    with pytest.raises(LedgerError, match="accounted for in USD, not in EUR"):
        ledger.reprofile("P", anyway=True, price=Decimal(20), currency="EUR")
    with pytest.raises(LedgerError, match="accounted for in USD, not in EUR"):
        ledger.adjust("P", cost=Decimal(1), currency="EUR")


def test_a_second_machines_pocket_is_another_pocket(ledger) -> None:
    """Mounting in pocket 2 of one router leaves pocket 2 of the other, and its wear, alone."""
    ledger.receive("polish-1", serials=["P", "Q", "R"])
    ledger.mount("P", pocket=2, machine="small")
    ledger.mount("Q", pocket=2, machine="large")
    assert [(b.pocket, b.machine) for b in ledger.balances()][:2] == [(2, "small"), (2, "large")]
    for machine, serial in (("small", "P"), ("large", "Q")):
        wear = replace(pad_wear(0.1), machine=machine)
        posted = ledger.post_run(wear, digest="d", load_name="L")
        assert [(e.serial, e.machine) for e in posted.entries] == [(serial, machine)]
    with pytest.raises(LedgerError) as caught:
        ledger.post_run(replace(pad_wear(0.1), machine="third"), digest="d", load_name="L")
    assert "--machine third" in caught.value.remedy
    # A mount whose machine was not stated, as in ledgers of before, may be any.
    ledger.mount("R", pocket=2)
    assert [b.pocket for b in ledger.balances()] == [None, None, 2]
    assert ledger.audit().problems == ()


@pytest.mark.parametrize(
    ("enter", "says"),
    [
        (lambda led, **k: led.mount("P", pocket=1, at=_day(1), **k), "was received on 2026-03-02"),
        (
            lambda led, **k: led.retire(
                "P", reason="worn", at=datetime(1999, 3, 2, tzinfo=UTC), **k
            ),
            "long past",
        ),
        (
            lambda led, **k: led.dress("P", at=datetime(2999, 3, 2, tzinfo=UTC), **k),
            "still to come",
        ),
        (lambda led, **k: led.measure("W", diameter_mm=794.0, **k), "measured 79.4 mm"),
        (lambda led, **k: led.measure("W", diameter_mm=7.94, **k), "measured 79.4 mm"),
        (lambda led, **k: led.reprofile("P", **k), "not ground to a profile"),
        (lambda led, **k: led.adjust("P", share=50, **k), "5000 % of a life"),
        (
            lambda led, **k: led.receive("polish-1", price=Decimal(60), currency="XYZ", **k),
            "XYZ is the code of no currency",
        ),
        (
            lambda led, **k: led.reprofile("W", price=Decimal(60), currency="EUX", **k),
            "EUX is the code of no currency",
        ),
        (
            lambda led, **k: led.adjust("P", cost=Decimal(1), currency="ZZZ", **k),
            "ZZZ is the code of no currency",
        ),
    ],
)
def test_what_is_hardly_meant_is_a_question_first(ledger, enter, says) -> None:
    """It is refused with the reason, and entered with a mark when it is to be entered anyway."""
    ledger.receive("polish-1", serials=["P"], at=_day(2))
    ledger.receive("metal-1", profile="ogee", serials=["W"], diameter_mm=79.4, at=_day(2))
    before = ledger.export()
    with pytest.raises(LedgerError) as caught:
        enter(ledger)
    assert says in caught.value.what
    assert "--anyway" in caught.value.remedy
    assert ledger.export() == before
    entry = enter(ledger, anyway=True).entries[0]
    assert entry.mark == "anyway"
    assert ledger.audit().problems == ()


def test_a_run_charged_to_the_wrong_piece_is_moved(ledger) -> None:
    """Measures, share and day go over as they are, the cost by what the right piece cost."""
    ledger.receive("polish-1", serials=["P"], price=Decimal(30), currency="EUR", at=_day(1))
    ledger.receive("polish-1", serials=["Q"], price=Decimal(70), currency="USD", at=_day(1))
    ledger.receive("polish-2", serials=["R"], at=_day(1))
    ledger.mount("P", pocket=1, at=_day(1))
    ledger.mount("R", pocket=2, at=_day(1))
    wear = pad_wear(0.1, "polish-1", "polish-2")
    ledger.post_run(wear, digest="d", load_name="L", at=_day(3))
    moved = ledger.move("P", "Q", load_name="L", note="wrong pad")
    assert [(e.kind, e.serial) for e in moved.entries] == [("reversed", "P"), ("used", "Q")]
    assert (moved.entries[1].at, moved.entries[1].load, moved.entries[1].run) == (_day(3), "L", 1)
    assert (_one(ledger, "P").runs, _one(ledger, "P").share) == (0, 0.0)
    right = _one(ledger, "Q")
    assert (right.runs, right.share, right.cost, right.currency) == (1, 0.1, Decimal(7), "USD")
    assert {u.by: u.used for u in right.used}["length"] == 45_000.0
    assert ledger.audit().problems == ()
    # The run is in the books as it was: posted again it changes nothing.
    assert not ledger.post_run(wear, digest="d", load_name="L").new
    with pytest.raises(LedgerError, match="charged nothing to P"):
        ledger.move("P", "Q", load_name="L")
    with pytest.raises(LedgerError, match="Q is polish-1, R is polish-2"):
        ledger.move("Q", "R", load_name="L")
    ledger.reverse_run("L")
    assert not any(b.share for b in ledger.balances())


def test_the_currencies_known_are_those_of_babel() -> None:
    """What is legal tender in some territory today, by the locale data that prices use."""
    from babel.core import get_global  # noqa: PLC0415  slow to load
    from babel.numbers import get_territory_currencies  # noqa: PLC0415

    tender = {
        code
        for territory in get_global("territory_currencies")
        for code in get_territory_currencies(territory, tender=True)
    }
    # Releases of babel differ by the currencies of the last years.
    assert {"EUR", "USD", "CHF", "GBP", "CAD", "AUD", "INR"} <= CURRENCIES
    assert len(CURRENCIES ^ tender) <= 5


def test_refusals_show_the_time_of_this_computer(ledger, monkeypatch) -> None:
    """The time is that of screens, and says its zone."""
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    time.tzset()
    try:
        ledger.receive("polish-1", serials=["P"], at=_day(2, 20))
        with pytest.raises(
            LedgerError, match=r"received on 2026-03-03 05:00 JST, after 2026-03-01"
        ):
            ledger.dress("P", at=_day(1))
        ledger.mount("P", pocket=1, at=_day(4, 20))
        with pytest.raises(LedgerError, match=r"on 2026-03-05 05:00 JST, P was mounted"):
            ledger.retire("P", reason="worn", at=_day(3))
        with pytest.raises(LedgerError, match=r"mounted at 2026-03-04 05:00 JST for"):
            ledger.post_run(pad_wear(0.1), digest="d", load_name="L", at=_day(3, 20))
        ledger.post_run(pad_wear(0.1), digest="d", load_name="L", at=_day(5, 20))
        with pytest.raises(LedgerError, match=r"for 2026-03-06 05:00 JST, with other figures"):
            ledger.post_run(pad_wear(0.2), digest="e", load_name="L")
    finally:
        monkeypatch.undo()
        time.tzset()


def test_half_holes_count_as_whole_ones(ledger) -> None:
    """By one rule, whether the number is odd or even."""
    ledger.receive("core-35", serials=["C"])
    ledger.adjust("C", holes=0.5)
    ledger.adjust("C", holes=1.5)
    ledger.adjust("C", holes=2.5)
    assert [int(e.amounts["holes"]) for e in ledger.history("C") if e.amounts.get("holes")] == [
        1, 2, 3,
    ]  # fmt: skip
