"""The time left after a stop: the program is started again at a tool, or at a part of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from edgetime.errors import UsageError, Where
from edgetime.estimating.pipeline import Estimate

__all__ = ["Resume", "resume_at"]


@dataclass(frozen=True, kw_only=True)
class Resume:
    """What is left of a cycle.

    Attributes
    ----------
    tool, operation : str
        Where the program starts again.
    row : int
        Row of the estimate's tool table, from 0.
    part_id : str or None
        First part to be run by that tool; None for all of them.
    done_s : float
        What does not run again: total − left [s]. The tool is fetched again, so its change
        counts in what is left.
    left_s : float
        Machine time from the new start to the end [s].
    visits : tuple of (tool, operation, seconds)
        What is left, tool by tool.
    """

    tool: str
    operation: str
    row: int
    part_id: str | None
    done_s: float
    left_s: float
    visits: tuple[tuple[str, str, float], ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "tool": self.tool,
            "operation": self.operation,
            "row": self.row,
            "part_id": self.part_id,
            "done_s": self.done_s,
            "left_s": self.left_s,
            "tools": [
                {"tool": tool, "operation": operation, "left_s": left}
                for tool, operation, left in self.visits
            ],
        }


def _find_row(est: Estimate, tool: str) -> int:
    name, _, which = tool.partition("#")
    visits = est.cycle.visits
    rows = [i for i, v in enumerate(visits) if name in {v.tool, v.piece}]
    key = Where(key="--resume-at")
    if not rows:
        running = ", ".join(dict.fromkeys(v.piece for v in visits))
        raise UsageError(
            f"No tool {name!r} runs in this load.", where=key, remedy=f"Name one of: {running}."
        )
    if which:
        if not which.isdigit() or not 1 <= int(which) <= len(rows):
            raise UsageError(
                f"{tool!r} asks for stay {which}; {name!r} is in the spindle {len(rows)} time(s).",
                where=key,
                remedy=f"Write {name}#1 to {name}#{len(rows)}.",
            )
        return rows[int(which) - 1]
    return rows[0]


def _find_part(est: Estimate, part: str) -> int:
    for index, placed in enumerate(est.load.parts):
        if part in {placed.part.part_id, placed.part.name}:
            return index
    known = ", ".join(f"{p.part.part_id} ({p.part.name})" for p in est.load.parts[:12])
    raise UsageError(
        f"No part {part!r} lies in this load.",
        where=Where(key="--resume-at"),
        remedy=f"Name one of: {known}.",
    )


def resume_at(est: Estimate, tool: str, part: str | None = None) -> Resume:
    """Return the machine time left when the program is started again at a tool.

    Parameters
    ----------
    est : Estimate
        The whole load.
    tool : str
        Tool name or piece; ``tool#2`` for its second stay in the spindle.
    part : str, optional
        Id or name of the first part that this tool still has to run.

    Raises
    ------
    UsageError
        The tool does not run in this load, or not on that part.
    """
    row = _find_row(est, tool)
    visits = est.cycle.visits
    skipped = 0.0
    part_id: str | None = None
    if part is not None:
        index = _find_part(est, part)
        part_id = est.load.parts[index].part.part_id
        moves = est.paths.moves
        rows = np.flatnonzero(moves.visit == row)
        rows = rows[est.paths.change_rows[row][0] :]
        mine = np.flatnonzero(moves.part[rows] == index)
        if not len(mine):
            raise UsageError(
                f"Tool {visits[row].tool!r} does not touch part {part!r}.",
                where=Where(key="--resume-at"),
                remedy="Name a part that this tool runs, or only the tool.",
            )
        before = rows[: mine[0]]
        skipped = float(est.motion.seconds[before].sum() + moves.dwell[before].sum())
    left = tuple(
        (v.tool, v.operation, v.time.total_s - (skipped if i == 0 else 0.0))
        for i, v in enumerate(visits[row:])
    )
    left_s = sum(seconds for _, _, seconds in left)
    return Resume(
        tool=visits[row].tool,
        operation=visits[row].operation,
        row=row,
        part_id=part_id,
        done_s=est.cycle.total_s - left_s,
        left_s=left_s,
        visits=left,
    )
