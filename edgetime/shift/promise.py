"""How many loads a shift can be relied on to make."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

CONFIDENCE: Final = 0.9
"""Of every interval told of a shift [-]."""

Z90: Final = 1.6448536269514722
"""Standard normal quantile of 95 %: half the width of a 90 % interval, in standard errors."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """How often a number of loads is made.

    Attributes
    ----------
    loads : int
        At least so many.
    shifts, of : int
        Simulated shifts that made them, and all of them.
    """

    loads: int
    shifts: int
    of: int

    @property
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

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        low, high = self.interval
        return {"loads": self.loads, "share": self.share, "low": low, "high": high}


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """What can be promised of a shift.

    Attributes
    ----------
    plan : int
        Loads as planned, nothing going wrong.
    service_level : float
        Share of the shifts that must make what is promised [-].
    chances : tuple of Chance
        Of one load, two, and so on, up to the plan or the best shift; empty when no variation
        was simulated.
    mean : float or None
        Loads of a shift on average; None likewise.
    """

    plan: int
    service_level: float
    chances: tuple[Chance, ...]
    mean: float | None

    def chance(self, loads: int) -> Chance | None:
        """Return how often at least so many loads are made; None when nothing was simulated."""
        return self.chances[loads - 1] if 1 <= loads <= len(self.chances) else None

    @property
    def met(self) -> Chance | None:
        """How often the plan is met."""
        return self.chance(self.plan)

    @property
    def sure(self) -> Chance | None:
        """The most loads that are made as often as the service level asks."""
        enough = [c for c in self.chances if c.share >= self.service_level - 1e-12]
        return enough[-1] if enough else None

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        met, sure = self.met, self.sure
        return {
            "plan_loads": self.plan,
            "mean_loads": self.mean,
            "plan_met": None if met is None else met.as_dict(),
            "service_level": self.service_level,
            "sure_loads": sure.loads if sure is not None else 0 if self.chances else None,
            "confidence": CONFIDENCE,
            "by_loads": [c.as_dict() for c in self.chances],
        }


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
