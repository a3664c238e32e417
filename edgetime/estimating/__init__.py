"""The whole flow in one call, and the questions asked of its result.

Each name is loaded when it is first used: a take-off needs none of the later stages.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

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
    from edgetime.load import Options

_HOME = {
    "Advice": "advice",
    "Answer": "asked",
    "Effect": "effects",
    "Estimate": "pipeline",
    "Options": "edgetime.load",
    "Questions": "asked",
    "Resume": "resume",
    "Together": "advice",
    "advise": "advice",
    "answer": "asked",
    "estimate": "pipeline",
    "estimate_take_off": "pipeline",
    "explain_tool": "explain",
    "follow": "advice",
    "motion_limits": "pipeline",
    "read_take_off": "reading",
    "resume_at": "resume",
    "sensitivity": "effects",
    "together": "advice",
}

__all__ = [
    "Advice",
    "Answer",
    "Effect",
    "Estimate",
    "Options",
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


def __getattr__(name: str) -> Any:
    """Load a name from its module."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

    home = _HOME[name]
    found = getattr(import_module(home if "." in home else f"{__name__}.{home}"), name)
    globals()[name] = found
    return found
