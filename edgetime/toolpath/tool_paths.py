"""The moves of a whole load."""

from __future__ import annotations

from dataclasses import dataclass

from edgetime.findings import Finding
from edgetime.moves import Moves
from edgetime.passes.pass_plan import PassPlan


@dataclass(frozen=True, slots=True)
class HandWork:
    """A stretch of edge the machine's finishing tools cannot reach.

    Attributes
    ----------
    part : int
        Index into the load's parts.
    contour : int
        As :attr:`edgetime.passes.pass_plan.EdgeRun.contour`.
    profile : str
        Profile to be made by hand.
    length_mm : float
        Union over the finishing steps [mm].
    x_mm, y_mm : float
        Middle of the stretch, table coordinates [mm].
    begin_mm, end_mm : float
        Where along the contour as drawn it begins and ends; an end beyond the length of a closed
        contour lies in its next round [mm].
    """

    part: int
    contour: int
    profile: str
    length_mm: float
    x_mm: float
    y_mm: float
    begin_mm: float = 0.0
    end_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class ToolPaths:
    """The moves of a load, visit by visit.

    Attributes
    ----------
    plan : PassPlan
        What is done: the plan without the passes that reach nothing, and without what would be
        fetched or attended for their sake. ``moves.pass_index`` and ``moves.visit`` count its
        passes and visits.
    moves : Moves
        All moves in running order. Each visit's rows start at the rack and end at the rack;
        those first and last rows carry ``pass_index = NO_INDEX`` and count as change time.
    change_rows : tuple of (int, int)
        Per visit: number of leading and trailing rows that are travel to and from the rack.
    hand : tuple of HandWork
        What is left for hand finishing.
    findings : tuple of Finding
        Of this stage only: reach, clearance, table, travel, speed.
    visits : tuple of int
        Per visit of ``plan``, its number in the plan that was given.
    drawn : Moves or None
        The moves of the passes in the order drawn, by visit as ``moves``, to be timed as well;
        None where that is the order of ``moves``.
    """

    plan: PassPlan
    moves: Moves
    change_rows: tuple[tuple[int, int], ...]
    hand: tuple[HandWork, ...]
    findings: tuple[Finding, ...]
    visits: tuple[int, ...] = ()
    drawn: Moves | None = None

    @property
    def hand_mm(self) -> float:
        """Total length of hand finishing [mm]."""
        return sum(h.length_mm for h in self.hand)
