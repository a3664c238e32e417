"""Finding pieces by serial or model, and giving serials to new ones."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, Row, select, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.queries import NOT_REVERSED
from edgetime.ledger.tables import entries


def standing(link: Connection, condition: str, **values: Any) -> Sequence[Row[Any]]:
    """Return the pieces that meet a condition on their receipt, in order of receipt."""
    return link.execute(
        text(
            "SELECT p.id AS piece, p.at AS received_at, p.serial, p.tool, p.profile, m.pocket, m.machine, t.reason, "
            "EXISTS (SELECT 1 FROM entries k WHERE k.piece = p.id AND k.kind = 'mounted' "
            f"AND {NOT_REVERSED.format('k')}) AS was_mounted "
            "FROM entries p LEFT JOIN mounts m ON m.piece = p.id "
            "LEFT JOIN entries t ON t.piece = p.id AND t.kind = 'retired' "
            f"AND {NOT_REVERSED.format('t')} "
            f"WHERE p.kind = 'received' AND {NOT_REVERSED.format('p')} AND {condition} "
            "ORDER BY p.id"
        ),
        values,
    ).all()


def find_piece(
    link: Connection, name: str, *, retired: bool = False, model: bool = False
) -> Row[Any]:
    """Return a piece: ``piece, serial, tool, profile, pocket, reason, was_mounted``.

    Parameters
    ----------
    link : Connection
        In a transaction.
    name : str
        Serial.
    retired : bool
        Whether a retired piece is allowed.
    model : bool
        Whether ``name`` may also be a model; the oldest unused piece is taken then.

    Raises
    ------
    LedgerError
        No such piece, or it is retired.
    """
    found = standing(link, "p.serial = :serial", serial=name)
    if not found and model:
        tool, _, profile = name.partition("/")
        same = standing(
            link,
            "p.tool = :tool AND COALESCE(p.profile, '') = :profile",
            tool=tool,
            profile=profile,
        )
        free = [row for row in same if row.pocket is None and row.reason is None]
        found = sorted(free, key=lambda row: bool(row.was_mounted))
        if same and not found:
            raise LedgerError(
                f"All {len(same)} tools of {name} are mounted or retired.",
                where=Where(key=name),
                remedy=f"Receive another: edgetime ledger receive {receive_words(name)}",
            )
    if not found:
        known = list(
            link.execute(select(entries.c.serial).where(entries.c.kind == "received")).scalars()
        )
        close = get_close_matches(name, known, n=3)
        receive = f"edgetime ledger receive {receive_words(name)}"
        raise LedgerError(
            f"There is no tool with serial {name!r} in the ledger.",
            where=Where(key=name),
            remedy=(f"Did you mean {', '.join(close)}? " if close else "")
            + "'edgetime ledger show --all' lists all tools."
            + (f" If it names a catalogue tool, receive one first: {receive}" if model else ""),
        )
    if found[0].reason is not None and not retired:
        raise LedgerError(
            f"{name} is retired ({found[0].reason}).",
            where=Where(key=name),
            remedy="If that was a mistake, reverse the entry that retired it: "
            f"'edgetime ledger history {name}' shows its number.",
        )
    return found[0]


def receive_words(model: str) -> str:
    """Return a model as ``ledger receive`` takes it."""
    tool, sign, profile = model.partition("/")
    return f"{tool} --profile {profile}" if sign else tool


def next_serials(link: Connection, model: str, count: int) -> list[str]:
    """Return serials that were never used, ``tool-001`` onward."""
    stem = model.replace("/", "-") + "-"
    taken = link.execute(
        text(
            "SELECT serial FROM entries WHERE serial IS NOT NULL AND substr(serial, 1, :n) = :stem"
        ),
        {"n": len(stem), "stem": stem},
    ).scalars()
    tails = [t[len(stem) :] for t in taken]
    last = max((int(t) for t in tails if t.isascii() and t.isdigit()), default=0)
    return [f"{stem}{number:03d}" for number in range(last + 1, last + count + 1)]


def check_serials(link: Connection, serials: Sequence[str]) -> None:
    """Refuse serials that are in the ledger, or twice in the list."""
    for at, serial in enumerate(serials):
        if serial in serials[:at] or standing(link, "p.serial = :serial", serial=serial):
            raise LedgerError(
                f"The serial {serial!r} is taken.",
                where=Where(key="--serial"),
                remedy="Give every tool its own serial; a retired tool keeps its serial.",
            )


def one_currency(link: Connection, piece: Row[Any], currency: str | None) -> None:
    """Refuse money in another currency than a piece has been paid or charged in."""
    if currency is None:
        return
    query = text(
        "SELECT DISTINCT e.currency FROM entries e WHERE e.piece = :piece "
        f"AND e.currency IS NOT NULL AND e.kind <> 'reversed' AND {NOT_REVERSED.format('e')}"
    )
    others = set(link.execute(query, {"piece": piece.piece}).scalars()) - {currency}
    if others:
        raise LedgerError(
            f"{piece.serial} is accounted for in {', '.join(sorted(others))}, not in {currency}.",
            where=Where(key="--price"),
            remedy="Convert the amount; currencies are never added.",
        )
