"""From a load to the best feed of each of its steps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from edgetime.economics import codes
from edgetime.economics.bounds import bounds_of, unknown_finish
from edgetime.economics.feed_study import FeedPoint, FeedStudy, Relation, StepFeed
from edgetime.economics.step_run import StepRun
from edgetime.economics.taylor import feed_of_life, least_cost_life
from edgetime.economics.trials import Trial, relation_of_trials
from edgetime.errors import PlanError, UsageError, Where
from edgetime.estimating import Estimate
from edgetime.findings import Code, Finding
from edgetime.price.rates import Rates
from edgetime.tooling import Step, Tool
from edgetime.tooling.suggest import suggest
from edgetime.units import speed_text
from edgetime.wear import ToolWear

GRID = 9
"""Feeds of the curve, evenly spaced by ratio; the search starts from them."""


@dataclass
class _Study:
    """What is shared by the steps of a load."""

    est: Estimate
    rates: Rates
    trials: Sequence[Trial]
    at_mm_per_s: float | None
    found: list[Finding] = field(default_factory=list)

    def tell(self, code: Code, message: str, file: str, key: str) -> str:
        self.found.append(Finding(code, message, Where(path=file or None, key=key)))
        return message

    def today(self, step: Step) -> float:
        return step.feed_mm_per_s * self.est.load.feed_override

    def worn(self, step: Step) -> list[ToolWear]:
        plan = self.est.plan
        visits = {p.visit for p in plan.passes if p.step is step}
        pieces = {plan.visits[v].piece for v in visits}
        return [t for t in self.est.wear.tools if t.piece in pieces]

    def shared(self, step: Step) -> str:
        """Return what other step wears a piece of this one, ``""`` for none."""
        plan = self.est.plan
        steps: dict[str, set[str]] = {}
        for p in plan.passes:
            steps.setdefault(plan.visits[p.visit].piece, set()).add(p.step.name)
        others = [names for names in steps.values() if step.name in names and len(names) > 1]
        return ", ".join(sorted(set().union(*others) - {step.name}))

    def relation(self, step: Step, tool: Tool) -> Relation | None:
        if self.trials:
            return relation_of_trials(self.trials)
        if tool.taylor is None:
            return None
        at = tool.taylor.reference_mm_per_s or step.feed_mm_per_s
        return Relation.stated(tool.taylor, at, tool.file, self.est.load.catalogue)

    def step(self, step: Step) -> StepFeed:
        """Return the best feeds of one step."""
        load = self.est.load
        tool = load.catalogue.tools[step.tool]
        today = self.today(step)
        relation = self.relation(step, tool)
        out = StepFeed(
            tool=tool.name,
            step=step.name,
            feed_mm_per_s=today,
            stone_factor=load.stone.feed_factor,
            relation=relation,
        )
        why = self._cannot(step, tool, relation)
        if why or relation is None:
            return replace(out, why_not=why)
        bounds = bounds_of(load, step, relation, today)
        low = relation.low_mm_per_s
        high = min(b.feed_mm_per_s for b in bounds if b.kind != "data-low")
        out = replace(out, bounds=bounds)
        if unknown_finish(step):
            self.tell(
                codes.FINISH_NOT_STATED,
                f"Step {step.name} states no finish_feed; it is not run faster than today, "
                f"{speed_text(today)}.",
                load.stack.file,
                step.key,
            )
        if high < low:
            least = min(bounds[1:], key=lambda b: b.feed_mm_per_s)
            return replace(out, why_not=self.tell(
                codes.NO_ROOM,
                f"{step.name}: {least.kind} allows {speed_text(high)} at most, the tested range begins "
                f"at {speed_text(low)}.",
                least.file, least.key,
            ))  # fmt: skip
        self._check_at(relation, step)
        return self._studied(out, step, relation, low, high)

    def _cannot(self, step: Step, tool: Tool, relation: Relation | None) -> str:
        if relation is None:
            return self.tell(codes.NO_TAYLOR, f"{tool.name} has no [taylor].", tool.file, "taylor")
        low, high = relation.low_mm_per_s, relation.high_mm_per_s
        if not relation.holds_at(relation.reference_mm_per_s):
            return self.tell(
                codes.LIFE_OUTSIDE_DATA,
                f"The life of {tool.name} holds for {speed_text(relation.reference_mm_per_s)}, the feed "
                f"of {step.name}; the tested range is {speed_text(low, high)}.",
                relation.file,
                "taylor.range",
            )
        worn = self.worn(step)
        if tool.price is None or (relation.life is None and any(t.share is None for t in worn)):
            missing = "price" if tool.price is None else "life for this stone and thickness"
            return self.tell(
                codes.COST_UNKNOWN, f"{tool.name} states no {missing}.", tool.file,
                "price" if tool.price is None else "life",
            )  # fmt: skip
        others = self.shared(step)
        if others:
            return self.tell(
                codes.SHARED_PIECE,
                f"{step.name} and {others} wear the same {tool.name}.",
                self.est.load.stack.file,
                step.key,
            )
        return ""

    def _check_at(self, relation: Relation, step: Step) -> None:
        at = self.at_mm_per_s
        low, high = relation.low_mm_per_s, relation.high_mm_per_s
        if at is not None and not relation.holds_at(at):
            raise PlanError(
                f"{speed_text(at)} for {step.name} is outside the tested range, "
                f"{speed_text(low, high)}; nothing is known there.",
                where=Where(path=relation.file or None, key="--at"),
                remedy="Name a feed within it, or test this one and widen range in [taylor].",
            )

    def _studied(
        self, out: StepFeed, step: Step, relation: Relation, low: float, high: float
    ) -> StepFeed:
        today, at = out.feed_mm_per_s, self.at_mm_per_s
        known = relation.holds_at(today)
        wanted = [f for f in (today if known else None, at) if f is not None]
        ends = min(low, *wanted, high), max(high, *wanted, low)
        run = StepRun(self.est, step, relation, self.rates, out.bounds, ends)
        ratio = high / low
        grid = sorted({low, high, *(low * ratio ** (k / (GRID - 1)) for k in range(1, GRID - 1))})
        if low <= today <= high:
            grid = sorted({*grid, today})
        now = run.at(today) if known else None
        textbook = self._textbook(run, relation, now or run.at(low))
        if textbook is not None and low <= textbook <= high:
            grid = sorted({*grid, textbook})
        cost = run.lowest(lambda p: float(p.cost), grid)
        output = run.lowest(lambda p: p.output_s, grid)
        curve = sorted({*grid, *wanted, cost.feed_mm_per_s, output.feed_mm_per_s})
        made = replace(
            out,
            today=now,
            least_cost=cost,
            most_output=output,
            at=None if at is None else run.at(at),
            points=tuple(run.at(f) for f in curve),
            textbook_mm_per_s=textbook,
        )
        self._tell_of(made, step, relation, cost, output)
        return made

    def _textbook(self, run: StepRun, relation: Relation, point: FeedPoint) -> float | None:
        """Return the closed form's feed of least cost, where it lies in the data [mm/s]."""
        if point.wear <= 0.0:
            return None
        rates, tool = self.rates.own, run.tool
        machine_rate = self.rates.machine.value
        rate = float(machine_rate + rates.attendance * rates.labour_rate) / 3600.0
        swap_cost = float(machine_rate + rates.labour_rate) * run.swap_s / 3600.0
        piece = float(tool.price or 0) + swap_cost - rate * run.swap_s
        if rate <= 0.0:
            return None
        n = relation.exponent
        life = least_cost_life(n, run.swap_s, piece, rate)
        constant = point.feed_mm_per_s * (point.cut_s / point.wear) ** n
        if life <= 0.0:
            return None
        feed = feed_of_life(life, exponent=n, constant=constant)
        return feed if relation.holds_at(feed) else None

    def _tell_of(
        self, made: StepFeed, step: Step, relation: Relation, cost: FeedPoint, output: FeedPoint
    ) -> None:
        low, high = relation.low_mm_per_s, relation.high_mm_per_s
        tried = speed_text(low, high)
        if made.today is None:
            self.tell(
                codes.OUTSIDE_DATA,
                f"{step.name} runs at {speed_text(made.feed_mm_per_s)}; the tested range is {tried}. "
                "What another feed would save is not known.",
                relation.file,
                relation.key,
            )
        ends = [
            name
            for name, point in (("least cost", cost), ("most output", output))
            if point.limited_by is not None and point.limited_by.startswith("data")
        ]
        if ends:
            self.tell(
                codes.AT_DATA_END,
                f"{step.name}: the feed of {' and of '.join(ends)} is an end of the "
                f"tested range, {tried}.",
                relation.file,
                relation.key,
            )
        at = relation.reference_mm_per_s
        if relation.life is None and not math.isclose(at, made.feed_mm_per_s, rel_tol=1e-9):
            self.tell(
                codes.OTHER_REFERENCE,
                f"The life of {made.tool} is stated for {speed_text(at)}; {step.name} runs at "
                f"{speed_text(made.feed_mm_per_s)}.",
                relation.file,
                "taylor.reference_feed",
            )


def _chosen(est: Estimate, tool: str | None) -> list[Step]:
    running: dict[str, Step] = {}
    for p in est.plan.passes:
        running.setdefault(p.step.name, p.step)
    steps = list(running.values())
    if tool is None:
        return steps
    chosen = [s for s in steps if tool in {s.tool, s.name}]
    if not chosen:
        names = tuple(dict.fromkeys(s.tool for s in steps))
        raise UsageError(
            f"No tool {tool!r} runs in this load.",
            where=Where(key="--tool"),
            remedy=suggest(tool, names),
        )
    return chosen


def economic_feed(
    est: Estimate,
    *,
    tool: str | None = None,
    trials: Sequence[Trial] = (),
    at_mm_per_s: float | None = None,
) -> FeedStudy:
    """Find the feed of least cost and of most output for each tool.

    The time at a feed is that of the real paths on the real machine; the wear follows
    ``v T^n = C`` from the life that the tool's file states, within the feeds it was found
    between and no further.

    Parameters
    ----------
    est : Estimate
        The load at today's feeds.
    tool : str, optional
        Name of a tool or step; all of the load when None.
    trials : sequence of Trial
        Feeds and lives that were tried, instead of the tool's ``[taylor]``; needs ``tool``.
    at_mm_per_s : float, optional
        Also report this feed, of the step times the override; needs ``tool`` [mm/s].

    Returns
    -------
    FeedStudy
        One entry per step.

    Raises
    ------
    UsageError
        The tool does not run in this load, or trials are given without a tool.
    PlanError
        The feed asked for lies outside the data, or no tool has a best feed.
    CatalogueInvalid
        Money of two currencies.
    """
    for given, key in ((bool(trials), "--trial"), (at_mm_per_s is not None, "--at")):
        if given and tool is None:
            raise UsageError(
                f"{key} does not say of which tool.",
                where=Where(key=key),
                remedy="Name the tool with --tool.",
            )
    rates = Rates(est.load.catalogue, [est])
    study = _Study(est, rates, trials, at_mm_per_s)
    steps = tuple(study.step(s) for s in _chosen(est, tool))
    if all(s.least_cost is None for s in steps):
        reasons = list(dict.fromkeys(s.why_not or "" for s in steps))
        more = f" And {len(reasons) - 2} more." if len(reasons) > 2 else ""
        raise PlanError(
            f"No tool asked for has a best feed: {' '.join(reasons[:2])}{more}",
            where=study.found[0].where if study.found else Where(key="--tool"),
            remedy=study.found[0].remedy if study.found else "Name another tool.",
        )
    load = est.load
    return FeedStudy(
        currency=rates.currency,
        locale=rates.own.locale,
        machine=load.machine.name,
        stack=load.stack.name,
        stone=load.stone.name,
        thickness_mm=load.nominal_mm,
        steps=steps,
        findings=tuple(study.found),
    )
