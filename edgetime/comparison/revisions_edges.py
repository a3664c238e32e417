"""What became of the sides of a contour from one revision to the next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.comparison.revisions_motion import on, places_on
from edgetime.comparison.revisions_sides import Side
from edgetime.geometry.segments import Segments

_PARALLEL_RAD: Final = 0.02
"""Straights that differ less in direction may be one straight, moved [rad]."""


@dataclass(frozen=True, eq=False, slots=True)
class SidePair:
    """A side before and after; one is None where it was added or has gone."""

    old: Side | None
    new: Side | None


def pair_sides(old: Sequence[Side], new: Sequence[Side], tolerance_mm: float) -> list[SidePair]:
    """Pair the sides of two contours that lie on one another as well as they do.

    First those that share most of their line, then parallel ones and curves by likeness; a side is
    in one pair.
    """
    shared = [
        (_shared(a, b, tolerance_mm), i, j) for i, a in enumerate(old) for j, b in enumerate(new)
    ]
    mates = _greedy((s, i, j) for s, i, j in shared if s > 2.0 * tolerance_mm)
    left = [i for i in range(len(old)) if i not in mates]
    free = sorted(set(range(len(new))) - set(mates.values()))
    like = [(_likeness(old[i], new[j]), i, j) for i in left for j in free]
    mates |= _greedy(row for row in like if row[0] > 0.0)
    taken = set(mates.values())
    back = {j: i for i, j in mates.items()}
    pairs = [SidePair(old[back[j]] if j in back else None, new[j]) for j in range(len(new))]
    pairs += [SidePair(old[i], None) for i in range(len(old)) if i not in mates]
    assert len(taken) == len(mates)  # noqa: S101  one to one
    return pairs


def _greedy(rows: Iterable[tuple[float, int, int]]) -> dict[int, int]:
    out: dict[int, int] = {}
    taken: set[int] = set()
    for _, i, j in sorted(rows, key=lambda row: (-row[0], row[1], row[2])):
        if i not in out and j not in taken:
            out[i] = j
            taken.add(j)
    return out


def _shared(a: Side, b: Side, tolerance_mm: float) -> float:
    """Return about how much of two sides lies on one another [mm]."""
    if a.straight != b.straight:
        return 0.0
    mine = on(a.places, Segments.of(b.path), tolerance_mm).mean() * a.length_mm
    its = on(b.places, Segments.of(a.path), tolerance_mm).mean() * b.length_mm
    return float(max(mine, its))


def _likeness(a: Side, b: Side) -> float:
    """Return how likely one side became the other: 0 for not at all."""
    if a.straight != b.straight:
        return 0.0
    if a.straight:
        way = [complex(*(s.path.points[-1] - s.path.points[0])) for s in (a, b)]
        if abs(np.angle(way[1] / way[0])) > _PARALLEL_RAD:
            return 0.0
    apart = float(np.hypot(*np.subtract(a.middle, b.middle)))
    size = max(a.length_mm, b.length_mm)
    alike = min(a.length_mm, b.length_mm) / size
    return (1.0 + (a.profile == b.profile)) * alike / (1.0 + apart / size)


def lies_on(a: Side, b: Side, tolerance_mm: float) -> bool:
    """Whether two sides are the same line."""
    return bool(
        on(places_on(Segments.of(a.path)), Segments.of(b.path), tolerance_mm).all()
        and on(places_on(Segments.of(b.path)), Segments.of(a.path), tolerance_mm).all()
    )


def changed_pairs(pairs: Iterable[SidePair], tolerance_mm: float) -> Iterator[SidePair]:
    """Return the pairs whose sides differ in profile, length or place."""
    for pair in pairs:
        if (
            pair.old is None
            or pair.new is None
            or pair.old.profile != pair.new.profile
            or not lies_on(pair.old, pair.new, tolerance_mm)
        ):
            yield pair
