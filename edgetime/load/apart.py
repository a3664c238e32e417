"""Pieces of a part divided by a seam, and how they are laid apart to work on its sides."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.errors import UsageError, Where
from edgetime.geometry.measure import bounds
from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import Segments
from edgetime.load.moved import moved_part
from edgetime.takeoff.parts import Part

MAX_APART_MM: Final = 5000.0
"""No table has room for a wider gap between two pieces [mm]."""

TOUCH_MM: Final = 5.0
"""Two seam edges this near to one another are the sides of one seam [mm]: pieces are drawn
edge to edge, or with the gap of the joint, which is 1 to 3 mm (common practice, no source)."""

OPPOSITE: Final = -0.9
"""Cosine between the directions of the two sides of a seam, at most [-]."""

_ROUNDS: Final = 50
"""Gaps that contradict one another are not mended further."""


@dataclass(frozen=True, slots=True)
class SeamPair:
    """Two pieces that meet in a seam.

    Attributes
    ----------
    first, second : int
        Indices of the parts.
    across : (float, float)
        Unit vector across the seam, from the first to the second.
    """

    first: int
    second: int
    across: tuple[float, float]


def _sides(part: Part, seams: Collection[str]) -> Segments:
    """Return the seam edges of a part's outline."""
    table = Segments.of(part.outline.path)
    rows = [k for e in part.outline.edges if e.profile in seams for k in range(e.first, e.stop)]
    return table.take(np.array(rows, dtype=np.int64))


def _facing(side: Segments, other: Segments) -> FloatArray:
    """Return the sum of the outward normals, by length, of segments that face another's (2,)."""
    n, m = len(side), len(other)
    middle = side.point(np.full(n, 0.5))
    i, j = np.repeat(np.arange(n), m), np.tile(np.arange(m), n)
    near = other.take(j).distance(middle[i, 0], middle[i, 1]) <= TOUCH_MM
    heading, facing = side.heading, other.heading
    near &= np.cos(heading[i] - facing[j]) <= OPPOSITE
    rows = np.unique(i[near])
    # The stone is on the left, so the air is on the right of the direction.
    outward = np.column_stack([np.sin(heading[rows]), -np.cos(heading[rows])])
    return np.asarray((outward * side.lengths[rows, None]).sum(axis=0))


def seam_pairs(parts: Sequence[Part], seams: Collection[str]) -> list[SeamPair]:
    """Return the parts that meet in a seam, as those do that a seam divides."""
    sides = {k: _sides(p, seams) for k, p in enumerate(parts)}
    sides = {k: side for k, side in sides.items() if len(side)}
    boxes = {k: np.array(bounds(parts[k].outline.path)) for k in sides}
    out: list[SeamPair] = []
    for i in sides:
        for j in sides:
            apart = np.maximum(boxes[i][:2] - boxes[j][2:], boxes[j][:2] - boxes[i][2:])
            if j <= i or parts[i].drawing != parts[j].drawing or apart.max() > TOUCH_MM:
                continue
            across = _facing(sides[i], sides[j]) - _facing(sides[j], sides[i])
            length = float(np.hypot(*across))
            if length > 0.0:
                out.append(SeamPair(i, j, (across[0] / length, across[1] / length)))
    return out


def _running(parts: Sequence[Part], pairs: Sequence[SeamPair]) -> list[int]:
    """Return the pieces so that each but the first of its part meets one before it.

    The first is the lowest, then the leftmost: the others move up and to the right, into the
    table.
    """
    near: dict[int, list[int]] = {}
    for pair in pairs:
        near.setdefault(pair.first, []).append(pair.second)
        near.setdefault(pair.second, []).append(pair.first)
    corner = {k: bounds(parts[k].outline.path)[1::-1] for k in near}
    out: list[int] = []
    for root in sorted(near, key=lambda k: corner[k]):
        waiting = deque([root])
        while waiting:
            piece = waiting.popleft()
            if piece not in out:
                out.append(piece)
                waiting.extend(sorted(near[piece], key=lambda k: corner[k]))
    return out


def laid_apart(parts: Sequence[Part], gap_mm: float, seams: Collection[str]) -> tuple[Part, ...]:
    """Return parts with the pieces that meet in a seam moved apart, across the seam.

    Parameters
    ----------
    parts : sequence of Part
        Where they are drawn.
    gap_mm : float
        Between the two sides of each seam, more than they are apart already [mm].
    seams : collection of str
        Names of the profiles that are seams.

    Raises
    ------
    UsageError
        The gap is not a length, or larger than any table.
    """
    if not 0.0 < gap_mm <= MAX_APART_MM:
        raise UsageError(
            f"The gap between parts is {gap_mm:g} mm; it may be up to {MAX_APART_MM:g} mm.",
            where=Where(key="--apart"),
            remedy="Give the gap in millimetres, or with its unit.",
        )
    pairs = seam_pairs(parts, seams)
    order = {piece: k for k, piece in enumerate(_running(parts, pairs))}
    shift = {piece: np.zeros(2) for piece in order}
    # Opening one seam may close another: parts later in the run give way until all are open.
    for _ in range(_ROUNDS):
        moved = False
        for pair in sorted(pairs, key=lambda p: max(order[p.first], order[p.second])):
            across = np.array(pair.across)
            lacks = gap_mm - float((shift[pair.second] - shift[pair.first]) @ across)
            if lacks <= 1e-9 * gap_mm:
                continue
            moved = True
            if order[pair.second] > order[pair.first]:
                shift[pair.second] = shift[pair.second] + lacks * across
            else:
                shift[pair.first] = shift[pair.first] - lacks * across
        if not moved:
            break
    still = np.eye(2)
    return tuple(
        moved_part(p, still, shift[k]) if k in shift and shift[k].any() else p
        for k, p in enumerate(parts)
    )
