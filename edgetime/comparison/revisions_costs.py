"""Times and prices of two revisions."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal

from edgetime.estimating import Estimate
from edgetime.records import HIDDEN, figure


@dataclass(frozen=True, slots=True)
class ToolChange:
    """Time of one tool before and after.

    Attributes
    ----------
    tool : str
        Tool, or its piece as ``metal-1/eased``.
    total_s, old_total_s : float
        All its visits [s].
    """

    tool: str
    total_s: float
    old_total_s: float

    @property
    @figure
    def change_s(self) -> float:
        """How much longer it takes [s]."""
        return self.total_s - self.old_total_s


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeChange:
    """Time of both revisions with the same shop, stone and stack.

    Attributes
    ----------
    machine, stack, stone : str
        Of both.
    thickness_mm : float
        Nominal [mm].
    tools : tuple of ToolChange
        In the order of the new revision, then what only the old one used.
    total_s, old_total_s : float
        Machine cycle [s].
    attended_s, old_attended_s : float
        Attended work [s].
    hand_mm, old_hand_mm : float
        Edge left for hand finishing [mm].
    """

    machine: str
    stack: str
    stone: str
    thickness_mm: float
    tools: tuple[ToolChange, ...]
    total_s: float
    old_total_s: float
    attended_s: float
    old_attended_s: float
    hand_mm: float
    old_hand_mm: float

    @property
    @figure
    def change_s(self) -> float:
        """How much longer the cycle is [s]."""
        return self.total_s - self.old_total_s


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceChange:
    """Price of both revisions with the rates of one shop.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    locale : str
        Whose way of writing numbers tables use.
    net, old_net : Decimal
        Before tax.
    gross, old_gross : Decimal
        With tax.
    """

    currency: str
    locale: str = field(metadata=HIDDEN)
    net: Decimal
    old_net: Decimal
    gross: Decimal
    old_gross: Decimal

    @property
    @figure
    def change_net(self) -> Decimal:
        """How much dearer it is before tax."""
        return self.net - self.old_net

    @property
    @figure
    def change_gross(self) -> Decimal:
        """How much dearer it is with tax."""
        return self.gross - self.old_gross


def times_of(new: Estimate, old: Estimate) -> TimeChange:
    """Return the times of two estimates."""
    sums: list[dict[str, float]] = []
    for est in (new, old):
        tools: dict[str, float] = defaultdict(float)
        for visit in est.cycle.visits:
            tools[visit.piece] += visit.time.total_s
        sums.append(tools)
    return TimeChange(
        machine=new.machine,
        stack=new.stack,
        stone=new.stone,
        thickness_mm=new.thickness_mm,
        tools=tuple(
            ToolChange(name, sums[0].get(name, 0.0), sums[1].get(name, 0.0))
            for name in dict.fromkeys([*sums[0], *sums[1]])
        ),
        total_s=new.cycle.total_s,
        old_total_s=old.cycle.total_s,
        attended_s=new.labour.total_s,
        old_attended_s=old.labour.total_s,
        hand_mm=new.cycle.hand_mm,
        old_hand_mm=old.cycle.hand_mm,
    )


def prices_of(new: Estimate, old: Estimate) -> PriceChange:
    """Return the prices of two estimates."""
    from edgetime.price import price_loads  # noqa: PLC0415  only when asked for

    quotes = [price_loads([est]) for est in (new, old)]
    return PriceChange(
        currency=quotes[0].currency,
        locale=quotes[0].locale,
        net=quotes[0].net,
        old_net=quotes[1].net,
        gross=quotes[0].gross,
        old_gross=quotes[1].gross,
    )
