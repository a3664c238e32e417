"""One step at any feed within a range: its time by the real paths, its wear, its cost."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from edgetime.cycle import compute_cycle
from edgetime.economics.feed_study import Bound, FeedPoint, Relation
from edgetime.estimating import Estimate, motion_limits
from edgetime.estimating.pipeline import estimate_load
from edgetime.explained import Explained, Source, source_in
from edgetime.motion import compute_motion
from edgetime.moves import Moves
from edgetime.price.costs import MACHINE_KEYS, REPLACING, step_cost
from edgetime.price.formulas import Exact, evaluate, figure, names_of
from edgetime.price.money import decimal_of
from edgetime.price.rates import Rates
from edgetime.tooling import Step
from edgetime.units import speed_text
from edgetime.wear import ToolWear, compute_wear
from edgetime.wear.compute_wear import consumables

FloatArray = NDArray[np.float64]

_AT = 1e-6
"""A feed nearer to a bound than this, as a ratio, is at it."""


@dataclass(frozen=True)
class _Seconds:
    seconds: FloatArray


def with_feed(est: Estimate, step: Step, feed_mm_per_s: float) -> Estimate:
    """Return the estimate with another feed of one step, by all stages.

    Parameters
    ----------
    est : Estimate
        The load.
    step : Step
        Of its stack.
    feed_mm_per_s : float
        Of the step with the override in it [mm/s].
    """
    load = est.load
    own = feed_mm_per_s / load.feed_override
    steps = tuple(replace(s, feed_mm_per_s=own) if s is step else s for s in load.stack.steps)
    changed = replace(load, stack=replace(load.stack, steps=steps))
    return estimate_load(est.take_off, changed, est.options)


def _taken(moves: Moves, rows: NDArray[np.bool_]) -> Moves:
    return Moves(**{f.name: getattr(moves, f.name)[rows] for f in fields(moves)})


class StepRun:
    """A step of a load between two feeds.

    The paths are built at both ends of the range. Feeds on the way follow exactly: every move
    runs at the feed it has at the lower end times the ratio of the feeds, and at no more than
    it has at the upper end, where caps on arcs hold. So only the motion is computed anew, and
    the result is the one of the whole pipeline.

    Parameters
    ----------
    est : Estimate
        The load.
    step : Step
        Of its stack.
    relation : Relation
        Of its tool's life.
    rates : Rates
        What time and wear cost.
    bounds : sequence of Bound
        Of its feed.
    feeds_mm_per_s : (float, float)
        The range [mm/s].
    """

    def __init__(
        self,
        est: Estimate,
        step: Step,
        relation: Relation,
        rates: Rates,
        bounds: Sequence[Bound],
        feeds_mm_per_s: tuple[float, float],
    ) -> None:
        self.step, self.relation, self.rates, self.bounds = step, relation, rates, bounds
        self.low, high = feeds_mm_per_s
        self.base = with_feed(est, step, self.low)
        self.fast = with_feed(est, step, high).paths.moves.feed
        self.visits = sorted({p.visit for p in self.base.plan.passes if p.step.name == step.name})
        self.rows = np.isin(self.base.paths.moves.visit, self.visits)
        self.moves = _taken(self.base.paths.moves, self.rows)
        self.pieces = {self.base.plan.visits[v].piece for v in self.visits}
        self.tool = est.load.catalogue.tools[step.tool]
        self.swap_s = est.load.catalogue.shop.shift.tool_swap_s
        self.known: dict[float, FeedPoint] = {}

    def seconds(self, feed_mm_per_s: float) -> FloatArray:
        """Return the time of every move of the load at a feed (n,) [s]."""
        feed = np.minimum(self.moves.feed * (feed_mm_per_s / self.low), self.fast[self.rows])
        motion = compute_motion(
            replace(self.moves, feed=feed), motion_limits(self.base.load.machine)
        )
        seconds = self.base.motion.seconds.copy()
        seconds[self.rows] = motion.seconds
        return seconds

    def _wear(self, worn: ToolWear, feed_mm_per_s: float) -> float:
        relation = self.relation
        if relation.life is None:
            return worn.share or 0.0
        by, life = relation.life
        used = worn.cut_s if by == "time" else worn.contact_mm
        return used / life * relation.wear_factor(feed_mm_per_s, by)

    def at(self, feed_mm_per_s: float) -> FeedPoint:
        """Return the step at a feed of the range."""
        if feed_mm_per_s not in self.known:
            self.known[feed_mm_per_s] = self._point(feed_mm_per_s)
        return self.known[feed_mm_per_s]

    def _point(self, feed_mm_per_s: float) -> FeedPoint:
        timed = _Seconds(self.seconds(feed_mm_per_s))
        paths = self.base.paths
        cycle = compute_cycle(paths, timed)
        factors = {self.step.name: self.relation.wear_factors(feed_mm_per_s)}
        worn = compute_wear(paths, timed, cycle, factors).tools
        own = [t for t in worn if t.piece in self.pieces]
        machine_s = sum(cycle.visits[v].time.total_s for v in self.visits)
        wear = sum(self._wear(t, feed_mm_per_s) for t in own)
        inputs = self._inputs(own, machine_s, wear)
        made = figure(
            f"{self.step.name} at {speed_text(feed_mm_per_s)}",
            self.rates.currency,
            step_cost(),
            inputs,
            f"cost of this step per load; wear by v T^n = C, n = {self.relation.exponent:.4g}, "
            "from " + ", ".join(bit for bit in (self.relation.file, self.relation.key) if bit),
        )
        limits = (b for b in self.bounds if abs(b.feed_mm_per_s / feed_mm_per_s - 1.0) < _AT)
        return FeedPoint(
            feed_mm_per_s=feed_mm_per_s,
            machine_s=machine_s,
            cut_s=sum(t.cut_s for t in own),
            wear=wear,
            swap_s=wear * self.swap_s,
            cost=made.value,
            worn_cost=evaluate(REPLACING, {f.name: f.value for f in inputs}),
            limited_by=next((b.kind for b in limits), None),
            explained=made,
        )

    def _inputs(self, own: list[ToolWear], machine_s: float, wear: float) -> list[Exact]:
        """Return the inputs of the formula of a step's cost."""
        rates, machine = self.rates, self.base.load.machine
        catalogue, currency = rates.catalogue, self.rates.currency
        used = consumables(self.base.load, own, machine_s)
        tool, shop = self.tool, catalogue.shop
        named = names_of(step_cost())
        return [
            *(rate for name, rate in rates.by_name.items() if name in named),
            Explained(
                "machine_s", decimal_of(machine_s), "s",
                "all time of this tool in the load, from the paths at this feed",
            ),
            Explained(
                "energy_kwh", decimal_of(used.electricity_kwh or 0.0), "kWh",
                "spindle while in the cut, the rest all the time",
                Source(machine.file, MACHINE_KEYS["energy_kwh"]),
            ),
            Explained(
                "water_m3", decimal_of((used.water_l or 0.0) / 1e3), "m3", "while in the cut",
                Source(machine.file, MACHINE_KEYS["water_m3"]),
            ),
            Explained(
                "wear", decimal_of(wear), "-", "tool lives used up by the load at this feed",
                Source(self.relation.file, self.relation.key),
            ),
            Explained(
                "piece_price", tool.price or Decimal(0), currency,
                source=source_in(catalogue.raw, tool.file, "price"),
            ),
            Explained(
                "tool_swap_s", decimal_of(self.swap_s), "s",
                "replacing a worn tool; machine waiting, operator present",
                source_in(catalogue.raw, shop.file, "shift.tool_swap"),
            ),
        ]  # fmt: skip

    def lowest(self, value: Callable[[FeedPoint], float], grid: list[float]) -> FeedPoint:
        """Return the point of least value: the best of a grid, then golden section about it.

        Parameters
        ----------
        value : callable
            What is to be least.
        grid : list of float
            Feeds to begin with, rising, both ends of the range among them [mm/s].
        """
        best = min(range(len(grid)), key=lambda i: value(self.at(grid[i])))
        low, high = grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]
        golden = 0.5 * (5.0**0.5 - 1.0)
        tried = [self.at(grid[best])]
        a, b = high - golden * (high - low), low + golden * (high - low)
        while high - low > 1e-4 * high:
            one, two = self.at(a), self.at(b)
            tried += [one, two]
            if value(one) <= value(two):
                high, b = b, a
                a = high - golden * (high - low)
            else:
                low, a = a, b
                b = low + golden * (high - low)
        return min(tried, key=value)
