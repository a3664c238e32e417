"""From the seconds of the moves to the timeline of a load.

The time of a load is split three ways: by visit, by part, by profile. Each split takes the
same numbers apart, so each adds up to the total.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from edgetime.cycle.between import dressings, tool_changes
from edgetime.cycle.timeline import TERMS, Attended, Cycle, Flow, PartTime, ProfileTime, Visit
from edgetime.errors import InternalError
from edgetime.load.load import Load
from edgetime.moves import NO_INDEX, MoveKind, Moves
from edgetime.passes.pass_plan import PassPlan, PlannedVisit
from edgetime.toolpath.tool_paths import ToolPaths

SHARED: Final = "(shared)"
"""Name of the profile row for what belongs to no profile."""

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_CHANGE, _CUT, _PLUNGE, _LEAD, _RAPID, _DWELL = range(len(TERMS))

_TERM_OF_KIND: Final = {
    MoveKind.RAPID: _RAPID,
    MoveKind.PLUNGE: _PLUNGE,
    MoveKind.LEAD: _LEAD,
    MoveKind.CUT: _CUT,
}


class TimedMoves(Protocol):
    """What the motion stage gives: anything with the seconds of each move."""

    @property
    def seconds(self) -> FloatArray:
        """Seconds of each move, dwell apart (n,) [s]."""


def change_rows(paths: ToolPaths) -> NDArray[np.bool_]:
    """Return which moves are travel from and to the rack."""
    visit = paths.moves.visit
    out = np.zeros(len(visit), dtype=np.bool_)
    count = len(paths.plan.visits)
    if len(visit) and (np.any(np.diff(visit) < 0) or visit[-1] >= count or visit[0] < 0):
        raise InternalError("The moves of a load are not in the order of its visits.")
    first = np.searchsorted(visit, np.arange(count), side="left")
    stop = np.searchsorted(visit, np.arange(count), side="right")
    for v, (lead, trail) in enumerate(paths.change_rows):
        out[first[v] : first[v] + lead] = True
        out[stop[v] - trail : stop[v]] = True
    return out


def _sums(keys: IntArray, values: FloatArray, count: int) -> FloatArray:
    """Return the values summed by key (count,); zeros where there is none."""
    return np.asarray(np.bincount(keys, weights=values, minlength=count), dtype=np.float64)


def _split(shape: tuple[int, ...], keys: Sequence[IntArray], values: FloatArray) -> FloatArray:
    """Return the values summed into a table by their keys, one per axis."""
    flat = np.ravel_multi_index(tuple(keys), shape)
    return _sums(flat, values, int(np.prod(shape))).reshape(shape)


def _dressing_s(load: Load, plan: PassPlan, moves: Moves) -> FloatArray:
    """Return the seconds of dressing in each visit (v,) [s]."""
    out = np.zeros(len(plan.visits))
    for p, times in zip(plan.passes, dressings(load, plan, moves).tolist(), strict=True):
        out[p.visit] += times * load.catalogue.tools[plan.visits[p.visit].tool].dress_s
    return out


def _treated_once(plan: PassPlan, moves: Moves) -> FloatArray:
    """Return the edge length each visit treats, each stretch once (v,) [mm].

    A step works the whole of a profile on a contour or none of it, so the stretch of a visit
    there is the longest that one of its steps covers: the sum over its runs of what one pass
    treats.
    """
    profiles = len(plan.profiles) + 1
    own = moves.pass_index != NO_INDEX
    by_pass = _split(
        (len(plan.passes), profiles),
        (moves.pass_index[own], moves.profile[own] + 1),
        moves.treated[own],
    )
    per_run: dict[tuple[int, int, int, str, int], FloatArray] = {}
    for k, p in enumerate(plan.passes):
        key = (p.visit, p.run.part, p.run.contour, p.step.name, id(p.run))
        known = per_run.get(key)
        per_run[key] = by_pass[k] if known is None else np.maximum(known, by_pass[k])
    per_step: dict[tuple[int, int, int], dict[str, FloatArray]] = {}
    for (visit, part, contour, step, _), row in per_run.items():
        steps = per_step.setdefault((visit, part, contour), {})
        steps[step] = steps[step] + row if step in steps else row
    out = np.zeros(len(plan.visits))
    for (visit, _, contour), steps in per_step.items():
        rows = np.array(list(steps.values()))
        # Holes of different sizes are different stretches, whichever step bores them.
        out[visit] += rows.sum() if contour < 0 else rows.max(axis=0).sum()
    return out


def _flow(row: FloatArray) -> Flow:
    return Flow(**dict(zip(TERMS, row.tolist(), strict=True)))


def _pockets(visits: Sequence[PlannedVisit], pockets: int) -> list[int | None]:
    """Return the pocket of each visit's piece, in order of first use; None beyond the rack."""
    number = {piece: i + 1 for i, piece in enumerate(dict.fromkeys(v.piece for v in visits))}
    return [number[v.piece] if number[v.piece] <= pockets else None for v in visits]


def _edge_lengths_mm(plan: PassPlan) -> dict[str, float]:
    """Return the length of all edges in the load by profile [mm]."""
    out = dict.fromkeys(plan.profiles, 0.0)
    for placed in plan.load.parts:
        for contour in placed.part.contours():
            for edge in contour.edges:
                out[edge.profile] += edge.length_mm
    return out


def _attended(plan: PassPlan) -> tuple[Attended, ...]:
    """Return the attended time by reason: loading, stops in order, unloading [s]."""
    machine, count = plan.load.machine, len(plan.load.parts)
    stops: dict[str, float] = {}
    for stop in plan.stops:
        stops[stop.reason] = stops.get(stop.reason, 0.0) + stop.seconds
    stated = (
        ("load", machine.load_part_s * count),
        *stops.items(),
        ("unload", machine.unload_part_s * count),
    )
    return tuple(Attended(reason, seconds) for reason, seconds in stated)


def _by_part(own: FloatArray, total: FloatArray) -> FloatArray:
    """Return the time of each part with its share of what belongs to none.

    Parameters
    ----------
    own : (v, p, t) array
        Seconds of each part in each visit, by term.
    total : (v, t) array
        Seconds of each visit, by term.

    Returns
    -------
    (p, t) array
        Within a visit, what no part owns is shared in proportion to the parts' own time
        there, or equally when none has any.
    """
    # What a visit spends on no part is shared over its parts by their own time in it.
    shared = total - own.sum(axis=1)
    weight = own.sum(axis=2)
    sums = weight.sum(axis=1, keepdims=True)
    equal = np.full_like(weight, 1.0 / weight.shape[1])
    weight = np.divide(weight, sums, out=equal, where=sums > 0.0)
    return np.asarray(own.sum(axis=0) + weight.T @ shared)


@dataclass(frozen=True, eq=False)
class _Account:
    """Seconds of v visits, p parts and q profiles, by t terms.

    Attributes
    ----------
    total : (v, t) array
        Of each visit.
    own : (v, p, t) array
        What each part owns of it.
    by_profile : (q + 1, t) array
        Of each profile; the first row is what belongs to none.
    """

    total: FloatArray
    own: FloatArray
    by_profile: FloatArray


def _account(paths: ToolPaths, motion: TimedMoves) -> _Account:
    """Return the seconds of the moves and of what happens between them."""
    plan, moves = paths.plan, paths.moves
    machine, terms = plan.load.machine, len(TERMS)
    n_visits, n_parts, n_profiles = len(plan.visits), len(plan.load.parts), len(plan.profiles)

    change = change_rows(paths)
    term = np.array([_TERM_OF_KIND[MoveKind(k)] for k in range(len(MoveKind))])[moves.kind]
    term = np.where(change, _CHANGE, term)
    none = np.full(len(moves), NO_INDEX, dtype=np.int64)
    part = np.where(change, none, moves.part) + 1
    profile = np.where(change, none, moves.profile) + 1
    # Moving and standing are two entries of the same move, with different terms.
    visit2, part2, profile2 = (np.concatenate([k, k]) for k in (moves.visit, part, profile))
    term2 = np.concatenate([term, np.full(len(moves), _DWELL)])
    seconds = np.concatenate([motion.seconds, moves.dwell])
    by_part = _split((n_visits, n_parts + 1, terms), (visit2, part2, term2), seconds)
    by_profile = _split((n_profiles + 1, terms), (profile2, term2), seconds)

    # What no move carries belongs to no part, but for the probing of each part.
    extra = np.zeros((n_visits, terms))
    extra[:, _CHANGE] = [change.total_s for change in tool_changes(plan.visits, machine)]
    extra[:, _DWELL] = machine.water_on_s + _dressing_s(plan.load, plan, moves)
    own = by_part[:, 1:, :].copy()
    total = by_part.sum(axis=1) + extra
    if n_visits:
        own[0, :, _DWELL] += machine.probe_s
        total[0, _DWELL] += machine.probe_s * n_parts
    # The shared row is what is left, so that rows add up to the total to the last digit.
    by_profile[0] = total.sum(axis=0) - by_profile[1:].sum(axis=0)
    return _Account(total, own, by_profile)


def _visits(plan: PassPlan, moves: Moves, total: FloatArray) -> tuple[Visit, ...]:
    """Return the visits in order, from the seconds of each by term (v, t) [s]."""
    count = len(plan.visits)
    starts = np.concatenate([[0.0], np.cumsum(total.sum(axis=1))[:-1]])
    passes = np.bincount([p.visit for p in plan.passes], minlength=count)
    treated = _treated_once(plan, moves)
    edge = _sums(moves.visit, moves.treated, count)
    volume = _sums(moves.visit, moves.volume, count)
    in_cut = moves.kind == MoveKind.CUT
    cut_path = _sums(moves.visit[in_cut], moves.length[in_cut], count)
    pockets = _pockets(plan.visits, plan.load.machine.pockets)
    return tuple(
        Visit(
            tool=visit.tool,
            piece=visit.piece,
            operation=str(visit.operation),
            pocket=pockets[v],
            side=visit.side,
            starts_s=float(starts[v]),
            time=_flow(total[v]),
            passes=int(passes[v]),
            treated_mm=float(treated[v]),
            edge_mm=float(edge[v]),
            cut_path_mm=float(cut_path[v]),
            volume_mm3=float(volume[v]),
        )
        for v, visit in enumerate(plan.visits)
    )


def compute_cycle(paths: ToolPaths, motion: TimedMoves) -> Cycle:
    """Sum the moves of a load and what happens between them.

    The spindle is empty at cycle start, so the first tool is fetched, measured and run up as
    any other; after the last visit the travel to the rack counts, where the program ends.

    Parameters
    ----------
    paths : ToolPaths
        Moves of all visits with their plan.
    motion : MotionTimes
        Seconds of each move, dwell apart.

    Returns
    -------
    Cycle
        By visit, part and profile; each split adds up to the total.
    """
    plan = paths.plan
    account = _account(paths, motion)
    part_flow = _by_part(account.own, account.total)
    own_s = account.own.sum(axis=(0, 2))
    lengths = _edge_lengths_mm(plan)
    shared, *of_profiles = (_flow(row) for row in account.by_profile)
    attended = _attended(plan)
    return Cycle(
        visits=_visits(plan, paths.moves, account.total),
        parts=tuple(
            PartTime(
                part_id=placed.part.part_id,
                name=placed.part.name,
                drawing=placed.part.drawing,
                time=_flow(part_flow[i]),
                own_s=float(own_s[i]),
            )
            for i, placed in enumerate(plan.load.parts)
        ),
        profiles=(
            *(
                ProfileTime(profile=name, edge_mm=lengths[name], time=time)
                for name, time in zip(plan.profiles, of_profiles, strict=True)
            ),
            ProfileTime(profile=SHARED, edge_mm=0.0, time=shared),
        ),
        # Visit by visit, as the visits show it: the order of a sum decides its last digit.
        total_s=float(account.total.sum(axis=1).sum()),
        attended_s=sum(seconds for _, seconds in attended),
        attended=attended,
        hand_mm=paths.hand_mm,
    )
