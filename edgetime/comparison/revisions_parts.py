"""What became of every part from one revision to the next."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count
from typing import Final

from edgetime.comparison.revisions_edges import changed_pairs, lies_on, pair_sides
from edgetime.comparison.revisions_match import match_parts
from edgetime.comparison.revisions_motion import (
    STILL,
    Drawn,
    Motion,
    Shape,
    best_motion,
    mirror_image,
    motions_between,
    same_method,
    same_recesses,
)
from edgetime.comparison.revisions_openings import OpeningPair, one_size, openings_of, pair_openings
from edgetime.comparison.revisions_records import (
    Displacement,
    EdgeChange,
    EdgeStatus,
    OpeningChange,
    OpeningStatus,
    PartChange,
    PartStatus,
)
from edgetime.comparison.revisions_sides import Side, sides_of
from edgetime.takeoff import Contour, Part, TakeOff


class Comparer:
    """Compares the parts of two take-offs."""

    def __init__(self, before: TakeOff, after: TakeOff, tolerance_mm: float) -> None:
        self.old = [Drawn(p) for p in before.parts]
        self.new = [Drawn(p) for p in after.parts]
        self.tolerance = tolerance_mm
        self.matched = match_parts(self.old, self.new, tolerance_mm)
        self.numbers = count(1)

    def changes(self) -> tuple[tuple[PartChange, ...], Motion]:
        """Return what became of every part, and how the drawing moved as a whole."""
        back = {j: i for i, j in self.matched.pairs.items()}
        gone = [i for i in range(len(self.old)) if i not in self.matched.pairs]
        added = [j for j in range(len(self.new)) if j not in back]
        out = []
        for j, drawn in enumerate(self.new):
            if j in back:
                out.append(self._pair(back[j], j))
            else:
                image = self._mirrored(drawn, [self.old[i] for i in gone])
                out.append(self._alone(PartStatus.ADDED, new=drawn.part, image=image))
        for i in gone:
            image = self._mirrored(self.old[i], [self.new[j] for j in added])
            out.append(self._alone(PartStatus.REMOVED, old=self.old[i].part, image=image))
        return tuple(out), self.matched.frame

    def _mirrored(self, drawn: Drawn, others: Sequence[Drawn]) -> Part | None:
        """Return the part of which one is the mirror image, if there is one."""
        image: Drawn | None = None
        for other in others:
            if abs(other.part.area_mm2 - drawn.part.area_mm2) > self.tolerance * (
                drawn.outline.length_mm
            ):
                continue
            image = image or Drawn(mirror_image(drawn.part))
            if motions_between(image, other, self.tolerance):
                return other.part
        return None

    def _alone(
        self, status: PartStatus, *, new: Part | None = None, old: Part | None = None,
        image: Part | None = None,
    ) -> PartChange:  # fmt: skip
        return _part_change(
            status, old, new, number=next(self.numbers),
            mirror_of=None if image is None else image.part_id,
        )  # fmt: skip

    def _pair(self, i: int, j: int) -> PartChange:
        old, new, frame = self.old[i], self.new[j], self.matched.frame
        if (i, j) in self.matched.equal:
            if old.fits(new, frame, self.tolerance):
                return _part_change(PartStatus.SAME, old.part, new.part)
            ways = motions_between(old, new, self.tolerance)
            turned = (frame.inverse @ way for way in ways)
            way = min(zip(turned, ways, strict=True), key=lambda pair: abs(pair[0].turn - 1.0))[1]
            return self._unchanged(old, new, way)
        motion = best_motion(old, new, frame, self.tolerance)
        moved = self._displaced(old, motion)
        recesses = not same_recesses(old, new, motion, self.tolerance)
        number = next(self.numbers) if recesses or moved is not None else None
        edges = list(self._edges(old.part.outline, new.part.outline, motion, None))
        openings = list(self._openings(old, new, motion, edges))
        if not edges and not openings and not recesses:
            # Divided otherwise, but the same: below the tolerance everywhere.
            return self._unchanged(old, new, motion, number)
        change = _part_change(
            PartStatus.CHANGED, old.part, new.part, number=number, edges=tuple(edges),
            openings=tuple(openings), moved=moved,
        )  # fmt: skip
        return replace(change, recesses_changed=recesses)

    def _unchanged(
        self, old: Drawn, new: Drawn, motion: Motion, number: int | None = None
    ) -> PartChange:
        """Return a part of one shape, which may have moved."""
        moved = self._displaced(old, motion)
        if moved is None:
            return _part_change(PartStatus.SAME, old.part, new.part)
        return _part_change(
            PartStatus.MOVED, old.part, new.part, number=number or next(self.numbers), moved=moved
        )

    def _displaced(self, old: Drawn, motion: Motion) -> Displacement | None:
        """Return how a part moved beside the whole drawing, None if by less than the tolerance."""
        centre = old.outline.centre
        there, expected = (m.turn * centre + m.shift for m in (motion, self.matched.frame))
        shift = there - expected
        turn = motion.turn * self.matched.frame.turn.conjugate()
        # Seen from the part: far from the origin, the least turn of the drawing is a long way.
        if max(abs(shift.real), abs(shift.imag), old.reach_mm * abs(turn - 1.0)) <= self.tolerance:
            return None
        return Displacement(shift.real, shift.imag, cmath.phase(turn))

    def _edges(
        self, old: Contour | None, new: Contour | None, motion: Motion, opening: int | None
    ) -> Iterator[EdgeChange]:
        """Return the sides of a contour that changed."""
        own = new or old
        assert own is not None  # noqa: S101  one of both is there
        before = [] if old is None else sides_of(old)
        moved = [Side(s.profile, motion.path(s.path), s.straight) for s in before]
        after = [] if new is None else sides_of(new)
        if old is not None and new is not None and Shape.of(old).moved(motion).coincides(
            Shape.of(new), self.tolerance
        ):  # fmt: skip
            return
        pairs = pair_sides(moved, after, self.tolerance)
        for pair in changed_pairs(pairs, self.tolerance):
            shown = pair.new or pair.old
            assert shown is not None  # noqa: S101  one of both is there
            x, y = shown.middle
            yield EdgeChange(
                number=next(self.numbers),
                change=self._edge_status(pair.old, pair.new),
                place=own.place,
                opening=opening,
                profile=None if pair.new is None else pair.new.profile,
                old_profile=None if pair.old is None else pair.old.profile,
                length_mm=None if pair.new is None else pair.new.length_mm,
                old_length_mm=None if pair.old is None else pair.old.length_mm,
                x_mm=x,
                y_mm=y,
                old=pair.old,
                new=pair.new,
                stays=pair.old is not None
                and pair.new is not None
                and lies_on(pair.old, pair.new, self.tolerance),
            )

    def _edge_status(self, old: Side | None, new: Side | None) -> EdgeStatus:
        if old is None or new is None:
            return EdgeStatus.ADDED if old is None else EdgeStatus.REMOVED
        longer = abs(new.length_mm - old.length_mm) > self.tolerance
        if old.profile != new.profile:
            return EdgeStatus.PROFILE_AND_LENGTH if longer else EdgeStatus.PROFILE
        return EdgeStatus.LENGTH if longer else EdgeStatus.MOVED

    def _openings(
        self, old: Drawn, new: Drawn, motion: Motion, edges: list[EdgeChange]
    ) -> Iterator[OpeningChange]:
        """Return the openings that changed; sides of cutouts that did are added to the edges."""
        before = openings_of(old.part, motion)
        after = openings_of(new.part, STILL)
        for pair in pair_openings(before, after, self.tolerance):
            found = self._opening(pair)
            if found is not None:
                yield found
            a, b = (None if o is None else o.contour for o in (pair.old, pair.new))
            if a is not None or b is not None:
                edges += self._edges(a, b, pair.motion(self.tolerance) @ motion, pair.number)

    def _opening(self, pair: OpeningPair) -> OpeningChange | None:
        a, b = pair.old, pair.new
        shown = b or a
        assert shown is not None  # noqa: S101  one of both is there
        displaced = None
        if a is not None and b is not None:
            same = one_size(a, b, self.tolerance)
            turn = pair.motion(self.tolerance).turn if same else 1.0 + 0.0j
            shift = b.centre - a.centre
            moved = abs(shift) > self.tolerance or abs(turn - 1.0) > _TURNED
            if same and not moved and same_method(a.method, b.method):
                return None
            status = OpeningStatus.MOVED if moved else OpeningStatus.METHOD
            if not same:
                status = OpeningStatus.RESIZED
            displaced = Displacement(shift.real, shift.imag, cmath.phase(turn)) if moved else None
        else:
            status = OpeningStatus.ADDED if a is None else OpeningStatus.REMOVED
        return OpeningChange(
            number=next(self.numbers),
            change=status,
            kind=None if b is None else b.kind,
            old_kind=None if a is None else a.kind,
            perimeter_mm=None if b is None else b.drawn.perimeter_mm,
            old_perimeter_mm=None if a is None else a.drawn.perimeter_mm,
            diameter_mm=None if b is None else b.drawn.diameter_mm,
            old_diameter_mm=None if a is None else a.drawn.diameter_mm,
            method=None if b is None else b.method,
            old_method=None if a is None else a.method,
            moved=displaced,
            x_mm=shown.centre.real,
            y_mm=shown.centre.imag,
            old=None if a is None else a.path,
            new=None if b is None else b.path,
        )


_TURNED: Final = 1e-6
"""A smaller turn is rounding [rad]."""


def _part_change(
    status: PartStatus, old: Part | None, new: Part | None, *, number: int | None = None,
    moved: Displacement | None = None, mirror_of: str | None = None,
    edges: tuple[EdgeChange, ...] = (), openings: tuple[OpeningChange, ...] = (),
) -> PartChange:  # fmt: skip
    return PartChange(
        status=status,
        part_id=None if new is None else new.part_id,
        name=None if new is None else new.name,
        old_part_id=None if old is None else old.part_id,
        old_name=None if old is None else old.name,
        number=number,
        moved=moved,
        mirror_of=mirror_of,
        area_mm2=None if new is None else new.area_mm2,
        old_area_mm2=None if old is None else old.area_mm2,
        outline_mm=None if new is None else new.outline_mm,
        old_outline_mm=None if old is None else old.outline_mm,
        recess_mm=0.0 if new is None else math.fsum(r.length_mm for r in new.recesses),
        old_recess_mm=0.0 if old is None else math.fsum(r.length_mm for r in old.recesses),
        recesses_changed=False,
        edges=edges,
        openings=openings,
        old=old,
        new=new,
    )
