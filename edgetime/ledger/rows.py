"""Rows for new entries: what every one bears, and how they are written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, bindparam, func, insert, select

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import time_text
from edgetime.ledger.queries import entry_of
from edgetime.ledger.records import Entry, Kind
from edgetime.ledger.tables import ENTRY_COLUMNS, entries

_BLANK: dict[str, Any] = dict.fromkeys(ENTRY_COLUMNS)
_LONGEST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """What every entry bears: when, who, and a note."""

    at: datetime
    who: str
    note: str

    def row(self, kind: Kind, **values: Any) -> dict[str, Any]:
        """Return a row of the given kind; its number is given on writing."""
        return _BLANK | {
            "at": time_text(self.at),
            "kind": kind.value,
            "who": self.who,
            "note": self.note,
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


LAST_ENTRY = select(func.max(entries.c.id))
_INSERT_ENTRY = insert(entries)
_PIECES = select(entries.c.id, entries.c.serial, entries.c.tool, entries.c.profile).where(
    entries.c.id.in_(bindparam("ids", expanding=True))
)


def add(
    link: Connection,
    rows: Sequence[dict[str, Any]],
    run: Mapping[str, Any] | None = None,
    pieces: Mapping[int, Any] | None = None,
) -> tuple[Entry, ...]:
    """Write rows under the next numbers and return them as entries.

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
    last = link.execute(LAST_ENTRY).scalar() or 0
    for number, row in enumerate(rows, last + 1):
        row["id"] = number
        row["run"] = None if run is None else run["id"]
        if row["kind"] == Kind.RECEIVED.value:
            row["piece"] = number
    link.execute(_INSERT_ENTRY, list(rows))
    if pieces is None:
        ids = list(dict.fromkeys(row["piece"] for row in rows))
        pieces = {row.id: row for row in link.execute(_PIECES, {"ids": ids})}
    names = {
        piece: {"piece_serial": row.serial, "piece_tool": row.tool, "piece_profile": row.profile}
        for piece, row in pieces.items()
    }
    told = {name: (run or {}).get(name) for name in ("load_name", "run_no", "digest", "actual")}
    return tuple(entry_of(row | told | names[row["piece"]] | {"reversed_by": None}) for row in rows)
