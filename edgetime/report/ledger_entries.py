"""Entries of the ledger as documents: what happened, what was written now."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from edgetime.ledger.records import Entry, Kind, PieceBalance, Posted, factor_of
from edgetime.records import exact
from edgetime.report.columns import COUNT, TEXT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.ledger import REMARKS, SHARE, diameter_text
from edgetime.report.quantities import format_edge
from edgetime.report.text import percent
from edgetime.units import UnitSystem


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
    size = "" if diameter is None else f", {diameter_text(float(diameter), system)}"
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
    if "anyway" in (e.mark or ""):
        text += " [anyway]"
    return f"{text}. {e.note}" if e.note else text


def _shares(e: Entry, system: UnitSystem) -> str:
    shares = [float(v) for name, v in e.amounts.items() if name.startswith("share_")]
    share = f", {percent(max(shares))} of a life" if shares else ""
    contact = float(e.amounts.get("contact_mm", 0))
    work = f", {format_edge(contact, system)}" if contact else ""
    factor = factor_of(e.mark)
    of_it = "" if factor is None else f" {percent(factor)} of predicted"
    actual = f", actual{of_it}" if e.actual else ""
    return f"{work} in {e.stone or 'stone'}{share}{actual}"


def _source(e: Entry) -> str | None:
    return None if e.actual is None else ("actual" if e.actual else "predicted")


ENTRIES: Final[Sheet[Entry]] = Sheet(
    (
        Column(key="id", heading="#", unit=COUNT),
        Column(heading="When", get=lambda e: f"{e.at.astimezone():%Y-%m-%d %H:%M}"),
        Column(key="at", get=lambda e: e.at.isoformat()),
        Column(key="kind"),
        Column(heading="Serial", get=lambda e: e.serial or e.model),
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
        Column(heading="Serial", get=lambda row: row.entry.serial or row.entry.model),
        Column(heading="What", get=lambda row: row.entry, show=_what),
        Column(heading="Left", unit=SHARE, get=lambda row: row.balance and row.balance.remaining),
        Column(heading="Remark", get=lambda row: row.balance and REMARKS[row.balance.condition],
               unit=TEXT),
    )
)  # fmt: skip


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
