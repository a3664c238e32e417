"""Rows for new entries: what every one bears, and how they are written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, bindparam, select, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import BY_NAME, CONSUMED, time_text
from edgetime.ledger.chain import COLUMNS, GENESIS, contents_of, next_hash, run_part
from edgetime.ledger.queries import NOT_REVERSED, entry_of
from edgetime.ledger.records import ACTUAL, ORDER_KINDS, ROOTS, Entry, Kind
from edgetime.ledger.tables import ENTRY_COLUMNS, entries

_BLANK: dict[str, Any] = dict.fromkeys(ENTRY_COLUMNS)
_LONGEST = 200


def marked(*, anyway: bool, factor: float | None = None) -> str | None:
    """Return the mark of an entry: that doubts did not count, and actual over predicted use."""
    words = ["anyway"] * anyway + ([] if factor is None else [f"{ACTUAL}{factor!r}"])
    return " ".join(words) or None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """What every entry bears: when, who, and a note.

    ``late`` when its time was stated, ``anyway`` when it is entered in spite of doubts.
    """

    at: datetime
    who: str
    note: str
    late: bool = False
    anyway: bool = False

    def row(self, kind: Kind, **values: Any) -> dict[str, Any]:
        """Return a row of the given kind; its number is given on writing."""
        return _BLANK | {
            "at": time_text(self.at),
            "kind": kind.value,
            "who": self.who,
            "note": self.note,
            "late": self.late,
            "mark": marked(anyway=self.anyway),
            **values,
        }


def clean(value: str, key: str, *, empty: bool = False, longest: int = _LONGEST) -> str:
    """Return a text that every database and export keeps as it is.

    Parameters
    ----------
    value : str
        Any text.
    key : str
        What it is, for the message.
    empty : bool
        Whether it may be empty.
    longest : int
        Most characters.

    Raises
    ------
    LedgerError
        Empty, too long, or not printable.
    """
    tidy = value.strip()
    if tidy.isprintable() and len(tidy) <= longest and (tidy or empty):
        return tidy
    what = "empty" if not tidy else ("too long" if tidy.isprintable() else "not printable")
    raise LedgerError(
        f"The {key} is {what}: {tidy[:40]!r}.",
        where=Where(key=key),
        remedy=f"Give one line of at most {longest} printable characters.",
    )


def diameter_columns(diameter_mm: float | None) -> dict[str, int | None]:
    """Return the columns of a diameter [mm]; refuse one that no tool has."""
    if diameter_mm is None:
        return {}
    if not 0.0 < diameter_mm <= 10_000.0:
        raise LedgerError(
            f"The diameter is {diameter_mm} mm; above 0 to 10000 mm is allowed.",
            where=Where(key="--diameter"),
            remedy="Give the diameter in millimetres.",
        )
    return {"diameter_nm": BY_NAME["diameter_mm"].store(diameter_mm)}


def price_columns(price: Decimal | None, currency: str | None) -> dict[str, Any]:
    """Return the columns of a price; refuse one below 0 or without a currency."""
    if price is None:
        return {}
    if not currency or price < 0:
        raise LedgerError(
            f"The price is {price} {currency or 'without a currency'}.",
            where=Where(key="--price"),
            remedy="Give an amount of 0 or more with its currency, such as 60.00EUR.",
        )
    return {"price_e6": BY_NAME["price"].store(price), "currency": clean(currency, "currency")}


LAST_ENTRY = select(entries.c.id, entries.c.hash).order_by(entries.c.id.desc()).limit(1)
"""Number and hash of the last entry."""

_PIECES = select(
    entries.c.id, entries.c.serial, entries.c.tool, entries.c.profile, entries.c.order_no
).where(entries.c.id.in_(bindparam("ids", expanding=True)))
_LIVES = text(
    "SELECT b.piece, MAX(b.id) AS life FROM entries b WHERE b.piece IN :ids "
    "AND b.restored_e12 IS NOT NULL AND (b.at <= :at OR b.id = b.piece) "
    f"AND {NOT_REVERSED.format('b')} GROUP BY b.piece"
).bindparams(bindparam("ids", expanding=True))
_OF_RUN = ("load_name", "run_no", "digest", "work_digest", "actual", *(a.column for a in CONSUMED))


def add(
    link: Connection,
    rows: Sequence[dict[str, Any]],
    run: Mapping[str, Any] | None = None,
    pieces: Mapping[int, Any] | None = None,
) -> tuple[Entry, ...]:
    """Write rows under the next numbers and return them as entries.

    Each gets the hash that chains it to the one before. One that says nothing of a life belongs
    to the life that its piece was in on its day.

    Parameters
    ----------
    link : Connection
        In a write transaction.
    rows : sequence of dict
        From :meth:`Stamp.row`; their numbers are filled in.
    run : mapping, optional
        The row of the run they belong to.
    pieces : mapping of int to Row, optional
        The pieces' names, where they are known: ``serial``, ``tool``, ``profile``.
    """
    last, before = link.execute(LAST_ENTRY).first() or (0, GENESIS)
    of_run = {name: (run or {}).get(name) for name in _OF_RUN}
    of_run["run_machine"] = (run or {}).get("machine")
    lives = _lives(link, rows)
    rows = [{name: value for name, value in row.items() if name != "late"} for row in rows]
    for number, row in enumerate(rows, last + 1):
        row["id"] = number
        row["run"] = None if run is None else run["id"]
        if row["kind"] in ROOTS:
            row["piece"] = number
        if row["restored_e12"] is not None:
            row["life"] = number
        elif row["life"] is None:
            # An order has no life.
            row["life"] = lives.get(row["piece"])
    part = None if run is None else run_part(run)
    columns = [[row[name] for name in COLUMNS] for row in rows]
    for row, content in zip(rows, contents_of(columns, [part] * len(rows)), strict=True):
        before = row["hash"] = next_hash(before, content)
    _insert(link, rows)
    if pieces is None:
        ids = list(dict.fromkeys(row["piece"] for row in rows))
        pieces = {row.id: row for row in link.execute(_PIECES, {"ids": ids})}
    names = {
        piece: {"piece_serial": row.serial, "piece_tool": row.tool, "piece_profile": row.profile}
        for piece, row in pieces.items()
    }
    orders = _order_numbers(link, rows)
    return tuple(
        entry_of(
            row
            | of_run
            | names[row["piece"]]
            | {"reversed_by": None, "order_number": orders.get(row["of_order"] or row["piece"])}
        )
        for row in rows
    )


def _order_numbers(link: Connection, rows: Sequence[dict[str, Any]]) -> dict[int, str]:
    """Return the order numbers of rows of orders, by the entries that placed them."""
    ids = {
        row["of_order"] or row["piece"]
        for row in rows
        if row["of_order"] is not None or row["kind"] in ORDER_KINDS or row["life"] is None
    }
    found = link.execute(_PIECES, {"ids": sorted(ids)}) if ids else ()
    return {row.id: row.order_no for row in found if row.order_no is not None}


def _insert(link: Connection, rows: Sequence[dict[str, Any]]) -> None:
    """Write rows as the driver takes them: a run's five rows are half as quick by name."""
    place = "?" if link.dialect.paramstyle == "qmark" else "%s"
    places = ", ".join([place] * len(ENTRY_COLUMNS))
    statement = f"INSERT INTO entries ({', '.join(ENTRY_COLUMNS)}) VALUES ({places})"
    link.exec_driver_sql(statement, [tuple(row[name] for name in ENTRY_COLUMNS) for row in rows])


def _lives(link: Connection, rows: Sequence[dict[str, Any]]) -> dict[int, int]:
    """Return the life that each piece was in on the day of the rows, which is one day."""
    ids = {row["piece"] for row in rows if row["restored_e12"] is None and row["life"] is None}
    if not ids:
        return {}
    # What happens now happens in the present life, whatever another seat's clock shows.
    at = rows[0]["at"] if rows[0]["late"] else "9"
    found = link.execute(_LIVES, {"ids": sorted(ids), "at": at})
    return {row.piece: row.life for row in found}
