"""Core bits: down in pecks through the stone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import BoolArray, Segments

CORE_WALL_MM: Final = 3.0
"""Thickness of the ring a core bit grinds away, an assumption: catalogues state the diameter
of a bit, seldom its wall, and thin-walled bits for stone have 2.5 to 3.5 mm [mm]."""

BACK_OFF_MM: Final = 0.5
"""A bit comes back to this height above the last depth before it drills on [mm]: the peck
cycle of the open RS-274/NGC standard stops a little short of the bottom as well."""


@dataclass(frozen=True, eq=False)
class Pecks:
    """The vertical moves of one cored hole, n rows.

    Attributes
    ----------
    z : (n,) array
        Height of the tip at the end of each move [mm].
    feed : (n,) array
        [mm/s].
    stop : (n,) boolean array
        Whether the tip stands still there.
    fresh : (n,) array
        Depth of stone drilled anew on the move [mm].
    """

    z: FloatArray
    feed: FloatArray
    stop: BoolArray
    fresh: FloatArray


def pecks(
    bottom_z_mm: float,
    *,
    approach_z_mm: float,
    peck_mm: float,
    thickness_mm: float,
    feed_mm_per_s: float,
    retract_mm_per_s: float,
) -> Pecks:
    """Return the moves from the approach height to the bottom of a hole.

    Each peck drills on by the peck depth, the last by what is left. Between two the bit is
    drawn up to the approach height and returned to just above the last depth, both at the
    retract feed. The move up from the last depth is not among them.

    Parameters
    ----------
    bottom_z_mm : float
        Lowest tip height, negative [mm].
    approach_z_mm : float
        Where drilling begins, above the stone [mm].
    peck_mm : float
        Depth of one peck [mm]; not positive for one go.
    thickness_mm : float
        Of the stone [mm].
    feed_mm_per_s, retract_mm_per_s : float
        Drilling feed; feed up and back [mm/s].
    """
    depth = -bottom_z_mm
    count = max(1, math.ceil(depth / peck_mm - 1e-9)) if peck_mm > 0.0 else 1
    stops = [-peck_mm * k for k in range(1, count)] + [bottom_z_mm]
    z, feed, stop, fresh = [], [], [], []
    last = 0.0
    for k, low in enumerate(stops):
        if k:
            # Out of the hole to clear it, then back to just above the bottom at the speed of
            # retracting.
            z += [approach_z_mm, min(last + BACK_OFF_MM, approach_z_mm)]
            feed += [retract_mm_per_s, retract_mm_per_s]
            stop += [True, False]
            fresh += [0.0, 0.0]
        z.append(low)
        feed.append(feed_mm_per_s)
        stop.append(True)
        # Only what lies within the stone is drilled: a peck may begin above it and end below.
        fresh.append(max(0.0, min(-low, thickness_mm) - min(-last, thickness_mm)))
        last = low
    return Pecks(np.array(z), np.array(feed), np.array(stop, dtype=np.bool_), np.array(fresh))


def core_area_mm2(diameter_mm: float) -> float:
    """Return the area of the ring a core bit grinds, ``π w (D - w)``, a full disc if small."""
    wall = min(CORE_WALL_MM, 0.5 * diameter_mm)
    return math.pi * wall * (diameter_mm - wall)


def circle_centre(path: Path) -> FloatArray:
    """Return the centre of a hole's circle (2,) [mm]."""
    table = Segments.of(path)
    bent = np.flatnonzero(~table.straight)
    if len(bent):
        return np.asarray(table.centre[bent[0]])
    return np.asarray(path.points[:-1].mean(axis=0))
