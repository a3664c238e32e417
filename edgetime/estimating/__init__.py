"""The whole flow in one call, and the questions asked of its result.

Each name is loaded when it is first used: a take-off needs none of the later stages.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.lazily import lazily

if TYPE_CHECKING:
    from edgetime.estimating.advice import Advice, Together, advise, follow, together
    from edgetime.estimating.asked import Answer, Questions, answer
    from edgetime.estimating.effects import Effect, sensitivity
    from edgetime.estimating.explain import explain_tool
    from edgetime.estimating.pipeline import (
        Estimate,
        estimate,
        estimate_take_off,
        motion_limits,
    )
    from edgetime.estimating.reading import read_take_off
    from edgetime.estimating.resume import Resume, resume_at

__getattr__ = lazily(
    __name__,
    {
        "advice": "Advice Together advise follow together",
        "asked": "Answer Questions answer",
        "effects": "Effect sensitivity",
        "explain": "explain_tool",
        "pipeline": "Estimate estimate estimate_take_off motion_limits",
        "reading": "read_take_off",
        "resume": "Resume resume_at",
    },
)

__all__ = [
    "Advice",
    "Answer",
    "Effect",
    "Estimate",
    "Questions",
    "Resume",
    "Together",
    "advise",
    "answer",
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
