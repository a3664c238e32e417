"""From jobs, use per job, pieces at hand and their lives to what to order by when."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.forecast import codes
from edgetime.forecast.inventory import (
    check_service,
    expected_short,
    normal_quantile,
    order_up_to,
    reorder_point,
    spread_over_lead_time,
)
from edgetime.forecast.model import (
    Forecast,
    Job,
    OrderLine,
    Pipeline,
    Stock,
    ToolForecast,
    Use,
    WeekUse,
)
from edgetime.forecast.orders import article, order_groups, supplier_orders

if TYPE_CHECKING:
    from edgetime.forecast.lives import LifeLaw
    from edgetime.forecast.rates import Rates
    from edgetime.tooling.model import Catalogue, Tool

SEED: Final = 1
WEEK_D: Final = 7


@dataclass(frozen=True, slots=True)
class _Load:
    """What one job asks of one article: so much work on a day, if it comes."""

    day: date
    amount: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    first: date
    last: date
    service: float
    z: float
    review_d: float
    seed: int

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


def _use(loads: list[_Load], law: LifeLaw) -> Use:
    """Return the pieces used up: mean, and spread from jobs, from lives, from their mean."""
    life, variance_per_life, doubt = law.typical
    mean = sum(w.probability * w.amount for w in loads)
    demand = sum(w.probability * (1.0 - w.probability) * w.amount**2 for w in loads)
    return Use(
        mean=mean / life,
        sd_demand=math.sqrt(demand) / life,
        sd_life=math.sqrt(mean * variance_per_life),
        sd_mean=mean / life * doubt,
    )


def _weeks(loads: list[_Load], plan: _Plan, law: LifeLaw) -> tuple[WeekUse, ...]:
    monday = plan.first - timedelta(days=plan.first.weekday())
    found = []
    while monday <= plan.last:
        after = monday + timedelta(days=WEEK_D)
        own = [w for w in loads if monday <= w.day < after]
        found.append(WeekUse(monday=monday, use=_use(own, law)))
        monday = after
    return tuple(found)


def _run_out(
    loads: list[_Load], stock: Stock, law: LifeLaw, plan: _Plan, name: str
) -> tuple[date | None, date | None, float, int, bool]:
    """Return likely day, day at service, chance by the end, pieces missing, whether simulated."""
    from edgetime.forecast.demand import Work  # noqa: PLC0415  brings numpy
    from edgetime.forecast.lives import Supply  # noqa: PLC0415  as above

    supply = Supply(law, stock.used, name=name, seed=plan.seed)
    work = Work.none()
    likely: date | None = None
    out: date | None = None
    chance = 0.0
    days = sorted({w.day for w in loads})
    for day in days:
        for w in loads:
            if w.day == day:
                work = work.plus(w.amount, w.probability)
        chance = supply.short(work, stock.new)
        if out is None and chance > 1.0 - plan.service:
            out = day
        if likely is None and chance > 0.5:
            likely = day
    needed = 0
    if out is not None:
        needed = max(0, supply.needed(work, plan.service) - stock.new)
    return likely, out, chance, needed, not supply.exact


def _tool(
    piece: str,
    tool: Tool,
    loads: list[_Load],
    stock: Stock,
    law: LifeLaw,
    plan: _Plan,
) -> ToolForecast:
    total = _use(loads, law)
    likely, out, chance, needed, simulated = _run_out(loads, stock, law, plan, piece)
    life, _, doubt = law.typical
    per_day = total.mean / plan.days
    sd_day = math.hypot(total.sd_demand, total.sd_life) / math.sqrt(plan.days)
    lead, lead_sd = tool.lead_time_d, tool.lead_time_spread_d
    spread = spread_over_lead_time(per_day, sd_day, lead, lead_sd, doubt=doubt)
    order_by = late = None
    if out is not None:
        order_by = out - timedelta(days=math.ceil(lead + plan.z * lead_sd))
        late = max(0, (plan.first - order_by).days)
    weeks = plan.days / WEEK_D
    return ToolForecast(
        piece=piece,
        tool=tool.name,
        title=tool.title,
        supplier=tool.supplier,
        set_name=tool.set_name,
        stock=stock,
        weeks=_weeks(loads, plan, law),
        total=total,
        per_week=Use(
            mean=total.mean / weeks,
            sd_demand=total.sd_demand / math.sqrt(weeks),
            sd_life=total.sd_life / math.sqrt(weeks),
            sd_mean=total.sd_mean / weeks,
        ),
        mean_life=life,
        trust=law.trust,
        short=chance,
        likely_out=likely,
        out=out,
        lead_time_d=lead,
        lead_time_spread_d=lead_sd,
        reorder_point=reorder_point(per_day, sd_day, lead, lead_sd, z=plan.z, doubt=doubt),
        order_up_to=order_up_to(per_day, sd_day, lead, plan.review_d, z=plan.z, doubt=doubt),
        safety_stock=plan.z * spread,
        expected_short=expected_short(spread, plan.z),
        order_by=order_by,
        late_d=late or 0,
        needed=needed,
        quantity=0,
        pack=tool.pack,
        minimum_order=tool.minimum_order,
        price=tool.price,
        cost=None,
        currency=tool.currency,
        simulated=simulated,
    )


def _jobs(pipeline: Pipeline, first: date) -> tuple[list[tuple[int, Job]], list[Finding]]:
    kept: list[tuple[int, Job]] = []
    findings = []
    for number, job in enumerate(pipeline.jobs):
        if job.day >= first:
            kept.append((number, job))
            continue
        findings.append(
            Finding(
                codes.JOB_PAST,
                f"{job.name or 'A job'} on {job.day} is before {first}, the first day of the "
                "forecast.",
                Where(path=pipeline.path, line=job.line, key="date"),
            )
        )
    return kept, findings


def forecast_use(
    pipeline: Pipeline,
    rates: Rates,
    catalogue: Catalogue,
    *,
    stock: Mapping[str, Stock] | None = None,
    laws: Mapping[str, LifeLaw] | None = None,
    first: date | None = None,
    service: float = 0.95,
    review_d: float = 7.0,
    seed: int = SEED,
    findings: Sequence[Finding] = (),
) -> Forecast:
    """Say what to order by when, so that a pipeline of jobs does not wait for tools.

    Parameters
    ----------
    pipeline : Pipeline
        The jobs, as :func:`edgetime.forecast.read_pipeline` returns them.
    rates : Rates
        Use per unit of each job, as :func:`edgetime.forecast.wear_rates` returns it.
    catalogue : Catalogue
        Suppliers, lead times, packs, sets, prices.
    stock : mapping, optional
        Article → pieces at hand; nothing for those missing.
    laws : mapping, optional
        Tool → life of its pieces; for those missing, what is assumed before the ledger knows
        any retirement.
    first : date, optional
        First day of the forecast; today when omitted.
    service : float
        Probability that the pieces last [-], 0.5 up to, but not, 1.
    review_d : float
        Interval of standing orders [d].
    seed : int
        Of the simulation.
    findings : sequence of Finding
        Of what led to the stock, to be told with the forecast's own.

    Returns
    -------
    Forecast
        Tool by tool, and order by order.

    Raises
    ------
    UsageError
        The service level is out of range.
    """
    check_service(service)
    day_one = first if first is not None else date.today()  # noqa: DTZ011  the shop's own day
    jobs, past = _jobs(pipeline, day_one)
    plan = _Plan(
        first=day_one,
        last=max((job.day for _, job in jobs), default=day_one),
        service=service,
        z=normal_quantile(service),
        review_d=review_d,
        seed=seed,
    )
    loads: dict[str, list[_Load]] = {}
    for number, job in jobs:
        for piece, share in rates.shares[number].items():
            amount = share * job.quantity
            if amount > 0.0 and job.probability > 0.0:
                loads.setdefault(piece, []).append(_Load(job.day, amount, job.probability))
    stocks = dict(stock or {})
    known = _Laws(laws or {})
    tools = []
    for piece, own in loads.items():
        tool = catalogue.tools[article(piece)[0]]
        law = known.of(tool.name)
        tools.append(_tool(piece, tool, own, stocks.get(piece, Stock()), law, plan))
    tools, lines = order_groups(tools, catalogue, day_one)
    return Forecast(
        pipeline=pipeline.path,
        first=plan.first,
        last=plan.last,
        jobs=len(jobs),
        expected_jobs=sum(job.probability for _, job in jobs),
        service=service,
        review_d=review_d,
        seed=seed,
        tools=tuple(sorted(tools, key=_urgency)),
        orders=supplier_orders(lines),
        findings=(
            *pipeline.findings,
            *rates.findings,
            *findings,
            *past,
            *_order_findings(lines, catalogue),
        ),
    )


def _order_findings(lines: list[OrderLine], catalogue: Catalogue) -> list[Finding]:
    late = sorted((line for line in lines if line.late_d), key=lambda line: -line.late_d)
    found = []
    if late:
        names = ", ".join(line.piece for line in late)
        found.append(
            Finding(
                codes.ORDER_LATE,
                f"{len(late)} of {len(lines)} articles to order are late, by up to "
                f"{late[0].late_d} days at their lead times: {names}.",
            )
        )
    found += [
        Finding(
            codes.NO_PRICE,
            f"{line.piece} is to be ordered and states no price.",
            Where(path=catalogue.tools[article(line.piece)[0]].file or None, key="price"),
        )
        for line in lines
        if line.price is None
    ]
    return found


def _urgency(t: ToolForecast) -> tuple[date, date, float, str]:
    return (t.order_by or date.max, t.likely_out or date.max, -t.short, t.piece)


class _Laws:
    """The lives given, and one that is assumed for every other tool."""

    def __init__(self, given: Mapping[str, LifeLaw]) -> None:
        self._given = given
        self._assumed: LifeLaw | None = None

    def of(self, tool: str) -> LifeLaw:
        if tool in self._given:
            return self._given[tool]
        if self._assumed is None:
            from edgetime.forecast.lives import LifeLaw  # noqa: PLC0415  brings numpy
            from edgetime.life import fit_life  # noqa: PLC0415  as above

            self._assumed = LifeLaw.of_fit(fit_life(()))
        return self._assumed
