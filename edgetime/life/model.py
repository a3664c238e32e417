"""What is assumed about lives before any retirement, and what is known after some."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from edgetime.life.families import Family, log_sf, scale_of
from edgetime.life.likelihood import LikelihoodFit

if TYPE_CHECKING:
    from numpy.typing import NDArray

_FAR = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class LifePrior:
    """What is taken for likely before the ledger knows any retirement.

    Lives are counted in catalogue lives: 1 is the figure of the tool's file.

    Attributes
    ----------
    spread : float
        Scale of the logarithm of (mean life / catalogue life), which is taken as Student's
        t: the shop's true mean lies within a factor ``exp(2.13 · spread)`` of the catalogue
        with 90 % at 4 degrees of freedom [-].
    degrees : float
        Degrees of freedom of that t: few, so that a catalogue that is far off gives way to
        the pieces' own figures [-].
    cv, cv_spread : float
        Median of the coefficient of variation of the pieces' lives about their mean, and the
        standard deviation of its logarithm [-].
    break_count, break_exposure : float
        Breakage is as if ``break_count`` pieces had broken within ``break_exposure``
        catalogue lives: a gamma prior on its rate.
    """

    spread: float = 0.5
    degrees: float = 4.0
    cv: float = 0.35
    cv_spread: float = 0.5
    break_count: float = 0.5
    break_exposure: float = 10.0


class Trust(StrEnum):
    """How far a fit rests on the shop's own pieces."""

    CATALOGUE = "catalogue"
    """No piece was worn out yet: the catalogue's figure alone."""
    FEW = "few"
    """Some were, but the mean life is still uncertain."""
    OWN = "own"
    """The pieces' own lives decide."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with its 90 % interval: 5 % lie below ``low``, 5 % above ``high``."""

    value: float
    low: float
    high: float

    def as_dict(self) -> dict[str, float]:
        """Return the JSON form."""
        return {"value": self.value, "low": self.low, "high": self.high}


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What a fit was made from.

    Attributes
    ----------
    worn, broken, lost, in_service : int
        Pieces by how they ended. Only the worn show a whole life; of the others it is known
        that they lasted longer.
    exposure : float
        Use of all of them [catalogue lives].
    ignored : int
        Records without a use above zero: no life can be read from them.
    """

    worn: int = 0
    broken: int = 0
    lost: int = 0
    in_service: int = 0
    exposure: float = 0.0
    ignored: int = 0

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "worn": self.worn,
            "broken": self.broken,
            "lost": self.lost,
            "in_service": self.in_service,
            "exposure_lives": self.exposure,
            "ignored": self.ignored,
        }


@dataclass(frozen=True, eq=False, kw_only=True)
class LifeFit:
    """The life of one model of tool, in catalogue lives.

    The posterior stands on nodes of mean and shape with weights that add up to 1. Breakage
    is a second cause of the end, independent of wear, with a gamma posterior on its rate.

    Attributes
    ----------
    tool : str
        Tool name.
    family : Family
        The distribution of wear-out life.
    mean, shape, weight : array of float, shape (n,)
        Nodes of the posterior and their weights.
    mean_life, shape_interval, cv : Interval
        Median and 90 % interval of the mean wear-out life [catalogue lives], the shape and
        the coefficient of variation [-].
    break_rate : Interval
        Mean and 90 % interval of the rate of breakage [per catalogue life].
    break_count, break_exposure : float
        Of the gamma posterior of that rate.
    counts : Counts
        Records used.
    trust : Trust
        What the fit rests on.
    likeliest : tuple of LikelihoodFit
        Maximum-likelihood fits, for comparison; empty with fewer than two different lives.
    """

    tool: str
    family: Family
    mean: NDArray[np.float64]
    shape: NDArray[np.float64]
    weight: NDArray[np.float64]
    mean_life: Interval
    shape_interval: Interval
    cv: Interval
    break_rate: Interval
    break_count: float
    break_exposure: float
    counts: Counts
    trust: Trust
    likeliest: tuple[LikelihoodFit, ...]

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
        posterior of the rate.

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
        from scipy.optimize import brentq  # noqa: PLC0415  loaded when lives are reckoned

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

    def draw(self, rng: np.random.Generator, size: int, *, used: float = 0.0) -> Any:
        """Draw further uses of pieces until their end, by wear or breakage.

        Each drawing takes its own mean, shape and rate from the posterior, then a life under
        them: what is not known of the tool is spread among the drawings as well.

        Parameters
        ----------
        rng : numpy.random.Generator
            Source of chance.
        size : int
            How many.
        used : float
            Use so far [catalogue lives].

        Returns
        -------
        array of float, shape (size,)
            Further use [catalogue lives].
        """
        at = rng.choice(self.weight.size, size=size, p=self.weight)
        shape = self.shape[at]
        scale = self.scale[at]
        level = log_sf(self.family, used, shape, scale) - rng.exponential(size=size)
        if self.family is Family.WEIBULL:
            worn = scale * np.power(-level, 1.0 / shape)
        else:
            from scipy.special import gammainccinv  # noqa: PLC0415  loaded for gamma lives only

            worn = scale * gammainccinv(shape, np.exp(level))
        rate = rng.gamma(self.break_count, 1.0 / self.break_exposure, size=size)
        broken = rng.exponential(size=size) / np.maximum(rate, 1.0 / _FAR)
        return np.minimum(np.maximum(worn - used, 0.0), broken)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; lives are in catalogue lives."""
        return {
            "tool": self.tool,
            "family": str(self.family),
            "trust": str(self.trust),
            "mean_life": self.mean_life.as_dict(),
            "shape": self.shape_interval.as_dict(),
            "cv": self.cv.as_dict(),
            "break_rate_per_life": self.break_rate.as_dict(),
            "retirements": self.counts.as_dict(),
            "maximum_likelihood": [
                {
                    "family": str(m.family),
                    "shape": m.shape,
                    "scale": m.scale,
                    "log_likelihood": m.log_likelihood,
                    "aic": m.aic,
                }
                for m in self.likeliest
            ],
        }
