"""Lines and arcs as SVG path data, exactly.

The Y axis of a drawing points up, that of SVG down: every Y changes its sign here and nowhere
else, and a turn to the left keeps its look.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from edgetime.geometry.path import Path

FloatArray = NDArray[np.float64]

FINE: Final = 4
"""Decimals of a place on an edge [mm]: lengths measured from the picture keep 1e-3 mm."""

COARSE: Final = 1
"""Decimals of a place on a tool-centre path [mm]: enough to look at, and a third of the bytes."""

_FULL: Final = 1e3
"""A bulge beyond this is a full turn, which one SVG arc cannot draw [-]."""


def number(value: float, decimals: int) -> str:
    """Write a coordinate with no zeros behind it.

    Parameters
    ----------
    value : float
        Any [mm].
    decimals : int
        Most digits behind the point.
    """
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text


def _arc(start: tuple[float, float], end: tuple[float, float], bulge: float, decimals: int) -> str:
    """Return the arc command from a bulge: radius from chord and quarter angle.

    An SVG arc is given by its radius and two flags. Radius ``c (1 + b²) / (4 |b|)`` of chord c;
    the arc is the large one beyond a half turn, ``|b| > 1``. A left turn (b > 0) is counter-
    clockwise with Y up and stays so to the eye with Y down, which SVG calls sweep 0.
    """
    chord = math.dist(start, end)
    radius = chord * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    # One digit more than the ends have: a radius too small is scaled up by the browser.
    r = number(radius, decimals + 2)
    large, sweep = int(abs(bulge) > 1.0), int(bulge < 0.0)
    return f"A{r} {r} 0 {large} {sweep} {number(end[0], decimals)} {number(-end[1], decimals)}"


def _arcs(start: tuple[float, float], end: tuple[float, float], bulge: float, decimals: int) -> str:
    """Return the arc commands of a segment, each of a quarter turn at most.

    Some programs that set SVG on paper draw any arc as one cubic curve, which is round to the
    eye only up to a quarter turn.
    """
    turn = 4.0 * math.atan(bulge)
    count = math.ceil(abs(turn) / (0.5 * math.pi) - 1e-9)
    if count <= 1:
        return _arc(start, end, bulge, decimals)
    a, b = complex(*start), complex(*end)
    centre = 0.5 * (a + b) + 1j * (b - a) * (1.0 - bulge * bulge) / (4.0 * bulge)
    step = turn / count
    ends = [centre + (a - centre) * cmath.exp(1j * step * k) for k in range(1, count)]
    stops = [start, *((z.real, z.imag) for z in ends), end]
    part = math.tan(0.25 * step)
    return "".join(_arc(p, q, part, decimals) for p, q in pairwise(stops))


def path_data(points: FloatArray, bulges: FloatArray, *, decimals: int = FINE) -> str:
    """Return the ``d`` attribute of a chain of lines and arcs.

    Parameters
    ----------
    points : (n + 1, 2) array
        Vertices, Y up [mm].
    bulges : (n,) array
        As :class:`edgetime.geometry.path.Path` [-].
    decimals : int
        Of the coordinates.
    """
    at = points.tolist()
    if not at:
        return ""
    out = [f"M{number(at[0][0], decimals)} {number(-at[0][1], decimals)}"]
    for (a, b), bulge in zip(pairwise(at), bulges.tolist(), strict=True):
        if bulge == 0.0 or a == b:
            out.append(f"L{number(b[0], decimals)} {number(-b[1], decimals)}")
        else:
            out.append(_arcs(a, b, bulge, decimals))
    return "".join(out)


def edge_data(path: Path) -> str:
    """Return the ``d`` attribute of an edge or a contour."""
    return path_data(path.points, path.bulges)


def moves_data(start: FloatArray, end: FloatArray, bulge: FloatArray) -> str:
    """Return the ``d`` attribute of moves seen from above; a new stroke where they part.

    Parameters
    ----------
    start, end : (n, 3) array
        Ends of the moves [mm].
    bulge : (n,) array
        As :class:`edgetime.moves.Moves` [-].
    """
    flat = np.any(start[:, :2] != end[:, :2], axis=1)
    a, b, turn = start[flat, :2], end[flat, :2], bulge[flat]
    if not len(a):
        return ""
    joined = np.zeros(len(a), dtype=bool)
    joined[1:] = np.all(np.abs(a[1:] - b[:-1]) < 1e-6, axis=1)
    cuts = [*np.flatnonzero(~joined).tolist(), len(a)]
    return "".join(
        path_data(np.vstack([a[i : i + 1], b[i:j]]), turn[i:j], decimals=COARSE)
        for i, j in pairwise(cuts)
    )


def extent(boxes: Iterable[tuple[float, float, float, float]]) -> tuple[float, float, float, float]:
    """Return the box around boxes (x min, y min, x max, y max) [mm]."""
    table = np.array(list(boxes))
    low, high = table[:, :2].min(axis=0), table[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
