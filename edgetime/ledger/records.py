"""What the ledger takes in and gives out."""

from __future__ import annotations

import shlex
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import ClassVar, Final, NamedTuple

from edgetime.ledger.amounts import BY_NAME
from edgetime.records import exact, figure, written

ACTUAL: Final = "actual="
"""Begins the part of a mark that says actual over predicted use."""

NEARLY_SPENT: Final = 0.1
"""A piece with less of its life left than this is nearly spent."""


class Kind(StrEnum):
    """What an entry records."""

    RECEIVED = "received"
    MOUNTED = "mounted"
    USED = "used"
    DRESSED = "dressed"
    REPROFILED = "reprofiled"
    MEASURED = "measured"
    RETIRED = "retired"
    ADJUSTED = "adjusted"
    REVERSED = "reversed"
    ORDERED = "ordered"
    RESCHEDULED = "rescheduled"
    CANCELLED = "cancelled"
    CLOSED = "closed"


ORDER_KINDS: Final = frozenset({Kind.ORDERED, Kind.RESCHEDULED, Kind.CANCELLED, Kind.CLOSED})
"""Kinds of the entries of an order; arrivals are receipts of pieces."""

ROOTS: Final = frozenset({Kind.RECEIVED, Kind.ORDERED})
"""Kinds that begin an account: of a piece, or of a line of an order."""


class Reason(StrEnum):
    """Why a life ended. ``early`` is a reprofiling before the wheel was worn."""

    WORN = "worn"
    BROKEN = "broken"
    LOST = "lost"
    EARLY = "early"


class State(StrEnum):
    """Where a piece is."""

    NEW = "new"
    MOUNTED = "mounted"
    SHELF = "shelf"
    RETIRED = "retired"


class Condition(StrEnum):
    """How near its end a piece is, by the life that is stated."""

    UNKNOWN = "unknown"
    GOOD = "good"
    NEARLY_SPENT = "nearly spent"
    SPENT = "spent"


def factor_of(mark: str | None) -> float | None:
    """Return actual over predicted use as a mark says it; None where it says none [-]."""
    said = [word for word in (mark or "").split() if word.startswith(ACTUAL)]
    with suppress(ValueError):
        return float(said[0].removeprefix(ACTUAL)) if said else None
    return None


def _quantities(amounts: dict[str, Decimal]) -> dict[str, str | float]:
    # Money is text, so that nobody's reader makes a binary fraction of it.
    return {
        name: exact(value) if BY_NAME[name].money else float(value)
        for name, value in amounts.items()
    }


def model_name(tool: str, profile: str | None) -> str:
    """Return what a load asks for: ``tool``, or ``tool/profile`` for a profiled wheel."""
    return tool if profile is None else f"{tool}/{profile}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the ledger.

    Attributes
    ----------
    id : int
        Number, from 1, without gaps.
    at : datetime
        When it happened, UTC.
    kind : Kind
        What it records.
    serial, tool, profile : str or None
        The piece, or the article of an order, which has no serial; profile is None unless the
        wheel is ground to one.
    load, run, digest : str, int, str or None
        The run it came from: name of the load, number of the run, digest of the estimate.
    work_digest : str or None
        Of what the run's tools do.
    machine : str or None
        Of the run, or where the piece was mounted; None where it was not stated.
    actual : bool or None
        Whether the run's figures are actual ones; None outside a run.
    reverses : int or None
        The entry this one undoes.
    reversed_by : int or None
        The entry that undoes this one.
    pocket : int or None
        Where it was mounted; None for taken out.
    stone : str or None
        Stone worked in.
    reason : Reason or None
        Why a life ended.
    governing : str or None
        The measure that ends first.
    currency : str or None
        Of price and cost.
    who, note : str
        Who entered it, and what they had to say.
    mark : str or None
        ``anyway`` for what was entered in spite of doubts; ``actual=0.5`` for a run that was
        entered with half the use predicted.
    hash : str
        Of this entry and all before it.
    order : str or None
        Order number, of the entries of an order and of what arrived of it.
    pieces : int or None
        Pieces ordered, cancelled or written off.
    expected : date or None
        Day on which an order is expected.
    amounts : dict of str to Decimal
        Quantities by name with unit, only those there are.
    """

    id: int
    at: datetime
    kind: Kind
    serial: str | None
    tool: str
    profile: str | None
    load: str | None
    run: int | None
    digest: str | None
    work_digest: str | None
    machine: str | None
    actual: bool | None
    reverses: int | None
    reversed_by: int | None
    pocket: int | None
    stone: str | None
    reason: Reason | None
    governing: str | None
    currency: str | None
    who: str
    note: str
    mark: str | None
    hash: str
    order: str | None
    pieces: int | None
    expected: date | None
    amounts: dict[str, Decimal] = field(metadata=written(key="quantities", write=_quantities))

    @property
    def model(self) -> str:
        """``tool``, or ``tool/profile``."""
        return model_name(self.tool, self.profile)


@dataclass(frozen=True, slots=True, kw_only=True)
class Posted:
    """The result of entering something.

    Attributes
    ----------
    new : bool
        False when the run was in the ledger already; nothing was changed then.
    entries : tuple of Entry
        Those written, or those found there.
    taken_out : tuple of str
        Serials of pieces that came out of their pockets because others were put in.
    """

    new: bool
    entries: tuple[Entry, ...]
    taken_out: tuple[str, ...] = ()


def undo_words(posted: Posted) -> str:
    """Return how ``edgetime ledger`` is told to undo what was entered; ``""`` for a reversal.

    A run is named, other entries are by their numbers.
    """
    made = [e for e in posted.entries if e.kind is not Kind.REVERSED]
    if not posted.new or not made:
        return ""
    first = made[0]
    if first.kind is Kind.USED:
        words = ["reverse", "--load", first.load or "", "--run", str(first.run)]
        return shlex.join(words + (["--machine", first.machine] if first.machine else []))
    last = made[-1]
    return f"reverse {first.id}" if first is last else f"reverse {first.id}-{last.id}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """Use of a piece by one measure.

    Attributes
    ----------
    by, unit : str
        Measure and its unit (``mm``, ``mm3``, ``s``, ``1``, ``mm2``).
    used : float
        Since the life was last restored.
    share : float or None
        Share of life by this measure, adjustments included; None when the tool's file
        states no such life.
    """

    by: str
    used: float
    unit: str
    share: float | None


class UsedShare(NamedTuple):
    """What a share of life comes from: use by a measure, or adjustments (``used`` None)."""

    by: str
    used: Used | None
    share: float | None


class Left(NamedTuple):
    """An amount of life by the measure that governs."""

    amount: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceBalance:
    """The account of one piece.

    Attributes
    ----------
    serial, tool, profile : str
        The piece.
    state : State
        Where it is.
    pocket : int or None
        Its pocket.
    reason : Reason or None
        Why it was retired.
    used : tuple of Used
        Since the life was last restored, by every measure.
    governing : str or None
        The measure with the greatest share.
    share : float or None
        Greatest share used [-]; None when no life is stated.
    adjusted : float
        What of every share was entered by adjustments, not by runs [-].
    restored : float
        Life at the last restoring [-]: 1 when new.
    remaining : float or None
        ``restored - share`` [-]; below 0 for a piece that outlives its stated life.
    runs, dressings : int
        Runs and dressings since the life was last restored.
    path_mm : float
        Tool-centre path in the cut since then [mm].
    diameter_mm : float or None
        As last measured [mm].
    machine : str or None
        In whose rack it is; None where it was not stated.
    supplier, batch : str or None
        As entered at receipt.
    price, cost : Decimal or None
        Paid for it; of life used since it was last restored (None when currencies differ).
    price_currency, currency : str or None
        Of the price, and of the cost: the same but in ledgers of earlier releases.
    received_at, restored_at : datetime
        UTC.
    """

    serial: str
    tool: str
    profile: str | None
    state: State
    pocket: int | None
    reason: Reason | None
    used: tuple[Used, ...]
    governing: str | None
    share: float | None
    adjusted: float
    restored: float
    remaining: float | None
    runs: int
    dressings: int
    path_mm: float
    diameter_mm: float | None
    machine: str | None
    supplier: str | None
    batch: str | None
    price: Decimal | None
    price_currency: str | None
    cost: Decimal | None
    currency: str | None
    received_at: datetime
    restored_at: datetime

    @property
    def model(self) -> str:
        """``tool``, or ``tool/profile``."""
        return model_name(self.tool, self.profile)

    @property
    def governs(self) -> Used | None:
        """Use by the governing measure."""
        return next((u for u in self.used if u.by == self.governing), None)

    @property
    def ended_a_life(self) -> bool:
        """Whether a life of it may have ended by wear: it was worn out or reprofiled."""
        return self.reason is Reason.WORN or self.restored_at != self.received_at

    @property
    def whole_life(self) -> Left | None:
        """A whole stated life by the governing measure, in the stones worked so far.

        Used over its share is the life in those stones. None where no life is stated or no run
        has shown how fast the life is used.
        """
        used = self.governs
        if used is None or used.share is None:
            return None
        by_runs = used.share - self.adjusted
        if not used.used or by_runs <= 0.0:
            return None
        return Left(used.used / by_runs, used.unit)

    @property
    def left(self) -> Left | None:
        """What is left by the governing measure, in the stones worked so far."""
        whole = self.whole_life
        if whole is None or self.remaining is None:
            return None
        amount = max(0.0, self.remaining) * whole.amount
        # A hole is drilled whole or not at all; a quotient of 99.999999999 is 100.
        return Left(float(int(amount + 1e-6)) if whole.unit == "1" else amount, whole.unit)

    @property
    def shares(self) -> tuple[UsedShare, ...]:
        """The share of life by each measure, what runs used apart from what was adjusted."""
        by_runs = [
            UsedShare(u.by, u, None if u.share is None else u.share - self.adjusted)
            for u in self.used
            if u.used or u.share is not None
        ]
        if not self.adjusted:
            return tuple(by_runs)
        return (*by_runs, UsedShare("adjustments, on every measure", None, self.adjusted))

    @property
    @figure
    def left_amount(self) -> float | None:
        """The amount of :attr:`left`, in ``left_unit``."""
        return None if self.left is None else self.left.amount

    @property
    @figure
    def left_unit(self) -> str | None:
        """The unit of the governing measure."""
        return None if self.governs is None else self.governs.unit

    @property
    @figure
    def condition(self) -> Condition:
        """Whether it is good, nearly spent, spent, or without a stated life."""
        if self.remaining is None:
            return Condition.UNKNOWN
        if self.remaining <= 0.0:
            return Condition.SPENT
        return Condition.NEARLY_SPENT if self.remaining < NEARLY_SPENT else Condition.GOOD


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeRecord:
    """One life of a piece, from new or reprofiled to its end, or still in service.

    Attributes
    ----------
    serial, tool, profile : str
        The piece.
    stone : str or None
        The stone it worked in, None when it was more than one or none yet.
    measure : str or None
        The measure with the greatest share.
    used : float
        By that measure.
    unit : str
        Its unit.
    share : float or None
        Share of the stated life [-]; None when none is stated.
    ended : str or None
        ``worn``, ``broken``, ``lost``; None while in service or when reprofiled early.
    began_at, ended_at : datetime or None
        UTC.
    """

    serial: str
    tool: str
    profile: str | None
    stone: str | None
    measure: str | None
    used: float
    unit: str
    share: float | None
    ended: str | None
    began_at: datetime
    ended_at: datetime | None

    @property
    def model(self) -> str:
        """``tool``, or ``tool/profile``."""
        return model_name(self.tool, self.profile)


class Check(NamedTuple):
    """What an audit proved, and for how many items."""

    what: str
    items: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditReport:
    """What adding up the books again showed.

    Attributes
    ----------
    entries, pieces, runs : int
        How many there are.
    checks : tuple of Check
        What was proved and for how many items.
    last_hash : str
        Of the last entry: it covers all of the books, for ``audit --expect``.
    warnings : tuple of str
        What ledgers of earlier releases may hold and should be looked at.
    problems : tuple of str
        What does not add up; empty for sound books.
    """

    SCHEMA: ClassVar[str] = "edgetime.audit/1"

    entries: int
    pieces: int
    runs: int
    checks: tuple[Check, ...]
    last_hash: str
    warnings: tuple[str, ...]
    problems: tuple[str, ...]
