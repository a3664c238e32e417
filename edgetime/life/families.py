"""The two distributions of tool life: Weibull and gamma, each by its mean and its spread.

Both are written by the mean life and the coefficient of variation (standard deviation by
mean), so that one prior serves both. The shape of either follows from the coefficient of
variation alone:

* Weibull, ``S(x) = exp(-(x/eta)^beta)``: mean ``eta Γ(1 + 1/beta)``,
  ``cv² = Γ(1 + 2/beta)/Γ(1 + 1/beta)² - 1``;
* gamma, ``S(x) = Q(k, x/theta)``: mean ``k theta``, ``cv² = 1/k``.

Source: Meeker & Escobar, *Statistical Methods for Reliability Data*, 1998, ch. 4 and 5
(from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from math import lgamma
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SHAPE_RANGE = (0.4, 60.0)
_BLOCK = 64
_TINY = 1e-280
"""Below this the incomplete gamma function is about to underflow."""


class Family(StrEnum):
    """A distribution of life."""

    WEIBULL = "weibull"
    GAMMA = "gamma"


@dataclass(frozen=True, eq=False)
class Sample:
    """Lives seen to their end, and lives of which only a lower bound is known.

    Attributes
    ----------
    worn : array of float, shape (n,)
        Use at the end by wear, above 0.
    censored : array of float, shape (m,)
        Use so far of pieces in service, and use at which others broke or got lost.
    """

    worn: NDArray[np.float64]
    censored: NDArray[np.float64]

    @property
    def all(self) -> NDArray[np.float64]:
        """Every use, worn first, shape (n + m,)."""
        return np.concatenate([self.worn, self.censored])


@cache
def _weibull_table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    log_shape = np.linspace(np.log(_SHAPE_RANGE[0]), np.log(_SHAPE_RANGE[1]), 2001)
    log_cv = np.array(
        [
            0.5 * np.log(np.expm1(lgamma(1.0 + 2.0 / b) - 2.0 * lgamma(1.0 + 1.0 / b)))
            for b in np.exp(log_shape)
        ]
    )
    # np.interp wants a rising abscissa; the spread falls as the shape rises.
    return log_cv[::-1].copy(), log_shape[::-1].copy()


def shape_of_cv(family: Family, cv: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the shape that gives a coefficient of variation.

    Parameters
    ----------
    family : Family
        The distribution.
    cv : array of float
        Coefficient of variation [-]; for Weibull between 0.03 and 3.

    Returns
    -------
    array of float
        Weibull ``beta`` or gamma ``k`` [-], as ``cv`` in shape.
    """
    if family is Family.GAMMA:
        return 1.0 / np.square(cv)
    log_cv, log_shape = _weibull_table()
    return np.exp(np.interp(np.log(cv), log_cv, log_shape))


def scale_of(
    family: Family, mean: NDArray[np.float64], shape: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the scale from mean and shape.

    Parameters
    ----------
    family : Family
        The distribution.
    mean, shape : array of float
        Mean life and shape, of one shape or broadcastable.

    Returns
    -------
    array of float
        Weibull ``eta`` or gamma ``theta``, in the unit of the mean.
    """
    if family is Family.GAMMA:
        return mean / shape
    from scipy.special import gammaln  # noqa: PLC0415  scipy is loaded when lives are calculated

    return np.asarray(mean * np.exp(-gammaln(1.0 + 1.0 / shape)), dtype=np.float64)


def log_sf(
    family: Family,
    use: NDArray[np.float64] | float,
    shape: NDArray[np.float64],
    scale: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the logarithm of the probability of lasting longer than a use.

    Parameters
    ----------
    family : Family
        The distribution.
    use : float or array of float
        Use, 0 or more.
    shape, scale : array of float
        Its parameters; all three are broadcast.

    Returns
    -------
    array of float
        0 or less.
    """
    z = np.asarray(use, dtype=np.float64) / scale
    if family is Family.WEIBULL:
        return -np.power(z, shape)
    from scipy.special import gammaincc, gammaln  # noqa: PLC0415  as above

    shape, z = np.broadcast_arrays(shape, z)
    tail = np.asarray(gammaincc(shape, z), dtype=np.float64)
    out = np.log(np.maximum(tail, _TINY))
    far = tail < _TINY
    if far.any():
        # First term of the asymptotic series of the upper incomplete gamma function with
        # its geometric correction (DLMF 8.11.2).
        k, x = shape[far], z[far]
        out[far] = (k - 1.0) * np.log(x) - x - gammaln(k) - np.log1p(-(k - 1.0) / x)
    return out


def log_likelihood(
    family: Family,
    sample: Sample,
    shape: NDArray[np.float64],
    scale: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the log-likelihood of a sample with right-censored lives.

    The density of each life seen to its end times the survival function of each censored one.

    Parameters
    ----------
    family : Family
        The distribution.
    sample : Sample
        The lives.
    shape : array of float, shape (s,)
        Shapes.
    scale : array of float, shape (m, s)
        Scales, a column per shape.

    Returns
    -------
    array of float, shape (m, s)
        Log-likelihood.
    """
    worn = sample.worn
    n, log_sum = worn.size, float(np.log(worn).sum())
    if family is Family.WEIBULL:
        # Only the sum of powers depends on the data beside two constants: one per shape.
        top = float(sample.all.max(initial=0.0)) or 1.0
        powers = np.power(sample.all[:, None] / top, shape[None, :]).sum(axis=0)
        log_eta = np.log(scale)
        with np.errstate(over="ignore"):
            hazard = powers[None, :] * np.exp(shape[None, :] * (np.log(top) - log_eta))
        density = n * np.log(shape) + (shape - 1.0) * log_sum
        return np.asarray(density[None, :] - n * shape[None, :] * log_eta - hazard)
    from scipy.special import gammaln  # noqa: PLC0415  as above

    out = (
        (shape - 1.0)[None, :] * log_sum
        - float(worn.sum()) / scale
        - n * (shape * np.log(scale) + gammaln(shape))
    )
    lasted = sample.censored[sample.censored > 0.0]
    for start in range(0, lasted.size, _BLOCK):
        block = lasted[start : start + _BLOCK, None, None]
        out = out + log_sf(family, block, shape, scale).sum(axis=0)
    return np.asarray(out, dtype=np.float64)
