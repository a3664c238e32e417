"""Working the edges: roughing, seams, the gauge strip and the finishing steps."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np

from edgetime.errors import Where
from edgetime.moves import NO_INDEX
from edgetime.passes import codes
from edgetime.passes.features import Planner
from edgetime.passes.pass_plan import EdgeRun
from edgetime.passes.runs import ProfiledContour, mirror_axis_mm, mirrored
from edgetime.passes.strokes import BREAKTHROUGH_MM, COUNT_SLACK, Stroke, Work, ceil_count
from edgetime.tooling import Step


class Grinding:
    """The worked edges of a load.

    Parameters
    ----------
    planner : Planner
        The load.
    """

    def __init__(self, planner: Planner) -> None:
        self.planner = planner
        self._mirrors: dict[int, EdgeRun] = {}
        self._axes: dict[int, float] = {}

    def _runs(
        self,
        row: int,
        c: ProfiledContour,
        group: Callable[[int], int],
        *,
        notch: bool | None = None,
    ) -> tuple[EdgeRun, ...]:
        """Return the runs of a step on a contour; they break where the group changes.

        Profiles of the group NO_INDEX are left out.

        With ``notch`` only those along milled notches, or only those elsewhere.
        """
        claimed = self.planner.claims[row]
        label = np.full(len(c.profile), NO_INDEX, dtype=np.int64)
        for p in c.labels:
            if (p, c.place) in claimed:
                label[c.profile == p] = group(p)
        if notch is not None:
            label[c.notch != notch] = NO_INDEX
        return c.runs(label) if (label != NO_INDEX).any() else ()

    def _by_stock(self) -> Iterator[tuple[ProfiledContour, bool | None]]:
        """Return the contours, those with milled notches twice: without them, and they alone."""
        for c in self.planner.contours:
            if c.notch.any() and (c.part, c.number) in self.planner.cut_steps:
                yield c, False
                yield c, True
            else:
                yield c, None

    def rough(self, row: int, step: Step) -> Iterator[Work]:
        """Return the roughing of all edges with stock: runs go on through changes of profile."""
        planner = self.planner
        r = planner.radius_mm(step)
        for c, notch in self._by_stock():
            stock = planner.stock_taken_mm(row, c, notch=bool(notch))
            count = ceil_count(stock, step.engagement_mm)
            if not count:
                continue
            # What is left before each pass and after the last: the last takes what remains.
            left = [max(stock - k * step.engagement_mm, 0.0) for k in range(count)] + [0.0]
            heights = [planner.actual_mm(c.part) + below for below in planner.traits.below_mm]
            for run in self._runs(row, c, lambda _: 0, notch=notch):
                bottom = -(planner.lowest_mm(run) + BREAKTHROUGH_MM)
                strokes = tuple(
                    Stroke(
                        offset_mm=r + after,
                        reach_mm=r,
                        top_z_mm=0.0,
                        bottom_z_mm=bottom,
                        removed_mm2=tuple((before - after) * height for height in heights),
                    )
                    for before, after in pairwise(left)
                )
                yield Work(run, step, step.tool, strokes)

    def seam(self, row: int, step: Step) -> Iterator[Work]:
        """Return the clean-up of all seams: the step's passes, or more if the stock asks for it."""
        planner = self.planner
        r = planner.radius_mm(step)
        for c, notch in self._by_stock():
            stock = planner.stock_taken_mm(row, c, notch=bool(notch))
            count = max(1, step.passes)
            if step.engagement_mm > 0.0:
                count = max(count, ceil_count(stock, step.engagement_mm))
            actual = planner.actual_mm(c.part)
            strokes = tuple(
                Stroke(
                    offset_mm=r + stock * (count - k) / count,
                    reach_mm=r,
                    top_z_mm=0.0,
                    bottom_z_mm=-(actual + BREAKTHROUGH_MM),
                    removed_mm2=planner.every(stock / count * actual),
                )
                for k in range(1, count + 1)
            )
            for run in self._runs(row, c, lambda _: 0, notch=notch):
                yield Work(run, step, step.tool, strokes)

    def _gauge_strokes(self, step: Step, part: int, strip: float) -> tuple[Stroke, ...]:
        planner = self.planner
        amount = planner.gauge_amount_mm(part)
        r = planner.radius_mm(step)
        lanes = ceil_count(strip, step.engagement_mm)
        layers = ceil_count(amount, step.depth_step_mm)
        reached = [min(strip, j * step.engagement_mm) for j in range(lanes)] + [strip]
        depths = [min(amount, k * step.depth_step_mm) for k in range(layers)] + [amount]
        # The back lies below and is ground upward, unless the part was loaded face down.
        back, up = (0.0, -1.0) if planner.face_down[part] else (-planner.actual_mm(part), 1.0)
        return tuple(
            Stroke(
                offset_mm=r - lane,
                reach_mm=r - lane,
                top_z_mm=back + up * deep,
                bottom_z_mm=back + up * deep,
                removed_mm2=planner.every((lane - inner) * (deep - above)),
            )
            for inner, lane in pairwise(reached)
            for above, deep in pairwise(depths)
        )

    def gauge(self, row: int, step: Step) -> Iterator[Work]:
        """Return the grinding of the back strip to gauge, in lanes and layers."""
        planner = self.planner
        tool = planner.tool(step)
        need = 0.5 * tool.shaft_mm + tool.clearance_mm
        strips = sorted(set(planner.traits.strip_mm))
        for c in planner.contours:
            if planner.gauge_amount_mm(c.part) <= COUNT_SLACK:
                continue
            for run in self._runs(row, c, lambda p: strips.index(planner.traits.strip_mm[p])):
                strip = planner.traits.strip_mm[int(run.path.tags[0])]
                strokes = self._gauge_strokes(step, c.part, strip)
                room = strokes[-1].offset_mm
                if room < need - COUNT_SLACK:
                    planner.findings.add(
                        codes.GAUGE_REACH,
                        (row, strip),
                        f"A strip of {strip:g} mm leaves {room:.1f} mm between the edge and the "
                        f"centre of {tool.name}; its shaft and clearance need {need:.1f} mm. "
                        f"The strip is not ground.",
                        planner.where(c.part, c.number),
                    )
                    continue
                yield Work(run, step, step.tool, strokes)

    def _removed_mm2(self, step: Step) -> tuple[float, ...]:
        """Return the cross-section one pass of a finishing step takes, per profile."""
        planner = self.planner
        out: list[float] = []
        for i, profile in enumerate(planner.profiles):
            area = 0.0
            if profile is not None and planner.traits.finished[i]:
                section = planner.section(profile)
                if section is not None:
                    area = section.removed_mm2
                else:
                    have = (
                        ", ".join(f"{t:g} mm" for t in sorted(profile.sections)) or "no thickness"
                    )
                    planner.findings.add(
                        codes.NO_SECTION,
                        i,
                        f"Profile {profile.name} has sections for {have}; the load is "
                        f"{planner.load.nominal_mm:g} mm thick.",
                        Where(path=profile.file or None, key="section"),
                    )
            sides = 2.0 if planner.traits.both_sides[i] else 1.0
            out.append(area * step.share / max(1, step.passes) / sides)
        return tuple(out)

    def _mirrored(self, run: EdgeRun) -> EdgeRun:
        # One image per run, so that steps go on sharing it. The run lives on in its contour's
        # cache, so its id stays its own.
        known = self._mirrors.get(id(run))
        if known is None:
            axis = self._axes.get(run.part)
            if axis is None:
                axis = self._axes[run.part] = mirror_axis_mm(self.planner.load, run.part)
            known = self._mirrors[id(run)] = mirrored(run, axis)
        return known

    def finish(self, row: int, step: Step, side: int) -> Iterator[Work]:
        """Return the finishing of all edges on one side, piece by piece.

        A profiled wheel breaks at changes of profile, and each profile is a separate piece.
        """
        planner = self.planner
        if not planner.claims[row]:
            return
        profiled = planner.tool(step).profiled
        removed = self._removed_mm2(step)
        by_piece: dict[str, list[Work]] = {}
        for c in planner.contours:

            def piece_of(profile: int, part: int = c.part) -> int:
                here = planner.on_side(profile, part, side)
                return (profile if profiled else 0) if here else NO_INDEX

            for run in self._runs(row, c, piece_of):
                name = planner.names[int(run.path.tags[0])]
                piece = f"{step.tool}/{name}" if profiled else step.tool
                r = planner.radius_mm(step, piece)
                stroke = Stroke(r, r, 0.0, -planner.lowest_mm(run), removed)
                lies = self._mirrored(run) if side else run
                work = Work(lies, step, piece, (stroke,) * max(1, step.passes))
                by_piece.setdefault(piece, []).append(work)
        for piece in sorted(by_piece):
            yield from by_piece[piece]
