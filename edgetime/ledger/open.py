"""The ledger: open it, enter what happened, ask what is left."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection
from contextlib import closing
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from sqlalchemy import func, select

from edgetime.choices import ReportBy
from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import as_utc, time_text
from edgetime.ledger.audit import audit_books
from edgetime.ledger.chain import GENESIS
from edgetime.ledger.export import export_text, import_text
from edgetime.ledger.mounting import Mounting
from edgetime.ledger.ordering import Ordering
from edgetime.ledger.orders import OrderBalance, read_orders
from edgetime.ledger.piece_events import PieceEvents
from edgetime.ledger.pieces import find_piece
from edgetime.ledger.posting import Posting
from edgetime.ledger.queries import read_balances, read_entries, read_lives
from edgetime.ledger.receiving import Receiving
from edgetime.ledger.records import AuditReport, Entry, LifeRecord, PieceBalance, State
from edgetime.ledger.report import LedgerReport
from edgetime.ledger.report_sums import ledger_report
from edgetime.ledger.reversals import Reversing
from edgetime.ledger.rows import LAST_ENTRY
from edgetime.ledger.schema import copy_database, prepare
from edgetime.ledger.stated import Stated, stated_by
from edgetime.ledger.store import WAIT_S, Store, locate, plainly
from edgetime.ledger.tables import balances, entries, runs

if TYPE_CHECKING:
    from edgetime.tooling import Catalogue


placed = entries.alias("placed")


def open_ledger(
    where: str | Path | None = None,
    *,
    shop: Path | None = None,
    create: bool = True,
    wait_s: float = WAIT_S,
    catalogue: Catalogue | None = None,
) -> Ledger:
    """Open a ledger, make a new one, or bring an older one to the newest schema.

    Parameters
    ----------
    where : str, Path or None
        A SQLite file or an address such as ``postgresql://user@host/database``; otherwise
        ``ledger.sqlite`` in the shop folder.
    shop : Path or None
        The shop folder.
    create : bool
        Make a new ledger when there is none.
    wait_s : float
        How long to wait for other writers [s].
    catalogue : Catalogue, optional
        The shop's tools and stones: shares of life are by the lives it states. Otherwise they
        are as they were stated when the runs were entered.

    Returns
    -------
    Ledger
        Close it, or use it in a ``with`` statement.

    Raises
    ------
    LedgerError
        It cannot be read or written, is damaged, or a newer release wrote it.
    """
    store = Store(locate(where, shop), wait_s=wait_s)
    try:
        copy = prepare(store, create=create)
    except BaseException:
        store.close()
        raise
    return Ledger(
        store,
        safety_copy=copy,
        stated=None if catalogue is None else stated_by(catalogue),
    )


class Ledger(Receiving, Ordering, Mounting, PieceEvents, Posting, Reversing):
    """An open ledger; see :func:`open_ledger`.

    Every method that enters something takes ``at`` (UTC or with a zone, now when omitted),
    ``who`` (the user's name when omitted) and ``note``, and returns :class:`Posted`. What it
    enters is wholly in the ledger when it returns, and wholly out when it raises.

    Attributes
    ----------
    name : str
        File or address, without a password.
    safety_copy : Path or None
        The copy of the older ledger, when opening it migrated it.
    """

    def __init__(
        self, store: Store, *, safety_copy: Path | None = None, stated: Stated | None = None
    ) -> None:
        super().__init__(store)
        self._stated = stated
        self.name = store.name
        self.safety_copy = safety_copy

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the database's connections back."""
        self._store.close()

    def balances(self, piece: str | None = None) -> tuple[PieceBalance, ...]:
        """Return the account of every piece, or of one serial."""
        with self._store.read() as link:
            if piece is None:
                return read_balances(link, stated=self._stated)
            number = find_piece(link, piece, retired=True).piece
            return read_balances(link, balances.c.piece == number, stated=self._stated)

    def balances_of(self, serials: Collection[str]) -> tuple[PieceBalance, ...]:
        """Return the balances of some serials, by serial; of a reversed receipt there is none."""
        with self._store.read() as link:
            found = read_balances(link, balances.c.serial.in_(serials), stated=self._stated)
        return tuple(sorted(found, key=lambda b: b.serial))

    def working(self, machine: str | None) -> dict[str, PieceBalance]:
        """Return the pieces that a run on a machine is charged to, by ``tool`` or ``tool/profile``.

        Of several alike, the lowest pocket works. A machine that was not stated may be any.
        """
        found: dict[str, PieceBalance] = {}
        for one in sorted(self.balances(), key=lambda b: b.pocket or 0):
            here = machine is None or one.machine in {machine, None}
            if one.state is State.MOUNTED and here:
                found.setdefault(one.model, one)
        return found

    def orders(
        self, number: str | None = None, *, today: date | None = None
    ) -> tuple[OrderBalance, ...]:
        """Return the account of every line of every order, or of one order number.

        Parameters
        ----------
        number : str, optional
            Order number.
        today : date, optional
            The day by which an order is late; this computer's when omitted.
        """
        with self._store.read() as link:
            if number is None:
                return read_orders(link, today=today)
            return read_orders(link, "AND o.order_no = :number", today=today, number=number)

    def lives(self) -> tuple[LifeRecord, ...]:
        """Return every life, ended or still in service, for a fit of how long tools last."""
        with self._store.read() as link:
            return read_lives(link, self._stated)

    def on_hand(self, tool: str) -> int:
        """Return how many new, unmounted pieces there are of ``tool`` or ``tool/profile``."""
        return sum(b.state is State.NEW and tool in {b.model, b.tool} for b in self.balances())

    def history(
        self,
        piece: str | None = None,
        *,
        load: str | None = None,
        order: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
        last: int | None = None,
    ) -> tuple[Entry, ...]:
        """Return entries in their order.

        Parameters
        ----------
        piece : str, optional
            Only of this serial.
        load : str, optional
            Only of this load.
        order : str, optional
            Only of this order number, with what arrived of it.
        since, until : datetime, optional
            Only what happened at the first or later, and before the second; with a time zone.
        last : int, optional
            Only the latest so many.
        """
        with self._store.read() as link:
            conditions: list[Any] = []
            if piece is not None:
                number = find_piece(link, piece, retired=True).piece
                conditions.append(entries.c.piece == number)
            if load is not None:
                conditions.append(runs.c.load_name == load)
            if order is not None:
                lines = select(placed.c.id).where(placed.c.order_no == order)
                conditions.append(entries.c.piece.in_(lines) | entries.c.of_order.in_(lines))
            if since is not None:
                conditions.append(entries.c.at >= time_text(as_utc(since)))
            if until is not None:
                conditions.append(entries.c.at < time_text(as_utc(until)))
            return read_entries(link, *conditions, last=last)

    def report(
        self,
        by: ReportBy | str = ReportBy.MONTH,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
    ) -> LedgerReport:
        """Return use, cost and stock of a period, and what was predicted beside what was used.

        Parameters
        ----------
        by : ReportBy or str
            ``month``, ``job``, ``machine``, ``tool``, ``supplier`` or ``batch``.
        since, until : datetime, optional
            Only what happened at the first or later, and before the second; with a time zone.
        """
        chosen = ReportBy(by)
        with self._store.read() as link:
            return ledger_report(link, chosen, since=since, until=until)

    def count(self) -> int:
        """Return how many entries there are."""
        with self._store.read() as link:
            return int(link.execute(select(func.max(entries.c.id))).scalar() or 0)

    def audit(self, expect: str | None = None) -> AuditReport:
        """Add every balance up again from the raw entries; look for gaps, orphans and changes.

        Parameters
        ----------
        expect : str, optional
            A hash that was noted earlier: the books must still begin with what it covers.
        """
        with self._store.read() as link:
            return audit_books(link, expect)

    def last_hash(self) -> str:
        """Return the hash that covers all entries, to be noted elsewhere."""
        with self._store.read() as link:
            found = link.execute(LAST_ENTRY).first()
        return GENESIS if found is None else str(found.hash)

    # Carrying over

    def export(self, form: str = "csv") -> str:
        """Return the whole ledger as ``csv`` or ``json`` text, one state of it."""
        with self._store.read() as link:
            return export_text(link, form)

    def import_(self, content: str, name: str | None = None) -> int:
        """Enter an export into this ledger, which must be empty.

        Parameters
        ----------
        content : str
            What :meth:`export` returned.
        name : str, optional
            The file it comes from, for messages.

        Returns
        -------
        int
            Entries.

        Raises
        ------
        LedgerError
            The ledger is not empty, or the books in the export do not add up.
        """
        with self._store.write() as link:
            return import_text(link, content, name)

    def backup(self, target: Path) -> str:
        """Write a consistent copy, also while others write, and return its last hash.

        Parameters
        ----------
        target : Path
            A file that does not exist yet; it appears whole or not at all.

        Raises
        ------
        LedgerError
            The target exists or cannot be written; or the ledger is on a server.
        """
        if self._store.path is None:
            raise LedgerError(
                "A ledger on a database server is backed up with the server's own means.",
                where=Where(path=self.name),
                remedy="Use pg_dump --format=custom, or 'edgetime ledger export' for a "
                "consistent copy that any edgetime reads.",
            )
        with plainly(str(target)):
            if not target.exists() and copy_database(self._store.path, target):
                with closing(sqlite3.connect(target)) as copy:
                    found = copy.execute(
                        "SELECT hash FROM entries ORDER BY id DESC LIMIT 1"
                    ).fetchone()
                return GENESIS if found is None else str(found[0])
        raise LedgerError(
            "The backup file already exists.",
            where=Where(path=str(target)),
            remedy="Name one that does not exist yet; a backup never replaces another.",
        )
