"""The running order of the work of one visit: by a short tour, or as drawn."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray
from edgetime.load.load import Load
from edgetime.passes.pass_plan import EdgeRun
from edgetime.passes.starts import Places, places
from edgetime.passes.strokes import Work
from edgetime.passes.tour import IMPROVE_MOST, best_starts, short_tour
from edgetime.passes.travel import RapidClock
from edgetime.tolerances import STRAIGHT_BULGE
from edgetime.tooling import Operation

_Ends = tuple[FloatArray, FloatArray]
"""Where the tool may go down for a run, and where it then goes up: two (c, 2) arrays [mm]."""

LEADS_IN_LENGTH: Final = 2.0
"""A straight has room for a closed run to begin when it is at least this many leads long."""


class Orderer:
    """Puts the work of a visit in running order; the same work gives the same order.

    Parameters
    ----------
    load : Load
        With its machine, whose rapids the order is measured by.
    """

    def __init__(self, load: Load) -> None:
        self.load = load
        self._clock = RapidClock(load.machine)
        self._home = load.machine.rack_mm
        self._tours: dict[tuple[object, ...], list[tuple[int, int]]] = {}
        self._seeds: dict[tuple[int, ...], list[int]] = {}
        self._places: dict[tuple[int, float], Places] = {}
        self._begun: dict[tuple[int, float], EdgeRun] = {}

    def quick(self, works: list[Work]) -> list[Work]:
        """Return the works by a short tour, those of one run together."""
        stays = _stays(works)
        key = self._key(stays)
        if key not in self._tours:
            self._tours[key] = self._tour(stays)
        return self._in_order(stays, self._tours[key])

    def _tour(self, stays: list[list[Work]]) -> list[tuple[int, int]]:
        rows = [self._ends(stay) for stay in stays]
        # The tour is found from where things lie, not from the order they are drawn in.
        first = [_lowest(entries) for entries, _ in rows]
        lie = sorted(range(len(stays)), key=first.__getitem__)
        # A tour of the same runs with another wheel is nearly it.
        runs = tuple(id(stay[0].run) for stay in stays)
        seed = self._seeds.get(runs)
        # Numbers of the tour count in order of place, those of the seed in order of drawing.
        place = {i: k for k, i in enumerate(lie)}
        found = short_tour(
            [rows[i][0] for i in lie],
            [rows[i][1] for i in lie],
            self._home,
            self._clock,
            seed=None if seed is None else [place[i] for i in seed],
        )
        order = [(lie[i], choice) for i, choice in found]
        self._seeds[runs] = [i for i, _ in order]
        return order

    def drawn(self, works: list[Work]) -> list[Work]:
        """Return the works in the order drawn, those of one run together.

        Closed runs begin where they are drawn; those that have no straight have no beginning
        of their own and get the best one.
        """
        stays = _stays(works)
        curves = [i for i, stay in enumerate(stays) if _is_curve(stay[0])]
        if not curves:
            return [w for stay in stays for w in stay]
        rows = [self._ends(stay) for stay in stays]
        kept = set(range(len(stays))) - set(curves)
        entries = [e[:1] if i in kept else e for i, (e, _) in enumerate(rows)]
        exits = [e[:1] if i in kept else e for i, (_, e) in enumerate(rows)]
        home = np.array(self._home)
        order = best_starts(entries, exits, range(len(stays)), home, self._clock)
        out: list[Work] = []
        for i, choice in order:
            out += stays[i] if i in kept else self._in_order(stays, [(i, choice)])
        return out

    def _in_order(self, stays: list[list[Work]], order: list[tuple[int, int]]) -> list[Work]:
        return [replace(w, run=self._run(w, choice)) for i, choice in order for w in stays[i]]

    def _key(self, stays: list[list[Work]]) -> tuple[object, ...]:
        """Return what a tour depends on; long tours are not measured anew for each tool."""
        runs = tuple(id(stay[0].run) for stay in stays)
        if len(runs) > IMPROVE_MOST:
            return runs
        ends = tuple((_shape(stay[0]), stay[-1].strokes[-1].offset_mm) for stay in stays)
        return (*runs, *ends)

    def _run(self, work: Work, choice: int) -> EdgeRun:
        """Return the run of a work begun at one of its places."""
        run = work.run
        if not _anywhere(work):
            return run
        at = float(self._places_of(work).at[choice])
        key = (id(run), at)
        if key not in self._begun:
            self._begun[key] = replace(run, begin_mm=at)
        return self._begun[key]

    def _places_of(self, work: Work) -> Places:
        """Return the places where the tool may come to a run."""
        run, room = work.run, LEADS_IN_LENGTH * work.step.lead_mm
        key = (id(run), room if _anywhere(work) else 0.0)
        known = self._places.get(key)
        if known is None:
            known = places(run.path, room) if _anywhere(work) else _ends_of(run)
            self._places[key] = known
        return known

    def _ends(self, stay: list[Work]) -> _Ends:
        """Return where the tool may go down for a run and where it then goes up.

        Leads and overruns are counted in full, as if all of them fitted.
        """
        first, last = stay[0], stay[-1]
        run, step = first.run, first.step
        if step.operation is Operation.CORE:
            centre = run.path.points[:2].mean(axis=0)[None, :]
            return centre, centre
        spots = self._places_of(first)
        lead = 0.0 if first.fixed_start or step.lead == "plunge" else step.lead_mm
        if step.operation is Operation.GAUGE:
            radius = 0.5 * self.load.diameter_mm(step.tool)
            lead = max(lead, radius + self.load.machine.spacing_mm - first.strokes[0].offset_mm)
        aside = lead if step.lead == "arc" and step.operation is not Operation.GAUGE else 0.0
        come, leave = first.strokes[0].offset_mm + lead, last.strokes[-1].offset_mm + lead
        if run.path.closed:
            overlap = 0.0 if first.fixed_start else step.overlap_mm
            return spots.beside(-aside, come), spots.moved(overlap).beside(aside, leave)
        past = step.overrun_mm
        if step.operation is Operation.CUT:
            past = 0.5 * self.load.diameter_mm(step.tool) + self.load.machine.spacing_mm
        over = [past * free for free in (run.free_start, run.free_end)]
        entry = spots.beside(-aside - over[0], come)[:1]
        return entry, spots.beside(aside + over[1], leave)[-1:]


def _ends_of(run: EdgeRun) -> Places:
    """Return both ends of a run, or of a closed one its start."""
    points, bulges = run.path.points, run.path.bulges
    rows = [0] if run.path.closed else [0, len(bulges) - 1]
    where, tangents = [], []
    for end, row in enumerate(rows):
        x, y = (points[row + 1] - points[row]).tolist()
        # An arc turns by half its angle between either end and its chord.
        angle = math.atan2(y, x) + (2 * end - 1) * 2.0 * math.atan(bulges[row])
        tangents.append((math.cos(angle), math.sin(angle)))
        where.append(points[row + end])
    return Places(np.full(len(rows), math.nan), np.array(where), np.array(tangents))


def _stays(works: list[Work]) -> list[list[Work]]:
    """Return the works run by run, in the order drawn."""
    groups: dict[int, list[Work]] = {}
    for work in works:
        groups.setdefault(id(work.run), []).append(work)
    return list(groups.values())


def _anywhere(work: Work) -> bool:
    """Return whether the tool may come to a run at any place of it."""
    return (
        work.run.path.closed and not work.fixed_start and work.step.operation is not Operation.CORE
    )


def _is_curve(work: Work) -> bool:
    """Return whether a run is a closed curve without any straight."""
    return _anywhere(work) and not bool((np.abs(work.run.path.bulges) <= STRAIGHT_BULGE).any())


def _shape(work: Work) -> tuple[float, ...]:
    """Return what of a step the ends of its runs depend on."""
    step = work.step
    leads = {"plunge": 0.0, "straight": 1.0, "arc": 2.0}
    return (
        work.strokes[0].offset_mm, step.lead_mm, leads.get(step.lead, 0.0), step.overrun_mm,
        step.overlap_mm,
    )  # fmt: skip


def _lowest(points: FloatArray) -> tuple[float, float]:
    """Return the lowest of some places, the leftmost of several, without their rounding."""
    x, y = min((round(float(y), 6), round(float(x), 6)) for x, y in points)
    return x, y
