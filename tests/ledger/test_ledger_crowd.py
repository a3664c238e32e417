"""Several at once, and sudden death: nothing is lost, doubled or half done."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections import Counter

import pytest
from support import FOLDER
from support.ledger_worker import PIECES
from support.ledgers import pad_wear

from edgetime.ledger import State, open_ledger

SCRIPT = [sys.executable, "-m", "support.ledger_worker"]
ROUNDS = 4
"""Processes that kill at the same time."""


def _start(*args: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*SCRIPT, *map(str, args)], stdout=subprocess.PIPE, text=True, cwd=FOLDER
    )


def _mount_all(place: str) -> None:
    with open_ledger(place) as ledger:
        for pocket, tool in enumerate(PIECES, 1):
            ledger.receive(tool)
            ledger.mount(tool, pocket=pocket)


def _runs(place: str) -> Counter[str]:
    with open_ledger(place) as ledger:
        report = ledger.audit()
        assert report.problems == ()
        return Counter(e.load for e in ledger.history() if e.load is not None)


@pytest.mark.slow
def test_200_kills_leave_every_run_whole(place) -> None:
    """Every run is wholly in or wholly out, and every run that was promised is in."""
    _mount_all(place)
    drivers = [_start("kill", place, f"k{i}", 200 // ROUNDS, i) for i in range(ROUNDS)]
    said = [driver.communicate(timeout=240)[0] for driver in drivers]
    assert [driver.returncode for driver in drivers] == [0] * ROUNDS
    promised = {load for text in said for load in json.loads(text)}
    found = _runs(place)
    assert set(found.values()) == {len(PIECES)}
    assert promised <= set(found)
    # One at most per kill was written and not yet promised.
    assert len(found) <= len(promised) + 200
    assert len(promised) >= 200


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_killing_while_a_ledger_is_made_leaves_none_or_a_whole_one(sqlite_place, seed) -> None:
    """A new ledger appears whole, with nothing left over that stands in its way."""
    driver = _start("create", sqlite_place, 8, seed)
    driver.communicate(timeout=60)
    assert driver.returncode == 0
    with open_ledger(sqlite_place) as ledger:
        ledger.receive("polish-1")
        assert ledger.audit().problems == ()


@pytest.mark.slow
def test_16_processes_lose_and_double_nothing(place) -> None:
    """Runs of one's own are all in; a run that all post is in once."""
    _mount_all(place)
    processes, own, common = 16, 6, 4
    driver = _start("flood", place, processes, own, common)
    said = json.loads(driver.communicate(timeout=240)[0])
    assert said["codes"] == [0] * processes
    assert sum(said["new"]) == processes * own + common
    found = _runs(place)
    wanted = {f"own-{n}-{i}" for n in range(processes) for i in range(own)}
    wanted |= {f"common-{i}" for i in range(common)}
    assert found == dict.fromkeys(wanted, len(PIECES))
    with open_ledger(place) as ledger:
        assert {b.share for b in ledger.balances()} == {0.001 * len(wanted)}


@pytest.mark.slow
def test_16_processes_make_one_ledger(place) -> None:
    """All find the same new ledger, and no serial is given twice."""
    driver = _start("receive", place, 16)
    said = json.loads(driver.communicate(timeout=120)[0])
    assert said["codes"] == [0] * 16
    assert sorted(said["serials"]) == [f"polish-1-{n:03d}" for n in range(1, 17)]
    with open_ledger(place) as ledger:
        assert ledger.on_hand("polish-1") == 16
        assert ledger.audit().problems == ()


def test_backup_while_writing_is_one_state(sqlite_place, tmp_path) -> None:
    """Each copy's books add up, and hold all that was entered before it was begun."""
    _mount_all(sqlite_place)
    stop = threading.Event()
    posted: list[int] = []

    def post() -> None:
        wear = pad_wear(0.0001, *PIECES)
        with open_ledger(sqlite_place) as ledger:
            while not stop.is_set():
                ledger.post_run(wear, digest="d", load_name="L", run=len(posted) + 1)
                posted.append(1)

    writer = threading.Thread(target=post)
    writer.start()
    try:
        with open_ledger(sqlite_place) as ledger:
            for number in range(5):
                before = len(posted)
                ledger.backup(tmp_path / f"copy-{number}.sqlite")
                after = len(posted)
                with open_ledger(tmp_path / f"copy-{number}.sqlite", create=False) as copy:
                    report = copy.audit()
                assert report.problems == ()
                assert before <= report.runs <= after + 1
    finally:
        stop.set()
        writer.join()
    assert len(posted) > 5
    assert not list(tmp_path.glob(".*.new*"))


def test_readers_see_one_state_while_others_write(ledger) -> None:
    """An export begun before a run knows nothing of it, an export after it all."""
    ledger.receive("polish-1", count=2)
    ledger.mount("polish-1", pocket=1)
    with ledger._store.read() as link:
        from edgetime.ledger.export import export_text  # noqa: PLC0415  within the reading

        before = export_text(link, "csv")
        assert ledger.post_run(pad_wear(), digest="d", load_name="L").new
        assert export_text(link, "csv") == before
    assert len(ledger.export().splitlines()) == len(before.splitlines()) + 1
    assert [b.state for b in ledger.balances()] == [State.MOUNTED, State.NEW]
