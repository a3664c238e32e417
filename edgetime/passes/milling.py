"""Opening the stone: cored holes, entry holes and milled cutouts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Final

import numpy as np

from edgetime.geometry.measure import distance, point_at, start_directions, vertex_positions
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.split import start_at
from edgetime.moves import NO_INDEX
from edgetime.passes import codes
from edgetime.passes.features import Planner, serves
from edgetime.passes.pass_plan import EdgeRun
from edgetime.passes.runs import ProfiledContour, circle_run
from edgetime.passes.starts import places
from edgetime.passes.strokes import BREAKTHROUGH_MM, Stroke, Work, ceil_count
from edgetime.passes.travel import RapidClock
from edgetime.places import Place
from edgetime.tolerances import COINCIDENT_MM, STRAIGHT_BULGE
from edgetime.tooling import Operation, Step

_AS_LONG: Final = 1.0 - 1e-6
"""Segments that are so much of the longest are as long, but for rounding [-]."""


def _entries(path: Path, clock: RapidClock, home: FloatArray) -> list[float]:
    """Return the places where an opening may be entered [mm], the nearest to the rack first.

    The middle of the longest segment, of one of the longest; on a curve any place.
    """
    if (np.abs(path.bulges) <= STRAIGHT_BULGE).any():
        rows = np.flatnonzero(path.lengths >= _AS_LONG * path.lengths.max())
        at = vertex_positions(path)[rows] + 0.5 * path.lengths[rows]
        point = point_at(path, at)
    else:
        spots = places(path, 0.0)
        at, point = spots.at, spots.point
    # Rounding must not choose between places equally far.
    order = np.lexsort((point[:, 0].round(3), point[:, 1].round(3), clock(home, point).round(6)))
    return [float(a) for a in at[order]]


def _run(c: ProfiledContour, path: Path) -> EdgeRun:
    return EdgeRun(c.part, c.number, path, c.place, free_start=False, free_end=False)


class Milling:
    """The cored and milled openings of a load.

    Parameters
    ----------
    planner : Planner
        The load.
    """

    def __init__(self, planner: Planner) -> None:
        self.planner = planner
        self._milled = [c for c in planner.contours if (c.part, c.number) in planner.cut_steps]
        self._clock = RapidClock(planner.load.machine)
        self._home = np.array(planner.load.machine.rack_mm)
        self._cut_runs: dict[tuple[int, int], EdgeRun] = {}
        self._entries: dict[int, list[EdgeRun]] = {}
        for c in self._milled:
            if c.place is Place.CUTOUT:
                self._enter(c)

    def _enter(self, c: ProfiledContour) -> None:
        """Find where a milled cutout is entered: its run begins there.

        The entry hole touches what the finger bit leaves or, if the core bit is the smaller one,
        lies around the bit's centre path: in both cases it is within the slug and leaves room
        for the finger bit.
        """
        planner = self.planner
        key = (c.part, c.number)
        step = planner.steps[planner.cut_steps[key]]
        entries = [start_at(c.path, at) for at in _entries(c.path, self._clock, self._home)]
        for path in entries:
            for row, core in enumerate(planner.steps):
                if core.operation is not Operation.CORE or not serves(core, Place.CUTOUT):
                    continue
                r = planner.radius_mm(core)
                away = planner.stock_mm(c, int(path.tags[0])) + max(planner.radius_mm(step), r)
                angle = float(start_directions(path)[0])
                centre = path.points[0] + away * np.array([math.sin(angle), -math.cos(angle)])
                # Nearer to another stretch of the edge the core would cut into it.
                if distance(c.path, centre)[0] >= away - COINCIDENT_MM:
                    at = (float(centre[0]), float(centre[1]))
                    hole = circle_run(c.part, c.number, c.place, at, 2.0 * r)
                    self._entries.setdefault(row, []).append(hole)
                    self._cut_runs[key] = _run(c, path)
                    return
        self._cut_runs[key] = _run(c, entries[0])
        planner.findings.add(
            codes.NO_ENTRY_CORE,
            key,
            f"Cutout {c.number} of part {planner.part_id(c.part)} is entered by {step.tool} "
            f"itself: stack {planner.load.stack.name} has no core step for cutouts that fits it.",
            planner.where(c.part, c.number),
        )

    def core(self, row: int, step: Step) -> Iterator[Work]:
        """Return the holes a core step bores, part by part: drawn ones, then entries."""
        planner = self.planner
        r = planner.radius_mm(step)
        disc = planner.every(math.pi * r * r)
        runs = [*planner.holes.get(row, []), *self._entries.get(row, [])]
        for run in sorted(runs, key=lambda run: run.part):
            bottom = -(planner.actual_mm(run.part) + BREAKTHROUGH_MM)
            yield Work(run, step, step.tool, (Stroke(0.0, 0.0, 0.0, bottom, disc),))

    def cut(self, row: int, step: Step) -> Iterator[Work]:
        """Return the cutouts and notches a cut step mills, in depth steps to below the slab."""
        planner = self.planner
        r = planner.radius_mm(step)
        for c in self._milled:
            if planner.cut_steps[c.part, c.number] != row:
                continue
            # What no later step takes off is cut to size.
            notch = c.place is Place.OUTER
            walls = set(c.profile[c.notch].tolist()) if notch else set(c.labels)
            # One line round the opening: where profiles differ, the one that needs most stock
            # decides.
            left = max(planner.stock_mm(c, p, notch=notch) for p in walls)
            actual = planner.actual_mm(c.part)
            total = actual + BREAKTHROUGH_MM
            count = ceil_count(total, step.depth_step_mm)
            depths = [min(k * step.depth_step_mm, total) for k in range(count)] + [total]
            strokes = tuple(
                Stroke(
                    offset_mm=r + left,
                    reach_mm=r,
                    top_z_mm=-a,
                    bottom_z_mm=-b,
                    removed_mm2=planner.every(2.0 * r * (min(b, actual) - min(a, actual))),
                )
                for a, b in pairwise(depths)
            )
            if notch:
                # Along the walls of each notch, from outside and out again.
                runs = c.runs(np.where(c.notch, 0, NO_INDEX))
            else:
                runs = (self._cut_runs[c.part, c.number],)
            for run in runs:
                yield Work(run, step, step.tool, strokes, fixed_start=True)
