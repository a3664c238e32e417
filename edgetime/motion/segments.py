"""The segments that are planned, and the pieces of the moves that lie on them.

A stretch without blends is one segment. A blend is a separate segment, and shortens the
stretches on its two sides by what it rounds off; a move beside a blend has a piece on it, the
half on its own side of the corner.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from edgetime.motion._arrays import FloatArray, IntArray
from edgetime.motion.caps import Caps
from edgetime.motion.corners import Blends
from edgetime.motion.stretches import running_sums

_NOTHING_MM: Final = 1e-9
"""What two blends leave between them counts as nothing below this: rounding of their cuts."""


@dataclass(frozen=True, eq=False)
class Chain:
    """m segments with their m + 1 vertices, and p pieces of the r rows that have length.

    Attributes
    ----------
    rows : (r,) integer array
        Rows of the table with a length.
    caps : Caps
        Bounds along the segments.
    span : (m,) array
        Lengths of the segments [mm].
    vertex_speed : (m + 1,) array
        Bounds at the vertices [mm/s]; 0 where the tool stands still.
    row, segment : (p,) integer array
        Index into ``rows`` and segment of each piece, both ascending.
    length : (p,) array
        Length of each piece as it is run [mm].
    programmed : (p,) array
        Length of the move that it represents [mm]; more than ``length`` on a blend.
    """

    rows: IntArray
    caps: Caps
    span: FloatArray
    vertex_speed: FloatArray
    row: IntArray
    segment: IntArray
    length: FloatArray
    programmed: FloatArray

    def bounded(self, speed: FloatArray, vertex_speed: FloatArray) -> Chain:
        """Return the chain with other bounds on the speed."""
        caps = Caps(speed, self.caps.acceleration, self.caps.jerk)
        return replace(self, caps=caps, vertex_speed=vertex_speed)


def laid_out(
    rows: IntArray,
    length: FloatArray,
    stretch: IntArray,
    whole: tuple[Caps, FloatArray],
    corner: IntArray,
    *,
    inner: FloatArray | None = None,
    blends: Blends | None = None,
) -> Chain:
    """Lay out the segments of stretches and blends.

    Parameters
    ----------
    rows : (r,) integer array
        Rows of the table with a length.
    length : (r,) array
        Their lengths [mm].
    stretch : (r,) integer array
        Stretch of each of them, ascending.
    whole : (Caps, (s,) array)
        Bounds of the stretches and their lengths [mm].
    corner : (b,) integer array
        Stretches that end in a blend.
    inner : (s - 1,) array, optional
        Bounds at the joins of the stretches [mm/s].
    blends : Blends, optional
        Of those corners.
    """
    caps, long = whole
    ends = np.zeros(1)
    inner = np.zeros(0) if inner is None else inner
    if blends is None or not len(corner):
        vertex = np.concatenate([ends, inner, ends])[: len(long) + 1]
        each = np.arange(len(rows))
        return Chain(rows, caps, long, vertex, each, stretch, length, length)

    s = len(long)
    before, behind = np.zeros(s), np.zeros(s)
    behind[corner], before[corner + 1] = blends.cut, blends.cut
    left = np.maximum(long - before - behind, 0.0)
    # Stretches and joins alternate; what is no segment drops out.
    kept = np.zeros(2 * s - 1, dtype=np.bool_)
    kept[::2] = (left > _NOTHING_MM) | (before == 0.0) | (behind == 0.0)
    kept[2 * corner + 1] = True
    number = np.cumsum(kept) - 1

    def column(stretches: FloatArray, arcs: FloatArray) -> FloatArray:
        out = np.zeros(2 * s - 1)
        out[::2], out[2 * corner + 1] = stretches, arcs
        return out[kept]

    joint = np.full(2 * s - 1, np.inf)
    joint[2::2] = inner
    joint[0] = 0.0
    vertex = np.concatenate([joint[kept], ends])
    # A blend is shorter than the two bits it replaces; the share of each move in it shrinks alike.
    ratio = blends.length / (2.0 * blends.cut)
    shrink_before, shrink_behind = np.ones(s), np.ones(s)
    shrink_behind[corner], shrink_before[corner + 1] = ratio, ratio

    since = running_sums(stretch, length) - length
    until = (running_sums(stretch[::-1], length[::-1]) - length[::-1])[::-1]
    parts = np.zeros((len(rows), 3))
    parts[:, 0] = np.minimum(np.maximum(before[stretch] - since, 0.0), length)
    parts[:, 2] = np.minimum(np.maximum(behind[stretch] - until, 0.0), length - parts[:, 0])
    parts[:, 1] = length - parts[:, 0] - parts[:, 2]
    parts[:, 1][parts[:, 1] <= _NOTHING_MM] = 0.0
    run = parts.copy()
    run[:, 0] *= shrink_before[stretch]
    run[:, 2] *= shrink_behind[stretch]
    place = np.column_stack([2 * stretch - 1, 2 * stretch, 2 * stretch + 1])
    row = np.repeat(np.arange(len(rows)), 3)
    taken = (parts > 0.0).ravel()
    taken &= kept[np.clip(place.ravel(), 0, 2 * s - 2)]
    return Chain(
        rows=rows,
        caps=Caps(
            column(caps.speed, blends.caps.speed),
            column(caps.acceleration, blends.caps.acceleration),
            column(caps.jerk, blends.caps.jerk),
        ),
        span=column(left, blends.length),
        vertex_speed=vertex,
        row=row[taken],
        segment=number[place.ravel()[taken]],
        length=run.ravel()[taken],
        programmed=parts.ravel()[taken],
    )
