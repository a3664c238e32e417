"""How the figures of an alternative are calculated."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final

from edgetime.comparison.yields import ShiftYield
from edgetime.estimating import Estimate
from edgetime.explained import Explained, Source
from edgetime.price import Quote
from edgetime.price.formulas import Exact, figure
from edgetime.price.money import decimal_of
from edgetime.price.quote import KINDS as QUOTE_KINDS

KINDS: Final = (*(k for k in QUOTE_KINDS if k not in {"overhead", "margin"}), "cost")
"""Kinds of cost that are listed per load."""

_MM2_PER_M2: Final = 1e6


def _loads(count: int) -> Exact:
    return Explained("loads", Decimal(count), "-", "loads compared")


def cost_figures(quote: Quote, count: int, label: str) -> dict[str, Exact]:
    """Return the kinds of cost per load, each from the figure of all loads."""
    out = {}
    for kind in KINDS:
        made = quote.figures[kind]
        if count == 1:
            out[kind] = replace(made, name=f"{label}: {kind}")
            continue
        whole = Explained("all_loads", made.value, made.unit, f"{made.formula}, all loads")
        facts = [whole, _loads(count)]
        out[kind] = figure(f"{label}: {kind}", made.unit, "all_loads / loads", facts)
    return out


def _mean(name: str, sums: Iterable[tuple[str, float]], count: int, note: str) -> Exact:
    facts = [
        Explained(f"time_{i}", decimal_of(seconds), "s", what)
        for i, (what, seconds) in enumerate(sums, 1)
    ]
    formula = " + ".join(f.name for f in facts) or "0"
    if count > 1:
        return figure(name, "s", f"({formula}) / loads", [*facts, _loads(count)], note)
    return figure(name, "s", formula, facts, note)


def time_figures(estimates: Sequence[Estimate], label: str) -> dict[str, Exact]:
    """Return the machine's and the person's time per load, tool by tool and task by task."""
    tools: dict[str, float] = {}
    tasks: dict[str, float] = {}
    for est in estimates:
        for visit in est.cycle.visits:
            tools[visit.tool] = tools.get(visit.tool, 0.0) + visit.time.total_s
        for reason, seconds in est.labour.by_kind:
            tasks[reason] = tasks.get(reason, 0.0) + seconds
    count = len(estimates)
    return {
        "cycle": _mean(
            f"{label}: cycle", tools.items(), count,
            "per load; all time of each tool: changes, cuts, plunges, leads, travel, waits",
        ),
        "attended": _mean(f"{label}: attended", tasks.items(), count, "per load, people beside it"),
    }  # fmt: skip


def yield_figures(made: ShiftYield, label: str) -> dict[str, Exact]:
    """Return loads and area of a shift, load by load."""
    times, areas, terms = [], [], []
    for i, (name, area_mm2, done) in enumerate(made.done, 1):
        times.append(Explained(f"times_{i}", Decimal(done), "-", f"{name}, unloaded in time"))
        areas.append(
            Explained(f"area_{i}", decimal_of(area_mm2 / _MM2_PER_M2), "m2", f"parts of {name}", Source("", "drawing"))
        )  # fmt: skip
        terms.append(f"times_{i} * area_{i}")
    minutes = ", ".join(f"{kind} {s / 60.0:.0f}" for kind, s in made.account if s >= 30.0)
    note = f"the loads in turn until no more fits, as planned; the machine's minutes: {minutes}"
    return {
        "loads": figure(
            f"{label}: loads", "loads", " + ".join(f.name for f in times) or "0", times, note
        ),
        "area": figure(f"{label}: area", "m2", " + ".join(terms) or "0", [*times, *areas], note),
    }
