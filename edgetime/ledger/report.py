"""The books of a period as records: what was used, what it cost, what is in stock."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import ClassVar, Final

from edgetime.choices import ReportBy
from edgetime.ledger.records import Reason, model_name
from edgetime.records import figure, written

_MM_PER_M: Final = 1000
_MICRO: Final = Decimal("1e-6")


def tidy(amount: Decimal) -> Decimal:
    """Return an amount without zeros behind its last digit."""
    return Decimal(f"{amount:f}".rstrip("0").rstrip(".") if amount % 1 else f"{amount:.0f}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """The money of a group in one currency; currencies are never added.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    contact_mm : float
        Edge in contact of the uses that were charged in it [mm].
    spent : Decimal or None
        Prices of the pieces received and of reprofilings; None where they belong to no group.
    cost : Decimal
        Charged for the life used: price paid times share of life, as entered with each run.
    written_off : Decimal or None
        Paid for lives that have ended, less what was charged from them: negative where they
        outlived what was stated. None where ended lives belong to no group.
    stock_value : Decimal or None
        Price paid times life left, of the pieces in stock at the end, by the lives stated when
        their runs were entered; None where stock belongs to no group.
    """

    currency: str
    contact_mm: float
    spent: Decimal | None
    cost: Decimal
    written_off: Decimal | None
    stock_value: Decimal | None

    @property
    @figure
    def cost_per_m(self) -> Decimal | None:
        """Cost of a metre of edge in contact; None without any."""
        return self._per_m(self.cost)

    @property
    @figure
    def paid_per_m(self) -> Decimal | None:
        """Cost and what was written off, for a metre; None where ended lives are in no group."""
        return None if self.written_off is None else self._per_m(self.cost + self.written_off)

    def _per_m(self, amount: Decimal) -> Decimal | None:
        if self.contact_mm <= 0.0:
            return None
        metres = Decimal(repr(self.contact_mm)) / _MM_PER_M
        return tidy((amount / metres).quantize(_MICRO))


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """What belongs to one month, job, machine, tool, supplier or batch.

    Attributes
    ----------
    group : str or None
        Its name; None for what has none: no load, no machine, none stated at receipt.
    runs, pieces : int
        Runs posted, and pieces used.
    lives_used : float
        Shares of life added up, adjustments included [-].
    received, retired : int or None
        Pieces; None where they belong to no group.
    contact_mm, volume_mm3, cut_s, holes, area_mm2 : float
        Use, added up over pieces: edge in contact, stone removed, time in the cut.
    water_l, electricity_kwh : float or None
        Of its runs, as entered with them; None where runs belong to several groups, or no run
        has it.
    runs_without_supplies : int or None
        Runs in the books without water or without electricity.
    stock : int or None
        Pieces in stock at the end of the month or the period.
    stock_unvalued : int or None
        Those of them without a price or a stated life, which are in no stock value.
    money : tuple of Money
        By currency.
    """

    group: str | None
    runs: int
    pieces: int
    lives_used: float
    received: int | None
    retired: int | None
    contact_mm: float
    volume_mm3: float
    cut_s: float
    holes: float
    area_mm2: float
    water_l: float | None
    electricity_kwh: float | None
    runs_without_supplies: int | None
    stock: int | None
    stock_unvalued: int | None
    money: tuple[Money, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndedLife:
    """What a piece was stated to last beside what it lasted.

    Attributes
    ----------
    serial, tool, profile, supplier, batch : str or None
        The piece.
    ended : Reason
        Why; only a worn piece shows what it lasts.
    at : datetime
        When, UTC.
    measure, unit : str or None
        By which the life was measured, the one with the greatest share.
    predicted, lasted : float or None
        Life as stated when its runs were entered, and what was used, in ``unit``; use entered
        as a share counts as that share of the stated life. None without a measured use.
    """

    serial: str
    tool: str
    profile: str | None
    supplier: str | None
    batch: str | None
    ended: Reason
    at: datetime
    measure: str | None
    unit: str | None
    predicted: float | None
    lasted: float | None

    @property
    def model(self) -> str:
        """``tool``, or ``tool/profile``."""
        return model_name(self.tool, self.profile)

    @property
    @figure
    def lasted_over_predicted(self) -> float | None:
        """How much of the stated life it lasted [-]."""
        if not self.predicted or self.lasted is None:
            return None
        return self.lasted / self.predicted


@dataclass(frozen=True, slots=True, kw_only=True)
class ActualRun:
    """What was predicted for a run beside what was entered as its actual use.

    Attributes
    ----------
    load, run, machine : str, int, str or None
        The run.
    at : datetime
        UTC.
    contact_mm, cut_s : float
        Actual, added up over its tools.
    predicted_contact_mm, predicted_cut_s : float or None
        By the factor of actual over predicted use that the run was posted with; otherwise of
        a run of the same work that was posted as predicted.
    """

    load: str
    run: int
    machine: str | None
    at: datetime
    contact_mm: float
    cut_s: float
    predicted_contact_mm: float | None
    predicted_cut_s: float | None

    @property
    @figure
    def actual_over_predicted(self) -> float | None:
        """Time in the cut, actual over predicted [-]."""
        return self.cut_s / self.predicted_cut_s if self.predicted_cut_s else None


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerReport:
    """The books of a period.

    Attributes
    ----------
    by : ReportBy
        What ``groups`` are.
    since, until : datetime or None
        From when on, and up to when, which is not included.
    zone : str
        Whose days and months they are: this computer's.
    groups : tuple of Group
        By name; months without a gap.
    total : Group
        All together.
    ended_lives : tuple of EndedLife
        By their end.
    actual_runs : tuple of ActualRun
        By day.
    """

    SCHEMA: ClassVar[str] = "edgetime.ledger-report/1"

    by: ReportBy
    since: datetime | None = field(metadata=written(key="from"))
    until: datetime | None = field(metadata=written(key="before"))
    zone: str
    groups: tuple[Group, ...]
    total: Group
    ended_lives: tuple[EndedLife, ...]
    actual_runs: tuple[ActualRun, ...]
