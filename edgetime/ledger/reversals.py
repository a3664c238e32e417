"""Reversing: counter-entries, and what they may not leave behind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Unpack

from sqlalchemy import Connection, select, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import ADDED, MEASURES
from edgetime.ledger.entering import Entering, StampArgs
from edgetime.ledger.queries import NOT_REVERSED, read_entries, segments
from edgetime.ledger.records import ROOTS, Kind, Posted
from edgetime.ledger.rows import LAST_ENTRY, Stamp, add
from edgetime.ledger.runs import RunKey, several
from edgetime.ledger.tables import entries, runs


class Reversing(Entering):
    """Undoing entries and runs."""

    def reverse(self, *ids: int, **stamp: Unpack[StampArgs]) -> Posted:
        """Undo entries by counter-entries; nothing is ever deleted.

        Parameters
        ----------
        *ids : int
            Numbers of entries.
        **stamp
            ``at``, ``who``, ``note``.

        Raises
        ------
        LedgerError
            No such entry, reversed already, a reversal itself, or others rest on it.
        """
        marked = self._stamp(**stamp)
        with self._store.write() as link:
            rows: list[dict[str, Any]] = []
            for number in dict.fromkeys(ids):
                rows += undo(link, [number], marked)
            added = add(link, rows) if rows else ()
            refuse_negative(link, [row["piece"] for row in rows])
            return Posted(new=bool(added), entries=added)

    def reverse_run(
        self,
        load_name: str,
        *,
        run: int = 1,
        machine: str | None = None,
        digest: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Undo all that was not yet reversed of a run.

        Parameters
        ----------
        load_name : str
            The load.
        run : int
            Which run of it.
        machine : str, optional
            On which machine, where it ran on several under one number.
        digest : str, optional
            Of its estimate, or the beginning of it, where a ledger of before holds several.
        **stamp
            ``at``, ``who``, ``note``.
        """
        key = RunKey(machine=machine, load_name=load_name, run_no=run)
        with self._store.read() as link:
            there = [
                row
                for row in link.execute(
                    select(runs).where(runs.c.load_name == load_name, runs.c.run_no == run)
                )
                if row.digest.startswith(digest or "") and machine in {None, row.machine}
            ]
            of_runs = {
                row: [
                    e.id
                    for e in read_entries(link, entries.c.run == row.id)
                    if e.reversed_by is None
                ]
                for row in there
            }
            found = [row for row, ids in of_runs.items() if ids]
        if not there:
            raise LedgerError(
                f"There is no run {run} of {load_name!r}.",
                where=Where(key="--load"),
                remedy="'edgetime ledger history' shows loads and runs.",
            )
        if not found:
            raise LedgerError(
                f"Run {run} of {load_name!r} was reversed already.",
                where=Where(key="--load"),
                remedy="Nothing needs to be done.",
            )
        if len(found) > 1:
            raise several(found, key)
        return self.reverse(*of_runs[found[0]], **stamp)


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
        if row["kind"] in ROOTS:
            rest = link.execute(
                text(
                    "SELECT COUNT(*) FROM entries e WHERE e.id <> :piece "
                    "AND (e.piece = :piece OR e.of_order = :piece) "
                    f"AND e.kind <> 'reversed' AND {NOT_REVERSED.format('e')}"
                ),
                {"piece": number},
            ).scalar()
            if rest:
                raise _refused(
                    number,
                    f"{rest} other entries of {row['serial']} rest on its receipt"
                    if row["serial"]
                    else f"{rest} other entries rest on order {row['order_no']}",
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
