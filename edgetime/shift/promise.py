"""How many loads a shift can be relied on to make."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from edgetime.records import HIDDEN, figure, figure_named, written

CONFIDENCE: Final = 0.9
"""Confidence level of every interval of a shift [-]."""

_NEAR: Final = 3
"""Numbers of loads shown on either side of the plan."""

Z90: Final = 1.6448536269514722
"""Standard normal quantile of 95 %: half the width of a 90 % interval, in standard errors."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How often a number of loads is made.

    Attributes
    ----------
    loads : int
        At least this many.
    shifts, of : int
        Simulated shifts that made them, and all of them.
    """

    loads: int
    shifts: int = field(metadata=HIDDEN)
    of: int = field(metadata=HIDDEN)

    @property
    @figure
    def share(self) -> float:
        """Share of the shifts [-]."""
        return self.shifts / self.of

    @property
    def interval(self) -> tuple[float, float]:
        """Score interval of the share, 90 % confidence [-].

        Wilson, Journal of the American Statistical Association 22 (1927) 209-212, from memory:
        the shares that differ from the one counted by less than z of their own standard errors.
        It keeps within 0 and 1, and has a width even where all shifts made it.
        """
        n, p, zz = self.of, self.share, Z90 * Z90
        centre = (p + zz / (2 * n)) / (1 + zz / n)
        half = Z90 / (1 + zz / n) * math.sqrt(p * (1 - p) / n + zz / (4 * n * n))
        return max(0.0, centre - half), min(1.0, centre + half)

    @property
    @figure
    def low(self) -> float:
        """Lower end of the interval [-]."""
        return self.interval[0]

    @property
    @figure
    def high(self) -> float:
        """Upper end of the interval [-]."""
        return self.interval[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """What can be promised of a shift.

    Attributes
    ----------
    plan : int
        Loads as planned, nothing going wrong.
    mean : float or None
        Loads of a shift on average; None when no variation was simulated.
    service_level : float
        Share of the shifts that must make what is promised [-].
    chances : tuple of Chance
        Of one load, two, and so on, up to the plan or the best shift; empty likewise.
    """

    plan: int = field(metadata=written(key="plan_loads"))
    mean: float | None = field(metadata=written(key="mean_loads"))
    service_level: float
    chances: tuple[Chance, ...] = field(metadata=written(key="by_loads"))

    def chance(self, loads: int) -> Chance | None:
        """Return how often at least this many loads are made; None when nothing was simulated."""
        return self.chances[loads - 1] if 1 <= loads <= len(self.chances) else None

    @property
    @figure_named("plan_met")
    def met(self) -> Chance | None:
        """How often the plan is met."""
        return self.chance(self.plan)

    @property
    def sure(self) -> Chance | None:
        """The most loads that are made as often as the service level asks."""
        enough = [c for c in self.chances if c.share >= self.service_level - 1e-12]
        return enough[-1] if enough else None

    @property
    @figure
    def sure_loads(self) -> int | None:
        """How many loads that is; 0 where not even one, None when nothing was simulated."""
        if not self.chances:
            return None
        return self.sure.loads if self.sure is not None else 0

    @property
    @figure
    def confidence(self) -> float:
        """Confidence level of the intervals [-]."""
        return CONFIDENCE

    @property
    def near(self) -> tuple[Chance, ...]:
        """The chances of numbers of loads near the plan, and of the surest number."""
        return tuple(
            c
            for c in self.chances
            if abs(c.loads - self.plan) <= _NEAR or (self.sure and c.loads == self.sure.loads)
        )


def promise_of(plan: int, service_level: float, made: Sequence[int] = ()) -> Promise:
    """Return what can be promised of a shift.

    Parameters
    ----------
    plan : int
        Loads as planned.
    service_level : float
        Share of the shifts that must make what is promised [-].
    made : sequence of int
        How many simulated shifts made no load, one, two, and so on; empty for none simulated.
    """
    of = sum(made)
    most = max(plan, len(made) - 1) if of else 0
    return Promise(
        plan=plan,
        service_level=service_level,
        chances=tuple(Chance(loads=n, shifts=sum(made[n:]), of=of) for n in range(1, most + 1)),
        mean=sum(n * shifts for n, shifts in enumerate(made)) / of if of else None,
    )
