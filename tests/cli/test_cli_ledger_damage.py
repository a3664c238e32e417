"""What the ledger's commands say of a damaged file."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from pathlib import Path

from support.ledgers import keep_books


def test_a_torn_file_is_told_by_every_command(run, tmp_path) -> None:
    """show, history, export and report of a file with random bytes end with 5 or are right."""
    books = tmp_path / "books.sqlite"
    keep_books(books)
    with contextlib.closing(sqlite3.connect(books)) as link:
        link.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    commands = (["show"], ["history"], ["report"], ["export", "out.csv"], ["audit"])
    content = books.read_bytes()
    chance = random.Random(14)
    codes = set()
    for number in range(12):
        torn = bytearray(content)
        at = 4096 * chance.randrange(1, len(content) // 4096)
        torn[at : at + 4096] = chance.randbytes(4096)
        path = tmp_path / f"torn-{number}.sqlite"
        path.write_bytes(torn)
        for command in commands:
            ran = run("ledger", *command, "--ledger", path)
            codes.add(ran.code)
            assert ran.code in {0, 5}, (command, ran.err)
        (Path.cwd() / "out.csv").unlink(missing_ok=True)
    assert 5 in codes
