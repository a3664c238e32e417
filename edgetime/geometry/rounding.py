"""Inside corners rounded to a radius, so that a wheel of that radius reaches the whole contour."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from edgetime.geometry.measure import direction_at, locate, point_at
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.split import concatenate, over_start, sub_path
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM

_NEARLY_MM: Final = 0.01
"""By so much smaller is a circle that has room where another just fits [mm]."""


def tight_stretches(path: Path, radius_mm: float) -> list[tuple[float, float]]:
    """Return the stretches of a closed contour that a circle rolling in the air does not touch.

    Parameters
    ----------
    path : Path
        Closed, stone on the left.
    radius_mm : float
        Of the circle [mm].

    Returns
    -------
    list of (low, high)
        Positions along the contour [mm]; one that runs over the start ends beyond the length.
    """
    found = [(low, high) for low, high in offset_path(path, radius_mm).unreached.tolist()]
    return over_start(found, path.length_mm)


def just_tight_stretches(path: Path, radius_mm: float) -> list[tuple[float, float]]:
    """Return the stretches of :func:`tight_stretches` where some opening is just wide enough.

    There the circle touches both sides of a slot all along, and where it turns round is beyond
    the rounding of figures. The stretches of two slightly smaller circles lead to them: along
    straight sides their ends move in proportion to the radius.

    Parameters
    ----------
    path : Path
        Closed, stone on the left.
    radius_mm : float
        Of the circle [mm].
    """
    near = tight_stretches(path, radius_mm - _NEARLY_MM)
    far = tight_stretches(path, radius_mm - 2.0 * _NEARLY_MM)
    if len(near) != len(far):
        return near
    # Extrapolated from two smaller circles: at the radius itself the stretch jumps with rounding.
    return [(2.0 * a[0] - b[0], 2.0 * a[1] - b[1]) for a, b in zip(near, far, strict=True)]


def _arc(path: Path, low: float, high: float, radius_mm: float) -> Path | None:
    """Return the arc that touches a contour at both ends of a stretch, None if there is none."""
    total = path.length_mm
    if high - low > total - COINCIDENT_MM:
        return None
    ends = np.mod([low, high], total)
    points, angles = point_at(path, ends), direction_at(path, ends)
    centres = points + radius_mm * np.column_stack([np.sin(angles), -np.cos(angles)])
    if float(np.hypot(*(centres[1] - centres[0]))) > COINCIDENT_MM:
        return None
    # The air is on the right, so the arc turns to the right, from one radius to the other.
    spokes: FloatArray = points - centres.mean(axis=0)
    begin, end = np.arctan2(spokes[:, 1], spokes[:, 0]).tolist()
    turn = math.fmod(begin - end, 2.0 * math.pi)
    turn += 2.0 * math.pi if turn < 0.0 else 0.0
    beside = np.mod([low - COINCIDENT_MM, high + COINCIDENT_MM], total)
    tags = path.tags[locate(path, beside)[0]]
    bulge = -math.tan(0.25 * turn)
    if tags[0] == tags[1]:
        return Path.from_bulges(points, [bulge], tags=tags[:1])
    middle = 0.5 * (begin + (begin - turn))
    half = centres.mean(axis=0) + radius_mm * np.array([math.cos(middle), math.sin(middle)])
    bulge = -math.tan(0.125 * turn)
    return Path.from_bulges([points[0], half, points[1]], [bulge, bulge], tags=tags)


def rounded(path: Path, radius_mm: float, stretches: Sequence[tuple[float, float]]) -> Path | None:
    """Return a closed contour with an arc of a radius in place of some of its stretches.

    Parameters
    ----------
    path : Path
        Closed, stone on the left.
    radius_mm : float
        Of the arcs [mm].
    stretches : sequence of (low, high)
        Some of :func:`tight_stretches` for that radius, in order [mm].

    Returns
    -------
    Path or None
        The arcs bear the tags of what they join, half and half where these differ. None where no
        single arc joins the ends of a stretch: in a slot, a neck, the point of a taper.
    """
    if not stretches:
        return path
    total = path.length_mm
    # The contour begins where it began, or where the corner ends that it began in.
    begin = max(stretches[-1][1] - total, 0.0)
    pieces: list[Path] = []
    reached = begin
    for low, high in stretches:
        if low - reached > ZERO_LENGTH_MM:
            pieces.append(sub_path(path, reached, low))
        arc = _arc(path, low, high, radius_mm)
        if arc is None:
            return None
        pieces.append(arc)
        reached = high
    if total + begin - reached > ZERO_LENGTH_MM:
        pieces.append(sub_path(path, reached, total + begin))
    return concatenate(pieces, closed=True)
