"""Second schema: a run is machine, load and number; lives by day; machines; a chain of hashes.

What stands here is released and never changes: a later schema is a later revision.
"""

from __future__ import annotations

from typing import Any

from alembic import op
from sqlalchemy import Connection, text

from edgetime.ledger.chain import GENESIS, content_of, next_hash
from edgetime.ledger.migrations.versions.r0001_first import _STANDS, _WHOLE

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_RUNS = """
CREATE TABLE runs (
  id {int} PRIMARY KEY,
  load_name TEXT NOT NULL CHECK (load_name <> ''),
  run_no {int} NOT NULL CHECK (run_no >= 1),
  machine TEXT CHECK (machine <> ''),
  digest TEXT NOT NULL CHECK (digest <> ''),
  work_digest TEXT CHECK (work_digest <> ''),
  actual {int} NOT NULL CHECK (actual IN (0, 1)),
  water_l_e6 {int} CHECK (water_l_e6 >= 0),
  electricity_kwh_e6 {int} CHECK (electricity_kwh_e6 >= 0)
){strict}
"""

_KEPT = "id, load_name, run_no, digest, actual, water_l_e6, electricity_kwh_e6"

_COLUMNS = (
    ("life", "{int} REFERENCES entries (id)"),
    ("machine", "TEXT CHECK (machine <> '')"),
    ("supplier", "TEXT CHECK (supplier <> '')"),
    ("batch", "TEXT CHECK (batch <> '')"),
    ("mark", "TEXT CHECK (mark <> '')"),
    ("hash", "TEXT CHECK (hash <> '')"),
)

_INDEXES = (
    "CREATE INDEX runs_load ON runs (load_name, run_no)",
    "CREATE INDEX entries_at ON entries (at)",
)

# The life that an entry belonged to in the order of numbers, as the schema before counted.
_LIFE = """
UPDATE entries SET life = CASE WHEN restored_e12 IS NOT NULL THEN id ELSE (
  SELECT MAX(b.id) FROM entries b
  WHERE b.piece = entries.piece AND b.restored_e12 IS NOT NULL
    AND (b.id < COALESCE(entries.reverses, entries.id) OR b.id = entries.piece)) END
"""

_VIEWS = (
    # The last restoring of each piece that has not been reversed.
    f"""
CREATE VIEW restores AS
SELECT e.piece AS piece, MAX(e.id) AS entry
FROM entries e
WHERE e.restored_e12 IS NOT NULL AND {_STANDS.format("e")}
GROUP BY e.piece
""",
    # What is in a pocket: mounted there, nothing mounted there since, the piece nowhere else
    # since, and not retired. Mounts without a machine, of before there were several, are in
    # the way of every machine's.
    f"""
CREATE VIEW mounts AS
SELECT m.piece AS piece, m.pocket AS pocket, m.machine AS machine
FROM entries m
WHERE m.kind = 'mounted' AND m.pocket IS NOT NULL AND {_STANDS.format("m")}
  AND NOT EXISTS (
    SELECT 1 FROM entries n
    WHERE n.kind = 'mounted' AND n.piece = m.piece AND n.id > m.id AND {_STANDS.format("n")})
  AND NOT EXISTS (
    SELECT 1 FROM entries o
    WHERE o.kind = 'mounted' AND o.pocket = m.pocket AND o.id > m.id
      AND (o.machine = m.machine OR o.machine IS NULL OR m.machine IS NULL)
      AND {_STANDS.format("o")})
  AND NOT EXISTS (
    SELECT 1 FROM entries r
    WHERE r.kind = 'retired' AND r.piece = m.piece AND {_STANDS.format("r")})
""",
    # An entry counts in the life it belongs to, and with all of a piece when that life's
    # beginning was reversed; a reversal counts where what it undoes counts, with the opposite
    # sign. So a balance is a plain sum over entries.
    f"""
CREATE VIEW balances AS
SELECT p.id AS piece, p.serial AS serial, p.tool AS tool, p.profile AS profile,
  p.at AS received_at, p.price_e6 AS price_e6, p.currency AS price_currency,
  p.supplier AS supplier, p.batch AS batch,
  s.id AS restored_entry, s.at AS restored_at, s.restored_e12 AS restored_e12,
  (SELECT d.diameter_nm FROM entries d
   WHERE d.piece = p.id AND d.diameter_nm IS NOT NULL AND {_STANDS.format("d")}
   ORDER BY d.at DESC, d.id DESC LIMIT 1) AS diameter_nm,
  (SELECT t.reason FROM entries t
   WHERE t.piece = p.id AND t.kind = 'retired' AND {_STANDS.format("t")}) AS reason,
  (SELECT m.pocket FROM mounts m WHERE m.piece = p.id) AS pocket,
  (SELECT m.machine FROM mounts m WHERE m.piece = p.id) AS machine,
  EXISTS (SELECT 1 FROM entries m
   WHERE m.piece = p.id AND m.kind = 'mounted' AND {_STANDS.format("m")}) AS was_mounted,
  COALESCE(SUM(CASE WHEN e.kind = 'used' THEN 1
    WHEN e.kind = 'reversed' AND u.kind = 'used' THEN -1 ELSE 0 END), 0) AS runs,
  COALESCE(SUM(CASE WHEN e.kind = 'dressed' THEN 1
    WHEN e.kind = 'reversed' AND u.kind = 'dressed' THEN -1 ELSE 0 END), 0) AS dressings,
  MIN(CASE WHEN e.cost_e6 IS NOT NULL THEN e.currency END) AS currency_first,
  MAX(CASE WHEN e.cost_e6 IS NOT NULL THEN e.currency END) AS currency_last,
  {", ".join(f"SUM(e.{name}) AS {name}" for name in _WHOLE)}
FROM entries p
JOIN restores r ON r.piece = p.id
JOIN entries s ON s.id = r.entry
LEFT JOIN entries e ON e.piece = p.id AND e.life >= r.entry
LEFT JOIN entries u ON u.id = e.reverses
WHERE p.kind = 'received'
GROUP BY p.id, p.serial, p.tool, p.profile, p.at, p.price_e6, p.currency, p.supplier, p.batch,
  s.id, s.at, s.restored_e12
""",
)

# A run that is in the books with an entry that was not reversed.
_POSTED = (
    "EXISTS (SELECT 1 FROM runs x JOIN entries e ON e.run = x.id "
    "WHERE x.load_name = NEW.load_name AND x.run_no = NEW.run_no AND x.id <> NEW.id "
    "AND (x.machine = NEW.machine OR x.machine IS NULL OR NEW.machine IS NULL) "
    f"AND {_STANDS.format('e').replace('entries x', 'entries y').replace('x.reverses', 'y.reverses')})"
)

_SQLITE_GUARDS = (
    *(
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END"
        for table in ("runs", "entries")
        for verb in ("UPDATE", "DELETE")
    ),
    # Also keeps INSERT OR REPLACE from taking an entry's place.
    *(
        f"CREATE TRIGGER {table}_next BEFORE INSERT ON {table} "
        f"WHEN NEW.id IS NOT (SELECT COALESCE(MAX(id), 0) + 1 FROM {table}) "
        f"BEGIN SELECT RAISE(ABORT, 'the ledger has no gaps'); END"
        for table in ("runs", "entries")
    ),
    (
        "CREATE TRIGGER entries_reversed_once BEFORE INSERT ON entries "
        "WHEN EXISTS (SELECT 1 FROM entries x WHERE x.reverses = NEW.reverses) "
        "BEGIN SELECT RAISE(ABORT, 'an entry is reversed once'); END"
    ),
    (
        f"CREATE TRIGGER runs_once BEFORE INSERT ON runs WHEN {_POSTED} "
        "BEGIN SELECT RAISE(ABORT, 'a run is posted once'); END"
    ),
)

_POSTGRES_GUARDS = (
    (
        "CREATE FUNCTION ledger_run_once() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN IF {_POSTED} THEN RAISE EXCEPTION 'a run is posted once'; END IF; "
        "RETURN NEW; END $$"
    ),
    (
        "CREATE TRIGGER runs_once BEFORE INSERT ON runs "
        "FOR EACH ROW EXECUTE FUNCTION ledger_run_once()"
    ),
    *(
        f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION ledger_append_only()"
        for table in ("runs", "entries")
    ),
)


def _drop_guards(run: Any, *, lite: bool) -> None:
    for view in ("balances", "mounts", "restores"):
        run(f"DROP VIEW {view}")
    if not lite:
        for table in ("runs", "entries"):
            run(f"DROP TRIGGER {table}_append_only ON {table}")
        return
    for table in ("runs", "entries"):
        for guard in ("no_update", "no_delete", "next"):
            run(f"DROP TRIGGER {table}_{guard}")
    run("DROP TRIGGER entries_reversed_once")
    run("DROP TRIGGER runs_once")


def _free_runs(run: Any, *, lite: bool) -> None:
    """Take away the rule that estimate, load and number make a run, and add what does."""
    if not lite:
        run("ALTER TABLE runs DROP CONSTRAINT runs_digest_load_name_run_no_key")
        for name in ("machine", "work_digest"):
            run(f"ALTER TABLE runs ADD COLUMN {name} TEXT CHECK ({name} <> '')")
        return
    # SQLite drops no constraint: the table is made anew. References are counted at the end.
    run("PRAGMA defer_foreign_keys = ON")
    run(f"CREATE TEMPORARY TABLE runs_kept AS SELECT {_KEPT} FROM runs")
    run("DROP TABLE runs")
    run(_RUNS.format(int="INTEGER", strict=" STRICT"))
    run(f"INSERT INTO runs ({_KEPT}) SELECT {_KEPT} FROM runs_kept ORDER BY id")
    run("DROP TABLE runs_kept")


def _chain(link: Connection) -> None:
    """Give every entry the hash of its content and of all before it."""
    query = text(
        "SELECT e.*, r.load_name, r.run_no, r.digest, r.actual, r.water_l_e6, "
        "r.electricity_kwh_e6 FROM entries e LEFT JOIN runs r ON r.id = e.run ORDER BY e.id"
    )
    update = text("UPDATE entries SET hash = :hash WHERE id = :id")
    last, batch = GENESIS, []
    for row in link.execute(query).mappings().all():
        last = next_hash(last, content_of(row))
        batch.append({"id": row["id"], "hash": last})
    for start in range(0, len(batch), 5000):
        link.execute(update, batch[start : start + 5000])


def upgrade() -> None:
    """Change the tables, date every entry's life, chain the entries, and guard them again."""
    link = op.get_bind()
    lite = link.dialect.name == "sqlite"
    # The driver must see the text as it stands: no colon or per cent sign is a parameter.
    run = link.exec_driver_sql
    _drop_guards(run, lite=lite)
    _free_runs(run, lite=lite)
    whole = "INTEGER" if lite else "BIGINT"
    for name, kind in _COLUMNS:
        run(f"ALTER TABLE entries ADD COLUMN {name} {kind.format(int=whole)}")
    run(_LIFE)
    _chain(link)
    for statement in (*_INDEXES, *_VIEWS, *(_SQLITE_GUARDS if lite else _POSTGRES_GUARDS)):
        run(statement)
