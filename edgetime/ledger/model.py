"""What the ledger takes in and gives out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any, Protocol


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


class MeasureLike(Protocol):
    """How much of a life one measure has used up."""

    @property
    def by(self) -> str:
        """``length``, ``volume``, ``g-ratio``, ``time``, ``holes`` or ``area``."""

    @property
    def used(self) -> float:
        """Used; for ``g-ratio`` the volume of the wheel that wears."""

    @property
    def share(self) -> float:
        """Share of life used [-]."""


class ToolWearLike(Protocol):
    """Wear of one piece in one load."""

    @property
    def piece(self) -> str:
        """``tool`` or ``tool/profile``."""

    @property
    def stone(self) -> str:
        """Stone it worked in."""

    @property
    def thickness_mm(self) -> float:
        """Nominal thickness [mm]."""

    @property
    def contact_mm(self) -> float:
        """Edge times passes [mm]."""

    @property
    def path_mm(self) -> float:
        """Tool-centre path in the cut [mm]."""

    @property
    def volume_mm3(self) -> float:
        """Stone removed [mm³]."""

    @property
    def cut_s(self) -> float:
        """Time in the cut [s]."""

    @property
    def holes(self) -> int:
        """Holes cored."""

    @property
    def area_mm2(self) -> float:
        """Area sawn [mm²]."""

    @property
    def measures(self) -> Sequence[MeasureLike]:
        """Share of life by each measure the tool's file states."""

    @property
    def governing(self) -> str | None:
        """The measure that ends first."""

    @property
    def cost(self) -> Decimal | None:
        """Price times share of life."""

    @property
    def currency(self) -> str | None:
        """ISO 4217 code."""


class WearLike(Protocol):
    """Wear of one load, as :func:`edgetime.wear.compute_wear` gives it."""

    @property
    def tools(self) -> Sequence[ToolWearLike]:
        """One per piece, stone and thickness."""


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
    serial, tool, profile : str
        The piece; profile is None unless the wheel is ground to one.
    load, run, digest : str, int, str or None
        The run it came from: name of the load, number of the run, digest of the estimate.
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
    amounts : dict of str to Decimal
        Quantities by name with unit, only those there are.
    """

    id: int
    at: datetime
    kind: Kind
    serial: str
    tool: str
    profile: str | None
    load: str | None
    run: int | None
    digest: str | None
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
    amounts: dict[str, Decimal]


@dataclass(frozen=True, slots=True, kw_only=True)
class Posted:
    """What came of an attempt to enter something.

    Attributes
    ----------
    new : bool
        False when the run stood in the ledger already; nothing was changed then.
    entries : tuple of Entry
        Those written, or those that stood there.
    """

    new: bool
    entries: tuple[Entry, ...]


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


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceBalance:
    """What stands to the account of one piece.

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
    price, cost : Decimal or None
        Paid for it; of life used since it was last restored (None when currencies differ).
    currency : str or None
        Of both.
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
    price: Decimal | None
    cost: Decimal | None
    currency: str | None
    received_at: datetime
    restored_at: datetime

    @property
    def model(self) -> str:
        """``tool``, or ``tool/profile``."""
        return model_name(self.tool, self.profile)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "serial": self.serial,
            "tool": self.tool,
            "profile": self.profile,
            "state": self.state.value,
            "pocket": self.pocket,
            "reason": None if self.reason is None else self.reason.value,
            "share": self.share,
            "adjusted": self.adjusted,
            "restored": self.restored,
            "remaining": self.remaining,
            "governing": self.governing,
            "used": [
                {"by": u.by, "used": u.used, "unit": u.unit, "share": u.share} for u in self.used
            ],
            "runs": self.runs,
            "dressings": self.dressings,
            "path_mm": self.path_mm,
            "diameter_mm": self.diameter_mm,
            "price": None if self.price is None else str(self.price),
            "cost": None if self.cost is None else str(self.cost),
            "currency": self.currency,
            "received_at": self.received_at.isoformat(),
            "restored_at": self.restored_at.isoformat(),
        }


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


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditReport:
    """What adding up the books again showed.

    Attributes
    ----------
    entries, pieces, runs : int
        How many there are.
    checks : tuple of (str, int)
        What was proved and for how many items.
    problems : tuple of str
        What does not add up; empty for sound books.
    """

    entries: int
    pieces: int
    runs: int
    checks: tuple[tuple[str, int], ...]
    problems: tuple[str, ...]
