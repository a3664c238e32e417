"""From rows of the database to the records of :mod:`edgetime.ledger.records`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Row, Select, func, select, text

from edgetime.ledger.amounts import ADDED, AMOUNTS, BY_NAME, CONSUMED, MEASURES, read_time
from edgetime.ledger.records import Entry, Kind, LifeRecord, PieceBalance, Reason, State, Used
from edgetime.ledger.stated import Stated, add_shares, shares
from edgetime.ledger.tables import ENTRY_COLUMNS, balances, entries, runs

NOT_REVERSED = "NOT EXISTS (SELECT 1 FROM entries x WHERE x.reverses = {0}.id)"

_E12 = 10**12

_piece = entries.alias("p")
_undo = entries.alias("u")
_order = entries.alias("o")


def stored_entries(*more: Any) -> Select[Any]:
    """Return the query for entries with their piece and run, and further columns."""
    return (
        select(
            entries,
            _piece.c.serial.label("piece_serial"),
            _piece.c.tool.label("piece_tool"),
            _piece.c.profile.label("piece_profile"),
            runs.c.load_name,
            runs.c.run_no,
            runs.c.digest,
            runs.c.work_digest,
            runs.c.machine.label("run_machine"),
            runs.c.actual,
            *(runs.c[a.column] for a in CONSUMED),
            *more,
        )
        .join(_piece, _piece.c.id == entries.c.piece)
        .outerjoin(runs, runs.c.id == entries.c.run)
        .order_by(entries.c.id)
    )


def entry_select() -> Select[Any]:
    """Return the query for entries with their piece, run, order and reversal."""
    order = func.coalesce(_piece.c.order_no, _order.c.order_no).label("order_number")
    return (
        stored_entries(_undo.c.id.label("reversed_by"), order)
        .outerjoin(_undo, _undo.c.reverses == entries.c.id)
        .outerjoin(_order, _order.c.id == entries.c.of_order)
    )


_AS_STORED = tuple(
    f.name
    for f in fields(Entry)
    if f.name in {*ENTRY_COLUMNS, "digest", "work_digest", "reversed_by"}
)


def entry_of(row: Mapping[Any, Any]) -> Entry:
    """Return an entry from a row as :func:`entry_select` gives it."""
    amounts: dict[str, Decimal] = {}
    for amount in AMOUNTS:
        stored = row[amount.column]
        if stored is not None:
            amounts[amount.name] = Decimal(stored).scaleb(-amount.digits)
    # A piece's names are those of its receipt, and a run has a number and a machine of its own.
    values = {name: row[name] for name in _AS_STORED} | {
        "at": read_time(row["at"]),
        "kind": Kind(row["kind"]),
        "serial": row["piece_serial"],
        "tool": row["piece_tool"],
        "profile": row["piece_profile"],
        "load": row["load_name"],
        "run": row["run_no"],
        "machine": row["run_machine"] or row["machine"],
        "actual": None if row["actual"] is None else bool(row["actual"]),
        "reason": None if row["reason"] is None else Reason(row["reason"]),
        "order": row["order_number"],
        "expected": None if row["expected"] is None else date.fromisoformat(row["expected"]),
    }
    return Entry(amounts=amounts, **values)


def read_entries(link: Connection, *conditions: Any, last: int | None = None) -> tuple[Entry, ...]:
    """Read entries in their order.

    Parameters
    ----------
    link : Connection
        In a transaction.
    *conditions
        SQLAlchemy conditions on :data:`edgetime.ledger.tables.entries`.
    last : int, optional
        Only the latest so many.
    """
    query = entry_select().where(*conditions)
    if last is None:
        return tuple(map(entry_of, link.execute(query).mappings()))
    query = query.order_by(None).order_by(entries.c.id.desc()).limit(last)
    return tuple(map(entry_of, reversed(link.execute(query).mappings().all())))


def _used(row: Any) -> tuple[tuple[Used, ...], str | None, int | None]:
    """Return use by measure, the governing measure, and the greatest share [10⁻¹²]."""
    common = row["share_any_e12"]
    used: list[Used] = []
    best: tuple[int, str] | None = None
    for measure in MEASURES:
        amount, share = BY_NAME[measure.used], BY_NAME[measure.share]
        own = row[share.column]
        total = None if own is None else int(own) + int(common or 0)
        used.append(
            Used(
                by=measure.by,
                used=int(row[amount.column] or 0) / 10**amount.digits,
                unit=measure.unit,
                share=None if total is None else total / _E12,
            )
        )
        if total is not None and (best is None or total > best[0]):
            best = (total, measure.by)
    if best is None:
        return tuple(used), None, None if common is None else int(common)
    return tuple(used), best[1], best[0]


def _balance(row: Row[Any], today: Mapping[int, dict[str, int | None]] | None) -> PieceBalance:
    values: Mapping[Any, Any] = row._mapping  # noqa: SLF001  SQLAlchemy's own name for it
    if today is not None:
        values = dict(values) | _between(today, row.restored_entry, None)
    used, governing, share = _used(values)
    if share is None and not row.runs:
        share = 0
    restored = int(row.restored_e12)
    pure = row.currency_first == row.currency_last
    currency = row.currency_first or row.price_currency
    if row.reason is not None:
        state = State.RETIRED
    elif row.pocket is not None:
        state = State.MOUNTED
    else:
        state = State.SHELF if row.was_mounted or row.runs else State.NEW
    if row.price_e6 is not None and row.currency_first is not None:
        pure = pure and row.currency_first == row.price_currency
    cost = None if row.cost_e6 is None else Decimal(int(row.cost_e6)).scaleb(-6)
    return PieceBalance(
        serial=row.serial,
        tool=row.tool,
        profile=row.profile,
        state=state,
        pocket=row.pocket,
        reason=None if row.reason is None else Reason(row.reason),
        used=used,
        governing=governing,
        share=None if share is None else share / _E12,
        adjusted=int(row.share_any_e12 or 0) / _E12,
        restored=restored / _E12,
        # Subtracted as whole numbers: one rounding, not two.
        remaining=None if share is None else (restored - share) / _E12,
        runs=int(row.runs),
        dressings=int(row.dressings),
        path_mm=int(row.path_nm or 0) / 10**6,
        diameter_mm=BY_NAME["diameter_mm"].plain(row.diameter_nm),
        machine=row.machine,
        supplier=row.supplier,
        batch=row.batch,
        price=BY_NAME["price"].exact(row.price_e6),
        price_currency=row.price_currency,
        cost=cost if pure else None,
        currency=currency,
        received_at=read_time(row.received_at),
        restored_at=read_time(row.restored_at),
    )


def _between(
    today: Mapping[int, dict[str, int | None]], first: int, end: int | None
) -> dict[str, int | None]:
    """Return the shares of the lives from one beginning to before another, added up."""
    sums: dict[str, int | None] = {}
    for life, columns in today.items():
        if life >= first and (end is None or life < end):
            add_shares(sums, columns)
    return sums


def read_balances(
    link: Connection, *conditions: Any, stated: Stated | None = None
) -> tuple[PieceBalance, ...]:
    """Read balances in the order of receipt.

    Parameters
    ----------
    link : Connection
        In a transaction.
    *conditions
        SQLAlchemy conditions on :data:`edgetime.ledger.tables.balances`.
    stated : callable, optional
        The lives stated today; otherwise shares are as they were stated when entered.
    """
    query = select(balances).where(*conditions).order_by(balances.c.piece)
    rows = link.execute(query).all()
    if stated is None:
        return tuple(_balance(row, None) for row in rows)
    pieces = [row.piece for row in rows] if conditions else None
    today = shares(link, stated, pieces)
    return tuple(_balance(row, today.get(row.piece, {})) for row in rows)


_SEGMENTS = f"""
SELECT l.piece, l.id AS began, l.at AS began_at, l.upto,
  (SELECT n.at FROM entries n WHERE n.id = l.upto) AS upto_at,
  (SELECT n.reason FROM entries n WHERE n.id = l.upto) AS upto_reason,
  MIN(CASE WHEN e.kind = 'used' AND {NOT_REVERSED.format("e")} THEN e.stone END) AS stone_first,
  MAX(CASE WHEN e.kind = 'used' AND {NOT_REVERSED.format("e")} THEN e.stone END) AS stone_last,
  {", ".join(f"SUM(e.{a.column}) AS {a.column}" for a in ADDED)}
FROM (
  SELECT b.piece, b.id, b.at, (
    SELECT MIN(n.id) FROM entries n
    WHERE n.piece = b.piece AND n.restored_e12 IS NOT NULL AND n.id > b.id
      AND {NOT_REVERSED.format("n")}) AS upto
  FROM entries b
  WHERE b.restored_e12 IS NOT NULL AND {NOT_REVERSED.format("b")} {{where}}
) l
LEFT JOIN entries e ON e.piece = l.piece AND e.life >= l.id
  AND (l.upto IS NULL OR e.life < l.upto)
GROUP BY l.piece, l.id, l.at, l.upto
ORDER BY l.id
"""


def segments(link: Connection, pieces: Iterable[int] | None = None) -> Sequence[Row[Any]]:
    """Read what was used in each life, from one restoring to the next.

    Parameters
    ----------
    link : Connection
        In a transaction.
    pieces : iterable of int, optional
        Numbers of receipts; otherwise all.
    """
    if pieces is None:
        return link.execute(text(_SEGMENTS.format(where=""))).all()
    found: list[Row[Any]] = []
    for piece in pieces:
        query = text(_SEGMENTS.format(where="AND b.piece = :piece"))
        found += link.execute(query, {"piece": piece}).all()
    return found


def read_lives(link: Connection, stated: Stated | None = None) -> tuple[LifeRecord, ...]:
    """Read every life there was, and those still running.

    Parameters
    ----------
    link : Connection
        In a transaction.
    stated : callable, optional
        The lives stated today; otherwise shares are as they were stated when entered.
    """
    today = {} if stated is None else shares(link, stated)
    names = {
        row.piece: row
        for row in link.execute(
            text(
                "SELECT p.id AS piece, p.serial, p.tool, p.profile, t.at, t.reason "
                "FROM entries p LEFT JOIN entries t ON t.piece = p.id AND t.kind = 'retired' "
                f"AND {NOT_REVERSED.format('t')} WHERE p.kind = 'received'"
            )
        )
    }
    found: list[LifeRecord] = []
    for row in segments(link):
        piece = names[row.piece]
        last = row.upto is None
        reason = piece.reason if last else row.upto_reason
        ended_at = piece.at if last else row.upto_at
        values: Mapping[Any, Any] = row._mapping  # noqa: SLF001  SQLAlchemy's own name
        if stated is not None:
            values = dict(values) | _between(today.get(row.piece, {}), row.began, row.upto)
        used, governing, share = _used(values)
        by = next((u for u in used if u.by == governing), None)
        found.append(
            LifeRecord(
                serial=piece.serial,
                tool=piece.tool,
                profile=piece.profile,
                stone=row.stone_first if row.stone_first == row.stone_last else None,
                measure=governing,
                used=by.used if by is not None else 0.0,
                unit=by.unit if by is not None else "",
                share=None if share is None else share / _E12,
                ended=None if reason in {None, "early"} else reason,
                began_at=read_time(row.began_at),
                ended_at=None if ended_at is None else read_time(ended_at),
            )
        )
    return tuple(found)
