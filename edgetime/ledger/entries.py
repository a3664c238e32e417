"""Entering what happened: every verb of the ledger that writes."""

from __future__ import annotations

import getpass
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypedDict, Unpack

from sqlalchemy import Connection, select

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import BY_NAME, as_utc
from edgetime.ledger.days import held, refuse_late
from edgetime.ledger.doubts import (
    doubt,
    doubt_before_receipt,
    doubt_currency,
    doubt_diameter,
    doubt_reprofiling,
    doubt_share,
    doubt_time,
)
from edgetime.ledger.pieces import check_serials, find_piece, next_serials, one_currency
from edgetime.ledger.queries import read_entries
from edgetime.ledger.rack import (
    Delivery,
    RackPocket,
    check_pocket,
    naming,
    piece_of,
    planned,
)
from edgetime.ledger.records import Entry, Kind, Posted, Reason, model_name
from edgetime.ledger.reversals import refuse_negative, undo
from edgetime.ledger.rows import Stamp, add, clean
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
    several,
)
from edgetime.ledger.store import Store
from edgetime.ledger.tables import entries, runs

if TYPE_CHECKING:
    from edgetime.wear import Wear


def _somebody() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"


class StampArgs(TypedDict, total=False):
    """What every entry may be given: time, name, note, and that doubts do not count."""

    at: datetime | None
    who: str | None
    note: str
    anyway: bool


class Entering:
    """The writing half of :class:`edgetime.ledger.Ledger`.

    Parameters
    ----------
    store : Store
        The database.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

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

    def receive(
        self,
        tool: str,
        *,
        profile: str | None = None,
        count: int = 1,
        serials: Sequence[str] | None = None,
        diameter_mm: float | None = None,
        price: Decimal | None = None,
        currency: str | None = None,
        supplier: str | None = None,
        batch: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Enter new pieces.

        Parameters
        ----------
        tool, profile : str
            The tool's name, and the profile a profiled wheel is ground to.
        count : int
            How many; they are given serials ``tool-001`` onward.
        serials : sequence of str, optional
            The shop's own serials, instead of ``count``.
        diameter_mm : float, optional
            Diameter [mm].
        price : Decimal, optional
            Of one piece, in ``currency``.
        currency : str, optional
            ISO 4217 code.
        supplier, batch : str, optional
            Who delivered them, and the batch they are of.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.
        """
        return self.receive_all(
            [
                Delivery(
                    tool=tool,
                    profile=profile,
                    count=count,
                    serials=serials,
                    diameter_mm=diameter_mm,
                    price=price,
                    currency=currency,
                    supplier=supplier,
                    batch=batch,
                )
            ],
            **stamp,
        )

    def receive_all(self, deliveries: Sequence[Delivery], **stamp: Unpack[StampArgs]) -> Posted:
        """Enter new pieces of several tools, all of them or none.

        Parameters
        ----------
        deliveries : sequence of Delivery
            What came.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Raises
        ------
        LedgerError
            With the line of the delivery that cannot be entered, where it has one.
        """
        marked = self._stamp(**stamp)
        posted: list[Entry] = []
        with self._store.write() as link:
            for came in deliveries:
                with naming(came.where):
                    posted += _receive(link, came, marked)
        return Posted(new=True, entries=tuple(posted))

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

    def measure(self, piece: str, *, diameter_mm: float, **stamp: Unpack[StampArgs]) -> Posted:
        """Enter a measured diameter [mm]."""
        return self._enter(Kind.MEASURED, piece, _diameter(diameter_mm), **stamp)

    def dress(
        self, piece: str, *, diameter_mm: float | None = None, **stamp: Unpack[StampArgs]
    ) -> Posted:
        """Enter a dressing, with the diameter after it [mm] where it was measured."""
        return self._enter(Kind.DRESSED, piece, _diameter(diameter_mm), **stamp)

    def reprofile(
        self,
        piece: str,
        *,
        diameter_mm: float | None = None,
        life: float = 1.0,
        reason: Reason | str = Reason.WORN,
        price: Decimal | None = None,
        currency: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Enter a reprofiling: the wheel's life begins again.

        Parameters
        ----------
        piece : str
            Serial.
        diameter_mm : float, optional
            Diameter after it [mm].
        life : float
            Life it begins with, 1 for that of a new one [-].
        reason : Reason
            ``worn``, or ``early`` when the old life had not ended: a life that did not end
            says less about how long such wheels last.
        price, currency
            Paid for it.
        **stamp
            ``at``, ``who``, ``note``.
        """
        why = _reason(reason, (Reason.WORN, Reason.EARLY))
        if not 0.0 < life <= 1.0:
            raise LedgerError(
                f"The life restored is {life}; above 0 to 1 is allowed.",
                where=Where(key="--life"),
                remedy="Give the share of a new tool's life, such as 0.9.",
            )
        values = {
            "restored_e12": BY_NAME["restored"].store(life),
            "reason": why.value,
            **_diameter(diameter_mm),
            **_price(price, currency),
        }
        return self._enter(Kind.REPROFILED, piece, values, **stamp)

    def retire(self, piece: str, *, reason: Reason | str, **stamp: Unpack[StampArgs]) -> Posted:
        """Enter the end of a piece: ``worn``, ``broken`` or ``lost``."""
        why = _reason(reason, (Reason.WORN, Reason.BROKEN, Reason.LOST))
        return self._enter(Kind.RETIRED, piece, {"reason": why.value}, **stamp)

    def adjust(
        self,
        piece: str,
        *,
        share: float | Decimal | None = None,
        currency: str | None = None,
        at: datetime | None = None,
        who: str | None = None,
        note: str = "",
        anyway: bool = False,
        **amounts: float | Decimal,
    ) -> Posted:
        """Correct what a piece has used, by a difference.

        Parameters
        ----------
        piece : str
            Serial.
        share : float, optional
            Share of life to add, negative to take off [-].
        currency : str, optional
            Of ``cost``.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.
        **amounts
            Further differences: ``contact_mm``, ``path_mm``, ``volume_mm3``, ``cut_s``,
            ``holes``, ``area_mm2``, ``cost``.

        Raises
        ------
        LedgerError
            Nothing to adjust, or less than nothing would be left as used.
        """
        named = dict(amounts) if share is None else {"share_any": share, **amounts}
        free = {"share_any", "contact_mm", "path_mm", "volume_mm3", "cut_s", "holes", "area_mm2"}
        if not named or not named.keys() <= free | {"cost"} or ("cost" in named) != bool(currency):
            raise LedgerError(
                "An adjustment needs a difference, and a cost its currency.",
                where=Where(key="--share"),
                remedy="Give what to add or take off, such as --share=-10%.",
            )
        values: dict[str, Any] = {
            BY_NAME[name].column: BY_NAME[name].store(value) for name, value in named.items()
        }
        if currency:
            values["currency"] = clean(currency, "currency")
        marked = self._stamp(at, who, note, anyway)
        if share is not None:
            doubt_share(marked, float(share))
        doubt_currency(marked, currency)
        with self._store.write() as link:
            found = find_piece(link, piece)
            doubt_before_receipt(marked, found)
            one_currency(link, found, currency)
            row = marked.row(Kind.ADJUSTED, piece=found.piece, **values)
            added = add(link, [row])
            refuse_negative(link, [found.piece])
            return Posted(new=True, entries=added)

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
                    "Name a piece of the same tool and profile.",
                )
            undone = add(link, undo(link, [row["id"] for row in charged], marked))
            rows = moved_rows(link, charged, right.piece, marked)
            moved = add(link, rows, dict(there._mapping))  # noqa: SLF001  SQLAlchemy's own name
            refuse_negative(link, [wrong.piece])
            return Posted(new=True, entries=(*undone, *moved))

    def _stamp(
        self,
        at: datetime | None = None,
        who: str | None = None,
        note: str = "",
        anyway: bool = False,  # noqa: FBT001, FBT002  by name, as StampArgs has it
    ) -> Stamp:
        stamp = Stamp(
            at=as_utc(at),
            late=at is not None,
            anyway=anyway,
            who=clean(who if who is not None else _somebody(), "name of the person entering it"),
            note=clean(note, "note", empty=True, longest=2000),
        )
        doubt_time(stamp)
        return stamp

    def _enter(
        self,
        kind: Kind,
        piece: str,
        values: dict[str, Any],
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        marked = self._stamp(**stamp)
        doubt_currency(marked, values.get("currency"))
        with self._store.write() as link:
            found = find_piece(link, piece)
            doubt_before_receipt(marked, found)
            nm = values.get("diameter_nm")
            doubt_diameter(link, marked, found, None if nm is None else nm / 1e6)
            if kind is Kind.REPROFILED:
                doubt_reprofiling(marked, found)
            if kind in {Kind.REPROFILED, Kind.RETIRED}:
                refuse_late(link, marked, found.piece)
            one_currency(link, found, values.get("currency"))
            row = marked.row(kind, piece=found.piece, **values)
            return Posted(new=True, entries=add(link, [row]))


def _receive(link: Connection, came: Delivery, marked: Stamp) -> tuple[Entry, ...]:
    tool = clean(came.tool, "tool")
    profile = None if came.profile is None else clean(came.profile, "profile")
    wanted = (
        None if came.serials is None else [clean(s, "serial", longest=60) for s in came.serials]
    )
    if wanted is None and not 1 <= came.count <= 10_000:
        raise LedgerError(
            f"The count is {came.count}; 1 to 10000 is allowed.",
            where=Where(key="--count"),
            remedy="State how many pieces arrived.",
        )
    doubt_currency(marked, came.currency)
    values = {
        "tool": tool,
        "profile": profile,
        "restored_e12": 10**12,
        "supplier": None if came.supplier is None else clean(came.supplier, "supplier"),
        "batch": None if came.batch is None else clean(came.batch, "batch"),
        **_diameter(came.diameter_mm),
        **_price(came.price, came.currency),
    }
    if wanted is None:
        wanted = next_serials(link, model_name(tool, profile), came.count)
    check_serials(link, wanted)
    return add(link, [marked.row(Kind.RECEIVED, serial=serial, **values) for serial in wanted])


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


def _diameter(diameter_mm: float | None) -> dict[str, int | None]:
    if diameter_mm is None:
        return {}
    if not 0.0 < diameter_mm <= 10_000.0:
        raise LedgerError(
            f"The diameter is {diameter_mm} mm; above 0 to 10000 mm is allowed.",
            where=Where(key="--diameter"),
            remedy="Give the diameter in millimetres.",
        )
    return {"diameter_nm": BY_NAME["diameter_mm"].store(diameter_mm)}


def _price(price: Decimal | None, currency: str | None) -> dict[str, Any]:
    if price is None:
        return {}
    if not currency or price < 0:
        raise LedgerError(
            f"The price is {price} {currency or 'without a currency'}.",
            where=Where(key="--price"),
            remedy="Give an amount of 0 or more with its currency, such as 60.00EUR.",
        )
    return {"price_e6": BY_NAME["price"].store(price), "currency": clean(currency, "currency")}


def _reason(reason: Reason | str, allowed: tuple[Reason, ...]) -> Reason:
    if reason not in allowed:
        raise LedgerError(
            f"The reason is {reason!s}.",
            where=Where(key="--reason"),
            remedy=f"Allowed are: {', '.join(allowed)}.",
        )
    return Reason(reason)
