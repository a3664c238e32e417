"""A load taken apart: its contours, its profiles, and which step works which of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from edgetime.errors import Where
from edgetime.findings import Code, Finding
from edgetime.load.load import Load
from edgetime.passes import codes
from edgetime.passes.pass_plan import EdgeRun
from edgetime.passes.runs import HOLE_CONTOUR, ProfiledContour, circle_run, profiled_contours
from edgetime.places import Place
from edgetime.tolerances import HOLE_DIAMETER_MM
from edgetime.tooling import FaceUp, Operation, Profile, Section, Step, Tool
from edgetime.tooling.step_limits import section_near

_BORES: Final = frozenset({Operation.CORE, Operation.CUT})
"""Operations that open the stone, whatever the profile of the edge."""


def serves(step: Step, place: Place) -> bool:
    """Return whether a step works at a place; an empty tuple of places means all."""
    return not step.places or place in step.places


@dataclass(frozen=True, slots=True)
class _Traits:
    """What the planner needs of each profile, as columns over the plan's profile names."""

    finished: tuple[bool, ...]
    seam: tuple[bool, ...]
    elsewhere: tuple[bool, ...]
    strip_mm: tuple[float, ...]
    below_mm: tuple[float, ...]
    face: tuple[FaceUp, ...]
    both_sides: tuple[bool, ...]


@dataclass
class Findings:
    """Findings collected, each occurrence once."""

    items: dict[tuple[str, object], Finding] = field(default_factory=dict)

    def add(self, code: Code, key: object, message: str, where: Where | None = None) -> None:
        """Add a finding unless one with the same code and key is there."""
        self.items.setdefault((code.name, key), Finding(code, message, where or Where()))


class Planner:
    """One load, taken apart into contours, from which each step's work is read.

    Parameters
    ----------
    load : Load
        What to plan.
    """

    def __init__(self, load: Load) -> None:
        self.load = load
        self.findings = Findings()
        self.names, self.contours = profiled_contours(load)
        self.profiles: tuple[Profile | None, ...] = tuple(
            load.catalogue.profiles.get(name) for name in self.names
        )
        self.traits = self._traits()
        # Which profiles occur at which places.
        self.present = sorted({(int(p), c.place) for c in self.contours for p in c.labels})
        self.steps = tuple(s for s in load.stack.steps if self._has_tool(s))
        self.face_down = self._loaded_face_down()
        self.claims = self._claims()
        self.cut_steps = self._cut_steps()
        self.holes = self._hole_steps()

    # What there is ------------------------------------------------------------------

    def _traits(self) -> _Traits:
        rows = list(zip(self.names, self.profiles, strict=True))
        return _Traits(
            finished=tuple(
                p.finished and p.made_here if p else n not in {"seam", "unfinished"}
                for n, p in rows
            ),
            seam=tuple(p.family == "seam" if p else n == "seam" for n, p in rows),
            elsewhere=tuple(p is not None and p.finished and not p.made_here for _, p in rows),
            strip_mm=tuple(p.gauge_strip_mm if p else 0.0 for _, p in rows),
            below_mm=tuple(self._below_mm(p) for _, p in rows),
            face=tuple(p.face_up if p else FaceUp.EITHER for _, p in rows),
            both_sides=tuple(p is not None and p.sides == 2 for _, p in rows),
        )

    def section(self, profile: Profile) -> Section | None:
        """Return the section of a profile nearest to the load's thickness, None if none is near."""
        return section_near(profile, self.load.nominal_mm)

    def _below_mm(self, profile: Profile | None) -> float:
        """Return how far an edge reaches below the slab, where an apron is glued on [mm]."""
        section = self.section(profile) if profile else None
        return max(section.height_mm - section.thickness_mm, 0.0) if section else 0.0

    def lowest_mm(self, run: EdgeRun) -> float:
        """Return the greatest height of the edges along a run, of the real thickness [mm]."""
        below: float = max(self.traits.below_mm[p] for p in set(run.path.tags.tolist()))
        return self.actual_mm(run.part) + below

    def tool(self, step: Step) -> Tool:
        """Return the tool of a step."""
        return self.load.catalogue.tools[step.tool]

    def part_id(self, part: int) -> str:
        """Return the id of a part."""
        return self.load.parts[part].part.part_id

    def actual_mm(self, part: int) -> float:
        """Return the actual thickness of a part [mm]."""
        return self.load.parts[part].actual_mm

    def every(self, value: float) -> tuple[float, ...]:
        """Return a cross-section that is the same for every profile."""
        return (value,) * len(self.names)

    def radius_mm(self, step: Step, piece: str = "") -> float:
        """Return the real radius of a step's tool, or of one piece of it [mm]."""
        return 0.5 * self.load.diameter_mm(piece or step.tool)

    def _has_tool(self, step: Step) -> bool:
        if step.tool in self.load.catalogue.tools:
            return True
        stack = self.load.stack
        self.findings.add(
            codes.TOOL_MISSING,
            step.tool,
            f"Step {step.name!r} of stack {stack.name} needs tool {step.tool!r}.",
            Where(path=stack.file or None, key=f"steps.{step.name}"),
        )
        return False

    def where(self, part: int, number: int = 0) -> Where:
        """Return the place of a contour in its drawing."""
        p = self.load.parts[part].part
        contour = p.outline if number <= 0 else p.cutouts[number - 1].contour
        return p.where(contour.path.points[0], contour)

    def _loaded_face_down(self) -> tuple[bool, ...]:
        """Return which parts are loaded face down: those whose profiles can all be made so."""
        t = self.traits
        found: list[set[int]] = [set() for _ in self.load.parts]
        for c in self.contours:
            found[c.part].update(p for p in c.labels if t.finished[p])
        return tuple(
            any(t.face[p] is FaceUp.DOWN for p in mine)
            and all(t.face[p] is not FaceUp.UP and not t.both_sides[p] for p in mine)
            for mine in found
        )

    # Which step does what -------------------------------------------------------------

    def _names_profile(self, step: Step, profile: int) -> bool:
        p = self.profiles[profile]
        return step.makes(self.names[profile], *([p.family] if p else []))

    def _claims(self) -> dict[int, frozenset[tuple[int, Place]]]:
        """Return which profiles at which places each step works, by its row in ``steps``.

        Stock is removed once: where two rough, gauge or seam steps would serve the same
        edges, the first does (a later seam step still runs its passes, on no stock).
        """
        t = self.traits
        taken: set[tuple[Operation, int, Place]] = set()
        out: dict[int, frozenset[tuple[int, Place]]] = {}
        for row, step in enumerate(self.steps):
            op = step.operation
            wanted = t.seam if op is Operation.SEAM else t.finished
            mine: set[tuple[int, Place]] = set()
            for p, place in self.present:
                if not wanted[p] or not serves(step, place) or op in _BORES:
                    continue
                if op is not Operation.SEAM and not self._names_profile(step, p):
                    continue
                if op is Operation.GAUGE and t.strip_mm[p] <= 0.0:
                    continue
                if op in {Operation.ROUGH, Operation.GAUGE}:
                    if (op, p, place) in taken:
                        continue
                    taken.add((op, p, place))
                mine.add((p, place))
            out[row] = frozenset(mine)
        return out

    def method(self, part: int, number: int) -> str:
        """Return how cutout ``number - 1`` of a part is opened: ``milled`` or ``precut``."""
        return self.load.parts[part].part.cutouts[number - 1].method or self.load.cutout_method

    def _cut_steps(self) -> dict[tuple[int, int], int]:
        """Return the row of the cut step of each milled cutout, by part and contour."""
        rows = [r for r, s in enumerate(self.steps) if s.operation is Operation.CUT]
        out: dict[tuple[int, int], int] = {}
        for c in self.contours:
            labels = set(c.labels)
            if c.place is not Place.CUTOUT:
                labels = set(c.profile[c.notch].tolist())
            if not labels or (
                c.place is Place.CUTOUT and self.method(c.part, c.number) != "milled"
            ):
                continue
            for row in rows:
                step = self.steps[row]
                if serves(step, Place.CUTOUT) and any(self._names_profile(step, p) for p in labels):
                    out[c.part, c.number] = row
                    break
            else:
                self.findings.add(
                    codes.NO_CUT_STEP,
                    (c.part, c.number),
                    f"{f'Cutout {c.number}' if c.number else 'A notch'} of part "
                    f"{self.load.parts[c.part].part.part_id} is to be milled; stack {self.load.stack.name} has no cut step for it.",
                    self.where(c.part, c.number),
                )
        return out

    def _hole_steps(self) -> dict[int, list[EdgeRun]]:
        """Return the runs around drawn holes by the row of the core step that bores them."""
        rows = [
            r
            for r, s in enumerate(self.steps)
            if s.operation is Operation.CORE and serves(s, Place.HOLE)
        ]
        sizes = np.array([self.tool(self.steps[r]).diameter_mm for r in rows])
        out: dict[int, list[EdgeRun]] = {}
        for i, placed in enumerate(self.load.parts):
            for hole in placed.part.holes:
                gaps = np.abs(sizes - hole.diameter_mm)
                best = int(np.argmin(gaps)) if rows else -1
                if best < 0 or gaps[best] > HOLE_DIAMETER_MM:
                    have = ", ".join(f"{d:g} mm" for d in sorted(set(sizes.tolist()))) or "none"
                    self.findings.add(
                        codes.NO_CORE_BIT,
                        (i, hole),
                        f"A hole of part {placed.part.part_id} measures "
                        f"{hole.diameter_mm:.2f} mm; the stack bores {have}.",
                        placed.part.where((hole.x_mm, hole.y_mm), hole),
                    )
                    continue
                run = circle_run(
                    i, HOLE_CONTOUR, Place.HOLE, (hole.x_mm, hole.y_mm), hole.diameter_mm
                )
                out.setdefault(rows[best], []).append(run)
        return out

    def on_side(self, profile: int, part: int, side: int) -> bool:
        """Return whether a profile of a part is worked on a side."""
        t = self.traits
        if t.both_sides[profile]:
            return True
        turned = t.face[profile] is FaceUp.DOWN and not self.face_down[part]
        return side == (1 if turned else 0)

    def takes_stock(self, c: ProfiledContour, profile: int, *, notch: bool = False) -> int | None:
        """Return the row of the step that takes the stock off edges of a profile, None for none.

        The first rough or seam step that works them; of a milled cutout or notch only one that
        comes after the cut.
        """
        milled = notch or c.place is Place.CUTOUT
        opened = self.cut_steps.get((c.part, c.number), -1) if milled else -1
        return next(
            (
                row
                for row, step in enumerate(self.steps)
                if step.operation.takes_stock
                and row > opened
                and (profile, c.place) in self.claims[row]
            ),
            None,
        )

    def stock_mm(self, c: ProfiledContour, profile: int, *, notch: bool = False) -> float:
        """Return the stock on the edges of a profile that is finished or a seam [mm].

        A milled cutout or notch has only what the cut left because a later step takes it off.
        """
        shop = self.load.catalogue.shop
        row = self.cut_steps.get((c.part, c.number))
        if c.place is Place.OUTER and (row is None or not notch):
            seam = self.traits.seam[profile]
            return shop.stock_mm[shop.seam_source if seam else shop.outer_source]
        if c.place is Place.CUTOUT and self.method(c.part, c.number) == "precut":
            return shop.stock_mm[shop.precut_source]
        if row is None or self.takes_stock(c, profile, notch=notch) is None:
            return 0.0
        return self.steps[row].stock_left_mm

    def stock_taken_mm(self, row: int, c: ProfiledContour, *, notch: bool = False) -> float:
        """Return the stock that a rough or seam step takes off a contour or its notches [mm]."""
        taken = [
            self.stock_mm(c, p, notch=notch)
            for p in c.labels
            if self.takes_stock(c, p, notch=notch) == row
        ]
        return max(taken, default=0.0)

    def gauge_amount_mm(self, part: int) -> float:
        """Return what the back strip of a part has to lose to come to gauge thickness [mm]."""
        placed = self.load.parts[part]
        return placed.actual_mm - (placed.nominal_mm - self.load.stack.gauge_below_nominal_mm)
