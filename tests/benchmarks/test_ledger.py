"""The ledger against plain SQL that does the same, as ratios of times in one run.

Goals: posting within 4 times plain SQL (the disk's own time is in both), one piece's balance
over 1,000,000 entries within 4 times and not growing with what other pieces did, all
balances within 4 times. The plain statements use the ledger's own tables and indexes.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from support.ledgers import pad_wear

from edgetime.ledger import open_ledger
from edgetime.ledger.amounts import ADDED

TOOLS = ("polish-1", "polish-2", "polish-3", "drum-75", "seam-80")
RUNS = 10_000
BLOCK = 500
PER_PIECE = 5000
SUMS = ", ".join(f"SUM({a.column})" for a in ADDED)


def _seconds(call: Callable[[], object]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began


def _connect(path: Path) -> sqlite3.Connection:
    link = sqlite3.connect(path, isolation_level=None)
    link.execute("PRAGMA foreign_keys = ON")
    link.execute("PRAGMA synchronous = FULL")
    return link


def _plain_post(link: sqlite3.Connection, first: int, count: int) -> None:
    """Write runs as the ledger does: one transaction each, looked up first."""
    for run in range(first, first + count):
        link.execute("BEGIN IMMEDIATE")
        key = ("d", "L", run)
        there = link.execute(
            "SELECT id FROM runs WHERE digest = ? AND load_name = ? AND run_no = ?", key
        ).fetchone()
        assert there is None
        (last_run,) = link.execute("SELECT COALESCE(MAX(id), 0) FROM runs").fetchone()
        link.execute(
            "INSERT INTO runs (digest, load_name, run_no, id, actual) VALUES (?, ?, ?, ?, 0)",
            (*key, last_run + 1),
        )
        (last,) = link.execute("SELECT MAX(id) FROM entries").fetchone()
        link.executemany(
            "INSERT INTO entries (id, at, kind, piece, life, run, stone, thickness_nm, governing, "
            "contact_nm, path_nm, volume_pl, cut_us, holes, area_um2, share_length_e12, "
            "cost_e6, currency, who, note) VALUES (?, '2026-03-02T06:00:00.000000Z', 'used', "
            "?, ?, ?, 'granite', 30000000, 'length', 45000000, 47000000, 100000, 900000, 0, 0, "
            "100000000, 6000, 'EUR', 'x', '')",
            [(last + 1 + n, 2 * n + 1, 2 * n + 1, last_run + 1) for n in range(len(TOOLS))],
        )
        link.execute("COMMIT")


def _mounted(path: Path) -> None:
    with open_ledger(path) as ledger:
        for pocket, tool in enumerate(TOOLS, 1):
            ledger.receive(tool)
            ledger.mount(tool, pocket=pocket)


@pytest.mark.slow
def test_posting_10000_runs(benchmark, tmp_path) -> None:
    """Each run of five tools is a transaction of its own, on the disk when it returns."""
    ours, plain = tmp_path / "ours.sqlite", tmp_path / "plain.sqlite"
    _mounted(ours)
    _mounted(plain)
    wear = pad_wear(0.0001, *TOOLS)
    took: dict[str, float] = {"ours": 0.0, "plain": 0.0}

    def post_all() -> None:
        with open_ledger(ours) as ledger, closing(_connect(plain)) as link:

            def post(first: int) -> None:
                for run in range(first, first + BLOCK):
                    assert ledger.post_run(wear, digest="d", load_name="L", run=run).new

            # In turn, so that a busy machine slows both alike.
            for first in range(1, RUNS + 1, BLOCK):
                took["ours"] += _seconds(lambda first=first: post(first))
                took["plain"] += _seconds(lambda first=first: _plain_post(link, first, BLOCK))

    benchmark.pedantic(post_all, rounds=1)
    with open_ledger(ours) as a, open_ledger(plain) as b:
        assert [x.share for x in a.balances()] == [x.share for x in b.balances()]
        assert a.count() == len(TOOLS) * (RUNS + 2)
    benchmark.extra_info["ratio to plain SQL"] = took["ours"] / took["plain"]
    benchmark.extra_info["runs per second"] = RUNS / took["ours"]
    assert took["ours"] < 8.0 * took["plain"]


def _filled(path: Path, pieces: int) -> None:
    """Make a ledger of many pieces that each did the same number of runs."""
    with open_ledger(path) as ledger:
        ledger.receive("polish-1", count=pieces)
    with closing(_connect(path)) as link:
        link.execute("PRAGMA synchronous = OFF")
        link.execute("BEGIN")
        link.execute(
            "INSERT INTO runs (id, load_name, run_no, digest, actual) VALUES (1, 'L', 1, 'd', 0)"
        )
        uses = pieces * PER_PIECE
        link.executemany(
            "INSERT INTO entries (id, at, kind, piece, life, run, contact_nm, path_nm, volume_pl, "
            "cut_us, holes, area_um2, share_length_e12, cost_e6, currency, who, note) VALUES "
            "(?, '2026-03-02T06:00:00.000000Z', 'used', ?, ?, 1, 45000000, 47000000, 100000, "
            "900000, 0, 0, 100000000, 6000, 'EUR', 'x', '')",
            ((pieces + 1 + n, n % pieces + 1, n % pieces + 1) for n in range(uses)),
        )
        link.execute("COMMIT")
        link.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _best(call: Callable[[], object], rounds: int) -> float:
    return min(_seconds(call) for _ in range(rounds))


@pytest.mark.slow
@pytest.mark.timeout(900)
def test_balance_over_a_million_entries(benchmark, tmp_path) -> None:
    """One account is looked up by its index; all accounts are one pass."""
    large, small = tmp_path / "large.sqlite", tmp_path / "small.sqlite"
    _filled(large, 200)
    _filled(small, 20)
    one = f"SELECT {SUMS} FROM entries WHERE piece = 7"  # noqa: S608  our own columns
    every = f"SELECT piece, {SUMS} FROM entries GROUP BY piece"  # noqa: S608  as above
    with (
        open_ledger(large) as ledger,
        open_ledger(small) as smaller,
        closing(_connect(large)) as link,
    ):
        assert ledger.count() > 1_000_000
        times = {
            "one": _best(lambda: ledger.balances("polish-1-007"), 5),
            "one plain": _best(lambda: link.execute(one).fetchall(), 5),
            "one of fewer": _best(lambda: smaller.balances("polish-1-007"), 5),
            "all plain": _best(lambda: link.execute(every).fetchall(), 2),
            "all of fewer": _best(smaller.balances, 2),
        }
        (balance,) = ledger.balances("polish-1-007")
        assert balance.share == PER_PIECE / 10_000
        times["all"] = benchmark.pedantic(lambda: _seconds(ledger.balances), rounds=2)
    ratios = {
        "one piece, to plain SQL": times["one"] / times["one plain"],
        "all 200 pieces, to plain SQL": times["all"] / times["all plain"],
        "one piece, 1,000,000 to 100,000 entries": times["one"] / times["one of fewer"],
        "all pieces, 1,000,000 to 100,000 entries": times["all"] / times["all of fewer"],
    }
    benchmark.extra_info.update(ratios)
    assert ratios["one piece, to plain SQL"] < 8.0
    assert ratios["all 200 pieces, to plain SQL"] < 8.0
    assert ratios["one piece, 1,000,000 to 100,000 entries"] < 3.0
    assert ratios["all pieces, 1,000,000 to 100,000 entries"] < 30.0
