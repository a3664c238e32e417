"""What each step does: runs and strokes, before they are ordered.

A *stroke* is one traverse at one offset and depth; a *work* is a run with all strokes one
step makes on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from edgetime.passes.pass_plan import EdgeRun
from edgetime.tooling import Step

BREAKTHROUGH_MM: Final = 2.0
"""Core and finger bits, and roughing drums, run this far below the slab [mm], so that no rim
is left at the bottom; common practice, into the air between the cups."""

COUNT_SLACK: Final = 1e-9
"""Stock that is a whole number of engagements but for rounding takes no further pass [-]."""


def ceil_count(amount: float, step: float) -> int:
    """Return how many steps an amount takes, ``ceil(amount / step)`` but for rounding."""
    if amount <= 0.0:
        return 0
    return max(1, math.ceil(amount / step - COUNT_SLACK)) if step > 0.0 else 1


@dataclass(frozen=True, slots=True)
class Stroke:
    """One traverse; the fields are those of :class:`edgetime.passes.pass_plan.Pass`."""

    offset_mm: float
    reach_mm: float
    top_z_mm: float
    bottom_z_mm: float
    removed_mm2: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """A run and what one step does on it.

    Attributes
    ----------
    run : EdgeRun
        Where.
    step : Step
        By which step.
    piece : str
        Tool piece.
    strokes : tuple of Stroke
        In order.
    fixed_start : bool
        The run begins where it does for a reason (an entry hole).
    """

    run: EdgeRun
    step: Step
    piece: str
    strokes: tuple[Stroke, ...]
    fixed_start: bool = False
