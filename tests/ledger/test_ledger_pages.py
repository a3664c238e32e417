"""Damaged pages of a server's files, and damaged texts: found, refused, never shown as right."""

from __future__ import annotations

import contextlib
import os
import random

import pytest
from sqlalchemy import text
from support.ledgers import keep_books, postgres_cluster, server_binaries, serving

from edgetime.errors import LedgerError
from edgetime.ledger import open_ledger

FLIPS = 24


def _tables(link) -> list[str]:
    """Return the files of the ledger's tables and of their indexes."""
    return list(
        link.execute(
            text(
                "SELECT pg_relation_filepath(c.oid) FROM pg_class c WHERE c.oid IN "
                "('runs'::regclass, 'entries'::regclass) OR c.oid IN (SELECT indexrelid FROM "
                "pg_index WHERE indrelid IN ('runs'::regclass, 'entries'::regclass))"
            )
        ).scalars()
    )


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_a_flipped_bit_in_a_servers_file_is_found() -> None:
    """The server or the audit finds it, or every entry and balance is what it was."""
    binaries = server_binaries()
    if binaries is None:
        assert not os.environ.get("CI"), "CI must have a PostgreSQL server"
        pytest.skip("no PostgreSQL server is installed (Debian package postgresql)")
    chance = random.Random(13)
    found = 0
    with postgres_cluster(binaries) as folder:
        with serving(binaries, folder) as url:
            keep_books(url)
            with open_ledger(url) as ledger:
                before = ledger.export(), ledger.balances()
                noted = ledger.last_hash()
                with ledger._store.read() as link:
                    files = [folder / "data" / name for name in _tables(link)]
        whole = {path: path.read_bytes() for path in files}
        # An index is half empty pages; a byte that is used is any that is not zero.
        used = [(p, at) for p, content in whole.items() for at, b in enumerate(content) if b]
        for _ in range(FLIPS):
            path, at = chance.choice(used)
            bit = 1 << chance.randrange(8)
            content = bytearray(whole[path])
            content[at] ^= bit
            path.write_bytes(content)
            with serving(binaries, folder) as url:
                try:
                    with open_ledger(url, create=False) as ledger:
                        # A row that is no longer seen at the end shows only against a noted hash.
                        if ledger.audit(noted).problems:
                            found += 1
                        else:
                            after = ledger.export(), ledger.balances()
                            assert after == before, (path.name, at, bit)
                except LedgerError:
                    found += 1
            for each, content in whole.items():
                each.write_bytes(content)
    assert found > 0.2 * FLIPS


def _break(ledger, statement: str) -> None:
    """Change rows as somebody may who owns the database."""
    with ledger._store.write() as link:
        if ledger._store.path is None:
            link.exec_driver_sql("SET LOCAL session_replication_role = replica")
            link.exec_driver_sql(statement)
            return
        guards = link.exec_driver_sql(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).all()
        for name, _ in guards:
            link.exec_driver_sql(f"DROP TRIGGER {name}")
        link.exec_driver_sql("PRAGMA ignore_check_constraints = ON")
        link.exec_driver_sql(statement)
        for _, sql in guards:
            link.exec_driver_sql(sql)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE entries SET contact_nm = contact_nm + 1 WHERE id = 9", "chain of hashes breaks"),
        ("UPDATE entries SET who = 'eve' WHERE id = 3", "chain of hashes breaks"),
        ("UPDATE entries SET note = 'x' WHERE id = 1", "chain of hashes breaks"),
        ("UPDATE runs SET load_name = 'kitchen 13' WHERE run_no = 2", "chain of hashes breaks"),
        ("DELETE FROM entries WHERE id = 8", "Entry 8 is missing"),
    ],
)
def test_rows_changed_by_who_owns_the_database_are_found(ledger, place, statement, says) -> None:
    """Switching the guards off for a moment does not hide a change."""
    del ledger
    keep_books(place)
    with open_ledger(place) as books:
        assert books.audit().problems == ()
        _break(books, statement)
        problems = books.audit().problems
    assert any(says in problem for problem in problems), problems


@pytest.mark.parametrize(
    ("column", "value"),
    [("kind", "usec"), ("at", "2026-13-02T06:00:00.000000Z"), ("reason", "wnrn")],
)
def test_what_no_ledger_holds_is_told_as_damage(sqlite_place, column: str, value: str) -> None:
    """Every way to read it ends with a message about the ledger, never as our own fault."""
    keep_books(sqlite_place)
    with open_ledger(sqlite_place) as books:
        where = "kind = 'retired'" if column == "reason" else "id = 9"
        _break(books, f"UPDATE entries SET {column} = '{value}' WHERE {where}")  # noqa: S608
        assert books.audit().problems
        reads = (books.report, books.lives, books.balances, books.export, books.last_hash)
        with pytest.raises(LedgerError, match="damaged"):
            books.history()
        for read in reads:
            with contextlib.suppress(LedgerError):
                read()
