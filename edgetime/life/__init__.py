"""How long tools last, with what certainty, and whether those mounted finish a load."""

from edgetime.life.distribution import Interval, LifeDistribution, Trust
from edgetime.life.families import Family
from edgetime.life.finish_chance import LEAST_CHANCE, survive
from edgetime.life.fit import fit_life, fit_lives
from edgetime.life.lasting import Lasting, ToolLasting, lasting
from edgetime.life.left import FittedLeft, left_by_fit
from edgetime.life.likelihood import LikelihoodFit, fit_likelihood, sample_of
from edgetime.life.posterior import Counts, LifeFit, LifePrior
from edgetime.life.survival import EndAt, Survival, ToolSurvival

__all__ = [
    "LEAST_CHANCE",
    "Counts",
    "EndAt",
    "Family",
    "FittedLeft",
    "Interval",
    "Lasting",
    "LifeDistribution",
    "LifeFit",
    "LifePrior",
    "LikelihoodFit",
    "Survival",
    "ToolLasting",
    "ToolSurvival",
    "Trust",
    "fit_life",
    "fit_likelihood",
    "fit_lives",
    "lasting",
    "left_by_fit",
    "sample_of",
    "survive",
]
