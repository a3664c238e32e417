"""Cutouts and holes: which of one revision is which of the other."""

from __future__ import annotations

import cmath
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from edgetime.choices import CutoutMethod
from edgetime.comparison.revisions_motion import STILL, Motion, Shape
from edgetime.geometry.path import Path
from edgetime.takeoff import Contour, Cutout, Hole, Part

_QUARTERS: Final = tuple(cmath.exp(0.5j * cmath.pi * n) for n in range(4))


@dataclass(frozen=True, eq=False, slots=True)
class Opening:
    """A cutout or a hole, where it lies in the new drawing.

    Attributes
    ----------
    drawn : Cutout or Hole
        As its own drawing has it.
    kind : str
        ``cutout`` or ``hole``.
    centre : complex
        [mm].
    shape : Shape or None
        Line of a cutout, without profiles.
    path : Path
        Its line.
    """

    drawn: Cutout | Hole
    kind: str
    centre: complex
    shape: Shape | None
    path: Path

    @classmethod
    def of(cls, drawn: Cutout | Hole, motion: Motion) -> Opening:
        """Return an opening after a motion."""
        if isinstance(drawn, Hole):
            centre, r = motion.point(drawn.x_mm, drawn.y_mm), 0.5 * drawn.diameter_mm
            ends = [(centre.real - r, centre.imag), (centre.real + r, centre.imag)]
            circle = Path.from_bulges(ends, [1.0, 1.0], closed=True)
            return cls(drawn, "hole", centre, None, circle)
        shape = Shape.of(drawn.contour).bare.moved(motion)
        return cls(drawn, "cutout", shape.centre, shape, motion.path(drawn.contour.path))

    @property
    def contour(self) -> Contour | None:
        """The line of a cutout with its edges, as drawn."""
        return self.drawn.contour if isinstance(self.drawn, Cutout) else None

    @property
    def method(self) -> CutoutMethod | None:
        """How a cutout is made, if its layer says so."""
        return self.drawn.method if isinstance(self.drawn, Cutout) else None

    @property
    def size_mm(self) -> float:
        """About how wide it is [mm]."""
        return self.drawn.perimeter_mm / cmath.pi

    def overlaps(self, other: Opening) -> bool:
        """Whether both lie about on one place."""
        return abs(self.centre - other.centre) < 0.75 * max(self.size_mm, other.size_mm)


def openings_of(part: Part, motion: Motion) -> list[Opening]:
    """Return the cutouts, then the holes of a part after a motion."""
    drawn: tuple[Cutout | Hole, ...] = (*part.cutouts, *part.holes)
    return [Opening.of(one, motion) for one in drawn]


@dataclass(frozen=True, eq=False, slots=True)
class OpeningPair:
    """An opening before and after; one is None where it was added or has gone.

    Attributes
    ----------
    old, new : Opening or None
        Both.
    number : int
        Of the cutout or hole in its part, from 1.
    """

    old: Opening | None
    new: Opening | None
    number: int

    def motion(self, tolerance_mm: float) -> Motion:
        """Return what moves the old one, where it lies in the new drawing, onto the new one."""
        a, b = self.old, self.new
        if a is None or b is None:
            return STILL
        return _onto(a, b, tolerance_mm) or STILL


def _onto(a: Opening, b: Opening, tolerance_mm: float) -> Motion | None:
    """Return the motion that lays one opening on another of its shape, turned by quarters."""
    if a.shape is None or b.shape is None:
        return Motion(shift=b.centre - a.centre)
    for turn in _QUARTERS:
        way = Motion(turn, b.centre - turn * a.centre)
        if a.shape.moved(way).coincides(b.shape, tolerance_mm):
            return way
    return None


def one_size(a: Opening, b: Opening, tolerance_mm: float) -> bool:
    """Whether two openings have one shape, however they are turned by quarters."""
    if a.kind != b.kind:
        return False
    if isinstance(a.drawn, Hole) and isinstance(b.drawn, Hole):
        return abs(a.drawn.diameter_mm - b.drawn.diameter_mm) <= 2.0 * tolerance_mm
    if abs(a.drawn.perimeter_mm - b.drawn.perimeter_mm) > 8.0 * tolerance_mm:
        return False
    return _onto(a, b, tolerance_mm) is not None


def pair_openings(
    old: Sequence[Opening], new: Sequence[Opening], tolerance_mm: float
) -> list[OpeningPair]:
    """Pair the openings of a part: those that stayed, those that moved, those that lie together.

    Parameters
    ----------
    old, new : sequence of Opening
        Of one part, cutouts before holes.
    tolerance_mm : float
        How near coincides [mm].
    """

    def stayed(a: Opening, b: Opening) -> float | None:
        near = abs(a.centre - b.centre)
        return near if near <= tolerance_mm and one_size(a, b, tolerance_mm) else None

    def resized(a: Opening, b: Opening) -> float | None:
        near = abs(a.centre - b.centre) / max(a.size_mm, b.size_mm)
        return near if a.overlaps(b) else None

    def moved(a: Opening, b: Opening) -> float | None:
        return abs(a.centre - b.centre) if one_size(a, b, tolerance_mm) else None

    mates: dict[int, int] = {}
    ranks: tuple[Callable[[Opening, Opening], float | None], ...] = (stayed, moved, resized)
    for rank in ranks:
        taken = set(mates.values())
        rows = [
            (far, i, j)
            for i, a in enumerate(old) if i not in mates
            for j, b in enumerate(new) if j not in taken and (far := rank(a, b)) is not None
        ]  # fmt: skip
        for _, i, j in sorted(rows):
            if i not in mates and j not in mates.values():
                mates[i] = j
    back = {j: i for i, j in mates.items()}
    pairs = [
        OpeningPair(old[back[j]] if j in back else None, b, _number(new, j))
        for j, b in enumerate(new)
    ]
    gone = [OpeningPair(a, None, _number(old, i)) for i, a in enumerate(old) if i not in mates]
    return pairs + gone


def _number(openings: Sequence[Opening], at: int) -> int:
    """Return the number of an opening among those of its kind."""
    return sum(o.kind == openings[at].kind for o in openings[: at + 1])
