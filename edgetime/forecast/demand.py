"""The work that the jobs of a pipeline bring a tool: a sum of jobs that come or do not.

Work is counted in lives of the tool's file: 1 is what one piece bears by the catalogue.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LIMIT: Final = 4096
"""Most values a distribution is kept with; twelve uncertain jobs are exact."""


@dataclass(frozen=True, eq=False)
class Demand:
    """Distribution of a sum of independent jobs, each of which comes or does not.

    Attributes
    ----------
    values : (k,) array
        What the sum may be, ascending [lives].
    chances : (k,) array
        How likely each is; they add up to 1 [-].
    mean, variance : float
        ``Σ p a`` and ``Σ p (1 - p) a²``, exact for any number of jobs [lives, lives²].
    """

    values: FloatArray
    chances: FloatArray
    mean: float = 0.0
    variance: float = 0.0

    @classmethod
    def none(cls) -> Demand:
        """Return no work at all."""
        return cls(np.zeros(1), np.ones(1))

    def plus(self, amount: float, probability: float) -> Demand:
        """Return the sum with one more job.

        Beyond :data:`LIMIT` values, neighbouring values are put together on an even grid,
        each shared between the two grid values beside it so that the mean stays; the
        variance of ``values`` grows by less than the square of the grid's step per job.

        Parameters
        ----------
        amount : float
            Work of the job if it comes, 0 or more [lives].
        probability : float
            That it comes, 0 to 1 [-].
        """
        if amount <= 0.0 or probability <= 0.0:
            return self
        mean = self.mean + probability * amount
        variance = self.variance + probability * (1.0 - probability) * amount**2
        if probability >= 1.0:
            return Demand(self.values + amount, self.chances, mean, variance)
        values = np.concatenate([self.values, self.values + amount])
        chances = np.concatenate([self.chances * (1.0 - probability), self.chances * probability])
        order = np.argsort(values, kind="stable")
        values, chances = values[order], chances[order]
        if len(values) > LIMIT:
            values, chances = _gathered(values, chances)
        return Demand(values, chances, mean, variance)


def _gathered(values: FloatArray, chances: FloatArray) -> tuple[FloatArray, FloatArray]:
    grid = np.linspace(values[0], values[-1], LIMIT // 2)
    at = (values - grid[0]) / (grid[1] - grid[0])
    low = np.minimum(at.astype(np.int64), len(grid) - 2)
    upper = at - low
    out = np.bincount(low, chances * (1.0 - upper), len(grid))
    out += np.bincount(low + 1, chances * upper, len(grid))
    return grid, np.maximum(out, 0.0)
