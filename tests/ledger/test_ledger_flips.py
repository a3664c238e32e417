"""Single bits flipped in exports and in the database's file: none changes a figure unseen."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from support.ledgers import FakeConsumables, pad_wear

from edgetime.errors import LedgerError
from edgetime.ledger import Delivery, OrderRequest, open_ledger
from edgetime.ledger.export import export_text, import_text

FLIPS = 300
_FIRST = datetime(2026, 3, 2, 6, tzinfo=UTC)


class _Undo(Exception):
    """Rolls a trial back."""


def _keep_books(place) -> dict[str, str]:
    """Enter something of every kind, and return both exports."""
    with open_ledger(place) as ledger:
        ledger.receive(
            "polish-1", count=3, price=Decimal("58.50"), currency="EUR", supplier="Stein AG",
            batch="B7", diameter_mm=100.0, at=_FIRST, who="ann", note='he said "½", \u2014 twice',
        )  # fmt: skip
        ledger.receive("metal-1", profile="ogee", serials=["A7"], at=_FIRST, who="ann")
        ledger.mount("polish-1-001", pocket=1, machine="small", at=_FIRST, who="ben")
        ledger.mount("A7", pocket=2, machine="small", at=_FIRST, who="ben")
        for run in range(1, 9):
            wear = replace(
                pad_wear(0.0123 * run),
                machine="small",
                consumables=FakeConsumables(12.5 * run, 1.25 * run),
            )
            ledger.post_run(
                wear, digest=f"d{run}", work_digest=f"w{run}", load_name="kitchen 12", run=run,
                at=_FIRST + timedelta(hours=run), who="ben",
            )  # fmt: skip
        late = _FIRST + timedelta(days=2)
        ledger.measure("A7", diameter_mm=79.4, at=late, who="ann")
        ledger.dress("A7", diameter_mm=79.1, at=late, who="ann")
        ledger.reprofile(
            "A7", diameter_mm=78.4, life=0.9, price=Decimal(45), currency="EUR", at=late, who="ann"
        )
        ledger.adjust("polish-1-001", share=0.05, at=late, who="ann", note="looks worse")
        ledger.reverse_run("kitchen 12", run=3, at=late, who="ann")
        ledger.retire("polish-1-002", reason="lost", at=late, who="ann")
        ledger.place(
            [
                OrderRequest(
                    tool="metal-1", profile="ogee", count=4, number="4711", price=Decimal("185.5"),
                    currency="EUR", supplier="Stein AG", expected=late.date() + timedelta(days=14),
                )
            ],
            at=late, who="ann", note="by phone",
        )  # fmt: skip
        ledger.receive_all(
            [Delivery(tool="metal-1", profile="ogee", count=2, order="4711")], at=late, who="ann"
        )
        ledger.reschedule("4711", late.date() + timedelta(days=21), at=late, who="ann")
        ledger.cancel("4711", count=1, at=late, who="ann")
        ledger.close_order("4711", at=late, who="ann")
        return {form: ledger.export(form) for form in ("csv", "json")}


def _taken_in(ledger, text: str, form: str) -> str:
    """Import, export again, and roll back."""
    with contextlib.suppress(_Undo), ledger._store.write() as link:
        import_text(link, text)
        again = export_text(link, form)
        raise _Undo
    return again


@pytest.mark.parametrize("form", ["csv", "json"])
def test_a_flipped_bit_in_an_export_is_found(sqlite_place, tmp_path, form: str) -> None:
    """An export with a flipped bit is refused, or imports the very same books."""
    whole = _keep_books(sqlite_place)[form]
    content = whole.encode()
    chance = random.Random(11)
    refused = 0
    with open_ledger(tmp_path / "other.sqlite") as ledger:
        for _ in range(FLIPS):
            place, bit = chance.randrange(len(content)), 1 << chance.randrange(8)
            flipped = bytearray(content)
            flipped[place] ^= bit
            try:
                again = _taken_in(ledger, flipped.decode(), form)
            except (LedgerError, UnicodeDecodeError):
                refused += 1
            else:
                assert again == whole, flipped[max(0, place - 40) : place + 40]
        assert ledger.count() == 0
    # Most of an export is figures, names and hashes.
    assert refused > 0.9 * FLIPS


def test_a_flipped_bit_in_the_file_is_found(sqlite_place, tmp_path) -> None:
    """SQLite or the audit finds it, or every entry and balance is what it was."""
    _keep_books(sqlite_place)
    with open_ledger(sqlite_place) as ledger:
        before = ledger.export(), ledger.balances(), ledger.orders()
    with contextlib.closing(sqlite3.connect(sqlite_place)) as link:
        link.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = Path(sqlite_place).read_bytes()
    used = [place for place, byte in enumerate(content) if byte]
    chance = random.Random(12)
    found = 0
    for number in range(FLIPS):
        place, bit = chance.choice(used), 1 << chance.randrange(8)
        flipped = bytearray(content)
        flipped[place] ^= bit
        path = tmp_path / f"flipped-{number}.sqlite"
        path.write_bytes(flipped)
        try:
            with open_ledger(path, create=False) as ledger:
                if ledger.audit().problems:
                    found += 1
                    continue
                after = ledger.export(), ledger.balances(), ledger.orders()
        except LedgerError:
            found += 1
            continue
        finally:
            for left in tmp_path.glob(f"flipped-{number}.sqlite*"):
                left.unlink()
        assert after == before, (place, bit, content[max(0, place - 40) : place + 40])
    assert found > 0.1 * FLIPS


def test_bytes_where_a_text_belongs_are_told_as_damage(sqlite_place) -> None:
    """The audit names the entry whose text is no text any more."""
    _keep_books(sqlite_place)

    with contextlib.closing(sqlite3.connect(sqlite_place, isolation_level=None)) as link:
        # The tables themselves refuse such bytes; a damaged page does not ask them.
        link.execute("PRAGMA writable_schema = ON")
        link.execute(
            "UPDATE sqlite_master SET sql = replace(sql, 'STRICT', '') WHERE name = 'entries'"
        )
    with contextlib.closing(sqlite3.connect(sqlite_place, isolation_level=None)) as link:
        (guard,) = link.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'entries_no_update'"
        ).fetchone()
        link.execute("DROP TRIGGER entries_no_update")
        link.execute("UPDATE entries SET stone = x'ff00' WHERE id = 9")
        link.execute(guard)
    with open_ledger(sqlite_place) as ledger:
        problems = ledger.audit().problems
    assert any("Entry 9 is damaged" in problem for problem in problems), problems
