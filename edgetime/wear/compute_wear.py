"""From the moves in contact with the stone to the wear of each tool piece."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from edgetime.columns import Columns
from edgetime.cycle.compute_cycle import SHARED, TimedMoves
from edgetime.cycle.timeline import Cycle
from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.load.load import Load
from edgetime.moves import MoveKind
from edgetime.passes.pass_plan import PassPlan
from edgetime.tooling import Life, Operation, Tool
from edgetime.toolpath.core import core_area_mm2
from edgetime.toolpath.tool_paths import ToolPaths
from edgetime.wear import codes
from edgetime.wear.life import cost_of, lives_for, measure, radius_loss_mm
from edgetime.wear.tool_wear import (
    Consumables,
    Measure,
    ProfileShare,
    ToolPieces,
    ToolWear,
    Wear,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

Factors = Mapping[str, Mapping[str, float]]

_CONTACT, _PATH, _VOLUME, _SECONDS, _HOLES, _AREA = range(6)

_COLUMN_OF: Final = {
    "length": _CONTACT,
    "volume": _VOLUME,
    "g-ratio": _VOLUME,
    "time": _SECONDS,
    "holes": _HOLES,
    "area": _AREA,
}

_MM3_PER_L: Final = 1e6
_J_PER_KWH: Final = 3.6e6


@dataclass(frozen=True, eq=False)
class _Contact(Columns):
    """The k moves in contact with the stone, in running order.

    ``use`` is a (k, 6) table of edge, way, volume, time, holes and area.
    """

    visit: IntArray
    number: IntArray
    part: IntArray
    profile: IntArray
    use: FloatArray


def _contact(paths: ToolPaths, motion: TimedMoves) -> _Contact:
    """Return the moves along the edge at depth, and those of core bits that drill stone."""
    plan, moves = paths.plan, paths.moves
    load = plan.load
    operations = [p.step.operation for p in plan.passes]
    is_core = np.array([o is Operation.CORE for o in operations] or [False])
    is_slot = np.array([o is Operation.CUT for o in operations] or [False])
    drills = (moves.pass_index >= 0) & is_core[moves.pass_index] & (moves.volume > 0.0)
    rows = np.flatnonzero((moves.kind == MoveKind.CUT) | drills)
    cored, slot = drills[rows], is_slot[moves.pass_index[rows]]
    visit, number = moves.visit[rows], moves.pass_index[rows]
    volume, contact, length = moves.volume[rows], moves.treated[rows], moves.length[rows]
    diameters = [load.diameter_mm(v.piece) for v in plan.visits] or [1.0]
    diameter = np.array(diameters)[visit]
    ring = np.array([core_area_mm2(d) for d in diameters])[visit]
    thickness = np.array([p.actual_mm for p in load.parts] or [0.0])[moves.part[rows]]
    seconds = motion.seconds[rows].astype(np.float64)
    # The first peck begins in the air and the last ends below the stone: only the depth
    # drilled in stone counts, at the even feed of the move.
    drilled = np.divide(volume, ring * length, out=np.zeros(len(rows)), where=cored)
    seconds[cored] *= np.minimum(drilled[cored], 1.0)
    use = np.zeros((len(rows), 6))
    use[:, _CONTACT] = contact
    use[:, _PATH] = np.where(cored, 0.0, length)
    use[:, _VOLUME] = volume
    use[:, _SECONDS] = seconds
    use[:, _HOLES] = cored & np.concatenate([[True], number[1:] != number[:-1]])[: len(rows)]
    use[:, _AREA] = np.where(slot, volume / diameter, contact * thickness)
    return _Contact(visit, number, moves.part[rows], moves.profile[rows], use)


def _by_part(part: IntArray, shares: FloatArray) -> tuple[tuple[int, float], ...]:
    """Return the sums over each unbroken stay on a part."""
    if not len(part):
        return ()
    starts = np.concatenate([[0], np.flatnonzero(part[1:] != part[:-1]) + 1])
    sums = np.add.reduceat(shares, starts)
    return tuple(zip(part[starts].tolist(), sums.tolist(), strict=True))


def _by_profile(
    profile: IntArray, shares: FloatArray, names: tuple[str, ...]
) -> tuple[ProfileShare, ...]:
    sums = np.bincount(profile + 1, weights=shares, minlength=len(names) + 1)
    there = np.bincount(profile + 1, minlength=len(names) + 1) > 0
    listed = zip([SHARED, *names], sums.tolist(), there.tolist(), strict=True)
    found = [ProfileShare(name, total) for name, total, used in listed if used]
    return tuple(sorted(found, key=lambda row: row.profile == SHARED))


def _weighted(plan: PassPlan, own: _Contact, by: str, factors: Factors) -> FloatArray:
    """Return what each move uses up of a life by a measure, as if at the feed it holds for."""
    use = own.use[:, _COLUMN_OF[by]]
    if not factors:
        return use
    of_pass = np.array([factors.get(p.step.name, {}).get(by, 1.0) for p in plan.passes])
    return np.asarray(use * of_pass[own.number], dtype=np.float64)


def _tool_wear(plan: PassPlan, tool: Tool, piece: str, own: _Contact, factors: Factors) -> ToolWear:
    load = plan.load
    total = own.use.sum(axis=0)
    used = {by: float(total[column]) for by, column in _COLUMN_OF.items()}
    weights = {life.by: _weighted(plan, own, life.by, factors) for life in tool.life}

    def lasting(life: Life) -> Life:
        weight, amount = float(weights[life.by].sum()), used[life.by]
        if not factors or weight == amount or weight <= 0.0:
            return life
        return replace(life, value=life.value * amount / weight)

    lives = [lasting(life) for life in lives_for(tool, load.stone, load.nominal_mm)]
    measures = tuple(measure(tool, life, load.stone, used) for life in lives)
    worst: Measure | None = max(measures, key=lambda m: m.share, default=None)
    shares = np.zeros(len(own.part))
    share = None
    if worst is not None:
        share = worst.share
        weight = weights[worst.by]
        if weight.sum() > 0.0:
            shares = weight * (share / weight.sum())
    loss = None
    if share is not None and tool.usable_depth_mm is not None and tool.usable_volume_mm3:
        worn = min(share, 1.0) * tool.usable_volume_mm3
        loss = radius_loss_mm(worn, load.diameter_mm(piece), tool.width_mm)
    return ToolWear(
        tool=tool.name,
        piece=piece,
        stone=load.stone.name,
        thickness_mm=load.nominal_mm,
        contact_mm=used["length"],
        path_mm=float(total[_PATH]),
        volume_mm3=used["volume"],
        cut_s=used["time"],
        holes=round(used["holes"]),
        area_mm2=used["area"],
        measures=measures,
        share=share,
        governing="" if worst is None else worst.by,
        cost=None if share is None or tool.price is None else cost_of(tool.price, share),
        price=tool.price,
        currency=tool.currency,
        radius_loss_mm=loss,
        by_part=() if share is None else _by_part(own.part, shares),
        by_profile=() if share is None else _by_profile(own.profile, shares, plan.profiles),
        part_ids=tuple(p.part.part_id for p in load.parts),
    )


def consumables(load: Load, tools: Sequence[ToolWear], total_s: float) -> Consumables:
    """Return what tools use up while they cut, and the machine while it runs.

    Parameters
    ----------
    load : Load
        Gives the machine.
    tools : sequence of ToolWear
        Those that count.
    total_s : float
        Time the machine runs for them [s].
    """
    machine = load.machine
    cut_s = sum(t.cut_s for t in tools)
    pieces: dict[str, float] = {}
    for t in tools:
        if t.share is not None:
            pieces[t.tool] = pieces.get(t.tool, 0.0) + t.share

    def each(rate: float | None, seconds: float, unit: float) -> float | None:
        return None if rate is None else rate * seconds / unit

    return Consumables(
        pieces=tuple(ToolPieces(*own) for own in pieces.items()),
        water_l=each(machine.water_mm3_per_s, cut_s, _MM3_PER_L),
        spindle_kwh=each(machine.spindle_w, cut_s, _J_PER_KWH),
        base_kwh=each(machine.base_w, total_s, _J_PER_KWH),
    )


def _findings(load: Load, tools: tuple[ToolWear, ...]) -> tuple[Finding, ...]:
    found: dict[tuple[str, str], Finding] = {}
    stone = f"{load.stone.name} {load.nominal_mm:g} mm thick"
    for t in tools:
        file = load.catalogue.tools[t.tool].file or None
        if t.share is None:
            found[codes.NO_LIFE.name, t.tool] = Finding(
                codes.NO_LIFE,
                f"{t.tool} states no life that holds for {stone}.",
                Where(path=file, key="life"),
            )
        elif t.share > 1.0:
            found[codes.LIFE_EXCEEDED.name, t.piece] = Finding(
                codes.LIFE_EXCEEDED,
                f"The load takes {t.share:.2f} lives of {t.piece} (by {t.governing}); one tool "
                "has 1.",
                Where(path=file, key="life"),
            )
        if t.price is None:
            found[codes.NO_PRICE.name, t.tool] = Finding(
                codes.NO_PRICE, f"{t.tool} states no price.", Where(path=file, key="price")
            )
    machine = load.machine
    missing = [
        key
        for key, value in (
            ("water_flow", machine.water_mm3_per_s),
            ("spindle_power", machine.spindle_w),
            ("base_power", machine.base_w),
        )
        if value is None
    ]
    if missing:
        found[codes.CONSUMPTION_UNSTATED.name, machine.name] = Finding(
            codes.CONSUMPTION_UNSTATED,
            f"Machine {machine.name} does not state {', '.join(missing)}.",
            Where(path=machine.file or None, key=missing[0]),
        )
    return tuple(found.values())


def compute_wear(
    paths: ToolPaths, motion: TimedMoves, cycle: Cycle, factors: Factors | None = None
) -> Wear:
    """Calculate the tool life a load uses, and its other consumption.

    Parameters
    ----------
    paths : ToolPaths
        Moves of all visits with their plan.
    motion : MotionTimes
        Seconds of each move.
    cycle : Cycle
        Of the same load; gives the time of the whole cycle.
    factors : mapping, optional
        Step name → measure → how many times as much of a life as stated the step takes, such
        as by the feed it runs at. 1 for what is not named.

    Returns
    -------
    Wear
        Per piece the edge in contact, volume, time, holes and area, the share of its life by
        the measure that ends first, and its cost. Formulas and assumptions are those of the
        page "Wear" of the documentation.
    """
    plan = paths.plan
    load = plan.load
    contact = _contact(paths, motion)
    pieces = {visit.piece: visit.tool for visit in plan.visits}
    number = {piece: i for i, piece in enumerate(pieces)}
    piece_of = np.array([number[v.piece] for v in plan.visits] or [0])[contact.visit]
    # Sorted by tool once, instead of searched once for every tool.
    order = np.argsort(piece_of, kind="stable")
    bounds = np.searchsorted(piece_of[order], np.arange(len(pieces) + 1))
    tools = []
    for i, (piece, name) in enumerate(pieces.items()):
        rows = order[bounds[i] : bounds[i + 1]]
        own = contact.take(rows)
        tools.append(_tool_wear(plan, load.catalogue.tools[name], piece, own, factors or {}))
    found = tuple(tools)
    return Wear(
        tools=found,
        consumables=consumables(load, found, cycle.total_s),
        stone=load.stone.name,
        machine=load.machine.name,
        thickness_mm=load.nominal_mm,
        parts=tuple((p.part.part_id, p.part.name) for p in load.parts),
        findings=_findings(load, found),
    )
