"""Rigid motions of parts, and whether two parts coincide after one.

Two drawings of one part need not have a vertex in common: lines are cut elsewhere, polylines start
elsewhere and run the other way. So contours are compared by where they are, not by how they are
divided: every segment of one must lie on segments of the other that have the same profile, and the
other way round. Five places of a line or an arc settle where it is.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final, TypeVar

import numpy as np

from edgetime.choices import CutoutMethod
from edgetime.comparison.revisions_sides import sides_of
from edgetime.geometry.measure import point_at
from edgetime.geometry.near import any_nearer
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.takeoff import Contour, Hole, Part, Recess

_T = TypeVar("_T")

_SHARES: Final = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
_TRIED: Final = 12
"""Longest segments of each outline from which motions are guessed for parts that differ."""

_ENOUGH: Final = 0.5
"""A motion that is expected is taken if so much of the outline coincides after it [-]."""

_TURN_COSTS: Final = 0.15
"""A part that has changed is rarely turned too: so much more must coincide if it is [-]."""

_TURNED: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Motion:
    """A turn about the origin, then a shift.

    Attributes
    ----------
    turn : complex
        Of size 1.
    shift : complex
        X and Y [mm].
    """

    turn: complex = 1.0 + 0.0j
    shift: complex = 0.0j

    def __matmul__(self, first: Motion) -> Motion:
        """Return the motion that follows another."""
        return Motion(self.turn * first.turn, self.turn * first.shift + self.shift)

    @property
    def inverse(self) -> Motion:
        """The motion back."""
        back = self.turn.conjugate()
        return Motion(back, -back * self.shift)

    @property
    def rotation_rad(self) -> float:
        """Angle of the turn, counter-clockwise, in (-π, π] [rad]."""
        return cmath.phase(self.turn)

    def point(self, x: float, y: float) -> complex:
        """Return where a point comes to [mm]."""
        return self.turn * complex(x, y) + self.shift

    def points(self, at: FloatArray) -> FloatArray:
        """Return where points (n, 2) come to [mm]."""
        z = self.turn * (at[:, 0] + 1j * at[:, 1]) + self.shift
        return np.column_stack([z.real, z.imag])

    def path(self, path: Path) -> Path:
        """Return a path moved; lengths and bulges stay."""
        return replace(path, points=self.points(path.points))

    def near(self, other: Motion, reach_mm: float, tolerance_mm: float) -> bool:
        """Whether both bring what lies within a reach of the origin to the same place."""
        off = abs(self.shift - other.shift) + reach_mm * abs(self.turn - other.turn)
        return off <= tolerance_mm


STILL: Final = Motion()


@dataclass(frozen=True, eq=False, slots=True)
class Shape:
    """A contour for comparison: its segments by profile, and places on them.

    Attributes
    ----------
    centre : complex
        Mean of the places [mm].
    length_mm : float
        Around it [mm].
    segments, places : dict
        By profile.
    """

    centre: complex
    length_mm: float
    segments: dict[str, Segments]
    places: dict[str, FloatArray]

    @classmethod
    def of(cls, contour: Contour) -> Shape:
        """Return the shape of a contour."""
        parts: dict[str, list[Segments]] = {}
        whole = Segments.of(contour.path)
        for edge in contour.edges:
            rows = np.arange(edge.first, edge.stop)
            parts.setdefault(edge.profile, []).append(whole.take(rows))
        segments = {profile: Segments.stack(own) for profile, own in parts.items()}
        along = np.linspace(0.0, contour.path.length_mm, 64, endpoint=False)
        x, y = point_at(contour.path, along).mean(axis=0)
        return cls(
            complex(x, y),
            contour.path.length_mm,
            segments,
            {profile: places_on(own) for profile, own in segments.items()},
        )

    def moved(self, motion: Motion) -> Shape:
        """Return the shape after a motion."""
        return Shape(
            motion.turn * self.centre + motion.shift,
            self.length_mm,
            {name: moved_segments(own, motion) for name, own in self.segments.items()},
            {name: motion.points(p) for name, p in self.places.items()},
        )

    @property
    def bare(self) -> Shape:
        """The line without its profiles."""
        return Shape(
            self.centre,
            self.length_mm,
            {"": Segments.stack(list(self.segments.values()))},
            {"": np.vstack(list(self.places.values()))},
        )

    def coincides(self, other: Shape, tolerance_mm: float) -> bool:
        """Whether both are the same line with the same profiles, within a tolerance [mm]."""
        if self.segments.keys() != other.segments.keys():
            return False
        return all(
            bool(on(a.places[name], b.segments[name], tolerance_mm).all())
            for a, b in ((self, other), (other, self))
            for name in a.segments
        )


def moved_segments(own: Segments, motion: Motion) -> Segments:
    """Return segments after a motion."""
    return Segments(motion.points(own.start), motion.points(own.end), own.bulge)


def places_on(segments: Segments) -> FloatArray:
    """Return five places of every segment (5 n, 2) [mm]."""
    rows = np.repeat(np.arange(len(segments)), len(_SHARES))
    return segments.take(rows).point(np.tile(_SHARES, len(segments)))


def on(places: FloatArray, segments: Segments, tolerance_mm: float) -> BoolArray:
    """Return which places (n, 2) are on some segment within a tolerance (n,)."""
    return any_nearer(places, np.full(len(places), tolerance_mm), segments)


class Drawn:
    """A part as it is compared.

    Parameters
    ----------
    part : Part
        Of a take-off.
    """

    def __init__(self, part: Part) -> None:
        self.part = part
        self.outline = Shape.of(part.outline)
        self.cutouts = [Shape.of(c.contour) for c in part.cutouts]
        self.recesses = Segments.stack([r.shape for r in part.recesses]) if part.recesses else None

    @property
    def reach_mm(self) -> float:
        """How far its outline is from its centre at most, roughly [mm]."""
        return math.hypot(*self.part.size_mm)

    def fits(self, other: Drawn, motion: Motion, tolerance_mm: float) -> bool:
        """Whether this part is the other one after a motion, within a tolerance [mm]."""
        mine = self.outline.moved(motion)
        if abs(mine.centre - other.outline.centre) > _CENTRE_OFF * tolerance_mm + 1.0:
            return False
        return (
            len(self.cutouts) == len(other.cutouts)
            and len(self.part.holes) == len(other.part.holes)
            and same_recesses(self, other, motion, tolerance_mm)
            and mine.coincides(other.outline, tolerance_mm)
            and _each_has_one(
                self._with_methods(motion),
                other._with_methods(STILL),
                lambda a, b: same_method(a[1], b[1]) and a[0].coincides(b[0], tolerance_mm),
            )
            and _each_has_one(
                self.part.holes,
                other.part.holes,
                lambda a, b: same_hole(a, b, motion, tolerance_mm),
            )
        )

    def _with_methods(self, motion: Motion) -> list[tuple[Shape, CutoutMethod | None]]:
        shapes = (c if motion is STILL else c.moved(motion) for c in self.cutouts)
        return list(zip(shapes, (c.method for c in self.part.cutouts), strict=True))


_CENTRE_OFF: Final = 10.0
"""Centres of equal contours differ little; those of others need no closer look [-]."""


def same_hole(old: Hole, new: Hole, motion: Motion, tolerance_mm: float) -> bool:
    """Whether a hole after a motion is another one."""
    off = abs(motion.point(old.x_mm, old.y_mm) - complex(new.x_mm, new.y_mm))
    return off <= tolerance_mm and abs(old.diameter_mm - new.diameter_mm) <= 2.0 * tolerance_mm


def same_method(old: CutoutMethod | None, new: CutoutMethod | None) -> bool:
    """Whether a cutout is made as before; a layer that names no method agrees with any."""
    return None in {old, new} or old == new


def same_recesses(old: Drawn, new: Drawn, motion: Motion, tolerance_mm: float) -> bool:
    """Whether the recess curves of a part after a motion are those of another."""
    if old.recesses is None or new.recesses is None:
        return old.recesses is new.recesses
    moved = moved_segments(old.recesses, motion)
    # All curves together: a rectangle may be one polyline or four lines.
    return bool(
        on(places_on(moved), new.recesses, tolerance_mm).all()
        and on(places_on(new.recesses), moved, tolerance_mm).all()
    )


def _each_has_one(ours: Iterable[_T], theirs: Iterable[_T], same: Callable[[_T, _T], bool]) -> bool:
    """Return whether every one of ours is one of theirs, each of another."""
    left = list(theirs)
    for one in ours:
        mate = next((k for k, other in enumerate(left) if same(one, other)), None)
        if mate is None:
            return False
        del left[mate]
    return True


def motions_between(old: Drawn, new: Drawn, tolerance_mm: float) -> list[Motion]:
    """Return motions after which one part is the other; one that does not turn comes first.

    Every way to lay a part on itself is among them, except for round parts, where one is.
    """
    out: list[Motion] = []
    for motion in _guesses(old, new, tolerance_mm):
        known = any(motion.near(m, old.reach_mm, 2.0 * tolerance_mm) for m in out)
        if not known and old.fits(new, motion, tolerance_mm):
            out.append(motion)
    return sorted(out, key=lambda m: abs(m.turn - 1.0))


def _guesses(old: Drawn, new: Drawn, tolerance_mm: float) -> Iterator[Motion]:
    """Return motions that lay one outline's longest straight or arc on an equal one."""
    shift = new.outline.centre - old.outline.centre
    yield Motion(1.0 + 0.0j, shift)
    stretches, others = stretches_of(old.part), stretches_of(new.part)
    longest = max(stretches, key=lambda s: s[2])
    for a, b, length in others:
        if abs(length - longest[2]) <= 4.0 * tolerance_mm and abs(b - a) > tolerance_mm:
            yield _laid(longest[0], longest[1], a, b)
    # A round outline has no ends: its openings say how it is turned, else its long axis.
    if abs(longest[1] - longest[0]) <= tolerance_mm:
        marks = [_centres(p) for p in (old, new)]
        for z in marks[0][:1]:
            for w in marks[1]:
                before, after = z - old.outline.centre, w - new.outline.centre
                if abs(before) > tolerance_mm and abs(after) > tolerance_mm:
                    turn = (after / abs(after)) / (before / abs(before))
                    yield Motion(turn, new.outline.centre - turn * old.outline.centre)
        turn = cmath.exp(1j * (_axis(new.part) - _axis(old.part)))
        for way in (turn, -turn):
            yield Motion(way, new.outline.centre - way * old.outline.centre)


def _centres(drawn: Drawn) -> list[complex]:
    return [c.centre for c in drawn.cutouts] + [complex(h.x_mm, h.y_mm) for h in drawn.part.holes]


def _axis(part: Part) -> float:
    """Return the direction of the long axis of an outline [rad]."""
    path = part.outline.path
    at = point_at(path, np.linspace(0.0, path.length_mm, 256, endpoint=False))
    z = (at - at.mean(axis=0)) @ np.array([1.0, 1j])
    return 0.5 * cmath.phase(complex((z * z).sum()))


def stretches_of(part: Part) -> list[tuple[complex, complex, float]]:
    """Return (start, end, length) of the stretches of an outline between its corners [mm]."""
    return [
        (complex(*side.path.points[0]), complex(*side.path.points[-1]), side.length_mm)
        for side in sides_of(part.outline)
    ]


def _laid(a: complex, b: complex, c: complex, d: complex) -> Motion:
    """Return the motion that lays a stretch from a to b on one from c to d, middle on middle."""
    turn = (d - c) / (b - a)
    turn /= abs(turn)
    return Motion(turn, 0.5 * (c + d) - turn * 0.5 * (a + b))


def best_motion(old: Drawn, new: Drawn, expected: Motion, tolerance_mm: float) -> Motion:
    """Return the motion after which most of an outline lies on the other.

    Parameters
    ----------
    old, new : Drawn
        Parts that differ.
    expected : Motion
        Taken if half of the outline coincides after it.
    tolerance_mm : float
        How near coincides [mm].
    """
    its = new.outline.segments
    table = Segments.stack(list(its.values()))
    mine = [(name, places_on(own), own.lengths) for name, own in old.outline.segments.items()]
    whole = old.outline.length_mm

    def share(motion: Motion) -> float:
        got = 0.0
        for name, places, lengths in mine:
            at, weights = motion.points(places), np.repeat(lengths / len(_SHARES), len(_SHARES))
            got += 0.5 * float(weights[on(at, table, tolerance_mm)].sum())
            if name in its:
                got += 0.5 * float(weights[on(at, its[name], tolerance_mm)].sum())
        turned = abs(motion.turn - expected.turn) > _TURNED
        return got / whole - (_TURN_COSTS if turned else 0.0)

    best, most = expected, share(expected)
    if most >= _ENOUGH:
        return best
    for motion in _alignments(old, new, tolerance_mm):
        got = share(motion)
        # By a margin, so that a motion is not changed for a trifle.
        if got > most + 0.02:
            best, most = motion, got
    if most < 0.02:
        return Motion(expected.turn, new.outline.centre - expected.turn * old.outline.centre)
    return best


def _alignments(old: Drawn, new: Drawn, tolerance_mm: float) -> Iterable[Motion]:
    """Return motions that lay ends of long stretches on one another, each once."""
    found: dict[tuple[float, ...], Motion] = {}
    long = [sorted(stretches_of(d.part), key=lambda s: -s[2])[:_TRIED] for d in (old, new)]
    for a, b, _ in long[0]:
        for c, d, _ in long[1]:
            if min(abs(b - a), abs(d - c)) <= tolerance_mm:
                continue
            turn = ((d - c) / (b - a)) / abs((d - c) / (b - a))
            for z, w in ((a, c), (b, d)):
                motion = Motion(turn, w - turn * z)
                key = (round(turn.real, 3), round(turn.imag, 3),
                       round(motion.shift.real), round(motion.shift.imag))  # fmt: skip
                found.setdefault(key, motion)
    # The least turned first: of equals it is the likelier.
    return sorted(found.values(), key=lambda m: abs(m.turn - 1.0))


def mirror_image(part: Part) -> Part:
    """Return a part mirrored at the Y axis; contours keep the stone on their left."""

    def path(own: Path) -> Path:
        flipped = own.points * [-1.0, 1.0]
        return replace(own, points=flipped, bulges=-own.bulges).reversed()

    def contour(own: Contour) -> Contour:
        n = len(own.path)
        edges = tuple(replace(e, first=n - e.stop, stop=n - e.first) for e in reversed(own.edges))
        return replace(own, path=path(own.path), edges=edges)

    def recess(own: Recess) -> Recess:
        s = own.shape
        flipped = Segments(s.start * [-1.0, 1.0], s.end * [-1.0, 1.0], -s.bulge)
        return replace(own, shape=flipped)

    return replace(
        part,
        outline=contour(part.outline),
        recesses=tuple(recess(r) for r in part.recesses),
        cutouts=tuple(replace(c, contour=contour(c.contour)) for c in part.cutouts),
        holes=tuple(replace(h, x_mm=-h.x_mm) for h in part.holes),
    )
