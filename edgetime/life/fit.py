"""From the ledger's records of lives to the life of a model of tool."""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from edgetime.life.distribution import Interval, Trust
from edgetime.life.families import Family, Sample, log_likelihood, scale_of, shape_of_cv
from edgetime.life.likelihood import LikelihoodFit, fit_likelihood, sample_of
from edgetime.life.posterior import Counts, LifeFit, LifePrior

if TYPE_CHECKING:
    from edgetime.ledger import LifeRecord

CHOICE_FROM: Final = 20
"""From so many lives seen to their end the data may choose the distribution."""
CHOICE_MARGIN: Final = 2.0
"""By how much Akaike's criterion must prefer gamma (Burnham & Anderson 2002: differences
below 2 say little; from memory)."""
TRUST_RATIO: Final = 1.5
"""The pieces' own lives decide once the 90 % interval of the mean spans no larger ratio."""
TRUST_FROM: Final = 5

_LOG_CV: Final = (-3.2, 0.7)
_LOG_MEAN_REACH: Final = 4.0
_COARSE: Final = (41, 25)
_FINE: Final = (61, 31)
_DROP: Final = 14.0
"""Nodes whose weight is below exp(-14) of the highest are left out."""


def fit_lives(records: Iterable[LifeRecord], prior: LifePrior | None = None) -> dict[str, LifeFit]:
    """Fit the life of every model of tool that has records.

    Parameters
    ----------
    records : iterable of LifeRecord
        Of any tools, as the ledger gives them.
    prior : LifePrior, optional
        As for :func:`fit_life`.

    Returns
    -------
    dict
        Fit by tool name. Wheels of one model are one tool, whatever profile they grind.
    """
    by_tool: dict[str, list[LifeRecord]] = {}
    for record in records:
        by_tool.setdefault(record.tool, []).append(record)
    return {tool: fit_life(lives, prior, tool=tool) for tool, lives in by_tool.items()}


def fit_life(
    records: Iterable[LifeRecord], prior: LifePrior | None = None, *, tool: str = ""
) -> LifeFit:
    """Say how long pieces of one tool last, from those that ended and those still in service.

    The posterior of mean and spread of the wear-out life is taken on a grid: the likelihood
    of the worn pieces, of all others as lower bounds, times the prior. Breakage counts
    against the whole use. The distribution is Weibull, unless at least :data:`CHOICE_FROM`
    worn pieces speak for gamma by Akaike's criterion.

    Parameters
    ----------
    records : iterable of LifeRecord
        Of one tool; those without a use above zero are counted and left out.
    prior : LifePrior, optional
        What holds before any record; otherwise the documented one.
    tool : str
        Its name.

    Returns
    -------
    LifeFit
        In catalogue lives.
    """
    prior = prior or LifePrior()
    sample, counts = _sort(records)
    fits = _likeliest(sample)
    family = Family.WEIBULL
    if counts.worn >= CHOICE_FROM and len(fits) == len(Family):
        weibull, gamma = fits
        if gamma.aic < weibull.aic - CHOICE_MARGIN:
            family = Family.GAMMA
    log_mean, log_cv, weight = _posterior(family, sample, prior)
    mean_life = _interval(log_mean, weight.sum(axis=1))
    cv = _interval(log_cv, weight.sum(axis=0))
    bounds = shape_of_cv(family, np.array([cv.value, cv.high, cv.low]))
    count = prior.break_count + counts.broken
    exposure = prior.break_exposure + counts.exposure
    keep = weight > weight.max() * np.exp(-_DROP)
    rows, columns = np.nonzero(keep)
    kept = weight[keep]
    own = counts.worn >= TRUST_FROM and mean_life.high <= TRUST_RATIO * mean_life.low
    few = Trust.FEW if counts.worn else Trust.CATALOGUE
    return LifeFit(
        tool=tool,
        family=family,
        mean=np.exp(log_mean)[rows],
        shape=shape_of_cv(family, np.exp(log_cv))[columns],
        weight=kept / kept.sum(),
        mean_life=mean_life,
        shape_interval=Interval(*bounds.tolist()),
        cv=cv,
        break_rate=_break_rate(count, exposure),
        break_count=count,
        break_exposure=exposure,
        counts=counts,
        trust=Trust.OWN if own else few,
        likeliest=fits,
    )


def _sort(records: Iterable[LifeRecord]) -> tuple[Sample, Counts]:
    uses: dict[str | None, list[float]] = {"worn": [], "broken": [], "lost": [], None: []}
    ignored = 0
    for record in records:
        use = record.share or 0.0
        if use > 0.0 and isfinite(use) and record.ended in uses:
            uses[record.ended].append(use)
        elif record.ended is not None:
            ignored += 1
    censored = uses["broken"] + uses["lost"] + uses[None]
    counts = Counts(
        worn=len(uses["worn"]),
        broken=len(uses["broken"]),
        lost=len(uses["lost"]),
        in_service=len(uses[None]),
        exposure=sum(uses["worn"]) + sum(censored),
        ignored=ignored,
    )
    return sample_of(uses["worn"], censored), counts


def _likeliest(sample: Sample) -> tuple[LikelihoodFit, ...]:
    families = tuple(Family) if sample.worn.size >= CHOICE_FROM else (Family.WEIBULL,)
    fits = (fit_likelihood(sample, family=family) for family in families)
    return tuple(fit for fit in fits if fit is not None)


def _posterior(family: Family, sample: Sample, prior: LifePrior) -> tuple[Any, Any, Any]:
    """Return the nodes of log mean and log cv, and the weights (mean by cv)."""
    centres = [0.0]
    if sample.worn.size:
        centres.append(float(np.log(sample.all.sum() / sample.worn.size)))
    if sample.censored.size:
        centres.append(float(np.log(max(sample.censored.max(), 1e-9))))
    box = (
        (min(centres[:2]) - _LOG_MEAN_REACH, max(centres) + _LOG_MEAN_REACH),
        _LOG_CV,
    )
    size = _COARSE
    # The box closes in on where the weight lies, which many records make small.
    for _ in range(2):
        axes = tuple(np.linspace(*ends, n) for ends, n in zip(box, size, strict=True))
        box = _box(axes, _log_posterior(family, sample, prior, *axes))
    axes = tuple(np.linspace(*ends, n) for ends, n in zip(box, _FINE, strict=True))
    log_weight = _log_posterior(family, sample, prior, *axes)
    weight = np.exp(log_weight - log_weight.max())
    return *axes, weight / weight.sum()


def _log_posterior(
    family: Family,
    sample: Sample,
    prior: LifePrior,
    log_mean: NDArray[np.float64],
    log_cv: NDArray[np.float64],
) -> NDArray[np.float64]:
    shape = shape_of_cv(family, np.exp(log_cv))
    scale = scale_of(family, np.exp(log_mean)[:, None], shape[None, :])
    of_mean = prior.log_density(log_mean)
    z = (log_cv - np.log(prior.cv)) / prior.cv_spread
    return np.asarray(
        log_likelihood(family, sample, shape, scale) + of_mean[:, None] - 0.5 * (z * z)[None, :]
    )


def _box(axes: tuple[Any, ...], log_weight: NDArray[np.float64]) -> tuple[Any, ...]:
    keep = log_weight > log_weight.max() - _DROP
    ends = []
    for axis, other in ((0, 1), (1, 0)):
        inside = np.flatnonzero(keep.any(axis=other))
        nodes = axes[axis]
        low, high = max(inside[0] - 1, 0), min(inside[-1] + 1, nodes.size - 1)
        ends.append((nodes[low], nodes[high]))
    return tuple(ends)


def _interval(logs: NDArray[np.float64], weight: NDArray[np.float64]) -> Interval:
    # Each node stands for the cell around it, so half its own weight lies below it.
    below = np.cumsum(weight) - 0.5 * weight
    return Interval(*(float(np.exp(np.interp(p, below, logs))) for p in (0.5, 0.05, 0.95)))


def _break_rate(count: float, exposure: float) -> Interval:
    from scipy.special import gammaincinv  # noqa: PLC0415  scipy is loaded when lives are calculated

    low, high = (float(gammaincinv(count, p)) / exposure for p in (0.05, 0.95))
    return Interval(count / exposure, low, high)
