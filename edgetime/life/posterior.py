"""What is assumed about lives before any retirement, and what is known after some."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from edgetime.life.distribution import Interval, LifeDistribution
from edgetime.life.likelihood import LikelihoodFit
from edgetime.records import written

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class LifePrior:
    """What is assumed before the ledger has any retirement.

    Lives are counted in catalogue lives: 1 is the figure of the tool's file.

    Attributes
    ----------
    reach : float
        Every mean life from ``1 / reach`` to ``reach`` times the catalogue's is held equally
        likely (in its logarithm): the catalogue's figure is not preferred within that range,
        so a file that is wrong by a factor of two neither hides in the interval nor pulls at
        the pieces' own figures. 1 or more [-].
    spread, degrees : float
        Beyond that range the logarithm falls off as Student's t: its scale, and its degrees
        of freedom, few, so that a file that is further off still gives way [-].
    cv, cv_spread : float
        Median of the coefficient of variation of the pieces' lives about their mean, and the
        standard deviation of its logarithm [-].
    break_count, break_exposure : float
        Breakage is as if ``break_count`` pieces had broken within ``break_exposure``
        catalogue lives: a gamma prior on its rate.
    """

    reach: float = 3.0
    spread: float = 0.5
    degrees: float = 4.0
    cv: float = 0.35
    cv_spread: float = 0.5
    break_count: float = 0.5
    break_exposure: float = 5.0

    def log_density(self, log_mean: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the logarithm of the density of the logarithm of the mean life.

        Parameters
        ----------
        log_mean : array of float
            Logarithm of mean life by catalogue life.

        Returns
        -------
        array of float
            Up to a constant.
        """
        beyond = np.maximum(np.abs(log_mean) - np.log(self.reach), 0.0) / self.spread
        return np.asarray(-0.5 * (self.degrees + 1.0) * np.log1p(beyond**2 / self.degrees))


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
    exposure: float = field(default=0.0, metadata=written(key="exposure_lives"))
    ignored: int = 0

    @property
    def other(self) -> int:
        """Pieces that neither wore out nor broke: in service, on the shelf, lost."""
        return self.in_service + self.lost


@dataclass(frozen=True, eq=False, kw_only=True)
class LifeFit(LifeDistribution):
    """The life of one model of tool as learnt from its pieces, in catalogue lives.

    Attributes
    ----------
    tool : str
        Tool name.
    mean_life, shape_interval, cv : Interval
        Median and 90 % interval of the mean wear-out life [catalogue lives], the shape and
        the coefficient of variation [-].
    break_rate : Interval
        Mean and 90 % interval of the rate of breakage [per catalogue life].
    counts : Counts
        Records used.
    likeliest : tuple of LikelihoodFit
        Maximum-likelihood fits, for comparison; empty with fewer than two different lives.
    """

    tool: str
    mean_life: Interval
    shape_interval: Interval = field(metadata=written(key="shape"))
    cv: Interval
    break_rate: Interval = field(metadata=written(key="break_rate_per_life"))
    counts: Counts = field(metadata=written(key="retirements"))
    likeliest: tuple[LikelihoodFit, ...] = field(metadata=written(key="maximum_likelihood"))
