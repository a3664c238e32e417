"""First schema: runs, entries, and the balances as views over them.

What stands here is released and never changes: a later schema is a later revision.
"""

from __future__ import annotations

from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_WHOLE = (
    "contact_nm",
    "path_nm",
    "volume_pl",
    "wheel_pl",
    "cut_us",
    "holes",
    "area_um2",
    "share_length_e12",
    "share_volume_e12",
    "share_g_ratio_e12",
    "share_time_e12",
    "share_holes_e12",
    "share_area_e12",
    "share_any_e12",
    "cost_e6",
)
_KINDS = (
    "'received', 'mounted', 'used', 'dressed', 'reprofiled', 'measured', 'retired', "
    "'adjusted', 'reversed'"
)
_TIME = "'____-__-__T__:__:__.______Z'"

_RUNS = """
CREATE TABLE runs (
  id {int} PRIMARY KEY,
  load_name TEXT NOT NULL CHECK (load_name <> ''),
  run_no {int} NOT NULL CHECK (run_no >= 1),
  digest TEXT NOT NULL CHECK (digest <> ''),
  actual {int} NOT NULL CHECK (actual IN (0, 1)),
  water_l_e6 {int} CHECK (water_l_e6 >= 0),
  electricity_kwh_e6 {int} CHECK (electricity_kwh_e6 >= 0),
  UNIQUE (digest, load_name, run_no)
){strict}
"""

_ENTRIES = """
CREATE TABLE entries (
  id {int} PRIMARY KEY CHECK (id >= 1),
  at TEXT NOT NULL CHECK (at LIKE {time}),
  kind TEXT NOT NULL CHECK (kind IN ({kinds})),
  piece {int} NOT NULL REFERENCES entries (id),
  serial TEXT CHECK (serial <> ''),
  tool TEXT CHECK (tool <> ''),
  profile TEXT CHECK (profile <> ''),
  run {int} REFERENCES runs (id),
  reverses {int} UNIQUE REFERENCES entries (id),
  pocket {int} CHECK (pocket >= 1),
  stone TEXT CHECK (stone <> ''),
  thickness_nm {int} CHECK (thickness_nm > 0),
  diameter_nm {int} CHECK (diameter_nm > 0),
  restored_e12 {int} CHECK (restored_e12 > 0),
  reason TEXT CHECK (reason IN ('worn', 'broken', 'lost', 'early')),
  governing TEXT CHECK (governing IN ('length', 'volume', 'g-ratio', 'time', 'holes', 'area')),
  {whole},
  price_e6 {int} CHECK (price_e6 >= 0),
  currency TEXT CHECK (currency <> ''),
  who TEXT NOT NULL CHECK (who <> ''),
  note TEXT NOT NULL,
  CHECK ((kind = 'received') = (serial IS NOT NULL)),
  CHECK ((kind = 'received') = (tool IS NOT NULL)),
  CHECK ((kind = 'received') = (piece = id)),
  CHECK (kind = 'received' OR profile IS NULL),
  CHECK ((kind = 'used') = (run IS NOT NULL)),
  CHECK ((kind = 'reversed') = (reverses IS NOT NULL)),
  CHECK (reverses < id),
  CHECK (pocket IS NULL OR kind = 'mounted'),
  CHECK ((kind IN ('received', 'reprofiled')) = (restored_e12 IS NOT NULL)),
  CHECK ((kind IN ('reprofiled', 'retired')) = (reason IS NOT NULL)),
  CHECK (diameter_nm IS NOT NULL OR kind <> 'measured'),
  CHECK ((cost_e6 IS NOT NULL OR price_e6 IS NOT NULL) = (currency IS NOT NULL))
){strict}
"""

_INDEXES = (
    "CREATE INDEX entries_piece ON entries (piece, id)",
    "CREATE INDEX entries_run ON entries (run) WHERE run IS NOT NULL",
    "CREATE INDEX entries_serial ON entries (serial) WHERE serial IS NOT NULL",
    "CREATE INDEX entries_restored ON entries (piece, id) WHERE restored_e12 IS NOT NULL",
    "CREATE INDEX entries_diameter ON entries (piece, id) WHERE diameter_nm IS NOT NULL",
    "CREATE INDEX entries_mounted ON entries (piece, id) WHERE kind = 'mounted'",
    "CREATE INDEX entries_pocket ON entries (pocket, id) WHERE kind = 'mounted'",
    "CREATE INDEX entries_retired ON entries (piece, id) WHERE kind = 'retired'",
)

_STANDS = "NOT EXISTS (SELECT 1 FROM entries x WHERE x.reverses = {0}.id)"

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
    # since, and not retired.
    f"""
CREATE VIEW mounts AS
SELECT m.piece AS piece, m.pocket AS pocket
FROM entries m
WHERE m.kind = 'mounted' AND m.pocket IS NOT NULL AND {_STANDS.format("m")}
  AND NOT EXISTS (
    SELECT 1 FROM entries n
    WHERE n.kind = 'mounted' AND n.piece = m.piece AND n.id > m.id AND {_STANDS.format("n")})
  AND NOT EXISTS (
    SELECT 1 FROM entries o
    WHERE o.kind = 'mounted' AND o.pocket = m.pocket AND o.id > m.id AND {_STANDS.format("o")})
  AND NOT EXISTS (
    SELECT 1 FROM entries r
    WHERE r.kind = 'retired' AND r.piece = m.piece AND {_STANDS.format("r")})
""",
    # A reversal counts where the entry it undoes counts, with the opposite sign; so a balance
    # is a plain sum over entries.
    f"""
CREATE VIEW balances AS
SELECT p.id AS piece, p.serial AS serial, p.tool AS tool, p.profile AS profile,
  p.at AS received_at, p.price_e6 AS price_e6, p.currency AS price_currency,
  s.id AS restored_entry, s.at AS restored_at, s.restored_e12 AS restored_e12,
  (SELECT d.diameter_nm FROM entries d
   WHERE d.piece = p.id AND d.diameter_nm IS NOT NULL AND {_STANDS.format("d")}
   ORDER BY d.id DESC LIMIT 1) AS diameter_nm,
  (SELECT t.reason FROM entries t
   WHERE t.piece = p.id AND t.kind = 'retired' AND {_STANDS.format("t")}) AS reason,
  (SELECT m.pocket FROM mounts m WHERE m.piece = p.id) AS pocket,
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
LEFT JOIN entries e ON e.piece = p.id AND COALESCE(e.reverses, e.id) > r.entry
LEFT JOIN entries u ON u.id = e.reverses
WHERE p.kind = 'received'
GROUP BY p.id, p.serial, p.tool, p.profile, p.at, p.price_e6, p.currency,
  s.id, s.at, s.restored_e12
""",
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
        "CREATE TRIGGER runs_once BEFORE INSERT ON runs "
        "WHEN EXISTS (SELECT 1 FROM runs x WHERE x.digest = NEW.digest "
        "AND x.load_name = NEW.load_name AND x.run_no = NEW.run_no) "
        "BEGIN SELECT RAISE(ABORT, 'a run is posted once'); END"
    ),
)

_POSTGRES_GUARDS = (
    (
        "CREATE FUNCTION ledger_append_only() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'the ledger is append-only'; END $$"
    ),
    (
        "CREATE FUNCTION ledger_next() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ DECLARE last bigint; BEGIN "
        "IF TG_TABLE_NAME = 'runs' THEN SELECT COALESCE(MAX(id), 0) INTO last FROM runs; "
        "ELSE SELECT COALESCE(MAX(id), 0) INTO last FROM entries; END IF; "
        "IF NEW.id <> last + 1 THEN RAISE EXCEPTION 'the ledger has no gaps'; END IF; "
        "RETURN NEW; END $$"
    ),
    *(
        f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION ledger_append_only()"
        for table in ("runs", "entries")
    ),
    *(
        f"CREATE TRIGGER {table}_next BEFORE INSERT ON {table} "
        "FOR EACH ROW EXECUTE FUNCTION ledger_next()"
        for table in ("runs", "entries")
    ),
)


def upgrade() -> None:
    """Make the tables, indexes, views and guards."""
    lite = op.get_bind().dialect.name == "sqlite"
    words = {
        "int": "INTEGER" if lite else "BIGINT",
        "strict": " STRICT" if lite else "",
        "time": _TIME,
        "kinds": _KINDS,
        "whole": ",\n  ".join(f"{name} {'INTEGER' if lite else 'BIGINT'}" for name in _WHOLE),
    }
    for statement in (
        _RUNS.format(**words),
        _ENTRIES.format(**words),
        *_INDEXES,
        *_VIEWS,
        *(_SQLITE_GUARDS if lite else _POSTGRES_GUARDS),
    ):
        # The driver must see the text as it stands: no colon or per cent sign is a parameter.
        op.get_bind().exec_driver_sql(statement)
