"""Which part of one revision is which of the other.

By name and shape, then by name, then by shape, then by greatest likeness. A shape does not depend
on where a part lies and how it is turned; its mirror image is another shape. Names that a take-off
gives by position are none. Where parts were numbered anew, their names say nothing either: pairs
of one name and two shapes are broken up if both shapes are found under other names.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.comparison.revisions_motion import STILL, Drawn, Motion, mirror_image, motions_between
from edgetime.geometry.path import FloatArray
from edgetime.takeoff import Part
from edgetime.takeoff.naming import given_name

LIKE: Final = 0.5
"""Parts that are less alike are two parts: one has gone, one is new [-]."""

LIKE_RENAMED: Final = 0.75
"""The same where both have a name, and not one [-]."""

_VOTERS: Final = 20
"""Equal parts of one shape that are asked how the whole drawing moved."""


@dataclass(frozen=True, eq=False, slots=True)
class Matched:
    """Which parts belong together, and how the drawing moved as a whole.

    Attributes
    ----------
    pairs : dict
        Index of a part of the new revision by that of the old one.
    equal : frozenset of (int, int)
        Those of them that have one shape.
    frame : Motion
        From the old drawing to the new one, of most parts of one shape.
    """

    pairs: dict[int, int]
    equal: frozenset[tuple[int, int]]
    frame: Motion


def match_parts(old: Sequence[Drawn], new: Sequence[Drawn], tolerance_mm: float) -> Matched:
    """Find which part of a revision is which of the other.

    Parameters
    ----------
    old, new : sequence of Drawn
        Their parts.
    tolerance_mm : float
        How near coincides [mm].
    """
    return _Matcher(old, new, tolerance_mm).matched()


@dataclass(eq=False, slots=True)
class _Shape:
    """Parts of one shape, each with the motions that lead to it from the first."""

    first: Drawn
    old: dict[int, list[Motion]]
    new: dict[int, list[Motion]]


class _Matcher:
    def __init__(self, old: Sequence[Drawn], new: Sequence[Drawn], tolerance_mm: float) -> None:
        self.old, self.new, self.tolerance = old, new, tolerance_mm
        self.names = tuple([given_name(d.part.name) for d in own] for own in (old, new))
        profiles = sorted({e.profile for d in (*old, *new) for e in d.part.outline.edges})
        self.figures = tuple(_Figures(own, profiles) for own in (old, new))
        self.images: dict[int, Drawn] = {}
        self.shapes = self._shapes()
        self.partners: dict[int, set[int]] = defaultdict(set)
        for shape in self.shapes:
            for i in shape.old:
                self.partners[i] |= set(shape.new)
        self.frame = self._frame()
        self.pairs: dict[int, int] = {}

    def _shapes(self) -> list[_Shape]:
        """Sort all parts by shape."""
        out: list[_Shape] = []
        marks: list[FloatArray] = []
        for which, own in enumerate((self.old, self.new)):
            for k, drawn in enumerate(own):
                mark = self.figures[which].marks[k]
                slack = self._slack(drawn)
                for n, shape in enumerate(out):
                    if (np.abs(marks[n] - mark) > slack).any():
                        continue
                    motions = motions_between(shape.first, drawn, self.tolerance)
                    if motions:
                        (shape.new if which else shape.old)[k] = motions
                        break
                else:
                    members = ({k: [STILL]}, {}) if not which else ({}, {k: [STILL]})
                    out.append(_Shape(drawn, *members))
                    marks.append(mark)
        return out

    def _frame(self) -> Motion:
        """Return the motion of most parts; of equals the one that moves least."""
        votes: list[tuple[Motion, tuple[int, int], float]] = []
        for n, shape in enumerate(self.shapes):
            for i in list(shape.old)[:_VOTERS]:
                for j in list(shape.new)[:_VOTERS]:
                    back = shape.old[i][0].inverse
                    # Of one name and shape speaks louder than of one shape alone.
                    weight = 2.0 if self._one_name(i, j) else 1.0
                    votes += [(m @ back, (n, i), weight) for m in shape.new[j]]
        if not votes:
            return STILL
        reach = max(float(np.abs(d.part.outline.path.points).max()) for d in (*self.old, *self.new))
        z = np.array([(m.turn.real, m.turn.imag, m.shift.real, m.shift.imag) for m, _, _ in votes])
        best, most = STILL, -1.0
        # Still first, so that it wins a draw.
        order = np.argsort(np.hypot(z[:, 2], z[:, 3]) + reach * np.abs(z[:, 0] - 1.0))
        tried: list[FloatArray] = []
        for k in order.tolist():
            near = np.abs(z - z[k]) @ np.array([reach, reach, 1.0, 1.0]) <= 20.0 * self.tolerance
            if any((np.abs(t - z[k]) @ np.array([reach, reach, 1.0, 1.0])) <= self.tolerance
                   for t in tried):  # fmt: skip
                continue
            tried.append(z[k])
            # A part has one voice, however many ways it fits.
            voice: dict[tuple[int, int], float] = {}
            for v in np.flatnonzero(near).tolist():
                voice[votes[v][1]] = max(voice.get(votes[v][1], 0.0), votes[v][2])
            got = sum(voice.values())
            if got > most:
                best, most = votes[k][0], got
        return best

    def _one_name(self, i: int, j: int) -> bool:
        return self.names[0][i] is not None and self.names[0][i] == self.names[1][j]

    def _least(self, i: int, j: int) -> float:
        """Return how alike two parts must be to be one."""
        named = None not in {self.names[0][i], self.names[1][j]}
        return LIKE_RENAMED if named and not self._one_name(i, j) else LIKE

    def _is_image(self, i: int, j: int) -> bool:
        """Return whether one part is the mirror image of another, which is another part.

        Not if its outline, were it bare, has stayed where it was: a rectangle whose sink or
        profiles changed sides is the same blank with other work on it.
        """
        a, b = self.old[i], self.new[j]
        if a.outline.bare.moved(self.frame).coincides(b.outline.bare, self.tolerance):
            return False
        if i not in self.images:
            self.images[i] = Drawn(mirror_image(a.part))
        return bool(motions_between(self.images[i], b, self.tolerance))

    def _slack(self, drawn: Drawn) -> FloatArray:
        """Return by how much the marks of parts of one shape may differ."""
        close = self.tolerance * (len(drawn.part.outline.path) + 8.0)
        return close * np.array([1.0, 1.0, 1.0, drawn.outline.length_mm, 1e-9, 1e-9])

    def _distance(self, i: int, j: int) -> float:
        """Return how far a part is from where the whole drawing would bring it [mm]."""
        there = self.frame.turn * self.old[i].outline.centre + self.frame.shift
        return abs(there - self.new[j].outline.centre)

    def matched(self) -> Matched:
        equal = [(i, j) for i, mates in self.partners.items() for j in sorted(mates)]
        self._take((self._distance(i, j), i, j) for i, j in equal if self._one_name(i, j))
        names = self._name_pairs()
        kept = self._kept(names)
        self.pairs |= kept
        self._take((self._distance(i, j), i, j) for i, j in equal)
        self._take((0.0, i, j) for i, j in names.items())
        old = [i for i in range(len(self.old)) if i not in self.pairs]
        taken = set(self.pairs.values())
        new = [j for j in range(len(self.new)) if j not in taken]
        likes = ((like, i, j) for i in old for j, like in self._likenesses(i, new))
        self._take((-like, i, j) for like, i, j in likes if like >= self._least(i, j))
        both = frozenset((i, j) for i, j in self.pairs.items() if j in self.partners[i])
        return Matched(dict(sorted(self.pairs.items())), both, self.frame)

    def _take(self, rows: Iterable[tuple[float, int, int]]) -> None:
        """Pair what is free, the lowest figure first."""
        taken = set(self.pairs.values())
        for _, i, j in sorted(rows):
            if i not in self.pairs and j not in taken:
                self.pairs[i] = j
                taken.add(j)

    def _name_pairs(self) -> dict[int, int]:
        """Return the free parts of one name and two shapes, the most alike together."""
        taken = set(self.pairs.values())
        free = [j for j in range(len(self.new)) if j not in taken]
        rows = sorted(
            (-like, i, j)
            for i in range(len(self.old)) if i not in self.pairs
            for j, like in self._likenesses(i, [j for j in free if self._one_name(i, j)])
        )  # fmt: skip
        out: dict[int, int] = {}
        for unlike, i, j in rows:
            if unlike <= 0.0 and i not in out and j not in out.values():
                out[i] = j
        return out

    def _kept(self, names: dict[int, int]) -> dict[int, int]:
        """Return the pairs of one name that are not a sign of new numbers."""
        free = set(range(len(self.new))) - set(self.pairs.values())
        ahead = {i: self.partners[i] & free for i in names}
        behind = {
            j: {i for i in range(len(self.old)) if i not in self.pairs and j in self.partners[i]}
            for j in names.values()
        }
        broken = {i for i, j in names.items() if ahead[i] and behind[j]}
        while True:
            # The ends of a chain of new numbers have a partner on one side only.
            more = {
                i for i, j in names.items() if i not in broken
                and (ahead[i] & {names[b] for b in broken} or behind[j] & broken)
            }  # fmt: skip
            if not more:
                return {i: j for i, j in names.items() if i not in broken}
            broken |= more

    def _likenesses(self, i: int, those: Sequence[int]) -> list[tuple[int, float]]:
        """Return how alike an old part and new ones are, from 0 to 1; more where they lie together.

        Mirror images are -1: they are other parts.
        """
        if not those:
            return []
        rows = np.array(those)
        a, b = self.figures
        size = np.minimum(a.sizes[i], b.sizes[rows]) / np.maximum(
            np.maximum(a.sizes[i], b.sizes[rows]), 1e-9
        )
        both = np.minimum(a.lengths[i], b.lengths[rows]).sum(axis=1)
        shared = both / np.maximum(a.around[i], b.around[rows])
        odd = 1.0 / (1.0 + np.abs(a.openings[i] - b.openings[rows]))
        there = self.frame.turn * a.centres[i] + self.frame.shift
        far = np.abs(there - b.centres[rows]) / np.maximum(a.around[i], b.around[rows])
        likes = 0.5 * size.mean(axis=1) + 0.25 * shared + 0.1 * odd + 0.15 / (1.0 + far)
        slack = self._slack(self.old[i])
        for k in np.flatnonzero((np.abs(a.marks[i] - b.marks[rows]) <= slack).all(axis=1)).tolist():
            if self._is_image(i, those[k]):
                likes[k] = -1.0
        return list(zip(those, likes.tolist(), strict=True))


class _Figures:
    """Figures of the parts of a revision, by which likeness is judged, a row for each."""

    def __init__(self, parts: Sequence[Drawn], profiles: Sequence[str]) -> None:
        self.sizes = np.array([_sizes(d.part) for d in parts])
        self.marks = np.array([_marks(d.part) for d in parts])
        self.centres = np.array([d.outline.centre for d in parts])
        self.around = np.array([d.part.outline_mm for d in parts])
        self.openings = np.array([len(d.part.cutouts) + len(d.part.holes) for d in parts])
        self.lengths = np.zeros((len(parts), len(profiles)))
        column = {profile: k for k, profile in enumerate(profiles)}
        for row, drawn in zip(self.lengths, parts, strict=True):
            for edge in drawn.part.outline.edges:
                row[column[edge.profile]] += edge.length_mm


def _sizes(part: Part) -> FloatArray:
    """Return area, length around, and spread along and across the long axis, however it lies."""
    points = part.outline.path.points
    values = np.linalg.eigvalsh(np.cov((points - points.mean(axis=0)).T))
    return np.array([part.area_gross_mm2, part.outline_mm, *np.sqrt(np.maximum(values, 0.0))])


def _marks(part: Part) -> FloatArray:
    """Return figures that do not depend on where a part lies, in the order of the slack."""
    unfinished = sum(e.length_mm for e in part.outline.edges if e.profile == "unfinished")
    openings = sum(c.perimeter_mm for c in part.cutouts)
    return np.array(
        [
            part.outline_mm, unfinished, openings, part.area_gross_mm2,
            float(len(part.cutouts)), float(len(part.holes)),
        ]
    )  # fmt: skip
