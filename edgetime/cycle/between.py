"""What happens between the moves: tool changes and the dressing of tools."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgetime.load.load import Load
from edgetime.moves import NO_INDEX, MoveKind, Moves
from edgetime.passes.pass_plan import PassPlan, PlannedVisit
from edgetime.tooling import Machine


@dataclass(frozen=True, slots=True)
class ToolChange:
    """A tool change without its travel.

    Attributes
    ----------
    down_s, up_s : float
        Spindle run-down and run-up [s].
    exchange_s, measure_s : float
        Exchanging the tool and measuring its length [s]; 0 where the piece stays.
    """

    down_s: float
    exchange_s: float
    measure_s: float
    up_s: float

    @property
    def total_s(self) -> float:
        """Sum of the terms [s]."""
        return self.down_s + self.exchange_s + self.measure_s + self.up_s


def tool_change(before: PlannedVisit | None, visit: PlannedVisit, machine: Machine) -> ToolChange:
    """Return what a tool change is made of, without its travel.

    The spindle stops, the tool is exchanged and its length measured, the spindle runs up.
    The spindle is empty at cycle start, so the first change has no run-down. A piece that is
    in the spindle already stays there: the spindle only goes to the new speed, or stops and
    runs up again while the parts are turned over.

    Parameters
    ----------
    before, visit : PlannedVisit
        The stay that ends, None at cycle start, and the one that begins.
    machine : Machine
        With the times of its exchange and its spindle.
    """
    up = visit.rotation_rad_per_s / machine.spindle_up_rad_per_s2
    if before is None:
        return ToolChange(0.0, machine.exchange_s, machine.measure_s, up)
    down = before.rotation_rad_per_s / machine.spindle_up_rad_per_s2
    if before.piece != visit.piece:
        return ToolChange(down, machine.exchange_s, machine.measure_s, up)
    if before.side != visit.side:
        return ToolChange(down, 0.0, 0.0, up)
    return ToolChange(max(down - up, 0.0), 0.0, 0.0, max(up - down, 0.0))


def tool_changes(visits: Sequence[PlannedVisit], machine: Machine) -> list[ToolChange]:
    """Return the tool change of each visit, in running order."""
    before: list[PlannedVisit | None] = [None, *visits[:-1]]
    return [tool_change(b, v, machine) for b, v in zip(before, visits, strict=True)]


def dressings(load: Load, plan: PassPlan, moves: Moves) -> NDArray[np.int64]:
    """Return how often the tool is dressed at the end of each pass (k,).

    A piece is dressed each time its path in the cut, summed over its visits in this load,
    passes a multiple of the tool's interval.
    """
    out = np.zeros(len(plan.passes), dtype=np.int64)
    own = (moves.pass_index != NO_INDEX) & (moves.kind == MoveKind.CUT)
    path = np.bincount(moves.pass_index[own], weights=moves.length[own], minlength=len(out))
    run: dict[str, float] = {}
    for k, p in enumerate(plan.passes):
        visit = plan.visits[p.visit]
        every = load.catalogue.tools[visit.tool].dress_every_mm
        if every <= 0.0:
            continue
        before = run.get(visit.piece, 0.0)
        after = run[visit.piece] = before + float(path[k])
        # Whole intervals since the tool was new: what is left of one carries over to the next pass.
        out[k] = round(after // every - before // every)
    return out
