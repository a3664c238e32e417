"""A shift as planned, what limits it, and its simulated variation."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import cycle, islice
from typing import NamedTuple

from edgetime.errors import PlanError, UsageError, Where
from edgetime.findings import Finding
from edgetime.records import figure, written
from edgetime.shift import codes
from edgetime.shift.account import ShiftFigures, figures_of
from edgetime.shift.engine import AsPlanned, Outcome, made_by_s, run_shift
from edgetime.shift.leverage import Leverage, leverages_of
from edgetime.shift.load_runs import SLACK_S, LoadRun, ShiftLoad, Span
from edgetime.shift.near import NextLoad, next_load
from edgetime.shift.promise import Promise, promise_of
from edgetime.shift.varying import Interval, Variation, vary
from edgetime.shift.workday import check_rules
from edgetime.tooling import ShiftDefaults
from edgetime.units import format_time

_NAMES = 6
"""Most names listed of loads that are left."""


class VariedFigure(NamedTuple):
    """A figure as planned, and over the simulated shifts.

    Attributes
    ----------
    key : str
        As in :data:`edgetime.shift.varying.VARIED`.
    plan : float
        As planned.
    varied : Interval
        Over the simulated shifts.
    """

    key: str
    plan: float
    varied: Interval


@dataclass(frozen=True, eq=False, kw_only=True)
class Shift:
    """A shift as planned, and its simulated variation.

    Attributes
    ----------
    runs : tuple of LoadRun
        Everything as planned, nothing going wrong.
    left : tuple of str
        Names of listed loads that do not fit any more, one entry each.
    figures : ShiftFigures
        Of that plan.
    promise : Promise
        How often the planned loads, and other numbers of them, are made.
    near : NextLoad or None
        What the first load that is left misses the shift by; None when none is left.
    limit : str
        What limits the yield: the greatest of ``leverages``, or ``loads`` when all that were
        given are run.
    leverages : tuple of Leverage
        Greatest first.
    machine, person : tuple of Span
        What machine and person do, in order of time.
    variation : Variation or None
        None when it was not asked for.
    findings : tuple of Finding
        Those passed in, and those of this stage.
    """

    runs: tuple[LoadRun, ...]
    left: tuple[str, ...]
    figures: ShiftFigures = field(metadata=written(key="plan"))
    promise: Promise
    near: NextLoad | None = field(metadata=written(key="next_load"))
    limit: str
    leverages: tuple[Leverage, ...]
    machine: tuple[Span, ...]
    person: tuple[Span, ...]
    variation: Variation | None
    findings: tuple[Finding, ...]

    @property
    @figure
    def hours_s(self) -> float:
        """Length of the shift [s]."""
        return self.figures.hours_s

    @property
    @figure
    def makespan_s(self) -> float:
        """From the beginning until all is unloaded, but for what the next shift unloads [s]."""
        return max((r.ends_s if r.runs_on else r.done_s for r in self.runs), default=0.0)

    @property
    def run_on_until_s(self) -> float | None:
        """When the last cycle that goes on after the shift ends [s]; None for none."""
        return max((r.ends_s for r in self.runs if r.runs_on), default=None)

    @property
    def varied(self) -> tuple[VariedFigure, ...]:
        """Each figure as planned and over the simulated shifts; nothing without variation."""
        found = () if self.variation is None else self.variation.figures
        return tuple(VariedFigure(key, getattr(self.figures, key), x) for key, x in found)


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
        needed = made_by_s([load], rules, pockets, known)
        if needed > rules.hours_s + SLACK_S:
            late = f" (it is ready after {format_time(load.ready_s)})" if load.ready_s else ""
            first = " before it can run on unattended" if rules.runs_on else ""
            raise PlanError(
                f"{load.name} alone needs {format_time(needed)}{first}{late}; the shift is "
                f"{format_time(rules.hours_s)}.",
                # A job of a list by its line; what was named on the command line by the option.
                where=load.where if load.where.line else replace(load.where, key="--hours"),
                remedy="Split the load into two, or make the shift longer: a load is never left "
                "half done.",
            )


def _planned(
    loads: Sequence[ShiftLoad],
    rules: ShiftDefaults,
    pockets: int,
    known: Mapping[str, float],
    *,
    fill: bool,
) -> Outcome:
    """Run the plan with as many of the loads, in order, as the shift makes."""
    draws = AsPlanned(rules.used, known)
    if not fill:
        # What a run of all shows to be made in time needs no foresight.
        outcome = run_shift(loads, rules, draws, pockets=pockets, begin_all=True)
        if all(r.made(rules) for r in outcome.runs):
            return outcome
    outcome = run_shift(loads, rules, draws, pockets=pockets)
    # A load is begun on what is planned for the machine; the person may be a little late.
    while not all(r.made(rules) for r in outcome.runs):
        fewer = loads[: len(outcome.runs) - 1]
        outcome = run_shift(fewer, rules, draws, pockets=pockets)
    return outcome


def _to_the_end(outcome: Outcome, rules: ShiftDefaults) -> Outcome:
    """Return a plan in which nobody works after the shift, and what goes on by itself is marked."""
    if not rules.runs_on:
        return outcome
    end = rules.hours_s
    return replace(
        outcome,
        runs=tuple(replace(r, runs_on=r.done_s > end + SLACK_S) for r in outcome.runs),
        person=tuple(s for s in outcome.person if s.start_s < end),
    )


def _sequence(loads: Sequence[ShiftLoad], rules: ShiftDefaults, *, fill: bool) -> list[ShiftLoad]:
    """Return the loads in turn, often enough to fill the shift."""
    if not fill:
        return list(loads)
    least = min(x.cycle_s + x.stop_s for x in loads)
    if least <= 0.0:
        raise PlanError(
            "A load without machine time would fit in the shift any number of times.",
            remedy="Give the number of loads with --repeat.",
        )
    # Cycles that come out shorter than estimated make room for more: twice as many and some.
    count = math.ceil(2.0 * rules.hours_s / least) + rules.zones + 1
    return list(islice(cycle(loads), min(count, 1000)))


def _named(names: Sequence[str]) -> str:
    """Write names once each with how often they occur, a few of them."""
    times = list(Counter(names).items())
    few = [name if n == 1 else f"{n} × {name}" for name, n in times[:_NAMES]]
    return ", ".join([*few, "…"] if len(times) > _NAMES else few)


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
    """Run a shift as planned, and many times with variation.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        In the order they are to run.
    rules : ShiftDefaults
        Hours, breaks, zones, tasks, rates.
    pockets : int
        Tools the rack holds.
    fill : bool
        Repeat the loads in turn until no more fits.
    variation : bool
        Whether to simulate with variation too.
    used : mapping of str to float, optional
        Share of their life that tools have used at the beginning; the others as the rules
        have it in the plan, at random with variation.
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
        The rules contradict one another, there are no loads, or the rack has no pockets.
    PlanError
        A load alone does not fit into the shift.
    """
    rules = check_rules(rules)
    known = dict(used or {})
    _check(loads, rules, pockets, known)
    sequence = _sequence(loads, rules, fill=fill)
    outcome = _planned(sequence, rules, pockets, known, fill=fill)
    figures = figures_of(outcome, rules)
    outcome = _to_the_end(outcome, rules)
    ran = [r.load for r in outcome.runs]
    left = () if fill else tuple(x.name for x in sequence[len(ran) :])
    found = list(findings)
    if left:
        found.append(
            Finding(
                codes.LOADS_LEFT,
                f"{len(left)} of {len(sequence)} loads do not fit in the shift: {_named(left)}.",
            )
        )
    leverages = leverages_of(ran, rules, pockets, known)
    varied = vary(sequence, rules, pockets, known) if variation else None
    return Shift(
        runs=outcome.runs,
        figures=figures,
        machine=outcome.machine,
        person=outcome.person,
        left=left,
        limit="loads" if not fill and not left and all_given else leverages[0].what,
        leverages=leverages,
        variation=varied,
        promise=promise_of(figures.loads, rules.service_level, varied.made if varied else ()),
        near=next_load(sequence, len(ran), rules, pockets, known),
        findings=tuple(found),
    )
