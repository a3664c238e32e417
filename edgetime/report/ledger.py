"""The ledger on the screen: what is left, what happened, whether the books add up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from edgetime.ledger.model import (
    AuditReport,
    Entry,
    Kind,
    PieceBalance,
    State,
    Used,
    model_name,
)
from edgetime.report.document import Grid, Heading, Line
from edgetime.report.quantities import format_area, format_edge
from edgetime.report.text import NONE, figure
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.report.document import Block

BALANCE_HEADER = (
    "serial",
    "tool",
    "profile",
    "state",
    "pocket",
    "reason",
    "share_used",
    "share_left",
    "governing",
    "used",
    "unit",
    "runs",
    "dressings",
    "diameter_mm",
    "price",
    "cost",
    "currency",
    "received_at",
    "restored_at",
)
"""Columns of the balances' CSV form, one row per piece."""

ENTRY_HEADER = (
    "id",
    "at",
    "kind",
    "serial",
    "tool",
    "profile",
    "load",
    "run",
    "source",
    "pocket",
    "stone",
    "reason",
    "reverses",
    "reversed_by",
    "quantities",
    "currency",
    "who",
    "note",
    "digest",
)
"""Columns of the history's CSV form, one row per entry."""

LOW = 0.1
"""A piece with less of its life left than this is called nearly spent."""

_MM3_PER_CM3 = 1e3
_MM_PER_M = 1e3
_MM_PER_FT = 304.8
_MM_PER_IN = 25.4
_PRECISE_MM = 2e4
"""Above this a length that is left is told in whole metres or feet: it is a forecast."""


def _governing(balance: PieceBalance) -> Used | None:
    return next((u for u in balance.used if u.by == balance.governing), None)


def _percent(share: float | None) -> str:
    if share is None:
        return NONE
    percent = 100.0 * share
    return f"{percent:.0f} %" if abs(percent) >= 10.0 or percent == 0.0 else f"{percent:.1f} %"


def _diameter(diameter_mm: float, system: UnitSystem) -> str:
    """Write a diameter with all the digits it was entered with."""
    if system is UnitSystem.METRIC:
        return f"{figure(diameter_mm)} mm"
    return f"{figure(round(diameter_mm / _MM_PER_IN, 4))} in"


def _measured(value: float, unit: str, system: UnitSystem) -> str:
    if unit == "mm":
        return format_edge(value, system)
    if unit == "mm2":
        return format_area(value, system)
    if unit == "mm3":
        metric = system is UnitSystem.METRIC
        volume = value / (_MM3_PER_CM3 if metric else _MM_PER_IN**3)
        shown = figure(round(volume, 1) if volume < 100.0 else round(volume))
        return f"{shown} {'cm3' if metric else 'in3'}"
    if unit == "s":
        return format_time(value)
    return f"{figure(value)} holes"


def _left(balance: PieceBalance, system: UnitSystem) -> str:
    """Say what is left in the unit of the governing measure, at the use so far."""
    used = _governing(balance)
    if used is None or used.share is None or balance.remaining is None:
        return NONE
    by_runs = used.share - balance.adjusted
    if not used.used or by_runs <= 0.0:
        return NONE
    # Used over its share is the life in the stones worked so far; half a hole is none.
    left = max(0.0, balance.remaining) * used.used / by_runs
    if used.unit == "mm" and left >= _PRECISE_MM:
        far = system is UnitSystem.METRIC
        return f"{left / _MM_PER_M:.0f} m" if far else f"{left / _MM_PER_FT:.0f} ft"
    return _measured(float(int(left)) if used.unit == "1" else left, used.unit, system)


def _remark(balance: PieceBalance) -> str:
    if balance.remaining is None:
        return "no life stated"
    if balance.remaining <= 0.0:
        return "spent"
    return "nearly spent" if balance.remaining < LOW else ""


def _money(amount: Decimal | None, currency: str | None) -> str:
    return NONE if amount is None else f"{amount:.2f} {currency or ''}".strip()


def balance_rows(balances: Iterable[PieceBalance]) -> list[list[object]]:
    """Return the rows of the balances' CSV form, as :data:`BALANCE_HEADER`.

    Parameters
    ----------
    balances : iterable of PieceBalance
        One row each.
    """
    rows: list[list[object]] = []
    for b in balances:
        used = _governing(b)
        rows.append(
            [
                b.serial,
                b.tool,
                b.profile,
                b.state.value,
                b.pocket,
                None if b.reason is None else b.reason.value,
                b.share,
                b.remaining,
                b.governing,
                None if used is None else used.used,
                None if used is None else used.unit,
                b.runs,
                b.dressings,
                b.diameter_mm,
                b.price,
                b.cost,
                b.currency,
                b.received_at.isoformat(),
                b.restored_at.isoformat(),
            ]
        )
    return rows


def _service_table(pieces: Sequence[PieceBalance], system: UnitSystem, *, pocket: bool) -> Grid:
    columns = [("Piece", "<"), ("Tool", "<"), ("Left", ">"), ("That is", ">"), ("Runs", ">")]
    rows = [[b.serial, b.model, _percent(b.remaining), _left(b, system), b.runs] for b in pieces]
    if any(map(_remark, pieces)):
        columns.append(("", "<"))
        rows = [[*row, _remark(b)] for b, row in zip(pieces, rows, strict=True)]
    if not pocket:
        return Grid(columns, rows)
    return Grid(
        [("Pocket", ">"), *columns],
        [[b.pocket, *row] for b, row in zip(pieces, rows, strict=True)],
    )


def stock_parts(
    balances: Sequence[PieceBalance], system: UnitSystem, *, name: str, retired: bool
) -> list[Block]:
    """Return the screen of what is mounted, on the shelf and new.

    Parameters
    ----------
    balances : sequence of PieceBalance
        All pieces.
    system : UnitSystem
        Units of what is left.
    name : str
        The ledger.
    retired : bool
        Whether to list retired pieces too.
    """
    by_state = {state: [b for b in balances if b.state is state] for state in State}
    mounted = sorted(by_state[State.MOUNTED], key=lambda b: b.pocket or 0)
    counts = ", ".join(f"{len(by_state[s])} {s.value}" for s in State if by_state[s])
    parts: list[Block] = [Line(f"Ledger {name}: {counts or 'no pieces yet'}.")]
    if mounted:
        parts += [Heading("In the machine"), _service_table(mounted, system, pocket=True)]
    if by_state[State.SHELF]:
        shelf = by_state[State.SHELF]
        parts += [Heading("On the shelf, used"), _service_table(shelf, system, pocket=False)]
    new = Counter(b.model for b in by_state[State.NEW])
    if new:
        parts += [
            Heading("New, not mounted yet"),
            Grid([("Tool", "<"), ("Pieces", ">")], sorted(new.items())),
        ]
    mounted_models = {b.model for b in mounted}
    bare = sorted(mounted_models - set(new))
    if bare:
        parts.append(Line(f"\nMounted with no new piece behind it: {', '.join(bare)}."))
    if retired and by_state[State.RETIRED]:
        parts += [
            Heading("Retired"),
            Grid(
                [("Piece", "<"), ("Tool", "<"), ("Why", "<"), ("Used", ">"), ("Runs", ">")],
                [
                    [b.serial, b.model, b.reason and b.reason.value, _percent(b.share), b.runs]
                    for b in by_state[State.RETIRED]
                ],
            ),
        ]
    if mounted or by_state[State.SHELF]:
        parts.append(
            Line("\n'That is' is what is left in the stones worked so far, by the measure that "
                 "ends first.")
        )  # fmt: skip
    return parts


def piece_parts(balance: PieceBalance, system: UnitSystem) -> list[Block]:
    """Return the screen of one piece.

    Parameters
    ----------
    balance : PieceBalance
        Its account.
    system : UnitSystem
        Units of what is used and left.
    """
    place = {
        State.MOUNTED: f"in pocket {balance.pocket}",
        State.NEW: "new, not mounted yet",
        State.SHELF: "on the shelf",
        State.RETIRED: f"retired: {balance.reason}",
    }[balance.state]
    facts: list[list[object]] = [
        ["Life left", _percent(balance.remaining)],
        ["That is, in the stones so far", _left(balance, system)],
        ["Runs", balance.runs],
        ["Dressings", balance.dressings],
        [
            "Diameter",
            NONE if balance.diameter_mm is None else _diameter(balance.diameter_mm, system),
        ],
        ["Received", f"{balance.received_at:%Y-%m-%d}"],
        ["Life begun", f"{balance.restored_at:%Y-%m-%d}, at {_percent(balance.restored)}"],
        ["Price", _money(balance.price, balance.currency)],
        ["Cost of the life used", _money(balance.cost, balance.currency)],
    ]
    parts: list[Block] = [
        Line(f"{balance.serial}: {balance.model}, {place}. {_remark(balance)}".strip()),
        Grid([("", "<"), ("", ">")], facts),
    ]
    used = [u for u in balance.used if u.used or u.share is not None]
    if used:
        parts += [
            Heading("Used since the life began"),
            Grid(
                [("By", "<"), ("Used", ">"), ("Share of life", ">")],
                [[u.by, _measured(u.used, u.unit, system), _percent(u.share)] for u in used],
            ),
        ]
    return parts


def _quantities(entry: Entry) -> str:
    bits = [
        f"{name}={value.normalize():f}" if value else f"{name}=0"
        for name, value in entry.amounts.items()
    ]
    return "; ".join(bits)


def entry_dict(entry: Entry) -> dict[str, Any]:
    """Return the JSON form of an entry; money is text.

    Parameters
    ----------
    entry : Entry
        One line of the ledger.
    """
    return {
        "id": entry.id,
        "at": entry.at.isoformat(),
        "kind": entry.kind.value,
        "serial": entry.serial,
        "tool": entry.tool,
        "profile": entry.profile,
        "load": entry.load,
        "run": entry.run,
        "digest": entry.digest,
        "actual": entry.actual,
        "pocket": entry.pocket,
        "stone": entry.stone,
        "reason": None if entry.reason is None else entry.reason.value,
        "reverses": entry.reverses,
        "reversed_by": entry.reversed_by,
        "currency": entry.currency,
        "who": entry.who,
        "note": entry.note,
        "quantities": {
            name: f"{value:f}" if name in {"price", "cost"} else float(value)
            for name, value in entry.amounts.items()
        },
    }


def entry_rows(entries: Iterable[Entry]) -> list[list[object]]:
    """Return the rows of the history's CSV form, as :data:`ENTRY_HEADER`.

    Parameters
    ----------
    entries : iterable of Entry
        One row each.
    """
    return [
        [
            e.id,
            e.at.isoformat(),
            e.kind.value,
            e.serial,
            e.tool,
            e.profile,
            e.load,
            e.run,
            None if e.actual is None else ("actual" if e.actual else "predicted"),
            e.pocket,
            e.stone,
            None if e.reason is None else e.reason.value,
            e.reverses,
            e.reversed_by,
            _quantities(e),
            e.currency,
            e.who,
            e.note,
            e.digest,
        ]
        for e in entries
    ]


def _what(e: Entry, system: UnitSystem) -> str:
    """Say in a few words what an entry records."""
    diameter = e.amounts.get("diameter_mm")
    size = "" if diameter is None else f", {_diameter(float(diameter), system)}"
    price = f", {e.amounts['price']:.2f} {e.currency}" if "price" in e.amounts else ""
    told = {
        Kind.RECEIVED: f"received new{size}{price}",
        Kind.MOUNTED: "taken out" if e.pocket is None else f"mounted in pocket {e.pocket}",
        Kind.DRESSED: f"dressed{size}",
        Kind.MEASURED: f"measured{size}",
        Kind.REPROFILED: f"reprofiled{size}, life {_percent(float(e.amounts.get('restored', 1)))}",
        Kind.RETIRED: f"retired: {e.reason}",
        Kind.REVERSED: f"reverses entry {e.reverses}",
    }
    if e.kind in told:
        text = told[e.kind]
    elif e.kind is Kind.USED:
        text = f"used: {e.load}, run {e.run}{_shares(e, system)}"
    else:
        text = f"adjusted: {_quantities(e)}"
    if e.reversed_by is not None:
        text += f" (reversed by entry {e.reversed_by})"
    return f"{text}. {e.note}" if e.note else text


def _shares(e: Entry, system: UnitSystem) -> str:
    shares = [float(v) for name, v in e.amounts.items() if name.startswith("share_")]
    share = f", {_percent(max(shares))} of a life" if shares else ""
    contact = float(e.amounts.get("contact_mm", 0))
    work = f", {format_edge(contact, system)}" if contact else ""
    actual = ", actual" if e.actual else ""
    return f"{work} in {e.stone or 'stone'}{share}{actual}"


def entry_parts(entries: Sequence[Entry], system: UnitSystem, *, title: str) -> list[Block]:
    """Return the screen of entries.

    Parameters
    ----------
    entries : sequence of Entry
        In their order.
    system : UnitSystem
        Units of lengths.
    title : str
        First line.
    """
    if not entries:
        return [Line(f"{title}: no entries.")]
    return [
        Line(f"{title} (times in UTC)."),
        Heading("Entries"),
        Grid(
            [("#", ">"), ("When", "<"), ("Piece", "<"), ("What", "<"), ("Who", "<")],
            [[e.id, f"{e.at:%Y-%m-%d %H:%M}", e.serial, _what(e, system), e.who] for e in entries],
        ),
    ]


def posted_parts(
    entries: Sequence[Entry],
    balances: Sequence[PieceBalance],
    system: UnitSystem,
    *,
    first: str,
) -> list[Block]:
    """Return the screen after an entry: what was written, and what is left now.

    Parameters
    ----------
    entries : sequence of Entry
        Written now, or standing there already.
    balances : sequence of PieceBalance
        Of their pieces.
    system : UnitSystem
        Units of lengths.
    first : str
        First line.
    """
    left = {b.serial: b for b in balances}
    if all(e.kind is Kind.RECEIVED for e in entries):
        names = Counter(model_name(e.tool, e.profile) for e in entries)
        serials = [e.serial for e in entries]
        span = serials[0] if len(serials) == 1 else f"{serials[0]} to {serials[-1]}"
        told = ", ".join(f"{count} x {name}" for name, count in names.items())
        return [Line(first), Line(f"{told}: {span}.")]
    rows = [
        [
            e.id,
            e.serial,
            _what(e, system),
            _percent(left[e.serial].remaining) if e.serial in left else NONE,
            _remark(left[e.serial]) if e.serial in left else "",
        ]
        for e in entries
    ]
    columns = [("#", ">"), ("Piece", "<"), ("What", "<"), ("Left", ">"), ("", "<")]
    return [Line(first), Line(""), Grid(columns, rows)]


def audit_parts(report: AuditReport, *, name: str) -> list[Block]:
    """Return the screen of an audit that found nothing wrong.

    Parameters
    ----------
    report : AuditReport
        What was proved.
    name : str
        The ledger.
    """
    return [
        Line(
            f"The books of {name} add up: {report.entries} entries, {report.pieces} pieces, "
            f"{report.runs} runs."
        ),
        Heading("Proved from the entries alone"),
        Grid([("What", "<"), ("Items", ">")], [list(check) for check in report.checks]),
    ]
