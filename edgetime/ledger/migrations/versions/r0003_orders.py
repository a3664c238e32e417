"""Third schema: orders to suppliers, placed, rescheduled, arrived, cancelled, closed.

What stands here is released and never changes: a later schema is a later revision.
"""

from __future__ import annotations

from typing import Any

from alembic import op

from edgetime.ledger.migrations.versions import r0001_first as first
from edgetime.ledger.migrations.versions import r0002_identity_and_chain as second

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_KINDS = f"{first._KINDS}, 'ordered', 'rescheduled', 'cancelled', 'closed'"  # noqa: SLF001  one text

# An order is an account of its own: like a receipt, its placing is the piece of its entries.
_CHECKS = (
    f"kind IN ({_KINDS})",
    "(kind = 'received') = (serial IS NOT NULL)",
    "(kind IN ('received', 'ordered')) = (tool IS NOT NULL)",
    "(kind IN ('received', 'ordered')) = (piece = id)",
    "kind IN ('received', 'ordered') OR profile IS NULL",
    "(kind = 'used') = (run IS NOT NULL)",
    "(kind = 'reversed') = (reverses IS NOT NULL)",
    "pocket IS NULL OR kind = 'mounted'",
    "(kind IN ('received', 'reprofiled')) = (restored_e12 IS NOT NULL)",
    "(kind IN ('reprofiled', 'retired')) = (reason IS NOT NULL)",
    "diameter_nm IS NOT NULL OR kind <> 'measured'",
    "(kind = 'ordered') = (order_no IS NOT NULL)",
    "(kind IN ('ordered', 'rescheduled')) = (expected IS NOT NULL)",
    "(kind IN ('ordered', 'cancelled', 'closed')) = (pieces IS NOT NULL)",
    "of_order IS NULL OR kind = 'received'",
)

_COLUMNS = (
    ("order_no", "TEXT CHECK (order_no <> '')"),
    ("of_order", "{int} REFERENCES entries (id)"),
    ("pieces", "{int} CHECK (pieces >= 0)"),
    ("expected", "TEXT CHECK (expected LIKE '____-__-__')"),
)

_ENTRIES = """
CREATE TABLE entries (
  id INTEGER PRIMARY KEY CHECK (id >= 1),
  at TEXT NOT NULL CHECK (at LIKE {time}),
  kind TEXT NOT NULL,
  piece INTEGER NOT NULL REFERENCES entries (id),
  serial TEXT CHECK (serial <> ''),
  tool TEXT CHECK (tool <> ''),
  profile TEXT CHECK (profile <> ''),
  run INTEGER REFERENCES runs (id),
  reverses INTEGER UNIQUE REFERENCES entries (id),
  pocket INTEGER CHECK (pocket >= 1),
  stone TEXT CHECK (stone <> ''),
  thickness_nm INTEGER CHECK (thickness_nm > 0),
  diameter_nm INTEGER CHECK (diameter_nm > 0),
  restored_e12 INTEGER CHECK (restored_e12 > 0),
  reason TEXT CHECK (reason IN ('worn', 'broken', 'lost', 'early')),
  governing TEXT CHECK (governing IN ('length', 'volume', 'g-ratio', 'time', 'holes', 'area')),
  {whole},
  price_e6 INTEGER CHECK (price_e6 >= 0),
  currency TEXT CHECK (currency <> ''),
  who TEXT NOT NULL CHECK (who <> ''),
  note TEXT NOT NULL,
  {more},
  CHECK (reverses < id),
  CHECK ((cost_e6 IS NOT NULL OR price_e6 IS NOT NULL) = (currency IS NOT NULL)),
  {checks}
) STRICT
"""

_INDEXES = (
    "CREATE INDEX entries_of_order ON entries (of_order) WHERE of_order IS NOT NULL",
    "CREATE INDEX entries_ordered ON entries (id) WHERE kind = 'ordered'",
)

_KIND_RULES = (
    "SELECT conname FROM pg_constraint WHERE conrelid = 'entries'::regclass AND contype = 'c' "
    "AND position('kind' in pg_get_constraintdef(oid)) > 0"
)


def _columns(*, lite: bool) -> list[str]:
    whole = "INTEGER" if lite else "BIGINT"
    return [f"{name} {kind.format(int=whole)}" for name, kind in _COLUMNS]


def _make_anew(run: Any) -> None:
    """Make the table anew with its rows: SQLite changes no rule of a table that is there."""
    second._drop_guards(run, lite=True)  # noqa: SLF001  the guards of the schema before
    # References are counted at the end of the transaction.
    run("PRAGMA defer_foreign_keys = ON")
    run("CREATE TEMPORARY TABLE entries_kept AS SELECT * FROM entries")
    kept = [row[1] for row in run("PRAGMA table_info(entries)")]
    run("DROP TABLE entries")
    more = [f"{name} {kind.format(int='INTEGER')}" for name, kind in second._COLUMNS]  # noqa: SLF001
    run(
        _ENTRIES.format(
            time=first._TIME,  # noqa: SLF001
            whole=",\n  ".join(f"{name} INTEGER" for name in first._WHOLE),  # noqa: SLF001
            more=",\n  ".join([*more, *_columns(lite=True)]),
            checks=",\n  ".join(f"CHECK ({rule})" for rule in _CHECKS),
        )
    )
    names = ", ".join(kept)
    run(f"INSERT INTO entries ({names}) SELECT {names} FROM entries_kept ORDER BY id")
    run("DROP TABLE entries_kept")
    for statement in (
        *first._INDEXES,  # noqa: SLF001
        *(index for index in second._INDEXES if "ON entries" in index),  # noqa: SLF001
        *second._VIEWS,  # noqa: SLF001
        *second._SQLITE_GUARDS,  # noqa: SLF001
    ):
        run(statement)


def upgrade() -> None:
    """Add the columns of orders, and let the rules of kinds know them."""
    link = op.get_bind()
    # The driver must see the text as it stands: no colon or per cent sign is a parameter.
    run = link.exec_driver_sql
    if link.dialect.name == "sqlite":
        _make_anew(run)
    else:
        # Views, guards and what seats are granted stay as they are.
        for (name,) in list(run(_KIND_RULES)):
            run(f'ALTER TABLE entries DROP CONSTRAINT "{name}"')
        for column in _columns(lite=False):
            run(f"ALTER TABLE entries ADD COLUMN {column}")
        for number, rule in enumerate(_CHECKS, 1):
            run(f"ALTER TABLE entries ADD CONSTRAINT entries_rule_{number} CHECK ({rule})")
    for statement in _INDEXES:
        run(statement)
