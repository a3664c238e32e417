"""Where a tool may come to a run: places along it, and where it then goes down and up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.measure import start_directions, vertex_positions
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import Segments
from edgetime.tolerances import COINCIDENT_MM, STRAIGHT_BULGE

STARTS_MOST: Final = 8
"""A closed run is offered this many straights to begin on; more bring next to nothing."""

DIRECTIONS: Final = 24
"""On curves the places whose normals point in this many directions are offered, every 15°: on a
table of 900 mm the best of all starts is no more than 4 mm nearer to anything outside it."""

_TO_THE_RIGHT: Final = np.array([1.0, -1.0])
"""Turns (y, x) of a unit vector into the one to its right, where the air is."""


@dataclass(frozen=True, eq=False)
class Places:
    """Places along a run (c rows).

    Attributes
    ----------
    at : (c,) array
        Positions along the run [mm]; NaN where the tool path decides.
    point, tangent : (c, 2) array
        Places [mm] and unit vectors along the edge [-].
    curvature : (c,) array or None
        Of the edge, positive to the left [1/mm]; None where it is straight.
    """

    at: FloatArray
    point: FloatArray
    tangent: FloatArray
    curvature: FloatArray | None = None

    def __len__(self) -> int:
        return len(self.at)

    def beside(self, along_mm: float, out_mm: float) -> FloatArray:
        """Return where one comes to along the tangent and then square to it into the air [mm]."""
        air = self.tangent[:, ::-1] * _TO_THE_RIGHT
        return np.asarray(self.point + along_mm * self.tangent + out_mm * air)

    def moved(self, along_mm: float) -> Places:
        """Return the places moved along the edge, on their curvature [mm]."""
        if along_mm == 0.0 or self.curvature is None:
            return Places(self.at, self.point + along_mm * self.tangent, self.tangent)
        turn = self.curvature * along_mm
        angle = np.arctan2(self.tangent[:, 1], self.tangent[:, 0])
        # A chord of an arc: its length is sinc of half the turn times the way.
        chord = along_mm * np.sinc(0.5 * turn / math.pi)
        return Places(
            self.at,
            self.point + chord[:, None] * _unit(angle + 0.5 * turn),
            _unit(angle + turn),
        )


def _unit(angle: FloatArray) -> FloatArray:
    return np.column_stack([np.cos(angle), np.sin(angle)])


def _outermost(points: FloatArray, count: int) -> IntArray:
    """Return the rows that lie furthest in any of this many directions, ascending."""
    angle = 2.0 * math.pi * np.arange(count) / count
    # One of the outermost in many directions is all but the nearest to any place outside.
    away = points @ np.vstack([np.cos(angle), np.sin(angle)])
    return np.unique(np.argmax(away, axis=0))


def _on_straights(path: Path, rows: IntArray, most: int = STARTS_MOST) -> Places:
    """Return the middles of straight segments."""
    if len(rows) > most:
        middles = 0.5 * (path.points[rows] + path.points[rows + 1])
        rows = rows[_outermost(middles, most)]
    a, b = path.points[rows], path.points[rows + 1]
    step = b - a
    at = vertex_positions(path)[rows] + 0.5 * path.lengths[rows]
    return Places(at, 0.5 * (a + b), step / np.hypot(step[:, 0], step[:, 1])[:, None])


def _on_curves(path: Path, rows: IntArray) -> Places:
    """Return places on arcs whose directions are those of the table, wherever the arcs begin."""
    table = Segments.of(path).take(rows)
    begin, turn = start_directions(path)[rows], table.turn
    step = 2.0 * math.pi / DIRECTIONS
    first = np.where(turn > 0.0, begin, begin + turn)
    lowest = np.ceil(first / step - 1e-9).astype(np.int64)
    highest = np.floor((first + np.abs(turn)) / step + 1e-9).astype(np.int64)
    count = np.maximum(highest - lowest + 1, 0)
    row = np.repeat(np.arange(len(rows)), count)
    number = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count) + lowest[row]
    angle = number * step
    if not len(row):
        # Arcs too short for any of the directions: their middles.
        row, angle = np.arange(len(rows)), begin + 0.5 * turn
    fraction = np.clip((angle - begin[row]) / turn[row], 0.0, 1.0)
    some = table.take(row)
    point = some.point(fraction)
    # A place beside a joint is the joint: no piece may be left that is too short to run along.
    length = path.lengths[rows[row]]
    fraction = np.where(fraction * length <= COINCIDENT_MM, 0.0, fraction)
    fraction = np.where((1.0 - fraction) * length <= COINCIDENT_MM, 1.0, fraction)
    at = vertex_positions(path)[rows[row]] + fraction * length
    best = _outermost(point, DIRECTIONS)
    return Places(at[best], point[best], _unit(angle[best]), 1.0 / some.radius[best])


def places(path: Path, room_mm: float) -> Places:
    """Return the places where a tool may come to a closed run.

    They are the middles of straights that have the room; without any, places on arcs; without
    arcs, the middles of the longer straights. They depend on the edge alone, not on where its
    drawing begins.

    Parameters
    ----------
    path : Path
        Closed.
    room_mm : float
        Length of a straight with room for a lead on both sides of its middle [mm].
    """
    straight = np.abs(path.bulges) <= STRAIGHT_BULGE
    chosen = np.flatnonzero(straight & (path.lengths >= room_mm))
    if len(chosen):
        return _on_straights(path, chosen)
    curved = np.flatnonzero(~straight)
    if len(curved):
        radius = np.abs(Segments.of(path).radius[curved])
        wide = curved[radius >= 0.5 * room_mm]
        return _on_curves(path, wide if len(wide) else curved)
    # A curve drawn as chords, or a small polygon: the shorter pieces are its corners.
    long = np.flatnonzero(path.lengths >= 0.5 * path.lengths.max())
    return _on_straights(path, long, DIRECTIONS)
