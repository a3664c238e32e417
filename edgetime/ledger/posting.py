"""Runs: charging one to the mounted pieces, and moving a charge to the right piece."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Unpack

from edgetime.errors import LedgerError, Where
from edgetime.ledger.doubts import doubt
from edgetime.ledger.entering import Entering, StampArgs
from edgetime.ledger.pieces import find_piece
from edgetime.ledger.queries import read_entries
from edgetime.ledger.records import Entry, Posted, model_name
from edgetime.ledger.reversals import refuse_negative, undo
from edgetime.ledger.rows import add, clean
from edgetime.ledger.runs import (
    RunKey,
    charged_to,
    charges,
    moved_rows,
    new_run,
    posted_run,
    refuse_other,
    run_rows,
    same_run,
)
from edgetime.ledger.tables import entries

if TYPE_CHECKING:
    from edgetime.wear import Wear


class Posting(Entering):
    """Entering runs."""

    def post_run(
        self,
        wear: Wear,
        *,
        digest: str,
        load_name: str,
        run: int = 1,
        actual: float | Mapping[str, float] | None = None,
        work_digest: str | None = None,
        replace: bool = False,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Charge a run of a load to the pieces that are mounted for it.

        A run is known by its machine, the load's name and its number.

        Parameters
        ----------
        wear : Wear
            As :func:`edgetime.wear.compute_wear` predicts it; it names the machine.
        digest : str
            Of the estimate.
        load_name : str
            The load, as people call it.
        run : int
            Which run of this load it is, from 1.
        actual : float or mapping of str to float, optional
            Actual over predicted use: of all tools, or by piece as the load names it [-].
        work_digest : str, optional
            Of what the load's tools do, :attr:`edgetime.Estimate.work_digest`.
        replace : bool
            Reverse the run that was posted with other figures, and post it with these.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Returns
        -------
        Posted
            ``new`` is False when this run was there already; nothing was changed then.

        Raises
        ------
        LedgerError
            Nothing is mounted for a tool; the message says what to mount. Or the run was posted
            with other figures; the message says which.
        """
        marked = self._stamp(**stamp)
        load_name, digest = clean(load_name, "load name"), clean(digest, "digest")
        if run < 1:
            raise LedgerError(
                f"The run is {run}; runs count from 1.",
                where=Where(key="--run"),
                remedy="Give --run 1 for the first run.",
            )
        asked = charges(wear, actual)
        key = RunKey(machine=wear.machine or None, load_name=load_name, run_no=run)
        with self._store.write() as link:
            there = posted_run(link, key)
            undone: tuple[Entry, ...] = ()
            if there is not None:
                found = read_entries(link, entries.c.run == there.id)
                if same_run(link, there, asked, digest, work_digest):
                    return Posted(new=False, entries=found)
                if not replace:
                    raise refuse_other(link, there, key, asked)
                standing = [e.id for e in found if e.reversed_by is None]
                undone = add(link, undo(link, standing, marked))
            rows, pieces = run_rows(link, asked, marked, key.machine)
            row = new_run(link, key, asked, digest=digest, work_digest=work_digest)
            posted = (*undone, *add(link, rows, row, pieces))
            if undone:
                refuse_negative(link, [row["piece"] for row in rows])
            return Posted(new=True, entries=posted)

    def move(
        self,
        piece: str,
        to: str,
        *,
        load_name: str,
        run: int = 1,
        machine: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Move what a run charged to a wrong piece to the right one, by counter-entries.

        Measures and shares are moved as they are, to the day of the run; the cost is that of the
        right piece, by what was paid for it.

        Parameters
        ----------
        piece, to : str
            Serials: of the piece that was charged, and of the one that did the work.
        load_name, run, machine : str, int, str or None
            The run.
        **stamp
            ``who``, ``note``, ``anyway``; ``at`` is the time of the counter-entries.

        Raises
        ------
        LedgerError
            The run did not charge the piece, or the pieces are not of one tool and profile.
        """
        marked = self._stamp(**stamp)
        key = RunKey(machine=machine, load_name=load_name, run_no=run)
        with self._store.write() as link:
            wrong = find_piece(link, piece, retired=True)
            right = find_piece(link, to, retired=True)
            there = posted_run(link, key)
            charged = () if there is None else charged_to(link, there.id, wrong.piece)
            if there is None or not charged:
                raise LedgerError(
                    f"Run {run} of {load_name!r} charged nothing to {piece}.",
                    where=Where(key="--load"),
                    remedy=f"'edgetime ledger history {piece}' shows what it was used for.",
                )
            if (wrong.tool, wrong.profile) != (right.tool, right.profile):
                doubt(
                    marked,
                    f"{piece} is {model_name(wrong.tool, wrong.profile)}, {to} is "
                    f"{model_name(right.tool, right.profile)}.",
                    "TO",
                    "Name a serial of the same tool and profile.",
                )
            undone = add(link, undo(link, [row["id"] for row in charged], marked))
            rows = moved_rows(link, charged, right.piece, marked)
            moved = add(link, rows, dict(there._mapping))  # noqa: SLF001  SQLAlchemy's own name
            refuse_negative(link, [wrong.piece])
            return Posted(new=True, entries=(*undone, *moved))
