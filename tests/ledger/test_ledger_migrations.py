"""Every released schema is brought up, with its data; what fails leaves it as it was.

``released/NNNN.sqlite.gz`` and ``released/NNNN.postgres.sql`` are ledgers as the release of
that schema wrote them, ``released/NNNN.csv`` is its own export. They are never made anew:
whoever adds a schema adds its three files.
"""

from __future__ import annotations

import csv
import gzip
import io
import json
import re
import shutil
import sqlite3
from contextlib import closing
from decimal import Decimal
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from support.ledgers import pad_wear

from edgetime.errors import LedgerError
from edgetime.ledger import Kind, open_ledger, schema
from edgetime.ledger.amounts import MEASURES
from edgetime.ledger.export import HEADER
from edgetime.ledger.tables import entries, runs
from edgetime.records import as_json

RELEASED = Path(__file__).parent / "released"
REVISIONS = sorted(path.name.removesuffix(".csv") for path in RELEASED.glob("*.csv"))


def _script(folder: Path) -> ScriptDirectory:
    config = Config()
    config.set_main_option("script_location", str(folder))
    return ScriptDirectory.from_config(config)


def _put_sqlite(revision: str, path: Path) -> str:
    path.write_bytes(gzip.decompress((RELEASED / f"{revision}.sqlite.gz").read_bytes()))
    return str(path)


def _put_postgres(revision: str, url: str) -> str:
    import psycopg  # noqa: PLC0415  only where a server is

    with psycopg.connect(url, autocommit=True) as link:
        link.execute("DROP SCHEMA public CASCADE")
        link.execute((RELEASED / f"{revision}.postgres.sql").read_text())
    return url


@pytest.fixture(params=["sqlite", "postgresql"])
def released(request, tmp_path):
    """Return a function that puts a released ledger in place, on each back end in turn."""
    if request.param == "sqlite":
        return lambda revision: _put_sqlite(revision, tmp_path / "ledger.sqlite")
    url = request.getfixturevalue("postgres_place")
    return lambda revision: _put_postgres(revision, url)


def test_the_list_of_schemas_is_the_scripts() -> None:
    """The list that opening goes by names every script, in order, and each has its ledger."""
    found = [s.revision for s in _script(schema._scripts()).walk_revisions()]
    assert tuple(reversed(found)) == schema.REVISIONS
    assert tuple(REVISIONS) == schema.REVISIONS
    for revision in REVISIONS:
        assert (RELEASED / f"{revision}.sqlite.gz").exists()
        assert (RELEASED / f"{revision}.postgres.sql").exists()


@pytest.mark.parametrize("revision", REVISIONS)
def test_released_ledgers_open_with_all_their_data(released, revision) -> None:
    """The newest release reads what an older one wrote, to the last digit, and goes on."""
    place = released(revision)
    then = list(csv.DictReader(io.StringIO((RELEASED / f"{revision}.csv").read_text())))
    with open_ledger(place) as ledger:
        assert ledger.audit().problems == ()
        now = list(csv.DictReader(io.StringIO(ledger.export())))
        # The last line of an export is its count; schema 0001 had none.
        then, now = ([row for row in rows if row["kind"] != "end"] for rows in (then, now))
        # A later schema may add columns; those of then say what they said.
        assert [{name: row[name] for name in then[0]} for row in now] == then
        by = {b.serial: b for b in ledger.balances()}
        # Entered by hand when the ledger was made: 3 x 2 % of a pad, one of them reversed.
        assert by["polish-1-001"].share == 0.04
        assert by["polish-1-001"].cost == Decimal("2.4")
        assert (by["A7"].restored, by["A7"].share, by["A7"].diameter_mm) == (0.9, 0.1, 78.4)
        assert (by["A8"].reason, by["A8"].share) == ("broken", 0.25)
        assert ledger.post_run(pad_wear(0.02), digest="later", load_name="L").new
        assert not ledger.post_run(pad_wear(0.02), digest="d1", load_name="bar 3").new
        assert ledger.audit().problems == ()


def test_a_month_of_a_released_ledger_keeps_its_balances(tmp_path) -> None:
    """A month of runs, wear, reprofiling and reversals shows what the release showed.

    The month was entered and its balances written by the release of schema 0001.
    """
    month = RELEASED / "month" / "month"
    place = tmp_path / "ledger.sqlite"
    place.write_bytes(gzip.decompress(month.with_suffix(".sqlite.gz").read_bytes()))
    then = json.loads(month.with_suffix(".balances.json").read_text())
    with open_ledger(place) as ledger:
        assert ledger.audit().problems == ()
        now = as_json(ledger.balances())
    assert len(now) == len(then) == 23
    for old, new in zip(then, now, strict=True):
        for key in ("price", "cost"):
            old[key] = old[key] and Decimal(old[key])
            new[key] = new[key] and Decimal(new[key])
        assert {key: new[key] for key in old} == old, old["serial"]


_NEXT = '''
"""A schema of the tests' own."""

from alembic import op

revision = "9999"
down_revision = "{head}"


def upgrade() -> None:
    op.execute("ALTER TABLE entries ADD COLUMN shift TEXT")
    op.execute("CREATE TABLE shifts (id INTEGER PRIMARY KEY)")
    {last}
'''


@pytest.fixture
def next_schema(tmp_path, monkeypatch):
    """Return a function that adds a schema to those there are."""

    def add(last: str) -> None:
        folder = tmp_path / "scripts"
        shutil.copytree(schema._scripts(), folder)
        text = _NEXT.format(head=schema.HEAD, last=last)
        (folder / "versions" / "r9999_next.py").write_text(text)
        monkeypatch.setattr(schema, "_scripts", lambda: folder)
        monkeypatch.setattr(schema, "REVISIONS", (*schema.REVISIONS, "9999"))
        monkeypatch.setattr(schema, "HEAD", "9999")

    return add


def _tables(place: str) -> set[str]:
    from sqlalchemy import inspect  # noqa: PLC0415  beneath the ledger

    from edgetime.ledger.store import Store, locate  # noqa: PLC0415

    store = Store(locate(place, None))
    try:
        with store.read() as link:
            return set(inspect(link).get_table_names())
    finally:
        store.close()


def test_an_older_ledger_is_migrated_in_place(released, next_schema) -> None:
    """The schema is the newest, the data what it was, and a copy of the old one is kept."""
    place = released(schema.HEAD)
    with open_ledger(place) as ledger:
        before = ledger.export()
    old = schema.HEAD
    next_schema("pass")
    with open_ledger(place) as ledger:
        copy = ledger.safety_copy
        assert ledger.export() == before
        assert ledger.audit().problems == ()
        assert ledger.post_run(pad_wear(0.02), digest="later", load_name="L").new
    assert "shifts" in _tables(place)
    with open_ledger(place) as ledger:
        assert ledger.safety_copy is None
    if "://" not in place:
        assert copy == Path(f"{place}.before-9999")
        with closing(sqlite3.connect(copy)) as link:
            assert link.execute("SELECT version_num FROM alembic_version").fetchone() == (old,)
            (count,) = link.execute("SELECT COUNT(*) FROM entries").fetchone()
        assert count == len(before.splitlines()) - 2


def test_a_migration_that_fails_changes_nothing(released, next_schema, monkeypatch) -> None:
    """All of a migration is in, or nothing of it: the old release opens the ledger again."""
    place = released(schema.HEAD)
    with open_ledger(place) as ledger:
        before = ledger.export()
    with monkeypatch.context():
        next_schema('op.execute("INSERT INTO nowhere VALUES (1)")')
        with pytest.raises(LedgerError):
            open_ledger(place)
        monkeypatch.undo()
    assert "shifts" not in _tables(place)
    with open_ledger(place) as ledger:
        assert ledger.export() == before


def test_tables_are_strict(sqlite_place) -> None:
    """SQLite holds every column to its type and every reference to its row."""
    with open_ledger(sqlite_place) as ledger:
        ledger.receive("polish-1")
    with closing(sqlite3.connect(sqlite_place)) as link:
        strict = dict(link.execute("SELECT name, strict FROM pragma_table_list").fetchall())
        assert (strict["entries"], strict["runs"]) == (1, 1)
        assert link.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        link.execute("PRAGMA foreign_keys = ON")
        insert = (
            "INSERT INTO entries (id, at, kind, piece, pocket, who, note) "
            "VALUES (2, '2026-01-01T00:00:00.000000Z', 'mounted', ?, ?, 'x', '')"
        )
        for values in ((1, "five"), (7, 1)):
            with pytest.raises(sqlite3.IntegrityError):
                link.execute(insert, values)


def test_the_reference_names_every_column() -> None:
    """No column of the tables or of an export is missing in the reference."""
    page = (Path(__file__).parents[2] / "docs" / "reference" / "ledger.md").read_text()
    names = {*HEADER, *entries.columns.keys(), *runs.columns.keys()}
    told = set(re.findall(r"`([a-z0-9_]+)`", page))
    shares = {f"{m.share}_e12" for m in MEASURES}
    assert names - shares <= told
    assert all(kind.value in told for kind in Kind)
    assert f"this release writes {schema.HEAD}" in page
