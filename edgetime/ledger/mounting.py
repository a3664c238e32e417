"""Pieces into pockets and out of them, one by one or by a plan of the rack."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Unpack

from sqlalchemy import Connection

from edgetime.errors import LedgerError, Where
from edgetime.ledger.days import held, refuse_late
from edgetime.ledger.doubts import doubt_before_receipt
from edgetime.ledger.entering import Entering, StampArgs
from edgetime.ledger.pieces import find_piece
from edgetime.ledger.rack import RackPocket, check_pocket, naming, piece_of, planned
from edgetime.ledger.records import Entry, Kind, Posted
from edgetime.ledger.rows import Stamp, add, clean


class Mounting(Entering):
    """Entering what is put into a rack and taken out."""

    def mount(
        self,
        piece: str,
        *,
        pocket: int | None,
        machine: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Put a piece in a pocket of a machine; whatever was there is taken out.

        Parameters
        ----------
        piece : str
            Serial; or ``tool`` or ``tool/profile`` for the oldest piece not yet used.
        pocket : int or None
            From 1; None to take the piece out of the rack.
        machine : str, optional
            Whose rack; one that is not stated may be any.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.
        """
        marked = self._stamp(**stamp)
        if pocket is not None:
            check_pocket(pocket)
        with self._store.write() as link:
            before = held(link, machine)
            found = find_piece(link, piece, model=pocket is not None)
            there = pocket is None or machine in {found.machine, None}
            if found.pocket == pocket and there:
                raise LedgerError(
                    f"{found.serial} is not in the rack."
                    if pocket is None
                    else f"{found.serial} is in pocket {pocket} already.",
                    where=Where(key=found.serial),
                    remedy="Nothing needs to be done.",
                )
            return _mounted(link, before, machine, _mount(link, found, pocket, machine, marked))

    def mount_rack(
        self,
        plan: Sequence[RackPocket],
        *,
        machine: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Bring the rack of a machine to a plan, wholly or not at all.

        Parameters
        ----------
        plan : sequence of RackPocket
            What shall be in the pockets named; others are left as they are.
        machine : str, optional
            Whose rack; one that is not stated may be any.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Returns
        -------
        Posted
            ``new`` is False when all was as planned.
        """
        marked = self._stamp(**stamp)
        posted: list[Entry] = []
        with self._store.write() as link:
            before = held(link, machine)
            for row in planned(plan):
                with naming(row.where):
                    if row.serial or row.tool:
                        found = piece_of(link, row, machine)
                        if found is not None:
                            posted += _mount(link, found, row.pocket, machine, marked)
                        continue
                    for one in held(link, machine):
                        if one.pocket == row.pocket:
                            found = find_piece(link, one.serial)
                            posted += _mount(link, found, None, machine, marked)
            return _mounted(link, before, machine, posted)


def _mount(
    link: Connection, found: Any, pocket: int | None, machine: str | None, marked: Stamp
) -> tuple[Entry, ...]:
    """Put a piece in a pocket, or take it out."""
    doubt_before_receipt(marked, found)
    refuse_late(link, marked, found.piece, pocket=pocket, machine=machine)
    row = marked.row(
        Kind.MOUNTED,
        piece=found.piece,
        pocket=pocket,
        machine=None if pocket is None or machine is None else clean(machine, "machine"),
    )
    return add(link, [row])


def _mounted(
    link: Connection, before: Sequence[Any], machine: str | None, entered: Sequence[Entry]
) -> Posted:
    """Return mounts with the pieces that came out because of them."""
    kept = {one.serial for one in held(link, machine)} | {e.serial for e in entered}
    return Posted(
        new=bool(entered),
        entries=tuple(entered),
        taken_out=tuple(one.serial for one in before if one.serial not in kept),
    )
