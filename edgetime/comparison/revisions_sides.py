"""Sides of contours.

A side is what a fabricator calls an edge: one straight or one curve between corners, with one
profile. It does not depend on how a drawing divides its lines.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.measure import corner_turns, point_at
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments
from edgetime.takeoff import Contour

_CORNER_MM: Final = 0.02
"""A vertex this near to the straight through its neighbours is none [mm]: far above the rounding
of coordinates, far below any corner that is meant."""

_SMOOTH_RAD: Final = 0.03
"""Arcs that meet with less of a turn are one curve [rad]: splines and ellipses are many arcs."""

_STRAIGHT_MM: Final = 0.005
"""A segment that rises less above its chord is straight [mm]."""

_SAMPLES: Final = 33


@dataclass(frozen=True, eq=False, slots=True)
class Side:
    """A straight or a curve of a contour, with one profile.

    Attributes
    ----------
    profile : str
        Its profile.
    path : Path
        Its line.
    straight : bool
        Whether it is straight.
    """

    profile: str
    path: Path
    straight: bool

    @property
    def length_mm(self) -> float:
        """Exact length [mm]."""
        return self.path.length_mm

    @property
    def middle(self) -> tuple[float, float]:
        """Its middle [mm]."""
        x, y = point_at(self.path, [0.5 * self.length_mm])[0].tolist()
        return x, y

    @property
    def places(self) -> FloatArray:
        """Places spread evenly along it (33, 2) [mm]."""
        # Not on its very ends: neighbours touch there.
        along = (np.arange(_SAMPLES) + 0.5) / _SAMPLES * self.length_mm
        return point_at(self.path, along)


def sides_of(contour: Contour) -> list[Side]:
    """Return the sides of a contour, in order around it.

    Their lengths add up to that of the contour, and by profile to those of its edges.
    """
    path = contour.path
    count = len(path)
    profile = [""] * count
    for edge in contour.edges:
        profile[edge.first : edge.stop] = [edge.profile] * (edge.stop - edge.first)
    table = Segments.of(path)
    bent = np.abs(0.5 * table.bulge * table.chord) > _STRAIGHT_MM
    turns = np.abs(corner_turns(path))
    chord, after = table.chord, np.roll(table.chord, -1)
    # How far the vertex between two segments is off the straight through their other ends.
    off = turns * chord * after / np.maximum(chord + after, 1e-9)
    smooth = np.where(bent, (turns < _SMOOTH_RAD) | (off < _CORNER_MM), off < _CORNER_MM)
    joined = [
        bool(smooth[k])
        and bool(bent[k] == bent[(k + 1) % count])
        and profile[k] == profile[(k + 1) % count]
        for k in range(count)
    ]
    if all(joined):
        return [Side(profile[0], path, not bool(bent[0]))]
    # Begin behind a corner, so that no side runs over the start of the path.
    first = next(k for k in range(count) if not joined[k]) + 1
    out: list[Side] = []
    run: list[int] = []
    for step in range(count):
        k = (first + step) % count
        run.append(k)
        if not joined[k]:
            out.append(_side(path, run, profile[k], straight=not bool(bent[k])))
            run = []
    return out


def _side(path: Path, run: list[int], profile: str, *, straight: bool) -> Side:
    rows = np.array(run)
    points = np.vstack([path.points[rows[:1]], path.points[rows + 1]])
    return Side(
        profile,
        Path(points, path.bulges[rows], path.lengths[rows], closed=False, tags=path.tags[rows]),
        straight,
    )
