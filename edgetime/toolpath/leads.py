"""How a tool comes to the edge and leaves it: overruns and leads that do not gouge.

Everything a tool may do beside the edge is tried in its full size first and halved until its
centre keeps the pass's distance from every contour of the part; what never fits is left out,
and the tool goes down on the edge line itself. All places of a load are tried together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.columns import Columns
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.toolpath.distance import nearest_within

QUARTER_TURN: Final = -np.tan(np.pi / 8.0)
"""Bulge of a quarter circle to the right: the stone is on the left, leads turn away from it."""

LEAST_LEAD_MM: Final = 1.0
"""A smaller lead no longer parts the tool from the edge; it is left out [mm]."""

_HALVINGS: Final = 4
"""The smallest lead tried is a sixteenth of the one asked for."""

_SLACK_MM: Final = 1e-7
"""By so much a lead may seem nearer than allowed, for rounding alone [mm]."""


@dataclass(frozen=True, eq=False)
class Ground:
    """The contours of all parts, each segment with the number of the ground it belongs to.

    Attributes
    ----------
    segments : Segments
        m rows.
    owner : (m,) integer array
        Part and side, numbered together.
    """

    segments: Segments
    owner: IntArray

    def distance(self, lines: Segments, owner: IntArray, need: FloatArray) -> FloatArray:
        """Return the distance of lines from their own part, infinite at ``need`` or more."""
        away, _ = nearest_within(lines, need, self.segments, lambda i, j: owner[i] == self.owner[j])
        return away

    def clear(self, lines: Segments, owner: IntArray, need: FloatArray) -> BoolArray:
        """Return whether lines keep a distance from their own part."""
        return np.asarray(
            self.distance(lines, owner, need - _SLACK_MM) >= need - _SLACK_MM, dtype=np.bool_
        )


@dataclass(frozen=True, eq=False)
class Spots(Columns):
    """Places where tools come to an edge (n rows).

    Attributes
    ----------
    point : (n, 2) array
        Where the centre line begins or ends [mm].
    along : (n, 2) array
        Unit vector from there away from the line, along its tangent [-].
    air : (n, 2) array
        Unit vector into the air [-].
    owner : (n,) integer array
        Number of the ground.
    need : (n,) array
        Distance the centre keeps from the stone [mm].
    """

    point: FloatArray
    along: FloatArray
    air: FloatArray
    owner: IntArray
    need: FloatArray

    def moved(self, distance: FloatArray) -> Spots:
        """Return the spots moved along their tangents."""
        point = self.point + distance[:, None] * self.along
        return Spots(point, self.along, self.air, self.owner, self.need)


def overrun(spots: Spots, size: FloatArray) -> Segments:
    """Return the straight lines from each spot on along its tangent."""
    return Segments(spots.point, spots.point + size[:, None] * spots.along, np.zeros(len(spots)))


def lead(spots: Spots, size: FloatArray, arc: BoolArray) -> Segments:
    """Return the leads from each spot outward: a tangent quarter arc or a straight line.

    The arc runs out along the tangent and turns to the right into the air (for a lead in, run
    backward, it is the mirror image: it turns to the left).
    """
    reach = size[:, None]
    end = spots.point + reach * spots.air
    end = np.where(arc[:, None], end + reach * spots.along, end)
    # Whether air is to the right of "along" tells a lead out from a lead in.
    right = spots.along[:, 1] * spots.air[:, 0] - spots.along[:, 0] * spots.air[:, 1] > 0.0
    bulge = np.where(right, QUARTER_TURN, -QUARTER_TURN)
    return Segments(spots.point, end, np.where(arc, bulge, 0.0))


def fit(
    spots: Spots,
    size: FloatArray,
    least: float,
    ground: Ground,
    shape: Callable[[Spots, FloatArray, IntArray], Segments],
) -> FloatArray:
    """Return the greatest of size, size/2, size/4 … that keeps clear of the stone, else 0.

    Parameters
    ----------
    spots : Spots
        n rows.
    size : (n,) array
        Asked for [mm].
    least : float
        Less than this is none [mm].
    ground : Ground
        The stone.
    shape : callable
        Given spots, their sizes and their row numbers, returns the lines to be kept clear.

    Returns
    -------
    (n,) array
        [mm].
    """
    out = np.zeros(len(spots))
    pending = np.flatnonzero(size >= least)
    trial = size.copy()
    for _ in range(_HALVINGS + 1):
        if not len(pending):
            break
        some = spots.take(pending)
        lines = shape(some, trial[pending], pending)
        good = ground.clear(lines, some.owner, some.need)
        out[pending[good]] = trial[pending[good]]
        pending = pending[~good]
        # A shorter lead is better than none, and how short it must be need not be exact.
        trial[pending] *= 0.5
        pending = pending[trial[pending] >= least]
    return out
