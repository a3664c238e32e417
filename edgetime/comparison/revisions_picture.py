"""Two revisions as lines, marks and notes for a picture."""

from __future__ import annotations

import cmath
from collections.abc import Callable

import numpy as np

from edgetime.comparison.revisions_motion import STILL, Motion
from edgetime.comparison.revisions_records import (
    EdgeChange,
    EdgeStatus,
    OpeningChange,
    PartChange,
    PartStatus,
    Revision,
)
from edgetime.geometry.measure import bounds
from edgetime.geometry.path import Path
from edgetime.picture.change import ChangedLine, ChangeScene, Fate, Mark
from edgetime.picture.curves import extent
from edgetime.picture.labels import inside
from edgetime.picture.scene import BETWEEN_MM
from edgetime.takeoff import Hole, Part, TakeOff

Place = tuple[float, float]
LengthText = Callable[[float], str]


def scene_of_revision(revision: Revision, length: LengthText) -> ChangeScene:
    """Gather what a picture of two revisions shows.

    The old parts lie where the new drawing would have them: what became of a part is seen on the
    part. Several drawings lie side by side.

    Parameters
    ----------
    revision : Revision
        What changed.
    length : callable
        Writes lengths of edge.
    """
    return _Gatherer(revision, length).scene()


class _Gatherer:
    def __init__(self, revision: Revision, length: LengthText) -> None:
        self.revision, self.length = revision, length
        x, y, rotation = revision.frame
        self.frame = Motion(cmath.rect(1.0, rotation), complex(x, y))
        self.aside = _aside(*revision.take_offs)
        self.lines: list[ChangedLine] = []
        self.names: list[tuple[str, Place]] = []
        self.marks: list[Mark] = []
        self.notes: dict[int, str] = {}

    def scene(self) -> ChangeScene:
        for part in self.revision.parts:
            self._part(part)
        after, before = (
            ", ".join(d.path for d in own)
            for own in (self.revision.drawings, self.revision.old_drawings)
        )
        return ChangeScene(
            f"{after} against {before}",
            tuple(self.lines),
            tuple(self.names),
            tuple(self.marks),
            tuple(f"{number}  {said}" for number, said in sorted(self.notes.items())),
        )

    def _part(self, part: PartChange) -> None:
        shown = part.new or part.old
        assert shown is not None  # noqa: S101  one of both is there
        aside = self.aside.get((part.new is None, shown.drawing), STILL)
        where = aside if part.new is not None else aside @ self.frame
        centre = _centre(shown, where)
        if part.new is not None:
            other = part.status in {PartStatus.ADDED, PartStatus.MOVED}
            fate = Fate.NEW if other else Fate.SAME
            hidden = _covered(part)
            self._lines(part, part.new, aside, fate, hidden)
        if part.old is not None and part.status in {PartStatus.MOVED, PartStatus.REMOVED}:
            self._lines(part, part.old, aside @ self.frame, Fate.OLD, set())
        x, y = inside(shown, [], 0.0)
        at = where.point(x, y)
        self.names.append((part.title, (at.real, at.imag)))
        if part.number is not None:
            was = None
            if part.moved is not None:
                shift = aside.turn * complex(part.moved.x_mm, part.moved.y_mm)
                was = (centre[0] - shift.real, centre[1] - shift.imag)
            self.marks.append(Mark(part.number, centre, was))
            self.notes[part.number] = f"{part.title}: {self._fate(part)}"
        for edge in part.edges:
            self._edge(part, edge, aside)
        for opening in part.openings:
            self._opening(part, opening, aside)

    def _fate(self, part: PartChange) -> str:
        said = {
            PartStatus.ADDED: "new", PartStatus.REMOVED: "gone", PartStatus.MOVED: "moved",
        }.get(part.status, "changed")  # fmt: skip
        if part.mirror_of is not None:
            which = "old" if part.status is PartStatus.ADDED else "new"
            said += f", mirror image of {which} {part.mirror_of}"
        if part.moved is not None and part.status is not PartStatus.MOVED:
            said += " and moved"
        if part.recesses_changed:
            said += ", recesses too" if part.edges or part.openings else " in its recesses"
        if part.renamed:
            said += f", was {part.old_name}"
        return said

    def _lines(
        self, change: PartChange, part: Part, motion: Motion, fate: Fate, hidden: set[object]
    ) -> None:
        said = {Fate.OLD: "old", Fate.NEW: "new"}.get(fate, "unchanged")
        for contour in part.contours():
            path = contour.path
            self.lines.append(ChangedLine(motion.path(path), fate, f"{change.title}, {said}"))
        for hole in part.holes:
            if _spot(hole) not in hidden:
                path = motion.path(_circle(hole.x_mm, hole.y_mm, hole.diameter_mm))
                self.lines.append(ChangedLine(path, fate, f"{change.title}, hole, {said}"))

    def _edge(self, part: PartChange, edge: EdgeChange, aside: Motion) -> None:
        where = "outline" if edge.opening is None else f"cutout {edge.opening}"
        told = f"{part.part_id or part.old_part_id} {where}: {self._edge_text(edge)}"
        if edge.old is not None and not edge.stays:
            self.lines.append(ChangedLine(aside.path(edge.old.path), Fate.OLD, told))
        if edge.new is not None:
            other = edge.old_profile not in {None, edge.profile}
            fate = Fate.PROFILE if other else Fate.NEW
            self.lines.append(ChangedLine(aside.path(edge.new.path), fate, told))
        at = aside.point(edge.x_mm, edge.y_mm)
        self.marks.append(Mark(edge.number, (at.real, at.imag)))
        self.notes[edge.number] = told

    def _edge_text(self, edge: EdgeChange) -> str:
        old, new = (
            None if mm is None else f"{profile} {self.length(mm)}"
            for profile, mm in (
                (edge.old_profile, edge.old_length_mm),
                (edge.profile, edge.length_mm),
            )
        )
        if edge.change is EdgeStatus.MOVED:
            return f"{new}, moved"
        if old is None or new is None:
            return f"{new}, new" if old is None else f"{old}, gone"
        return f"{old} to {new}"

    def _opening(self, part: PartChange, opening: OpeningChange, aside: Motion) -> None:
        kind = opening.kind or opening.old_kind
        said = {"added": "new", "removed": "gone"}.get(str(opening.change), str(opening.change))
        sizes = [
            f"{diameter:g} mm" if diameter is not None else None
            for diameter in (opening.old_diameter_mm, opening.diameter_mm)
        ]
        size = " to ".join(dict.fromkeys(s for s in sizes if s is not None))
        told = f"{part.part_id or part.old_part_id} {kind} {size}".rstrip() + f", {said}"
        for path, fate in ((opening.old, Fate.OLD), (opening.new, Fate.NEW)):
            if path is not None:
                self.lines.append(ChangedLine(aside.path(path), fate, told))
        at = aside.point(opening.x_mm, opening.y_mm)
        was = None
        if opening.moved is not None:
            shift = aside.turn * complex(opening.moved.x_mm, opening.moved.y_mm)
            was = (at.real - shift.real, at.imag - shift.imag)
        self.marks.append(Mark(opening.number, (at.real, at.imag), was, beside=True))
        self.notes[opening.number] = told


def _covered(part: PartChange) -> set[object]:
    """Return the holes of the new part that are drawn as changes."""
    return {(round(o.x_mm, 3), round(o.y_mm, 3)) for o in part.openings if o.new is not None}


def _spot(hole: Hole) -> tuple[float, float]:
    return round(hole.x_mm, 3), round(hole.y_mm, 3)


def _circle(x_mm: float, y_mm: float, diameter_mm: float) -> Path:
    r = 0.5 * diameter_mm
    ends = [(x_mm - r, y_mm), (x_mm + r, y_mm)]
    return Path.from_bulges(ends, [1.0, 1.0], closed=True)


def _centre(part: Part, motion: Motion) -> Place:
    left, low, right, high = bounds(motion.path(part.outline.path))
    return 0.5 * (left + right), 0.5 * (low + high)


def _aside(before: TakeOff, after: TakeOff) -> dict[tuple[bool, str], Motion]:
    """Return how far each drawing is shifted, by (whether it is old, path)."""
    out: dict[tuple[bool, str], Motion] = {}
    if max(len(before.drawings), len(after.drawings)) < 2:
        return out
    right = 0.0
    for k in range(max(len(before.drawings), len(after.drawings))):
        both = [(old, t.drawings[k]) for old, t in ((False, after), (True, before))
                if k < len(t.drawings)]  # fmt: skip
        boxes = [bounds(p.outline.path) for _, d in both for p in d.parts]
        if not boxes:
            continue
        x0, y0, x1, _ = extent(np.array(boxes).tolist())
        shift = Motion(shift=complex(right - x0, -y0))
        out |= {(old, d.path): shift for old, d in both}
        right += x1 - x0 + BETWEEN_MM
    return out
