"""What the tools cannot reach: findings, and the hand work that follows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.findings import Finding
from edgetime.geometry.measure import point_at, vertex_positions
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments, wrapped_angle
from edgetime.geometry.split import over_start
from edgetime.passes.pass_plan import Pass, PassPlan
from edgetime.tolerances import COINCIDENT_MM, TANGENT_RAD
from edgetime.toolpath.codes import INSIDE_RADIUS, OPENING_NARROW
from edgetime.toolpath.narrow import Opening
from edgetime.toolpath.part_contours import PartContours
from edgetime.toolpath.tool_paths import HandWork

SMALLEST_TOOL_MM: Final = 8.0
"""No smaller tool is proposed for a narrow opening [mm]: an assumption, finger bits end there."""

NAMED_MOST: Final = 3
"""At most this many of the tools that would fit are named."""


@dataclass(frozen=True, eq=False)
class Miss:
    """The stretches of its run that a pass leaves out.

    Attributes
    ----------
    source : Pass
        The last pass of its step over the run.
    side : int
        Side up.
    contours : PartContours
        Of the part on that side.
    stretches : (k, 2) array
        Along the run [mm].
    """

    source: Pass
    side: int
    contours: PartContours
    stretches: FloatArray

    def contour(self) -> tuple[Path, float]:
        """Return the contour and where on it the run begins [mm]; the run itself if unknown."""
        run = self.source.run
        at = self.contours.position(run.contour, run.path.points[0])
        if at is None:
            return run.path, 0.0
        return self.contours.paths[run.contour], at

    @property
    def needed_mm(self) -> float:
        """Radius of the tool that must fit, without its clearance [mm]."""
        return max(self.source.reach_mm, self.source.offset_mm)


def place_name(plan: PassPlan, part: int, contour: int) -> str:
    """Return how a contour is called in messages."""
    name = plan.load.parts[part].part.name
    if contour < 0:
        return f"a hole of {name}"
    return f"cutout {contour} of {name}" if contour else f"the outline of {name}"


class InsideCorners:
    """The inside corners of a contour: where they are and how tight."""

    def __init__(self, path: Path) -> None:
        table = Segments.of(path)
        marks = vertex_positions(path)
        out = table.direction(np.ones(len(table)))
        onward = np.roll(table.direction(np.zeros(len(table))), -1)
        sharp = wrapped_angle(onward - out) < -TANGENT_RAD
        if not path.closed:
            sharp[-1] = False
        arcs = np.flatnonzero(table.turn < 0.0)
        corners = np.flatnonzero(sharp) + 1
        self.path = path
        self.begin = np.concatenate([marks[arcs], marks[corners]])
        self.end = np.concatenate([marks[arcs + 1], marks[corners]])
        self.radius = np.concatenate([-table.radius[arcs], np.zeros(len(corners))])

    def within_mm(self, low: float, high: float) -> list[float]:
        """Return the inside radii within a stretch, 0 for a sharp corner [mm].

        Positions [mm] may exceed the length of a closed contour.
        """
        total = self.path.length_mm
        found: list[float] = []
        for shift in (0.0, total, -total) if self.path.closed else (0.0,):
            begin, end = self.begin + shift, self.end + shift
            # An arc must be more than touched, a sharp corner has no length to be entered.
            inner = np.where(self.radius > 0.0, -COINCIDENT_MM, COINCIDENT_MM)
            touches = (end >= low - inner) & (begin <= high + inner)
            found += self.radius[touches].tolist()
        return found


_Shape = tuple[InsideCorners, Opening]
"""What is known of a contour's inside."""


def reach_findings(plan: PassPlan, misses: Sequence[Miss]) -> tuple[Finding, ...]:
    """Return findings per run and tool radius: tight corners, and openings too narrow."""
    groups: dict[tuple[object, ...], list[Miss]] = defaultdict(list)
    shapes: dict[int, _Shape] = {}
    for miss in misses:
        run = miss.source.run
        # A closed run may begin anywhere and is the same run.
        ends = None if run.path.closed else run.path.points[[0, -1]].tobytes()
        key = (run.part, run.contour, miss.side, ends, round(_needed_mm(plan, miss), 6))
        groups[key].append(miss)
    return tuple(f for group in groups.values() for f in _findings(plan, group, shapes))


def _needed_mm(plan: PassPlan, miss: Miss) -> float:
    """Return the inside radius a pass needs, clearance and all [mm]."""
    return miss.needed_mm + plan.load.catalogue.tools[miss.source.step.tool].clearance_mm


def _joined(miss: Miss) -> list[tuple[float, float]]:
    """Return the stretches of a miss; one that runs over a closed run's start is one."""
    out = [(low, high) for low, high in miss.stretches.tolist()]
    path = miss.source.run.path
    return over_start(out, path.length_mm) if path.closed else out


@dataclass(frozen=True)
class _Place:
    """A stretch left out: why, what is there, and where on the contour [mm]."""

    corner: bool
    has_mm: float
    at_mm: float
    length_mm: float


def _place(
    known: InsideCorners, opening: Opening, low: float, high: float, needed: float
) -> _Place:
    """Return whether a stretch is a corner too tight, or an opening too narrow to be rounded."""
    has = min(known.within_mm(low, high), default=None)
    if (
        has is not None
        and has < needed - COINCIDENT_MM
        and opening.can_be_rounded(low, high, needed)
    ):
        return _Place(corner=True, has_mm=has, at_mm=0.5 * (low + high), length_mm=high - low)
    width, at = opening.narrowest(low, high, 2.0 * needed)
    return _Place(corner=False, has_mm=0.5 * width, at_mm=at, length_mm=high - low)


def _findings(plan: PassPlan, group: list[Miss], shapes: dict[int, _Shape]) -> list[Finding]:
    """Return the findings of one run and one tool radius: tight corners, and narrow openings."""
    needed = _needed_mm(plan, group[0])
    path, begin = group[0].contour()
    known = shapes.get(id(path))
    if known is None:
        known = shapes[id(path)] = (InsideCorners(path), Opening(path))
    places = [_place(*known, low + begin, high + begin, needed) for low, high in _joined(group[0])]
    kinds = ([p for p in places if p.corner], [p for p in places if not p.corner])
    return [_finding(plan, group, path, found) for found in kinds if found]


def _finding(plan: PassPlan, group: list[Miss], path: Path, places: list[_Place]) -> Finding:
    """Return the finding of places of one kind: what the worst has, and what is needed."""
    miss = group[0]
    p = miss.source
    tool = plan.load.catalogue.tools[p.step.tool]
    needed = _needed_mm(plan, miss)
    worst = min(places, key=lambda place: place.has_mm)
    length = sum(place.length_mm for place in places)
    count = len(places)
    steps = ", ".join(dict.fromkeys(m.source.step.name for m in group))
    named = place_name(plan, p.run.part, p.run.contour)
    clearance = f"({miss.needed_mm:.1f} mm + {tool.clearance_mm:.1f} mm clearance)"
    left = f"{length:.1f} mm in {count} place{'s' if count > 1 else ''} left out of {steps}."
    if worst.corner:
        said = (
            f"On {named} the inside radius is {worst.has_mm:.1f} mm, tool {p.step.tool} needs "
            f"{needed:.1f} mm {clearance}: {left}"
        )
    else:
        said = (
            f"On {named} the opening is {2.0 * worst.has_mm:.1f} mm wide at its narrowest and admits "
            f"a radius of {worst.has_mm:.1f} mm, tool {p.step.tool} needs {2.0 * needed:.1f} mm, a radius of "
            f"{needed:.1f} mm {clearance}: {left} {_that_fits(plan, group, worst.has_mm)}"
        )
    where = plan.load.parts[p.run.part].part.where(point_at(path, [worst.at_mm])[0])
    return Finding(INSIDE_RADIUS if worst.corner else OPENING_NARROW, said.rstrip(), where)


def _that_fits(plan: PassPlan, group: list[Miss], radius: float) -> str:
    """Say which tools of the same kinds enter an opening that admits a radius [mm]."""
    tools = plan.load.catalogue.tools
    mounted = [tools[name] for name in dict.fromkeys(m.source.step.tool for m in group)]
    most = 2.0 * (radius - max(t.clearance_mm for t in mounted))
    if most < SMALLEST_TOOL_MM:
        return "Rounding its corners does not help."
    kinds = {t.kind for t in mounted}
    fitting = sorted(
        (
            t
            for t in tools.values()
            if t.kind in kinds and 0.5 * t.diameter_mm + t.clearance_mm <= radius + COINCIDENT_MM
        ),
        key=lambda t: -t.diameter_mm,
    )
    which = ", ".join(f"{t.name} ({t.diameter_mm:g} mm)" for t in fitting[:NAMED_MOST])
    have = f"the catalogue has {which}" if which else "the catalogue has none"
    return (
        f"Rounding its corners does not help; a tool of at most {most:.1f} mm diameter would fit, "
        f"{have}."
    )


def hand_work(plan: PassPlan, misses: Sequence[Miss]) -> tuple[HandWork, ...]:
    """Return what is left for hand finishing: the union over the finishing steps.

    Parameters
    ----------
    plan : PassPlan
        For profile names.
    misses : sequence of Miss
        All stretches left out; those of steps that do not finish are passed over.
    """
    found: dict[tuple[int, int, int], list[tuple[float, float]]] = defaultdict(list)
    paths: dict[tuple[int, int], tuple[Path, Miss]] = {}
    for miss in misses:
        run = miss.source.run
        if not miss.source.step.operation.finishing:
            continue
        path, begin = miss.contour()
        paths.setdefault((run.part, run.contour), (path, miss))
        marks, total = vertex_positions(run.path), path.length_mm
        for low, high in miss.stretches.tolist():
            first = int(np.searchsorted(marks, low + COINCIDENT_MM, side="right")) - 1
            # Divided where the profile changes: by hand these are different work.
            for k in range(max(first, 0), len(run.path)):
                if marks[k] >= high - COINCIDENT_MM:
                    break
                a, b = max(low, float(marks[k])), min(high, float(marks[k + 1]))
                key = (run.part, run.contour, int(run.path.tags[k]))
                found[key] += _as_drawn(a + begin, b + begin, total, path, miss.side)
    out = []
    for (part, contour, profile), stretches in sorted(found.items()):
        path, miss = paths[(part, contour)]
        union = _union(stretches, path.length_mm, closed=path.closed)
        middles = [0.5 * (low + high) for low, high in union]
        places = _places(path, miss.side, middles)
        for (low, high), (x, y) in zip(union, places, strict=True):
            name = plan.profiles[profile]
            out.append(HandWork(part, contour, name, high - low, x, y, low, high))
    return tuple(out)


def _as_drawn(
    low: float, high: float, total: float, path: Path, side: int
) -> list[tuple[float, float]]:
    """Return a stretch counted along the contour as drawn, within one round of its length."""
    if side:
        low, high = total - high, total - low
    if not path.closed:
        return [(low, high)]
    turn = np.floor(low / total) * total
    low, high = low - turn, high - turn
    if high <= total + COINCIDENT_MM:
        return [(low, min(high, total))]
    return [(low, total), (0.0, high - total)]


def _places(path: Path, side: int, at: list[float]) -> list[tuple[float, float]]:
    """Return the points at positions counted as drawn, where the part lies on this side."""
    s = np.array(at)
    points = point_at(path, path.length_mm - s if side else s)
    return [(float(x), float(y)) for x, y in points]


def _union(
    stretches: list[tuple[float, float]], total: float, *, closed: bool
) -> list[tuple[float, float]]:
    """Return the union of stretches; on a closed path one that runs over the start is one."""
    merged: list[tuple[float, float]] = []
    for low, high in sorted(stretches):
        if merged and low <= merged[-1][1] + COINCIDENT_MM:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return over_start(merged, total) if closed else merged
