"""The order of work: from when to when a tool is at which part and edge run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from edgetime.cycle.between import dressings, tool_changes
from edgetime.cycle.compute_cycle import TimedMoves, change_rows
from edgetime.cycle.timeline import Cycle
from edgetime.load.load import Load
from edgetime.moves import NO_INDEX, MoveKind, Moves
from edgetime.passes.pass_plan import Pass, PassPlan
from edgetime.places import Place
from edgetime.records import HIDDEN, figure, written
from edgetime.tooling import Operation
from edgetime.toolpath.core import circle_centre
from edgetime.toolpath.tool_paths import ToolPaths

CHANGE = "change"
"""The tool is fetched, measured and brought to its first run; water, and the probing of all
parts in the first stay."""

PASS = "pass"  # noqa: S105  no password
"""One pass over one edge run, with the way to it and the retract behind it."""

RETURN = "return"
"""The way back to the rack."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """One row of the order of work.

    Attributes
    ----------
    number : int
        Row of the order of work, from 1.
    visit : int
        Stay in the spindle, from 1: the row of the tool table.
    tool, piece, operation : str
        As the visit's; the operation is the pass's own.
    side : int
        1 after the parts were turned over.
    kind : str
        ``change``, ``pass`` or ``return``.
    part : int or None
        Index into the load's parts.
    part_id, name : str or None
        The part; None for a change or a return.
    place : str or None
        ``outer``, ``seam``, ``cutout 1`` … or ``hole 1`` …
    profile : str or None
        Profiles along the run, joined by commas; None for a bore.
    pass_number, passes : int or None
        Pass ``pass_number`` of ``passes`` over the run by its step.
    starts_s, total_s : float
        Begin on the machine's clock, stops excluded, and duration [s].
    travel_s : float
        Of the duration, the way at safe height from the run before [s].
    edge_mm : float
        Edge treated in this pass [mm].
    x_mm, y_mm : float or None
        Tool centre where the cut starts, table coordinates [mm].
    """

    number: int
    visit: int
    tool: str
    piece: str
    operation: str
    side: int
    kind: str
    part: int | None = field(metadata=HIDDEN)
    part_id: str | None
    name: str | None
    place: str | None
    profile: str | None
    pass_number: int | None = field(metadata=written(key="pass"))
    passes: int | None
    starts_s: float
    total_s: float
    travel_s: float
    edge_mm: float
    x_mm: float | None
    y_mm: float | None

    @property
    @figure
    def ends_s(self) -> float:
        """End on the machine's clock [s]."""
        return self.starts_s + self.total_s


def _rows_of_moves(paths: ToolPaths, first: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return which row each move belongs to: each visit has its change, passes and return."""
    moves = paths.moves
    count = len(paths.plan.passes)
    # Travel between parts belongs to the pass it leads to.
    own = np.where(moves.pass_index == NO_INDEX, count, moves.pass_index)
    # Passes are numbered as they run: the least number ahead is the next pass.
    ahead = np.minimum.accumulate(own[::-1])[::-1]
    row = ahead + 2 * moves.visit + 1
    change = change_rows(paths)
    at = np.arange(len(moves))
    begin = np.searchsorted(moves.visit, np.arange(len(first) - 1), side="left")
    lead = np.array([a for a, _ in paths.change_rows], dtype=np.int64)
    coming = change & (at - begin[moves.visit] < lead[moves.visit])
    visits = moves.visit
    row[coming] = first[visits[coming]] + 2 * visits[coming]
    leaving = change & ~coming
    row[leaving] = first[visits[leaving] + 1] + 2 * visits[leaving] + 1
    return np.asarray(row)


def _place(load: Load, profiles: Sequence[str], p: Pass) -> str:
    run = p.run
    if run.place is Place.HOLE:
        centre = circle_centre(run.path)
        holes = load.parts[run.part].part.holes
        away = [float(np.hypot(h.x_mm - centre[0], h.y_mm - centre[1])) for h in holes]
        return f"hole {int(np.argmin(away)) + 1}" if away else "hole"
    if run.contour > 0:
        return f"cutout {run.contour}"
    if p.step.operation is Operation.SEAM or all(
        _is_seam(load, profiles[t]) for t in run.path.tags.tolist() if t >= 0
    ):
        return "seam"
    return str(Place.OUTER)


def _is_seam(load: Load, name: str) -> bool:
    profile = load.catalogue.profiles.get(name)
    return name == "seam" if profile is None else profile.family == "seam"


def _profile(plan: PassPlan, p: Pass) -> str:
    tags = dict.fromkeys(t for t in p.run.path.tags.tolist() if t >= 0)
    return ", ".join(plan.profiles[t] for t in tags)


def _where(moves: Moves, mine: NDArray[np.int64]) -> tuple[float, float]:
    """Return where the tool's centre starts to cut; a core bit where it goes down."""
    cut = mine[moves.kind[mine] == MoveKind.CUT]
    at = moves.start[cut[0]] if len(cut) else moves.end[mine[-1]]
    return float(at[0]), float(at[1])


def _travel_s(moves: Moves, seconds: NDArray[np.float64], mine: NDArray[np.int64]) -> float:
    """Return the time of the way at safe height that a row begins with [s]."""
    k = int(mine[0])
    flat = bool(np.any(moves.start[k, :2] != moves.end[k, :2]))
    return float(seconds[k]) if moves.kind[k] == MoveKind.RAPID and flat else 0.0


_Rows = NDArray[np.int64]


def _rows(paths: ToolPaths) -> tuple[_Rows, _Rows, _Rows]:
    """Return each visit's first pass, the row of each move, and each row's first move."""
    plan = paths.plan
    visit_of = np.array([p.visit for p in plan.passes], dtype=np.int64)
    first = np.searchsorted(visit_of, np.arange(len(plan.visits) + 1))
    row_of = _rows_of_moves(paths, first)
    count = len(plan.passes) + 2 * len(plan.visits)
    return first, row_of, np.searchsorted(row_of, np.arange(count + 1))


def moves_of_rows(paths: ToolPaths) -> list[NDArray[np.int64]]:
    """Return the moves of each row of the order of work, as indices in running order.

    Parameters
    ----------
    paths : ToolPaths
        As :func:`order_of_work` takes them.
    """
    plan = paths.plan
    first, _, edges = _rows(paths)
    out = []
    for v in range(len(plan.visits)):
        begin, stop = int(first[v]) + 2 * v, int(first[v + 1]) + 2 * v + 1
        for row in range(begin, stop + 1):
            mine = np.arange(edges[row], edges[row + 1])
            if len(mine) or row in {begin, stop}:
                out.append(mine)
    return out


def order_of_work(paths: ToolPaths, motion: TimedMoves, cycle: Cycle) -> tuple[OrderRow, ...]:
    """Return what the machine does from cycle start to the end of the program.

    Each stay of a tool is its change, its passes in running order, and the way back to the
    rack; the durations of a stay's rows add up to its time.

    Parameters
    ----------
    paths : ToolPaths
        Moves of all visits with their plan.
    motion : MotionTimes
        Seconds of each move, dwell apart.
    cycle : Cycle
        Of the same moves.

    Returns
    -------
    tuple of OrderRow
        In order of time, without gap. Passes in which the tool reaches nothing are left out.
    """
    plan, moves = paths.plan, paths.moves
    load = plan.load
    first, row_of, edges = _rows(paths)
    count = len(edges) - 1
    spent = np.bincount(row_of, weights=motion.seconds + moves.dwell, minlength=count)
    treated = np.bincount(row_of, weights=moves.treated, minlength=count)
    dressed = dressings(load, plan, moves)
    changes = tool_changes(plan.visits, load.machine)
    out: list[OrderRow] = []

    def add(kind: str, v: int, row: int, starts_s: float, extra_s: float, k: int = -1) -> float:
        mine = np.arange(edges[row], edges[row + 1])
        if kind == PASS and not len(mine):
            return 0.0
        total_s = float(spent[row]) + extra_s
        visit = plan.visits[v]
        p = plan.passes[k] if kind == PASS else None
        part = None if p is None else load.parts[p.run.part].part
        x_mm, y_mm = (None, None) if p is None else _where(moves, mine)
        out.append(
            OrderRow(
                number=len(out) + 1,
                visit=v + 1,
                tool=visit.tool,
                piece=visit.piece,
                operation=str(visit.operation if p is None else p.step.operation),
                side=visit.side,
                kind=kind,
                part=None if p is None else p.run.part,
                part_id=None if part is None else part.part_id,
                name=None if part is None else part.name,
                place=None if p is None else _place(load, plan.profiles, p),
                profile=None if p is None else _profile(plan, p) or None,
                pass_number=None if p is None else p.number,
                passes=None if p is None else p.count,
                starts_s=starts_s,
                total_s=total_s,
                travel_s=_travel_s(moves, motion.seconds, mine) if p is not None else 0.0,
                edge_mm=float(treated[row]),
                x_mm=x_mm,
                y_mm=y_mm,
            )
        )
        return total_s

    for v, change in enumerate(changes):
        begin, stop = int(first[v]), int(first[v + 1])
        now = cycle.visits[v].starts_s
        standing = change.total_s + load.machine.water_on_s
        if v == 0:
            standing += load.machine.probe_s * len(load.parts)
        now += add(CHANGE, v, begin + 2 * v, now, standing)
        dress_s = load.catalogue.tools[plan.visits[v].tool].dress_s
        for k in range(begin, stop):
            now += add(PASS, v, k + 2 * v + 1, now, float(dressed[k]) * dress_s, k)
        add(RETURN, v, stop + 2 * v + 1, now, 0.0)
    return tuple(out)
