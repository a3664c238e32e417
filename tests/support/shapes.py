"""Closed paths of a few lines and arcs."""

from __future__ import annotations

import math

from edgetime.geometry.measure import signed_area
from edgetime.geometry.path import Path

QUARTER = math.tan(math.pi / 8.0)
"""Bulge of a quarter circle."""


def rectangle(width, height, *, x=0.0, y=0.0, radius=0.0, hand=1):
    """Return a closed rectangle, counter-clockwise or with ``hand=-1`` clockwise."""
    r = radius
    if r == 0.0:
        points = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        path = Path.from_bulges(points, closed=True)
    else:
        x1, y1 = x + width, y + height
        points = [
            (x + r, y), (x1 - r, y), (x1, y + r), (x1, y1 - r),
            (x1 - r, y1), (x + r, y1), (x, y1 - r), (x, y + r),
        ]  # fmt: skip
        path = Path.from_bulges(points, [0.0, QUARTER] * 4, closed=True)
    return path if hand > 0 else path.reversed()


def polygon(points, bulges=None):
    """Return a closed path, counter-clockwise."""
    path = Path.from_bulges(points, bulges, closed=True)
    return path if signed_area(path) > 0.0 else path.reversed()


def circle(x, y, radius):
    """Return a clockwise circle of two half circles."""
    points = [(x + radius, y), (x - radius, y)]
    return Path.from_bulges(points, [-1.0, -1.0], closed=True)
