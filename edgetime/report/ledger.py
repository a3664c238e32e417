"""The ledger as documents: what is left, what is in the rack, whether the books add up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from edgetime.ledger.rack import Rack, RackPocket
from edgetime.ledger.records import (
    AuditReport,
    Check,
    Condition,
    Left,
    PieceBalance,
    State,
    UsedShare,
)
from edgetime.report.columns import COUNT, Column, Sheet, Unit
from edgetime.report.document import Block, Fact, Heading, Line, Table, Tone
from edgetime.report.lasting import amount_range
from edgetime.report.quantities import format_area, format_edge
from edgetime.report.survive import BASIS, BASIS_NOTE
from edgetime.report.text import NONE, figure, holes, percent
from edgetime.unit_table import FT_MM, IN_MM
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.life import FittedLeft

NOTHING_FITTED: Final[Mapping[str, FittedLeft]] = MappingProxyType({})
"""No piece has a fitted life."""

_MM3_PER_CM3: Final = 1e3
_MM_PER_M: Final = 1e3
_COARSE_MM: Final = 2e4
"""Above this a remaining length is shown in whole metres or feet: it is a forecast."""

REMARKS: Final = {
    Condition.UNKNOWN: "no life stated",
    Condition.SPENT: "spent",
    Condition.NEARLY_SPENT: "nearly spent",
    Condition.GOOD: "",
}


SHARE: Final = Unit("", lambda value, _: percent(value))
_MEASURED: Final = Unit("", lambda used, system: _measured(used.used, used.unit, system))


def diameter_text(diameter_mm: float, system: UnitSystem) -> str:
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


def _fitted_column(part: str, fitted: Mapping[str, FittedLeft]) -> Column[PieceBalance]:
    """Return a column of files of what is left by the fitted life."""

    def get(b: PieceBalance) -> float | None:
        amount = fitted[b.serial].amount if b.serial in fitted else None
        return None if amount is None else float(getattr(amount, part))

    return Column(key="fitted_left" if part == "value" else f"fitted_left_{part}", get=get)


def pieces_sheet(
    *,
    pocket: bool = False,
    remarks: bool = False,
    retired: bool = False,
    fitted: Mapping[str, FittedLeft] = NOTHING_FITTED,
) -> Sheet[PieceBalance]:
    """Return the columns of pieces and what is left of them.

    Parameters
    ----------
    pocket, remarks : bool
        Whether the screen shows the pocket, and which pieces are nearly spent.
    retired : bool
        Whether the screen is of retired pieces: why, and what was used.
    fitted : mapping of str to FittedLeft
        What is left by the fitted life, by serial.
    """
    serving = not retired
    return Sheet(
        (
            Column(heading="Pocket" if pocket else "", unit=COUNT, get=lambda b: b.pocket),
            Column(key="serial", heading="Serial"),
            Column(heading="Tool", get=lambda b: b.model),
            Column(key="tool"),
            Column(key="profile"),
            Column(key="state"),
            Column(key="pocket", unit=COUNT),
            Column(key="reason", heading="Why" if retired else ""),
            Column(key="share_used", heading="Used" if retired else "", unit=SHARE,
                   get=lambda b: b.share),
            Column(key="share_left", heading="Left" if serving else "", unit=SHARE,
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
            *(_fitted_column(part, fitted) for part in ("value", "low", "high")),
            Column(key="life_rests_on",
                   get=lambda b: fitted[b.serial].trust if b.serial in fitted else None),
            Column(heading="Remark" if remarks else "", get=lambda b: REMARKS[b.condition]),
        )
    )  # fmt: skip


def _pieces(pieces: Sequence[PieceBalance], *, pocket: bool) -> Table[PieceBalance]:
    remarks = any(b.condition is not Condition.GOOD for b in pieces)
    return Table(pieces_sheet(pocket=pocket, remarks=remarks), pieces)


_MODELS: Final[Sheet[tuple[str, int]]] = Sheet(
    (
        Column(heading="Tool", get=lambda row: row[0]),
        Column(heading="Qty", unit=COUNT, get=lambda row: row[1]),
    )
)

_USED: Final[Sheet[UsedShare]] = Sheet(
    (
        Column(heading="By", get=lambda u: u.by),
        Column(heading="Used", unit=_MEASURED, get=lambda u: u.used),
        Column(heading="Share of life", unit=SHARE, get=lambda u: u.share),
    )
)


def _fitted(left: FittedLeft, system: UnitSystem) -> str:
    """Write what is left by the fitted life: an amount, or per cent of the life in the file."""
    if left.amount is not None and left.unit is not None:
        return amount_range(left.amount, left.unit, system)
    value, low, high = (
        f"{100.0 * x:.0f}" for x in (left.lives.value, left.lives.low, left.lives.high)
    )
    return f"{value} ({low} to {high}) %"


_FITTED: Final[Sheet[tuple[PieceBalance, FittedLeft]]] = Sheet(
    (
        Column(heading="Serial", get=lambda row: row[0].serial),
        Column(heading="Tool", get=lambda row: row[0].model),
        Column(heading="Left", unit=COUNT, get=lambda row: row[1], show=_fitted),
        Column(heading="Worn", unit=COUNT, get=lambda row: row[1].worn),
        Column(heading="Of", unit=COUNT, get=lambda row: row[1].pieces),
        Column(heading="Basis", get=lambda row: BASIS[row[1].trust.value]),
    )
)


def _fitted_parts(pieces: Sequence[PieceBalance], fitted: Mapping[str, FittedLeft]) -> list[Block]:
    """Return what is left by the lives that worn-out pieces have shown."""
    rows = [(one, fitted[one.serial]) for one in pieces if one.serial in fitted]
    if not rows:
        return []
    return [
        Heading("Left by the lives of your worn-out tools"),
        Table(_FITTED, rows),
        Line(
            "Left: until worn out or broken, in the stones worked so far, 90 % interval in "
            f"brackets. Worn, Of: lives ended by wear, of those with any use. {BASIS_NOTE}"
        ),
    ]


def stock_parts(
    balances: Sequence[PieceBalance],
    *,
    name: str,
    retired: bool,
    last_hash: str,
    fitted: Mapping[str, FittedLeft] = NOTHING_FITTED,
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
    fitted : mapping of str to FittedLeft
        What is left by the fitted life, by serial.
    """
    by_state = {state: [b for b in balances if b.state is state] for state in State}
    mounted = sorted(by_state[State.MOUNTED], key=lambda b: b.pocket or 0)
    counts = ", ".join(f"{len(by_state[s])} {s.value}" for s in State if by_state[s])
    parts: list[Block] = [Line(f"Ledger {name}: {counts or 'no tools yet'}.")]
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
        parts.append(
            Line(
                "\nLeft, Remaining: by the life in the tool's file and the measure that governs, in "
                "the stones worked so far."
            )
        )
    parts += _fitted_parts([*mounted, *shelf], fitted)
    return [*parts, Line(f"\nLast hash: {last_hash}")]


def piece_parts(
    balance: PieceBalance, system: UnitSystem, fitted: FittedLeft | None = None
) -> list[Block]:
    """Return one piece's account, with what is left by the fitted life."""
    place = {
        State.MOUNTED: f"in pocket {balance.pocket}"
        + (f" of {balance.machine}" if balance.machine else ""),
        State.NEW: "new, not mounted yet",
        State.SHELF: "on the shelf",
        State.RETIRED: f"retired: {balance.reason}",
    }[balance.state]
    remark = REMARKS[balance.condition]
    left = "" if balance.left is None else f", {left_text(balance.left, system)}"
    size = balance.diameter_mm
    used = balance.shares
    parts: list[Block] = [
        Line(f"{balance.serial}: {balance.model}, {place}."),
        Line(""),
        Fact("Life left", f"{percent(balance.remaining)}{left}{remark and f' ({remark})'}"),
        *(
            []
            if fitted is None
            else [
                Fact(
                    "By worn tools",
                    f"{_fitted(fitted, system)}, 90 % interval in brackets; {fitted.worn} worn out "
                    f"of {fitted.pieces}, basis {BASIS[fitted.trust.value]}",
                )
            ]
        ),
        Fact("Runs", str(balance.runs)),
        Fact("Dressings", str(balance.dressings)),
        Fact("Diameter", NONE if size is None else diameter_text(size, system)),
        Fact("Received", f"{balance.received_at.astimezone():%Y-%m-%d}"),
        Fact(
            "Life began",
            f"{balance.restored_at.astimezone():%Y-%m-%d}, at {percent(balance.restored)}",
        ),
        Fact("Price", _money(balance.price, balance.price_currency)),
        Fact("Cost of life used", _money(balance.cost, balance.currency)),
    ]
    return [*parts, Heading("Used since the life began"), Table(_USED, used)] if used else parts


CHECKS: Final[Sheet[Check]] = Sheet(
    (Column(key="what", heading="What"), Column(key="items", heading="Items", unit=COUNT))
)
"""What an audit proved, and for how many items."""


RACK: Final[Sheet[RackPocket]] = Sheet(
    (
        Column(key="pocket", heading="Pocket", unit=COUNT),
        Column(key="serial", heading="Serial"),
        Column(key="tool", heading="Tool"),
        Column(heading="Left", unit=SHARE, get=lambda p: p.remaining),
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
            f"The books of {name} add up: {report.entries} entries, {report.pieces} tools, "
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
