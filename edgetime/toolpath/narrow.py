"""Places that no rounding of corners opens to a wheel: slots, necks, tapers, notches."""

from __future__ import annotations

import math
from functools import cached_property
from typing import Final

import numpy as np

from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.measure import corner_turns, direction_at, locate, point_at, vertex_positions
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments, wrapped_angle
from edgetime.tolerances import COINCIDENT_MM, CONTOUR_MM, TANGENT_RAD
from edgetime.toolpath.distance import closest

TAPER_RAD: Final = math.radians(135.0)
"""Sides that turn towards each other by more than this enclose a narrow place, not a corner
[rad]: the two corners at the end of a slot, or a point sharper than 45°. An arc of the wheel's
radius there would fill the opening by more than the wheel's diameter."""

FIT_SLACK_MM: Final = CONTOUR_MM
"""A wheel fits where it would enter the stone by no more [mm], so that chords drawn for an arc
count as the arc."""

_CORNER_REACH: Final = math.tan(0.5 * TAPER_RAD)
"""A corner ends within this many radii of the wheel, on each side: ``R tan(turn / 2)``."""

_STEPS: Final = 64
"""Places tried for each radius of the wheel."""

_SAMPLES: Final = 64
"""Places along a stretch from which an opening is measured across; as many corners at most."""


class Opening:
    """The air beside a contour.

    Parameters
    ----------
    path : Path
        The contour, stone on the left.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._table = Segments.of(path)
        self._marks = vertex_positions(path)
        self._corner = corner_turns(path)

    @cached_property
    def _boxes(self) -> FloatArray:
        return self._table.boxes()

    def _near(self, points: FloatArray, reach: float) -> Segments:
        """Return the segments within a distance of the box around some points."""
        low, high = points.min(axis=0) - reach, points.max(axis=0) + reach
        boxes = self._boxes
        return self._table.take(
            (boxes[:, :2] <= high).all(axis=1) & (boxes[:, 2:] >= low).all(axis=1)
        )

    def _circles(self, at: FloatArray, radius: FloatArray) -> FloatArray:
        """Return the centres of circles that touch the contour from the air (n, 2) [mm]."""
        angle = direction_at(self.path, at)
        air = np.column_stack([np.sin(angle), -np.cos(angle)])
        return np.asarray(point_at(self.path, at) + radius[:, None] * air)

    def _room(self, at: FloatArray, radius: FloatArray) -> FloatArray:
        """Return how far such circles stay clear of the stone (n,), not positive where inside."""
        centres = self._circles(at, radius)
        # Each touches the contour; rounding must not hide it.
        near = self._near(centres, float(radius.max()) + COINCIDENT_MM)
        return np.asarray(near.distance(centres[:, :1], centres[:, 1:]).min(axis=1) - radius)

    def largest_fit_mm(self, at: float, most: float) -> float:
        """Return the radius of the largest circle that touches the contour at a place [mm].

        Parameters
        ----------
        at : float
            Position along the contour [mm].
        most : float
            Larger circles are not asked for [mm].
        """
        low, high = 0.0, most
        # Circles touching at one place are nested: the largest that fits is closed in on.
        for _ in range(4):
            radii = np.linspace(low, high, 33)
            fits = np.flatnonzero(self._room(np.full(33, at), radii) >= -COINCIDENT_MM)
            best = int(fits[-1])
            if best == len(radii) - 1:
                return high
            low, high = float(radii[best]), float(radii[best + 1])
        return low

    def _onward(self, at: float, sign: float, radius: float) -> float | None:
        """Return the nearest place before or behind a position where a circle fits."""
        # As far as a corner of the sharpest turn that counts can reach, and a little more.
        count = math.ceil(1.05 * _CORNER_REACH * _STEPS)
        s: FloatArray = at + (sign * radius / _STEPS) * np.arange(count + 1, dtype=np.float64)
        if not self.path.closed:
            s = s[(s >= 0.0) & (s <= self.path.length_mm)]
        if not len(s):
            return None
        fits = np.flatnonzero(self._room(s, np.full(len(s), radius)) >= -FIT_SLACK_MM)
        return float(s[fits[0]]) if len(fits) else None

    def _turn_inward(self, low: float, high: float) -> float:
        """Return how far the contour turns towards the air within a stretch [rad]."""
        total, marks = self.path.length_mm, self._marks
        arc, corner = np.minimum(self._table.turn, 0.0), np.minimum(self._corner, 0.0)
        inward = 0.0
        for shift in (0.0, total, -total) if self.path.closed else (0.0,):
            begin, end = marks[:-1] + shift, marks[1:] + shift
            common = np.minimum(end, high) - np.maximum(begin, low)
            inward -= float((arc * np.clip(common / self.path.lengths, 0.0, 1.0)).sum())
            inward -= float(corner[(end > low) & (end < high)].sum())
        return inward

    def can_be_rounded(self, low: float, high: float, radius: float) -> bool:
        """Return whether rounding its corners lets a wheel reach a stretch.

        It does when the wheel fits shortly before and shortly behind the stretch, and the sides
        turn towards each other by at most ``TAPER_RAD`` between: an arc of the wheel's radius
        then joins them. A slot, a neck, the point of a taper and a narrow notch fail.

        Parameters
        ----------
        low, high : float
            The stretch [mm]; positions on a closed contour may exceed its length.
        radius : float
            Of the wheel, with its clearance [mm].
        """
        total = self.path.length_mm
        if self.path.closed and high - low >= total - COINCIDENT_MM:
            return False
        before = self._onward(low, -1.0, radius)
        behind = self._onward(high, 1.0, radius)
        if before is None or behind is None:
            return False
        most = 2.0 * (_CORNER_REACH + 2.0 / _STEPS) * radius
        if behind - before > (min(most, total) if self.path.closed else most):
            return False
        return self._turn_inward(before, behind) <= TAPER_RAD + TANGENT_RAD

    def _places(self, low: float, high: float) -> FloatArray:
        """Return from where a stretch is measured across: evenly, and beside its corners."""
        marks = self._marks[1:]
        if self.path.closed:
            marks = np.concatenate(
                [marks - self.path.length_mm, marks, marks + self.path.length_mm]
            )
        turn = np.tile(np.abs(self._corner), len(marks) // len(self.path))
        inside = np.flatnonzero((marks >= low) & (marks <= high) & (turn > TANGENT_RAD))
        sharpest = marks[inside[np.argsort(-turn[inside], kind="stable")[:_SAMPLES]]]
        beside = np.concatenate([sharpest - COINCIDENT_MM, sharpest + COINCIDENT_MM])
        beside = beside[(beside > low) & (beside < high)]
        even = low + (np.arange(_SAMPLES) + 0.5) / _SAMPLES * (high - low)
        return np.unique(np.concatenate([even, beside]))

    def narrowest(self, low: float, high: float, most: float) -> tuple[float, float]:
        """Return how wide the opening is at its narrowest along a stretch, and where.

        Measured square to the edge, across the air to a side that faces it.

        Parameters
        ----------
        low, high : float
            The stretch [mm].
        most : float
            Greater widths are not asked for [mm].

        Returns
        -------
        width, at : float
            Width, and position along the contour [mm]. Where no side faces the stretch within
            ``most``, the diameter of the largest circle that fits at three places within.
        """
        # Rays into the air: the first wall that faces back is the other side of the opening.
        s = self._places(low, high)
        n = len(s)
        begin = self._circles(s, np.full(n, 0.5 * COINCIDENT_MM))
        rays = Segments(begin, self._circles(s, np.full(n, most)), np.zeros(n))
        walls = self._near(np.vstack([rays.start, rays.end]), 0.0)
        ray, wall = candidate_pairs(rays.boxes(), walls.boxes())
        row, along, at_wall = intersections(rays.take(ray), walls.take(wall))
        there = walls.take(wall[row]).direction(at_wall)
        turned = wrapped_angle(there - direction_at(self.path, s)[ray[row]])
        facing = np.flatnonzero(np.abs(turned) >= TAPER_RAD)
        if not len(facing):
            tried = [low + share * (high - low) for share in (0.25, 0.5, 0.75)]
            return max((2.0 * self.largest_fit_mm(at, 0.5 * most), at) for at in tried)
        best = facing[np.argmin(along[facing])]
        at = s[ray[row[best]]]
        width = float(along[best]) * most
        pair = self._table.take(locate(self.path, [at])[0]), walls.take(wall[row[best : best + 1]])
        if pair[0].straight[0] and pair[1].straight[0]:
            # Sides that run towards each other are nearest at an end.
            width = min(width, float(closest(*pair)[0]))
        return width, float(at)
