"""How long tools last, with what certainty, and whether those mounted finish a load."""

from edgetime.life.families import Family
from edgetime.life.fit import fit_life, fit_lives
from edgetime.life.likelihood import LikelihoodFit, fit_likelihood, sample_of
from edgetime.life.model import Counts, Interval, LifeFit, LifePrior, Trust
from edgetime.life.survival import LEAST_CHANCE, EndAt, Survival, ToolSurvival, survive

__all__ = [
    "LEAST_CHANCE",
    "Counts",
    "EndAt",
    "Family",
    "Interval",
    "LifeFit",
    "LifePrior",
    "LikelihoodFit",
    "Survival",
    "ToolSurvival",
    "Trust",
    "fit_life",
    "fit_likelihood",
    "fit_lives",
    "sample_of",
    "survive",
]
