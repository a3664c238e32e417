"""Pieces: the segments of a whole drawing as one table, with where each came from.

The geometry is that of :mod:`edgetime.geometry.segments`; a piece adds the exact length of
the curve it represents, its entity, and the entity whose layer gives it its profile.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from edgetime.columns import Columns
from edgetime.geometry.measure import segment_areas
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray, Segments


@dataclass(frozen=True, eq=False)
class Pieces(Columns):
    """Rows of pieces.

    Attributes
    ----------
    start, end : (n, 2) array
        Ends [mm].
    bulge : (n,) array
        Tangent of a quarter of the turn [-].
    length : (n,) array
        Exact length of the curve the piece represents [mm].
    entity : (n,) integer array
        The entity it is a piece of; the bridge over a gap belongs to one beside it.
    label : (n,) integer array
        The entity whose layer gives its profile, -1 for none.
    """

    start: FloatArray
    end: FloatArray
    bulge: FloatArray
    length: FloatArray
    entity: IntArray
    label: IntArray

    @cached_property
    def shape(self) -> Segments:
        """The bare segments."""
        return Segments(self.start, self.end, self.bulge)

    @property
    def claim(self) -> IntArray:
        """The entity whose layer gives each row its profile, its own where nothing else does."""
        return np.asarray(np.where(self.label >= 0, self.label, self.entity))

    def turned(self, mask: BoolArray) -> Pieces:
        """Return the same rows, those of the mask run the other way (order unchanged)."""
        return replace(
            self,
            start=np.where(mask[:, None], self.end, self.start),
            end=np.where(mask[:, None], self.start, self.end),
            bulge=np.where(mask, -self.bulge, self.bulge),
        )

    def reversed(self) -> Pieces:
        """Return the chain of all rows run the other way."""
        return self.turned(np.ones(len(self), dtype=np.bool_)).take(np.s_[::-1])

    def part(self, rows: IntArray, low: FloatArray, high: FloatArray) -> Pieces:
        """Return the stretches between two fractions of length of the given rows."""
        base = self.take(rows)
        own, length = base.shape.between(low, high), base.length * (high - low)
        return replace(base, start=own.start, end=own.end, bulge=own.bulge, length=length)

    def moved(self, shift: FloatArray) -> Pieces:
        """Return the rows shifted by a vector, or by one vector a row [mm]."""
        return replace(self, start=self.start + shift, end=self.end + shift)

    def doubled_areas(self) -> FloatArray:
        """Return twice what each row adds to the area of its closed chain [mm²].

        The triangle with the origin, and the area between arc and chord.
        """
        cross = self.start[:, 0] * self.end[:, 1] - self.start[:, 1] * self.end[:, 0]
        return np.asarray(cross + 2.0 * segment_areas(self.shape))


def enclosed_area(chain: Pieces) -> float:
    """Return the signed area of one closed chain [mm²], positive counter-clockwise."""
    return 0.5 * float(chain.moved(-chain.start[0]).doubled_areas().sum())


def between_marks(
    rows: Iterable[int], marks: Mapping[int, Collection[float]]
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return rows in parts: row, begin and end of each part, between fractions marked on it."""
    row: list[int] = []
    low: list[float] = []
    high: list[float] = []
    for r in rows:
        at = [0.0, *sorted(marks.get(r, ())), 1.0]
        row += [r] * (len(at) - 1)
        low += at[:-1]
        high += at[1:]
    return np.array(row, dtype=np.int64), np.array(low), np.array(high)
