"""What is on hand, and what a pipeline of jobs means for each tool."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import ClassVar, Final

from edgetime.findings import Finding
from edgetime.life.distribution import Trust
from edgetime.records import HIDDEN, figure, figure_named, written


def money_text(amount: Decimal) -> str:
    """Return an amount as the decimal text of the JSON form, with all its places."""
    return f"{amount:f}"


_MONEY: Final = written(write=money_text)


@dataclass(frozen=True, slots=True, order=True)
class Cost:
    """An amount of money.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    amount : Decimal
        In it.
    """

    currency: str
    amount: Decimal = field(metadata=_MONEY)


def sums(costs: Iterable[tuple[str, Decimal | None]]) -> tuple[Cost, ...]:
    """Add amounts up by currency; those that are None are left out.

    Parameters
    ----------
    costs : iterable of (str, Decimal or None)
        Currency and amount.
    """
    totals: dict[str, Decimal] = {}
    for currency, amount in costs:
        if amount is not None:
            totals[currency] = totals.get(currency, Decimal(0)) + amount
    return tuple(sorted(Cost(*pair) for pair in totals.items()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """New pieces that are ordered and on the way.

    Attributes
    ----------
    day : date
        Day on which they are expected; they count from then on.
    pieces : int
        How many.
    order : str
        Number of the order, ``""`` where none is known.
    """

    day: date
    pieces: int
    order: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Pieces on hand and on order.

    Attributes
    ----------
    new : int
        Unused pieces.
    used : tuple of float
        Use so far of each part-used piece [lives of the tool's file].
    on_order : tuple of Arrival
        Pieces on the way.
    """

    new: int = field(default=0, metadata=written(key="on_hand_new"))
    used: tuple[float, ...] = field(default=(), metadata=written(key="in_service_used_lives"))

    on_order: tuple[Arrival, ...] = ()

    def by(self, day: date) -> int:
        """Return the new pieces there are on a day, with those that arrived by then."""
        return self.new + sum(a.pieces for a in self.on_order if a.day <= day)

    @property
    def coming(self) -> int:
        """Pieces on the way."""
        return sum(a.pieces for a in self.on_order)

    @property
    def used_left(self) -> float:
        """What is left of those in service by the tool's file [lives]."""
        return sum(max(0.0, 1.0 - u) for u in self.used)

    @property
    def lives(self) -> float:
        """What all come to by the tool's file [lives]."""
        return self.new + self.used_left


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """Pieces used up: a mean and where its uncertainty comes from.

    Attributes
    ----------
    mean : float
        Expected [pieces].
    sd_demand : float
        Standard deviation from jobs that come or do not [pieces].
    sd_life : float
        Standard deviation from pieces that last longer or shorter than their mean [pieces].
    sd_mean : float
        Standard deviation from not knowing that mean for certain [pieces].
    """

    mean: float = field(metadata=written(key="mean_pieces"))
    sd_demand: float = field(metadata=written(key="sd_demand_pieces"))
    sd_life: float = field(metadata=written(key="sd_life_pieces"))
    sd_mean: float = field(metadata=written(key="sd_mean_pieces"))

    @property
    def sd_of_lives(self) -> float:
        """From lives and their mean together [pieces]."""
        return math.hypot(self.sd_life, self.sd_mean)

    @property
    @figure_named("sd_pieces")
    def sd(self) -> float:
        """All together: their squares add up [pieces]."""
        return math.hypot(self.sd_demand, self.sd_life, self.sd_mean)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekUse:
    """Use in one week.

    Attributes
    ----------
    monday : date
        Its first day.
    use : Use
        Pieces used up in it.
    """

    monday: date
    use: Use = field(metadata=written(merged=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """Pieces that must have been bought by a day.

    Attributes
    ----------
    day : date
        Day of a job.
    pieces : int
        Beyond what is on hand and on order by then, in all.
    """

    day: date
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolForecast:
    """What a pipeline means for one tool: the article that is bought.

    Attributes
    ----------
    piece, tool, title : str
        Article (``tool``, or ``tool/profile`` for a profiled wheel), tool and readable title.
    supplier, set_name : str
        As the tool's file says, ``""`` for none.
    stock : Stock
        On hand.
    weeks : tuple of WeekUse
        Use week by week, from the first day to the last job.
    total, per_week : Use
        Use over all of it, and on average per week.
    mean_life : float
        Mean life of a piece in this shop [lives of the tool's file].
    trust : Trust
        What the life rests on.
    short : float
        Probability that what is on hand and on order runs out at some job [-].
    likely_out, out : date or None
        Day of the job at which that probability first exceeds one half, and first exceeds
        what the service level allows; None for never in this pipeline.
    lead_time_d, lead_time_spread_d : float
        Mean and standard deviation [d].
    reorder_point, order_up_to, safety_stock : float
        For standing orders at the average use: order when the stock falls to the reorder
        point, up to the order-up-to level; the safety stock is part of both [pieces].
    expected_short : float
        Pieces short on average per lead time at that reorder point [pieces].
    order_by : date or None
        Last day to order for ``out``; None when no order is needed.
    late_d : int
        Days by which that day is past [d].
    needed : int
        Pieces missing to the end of the pipeline at the service level.
    requirements : tuple of Requirement
        How that number grows from job to job.
    quantity : int
        Pieces to order: in whole packs, at least the minimum, as many of each of a set.
    price, cost : Decimal or None
        Of one piece; of the order.
    currency : str
        ISO 4217 code, ``""`` without a price.
    simulated : bool
        Whether run-out and quantity come from simulation, not from a closed form.
    """

    piece: str
    tool: str
    title: str
    supplier: str
    set_name: str = field(metadata=written(key="set"))
    stock: Stock = field(metadata=written(merged=True))
    weeks: tuple[WeekUse, ...]
    total: Use = field(metadata=written(key="use"))
    per_week: Use = field(metadata=written(key="use_per_week"))
    mean_life: float = field(metadata=written(key="mean_life_lives"))
    trust: Trust = field(metadata=written(key="life_rests_on"))
    short: float = field(metadata=written(key="probability_short"))
    likely_out: date | None = field(metadata=written(key="likely_run_out"))
    out: date | None = field(metadata=written(key="run_out_at_service"))
    lead_time_d: float
    lead_time_spread_d: float
    reorder_point: float = field(metadata=written(key="reorder_point_pieces"))
    order_up_to: float = field(metadata=written(key="order_up_to_pieces"))
    safety_stock: float = field(metadata=written(key="safety_stock_pieces"))
    expected_short: float = field(metadata=written(key="expected_short_pieces"))
    order_by: date | None
    late_d: int
    needed: int = field(metadata=written(key="needed_pieces"))
    requirements: tuple[Requirement, ...]
    quantity: int = field(metadata=written(key="order_pieces"))
    pack: int = field(metadata=written(key="pack_pieces"))
    minimum_order: int = field(metadata=written(key="minimum_order_pieces"))
    price: Decimal | None = field(metadata=_MONEY)
    cost: Decimal | None = field(metadata=_MONEY)
    currency: str
    simulated: bool

    @property
    def lasts(self) -> float:
        """Probability that what is on hand and on order lasts [-]."""
        return 1.0 - self.short


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One line of an order.

    Attributes
    ----------
    piece, title, supplier : str
        Article, readable title, the shop's name for whom it is bought from.
    order_by : date
        Last day to order.
    late_d : int
        Days by which that day is past [d].
    quantity, packs : int
        Pieces, and packs they come in.
    price, cost : Decimal or None
        Of one piece; of the line.
    currency : str
        ISO 4217 code, ``""`` without a price.
    set_name : str
        Set it belongs to, ``""`` for none.
    needed : int
        Pieces missing of this article itself.
    wanted : date
        Day of the job that needs them.
    trust : Trust or None
        What the life rests on; None for a tool of a set that the pipeline does not use.
    """

    piece: str
    title: str
    supplier: str = field(metadata=HIDDEN)
    order_by: date
    late_d: int
    quantity: int = field(metadata=written(key="order_pieces"))
    packs: int
    price: Decimal | None = field(metadata=_MONEY)
    cost: Decimal | None = field(metadata=_MONEY)
    currency: str
    set_name: str = field(metadata=written(key="set"))
    needed: int = field(metadata=written(key="needed_pieces"))
    wanted: date = field(metadata=written(key="wanted_on"))
    trust: Trust | None = field(metadata=written(key="life_rests_on"))


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierOrder:
    """All that is to be ordered from one supplier.

    Attributes
    ----------
    supplier : str
        The shop's name for it, ``""`` where the tools' files name none.
    order_by : date
        The earliest day of its lines.
    lines : tuple of OrderLine
        The most urgent first.
    """

    supplier: str
    order_by: date
    lines: tuple[OrderLine, ...]

    @property
    def late_d(self) -> int:
        """Days by which the earliest day is past [d]."""
        return max(line.late_d for line in self.lines)

    @property
    @figure
    def cost(self) -> tuple[Cost, ...]:
        """Cost of the lines whose price is known, one per currency."""
        return sums((line.currency, line.cost) for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class PostedJob:
    """A job of the pipeline that was posted in the ledger, wholly or in part.

    Attributes
    ----------
    name : str
        Of the job.
    day : date
        Its day in the pipeline.
    posted, quantity : int
        Runs in the ledger, which are struck off, and runs that the job has in all.
    """

    name: str
    day: date
    posted: int
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """What a pipeline means for the tools of a shop.

    Attributes
    ----------
    pipeline : str
        Its file.
    first, last : date
        First day of the forecast, and day of the last job.
    jobs : int
        Jobs counted.
    expected_jobs : float
        Sum of their probabilities.
    service : float
        Service level [-].
    review_d : float
        Interval of standing orders [d].
    seed : int
        Of the simulation.
    tools : tuple of ToolForecast
        To be ordered first, the most urgent first, then by expected run-out.
    orders : tuple of SupplierOrder
        One per supplier, the most urgent first.
    findings : tuple of Finding
        Of reading the pipeline and of this stage.
    posted : tuple of PostedJob
        Jobs that are struck off because their runs are in the ledger.
    """

    SCHEMA: ClassVar = "edgetime.forecast/1"

    pipeline: str
    first: date = field(metadata=written(key="first_day"))
    last: date = field(metadata=written(key="last_day"))
    jobs: int
    expected_jobs: float
    service: float
    review_d: float
    seed: int
    tools: tuple[ToolForecast, ...]
    orders: tuple[SupplierOrder, ...]
    findings: tuple[Finding, ...]
    posted: tuple[PostedJob, ...] = field(default=(), metadata=written(key="posted_jobs"))

    @property
    @figure
    def cost(self) -> tuple[Cost, ...]:
        """Cost of all orders, one per currency."""
        return sums((cost.currency, cost.amount) for order in self.orders for cost in order.cost)
