"""The day it happened: what may be entered late, and what was mounted on a day.

What is mounted, reprofiled or retired is entered in the order in which it happened, so that the
order of numbers is that of days wherever order counts. An entry that comes too late for that is
refused with what it would have changed.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import Any, Final

from sqlalchemy import Connection, Row, select, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import local_text, read_time, time_text
from edgetime.ledger.queries import NOT_REVERSED
from edgetime.ledger.rows import Stamp
from edgetime.ledger.tables import entries

_SAME_MACHINE: Final = (
    "({0}.machine = CAST(:machine AS TEXT) OR {0}.machine IS NULL "
    "OR CAST(:machine AS TEXT) IS NULL)"
)

_PIECE: Final = (
    "SELECT m.piece, p.serial, p.tool, p.profile, s.id AS life, "
    # A reprofiling's price is that of the life it begins; otherwise the piece's own counts.
    "COALESCE(s.price_e6, p.price_e6) AS price_e6, "
    "CASE WHEN s.price_e6 IS NULL THEN p.currency ELSE s.currency END AS currency "
    "FROM {mounts} m JOIN entries p ON p.id = m.piece JOIN entries s ON s.id = ("
    "SELECT MAX(b.id) FROM entries b WHERE b.piece = p.id AND b.restored_e12 IS NOT NULL "
    f"AND {NOT_REVERSED.format('b')} {{life}}) "
)

PAID_FOR: Final = (
    _PIECE.format(mounts="entries", life="AND (b.at <= :at OR b.id = b.piece)")
    + "WHERE m.id = :piece"
)
"""A piece by the number of its receipt, in the life it was in at a time."""

MOUNTED_NOW: Final = (
    _PIECE.format(mounts="mounts", life="")
    + f"WHERE {_SAME_MACHINE.format('m')} ORDER BY m.pocket, m.piece"
)
"""What is in a machine's pockets, with the life each piece is in and what was paid for it."""

MOUNTED_ON: Final = (
    _PIECE.format(mounts="entries", life="AND (b.at <= :at OR b.id = b.piece)")
    + "WHERE m.kind = 'mounted' AND m.pocket IS NOT NULL AND m.at <= :at "
    f"AND {_SAME_MACHINE.format('m')} AND {NOT_REVERSED.format('m')} "
    "AND NOT EXISTS (SELECT 1 FROM entries n WHERE n.kind = 'mounted' AND n.piece = m.piece "
    f"AND n.id > m.id AND n.at <= :at AND {NOT_REVERSED.format('n')}) "
    "AND NOT EXISTS (SELECT 1 FROM entries o WHERE o.kind = 'mounted' AND o.pocket = m.pocket "
    "AND o.id > m.id AND o.at <= :at "
    "AND (o.machine = m.machine OR o.machine IS NULL OR m.machine IS NULL) "
    f"AND {NOT_REVERSED.format('o')}) "
    "AND NOT EXISTS (SELECT 1 FROM entries r WHERE r.kind = 'retired' AND r.piece = m.piece "
    f"AND r.at <= :at AND {NOT_REVERSED.format('r')}) "
    "ORDER BY m.pocket, m.id"
)
"""The same at a time."""

_HELD: Final = (
    "SELECT m.pocket, p.serial FROM mounts m JOIN entries p ON p.id = m.piece "
    f"WHERE {_SAME_MACHINE.format('m')} ORDER BY m.pocket, m.piece"
)


def held(link: Connection, machine: str | None) -> Sequence[Row[Any]]:
    """Return what is in the pockets of a machine: ``pocket``, ``serial``."""
    return link.execute(text(_HELD), {"machine": machine}).all()


_LATER: Final = (
    "SELECT k.id, k.at, k.kind, p.serial, r.load_name, r.run_no FROM entries k "
    "JOIN entries p ON p.id = k.piece LEFT JOIN runs r ON r.id = k.run "
    "WHERE k.at > :at AND k.kind IN ('mounted', 'used', 'reprofiled', 'retired') "
    f"AND {NOT_REVERSED.format('k')} AND (k.piece = :piece {{pocket}}) ORDER BY k.at, k.id LIMIT 1"
)
_IN_POCKET: Final = (
    "OR (k.kind = 'mounted' AND k.pocket = :pocket AND "
    f"{_SAME_MACHINE.format('k')}) OR (k.kind = 'used' AND k.piece IN "
    "(SELECT m.piece FROM mounts m WHERE m.pocket = :pocket AND "
    f"{_SAME_MACHINE.format('m')}))"
)
_DID: Final = {
    "mounted": "was mounted or taken out",
    "reprofiled": "was reprofiled",
    "retired": "was retired",
}


def refuse_late(
    link: Connection,
    stamp: Stamp,
    piece: int,
    *,
    pocket: int | None = None,
    machine: str | None = None,
) -> None:
    """Refuse to enter a mount, reprofiling or retirement before what happened after it.

    Parameters
    ----------
    link : Connection
        In a write transaction.
    stamp : Stamp
        With the time that was stated.
    piece : int
        Number of its receipt.
    pocket, machine : int, str or None
        Where it is mounted.

    Raises
    ------
    LedgerError
        The piece, the pocket, or what was in the pocket has a later entry.
    """
    if not stamp.late:
        return
    query = _LATER.format(pocket="" if pocket is None else _IN_POCKET)
    values: dict[str, Any] = {"at": time_text(stamp.at), "piece": piece}
    if pocket is not None:
        values |= {"pocket": pocket, "machine": machine}
    row = link.execute(text(query), values).first()
    if row is None:
        return
    what = (
        f"run {row.run_no} of {row.load_name!r} is charged to {row.serial}"
        if row.kind == "used"
        else f"{row.serial} {_DID[row.kind]}"
    )
    raise LedgerError(
        f"After that time, on {local_text(read_time(row.at))}, {what} (entry {row.id}).",
        where=Where(key="--at"),
        remedy=_instead(link, row, piece, mounted=pocket is not None),
    )


def _instead(link: Connection, row: Row[Any], piece: int, *, mounted: bool) -> str:
    """Return what to do about a later entry."""
    if row.kind != "used":
        return (
            f"Reverse the later entry first (edgetime ledger reverse {row.id}), enter this, then "
            "enter the other again; or state a later time."
        )
    of_run = f"--load {shlex.quote(row.load_name)} --run {row.run_no}"
    serial = link.execute(select(entries.c.serial).where(entries.c.id == piece)).scalar_one()
    if mounted and serial != row.serial:
        # Reversing one entry of the run would leave the run with a tool missing.
        return (
            "State a time after the last such run, then move each run that was made with "
            f"{serial}: edgetime ledger move {row.serial} {serial} {of_run}"
        )
    return (
        f"Reverse the run first (edgetime ledger reverse {of_run}), enter this, then post the run "
        "again; or state a later time."
    )
