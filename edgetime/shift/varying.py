"""Simulated shifts: times vary, machines stop, parts are spoiled."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from edgetime.progress import track
from edgetime.records import HIDDEN, figure, written
from edgetime.shift.account import figures_of
from edgetime.shift.engine import AsPlanned, run_shift
from edgetime.shift.load_runs import ShiftLoad
from edgetime.shift.promise import CONFIDENCE, Z90
from edgetime.tooling import ShiftDefaults


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A figure over many simulated shifts.

    Attributes
    ----------
    mean, half_width : float
        Mean, and half the width of its 90 % confidence interval (normal approximation).
    low, high : float
        Between these lie at least 90 % of the shifts (nearest ranks of 5 % and 95 %).
    """

    mean: float
    half_width: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Variation:
    """What to expect when cycles, tasks and tools vary and things go wrong.

    Attributes
    ----------
    replications, seed : int
        Shifts simulated, seed of the random numbers.
    figures : tuple of (str, Interval)
        ``loads``, ``parts``, ``area_mm2``, ``attended_s``, ``unattended_s``,
        ``longest_unattended_s``, ``utilisation``, ``overtime_s``, ``swaps``, ``spoiled``.
    made : tuple of int
        How many shifts made no load, one, two, and so on.
    """

    replications: int
    seed: int
    figures: tuple[tuple[str, Interval], ...] = field(metadata=written(write=dict, merged=True))
    made: tuple[int, ...] = field(metadata=HIDDEN)

    @property
    @figure
    def confidence(self) -> float:
        """Confidence level of ``half_width`` [-]."""
        return CONFIDENCE


VARIED: Final = {
    "loads": ("loads", "-"),
    "parts": ("good parts", "-"),
    "area_mm2": ("good area", "mm2"),
    "attended_s": ("operator time", "s"),
    "unattended_s": ("unattended", "s"),
    "longest_unattended_s": ("longest unattended", "s"),
    "utilisation": ("utilisation of the machine", "-"),
    "overtime_s": ("overtime", "s"),
    "swaps": ("tool swaps", "-"),
    "spoiled": ("scrapped parts", "-"),
}
"""The figures that are looked at over many shifts, with their names and units."""


class Varying(AsPlanned):
    """Figures drawn at random.

    Cycles and tasks are lognormal with mean one: they are positive, and a task that goes
    wrong takes longer by more than a task that goes well takes shorter. Stoppages come at
    random (exponential), so does their length. Lives of tools are taken as they are; where a
    tool is in its own is uniform, as for any part that wears and is replaced, met at a random
    time (renewal theory: Cox, Renewal Theory, 1962, chapter 5).
    """

    def __init__(
        self, rules: ShiftDefaults, known: Mapping[str, float], source: random.Random
    ) -> None:
        super().__init__(rules.used, known)
        self.rules, self.source = rules, source

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
        """Return the share of its life that a tool has used [-]."""
        known = self.known.get(piece)
        return self.source.random() if known is None else known


def _interval(values: Sequence[float]) -> Interval:
    n = len(values)
    ordered = sorted(values)
    mean = math.fsum(values) / n
    variance = math.fsum((v - mean) ** 2 for v in values) / (n - 1) if n > 1 else 0.0
    return Interval(
        mean=mean,
        half_width=Z90 * math.sqrt(variance / n),
        low=ordered[max(0, math.ceil(0.05 * n) - 1)],
        high=ordered[math.ceil(0.95 * n) - 1],
    )


def vary(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, pockets: int, known: Mapping[str, float]
) -> Variation:
    """Simulate shifts with variation."""
    rows: dict[str, list[float]] = {}
    for number in track(range(rules.replications), "simulating shifts"):
        # A stream of its own for each shift: more shifts leave the first ones as they were.
        source = random.Random(f"{rules.seed}:{number}")  # noqa: S311  no secret
        outcome = run_shift(loads, rules, Varying(rules, known, source), pockets=pockets)
        found = figures_of(outcome, rules)
        for name in VARIED:
            rows.setdefault(name, []).append(float(getattr(found, name)))
    made = Counter(int(n) for n in rows["loads"])
    return Variation(
        replications=rules.replications,
        seed=rules.seed,
        figures=tuple((name, _interval(values)) for name, values in rows.items()),
        made=tuple(made[n] for n in range(max(made) + 1)),
    )
