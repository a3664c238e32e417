"""What the tools cannot reach: findings, and the hand work that follows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.geometry.measure import direction_at, distance, point_at, vertex_positions
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments, wrapped_angle
from edgetime.passes.model import Pass, PassPlan
from edgetime.tolerances import COINCIDENT_MM, TANGENT_RAD
from edgetime.toolpath.codes import INSIDE_RADIUS, OPENING_NARROW
from edgetime.toolpath.model import HandWork
from edgetime.toolpath.parts import PartContours

__all__ = ["Miss", "hand_work", "place_name", "reach_findings"]


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


class _Corners:
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

    def tightest_mm(self, low: float, high: float) -> float | None:
        """Return the tightest inside radius within a stretch, 0 for a sharp corner.

        Positions [mm] may exceed the length of a closed contour; None when nothing is concave.
        """
        total = self.path.length_mm
        found = []
        for shift in (0.0, total, -total) if self.path.closed else (0.0,):
            begin, end = self.begin + shift, self.end + shift
            # An arc must be more than touched, a sharp corner has no length to be entered.
            inner = np.where(self.radius > 0.0, -COINCIDENT_MM, COINCIDENT_MM)
            touches = (end >= low - inner) & (begin <= high + inner)
            found += self.radius[touches].tolist()
        return min(found, default=None)


def _largest_fit_mm(path: Path, at: float, most: float) -> float:
    """Return the radius of the largest circle that touches a contour at a place from the air."""
    p, angle = point_at(path, [at])[0], float(direction_at(path, [at])[0])
    air = np.array([np.sin(angle), -np.cos(angle)])
    low, high = 0.0, most
    # Circles touching at one place are nested: the largest that fits is closed in on.
    for _ in range(4):
        radii = np.linspace(low, high, 33)
        away = distance(path, p + radii[:, None] * air)
        fits = np.flatnonzero(away >= radii - COINCIDENT_MM)
        best = int(fits[-1])
        if best == len(radii) - 1:
            return high
        low, high = float(radii[best]), float(radii[best + 1])
    return low


def reach_findings(plan: PassPlan, misses: Sequence[Miss]) -> tuple[Finding, ...]:
    """Return one finding per run and tool radius.

    Parameters
    ----------
    plan : PassPlan
        For names.
    misses : sequence of Miss
        All stretches left out.
    """
    groups: dict[tuple[object, ...], list[Miss]] = defaultdict(list)
    corners: dict[int, _Corners] = {}
    for miss in misses:
        run = miss.source.run
        # A closed run may begin anywhere and is the same run.
        ends = None if run.path.closed else run.path.points[[0, -1]].tobytes()
        key = (run.part, run.contour, miss.side, ends, round(_needed_mm(plan, miss), 6))
        groups[key].append(miss)
    return tuple(_finding(plan, group, corners) for group in groups.values())


def _needed_mm(plan: PassPlan, miss: Miss) -> float:
    """Return the inside radius a pass needs, clearance and all [mm]."""
    return miss.needed_mm + plan.load.catalogue.tools[miss.source.step.tool].clearance_mm


def _joined(miss: Miss) -> list[tuple[float, float]]:
    """Return the stretches of a miss; one that runs over a closed run's start is one."""
    out = [(float(low), float(high)) for low, high in miss.stretches]
    path = miss.source.run.path
    if path.closed and len(out) > 1:
        total = path.length_mm
        if out[0][0] <= COINCIDENT_MM and out[-1][1] >= total - COINCIDENT_MM:
            first = out.pop(0)
            out[-1] = (out[-1][0], total + first[1])
    return out


def _finding(plan: PassPlan, group: list[Miss], corners: dict[int, _Corners]) -> Finding:
    """Return the finding of one run and one tool radius."""
    miss = group[0]
    p = miss.source
    tool = plan.load.catalogue.tools[p.step.tool]
    needed = _needed_mm(plan, miss)
    path, begin = miss.contour()
    known = corners.get(id(path))
    if known is None:
        known = corners[id(path)] = _Corners(path)
    stretches = _joined(miss)
    worst: tuple[float, bool, float] | None = None
    for low, high in stretches:
        has = known.tightest_mm(low + begin, high + begin)
        middle = begin + 0.5 * (low + high)
        corner = has is not None and has < needed - COINCIDENT_MM
        value = has if corner and has is not None else _largest_fit_mm(path, middle, needed)
        if worst is None or value < worst[0]:
            worst = (value, corner, middle)
    assert worst is not None  # noqa: S101 - a miss has at least one stretch
    value, corner, middle = worst
    x, y = point_at(path, [middle])[0].tolist()
    length = sum(high - low for low, high in stretches)
    count = len(stretches)
    steps = ", ".join(dict.fromkeys(m.source.step.name for m in group))
    where = place_name(plan, p.run.part, p.run.contour)
    had = (
        f"the inside radius is {value:.1f} mm"
        if corner
        else f"the opening admits a radius of {value:.1f} mm"
    )
    part = plan.load.parts[p.run.part].part
    return Finding(
        INSIDE_RADIUS if corner else OPENING_NARROW,
        f"On {where} {had}, tool {p.step.tool} needs {needed:.1f} mm "
        f"({miss.needed_mm:.1f} + {tool.clearance_mm:.1f} clearance): {length:.1f} mm in "
        f"{count} place{'s' if count > 1 else ''} left out of {steps}.",
        Where(path=part.drawing, part=part.part_id, x_mm=x, y_mm=y),
    )


def hand_work(plan: PassPlan, misses: Sequence[Miss]) -> tuple[HandWork, ...]:
    """Return what is left for hand finishing: the union over the finishing steps.

    Parameters
    ----------
    plan : PassPlan
        For profile names.
    misses : sequence of Miss
        All stretches left out; those of steps that do not finish are passed over.

    Returns
    -------
    tuple of HandWork
        One a stretch, by part, contour, profile and place.
    """
    found: dict[tuple[int, int, int], list[tuple[float, float]]] = defaultdict(list)
    paths: dict[tuple[int, int], tuple[Path, Miss]] = {}
    for miss in misses:
        run = miss.source.run
        if not miss.source.step.operation.finishing:
            continue
        path, begin = miss.contour()
        paths.setdefault((run.part, run.contour), (path, miss))
        marks = vertex_positions(run.path)
        for low, high in miss.stretches.tolist():
            first = int(np.searchsorted(marks, low + COINCIDENT_MM, side="right")) - 1
            for k in range(max(first, 0), len(run.path)):
                if marks[k] >= high - COINCIDENT_MM:
                    break
                a, b = max(low, float(marks[k])), min(high, float(marks[k + 1]))
                key = (run.part, run.contour, int(run.path.tags[k]))
                found[key] += _as_drawn(a + begin, b + begin, path, miss.side)
    out = []
    for (part, contour, profile), stretches in sorted(found.items()):
        path, miss = paths[(part, contour)]
        union = _union(stretches, path.length_mm, closed=path.closed)
        middles = [0.5 * (low + high) for low, high in union]
        places = _places(path, miss.side, middles)
        for (low, high), (x, y) in zip(union, places, strict=True):
            out.append(HandWork(part, contour, plan.profiles[profile], high - low, x, y))
    return tuple(out)


def _as_drawn(low: float, high: float, path: Path, side: int) -> list[tuple[float, float]]:
    """Return a stretch counted along the contour as drawn, within one round."""
    total = path.length_mm
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
    over = (
        closed
        and len(merged) > 1
        and merged[0][0] <= COINCIDENT_MM
        and merged[-1][1] >= total - COINCIDENT_MM
    )
    if over:
        first = merged.pop(0)
        merged[-1] = (merged[-1][0], total + first[1])
    return merged
