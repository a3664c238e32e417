"""A pipeline of jobs, what is at hand, and what follows for each tool."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from edgetime.findings import Finding
from edgetime.records import as_json


def money_text(amount: Decimal | None) -> str | None:
    """Return an amount as the decimal text of the JSON form."""
    return None if amount is None else f"{amount:f}"


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One line of a pipeline.

    Attributes
    ----------
    day : date
        When it is cut: the tools must be there.
    name : str
        As the shop calls it.
    drawings : tuple of str
        Paths of the drawings of one load.
    metres : tuple of (str, float)
        Profile and length of edge of it, for jobs not drawn yet [m].
    stone, stack : str
        Names in the catalogue.
    thickness_mm : float
        Nominal [mm].
    quantity : int
        How often it is cut.
    probability : float
        That the job comes [-].
    line : int
        Where it stands in the file.
    """

    day: date
    name: str
    drawings: tuple[str, ...]
    metres: tuple[tuple[str, float], ...]
    stone: str
    stack: str
    thickness_mm: float
    quantity: int
    probability: float
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipeline:
    """The jobs to come.

    Attributes
    ----------
    path : str
        File as the user named it.
    jobs : tuple of Job
        As they stand in the file.
    findings : tuple of Finding
        What was decided for the user on reading it.
    """

    path: str
    jobs: tuple[Job, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Pieces at hand.

    Attributes
    ----------
    new : int
        Unused pieces.
    used : tuple of float
        Use so far of each piece in service [lives of the tool's file].
    """

    new: int = 0
    used: tuple[float, ...] = ()

    @property
    def lives(self) -> float:
        """What they come to by the tool's file [lives]."""
        return self.new + sum(max(0.0, 1.0 - u) for u in self.used)


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """Pieces used up: a mean and where its doubt comes from.

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

    mean: float
    sd_demand: float
    sd_life: float
    sd_mean: float

    @property
    def sd(self) -> float:
        """All together: their squares add up [pieces]."""
        return math.hypot(self.sd_demand, self.sd_life, self.sd_mean)

    def as_dict(self) -> dict[str, float]:
        """Return the JSON form."""
        return {
            "mean_pieces": self.mean,
            "sd_demand_pieces": self.sd_demand,
            "sd_life_pieces": self.sd_life,
            "sd_mean_pieces": self.sd_mean,
            "sd_pieces": self.sd,
        }


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
    use: Use


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
        At hand.
    weeks : tuple of WeekUse
        Use week by week, from the first day to the last job.
    total, per_week : Use
        Use over all of it, and on average per week.
    mean_life : float
        Mean life of a piece in this shop [lives of the tool's file].
    trust : str
        What the life rests on: ``catalogue``, ``few``, ``own`` or ``given``.
    short : float
        Probability that what is at hand does not last to the last job [-].
    likely_out, out : date or None
        Day of the job at which that probability first exceeds one half, and first exceeds
        what the service level allows; None for never in this pipeline.
    lead_time_d, lead_time_spread_d : float
        Mean and standard deviation [d].
    reorder_point, order_up_to, safety_stock : float
        For standing orders at the average use: order when so much is left, up to so much,
        of which so much is for safety [pieces].
    expected_short : float
        Pieces short on average per lead time at that reorder point [pieces].
    order_by : date or None
        Last day to order for ``out``; None when nothing need be ordered.
    late_d : int
        Days by which that day is past [d].
    needed : int
        Pieces missing to the end of the pipeline at the service level.
    quantity : int
        Pieces to order: in whole packs, at least the minimum, as many of each of a set.
    price, cost : Decimal or None
        Of one piece; of the order.
    currency : str
        ISO 4217 code, ``""`` without a price.
    simulated : bool
        Whether run-out and quantity come of the simulation, not of a closed form.
    """

    piece: str
    tool: str
    title: str
    supplier: str
    set_name: str
    stock: Stock
    weeks: tuple[WeekUse, ...]
    total: Use
    per_week: Use
    mean_life: float
    trust: str
    short: float
    likely_out: date | None
    out: date | None
    lead_time_d: float
    lead_time_spread_d: float
    reorder_point: float
    order_up_to: float
    safety_stock: float
    expected_short: float
    order_by: date | None
    late_d: int
    needed: int
    quantity: int
    pack: int
    minimum_order: int
    price: Decimal | None
    cost: Decimal | None
    currency: str
    simulated: bool

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; money is a decimal text."""
        return {
            "piece": self.piece,
            "tool": self.tool,
            "title": self.title,
            "supplier": self.supplier,
            "set": self.set_name,
            "on_hand_new": self.stock.new,
            "in_service_used_lives": list(self.stock.used),
            "use": self.total.as_dict(),
            "use_per_week": self.per_week.as_dict(),
            "weeks": [{"monday": w.monday.isoformat(), **w.use.as_dict()} for w in self.weeks],
            "mean_life_lives": self.mean_life,
            "life_rests_on": self.trust,
            "probability_short": self.short,
            "likely_run_out": _day(self.likely_out),
            "run_out_at_service": _day(self.out),
            "lead_time_d": self.lead_time_d,
            "lead_time_spread_d": self.lead_time_spread_d,
            "reorder_point_pieces": self.reorder_point,
            "order_up_to_pieces": self.order_up_to,
            "safety_stock_pieces": self.safety_stock,
            "expected_short_pieces": self.expected_short,
            "order_by": _day(self.order_by),
            "late_d": self.late_d,
            "needed_pieces": self.needed,
            "order_pieces": self.quantity,
            "pack_pieces": self.pack,
            "minimum_order_pieces": self.minimum_order,
            "price": money_text(self.price),
            "cost": money_text(self.cost),
            "currency": self.currency,
            "simulated": self.simulated,
        }


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
    """

    piece: str
    title: str
    supplier: str
    order_by: date
    late_d: int
    quantity: int
    packs: int
    price: Decimal | None
    cost: Decimal | None
    currency: str
    set_name: str
    needed: int

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; money is a decimal text."""
        return {
            "piece": self.piece,
            "title": self.title,
            "order_by": self.order_by.isoformat(),
            "late_d": self.late_d,
            "order_pieces": self.quantity,
            "packs": self.packs,
            "price": money_text(self.price),
            "cost": money_text(self.cost),
            "currency": self.currency,
            "set": self.set_name,
            "needed_pieces": self.needed,
        }


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
    def cost(self) -> tuple[tuple[str, Decimal], ...]:
        """Currency and cost of the lines whose price is known, one per currency."""
        totals: dict[str, Decimal] = {}
        for line in self.lines:
            if line.cost is not None:
                totals[line.currency] = totals.get(line.currency, Decimal(0)) + line.cost
        return tuple(sorted(totals.items()))

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "supplier": self.supplier,
            "order_by": self.order_by.isoformat(),
            "lines": [line.as_dict() for line in self.lines],
            "cost": [{"currency": c, "amount": money_text(a)} for c, a in self.cost],
        }


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
    """

    pipeline: str
    first: date
    last: date
    jobs: int
    expected_jobs: float
    service: float
    review_d: float
    seed: int
    tools: tuple[ToolForecast, ...]
    orders: tuple[SupplierOrder, ...]
    findings: tuple[Finding, ...]

    @property
    def cost(self) -> tuple[tuple[str, Decimal], ...]:
        """Currency and cost of all orders, one per currency."""
        totals: dict[str, Decimal] = {}
        for order in self.orders:
            for currency, amount in order.cost:
                totals[currency] = totals.get(currency, Decimal(0)) + amount
        return tuple(sorted(totals.items()))

    def as_dict(self) -> dict[str, Any]:
        """Return the ``edgetime.forecast/1`` document."""
        return {
            "schema": "edgetime.forecast/1",
            "pipeline": self.pipeline,
            "first_day": self.first.isoformat(),
            "last_day": self.last.isoformat(),
            "jobs": self.jobs,
            "expected_jobs": self.expected_jobs,
            "service": self.service,
            "review_d": self.review_d,
            "seed": self.seed,
            "tools": [t.as_dict() for t in self.tools],
            "orders": [o.as_dict() for o in self.orders],
            "cost": [{"currency": c, "amount": money_text(a)} for c, a in self.cost],
            "findings": as_json(self.findings),
        }
