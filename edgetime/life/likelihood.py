"""Maximum likelihood of Weibull and gamma lives with right-censoring."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgetime.life.families import Family, Sample, log_likelihood

_PARAMETERS = 2
_STEP = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelihoodFit:
    """The likeliest parameters of a family.

    Attributes
    ----------
    family : Family
        The distribution.
    shape, scale : float
        Weibull ``beta`` and ``eta``, or gamma ``k`` and ``theta``; the scale in the unit of
        the lives.
    log_likelihood : float
        At these parameters.
    aic : float
        Akaike's criterion, ``2·2 - 2 log L``: the lower, the better.
    """

    family: Family
    shape: float
    scale: float
    log_likelihood: float
    aic: float


def sample_of(worn: Sequence[float], censored: Sequence[float] = ()) -> Sample:
    """Put lives into arrays.

    Parameters
    ----------
    worn, censored : sequence of float
        See :class:`edgetime.life.families.Sample`.
    """
    return Sample(np.asarray(worn, dtype=np.float64), np.asarray(censored, dtype=np.float64))


def fit_likelihood(sample: Sample, *, family: Family = Family.WEIBULL) -> LikelihoodFit | None:
    """Find the likeliest parameters.

    Weibull: the shape solves ``Σ t^b ln t / Σ t^b - 1/b = mean ln t_worn`` (sums over all
    lives, the mean over those seen to their end), then ``eta^b = Σ t^b / n_worn``; Cohen,
    *Technometrics* 7(4), 1965 (from memory). Gamma: by search in the logarithms.

    Parameters
    ----------
    sample : Sample
        Lives, all in one unit.
    family : Family
        The distribution.

    Returns
    -------
    LikelihoodFit or None
        None with fewer than two different lives seen to their end: no finite maximum then.
    """
    if np.unique(sample.worn).size < _PARAMETERS:
        return None
    shape, scale = (_weibull if family is Family.WEIBULL else _gamma)(sample)
    best = float(log_likelihood(family, sample, np.array([shape]), np.array([[scale]]))[0, 0])
    return LikelihoodFit(
        family=family,
        shape=shape,
        scale=scale,
        log_likelihood=best,
        aic=2.0 * _PARAMETERS - 2.0 * best,
    )


def _weibull(sample: Sample) -> tuple[float, float]:
    from scipy.optimize import brentq  # noqa: PLC0415  scipy is loaded when lives are calculated

    top = float(sample.all.max())
    used = sample.all[sample.all > 0.0] / top
    logs = np.log(used)
    wanted = float(np.log(sample.worn / top).mean())

    def slope(shape: float) -> float:
        powers = np.power(used, shape)
        return float((powers * logs).sum() / powers.sum()) - 1.0 / shape - wanted

    low, high = 1e-3, 1.0
    # The function rises from minus infinity; the scaled lives keep every power within 0..1.
    while slope(high) < 0.0:
        low, high = high, 2.0 * high
    shape = float(brentq(slope, low, high, xtol=1e-13, rtol=1e-14))
    return shape, top * float(np.power(used, shape).sum() / sample.worn.size) ** (1.0 / shape)


def _gamma(sample: Sample) -> tuple[float, float]:
    from scipy.optimize import minimize  # noqa: PLC0415  as above

    unit = float(sample.all.sum()) / sample.worn.size
    scaled = Sample(sample.worn / unit, sample.censored / unit)
    cv = max(float(scaled.worn.std()) / float(scaled.worn.mean()), 0.03)
    around = _STEP * np.array([-1.0, 0.0, 1.0])

    def cost(at: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        # By mean and shape: the two are nearly independent, so the search is short.
        mean, shape = np.exp(at[0] + around), np.exp(at[1] + around)
        f = -log_likelihood(Family.GAMMA, scaled, shape, mean[:, None] / shape[None, :])
        slopes = np.array([f[2, 1] - f[0, 1], f[1, 2] - f[1, 0]]) / (2.0 * _STEP)
        return float(f[1, 1]), slopes

    found = minimize(cost, np.array([0.0, -2.0 * np.log(cv)]), jac=True, method="BFGS")
    mean, shape = np.exp(found.x)
    return float(shape), unit * float(mean / shape)
