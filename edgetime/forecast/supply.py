"""How long the pieces on hand last together, and how likely the work outlasts them.

Lives and work are counted in lives of the tool's file. What a piece lasts has three
sources of uncertainty: the mean life of this tool in this shop is not known for certain (shared
by all its pieces), the pieces differ, and now and then one breaks.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from edgetime.forecast.demand import Demand
from edgetime.life import Family, LifeDistribution

FloatArray = NDArray[np.float64]

SCENARIOS: Final = 10_000
"""Simulated futures; the error of a probability of 5 % is about 0.2 %."""

_DRAWN: Final = 64
"""This many pieces are drawn one by one, further ones by the central limit theorem."""

_MOST: Final = 10_000_000
"""No sensible pipeline needs more pieces than this."""


class Supply:
    """The pieces on hand and any number of new ones, against the work to come.

    A closed form serves where there is one: lives of new pieces of a known gamma law add up
    to a gamma distribution. Otherwise the sums of lives are simulated; the seed depends on
    ``name`` and ``seed`` alone, so equal questions have equal answers, and all numbers of
    pieces are tried on the same futures.

    Parameters
    ----------
    law : LifeDistribution
        Of the tool.
    used : sequence of float
        Use so far of each piece in service [lives].
    name : str
        What the pieces are.
    seed : int
        Of the simulation.
    simulate : bool
        Simulates even where the closed form serves, for comparison.
    """

    def __init__(
        self,
        law: LifeDistribution,
        used: Sequence[float] = (),
        *,
        name: str = "",
        seed: int = 1,
        simulate: bool = False,
    ) -> None:
        self.law = law
        self.used = tuple(used)
        self._key = (seed, zlib.crc32(name.encode()))
        self.exact = (
            not simulate
            and not self.used
            and law.family is Family.GAMMA
            and len(law.mean) == 1
            and not law.break_count
        )
        self._sums: list[FloatArray] = []
        # Sorting is what costs: each number of pieces is asked about at every job.
        self._sorted: dict[int, FloatArray] = {}
        self._node: Any = None
        self._rate: Any = None

    def _rng(self, number: int) -> np.random.Generator:
        return np.random.default_rng((*self._key, number))

    def _start(self) -> None:
        rng = self._rng(0)
        law = self.law
        self._node = rng.choice(law.weight.size, size=SCENARIOS, p=law.weight)
        self._rate = np.zeros(SCENARIOS)
        if law.break_count:
            self._rate = rng.gamma(law.break_count, 1.0 / law.break_exposure, size=SCENARIOS)
        left = np.zeros(SCENARIOS)
        for used in self.used:
            left += law.draw_left(rng, self._node, self._rate, used)
        self._sums.append(left)

    def lasts(self, pieces: int) -> FloatArray:
        """Return how long all pieces last together in each simulated future.

        Parameters
        ----------
        pieces : int
            New pieces beside those in service.

        Returns
        -------
        (s,) array
            [lives].
        """
        if not self._sums:
            self._start()
        while len(self._sums) <= min(pieces, _DRAWN):
            rng = self._rng(len(self._sums))
            self._sums.append(self._sums[-1] + self.law.draw_left(rng, self._node, self._rate))
        if pieces <= _DRAWN:
            return self._sums[pieces]
        mean, variance = self.law.moments
        more = pieces - _DRAWN
        shift = np.sqrt(more * variance[self._node]) * self._rng(_DRAWN + 1).standard_normal(
            SCENARIOS
        )
        further = np.maximum(more * mean[self._node] + shift, 0.0)
        return np.asarray(self._sums[_DRAWN] + further, dtype=np.float64)

    def short(self, work: Demand, pieces: int) -> float:
        """Return the probability that the work outlasts the pieces [-].

        Parameters
        ----------
        work : Demand
            Sum of the jobs.
        pieces : int
            New pieces beside those in service.
        """
        if self.exact:
            return float(work.chances @ self._ended(work.values, pieces))
        if pieces not in self._sorted:
            self._sorted[pieces] = np.sort(self.lasts(pieces))
        sums = self._sorted[pieces]
        ended = np.searchsorted(sums, work.values, side="left") / len(sums)
        return float(work.chances @ ended)

    def _ended(self, values: FloatArray, pieces: int) -> FloatArray:
        """Return the probability that new pieces end before a given work."""
        if pieces == 0:
            return (values > 0.0).astype(np.float64)
        from scipy.special import gammainc  # noqa: PLC0415  scipy serves this command alone

        shape = float(self.law.shape[0])
        scale = float(self.law.mean[0]) / shape
        return np.asarray(gammainc(pieces * shape, values / scale), dtype=np.float64)

    def needed(self, work: Demand, service: float, at_least: int = 0) -> int:
        """Return the fewest new pieces that outlast the work with a probability.

        Parameters
        ----------
        work : Demand
            Sum of the jobs.
        service : float
            The probability, below 1 [-].
        at_least : int
            No fewer than these.
        """
        return at_least + fewest(lambda n: self.short(work, at_least + n) <= 1.0 - service)


def fewest(enough: Callable[[int], bool]) -> int:
    """Return the least number that is enough, by doubling and halving.

    Parameters
    ----------
    enough : callable
        Whether a number is enough; once true, true for all greater ones.
    """
    low, high = -1, 0
    while not enough(high):
        low, high = high, max(1, 2 * high)
        if high > _MOST:
            return high
    while high - low > 1:
        middle = (low + high) // 2
        if enough(middle):
            high = middle
        else:
            low = middle
    return high
