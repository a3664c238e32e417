"""Whether the swept wheel keeps clear of neighbours, and stays on table and travel."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from edgetime.findings import Code, Finding, Severity
from edgetime.geometry.intersect import candidate_pairs
from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import Segments
from edgetime.load.apart import seam_pairs
from edgetime.load.layout import seam_names
from edgetime.load.room import clear_gap_mm
from edgetime.passes.pass_plan import Pass, PassPlan
from edgetime.passes.strokes import BREAKTHROUGH_MM
from edgetime.tolerances import COINCIDENT_MM
from edgetime.tooling import Operation
from edgetime.tooling.codes import WHEEL_LOW
from edgetime.tooling.step_limits import COVERS_EDGE
from edgetime.toolpath.codes import (
    GAUGE_ENTRY,
    NEIGHBOUR,
    SHAFT_HITS_STONE,
    TRAVEL,
    WHEEL_OFF_TABLE,
)
from edgetime.toolpath.contact import contact_findings
from edgetime.toolpath.distance import nearest_within
from edgetime.toolpath.keep_out import keep_out_findings
from edgetime.toolpath.part_contours import PartContours
from edgetime.toolpath.reach import place_name


@dataclass(frozen=True, eq=False)
class Sweep:
    """What one tool sweeps in one engagement, at depth.

    Attributes
    ----------
    source : Pass
        One of the passes that do so.
    side : int
        Side up.
    centre : Segments
        Way of the centre, leads and all.
    clear : bool
        Whether the tool goes down and up where it must.
    bottom_z_mm : float
        The lowest of these passes, below the slab's top face [mm].
    """

    source: Pass
    side: int
    centre: Segments
    clear: bool
    bottom_z_mm: float


def check_all(
    plan: PassPlan, sweeps: Sequence[Sweep], contours: dict[tuple[int, int], PartContours]
) -> tuple[Finding, ...]:
    """Return the findings of clearance, shaft, entry, table and travel.

    Parameters
    ----------
    plan : PassPlan
        For machine, tools and names.
    sweeps : sequence of Sweep
        All that is swept, equal sweeps once.
    contours : dict
        The parts by (part, side).
    """
    if not sweeps:
        return ()
    boxes = _boxes(sweeps)
    radii = np.array([_swept_radius_mm(plan, s.source) for s in sweeps])
    return (
        *_low_tools(plan),
        *contact_findings(plan),
        *_travel(plan, sweeps, boxes),
        *_overhang(plan, sweeps, boxes, radii),
        *_shafts_and_entries(plan, sweeps),
        *_neighbours(plan, sweeps, boxes, radii, contours),
        *keep_out_findings(plan, sweeps, radii),
    )


def _low_tools(plan: PassPlan) -> Iterator[Finding]:
    """Return the tools whose working part is lower than the edges, or shorter than the holes."""
    worst: dict[str, Pass] = {}
    parts: dict[str, set[int]] = {}
    for p in plan.passes:
        tool = plan.load.catalogue.tools[p.step.tool]
        if p.step.operation not in COVERS_EDGE | {Operation.CORE}:
            continue
        if tool.width_mm >= _height_mm(p) - COINCIDENT_MM:
            continue
        parts.setdefault(tool.name, set()).add(p.run.part)
        if tool.name not in worst or _height_mm(p) > _height_mm(worst[tool.name]):
            worst[tool.name] = p
    for name, p in worst.items():
        tool = plan.load.catalogue.tools[name]
        more = len(parts[name]) - 1
        also = f" (and {more} more part{'s' if more > 1 else ''})" if more else ""
        yield Finding(
            WHEEL_LOW,
            f"The working part of {name} is {tool.width_mm:.1f} mm high; on "
            f"{place_name(plan, p.run.part, p.run.contour)}{also} it has {_height_mm(p):.1f} mm "
            f"of stone to cover.",
            plan.load.parts[p.run.part].part.where(p.run.path.points[0]),
        )


def _height_mm(p: Pass) -> float:
    """Return the height of stone beside a tool that works through it, apron and all [mm]."""
    below = 0.0 if p.step.operation.finishing else BREAKTHROUGH_MM
    return -p.bottom_z_mm - below


def _boxes(sweeps: Sequence[Sweep]) -> FloatArray:
    """Return the bounds of what each centre sweeps (n, 4) [mm]."""
    boxes = Segments.stack([s.centre for s in sweeps]).boxes()
    sizes = np.array([len(s.centre) for s in sweeps])
    first = np.cumsum(sizes) - sizes
    low = np.minimum.reduceat(boxes[:, :2], first, axis=0)
    high = np.maximum.reduceat(boxes[:, 2:], first, axis=0)
    return np.hstack([low, high])


def _swept_radius_mm(plan: PassPlan, p: Pass) -> float:
    """Return the greatest radius of a tool: wheel, widest place of its profile, or shaft."""
    tool = plan.load.catalogue.tools[p.step.tool]
    return 0.5 * max(plan.diameter_mm(p), 2.0 * p.reach_mm, tool.shaft_mm)


def _travel(plan: PassPlan, sweeps: Sequence[Sweep], boxes: FloatArray) -> Iterator[Finding]:
    machine = plan.load.machine
    low, high = np.array(machine.travel_min_mm), np.array(machine.travel_max_mm)
    over = np.maximum((low - boxes[:, :2]).max(axis=1), (boxes[:, 2:] - high).max(axis=1))
    worst: dict[tuple[int, str], int] = {}
    for k in np.flatnonzero(over > COINCIDENT_MM).tolist():
        key = (sweeps[k].source.run.part, sweeps[k].source.step.tool)
        if key not in worst or over[k] > over[worst[key]]:
            worst[key] = k
    for (part, tool), k in worst.items():
        x0, y0, x1, y1 = boxes[k].tolist()
        yield Finding(
            TRAVEL,
            f"On {plan.load.parts[part].part.name} the centre of {tool} runs from "
            f"({x0:.0f}, {y0:.0f}) to ({x1:.0f}, {y1:.0f}) mm; the travel is "
            f"({low[0]:.0f}, {low[1]:.0f}) to ({high[0]:.0f}, {high[1]:.0f}) mm: "
            f"{over[k]:.0f} mm too far.",
            plan.load.parts[part].part.where((x0, y0)),
        )


def _overhang(
    plan: PassPlan, sweeps: Sequence[Sweep], boxes: FloatArray, radii: FloatArray
) -> list[Finding]:
    """Return one note for the whole load: the wheel may overhang, but it must be known."""
    table = np.array(plan.load.machine.table_mm)
    over = radii + np.maximum((-boxes[:, :2]).max(axis=1), (boxes[:, 2:] - table).max(axis=1))
    k = int(np.argmax(over))
    if over[k] <= COINCIDENT_MM:
        return []
    p = sweeps[k].source
    count = len({s.source.run.part for s, o in zip(sweeps, over, strict=True) if o > 0.0})
    return [
        Finding(
            WHEEL_OFF_TABLE,
            f"Wheels reach up to {over[k]:.0f} mm beyond the table at {count} "
            f"part{'s' if count > 1 else ''}, furthest {p.step.tool} on "
            f"{plan.load.parts[p.run.part].part.name}.",
            plan.load.parts[p.run.part].part.where(boxes[k, :2]),
        )
    ]


def _shafts_and_entries(plan: PassPlan, sweeps: Sequence[Sweep]) -> list[Finding]:
    """Return where a shaft would touch the edge, and where a disc finds no place to go down."""
    out: dict[tuple[str, int, int, str], Finding] = {}

    def add(sweep: Sweep, code: Code, said: str) -> None:
        run, tool = sweep.source.run, sweep.source.step.tool
        message = f"On {place_name(plan, run.part, run.contour)} {said}"
        where = plan.load.parts[run.part].part.where(sweep.centre.start[0])
        key = (code.name, run.part, run.contour, tool)
        out.setdefault(key, Finding(code, message, where))

    for sweep in sweeps:
        p = sweep.source
        shaft = 0.5 * plan.load.catalogue.tools[p.step.tool].shaft_mm
        # In a slot cut from the full slab the shaft follows the bit; a core's is above it.
        slot = p.step.operation in {Operation.CORE, Operation.CUT}
        if not slot and p.offset_mm < shaft - COINCIDENT_MM:
            said = f"the centre of {p.step.tool} runs {p.offset_mm:.1f} mm from the edge; its "
            add(sweep, SHAFT_HITS_STONE, f"{said}shaft needs {shaft:.1f} mm.")
        if not sweep.clear:
            said = f"{p.step.tool} needs a place {0.5 * plan.diameter_mm(p):.1f} mm clear of the "
            said += "stone on every side to go down, and finds none beside the edge."
            add(sweep, GAUGE_ENTRY, said)
    # A sweep may have both; the findings of one kind stay together.
    return sorted(out.values(), key=lambda finding: finding.kind is GAUGE_ENTRY)


def _neighbours(
    plan: PassPlan,
    sweeps: Sequence[Sweep],
    boxes: FloatArray,
    radii: FloatArray,
    contours: dict[tuple[int, int], PartContours],
) -> list[Finding]:
    """Return the pairs of parts between which the swept wheel has too little room."""
    spacing = plan.load.machine.spacing_mm
    keys = list(contours)
    part_of = np.array([k[0] for k in keys])
    side_of = np.array([k[1] for k in keys])
    # Parts laid exactly the spacing apart are in order, rounding or not.
    need = (radii + spacing - COINCIDENT_MM)[:, None]
    grown = boxes + np.hstack([-need, -need, need, need])
    i, j = candidate_pairs(grown, np.array([contours[k].box for k in keys]))
    own = np.array([s.source.run.part for s in sweeps])
    side = np.array([s.side for s in sweeps])
    foreign = (own[i] != part_of[j]) & (side[i] == side_of[j])
    i, j = i[foreign], j[foreign]
    if not len(i):
        return []
    rows = np.unique(i)
    ground_keys = np.unique(j)
    line_sweep = np.repeat(rows, [len(sweeps[k].centre) for k in rows])
    stone_key = np.repeat(ground_keys, [len(contours[keys[k]].segments) for k in ground_keys])
    lines = Segments.stack([sweeps[k].centre for k in rows])
    stones = Segments.stack([contours[keys[k]].segments for k in ground_keys])
    away, which = nearest_within(
        lines,
        need[line_sweep, 0],
        stones,
        lambda a, b: (
            (own[line_sweep[a]] != part_of[stone_key[b]])
            & (side[line_sweep[a]] == side_of[stone_key[b]])
        ),
    )
    worst: dict[tuple[int, int, float], tuple[float, int]] = {}
    for row in np.flatnonzero(which >= 0).tolist():
        k = int(line_sweep[row])
        pair = (int(own[k]), int(part_of[stone_key[which[row]]]), float(radii[k]))
        if pair not in worst or away[row] < worst[pair][0]:
            worst[pair] = (float(away[row]), k)
    # A wheel wholly over another part is far from its contours and yet in its stone.
    for k, m in zip(i.tolist(), j.tolist(), strict=True):
        pair = (int(own[k]), int(part_of[m]), float(radii[k]))
        if pair not in worst and contours[keys[m]].holds(sweeps[k].centre.start[:1])[0]:
            worst[pair] = (0.0, k)
    seamed = _seamed(plan) if worst else {}
    return [
        _neighbour(plan, sweeps[k], pair, has, spacing, seamed) for pair, (has, k) in worst.items()
    ]


def _seamed(plan: PassPlan) -> dict[frozenset[int], str]:
    """Return what lays pieces that meet in a seam far enough apart, by the two parts."""
    load = plan.load
    pairs = seam_pairs([p.part for p in load.parts], seam_names(load.catalogue))
    if not pairs:
        return {}
    gap = clear_gap_mm(load.catalogue, load.stack, load.machine, load.diameters_mm)
    hint = f" They meet in a seam: --apart {math.ceil(gap)} lays them far enough apart."
    return {frozenset((p.first, p.second)): hint for p in pairs}


def _neighbour(
    plan: PassPlan,
    sweep: Sweep,
    pair: tuple[int, int, float],
    has: float,
    spacing: float,
    seamed: dict[frozenset[int], str],
) -> Finding:
    """Return the finding of one pair of parts and one radius."""
    part, other, radius = pair
    names = [plan.load.parts[k].part.name for k in (part, other)]
    cuts = has < radius
    return Finding(
        NEIGHBOUR,
        f"While {sweep.source.step.tool} works on {names[0]}, its centre comes within "
        f"{has:.1f} mm of {names[1]}; it needs {radius + spacing:.1f} mm "
        f"(radius {radius:.1f} mm + spacing {spacing:.1f} mm)."
        f"{seamed.get(frozenset((part, other)), '')}",
        plan.load.parts[part].part.where(sweep.centre.start[0]),
        Severity.ERROR if cuts else None,
    )
