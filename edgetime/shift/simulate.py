"""A shift as planned, what limits it, and how it may come."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import cycle, islice

from edgetime.errors import PlanError, UsageError, Where
from edgetime.findings import Finding
from edgetime.shift import codes
from edgetime.shift.engine import AsPlanned, Outcome, run_shift
from edgetime.shift.leverage import leverages_of
from edgetime.shift.model import (
    ACCOUNT,
    Interval,
    Shift,
    ShiftFigures,
    ShiftLoad,
    Span,
    Variation,
)
from edgetime.shift.workday import Workday, check_rules
from edgetime.tooling.model import ShiftDefaults
from edgetime.units import format_time

__all__ = ["Varying", "alone_s", "figures_of", "simulate_shift"]

_SLACK_S = 1e-6
"""Sums of times in another order differ by less [s]."""

_Z90 = 1.6448536269514722
"""Standard normal quantile of 95 %: half the width of a 90 % interval, in standard errors."""

_NAMES = 6
"""So many names are told of loads that are left."""


@dataclass(frozen=True)
class Varying:
    """Figures drawn at random.

    Cycles and tasks are lognormal with mean one: they are positive, and a task that goes
    wrong takes longer by more than a task that goes well takes shorter. Stoppages come at
    random (exponential), so does their length. Lives of tools are taken as they are; where a
    piece stands in its own is uniform, as for any worn and replaced part met at a random
    time (renewal theory: Cox, Renewal Theory, 1962, chapter 5).
    """

    rules: ShiftDefaults
    known: Mapping[str, float]
    source: random.Random

    def _about_one(self, spread: float) -> float:
        if spread <= 0.0:
            return 1.0
        # Mean 1 and coefficient of variation c: sigma² = ln(1 + c²), mu = -sigma²/2.
        variance = math.log1p(spread * spread)
        return self.source.lognormvariate(-0.5 * variance, math.sqrt(variance))

    def cycle(self) -> float:
        """Return a cycle by its estimate [-]."""
        return self._about_one(self.rules.cycle_spread)

    def handling(self) -> float:
        """Return an attended task by its time [-]."""
        return self._about_one(self.rules.handling_spread)

    def to_stoppage_s(self) -> float:
        """Return the running time until the next stoppage [s]."""
        every = self.rules.stoppage_every_s
        return math.inf if math.isinf(every) else self.source.expovariate(1.0 / every)

    def stoppage_s(self) -> float:
        """Return how long ending a stoppage takes [s]."""
        mean = self.rules.stoppage_s
        return self.source.expovariate(1.0 / mean) if mean > 0.0 else 0.0

    def spoiled(self, parts: int) -> int:
        """Return how many of a load's parts are spoiled."""
        return sum(self.source.random() < self.rules.scrap for _ in range(parts))

    def used(self, piece: str) -> float:
        """Return the share of its life a piece has behind it [-]."""
        known = self.known.get(piece)
        return self.source.random() if known is None else known


def _clip(spans: Iterable[Span], hours_s: float) -> Iterator[Span]:
    for s in spans:
        if s.start_s < hours_s:
            yield s if s.stop_s <= hours_s else replace(s, stop_s=hours_s)


def _account(
    machine: Sequence[Span], workday: Workday, hours_s: float
) -> tuple[tuple[str, float], ...]:
    """Return what the machine does with the shift; the seconds make the shift."""
    out = dict.fromkeys(ACCOUNT, 0.0)
    now = 0.0
    for s in machine:
        gap = max(0.0, s.start_s - now)
        if gap > 0.0:
            pause = workday.break_s(now, s.start_s)
            out["break"] += pause
            out["loading"] += gap - pause
        out[s.kind] += s.stop_s - s.start_s
        now = max(now, s.stop_s)
    out["rest"] += hours_s - now
    return tuple(out.items())


def _unattended(machine: Sequence[Span], person: Sequence[Span]) -> tuple[float, float, float]:
    """Return the time the machine runs and nobody is needed, and its longest stretch.

    Returns
    -------
    total, longest, at : float
        Sum, longest stretch and where it begins [s].
    """
    total, longest, at = 0.0, 0.0, 0.0
    current_start, current_stop = 0.0, -1.0
    for s in machine:
        if s.kind != "run":
            continue
        free = s.start_s
        gaps: list[tuple[float, float]] = []
        for task in person:
            if task.stop_s <= free or task.start_s >= s.stop_s:
                continue
            if task.start_s > free:
                gaps.append((free, task.start_s))
            free = max(free, task.stop_s)
        if free < s.stop_s:
            gaps.append((free, s.stop_s))
        for begin, end in gaps:
            total += end - begin
            if begin > current_stop + _SLACK_S:
                current_start = begin
            current_stop = end
            if current_stop - current_start > longest:
                longest, at = current_stop - current_start, current_start
    return total, longest, at


def figures_of(outcome: Outcome, rules: ShiftDefaults) -> ShiftFigures:
    """Return what a run of a shift yields.

    Parameters
    ----------
    outcome : Outcome
        From :func:`edgetime.shift.engine.run_shift`.
    rules : ShiftDefaults
        How the shift runs.

    Returns
    -------
    ShiftFigures
        Loads that end after the shift do not count; time after it is overtime.
    """
    hours = rules.hours_s
    workday = Workday(rules.breaks)
    machine = list(_clip(outcome.machine, hours))
    person = list(_clip(outcome.person, hours))
    done = [r for r in outcome.runs if r.done_s <= hours + _SLACK_S]
    attended: dict[str, float] = {}
    for task in person:
        attended[task.kind] = attended.get(task.kind, 0.0) + task.stop_s - task.start_s
    total, longest, at = _unattended(machine, person)
    last = max((r.done_s for r in outcome.runs), default=0.0)
    return ShiftFigures(
        hours_s=hours,
        loads=len(done),
        parts=sum(r.load.parts - r.spoiled for r in done),
        area_mm2=sum(r.good_area_mm2 for r in done),
        spoiled=sum(r.spoiled for r in done),
        account=_account(machine, workday, hours),
        attended=tuple(attended.items()),
        unattended_s=total,
        longest_unattended_s=longest,
        longest_at_s=at,
        overtime_s=max(0.0, last - hours) if last > hours + _SLACK_S else 0.0,
        break_s=workday.break_s(0.0, hours),
    )


def alone_s(
    load: ShiftLoad, rules: ShiftDefaults, *, pockets: int, known: Mapping[str, float]
) -> float:
    """Return when a load would be done if it were the only one of the shift [s]."""
    draws = AsPlanned(rules.used, known)
    outcome = run_shift([load], rules, draws, pockets=pockets, begin_all=True)
    return outcome.runs[0].done_s


def _check(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, pockets: int, known: Mapping[str, float]
) -> None:
    if pockets < 1:
        raise UsageError(
            f"The rack has {pockets} pockets; it needs at least 1.",
            where=Where(key="--pockets"),
            remedy="Give the number of tools the rack holds, such as --pockets 20.",
        )
    if not loads:
        raise UsageError("The shift has no load.", remedy="Name a drawing or a job list.")
    for load in dict.fromkeys(loads):
        needed = alone_s(load, rules, pockets=pockets, known=known)
        if needed > rules.hours_s + _SLACK_S:
            late = f", from {format_time(load.ready_s)} on when it is ready" if load.ready_s else ""
            raise PlanError(
                f"{load.name} alone is done {format_time(needed)} after the beginning of the "
                f"shift{late}; the shift has {format_time(rules.hours_s)}.",
                # A job of a list by its line; what was named on the command line by the option.
                where=load.where if load.where.line else replace(load.where, key="--hours"),
                remedy="Split the load over two tables, or make the shift longer: a load is "
                "never left half done.",
            )


def _planned(
    loads: Sequence[ShiftLoad],
    rules: ShiftDefaults,
    pockets: int,
    known: Mapping[str, float],
    *,
    fill: bool,
) -> Outcome:
    """Run the plan with as many of the loads, in order, as are done within the shift."""
    draws = AsPlanned(rules.used, known)
    if not fill:
        # What a run of all shows to be done in time needs no foresight.
        outcome = run_shift(loads, rules, draws, pockets=pockets, begin_all=True)
        if max(r.done_s for r in outcome.runs) <= rules.hours_s + _SLACK_S:
            return outcome
    outcome = run_shift(loads, rules, draws, pockets=pockets)
    # A load is begun on what is planned for the machine; the person may be a little late.
    while outcome.runs and max(r.done_s for r in outcome.runs) > rules.hours_s + _SLACK_S:
        fewer = loads[: len(outcome.runs) - 1]
        outcome = run_shift(fewer, rules, draws, pockets=pockets)
    return outcome


def _interval(values: Sequence[float]) -> Interval:
    n = len(values)
    ordered = sorted(values)
    mean = math.fsum(values) / n
    variance = math.fsum((v - mean) ** 2 for v in values) / (n - 1) if n > 1 else 0.0
    return Interval(
        mean=mean,
        half_width=_Z90 * math.sqrt(variance / n),
        low=ordered[max(0, math.ceil(0.05 * n) - 1)],
        high=ordered[math.ceil(0.95 * n) - 1],
    )


def _vary(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, pockets: int, known: Mapping[str, float]
) -> Variation:
    rows: dict[str, list[float]] = {}
    for number in range(rules.replications):
        # A stream of its own for each shift: more shifts leave the first ones as they were.
        source = random.Random(f"{rules.seed}:{number}")  # noqa: S311  no secret
        outcome = run_shift(loads, rules, Varying(rules, known, source), pockets=pockets)
        found = figures_of(outcome, rules)
        for name, value in (
            ("loads", float(found.loads)),
            ("parts", float(found.parts)),
            ("area_mm2", found.area_mm2),
            ("attended_s", found.attended_s),
            ("unattended_s", found.unattended_s),
            ("longest_unattended_s", found.longest_unattended_s),
            ("utilisation", found.utilisation),
            ("overtime_s", found.overtime_s),
            ("swaps", float(sum(len(r.swapped) for r in outcome.runs))),
            ("spoiled", float(found.spoiled)),
        ):
            rows.setdefault(name, []).append(value)
    return Variation(
        replications=rules.replications,
        seed=rules.seed,
        figures=tuple((name, _interval(values)) for name, values in rows.items()),
    )


def _sequence(loads: Sequence[ShiftLoad], rules: ShiftDefaults, *, fill: bool) -> list[ShiftLoad]:
    """Return the loads in turn, often enough to fill the shift."""
    if not fill:
        return list(loads)
    least = min(x.cycle_s + x.stop_s for x in loads)
    if least <= 0.0:
        raise PlanError(
            "A load without any machine time would fit into the shift for ever.",
            remedy="State how many with --repeat.",
        )
    # Cycles that come out shorter than estimated make room for more: twice as many and some.
    count = math.ceil(2.0 * rules.hours_s / least) + rules.zones + 1
    return list(islice(cycle(loads), min(count, 1000)))


def _named(names: Sequence[str]) -> str:
    """Write names once each with how often they stand there, a few of them."""
    times = list(Counter(names).items())
    told = [name if n == 1 else f"{n} × {name}" for name, n in times[:_NAMES]]
    return ", ".join([*told, "…"] if len(times) > _NAMES else told)


def simulate_shift(
    loads: Sequence[ShiftLoad],
    rules: ShiftDefaults,
    *,
    pockets: int,
    fill: bool = False,
    variation: bool = True,
    used: Mapping[str, float] | None = None,
    findings: Iterable[Finding] = (),
    all_given: bool = True,
) -> Shift:
    """Run a shift as planned, and many times as it may come.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        In the order they are to run.
    rules : ShiftDefaults
        Hours, breaks, zones, tasks, rates.
    pockets : int
        Tool pieces the rack holds.
    fill : bool
        Repeat the loads in turn until no more fits.
    variation : bool
        Whether to simulate with variation too.
    used : mapping of str to float, optional
        Share of life that pieces have behind them at the beginning; the others as the rules
        say in the plan, at random with variation.
    findings : iterable of Finding
        Already made of these loads.
    all_given : bool
        Whether these are all loads that there are; False when more wait that do not fit.

    Returns
    -------
    Shift
        The plan, its figures, what limits it, and the variation.

    Raises
    ------
    UsageError
        The rules contradict one another, there is no load, or the rack has no pocket.
    PlanError
        A load alone does not fit into the shift.
    """
    rules = check_rules(rules)
    known = dict(used or {})
    _check(loads, rules, pockets, known)
    sequence = _sequence(loads, rules, fill=fill)
    outcome = _planned(sequence, rules, pockets, known, fill=fill)
    ran = [r.load for r in outcome.runs]
    left = () if fill else tuple(x.name for x in sequence[len(ran) :])
    told = list(findings)
    if left:
        told.append(
            Finding(
                codes.LOADS_LEFT,
                f"{len(left)} of {len(sequence)} loads do not fit into the shift: {_named(left)}.",
            )
        )
    leverages = leverages_of(ran, rules, pockets, known)
    return Shift(
        runs=outcome.runs,
        figures=figures_of(outcome, rules),
        machine=outcome.machine,
        person=outcome.person,
        left=left,
        limit="loads" if not fill and not left and all_given else leverages[0].what,
        leverages=leverages,
        variation=_vary(sequence, rules, pockets, known) if variation else None,
        findings=tuple(told),
    )
