"""Single bits flipped in exports and in the database's file: none changes a figure unseen."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from pathlib import Path

import pytest
from support.ledgers import keep_books

from edgetime.errors import LedgerError
from edgetime.ledger import open_ledger
from edgetime.ledger.export import export_text, import_text

FLIPS = 300


class _Undo(Exception):
    """Rolls a trial back."""


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
    whole = keep_books(sqlite_place)[form]
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
    keep_books(sqlite_place)
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
    keep_books(sqlite_place)

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
