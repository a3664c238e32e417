"""The whole flow in one call, and the questions asked of its result."""

from edgetime.estimating.advice import Advice, Together, advise, follow, together
from edgetime.estimating.explain import Factor, explain_tool
from edgetime.estimating.options import Options
from edgetime.estimating.pipeline import Estimate, estimate, estimate_take_off, motion_limits
from edgetime.estimating.pipeline import read_take_off as read_take_off
from edgetime.estimating.resume import Resume, resume_at
from edgetime.estimating.sensitivity import Effect, sensitivity

__all__ = [
    "Advice",
    "Effect",
    "Estimate",
    "Factor",
    "Options",
    "Resume",
    "Together",
    "advise",
    "estimate",
    "estimate_take_off",
    "explain_tool",
    "follow",
    "motion_limits",
    "read_take_off",
    "resume_at",
    "sensitivity",
    "together",
]
