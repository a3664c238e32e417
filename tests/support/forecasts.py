"""Pipelines, rates and a small catalogue with suppliers, packs and sets, all invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from edgetime.forecast import Books, OrderPolicy, Pipeline, Rates, Stock, forecast_use
from edgetime.jobs import Job
from edgetime.life import LifeDistribution
from support.catalogue import TOOLS, a_catalogue

FIRST = date(2027, 1, 4)
"""A Monday."""

LAW = LifeDistribution.known(1.0, 0.35)


def a_shop(**changes):
    """Return the small catalogue with changes to tools by name, given without hyphens."""
    names = {name.replace("_", "-"): values for name, values in changes.items()}
    tools = tuple(replace(t, **names.get(t.name, {})) for t in TOOLS)
    return a_catalogue(tools=tools)


def a_job(day=0, *, probability=1.0, quantity=1, **changes):
    """Return a job so many days after the first."""
    values = {
        "day": FIRST + timedelta(days=day), "name": f"job {day}", "drawings": (), "metres": (),
        "stone": "stone", "stack": "stack", "thickness_mm": 30.0, "quantity": quantity,
        "probability": probability,
    }  # fmt: skip
    return Job(**(values | changes))


def a_forecast(jobs, shares, *, shop=None, law=LAW, stock=None, **options):
    """Return a forecast of jobs that each take the same, or their own, shares per unit."""
    rows = shares if isinstance(shares, list) else [shares] * len(jobs)
    catalogue = shop or a_shop()
    laws = {} if law is None else dict.fromkeys(catalogue.tools, law)
    return forecast_use(
        Pipeline(path="pipeline.csv", jobs=tuple(jobs)),
        Rates(shares=tuple(rows)),
        catalogue,
        Books(stock=stock or {}, lives=laws),
        OrderPolicy(first=FIRST, **options),
    )


def of_piece(forecast, piece):
    """Return what a forecast says of one article."""
    return next(t for t in forecast.tools if t.piece == piece)


PRICED = {"price": Decimal("60.10"), "currency": "EUR"}

__all__ = [
    "FIRST",
    "LAW",
    "PRICED",
    "Stock",
    "a_forecast",
    "a_job",
    "a_shop",
    "of_piece",
]
