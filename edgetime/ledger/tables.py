"""The tables and views as SQLAlchemy sees them; :mod:`edgetime.ledger.migrations` makes them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import BigInteger, Column, MetaData, Table, Text

from edgetime.ledger.amounts import ADDED, AMOUNTS, CONSUMED

metadata = MetaData()

runs = Table(
    "runs",
    metadata,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("load_name", Text),
    Column("run_no", BigInteger),
    Column("machine", Text),
    Column("digest", Text),
    Column("work_digest", Text),
    Column("actual", BigInteger),
    *(Column(a.column, BigInteger) for a in CONSUMED),
)

_TEXTS = {
    "at", "kind", "serial", "tool", "profile", "stone", "reason", "governing", "machine",
    "supplier", "batch", "mark", "order_no", "expected", "received_at", "restored_at",
    "price_currency", "currency_first", "currency_last",
}  # fmt: skip
_WORDS = (
    "at",
    "kind",
    "piece",
    "serial",
    "tool",
    "profile",
    "run",
    "reverses",
    "pocket",
    "stone",
    "reason",
    "governing",
    "life",
    "machine",
    "supplier",
    "batch",
    "mark",
    "order_no",
    "of_order",
    "pieces",
    "expected",
)


def _columns(*names: str) -> Iterator[Column[Any]]:
    """Return columns: texts, the others whole numbers."""
    return (Column(name, Text if name in _TEXTS else BigInteger) for name in names)


entries = Table(
    "entries",
    metadata,
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    *_columns(*_WORDS),
    *(Column(a.column, BigInteger) for a in AMOUNTS),
    Column("currency", Text),
    Column("who", Text),
    Column("note", Text),
    Column("hash", Text),
)

ENTRY_COLUMNS = tuple(column.name for column in entries.columns)

mounts = Table(
    "mounts",
    metadata,
    Column("piece", BigInteger),
    Column("pocket", BigInteger),
    Column("machine", Text),
)

balances = Table(
    "balances",
    metadata,
    *_columns(
        "piece",
        "serial",
        "tool",
        "profile",
        "received_at",
        "price_e6",
        "price_currency",
        "restored_entry",
        "restored_at",
        "restored_e12",
        "diameter_nm",
        "reason",
        "pocket",
        "machine",
        "supplier",
        "batch",
        "was_mounted",
        "runs",
        "dressings",
        "currency_first",
        "currency_last",
    ),
    *(Column(a.column, BigInteger) for a in ADDED),
)
