"""Counter-entries, and what they may not leave behind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, select, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import ADDED, MEASURES
from edgetime.ledger.queries import NOT_REVERSED, segments
from edgetime.ledger.records import Kind
from edgetime.ledger.rows import LAST_ENTRY, Stamp
from edgetime.ledger.tables import entries


def undo(link: Connection, ids: Sequence[int], stamp: Stamp) -> list[dict[str, Any]]:
    """Return the counter-entries to entries.

    Raises
    ------
    LedgerError
        No such entry, already reversed, itself a reversal, or other entries rest on it.
    """
    rows: list[dict[str, Any]] = []
    for number in ids:
        row = link.execute(select(entries).where(entries.c.id == number)).mappings().first()
        if row is None:
            last = link.execute(LAST_ENTRY).scalar() or 0
            raise _refused(number, "there is no such entry", f"The last entry is {last}.")
        by = link.execute(select(entries.c.id).where(entries.c.reverses == number)).scalar()
        if by is not None:
            raise _refused(number, f"it was reversed by entry {by}", "Nothing needs to be done.")
        if row["kind"] == Kind.REVERSED.value:
            raise _refused(number, "it is a reversal itself", "Enter anew what it undid.")
        if row["kind"] == Kind.RECEIVED.value:
            rest = link.execute(
                text(
                    "SELECT COUNT(*) FROM entries e WHERE e.piece = :piece AND e.id <> :piece "
                    f"AND e.kind <> 'reversed' AND {NOT_REVERSED.format('e')}"
                ),
                {"piece": number},
            ).scalar()
            if rest:
                raise _refused(
                    number,
                    f"{rest} other entries of {row['serial']} rest on its receipt",
                    "Reverse those first ('edgetime ledger history' shows them).",
                )
        opposite = {a.column: -row[a.column] for a in ADDED if row[a.column] is not None}
        rows.append(
            stamp.row(
                Kind.REVERSED,
                piece=row["piece"],
                reverses=number,
                # The counter-entry counts in the life of what it undoes.
                life=row["life"],
                stone=row["stone"],
                governing=row["governing"],
                currency=row["currency"] if row["cost_e6"] is not None else None,
                **opposite,
            )
        )
    return rows


def _refused(number: int, why: str, remedy: str) -> LedgerError:
    return LedgerError(
        f"Entry {number} cannot be reversed: {why}.",
        where=Where(key=f"entry {number}"),
        remedy=remedy,
    )


def refuse_negative(link: Connection, pieces: Sequence[int]) -> None:
    """Refuse what would leave a piece with less than nothing used in any of its lives."""
    for row in segments(link, dict.fromkeys(pieces)):
        values = row._mapping  # noqa: SLF001  SQLAlchemy's own name for it
        totals = {a.name: int(values[a.column] or 0) for a in ADDED}
        # What counts towards every measure may be negative as long as the greatest share is not.
        totals["share_any"] += max(totals[m.share] for m in MEASURES)
        short = [name for name, total in totals.items() if total < 0]
        if short:
            serial = link.execute(
                select(entries.c.serial).where(entries.c.id == row.piece)
            ).scalar()
            raise LedgerError(
                f"That would leave {serial} with less than nothing used ({', '.join(short)}).",
                where=Where(key=str(serial)),
                remedy="Reverse the adjustment first, or adjust by less "
                f"('edgetime ledger history {serial}' shows both).",
            )
