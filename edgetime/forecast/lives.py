"""How long the pieces at hand last together, and how likely the work outlasts them.

Lives and work are counted in lives of the tool's file. What a piece lasts has three
sources of doubt: the mean life of this tool in this shop is not known for certain (shared
by all its pieces), the pieces differ, and now and then one breaks.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from edgetime.forecast.demand import Work
from edgetime.life.families import Family, log_sf, scale_of, shape_of_cv

if TYPE_CHECKING:
    from edgetime.life import LifeFit

FloatArray = NDArray[np.float64]

SCENARIOS: Final = 10_000
"""Simulated futures; the error of a probability of 5 % is about 0.2 %."""

_DRAWN: Final = 64
"""So many pieces are drawn one by one, further ones by the central limit theorem."""

_CHUNK: Final = 256
_GRID: Final = 400
_FAR: Final = 12.0
"""Mean lives and their squares are integrated to so many mean lives."""

_MOST: Final = 10_000_000
"""More pieces than this are asked for by no pipeline that is meant."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LifeLaw:
    """The life of pieces of one tool, on nodes of what is held possible.

    Attributes
    ----------
    family : Family
        Distribution of the wear-out life.
    mean, shape, weight : (n,) array
        Nodes: mean life [lives of the file], shape [-], and their weights, adding up to 1.
    break_count, break_exposure : float
        Breakage has a gamma distributed rate, mean ``count / exposure`` [per life]; a count
        of 0 is no breakage.
    trust : str
        What it rests on: ``catalogue``, ``few``, ``own``, or ``given``.
    """

    family: Family
    mean: FloatArray
    shape: FloatArray
    weight: FloatArray
    break_count: float = 0.0
    break_exposure: float = 1.0
    trust: str = "given"

    @classmethod
    def given(cls, mean: float = 1.0, cv: float = 0.35, *, family: str = "gamma") -> LifeLaw:
        """Return a law whose mean and coefficient of variation are known.

        Parameters
        ----------
        mean : float
            Mean life [lives of the file].
        cv : float
            Coefficient of variation of the pieces' lives [-], above 0.
        family : str
            ``gamma`` or ``weibull``.
        """
        kind = Family(family)
        return cls(
            family=kind,
            mean=np.array([mean]),
            shape=np.asarray(shape_of_cv(kind, np.array([cv]))),
            weight=np.ones(1),
        )

    @classmethod
    def of_fit(cls, fit: LifeFit) -> LifeLaw:
        """Return the law of a fit to the ledger's retirements.

        Parameters
        ----------
        fit : LifeFit
            As :func:`edgetime.life.fit_life` returns it.
        """
        return cls(
            family=fit.family,
            mean=fit.mean,
            shape=fit.shape,
            weight=fit.weight,
            break_count=fit.break_count,
            break_exposure=fit.break_exposure,
            trust=str(fit.trust),
        )

    @property
    def break_rate(self) -> float:
        """Mean rate of breakage [per life]."""
        return self.break_count / self.break_exposure

    @cached_property
    def moments(self) -> tuple[FloatArray, FloatArray]:
        """Mean and variance of a piece's life at each node, breakage counted.

        The mean is the integral of the survival function, the mean square that of ``2 x S``,
        by Simpson's rule; two arrays of n values [lives, lives²].
        """
        if not self.break_count:
            if self.family is Family.GAMMA:
                return self.mean, self.mean**2 / self.shape
            from scipy.special import gamma  # noqa: PLC0415  scipy serves this command alone

            ratio = gamma(1.0 + 2.0 / self.shape) / gamma(1.0 + 1.0 / self.shape) ** 2
            return self.mean, np.asarray(self.mean**2 * (ratio - 1.0), dtype=np.float64)
        z = np.linspace(0.0, 1.0, 2 * _GRID + 1) ** 2 * _FAR
        # Simpson's weights in t, where z = 12 t²: denser where lives end.
        weights = np.full(2 * _GRID + 1, 2.0)
        weights[1::2], weights[[0, -1]] = 4.0, 1.0
        weights *= 2.0 * np.sqrt(z * _FAR) / (6.0 * _GRID)
        mean, square = np.empty_like(self.mean), np.empty_like(self.mean)
        scale = scale_of(self.family, self.mean, self.shape)
        for at in range(0, len(self.mean), _CHUNK):
            own = slice(at, at + _CHUNK)
            x = self.mean[own, None] * z
            s = np.exp(log_sf(self.family, x, self.shape[own, None], scale[own, None]))
            s *= np.exp(-self.break_rate * x)
            mean[own] = (s @ weights) * self.mean[own]
            square[own] = 2.0 * ((s * z) @ weights) * self.mean[own] ** 2
        return mean, square - mean**2

    @cached_property
    def typical(self) -> tuple[float, float, float]:
        """What closed forms reckon with: mean life, renewals' variance, doubt of the mean.

        The median over the nodes of the mean life [lives]; that of ``σ²/µ³``, the variance
        of the number of pieces used up per life of work, for a long stretch (Cox, *Renewal
        Theory*, 1962, ch. 4; from memory) [1/lives]; half the width of the middle 68.3 % of
        the logarithm of the mean life [-], zero where it is known.
        """
        mean, variance = self.moments
        order = np.argsort(mean)
        logs, weight = np.log(mean[order]), self.weight[order]
        below = np.cumsum(weight) - 0.5 * weight
        low, middle, high = np.interp((0.1587, 0.5, 0.8413), below, logs)
        ratio = variance / mean**3
        order = np.argsort(ratio)
        weight = self.weight[order]
        share = np.interp(0.5, np.cumsum(weight) - 0.5 * weight, ratio[order])
        return float(np.exp(middle)), float(share), float(0.5 * (high - low))

    def left(
        self, rng: np.random.Generator, node: NDArray[np.int64], rate: FloatArray, used: float = 0.0
    ) -> FloatArray:
        """Draw the further life of one piece in each simulated future.

        Parameters
        ----------
        rng : numpy.random.Generator
            Source of chance.
        node : (s,) array
            Which node holds in each future.
        rate : (s,) array
            Rate of breakage in each [per life].
        used : float
            Use so far, from which it has come away whole [lives].

        Returns
        -------
        (s,) array
            Further life [lives].
        """
        shape = self.shape[node]
        scale = scale_of(self.family, self.mean[node], shape)
        if self.family is Family.GAMMA and used <= 0.0:
            worn = rng.gamma(shape, scale)
        else:
            level = rng.exponential(size=len(node)) - log_sf(self.family, used, shape, scale)
            if self.family is Family.WEIBULL:
                worn = scale * np.power(level, 1.0 / shape)
            else:
                from scipy.special import gammainccinv  # noqa: PLC0415  as above

                worn = scale * gammainccinv(shape, np.exp(-level))
        broken = np.full(len(node), np.inf)
        np.divide(rng.exponential(size=len(node)), rate, out=broken, where=rate > 0.0)
        return np.asarray(np.minimum(np.maximum(worn - used, 0.0), broken), dtype=np.float64)


class Supply:
    """The pieces at hand and any number of new ones, against the work to come.

    A closed form serves where there is one: lives of new pieces of a known gamma law add up
    to a gamma distribution. Otherwise the sums of lives are simulated; the seed depends on
    ``name`` and ``seed`` alone, so equal questions have equal answers, and all numbers of
    pieces are tried on the same futures.

    Parameters
    ----------
    law : LifeLaw
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
        law: LifeLaw,
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
            left += law.left(rng, self._node, self._rate, used)
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
            self._sums.append(self._sums[-1] + self.law.left(rng, self._node, self._rate))
        if pieces <= _DRAWN:
            return self._sums[pieces]
        mean, variance = self.law.moments
        more = pieces - _DRAWN
        shift = np.sqrt(more * variance[self._node]) * self._rng(_DRAWN + 1).standard_normal(
            SCENARIOS
        )
        further = np.maximum(more * mean[self._node] + shift, 0.0)
        return np.asarray(self._sums[_DRAWN] + further, dtype=np.float64)

    def short(self, work: Work, pieces: int) -> float:
        """Return the probability that the work outlasts the pieces [-].

        Parameters
        ----------
        work : Work
            Sum of the jobs.
        pieces : int
            New pieces beside those in service.
        """
        if self.exact:
            return float(work.chances @ self._ended(work.values, pieces))
        sums = np.sort(self.lasts(pieces))
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

    def needed(self, work: Work, service: float) -> int:
        """Return the fewest new pieces that outlast the work with a probability.

        Parameters
        ----------
        work : Work
            Sum of the jobs.
        service : float
            The probability, below 1 [-].
        """
        return fewest(lambda n: self.short(work, n) <= 1.0 - service)


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
