"""What surrounds a path at a distance: its parallels, and the discs about its corners."""

from __future__ import annotations

from typing import Final

import numpy as np

from edgetime.geometry.measure import corner_turns
from edgetime.geometry.near import uncovered
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import Segments
from edgetime.tolerances import ZERO_LENGTH_MM

ROLL_MM: Final = 1e-8
"""A rolled arc shorter than this is the rounding of a tangent joint [mm]."""


def shifted(table: Segments, d: float, at: float) -> FloatArray:
    """Return the starts (at 0) or ends (at 1) moved to the right by d (n, 2) [mm]."""
    angle = table.direction(np.full(len(table), at))
    base = table.start if at == 0.0 else table.end
    return np.asarray(base + d * np.column_stack([np.sin(angle), -np.cos(angle)]))


def corners(source: Segments, *, closed: bool) -> FloatArray:
    """Return the corner turns; one straight back counts as opening to the right [rad]."""
    path = Path(
        np.vstack([source.start, source.end[-1:]]),
        source.bulge,
        np.zeros(len(source)),
        closed,
        np.zeros(len(source), dtype=np.int64),
    )
    # A turn straight back may come out with either sign; it is rolled about the outside.
    tau = corner_turns(path)
    return np.asarray(np.where(tau < 1e-9 - np.pi, np.pi, tau))


def vertices(path: Path) -> FloatArray:
    """Return the vertices, each once."""
    return path.points[:-1] if path.closed else path.points


def all_round(path: Path, d: float, *, bare: bool) -> Segments:
    """Return the borders of everything within d of an open path or an obstacle: both sides.

    Parameters
    ----------
    path : Path
        Open or closed.
    d : float
        Distance, positive [mm].
    bare : bool
        Whether to leave out what vertices nearby rule out, worth it for long paths.
    """
    table = Segments.of(path)
    live = np.flatnonzero(table.lengths > ZERO_LENGTH_MM)
    table = table.take(live)
    out: list[Segments] = []
    own: list[IntArray] = []
    for side in (d, -d):
        # An arc bent more tightly than the distance has no parallel on its inner side.
        room = 1.0 + side * table.curvature
        keep = room > 0.0
        moved = Segments(shifted(table, side, 0.0), shifted(table, side, 1.0), table.bulge)
        out.append(moved.take(keep))
        own.append(live[keep])
    # A full disc about a corner, of either hand, and about a free end; where the path is
    # tangent the parallels meet by themselves.
    tau = corners(table, closed=path.closed)
    corner = np.flatnonzero(np.abs(tau) * d > ROLL_MM)
    if not path.closed:
        corner = np.union1d(corner, [len(tau) - 1])
    centre, at = table.end[corner], live[corner] + 1
    if not path.closed:
        centre, at = np.vstack([table.start[:1], centre]), np.append(live[:1], at)
    east, west = centre + np.array([d, 0.0]), centre - np.array([d, 0.0])
    ones = np.ones(len(centre))
    out += [Segments(east, west, ones), Segments(west, east, ones)]
    own += [at, at]
    every = Segments.stack(out)
    if not bare:
        return every
    pivot = np.arange(len(every)) >= len(every) - 2 * len(at)
    low, high = uncovered(every, np.concatenate(own), pivot, vertices(path), d)
    left = high > low
    return every.take(left).between(low[left], high[left])
