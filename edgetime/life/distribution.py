"""The distribution of a tool's life, as a mixture over what is possible.

Mean and spread of the lives of a model of tool are never known exactly, so the distribution
is held on nodes of both with weights. All lives are counted in catalogue lives: 1 is the life
that the tool's file states.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from edgetime.life.families import Family, log_sf, scale_of, shape_of_cv
from edgetime.records import HIDDEN

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FAR: Final = 1e6
_CHUNK: Final = 256
_GRID: Final = 400
_REACH: Final = 12.0
"""Mean lives and their squares are integrated up to this many mean lives."""


class Trust(StrEnum):
    """What a life rests on."""

    CATALOGUE = "catalogue"
    """The tool's file alone: no piece was worn out yet."""
    FEW = "few"
    """The file and some worn-out pieces: the mean life is still uncertain."""
    OWN = "own"
    """The shop's own worn-out pieces."""
    GIVEN = "given"
    """A distribution that was given, not learnt."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with its 90 % interval: 5 % lie below ``low``, 5 % above ``high``."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False, kw_only=True)
class LifeDistribution:
    """The life of pieces of one model of tool, in catalogue lives.

    Breakage is a second cause of the end, independent of wear, with a gamma distributed rate.

    Attributes
    ----------
    family : Family
        The distribution of wear-out life.
    mean, shape, weight : array of float, shape (n,)
        Nodes: mean life and shape, and their weights, adding up to 1.
    break_count, break_exposure : float
        Of the gamma distribution of the rate of breakage, whose mean is ``count / exposure``
        [per catalogue life]; a count of 0 is no breakage.
    trust : Trust
        What it rests on.
    """

    family: Family
    mean: NDArray[np.float64] = field(metadata=HIDDEN)
    shape: NDArray[np.float64] = field(metadata=HIDDEN)
    weight: NDArray[np.float64] = field(metadata=HIDDEN)
    break_count: float = field(default=0.0, metadata=HIDDEN)
    break_exposure: float = field(default=1.0, metadata=HIDDEN)
    trust: Trust = Trust.GIVEN

    @classmethod
    def known(
        cls, mean: float = 1.0, cv: float = 0.35, *, family: Family = Family.GAMMA
    ) -> LifeDistribution:
        """Return a distribution whose mean and coefficient of variation are known exactly.

        Parameters
        ----------
        mean : float
            Mean life [catalogue lives].
        cv : float
            Coefficient of variation of the pieces' lives [-], above 0.
        family : Family
            The distribution.
        """
        return cls(
            family=family,
            mean=np.array([mean]),
            shape=np.asarray(shape_of_cv(family, np.array([cv]))),
            weight=np.ones(1),
        )

    @cached_property
    def scale(self) -> NDArray[np.float64]:
        """Scale at the nodes, shape (n,) [catalogue lives]."""
        return scale_of(self.family, self.mean, self.shape)

    def outlast_wear(self, used: float, further: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the probability that wear does not end a piece within its further use.

        ``Σ w S(used + further) / S(used)``: the piece's survival so far is already part of
        the weights, as a life seen in service.

        Parameters
        ----------
        used : float
            Use so far [catalogue lives].
        further : array of float
            Further use [catalogue lives].
        """
        now = log_sf(self.family, used, self.shape, self.scale)
        then = log_sf(self.family, used + further[..., None], self.shape, self.scale)
        # Rounding must not make a chance of more than 1.
        return np.exp(np.minimum(then - now, 0.0)) @ self.weight

    def outlast_breakage(self, further: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the probability that no breakage ends a piece within its further use.

        ``(b / (b + further))^a``, the mean of ``exp(-rate · further)`` over the gamma
        distribution of the rate.

        Parameters
        ----------
        further : array of float
            Further use [catalogue lives].
        """
        return np.power(self.break_exposure / (self.break_exposure + further), self.break_count)

    def outlast(self, used: float, further: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the probability that a piece outlasts a further use: neither worn nor broken.

        Parameters
        ----------
        used : float
            Use so far [catalogue lives].
        further : array of float
            Further use [catalogue lives].
        """
        return self.outlast_wear(used, further) * self.outlast_breakage(further)

    def remaining(self, used: float, probability: float) -> float:
        """Return the further use that a piece outlasts with a probability.

        Parameters
        ----------
        used : float
            Use so far [catalogue lives].
        probability : float
            Above 0 and below 1.

        Returns
        -------
        float
            Further use [catalogue lives].
        """
        from scipy.optimize import brentq  # noqa: PLC0415  loaded when lives are calculated

        def over(further: float) -> float:
            return float(self.outlast(used, np.array([further]))[0]) - probability

        low, high = 0.0, 1.0
        while high < _FAR and over(high) > 0.0:
            low, high = high, 2.0 * high
        return float(brentq(over, low, high, xtol=1e-12)) if over(high) <= 0.0 else high

    def remaining_interval(self, used: float) -> Interval:
        """Return median and 90 % interval of a piece's further use [catalogue lives].

        Parameters
        ----------
        used : float
            Use so far [catalogue lives].
        """
        return Interval(*(self.remaining(used, p) for p in (0.5, 0.95, 0.05)))

    @property
    def mean_break_rate(self) -> float:
        """Mean rate of breakage [per catalogue life]."""
        return self.break_count / self.break_exposure

    @cached_property
    def moments(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Mean and variance of a piece's life at each node, breakage included.

        The mean is the integral of the survival function, the mean square that of ``2 x S``,
        by Simpson's rule; two arrays of n values [catalogue lives, their squares].
        """
        if not self.break_count:
            if self.family is Family.GAMMA:
                return self.mean, self.mean**2 / self.shape
            from scipy.special import gamma  # noqa: PLC0415  as above

            ratio = gamma(1.0 + 2.0 / self.shape) / gamma(1.0 + 1.0 / self.shape) ** 2
            return self.mean, np.asarray(self.mean**2 * (ratio - 1.0), dtype=np.float64)
        z = np.linspace(0.0, 1.0, 2 * _GRID + 1) ** 2 * _REACH
        # Simpson's weights in t, where z = 12 t²: denser where lives end.
        weights = np.full(2 * _GRID + 1, 2.0)
        weights[1::2], weights[[0, -1]] = 4.0, 1.0
        weights *= 2.0 * np.sqrt(z * _REACH) / (6.0 * _GRID)
        mean, square = np.empty_like(self.mean), np.empty_like(self.mean)
        for at in range(0, len(self.mean), _CHUNK):
            own = slice(at, at + _CHUNK)
            x = self.mean[own, None] * z
            s = np.exp(log_sf(self.family, x, self.shape[own, None], self.scale[own, None]))
            s *= np.exp(-self.mean_break_rate * x)
            mean[own] = (s @ weights) * self.mean[own]
            square[own] = 2.0 * ((s * z) @ weights) * self.mean[own] ** 2
        return mean, square - mean**2

    @cached_property
    def typical(self) -> tuple[float, float, float]:
        """What closed forms calculate with: mean life, renewals' variance, doubt of the mean.

        The median over the nodes of the mean life [catalogue lives]; that of ``σ²/µ³``, the
        variance of the number of pieces used up per life of work, for a long stretch (Cox,
        *Renewal Theory*, 1962, ch. 4; from memory) [1/lives]; half the width of the middle
        68.3 % of the logarithm of the mean life [-], zero where it is known.
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

    def draw_left(
        self,
        rng: np.random.Generator,
        node: NDArray[np.int64],
        rate: NDArray[np.float64],
        used: float = 0.0,
    ) -> NDArray[np.float64]:
        """Draw the further life of one piece in each simulated future.

        Parameters
        ----------
        rng : numpy.random.Generator
            Source of chance.
        node : (s,) array
            Which node holds in each future.
        rate : (s,) array
            Rate of breakage in each [per catalogue life].
        used : float
            Use so far, which the piece survived [catalogue lives].

        Returns
        -------
        (s,) array
            Further life [catalogue lives].
        """
        shape, scale = self.shape[node], self.scale[node]
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
