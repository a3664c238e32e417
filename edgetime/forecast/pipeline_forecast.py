"""From jobs, use per job and stock to what to order by when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.forecast import codes
from edgetime.forecast.from_ledger import Books
from edgetime.forecast.orders import article, order_groups, supplier_orders
from edgetime.forecast.records import Forecast, OrderLine, PostedJob, Stock, ToolForecast
from edgetime.forecast.run_out import Horizon, Need, OrderPolicy, tool_forecast
from edgetime.life import fit_life

if TYPE_CHECKING:
    from edgetime.forecast.pipeline import Pipeline
    from edgetime.forecast.use_per_job import Rates
    from edgetime.jobs import Job
    from edgetime.tooling import Catalogue


RUN_BEFORE_D: Final = 60
"""A run posted longer than this before a job belongs to an earlier job of the same name."""


def forecast_use(
    pipeline: Pipeline,
    rates: Rates,
    catalogue: Catalogue,
    books: Books | None = None,
    policy: OrderPolicy | None = None,
) -> Forecast:
    """Find what to order by when, so that a pipeline of jobs does not wait for tools.

    Parameters
    ----------
    pipeline : Pipeline
        The jobs, as :func:`edgetime.forecast.read_pipeline` returns them.
    rates : Rates
        Use per unit of each job, as :func:`edgetime.forecast.wear_rates` returns it.
    catalogue : Catalogue
        Suppliers, lead times, packs, sets, prices.
    books : Books, optional
        Stock and lives, as :func:`edgetime.forecast.read_books` returns them; nothing on hand
        when omitted.
    policy : OrderPolicy, optional
        Service level, first day, review interval.

    Returns
    -------
    Forecast
        Tool by tool, and order by order.
    """
    books, policy = books or Books(), policy or OrderPolicy()
    first = policy.first or date.today()  # noqa: DTZ011  the shop's own day
    jobs, past = _to_come(pipeline, first)
    jobs, struck, posted = _not_posted(jobs, books.posted)
    horizon = Horizon.of(first, [day for _, day, _ in jobs], policy)
    needs: dict[str, list[Need]] = {}
    for number, day, job in jobs:
        for piece, share in rates.shares[number].items():
            amount = share * job.quantity
            if amount > 0.0 and job.probability > 0.0:
                needs.setdefault(piece, []).append(Need(day, amount, job.probability))
    assumed = fit_life(())
    tools = []
    for piece, own in needs.items():
        tool = catalogue.tools[article(piece)[0]]
        life = books.lives.get(tool.name, assumed)
        stock = books.stock.get(piece, Stock())
        tools.append(tool_forecast(piece, tool, own, stock, life, horizon))
    tools, lines = order_groups(tools, catalogue, horizon)
    return Forecast(
        pipeline=pipeline.path,
        first=first,
        last=horizon.last,
        jobs=len(jobs),
        expected_jobs=sum(job.probability for _, _, job in jobs),
        service=policy.service,
        review_d=policy.review_d,
        seed=policy.seed,
        tools=tuple(sorted(tools, key=_urgency)),
        orders=supplier_orders(lines),
        findings=(
            *pipeline.findings,
            *rates.findings,
            *books.findings,
            *past,
            *posted,
            *_arrival_findings(tools, first),
            *_order_findings(lines, catalogue),
            *_limit_findings(tools),
        ),
        posted=struck,
    )


def _to_come(pipeline: Pipeline, first: date) -> tuple[list[tuple[int, date, Job]], list[Finding]]:
    """Return number, day and job of those from the first day on, and findings on the others."""
    kept: list[tuple[int, date, Job]] = []
    findings = []
    for number, job in enumerate(pipeline.jobs):
        if job.day is not None and job.day >= first:
            kept.append((number, job.day, job))
            continue
        findings.append(
            Finding(
                codes.JOB_PAST,
                f"{job.name or 'A job'} on {job.day} is before {first}, the first day of the "
                "forecast.",
                job.at("date"),
            )
        )
    return kept, findings


def _alike(name: str) -> str:
    """Return a name as it is compared: blanks and capitals do not count."""
    return " ".join(name.split()).casefold()


def _load_names(job: Job) -> dict[str, None]:
    """Return the names under which the load of a job may have been posted."""
    # Posted without a name of its own, a load is called by its drawings.
    drawn = " + ".join(Path(d).stem for d in job.drawings)
    return dict.fromkeys(_alike(name) for name in (job.name, drawn) if name.strip())


def _not_posted(
    jobs: list[tuple[int, date, Job]], posted: Mapping[str, Sequence[date]]
) -> tuple[list[tuple[int, date, Job]], tuple[PostedJob, ...], list[Finding]]:
    """Return the jobs without the runs that are in the ledger, those runs, and findings on them."""
    runs: dict[str, list[date]] = {}
    for name, days in posted.items():
        runs.setdefault(_alike(name), []).extend(days)
    kept: list[tuple[int, date, Job]] = []
    struck = []
    findings = []
    for number, day, job in sorted(jobs, key=lambda row: row[1]):
        done = 0
        for name in _load_names(job):
            # Each run counts once, for the job that is due first.
            for run in sorted(runs.get(name, ())):
                if done < job.quantity and run >= day - timedelta(days=RUN_BEFORE_D):
                    runs[name].remove(run)
                    done += 1
        if done:
            struck.append(PostedJob(name=job.name, day=day, posted=done, quantity=job.quantity))
            findings.append(
                Finding(
                    codes.JOB_POSTED,
                    f"{job.name} on {day}: {done} of {job.quantity} posted already.",
                    job.where,
                )
            )
        if done < job.quantity or job.quantity == 0:
            kept.append((number, day, replace(job, quantity=job.quantity - done)))
    return sorted(kept, key=lambda row: row[0]), tuple(struck), findings


def _arrival_findings(tools: Sequence[ToolForecast], first: date) -> list[Finding]:
    found = []
    for t in tools:
        found += [
            Finding(
                codes.ORDER_OVERDUE,
                f"{t.piece}: {a.pieces} on order{f' {a.order!r}' if a.order else ''} were expected "
                f"on {a.day} and have not been received.",
            )
            for a in t.stock.on_order
            if a.day < first
        ]
        late = [a for a in t.stock.on_order if t.out is not None and a.day > t.out]
        if late:
            found.append(
                Finding(
                    codes.ARRIVES_LATE,
                    f"{t.piece}: {late[0].pieces} on order are expected on {late[0].day}, the "
                    f"stock runs out on {t.out}.",
                )
            )
    return found


def _order_findings(lines: Sequence[OrderLine], catalogue: Catalogue) -> list[Finding]:
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
            f"{line.piece} has to be ordered and has no price.",
            Where(path=catalogue.tools[article(line.piece)[0]].file or None, key="price"),
        )
        for line in lines
        if line.price is None
    ]
    return found


def _limit_findings(tools: Sequence[ToolForecast]) -> list[Finding]:
    return [
        Finding(
            codes.STOCK_LIMIT,
            f"{t.piece}: {t.needed} missing, {t.quantity} ordered: the stock limit allows no more.",
        )
        for t in tools
        if t.quantity < t.needed
    ]


def _urgency(t: ToolForecast) -> tuple[date, date, float, str]:
    return (t.order_by or date.max, t.likely_out or date.max, -t.short, t.piece)
