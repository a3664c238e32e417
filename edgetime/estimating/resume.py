"""The time left after a stop: the program is started again at a tool, or at a part of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from edgetime.cycle.order import PASS, RETURN, OrderRow
from edgetime.errors import UsageError, Where
from edgetime.estimating.explain import rows_of_tool
from edgetime.estimating.pipeline import Estimate
from edgetime.records import written


class Left(NamedTuple):
    """What is left of one stay of a tool."""

    tool: str
    operation: str
    left_s: float


@dataclass(frozen=True, kw_only=True)
class Resume:
    """What is left of a cycle.

    Attributes
    ----------
    tool, operation : str
        Where the program starts again.
    row : int
        Row of the estimate's tool table, from 0.
    number : int
        Row of the order of work, from 1.
    part_id, place : str or None
        First part, and place on it, to be run by that tool; None for all of them.
    done_s : float
        What does not run again: total − left [s]. The tool is fetched again, so its change
        counts in what is left.
    left_s : float
        Machine time from the new start to the end [s].
    visits : tuple of Left
        What is left, tool by tool.
    """

    tool: str
    operation: str
    row: int
    number: int
    part_id: str | None
    place: str | None
    done_s: float
    left_s: float
    visits: tuple[Left, ...] = field(metadata=written(key="tools"))


def _refused(what: str, remedy: str) -> UsageError:
    return UsageError(what, where=Where(key="--resume-at"), remedy=remedy)


def _find_row(est: Estimate, tool: str) -> int:
    name, _, which = tool.partition("#")
    rows = rows_of_tool(est, name, "--resume-at")
    if which:
        if not which.isdigit() or not 1 <= int(which) <= len(rows):
            raise _refused(
                f"{tool!r} asks for visit {which}; {name!r} has {len(rows)} in this load.",
                f"Write {name}#1 to {name}#{len(rows)}.",
            )
        return rows[int(which) - 1]
    return rows[0]


def _find_part(est: Estimate, part: str) -> int:
    for index, placed in enumerate(est.load.parts):
        if part in {placed.part.part_id, placed.part.name}:
            return index
    known = ", ".join(f"{p.part.part_id} ({p.part.name})" for p in est.load.parts[:12])
    raise _refused(f"No part {part!r} lies in this load.", f"Name one of: {known}.")


def _find_pass(est: Estimate, row: int, part: int) -> OrderRow:
    """Return the first pass of a visit on a part."""
    for each in est.order:
        if each.visit == row + 1 and each.kind == PASS and each.part == part:
            return each
    raise _refused(
        f"Tool {est.cycle.visits[row].tool!r} does not touch part "
        f"{est.load.parts[part].part.part_id!r}.",
        "Name a part that this tool runs, or only the tool.",
    )


def _find_number(est: Estimate, number: int) -> OrderRow:
    """Return a row of the order of work at which a program can start again."""
    if not 1 <= number <= len(est.order):
        raise _refused(
            f"There is no row {number} in the order of work.",
            f"Name a row from 1 to {len(est.order)}; edgetime estimate --runs shows them.",
        )
    row = est.order[number - 1]
    if row.kind == RETURN:
        raise _refused(
            f"Row {number} of the order of work is the return to the rack.",
            "Name the row of a run, or of a tool change.",
        )
    return row


def _start(est: Estimate, tool: str, part: str | None) -> OrderRow:
    """Return the row of the order of work at which the program starts again."""
    names = {name for v in est.cycle.visits for name in (v.tool, v.piece)}
    if part is None and tool.isdecimal() and tool not in names:
        return _find_number(est, int(tool))
    row = _find_row(est, tool)
    if part is not None:
        return _find_pass(est, row, _find_part(est, part))
    return next(each for each in est.order if each.visit == row + 1)


def resume_at(est: Estimate, tool: str, part: str | None = None) -> Resume:
    """Return the machine time left when the program is started again at a tool.

    The tool is fetched again, so its change counts in what is left; the way from the run
    before falls away, for the tool comes from the rack.

    Parameters
    ----------
    est : Estimate
        The whole load.
    tool : str
        Tool name or piece; ``tool#2`` for its second stay in the spindle; or the number of a
        row of the order of work, ``"17"``.
    part : str, optional
        Id or name of the first part that this tool still has to run.

    Raises
    ------
    UsageError
        The tool does not run in this load, or not on that part, or there is no such row.
    """
    start = _start(est, tool, part)
    visits = est.cycle.visits
    row = start.visit - 1
    stay = [each for each in est.order if each.visit == start.visit]
    before = [each for each in stay if each.kind == PASS and each.number < start.number]
    skipped = sum(each.total_s for each in before) + start.travel_s
    left = tuple(
        Left(v.tool, v.operation, v.time.total_s - (skipped if i == 0 else 0.0))
        for i, v in enumerate(visits[row:])
    )
    left_s = sum(each.left_s for each in left)
    return Resume(
        tool=visits[row].tool,
        operation=visits[row].operation,
        row=row,
        number=start.number,
        part_id=start.part_id,
        place=start.place,
        done_s=est.cycle.total_s - left_s,
        left_s=left_s,
        visits=left,
    )
