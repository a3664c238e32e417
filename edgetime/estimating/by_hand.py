"""Why the largest finishing wheel leaves hand work: tight corners, or openings too narrow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from edgetime.toolpath.narrow import Opening
from edgetime.toolpath.reach import InsideCorners

if TYPE_CHECKING:
    from edgetime.estimating.pipeline import Estimate


@dataclass
class ByHand:
    """Hand work of one contour.

    Attributes
    ----------
    place : (float, float)
        Middle of its first stretch [mm].
    corners_mm, narrow_mm : float
        What larger corners would let the wheel reach, and what they would not [mm].
    corners : int
        Inside corners tighter than the wheel needs.
    tightest_mm : float
        The least of their radii [mm].
    width_mm : float
        Least width of the narrow places [mm].
    """

    place: tuple[float, float]
    corners_mm: float = 0.0
    corners: int = 0
    tightest_mm: float = math.inf
    narrow_mm: float = 0.0
    width_mm: float = math.inf


def by_hand(est: Estimate, needed: float) -> dict[tuple[int, int], ByHand]:
    """Return the hand work by part and contour, tight corners and narrow openings apart.

    Parameters
    ----------
    est : Estimate
        The load.
    needed : float
        Radius of the largest finishing wheel, with its clearance [mm].
    """
    out: dict[tuple[int, int], ByHand] = {}
    shapes: dict[tuple[int, int], tuple[InsideCorners, Opening]] = {}
    for hand in est.paths.hand:
        if hand.contour < 0:
            continue
        key = (hand.part, hand.contour)
        if key not in shapes:
            path = est.load.parts[hand.part].part.contours()[hand.contour].path
            shapes[key] = (InsideCorners(path), Opening(path))
            out[key] = ByHand((hand.x_mm, hand.y_mm))
        corners, opening = shapes[key]
        mine, low, high = out[key], hand.begin_mm, hand.end_mm
        tight = [r for r in corners.within_mm(low, high) if r < needed]
        if tight and opening.can_be_rounded(low, high, needed):
            mine.corners_mm += hand.length_mm
            mine.corners += len(tight)
            mine.tightest_mm = min([mine.tightest_mm, *tight])
        else:
            mine.narrow_mm += hand.length_mm
            mine.width_mm = min(mine.width_mm, opening.narrowest(low, high, 2.0 * needed)[0])
    return out
