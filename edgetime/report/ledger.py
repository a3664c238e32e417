"""The ledger as documents: what is left, what happened, whether the books add up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from edgetime.ledger.rack import Rack, RackPocket
from edgetime.ledger.records import (
    AuditReport,
    Check,
    Condition,
    Entry,
    Kind,
    Left,
    PieceBalance,
    Posted,
    State,
    Used,
)
from edgetime.records import exact
from edgetime.report.columns import COUNT, TEXT, Column, Sheet, Unit
from edgetime.report.document import Block, Fact, Heading, Line, Table, Tone
from edgetime.report.quantities import format_area, format_edge
from edgetime.report.text import NONE, figure, holes, percent
from edgetime.unit_table import FT_MM, IN_MM
from edgetime.units import UnitSystem, format_time

_MM3_PER_CM3: Final = 1e3
_MM_PER_M: Final = 1e3
_COARSE_MM: Final = 2e4
"""Above this a remaining length is shown in whole metres or feet: it is a forecast."""

_REMARKS: Final = {
    Condition.UNKNOWN: "no life stated",
    Condition.SPENT: "spent",
    Condition.NEARLY_SPENT: "nearly spent",
    Condition.GOOD: "",
}


_SHARE: Final = Unit("", lambda value, _: percent(value))
_MEASURED: Final = Unit("", lambda used, system: _measured(used.used, used.unit, system))


def _diameter(diameter_mm: float, system: UnitSystem) -> str:
    """Write a diameter with all the digits it was entered with."""
    if system is UnitSystem.METRIC:
        return f"{figure(diameter_mm)} mm"
    return f"{figure(round(diameter_mm / IN_MM, 4))} in"


def _measured(value: float, unit: str, system: UnitSystem) -> str:
    if unit == "mm":
        return format_edge(value, system)
    if unit == "mm2":
        return format_area(value, system)
    if unit == "mm3":
        metric = system is UnitSystem.METRIC
        volume = value / (_MM3_PER_CM3 if metric else IN_MM**3)
        shown = figure(round(volume, 1) if volume < 100.0 else round(volume))
        return f"{shown} {'cm3' if metric else 'in3'}"
    if unit == "s":
        return format_time(value)
    return holes(value)


def left_text(left: Left, system: UnitSystem) -> str:
    """Write an amount by which a life is measured: long lengths in whole metres or feet."""
    if left.unit == "mm" and left.amount >= _COARSE_MM:
        metric = system is UnitSystem.METRIC
        return f"{left.amount / (_MM_PER_M if metric else FT_MM):.0f} {'m' if metric else 'ft'}"
    return _measured(left.amount, left.unit, system)


def _money(amount: Decimal | None, currency: str | None) -> str:
    return NONE if amount is None else f"{amount:.2f} {currency or ''}".strip()


def pieces_sheet(
    *, pocket: bool = False, remarks: bool = False, retired: bool = False
) -> Sheet[PieceBalance]:
    """Return the columns of pieces and what is left of them.

    Parameters
    ----------
    pocket, remarks : bool
        Whether the screen shows the pocket, and which pieces are nearly spent.
    retired : bool
        Whether the screen is of retired pieces: why, and what was used.
    """
    serving = not retired
    return Sheet(
        (
            Column(heading="Pocket" if pocket else "", unit=COUNT, get=lambda b: b.pocket),
            Column(key="serial", heading="Piece"),
            Column(heading="Tool", get=lambda b: b.model),
            Column(key="tool"),
            Column(key="profile"),
            Column(key="state"),
            Column(key="pocket", unit=COUNT),
            Column(key="reason", heading="Why" if retired else ""),
            Column(key="share_used", heading="Used" if retired else "", unit=_SHARE,
                   get=lambda b: b.share),
            Column(key="share_left", heading="Left" if serving else "", unit=_SHARE,
                   get=lambda b: b.remaining),
            Column(heading="Remaining" if serving else "", unit=COUNT, get=lambda b: b.left,
                   show=left_text),
            Column(key="governing"),
            Column(key="used", unit=COUNT, get=lambda b: b.governs and b.governs.used),
            Column(key="unit", get=lambda b: b.governs and b.governs.unit),
            Column(key="runs", heading="Runs", unit=COUNT),
            Column(key="dressings", unit=COUNT),
            Column(key="diameter_mm", unit=COUNT),
            Column(key="price", unit=COUNT),
            Column(key="cost", unit=COUNT),
            Column(key="currency"),
            Column(key="received_at", get=lambda b: b.received_at.isoformat()),
            Column(key="restored_at", get=lambda b: b.restored_at.isoformat()),
            Column(heading="Remark" if remarks else "", get=lambda b: _REMARKS[b.condition]),
        )
    )  # fmt: skip


def _pieces(pieces: Sequence[PieceBalance], *, pocket: bool) -> Table[PieceBalance]:
    remarks = any(b.condition is not Condition.GOOD for b in pieces)
    return Table(pieces_sheet(pocket=pocket, remarks=remarks), pieces)


_MODELS: Final[Sheet[tuple[str, int]]] = Sheet(
    (
        Column(heading="Tool", get=lambda row: row[0]),
        Column(heading="Pieces", unit=COUNT, get=lambda row: row[1]),
    )
)

_USED: Final[Sheet[Used]] = Sheet(
    (
        Column(heading="By", get=lambda u: u.by),
        Column(heading="Used", unit=_MEASURED, get=lambda u: u),
        Column(heading="Share of life", unit=_SHARE, get=lambda u: u.share),
    )
)


def stock_parts(
    balances: Sequence[PieceBalance], *, name: str, retired: bool, last_hash: str
) -> list[Block]:
    """Return what is mounted, on the shelf and new.

    Parameters
    ----------
    balances : sequence of PieceBalance
        All pieces.
    name : str
        The ledger.
    retired : bool
        Whether to list retired pieces too.
    last_hash : str
        That covers all entries.
    """
    by_state = {state: [b for b in balances if b.state is state] for state in State}
    mounted = sorted(by_state[State.MOUNTED], key=lambda b: b.pocket or 0)
    counts = ", ".join(f"{len(by_state[s])} {s.value}" for s in State if by_state[s])
    parts: list[Block] = [Line(f"Ledger {name}: {counts or 'no pieces yet'}.")]
    if mounted:
        parts += [Heading("In the machine"), _pieces(mounted, pocket=True)]
    shelf = by_state[State.SHELF]
    if shelf:
        parts += [Heading("On the shelf, used"), _pieces(shelf, pocket=False)]
    new = Counter(b.model for b in by_state[State.NEW])
    if new:
        parts += [Heading("New, not mounted yet"), Table(_MODELS, sorted(new.items()))]
    bare = sorted({b.model for b in mounted} - set(new))
    if bare:
        parts.append(Line(f"\nMounted, no spare: {', '.join(bare)}."))
    if retired and by_state[State.RETIRED]:
        parts += [
            Heading("Retired"),
            Table(pieces_sheet(retired=True), by_state[State.RETIRED]),
        ]
    if mounted or shelf:
        parts.append(Line("\nRemaining: by the measure that governs, in the stones worked so far."))
    return [*parts, Line(f"\nLast hash: {last_hash}")]


def piece_parts(balance: PieceBalance, system: UnitSystem) -> list[Block]:
    """Return one piece's account."""
    place = {
        State.MOUNTED: f"in pocket {balance.pocket}"
        + (f" of {balance.machine}" if balance.machine else ""),
        State.NEW: "new, not mounted yet",
        State.SHELF: "on the shelf",
        State.RETIRED: f"retired: {balance.reason}",
    }[balance.state]
    remark = _REMARKS[balance.condition]
    left = "" if balance.left is None else f", {left_text(balance.left, system)}"
    size = balance.diameter_mm
    used = [u for u in balance.used if u.used or u.share is not None]
    parts: list[Block] = [
        Line(f"{balance.serial}: {balance.model}, {place}."),
        Line(""),
        Fact("Life left", f"{percent(balance.remaining)}{left}{remark and f' ({remark})'}"),
        Fact("Runs", str(balance.runs)),
        Fact("Dressings", str(balance.dressings)),
        Fact("Diameter", NONE if size is None else _diameter(size, system)),
        Fact("Received", f"{balance.received_at.astimezone():%Y-%m-%d}"),
        Fact(
            "Life began",
            f"{balance.restored_at.astimezone():%Y-%m-%d}, at {percent(balance.restored)}",
        ),
        Fact("Price", _money(balance.price, balance.price_currency)),
        Fact("Cost of life used", _money(balance.cost, balance.currency)),
    ]
    return [*parts, Heading("Used since the life began"), Table(_USED, used)] if used else parts


def _quantities(entry: Entry) -> str:
    return "; ".join(f"{name}={exact(value)}" for name, value in entry.amounts.items())


_CHANGES: Final[dict[str, tuple[str, Decimal, str]]] = {
    "share_any": ("life used", Decimal(100), "%"),
    "contact_mm": ("edge", Decimal("1e-3"), "m"),
    "path_mm": ("path", Decimal("1e-3"), "m"),
    "volume_mm3": ("volume", Decimal("1e-3"), "cm3"),
    "wheel_mm3": ("wheel volume", Decimal("1e-3"), "cm3"),
    "cut_s": ("time", Decimal(1) / 60, "min"),
    "holes": ("holes", Decimal(1), ""),
    "area_mm2": ("area", Decimal("1e-6"), "m2"),
}


def _adjusted(entry: Entry) -> str:
    """Write the differences of an adjustment, each with its sign."""
    changes = [
        f"{label} {float(value * factor):+.4g} {unit}".rstrip()
        for name, value in entry.amounts.items()
        for label, factor, unit in (_CHANGES.get(name, (name, Decimal(1), entry.currency or "")),)
    ]
    return ", ".join(changes)


def _what(e: Entry, system: UnitSystem) -> str:
    """Say in a few words what an entry records."""
    diameter = e.amounts.get("diameter_mm")
    size = "" if diameter is None else f", {_diameter(float(diameter), system)}"
    price = f", {e.amounts['price']:.2f} {e.currency}" if "price" in e.amounts else ""
    match e.kind:
        case Kind.RECEIVED:
            text = f"received new{size}{price}{f', order {e.order}' if e.order else ''}"
        case Kind.MOUNTED:
            text = (
                "taken out"
                if e.pocket is None
                else f"mounted in pocket {e.pocket}{f' of {e.machine}' if e.machine else ''}"
            )
        case Kind.DRESSED | Kind.MEASURED:
            text = f"{e.kind.value}{size}"
        case Kind.REPROFILED:
            text = f"reprofiled{size}, life {percent(float(e.amounts.get('restored', 1)))}"
        case Kind.RETIRED:
            text = f"retired: {e.reason}"
        case Kind.REVERSED:
            text = f"reverses entry {e.reverses}"
        case Kind.USED:
            text = f"used: {e.load}, run {e.run}{_shares(e, system)}"
        case Kind.ADJUSTED:
            text = f"adjusted: {_adjusted(e)}"
        case Kind.ORDERED:
            text = f"order {e.order}: {e.pieces} ordered{price}, expected {e.expected}"
        case Kind.RESCHEDULED:
            text = f"order {e.order}: now expected {e.expected}"
        case Kind.CANCELLED:
            text = f"order {e.order}: {e.pieces} cancelled"
        case Kind.CLOSED:
            text = f"order {e.order}: closed, {e.pieces} not delivered"
    if e.reversed_by is not None:
        text += f" (reversed by entry {e.reversed_by})"
    if e.mark is not None:
        text += f" [{e.mark}]"
    return f"{text}. {e.note}" if e.note else text


def _shares(e: Entry, system: UnitSystem) -> str:
    shares = [float(v) for name, v in e.amounts.items() if name.startswith("share_")]
    share = f", {percent(max(shares))} of a life" if shares else ""
    contact = float(e.amounts.get("contact_mm", 0))
    work = f", {format_edge(contact, system)}" if contact else ""
    actual = ", actual" if e.actual else ""
    return f"{work} in {e.stone or 'stone'}{share}{actual}"


def _source(e: Entry) -> str | None:
    return None if e.actual is None else ("actual" if e.actual else "predicted")


ENTRIES: Final[Sheet[Entry]] = Sheet(
    (
        Column(key="id", heading="#", unit=COUNT),
        Column(heading="When", get=lambda e: f"{e.at.astimezone():%Y-%m-%d %H:%M}"),
        Column(key="at", get=lambda e: e.at.isoformat()),
        Column(key="kind"),
        Column(heading="Piece", get=lambda e: e.serial or e.model),
        Column(key="serial"),
        Column(heading="What", get=lambda e: e, show=_what),
        Column(key="tool"),
        Column(key="profile"),
        Column(key="load"),
        Column(key="run", unit=COUNT),
        Column(key="source", get=_source),
        Column(key="pocket", unit=COUNT),
        Column(key="stone"),
        Column(key="reason"),
        Column(key="reverses", unit=COUNT),
        Column(key="reversed_by", unit=COUNT),
        Column(key="quantities", get=_quantities),
        Column(key="currency"),
        Column(key="who", heading="Who"),
        Column(key="note"),
        Column(key="digest"),
        Column(key="order"),
        Column(key="pieces", unit=COUNT),
        Column(key="expected"),
    )
)
"""Entries, one row each."""


class _Written(NamedTuple):
    """An entry written now, and what is left of its piece."""

    entry: Entry
    balance: PieceBalance | None


_WRITTEN: Final[Sheet[_Written]] = Sheet(
    (
        Column(heading="#", unit=COUNT, get=lambda row: row.entry.id),
        Column(heading="Piece", get=lambda row: row.entry.serial or row.entry.model),
        Column(heading="What", get=lambda row: row.entry, show=_what),
        Column(heading="Left", unit=_SHARE, get=lambda row: row.balance and row.balance.remaining),
        Column(heading="Remark", get=lambda row: row.balance and _REMARKS[row.balance.condition],
               unit=TEXT),
    )
)  # fmt: skip

CHECKS: Final[Sheet[Check]] = Sheet(
    (Column(key="what", heading="What"), Column(key="items", heading="Items", unit=COUNT))
)
"""What an audit proved, and for how many items."""


def entry_parts(entries: Sequence[Entry], *, title: str) -> list[Block]:
    """Return a list of entries."""
    if not entries:
        return [Line(f"{title}: no entries.")]
    return [
        Line(f"{title} (times in {entries[0].at.astimezone():%Z}, this computer's)."),
        Heading("Entries"),
        Table(ENTRIES, entries),
    ]


def posted_parts(posted: Posted, balances: Sequence[PieceBalance], *, first: str) -> list[Block]:
    """Return what was written, what came out of the rack for it, and what is left now."""
    entries = posted.entries
    if not entries:
        return [Line(first)]
    if all(e.kind is Kind.RECEIVED for e in entries):
        serials: dict[str, list[str]] = {}
        for e in entries:
            serials.setdefault(e.model, []).append(e.serial or "")
        spans = (
            f"{len(own)} x {name}: {own[0] if len(own) == 1 else f'{own[0]} to {own[-1]}'}."
            for name, own in serials.items()
        )
        return [Line(first), *map(Line, spans)]
    left = {b.serial: b for b in balances}
    rows = [_Written(e, left.get(e.serial or "")) for e in entries]
    out = ", ".join(
        f"{serial} ({percent(left[serial].remaining)} left)" if serial in left else serial
        for serial in posted.taken_out
    )
    came = [Line(f"\nCame out, to the shelf: {out}.")] if out else []
    return [Line(first), Line(""), Table(_WRITTEN, rows), *came]


RACK: Final[Sheet[RackPocket]] = Sheet(
    (
        Column(key="pocket", heading="Pocket", unit=COUNT),
        Column(key="serial", heading="Piece"),
        Column(key="tool", heading="Tool"),
        Column(heading="Left", unit=_SHARE, get=lambda p: p.remaining),
    )
)
"""A rack plan: its CSV form is what is read in again."""


def rack_parts(rack: Rack) -> list[Block]:
    """Return what is in a rack."""
    whose = rack.machine or "the shop"
    if not rack.pockets:
        return [Line(f"The rack of {whose} in {rack.ledger}: nothing is mounted.")]
    return [Line(f"The rack of {whose} in {rack.ledger}."), Line(""), Table(RACK, rack.pockets)]


def audit_parts(report: AuditReport, *, name: str) -> list[Block]:
    """Return an audit that found nothing wrong."""
    return [
        Line(
            f"The books of {name} add up: {report.entries} entries, {report.pieces} pieces, "
            f"{report.runs} runs."
        ),
        *(Line(warning, tone=Tone.WARNING) for warning in report.warnings),
        Heading("Proved from the entries alone"),
        Table(CHECKS, report.checks),
        Line(f"\nLast hash: {report.last_hash}"),
        Line(
            "Note it elsewhere. Not seen here: whether what was entered is true; a chain computed "
            "anew and entries cut off at the end, which show only against a noted hash (--expect)."
        ),
    ]
