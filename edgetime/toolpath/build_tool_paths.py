"""From the pass plan to the moves of a whole load."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments
from edgetime.load.load import Load
from edgetime.moves import Moves
from edgetime.passes.pass_plan import EdgeRun, Pass, PassPlan
from edgetime.tolerances import COINCIDENT_MM
from edgetime.tooling import Operation
from edgetime.toolpath.batch_offset import Parallel, Reached, plain_lines
from edgetime.toolpath.centre import CentreLine, centre_lines
from edgetime.toolpath.checks import Sweep, check_all
from edgetime.toolpath.core import circle_centre
from edgetime.toolpath.engage import Engagement, Wish, engagements
from edgetime.toolpath.leads import Ground
from edgetime.toolpath.part_contours import PartContours, refuse_endless
from edgetime.toolpath.reach import Miss, hand_work, reach_findings
from edgetime.toolpath.tool_paths import ToolPaths
from edgetime.toolpath.walls import Stretch, begun_along, complement, cut_lines, shifted
from edgetime.toolpath.write import Writer


def build_tool_paths(plan: PassPlan) -> ToolPaths:
    """Return all moves of a load, visit by visit.

    Parameters
    ----------
    plan : PassPlan
        Passes in running order, each with its run, tool, offset, depth and feeds.

    Returns
    -------
    ToolPaths
        Moves in table coordinates with Z = 0 at the slab's top face and Z up; what is left
        for hand finishing; findings of reach, clearance, table and travel. The formulas and
        assumptions are those of the page "Tool paths" of the documentation.
    """
    refuse_endless(plan.load)
    return _Builder(plan).run()


_CentreKey = tuple[int, float, float]
"""Number of the run, offset and clearance: what a centre line depends on."""


def _rest(whole: Path, count: int) -> list[Path]:
    """Return what is left of a contour behind its first segments: one path or none."""
    return [whole.slice(count, len(whole))] if count < len(whole) else []


@dataclass(frozen=True, eq=False)
class _Job:
    """One pass over one unbroken stretch: an engagement, or a hole to be cored."""

    index: int
    wish: int
    closed: bool


@dataclass(eq=False)
class _Builder:
    """Holds what is shared between the passes of one load while it is built."""

    plan: PassPlan
    wishes: list[Wish] = field(default_factory=list)
    _runs: dict[tuple[object, ...], int] = field(default_factory=dict)
    _run_of: dict[int, int] = field(default_factory=dict)
    _around: dict[int, Path | None] = field(default_factory=dict)
    _centres: dict[_CentreKey, Reached] = field(default_factory=dict)
    _wanted: dict[tuple[object, ...], list[_Job]] = field(default_factory=dict)
    _contours: dict[tuple[int, int], PartContours] = field(default_factory=dict)
    _owners: dict[tuple[int, int], int] = field(default_factory=dict)

    @property
    def load(self) -> Load:
        return self.plan.load

    def run(self) -> ToolPaths:
        plan = self.plan
        self._holes = self._entry_holes()
        keys = self._centre_keys(plan.passes)
        self._to_size = self._sized(keys)
        misses: list[Miss] = []
        for p, key in zip(plan.passes, keys, strict=True):
            if key is None or p.number != p.count or not len(self._centres[key][1]):
                continue
            side = plan.visits[p.visit].side
            # Where the bit leaves no stock, its radius alone has to fit.
            source = replace(p, offset_mm=p.reach_mm) if key in self._to_size else p
            contours = self.contours(p.run.part, side)
            misses.append(Miss(source, side, contours, self._centres[key][1]))
        jobs = self._all_jobs(plan.passes, keys)
        # The order drawn has the same runs, begun elsewhere.
        others = self._all_jobs(plan.drawn, self._centre_keys(plan.drawn))
        ground = self._ground()
        bodies = engagements(self.wishes, ground)
        # A tool that reaches nothing is not fetched.
        running = sorted({job.index for job in jobs})
        run = plan.keeping(running, sorted({job.index for job in others}))
        moves, changes = self._written(plan.passes, run, jobs, bodies, ground)
        drawn = None
        if others:
            other = replace(run, passes=run.drawn)
            drawn, _ = self._written(plan.drawn, other, others, bodies, ground)
        sweeps = self._sweeps(jobs, bodies)
        return ToolPaths(
            run,
            moves,
            changes,
            hand_work(plan, misses),
            (*reach_findings(plan, misses), *check_all(plan, sweeps, self.every_side())),
            tuple(sorted({plan.passes[k].visit for k in running})),
            drawn,
        )

    def _all_jobs(self, passes: tuple[Pass, ...], keys: list[_CentreKey | None]) -> list[_Job]:
        """Return the engagements of all passes, in their order."""
        jobs: list[_Job] = []
        for k, (p, key) in enumerate(zip(passes, keys, strict=True)):
            jobs += [_Job(k, -1, closed=True)] if key is None else self._jobs(k, p, key)
        return jobs

    def _written(
        self,
        passes: tuple[Pass, ...],
        run: PassPlan,
        jobs: list[_Job],
        bodies: list[Engagement],
        ground: Ground,
    ) -> tuple[Moves, tuple[tuple[int, int], ...]]:
        """Return the moves of the passes that are left, and the rows from and to the rack."""
        links = self._links(passes, jobs, bodies, ground)
        number = {index: k for k, index in enumerate(sorted({job.index for job in jobs}))}
        writer = Writer(run)
        for k, job in enumerate(jobs):
            body = bodies[job.wish] if job.wish >= 0 else None
            writer.write(number[job.index], body, linked=k in links)
        writer.leave()
        return writer.book.moves(), tuple(writer.changes)

    # -- what is where ------------------------------------------------------------------

    def contours(self, part: int, side: int) -> PartContours:
        """Return the contours of a part on a side."""
        key = (part, side)
        known = self._contours.get(key)
        if known is None:
            known = self._contours[key] = PartContours(self.load.parts[part].part, side)
            self._owners[key] = len(self._owners)
        return known

    def every_side(self) -> dict[tuple[int, int], PartContours]:
        """Return the contours of all parts on the sides that are worked on."""
        for side in sorted({v.side for v in self.plan.visits}):
            for part in range(len(self.load.parts)):
                self.contours(part, side)
        return self._contours

    def _ground(self) -> Ground:
        tables = [c.segments for c in self._contours.values()]
        if not tables:
            none = np.zeros((0, 2))
            return Ground(Segments(none, none, np.zeros(0)), np.zeros(0, dtype=np.int64))
        owner = np.repeat(np.arange(len(tables)), [len(t) for t in tables])
        return Ground(Segments.stack(tables), owner)

    def _entry_holes(self) -> dict[tuple[int, int, int], FloatArray]:
        """Return the centres of holes cored inside cutouts, by part, contour and side."""
        return {
            (p.run.part, p.run.contour, self.plan.visits[p.visit].side): circle_centre(p.run.path)
            for p in self.plan.passes
            if p.step.operation is Operation.CORE and p.run.contour > 0
        }

    def _run_number(self, run: EdgeRun, side: int, *, cut: bool) -> int:
        """Return a number that equal runs share, apart from cuts: those leave stock in places."""
        known = self._run_of.get(id(run))
        if known is None:
            path = run.path
            key = (
                run.part, run.contour, side, cut, path.closed, run.free_start, run.free_end,
                path.points.tobytes(), path.bulges.tobytes(), path.tags.tobytes(),
            )  # fmt: skip
            known = self._run_of[id(run)] = self._runs.setdefault(key, len(self._runs))
        return known

    # -- engagements --------------------------------------------------------------------

    def _centre_keys(self, passes: tuple[Pass, ...]) -> list[_CentreKey | None]:
        """Compute the centre lines of passes; return which each pass follows."""
        keys: list[_CentreKey | None] = []
        wanted: dict[_CentreKey, EdgeRun] = {}
        for p in passes:
            if p.step.operation is Operation.CORE:
                keys.append(None)
                continue
            key = self._centre_key(p, p.offset_mm)
            keys.append(key)
            if key not in self._centres:
                wanted.setdefault(key, p.run)
        self._follow(wanted)
        return keys

    def _centre_key(self, p: Pass, offset_mm: float) -> _CentreKey:
        side = self.plan.visits[p.visit].side
        number = self._run_number(p.run, side, cut=p.step.operation is Operation.CUT)
        if number not in self._around:
            self._around[number] = self.contours(p.run.part, side).around(p.run.contour, p.run.path)
        # A profile that is widest elsewhere than where it cuts needs that room as well.
        clearance = self.load.catalogue.tools[p.step.tool].clearance_mm
        clearance += max(0.0, p.reach_mm - offset_mm)
        return number, offset_mm, clearance

    def _follow(self, wanted: Mapping[_CentreKey, EdgeRun]) -> None:
        """Compute the centre lines of runs, those that are plain together."""
        tolerance = self.load.catalogue.shop.contour_tolerance_mm
        plain: list[_CentreKey] = []
        parallels: list[Parallel] = []
        for key, run in wanted.items():
            whole = self._around[key[0]]
            if whole is not None:
                plain.append(key)
                parallels.append(Parallel(whole, len(run.path), key[1], key[2], tolerance))
        lines = dict(zip(plain, plain_lines(parallels), strict=True))
        for key, run in wanted.items():
            reached = lines.get(key)
            if reached is None:
                whole = self._around[key[0]]
                rest = [] if whole is None else _rest(whole, len(run.path))
                reached = centre_lines(run.path, key[1], key[2], rest, tolerance)
            self._centres[key] = reached

    def _sized(self, keys: list[_CentreKey | None]) -> set[_CentreKey]:
        """Cut to size what no later step reaches; return the centre lines this changes."""
        takers: dict[tuple[int, int], list[int]] = {}
        for k, p in enumerate(self.plan.passes):
            if p.step.operation.takes_stock and p.number == p.count:
                takers.setdefault((p.run.part, p.run.contour), []).append(k)
        partly: dict[_CentreKey, tuple[Pass, list[Stretch]]] = {}
        for k, p in enumerate(self.plan.passes):
            key = keys[k]
            if p.step.operation is not Operation.CUT or p.offset_mm <= p.reach_mm or key is None:
                continue
            if key not in partly:
                after = [i for i in takers.get((p.run.part, p.run.contour), []) if i > k]
                partly[key] = (p, self._followed(p.run, after, keys))
        partly = {
            key: (p, taken)
            for key, (p, taken) in partly.items()
            if complement(taken, p.run.path.length_mm)
        }
        size = {key: self._centre_key(p, p.reach_mm) for key, (p, _) in partly.items()}
        self._follow({size[key]: p.run for key, (p, _) in partly.items()})
        for key, (p, taken) in partly.items():
            lines = self._centres[key], self._centres[size[key]]
            self._centres[key] = cut_lines(p.run.path, *lines, taken, p.reach_mm)
        return set(partly)

    def _followed(
        self, cut: EdgeRun, after: list[int], keys: list[_CentreKey | None]
    ) -> list[Stretch]:
        """Return where along the run of a cut later passes take the stock off it."""
        contours = self.contours(cut.part, 0)
        around = contours.paths[cut.contour].length_mm
        begin = contours.position(cut.contour, cut.path.points[0])
        taken: list[Stretch] = []
        for k in after:
            run, key = self.plan.passes[k].run, keys[k]
            at = contours.position(run.contour, run.path.points[0])
            if at is None or begin is None or key is None:
                continue
            reached = complement(self._centres[key][1].tolist(), run.path.length_mm)
            taken += shifted(reached, at - begin, around, cut.path.length_mm)
        total = cut.path.length_mm
        return complement(complement(taken, total), total)

    def _jobs(self, index: int, p: Pass, key: _CentreKey) -> list[_Job]:
        """Return the engagements of a pass."""
        side = self.plan.visits[p.visit].side
        step, run = p.step, p.run
        radius = 0.5 * self.plan.diameter_mm(p)
        # Passes that differ in nothing that shapes their path share it: most of those of a
        # finishing step do.
        wish_key = (
            *key, step.operation is Operation.CUT, step.operation is Operation.GAUGE,
            step.lead, step.lead_mm, step.overrun_mm, step.overlap_mm, radius, run.begin_mm,
        )  # fmt: skip
        known = self._wanted.get(wish_key)
        if known is None:
            owner = self._owners[(run.part, side)]
            known = []
            for line in self._centres[key][0]:
                known.append(_Job(index, len(self.wishes), line.closed))
                self.wishes.append(self._wish(p, line, owner, radius, side, self._need_mm(p, key)))
            self._wanted[wish_key] = known
        return [_Job(index, j.wish, j.closed) for j in known]

    def _need_mm(self, p: Pass, key: _CentreKey) -> float:
        """Return the distance the centre keeps from the stone [mm]."""
        return p.reach_mm if key in self._to_size else p.offset_mm

    def _wish(
        self, p: Pass, line: CentreLine, owner: int, radius: float, side: int, need_mm: float
    ) -> Wish:
        """Return what an engagement asks for."""
        step, run = p.step, p.run
        if step.operation is Operation.CUT:
            hole = self._holes.get((run.part, run.contour, side))
            if line.closed and hole is not None:
                line = line.begun_nearest(float(hole[0]), float(hole[1]))
            # A notch is entered from outside, where the bit goes down clear of the edge.
            clear = radius + self.load.machine.spacing_mm
            first, last = self._free_ends(run, line)
            return Wish(
                line, None, owner, need_mm, "plunge", 0.0,
                clear if first else 0.0, clear if last else 0.0, 0.0,
            )  # fmt: skip
        gauge = step.operation is Operation.GAUGE
        room = radius + self.load.machine.spacing_mm - p.offset_mm
        lead = "straight" if gauge else step.lead
        lead_mm = max(step.lead_mm, room) if gauge else step.lead_mm
        clear = radius if gauge else 0.0
        if line.closed:
            begun = None if run.begin_mm is None else begun_along(line, run.path, run.begin_mm)
            line = line.begun_on_straight(2.0 * lead_mm) if begun is None else begun
            lap = line.overlap(step.overlap_mm)
            return Wish(line, lap, owner, need_mm, lead, lead_mm, 0.0, 0.0, clear)
        first, last = self._free_ends(run, line)
        return Wish(
            line, None, owner, need_mm, lead, lead_mm,
            step.overrun_mm if first else 0.0, step.overrun_mm if last else 0.0, clear,
        )  # fmt: skip

    @staticmethod
    def _free_ends(run: EdgeRun, line: CentreLine) -> tuple[bool, bool]:
        """Return at which of its ends a line may run on past the edge."""
        return (
            run.free_start and line.first_mm <= COINCIDENT_MM,
            run.free_end and line.last_mm >= run.path.length_mm - COINCIDENT_MM,
        )

    def _links(
        self,
        passes: tuple[Pass, ...],
        jobs: list[_Job],
        bodies: list[Engagement],
        ground: Ground,
    ) -> set[int]:
        """Return the jobs the tool comes to from the one before without leaving its depth."""
        pairs = [
            k
            for k, (a, b) in enumerate(pairwise(jobs), start=1)
            if a.closed and b.closed and a.wish >= 0 and b.wish >= 0 and a.index != b.index
            and passes[a.index].visit == passes[b.index].visit
            and self._run_of[id(passes[a.index].run)] == self._run_of[id(passes[b.index].run)]
        ]  # fmt: skip
        if not pairs:
            return set()
        start = np.array([bodies[jobs[k - 1].wish].end[-1] for k in pairs])
        end = np.array([bodies[jobs[k].wish].start for k in pairs])
        before = [self.wishes[jobs[k - 1].wish] for k in pairs]
        clear = ground.clear(
            Segments(start, end, np.zeros(len(pairs))),
            np.array([w.owner for w in before], dtype=np.int64),
            np.array([w.need_mm for w in before]),
        )
        return {k for k, good in zip(pairs, clear, strict=True) if good}

    def _sweeps(self, jobs: list[_Job], bodies: list[Engagement]) -> list[Sweep]:
        """Return what each tool sweeps, equal sweeps once."""
        out: dict[tuple[int, str, int, int, bytes], Sweep] = {}
        for job in jobs:
            p = self.plan.passes[job.index]
            side = self.plan.visits[p.visit].side
            hole = p.run.path.points.tobytes() if job.wish < 0 else b""
            key = (job.wish, p.step.tool, side, p.run.part, hole)
            known = out.get(key)
            if known is not None:
                # Passes along one line sweep the same ground; the lowest of them tells whether cups
                # are met.
                lowest = min(known.bottom_z_mm, p.bottom_z_mm)
                out[key] = replace(known, bottom_z_mm=lowest)
                continue
            if job.wish < 0:
                centre = circle_centre(p.run.path)[None, :]
                table, clear = Segments(centre, centre, np.zeros(1)), True
            else:
                body = bodies[job.wish]
                table, clear = body.segments(), body.clear
            out[key] = Sweep(p, side, table, clear, p.bottom_z_mm)
        return list(out.values())
