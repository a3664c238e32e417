"""When one article runs out, and how many pieces are missing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final, NamedTuple

from edgetime.forecast.calendar import WorkCalendar
from edgetime.forecast.demand import Demand
from edgetime.forecast.inventory import (
    check_service,
    expected_short,
    normal_quantile,
    order_up_to,
    reorder_point,
    spread_over_lead_time,
)
from edgetime.forecast.records import Requirement, Stock, ToolForecast, Use, WeekUse
from edgetime.forecast.supply import Supply
from edgetime.life import LifeDistribution
from edgetime.tooling import Tool

SEED: Final = 1
WEEK_D: Final = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPolicy:
    """How a shop wants to order.

    Attributes
    ----------
    service : float
        Service level: probability that the pieces last [-], 0.5 up to, but not, 1.
    review_d : float
        Interval between standing orders [d].
    first : date or None
        First day of the forecast; None for today.
    calendar : WorkCalendar
        Working days: orders are placed on no others.
    shelf : int or None
        Most pieces of any article to keep; None where the tools' files, or else
        ``largest_stock``, say.
    largest_stock : int or None
        Most pieces of an article to keep whose tool's file does not say; None for no limit.
    shelf_life_d : float or None
        How long an article keeps whose tool's file does not say; None for no limit [d].
    seed : int
        Of the simulation.

    Raises
    ------
    UsageError
        The service level is out of range.
    """

    service: float = 0.95
    review_d: float = 7.0
    first: date | None = None
    calendar: WorkCalendar = field(default_factory=WorkCalendar)
    shelf: int | None = None
    largest_stock: int | None = None
    shelf_life_d: float | None = None
    seed: int = SEED

    def __post_init__(self) -> None:
        """Refuse a service level that cannot be reached, or asks for nothing."""
        check_service(self.service)


class Need(NamedTuple):
    """Work that one job brings one article.

    Attributes
    ----------
    day : date
        When it is cut.
    amount : float
        If the job comes [catalogue lives].
    probability : float
        That it comes [-].
    """

    day: date
    amount: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Horizon:
    """The days of a forecast, with the policy on them.

    Attributes
    ----------
    first, last : date
        First day, and day of the last job.
    policy : OrderPolicy
        Service level and review interval.
    z : float
        Of the service level, see :func:`normal_quantile` [-].
    """

    first: date
    last: date
    policy: OrderPolicy
    z: float

    @classmethod
    def of(cls, first: date, days: Sequence[date], policy: OrderPolicy) -> Horizon:
        """Return the horizon from a first day to the last of the jobs' days."""
        z = normal_quantile(policy.service)
        return cls(first=first, last=max(days, default=first), policy=policy, z=z)

    @property
    def days(self) -> int:
        """Their number, both ends included."""
        return (self.last - self.first).days + 1


class RunOut(NamedTuple):
    """When what is on hand and on order runs out.

    Attributes
    ----------
    likely, at_service : date or None
        Day of the job at which the probability of having run out first exceeds one half, and
        what the service level allows; None for never.
    short : float
        The greatest such probability at any job [-].
    requirements : tuple of Requirement
        Pieces to buy, growing from job to job; the last is the number missing in all.
    simulated : bool
        Whether it comes from simulation, not from a closed form.
    """

    likely: date | None
    at_service: date | None
    short: float
    requirements: tuple[Requirement, ...]
    simulated: bool

    @property
    def needed(self) -> int:
        """Pieces missing to the last job at the service level."""
        return self.requirements[-1].pieces if self.requirements else 0


def expected_use(needs: Sequence[Need], life: LifeDistribution) -> Use:
    """Return the pieces used up: mean, and spread from jobs, from lives, from their mean.

    Parameters
    ----------
    needs : sequence of Need
        Of one article.
    life : LifeDistribution
        Of its pieces.
    """
    mean_life, variance_per_life, doubt = life.typical
    mean = sum(n.probability * n.amount for n in needs)
    demand = sum(n.probability * (1.0 - n.probability) * n.amount**2 for n in needs)
    return Use(
        mean=mean / mean_life,
        sd_demand=math.sqrt(demand) / mean_life,
        sd_life=math.sqrt(mean * variance_per_life),
        sd_mean=mean / mean_life * doubt,
    )


def _weeks(needs: Sequence[Need], horizon: Horizon, life: LifeDistribution) -> tuple[WeekUse, ...]:
    monday = horizon.first - timedelta(days=horizon.first.weekday())
    found = []
    while monday <= horizon.last:
        after = monday + timedelta(days=WEEK_D)
        own = [n for n in needs if monday <= n.day < after]
        found.append(WeekUse(monday=monday, use=expected_use(own, life)))
        monday = after
    return tuple(found)


def run_out(
    needs: Sequence[Need],
    stock: Stock,
    life: LifeDistribution,
    policy: OrderPolicy,
    *,
    name: str = "",
    soonest: date | None = None,
) -> RunOut:
    """Find when what is on hand and on order of an article runs out.

    Parameters
    ----------
    needs : sequence of Need
        The jobs' work.
    stock : Stock
        On hand and on order.
    life : LifeDistribution
        Of its pieces.
    policy : OrderPolicy
        Service level.
    name : str
        The article; with the seed it fixes the simulated futures.
    soonest : date or None
        Day on which what is ordered now arrives; None for at once.
    """
    supply = Supply(life, stock.used, name=name, seed=policy.seed)
    demand = Demand.none()
    likely = at_service = None
    worst = 0.0
    missing: list[tuple[date, int]] = []
    for day in sorted({n.day for n in needs}):
        for need in needs:
            if need.day == day:
                demand = demand.plus(need.amount, need.probability)
        there = stock.by(day)
        short = supply.short(demand, there)
        worst = max(worst, short)
        if likely is None and short > 0.5:
            likely = day
        fewest = 0
        if short > 1.0 - policy.service:
            at_service = at_service or day
            fewest = supply.needed(demand, policy.service, there) - there
        missing.append((day, fewest))
    # What is short only until an order on the way arrives is not bought twice; nor is what comes
    # after the last job, if nothing that is ordered now comes before it.
    last = missing[-1][1] if missing else 0
    if last and soonest is not None:
        there = stock.by(max(missing[-1][0], soonest))
        last = 0
        if supply.short(demand, there) > 1.0 - policy.service:
            last = supply.needed(demand, policy.service, there) - there
    steps: list[Requirement] = []
    for day, pieces in missing:
        if min(pieces, last) > (steps[-1].pieces if steps else 0):
            steps.append(Requirement(day=day, pieces=min(pieces, last)))
    return RunOut(likely, at_service, worst, tuple(steps), not supply.exact)


def last_order_day(wanted: date, tool: Tool, horizon: Horizon) -> date:
    """Return the last working day on which an order arrives in time.

    The lead time is its mean and, for the service level, z of its standard deviations.

    Parameters
    ----------
    wanted : date
        Day of the job that needs the pieces.
    tool : Tool
        With its lead time.
    horizon : Horizon
        Service level and working days.
    """
    lead_d = math.ceil(tool.lead_time_d + horizon.z * tool.lead_time_spread_d)
    return horizon.policy.calendar.on_or_before(wanted - timedelta(days=lead_d))


def tool_forecast(
    piece: str,
    tool: Tool,
    needs: Sequence[Need],
    stock: Stock,
    life: LifeDistribution,
    horizon: Horizon,
) -> ToolForecast:
    """Forecast use, run-out and reorder levels of one article, before anything is ordered.

    Parameters
    ----------
    piece : str
        The article.
    tool : Tool
        Its tool, with the terms of trade.
    needs : sequence of Need
        The jobs' work.
    stock : Stock
        On hand and on order.
    life : LifeDistribution
        Of its pieces.
    horizon : Horizon
        Days and policy.
    """
    policy, z = horizon.policy, horizon.z
    total = expected_use(needs, life)
    ordered_now = horizon.first + timedelta(days=math.ceil(tool.lead_time_d))
    soonest = policy.calendar.on_or_after(ordered_now)
    found = run_out(needs, stock, life, policy, name=piece, soonest=soonest)
    mean_life, _, doubt = life.typical
    per_day = total.mean / horizon.days
    sd_day = math.hypot(total.sd_demand, total.sd_life) / math.sqrt(horizon.days)
    lead, lead_sd = tool.lead_time_d, tool.lead_time_spread_d
    spread = spread_over_lead_time(per_day, sd_day, lead, lead_sd, doubt=doubt)
    order_by = None
    if found.requirements:
        order_by = last_order_day(found.requirements[0].day, tool, horizon)
    weeks = horizon.days / WEEK_D
    return ToolForecast(
        piece=piece,
        tool=tool.name,
        title=tool.title,
        supplier=tool.supplier,
        set_name=tool.set_name,
        stock=stock,
        weeks=_weeks(needs, horizon, life),
        total=total,
        per_week=Use(
            mean=total.mean / weeks,
            sd_demand=total.sd_demand / math.sqrt(weeks),
            sd_life=total.sd_life / math.sqrt(weeks),
            sd_mean=total.sd_mean / weeks,
        ),
        mean_life=mean_life,
        trust=life.trust,
        short=found.short,
        likely_out=found.likely,
        out=found.at_service,
        lead_time_d=lead,
        lead_time_spread_d=lead_sd,
        reorder_point=reorder_point(per_day, sd_day, lead, lead_sd, z=z, doubt=doubt),
        order_up_to=order_up_to(per_day, sd_day, lead, policy.review_d, z=z, doubt=doubt),
        safety_stock=z * spread,
        expected_short=expected_short(spread, z),
        order_by=order_by,
        late_d=0 if order_by is None else max(0, (horizon.first - order_by).days),
        needed=found.needed,
        requirements=found.requirements,
        quantity=0,
        pack=tool.pack,
        minimum_order=tool.minimum_order,
        price=tool.price,
        cost=None,
        currency=tool.currency,
        simulated=found.simulated,
    )
