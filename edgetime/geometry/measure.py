"""Exact measures of a path: bounds, area, directions, places along it, sides and distances."""

from __future__ import annotations

import numpy as np

from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import BoolArray, Segments, box_around, wrapped_angle
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM

_BLOCK = 1 << 20
"""Entries of a points-by-segments table worked on at once, to bound the memory."""


def bounds(path: Path) -> tuple[float, float, float, float]:
    """Return the exact bounds, with the extremes of arcs.

    Parameters
    ----------
    path : Path
        At least one segment.

    Returns
    -------
    (float, float, float, float)
        x min, y min, x max, y max [mm].
    """
    return box_around(Segments.of(path).boxes())


def segment_areas(table: Segments) -> FloatArray:
    """Return the signed area between each arc and its chord [mm²].

    ``c² (θ - sin θ) / (8 sin²(θ/2))``, the circular segment ``R² (θ - sin θ) / 2`` with
    ``R = c / (2 sin(θ/2))`` (Machinery's Handbook, circular segments); a series where the
    difference would cancel.
    """
    t = table.turn
    t2 = t * t
    # t - sin t loses its digits in small turns; the series keeps them.
    bent = np.abs(t) >= 0.1
    series = t / 6.0 * (1.0 - t2 / 20.0 * (1.0 - t2 / 42.0 * (1.0 - t2 / 72.0)))
    excess = np.divide(t - np.sin(t), t2, out=series, where=bent)
    return np.asarray(0.5 * (table.chord / np.sinc(t / (2.0 * np.pi))) ** 2 * excess)


def signed_area(path: Path) -> float:
    """Return the exact area enclosed by a closed path, positive counter-clockwise [mm²].

    Parameters
    ----------
    path : Path
        Closed path; an open one is closed by its chord.

    Returns
    -------
    float
        Area [mm²], arcs in closed form.
    """
    if not len(path):
        return 0.0
    # Relative to a point of the path: far from the origin the products would drown the area.
    p = path.points - path.points[0]
    chords = 0.5 * float(np.sum(p[:-1, 0] * p[1:, 1] - p[1:, 0] * p[:-1, 1]))
    return chords + float(segment_areas(Segments.of(path)).sum())


def start_directions(path: Path) -> FloatArray:
    """Return the tangent angle at each segment's start (n,) [rad]."""
    return Segments.of(path).direction(np.zeros(len(path)))


def corner_turns(path: Path) -> FloatArray:
    """Return the turn between each segment and the next (n,), positive to the left [rad].

    The last one is the corner at the start of a closed path and zero on an open one.

    Parameters
    ----------
    path : Path
        Segments without length have no direction and must have been left out.

    Returns
    -------
    (n,) array
        In (-π, π].
    """
    if not len(path):
        return np.zeros(0)
    table = Segments.of(path)
    half = 0.5 * table.turn
    step = wrapped_angle(np.roll(table.heading - half, -1) - (table.heading + half))
    if not path.closed:
        step[-1] = 0.0
    return step


def radii(path: Path) -> FloatArray:
    """Return signed radii (n,): positive for a left turn, infinite when straight [mm]."""
    return Segments.of(path).radius


def vertex_positions(path: Path) -> FloatArray:
    """Return each vertex's position along the path (n + 1,), from 0 to its length [mm]."""
    return np.concatenate([[0.0], np.cumsum(path.lengths)])


def locate(path: Path, s: object) -> tuple[IntArray, FloatArray]:
    """Return the segment and the fraction of it at positions along the path.

    Parameters
    ----------
    path : Path
        At least one segment.
    s : (m,) array_like
        Positions [mm]; clipped to the ends of an open path, wrapped on a closed one.

    Returns
    -------
    segment : (m,) integer array
    fraction : (m,) array
        In [0, 1].
    """
    at = np.atleast_1d(np.asarray(s, dtype=np.float64))
    marks = vertex_positions(path)
    total = marks[-1]
    if path.closed and total > 0.0:
        outside = (at < 0.0) | (at > total)
        at = np.where(outside, np.mod(at, total), at)
    at = np.clip(at, 0.0, total)
    segment = np.clip(np.searchsorted(marks, at, side="right") - 1, 0, len(path) - 1)
    length = path.lengths[segment]
    fraction = np.divide(at - marks[segment], length, out=np.zeros_like(at), where=length > 0.0)
    return segment.astype(np.int64), np.clip(fraction, 0.0, 1.0)


def point_at(path: Path, s: object) -> FloatArray:
    """Return the points at positions along the path.

    Parameters
    ----------
    path : Path
        At least one segment.
    s : (m,) array_like
        Positions measured in ``path.lengths`` [mm].

    Returns
    -------
    (m, 2) array
        Points [mm].
    """
    segment, fraction = locate(path, s)
    return Segments.of(path).take(segment).point(fraction)


def direction_at(path: Path, s: object) -> FloatArray:
    """Return the tangent angles at positions along the path.

    Parameters
    ----------
    path : Path
        At least one segment.
    s : (m,) array_like
        Positions [mm]. At a corner the direction is that of the segment that begins there.

    Returns
    -------
    (m,) array
        Angles [rad], not wrapped.
    """
    segment, fraction = locate(path, s)
    return Segments.of(path).take(segment).direction(fraction)


def nearest(path: Path, points: object) -> tuple[FloatArray, FloatArray]:
    """Return the nearest place on the chain to each point.

    Parameters
    ----------
    path : Path
        At least one segment.
    points : (m, 2) array_like
        Points [mm].

    Returns
    -------
    s : (m,) array
        Positions along the path [mm].
    distance : (m,) array
        Exact distances [mm].
    """
    pts = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    table = Segments.of(path)
    marks = vertex_positions(path)
    at, away = np.zeros(len(pts)), np.full(len(pts), np.inf)
    step = max(1, _BLOCK // max(len(path), 1))
    for first in range(0, len(pts), step):
        block = pts[first : first + step]
        fraction, gap = table.nearest(block[:, :1], block[:, 1:])
        best = np.argmin(gap, axis=1)
        rows = np.arange(len(block))
        at[first : first + step] = marks[best] + fraction[rows, best] * path.lengths[best]
        away[first : first + step] = gap[rows, best]
    return at, away


def distance(path: Path, points: object) -> FloatArray:
    """Return the exact distance of each point to the nearest point of the chain.

    Parameters
    ----------
    path : Path
        At least one segment.
    points : (m, 2) array_like
        Points [mm].

    Returns
    -------
    (m,) array
        Distances [mm].
    """
    return nearest(path, points)[1]


class Monotone:
    """Pieces of segments that rise or fall throughout, for crossing counts of a level ray.

    Parameters
    ----------
    table : Segments
        Any segments; arcs are parted at their highest and lowest points.
    """

    def __init__(self, table: Segments) -> None:
        n = len(table)
        rows = [np.arange(n)]
        cuts = [np.zeros(n)]
        bent = ~table.straight
        begin = table.direction(np.zeros(n))
        sign = np.where(table.turn >= 0.0, 1.0, -1.0)
        span = np.where(bent, np.abs(table.turn), 1.0)
        # An arc turns back in Y where it runs level: cut there, each piece crosses a height once.
        for level in (0.0, np.pi):
            gone = np.mod(sign * (level - begin), 2.0 * np.pi) / span
            hit = np.flatnonzero(bent & (gone > 0.0) & (gone < 1.0))
            rows.append(hit)
            cuts.append(gone[hit])
        row = np.concatenate(rows)
        low = np.concatenate(cuts)
        order = np.lexsort((low, row))
        row, low = row[order], low[order]
        last = np.append(row[1:] != row[:-1], [True] * min(len(row), 1))
        high = np.where(last, 1.0, np.append(low[1:], [1.0] * min(len(row), 1)))
        own = table.take(row)
        at_low, at_high = own.point(low)[:, 1], own.point(high)[:, 1]
        self.row = row
        self.y0 = np.where(low == 0.0, own.start[:, 1], at_low)
        self.y1 = np.where(last, own.end[:, 1], at_high)
        self.table = own
        # The half of its circle a piece is on: to the right of the centre a left turn rises.
        rising = self.y1 > self.y0
        self.right_half = rising == (own.bulge > 0.0)
        self.centre_x = own.centre[:, 0]

    def take(self, rows: IntArray) -> Monotone:
        """Return the given rows."""
        out = object.__new__(Monotone)
        out.row, out.y0, out.y1 = self.row[rows], self.y0[rows], self.y1[rows]
        out.table = self.table.take(rows)
        out.right_half, out.centre_x = self.right_half[rows], self.centre_x[rows]
        return out

    def crossings(self, x: FloatArray, y: FloatArray) -> IntArray:
        """Return +1 or -1 where a ray from the point to the right crosses a piece upward or down.

        The level of a vertex belongs to the piece above it, so a ray through a vertex counts
        once. The points are broadcast against the rows.
        """
        up = self.y1 > self.y0
        # Half-open in Y: of two pieces that meet at this height one counts.
        crosses = (self.y0 <= y) != (self.y1 <= y)
        side = self.table.side(x, y)
        line_hit = np.where(up, side < 0.0, side > 0.0)
        inside = np.where(self.table.bulge > 0.0, side < 0.0, side > 0.0)
        west = x < self.centre_x
        arc_hit = np.where(self.right_half, inside | west, ~inside & west)
        hit = crosses & np.where(self.table.straight, line_hit, arc_hit)
        return np.asarray(np.where(hit, np.where(up, 1, -1), 0), dtype=np.int64)


def contains(path: Path, points: object) -> BoolArray:
    """Return whether points lie inside a closed path, exact with its arcs.

    Parameters
    ----------
    path : Path
        Closed path.
    points : (m, 2) array_like
        Points [mm]. A point exactly on the path may count either way.

    Returns
    -------
    (m,) boolean array
        True where the path winds around the point.
    """
    pts = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    pieces = Monotone(Segments.of(path))
    out = np.zeros(len(pts), dtype=np.bool_)
    step = max(1, _BLOCK // max(len(pieces.row), 1))
    for first in range(0, len(pts), step):
        block = pts[first : first + step]
        out[first : first + step] = pieces.crossings(block[:, :1], block[:, 1:]).sum(axis=1) != 0
    return out


def self_intersections(path: Path) -> FloatArray:
    """Return the points where a path crosses or touches itself.

    Parameters
    ----------
    path : Path
        Open or closed. The vertex two neighbours share does not count; neighbours that run
        back over each other, or meet elsewhere as well, do.

    Returns
    -------
    (k, 2) array
        Points [mm], each once within 1e-3 mm.
    """
    live = np.flatnonzero(Segments.of(path).lengths > ZERO_LENGTH_MM)
    table = Segments.of(path).take(live)
    n = len(table)
    i, j = candidate_pairs(table.boxes())
    row, at_i, at_j = intersections(table.take(i), table.take(j))
    i, j = i[row], j[row]
    points = table.take(i).point(at_i)
    slack_i = COINCIDENT_MM / table.lengths[i]
    slack_j = COINCIDENT_MM / table.lengths[j]
    shared = (j == i + 1) & (at_i > 1.0 - slack_i) & (at_j < slack_j)
    if path.closed:
        shared |= (i == 0) & (j == n - 1) & (at_i < slack_i) & (at_j > 1.0 - slack_j)
    points = points[~shared]
    if len(points) > 1:
        # A crossing in a vertex is found once for every segment that ends there.
        _, first = np.unique(np.round(points / COINCIDENT_MM), axis=0, return_index=True)
        points = points[np.sort(first)]
    return np.asarray(points)


def is_simple(path: Path) -> bool:
    """Return whether a path neither crosses nor touches itself."""
    return len(self_intersections(path)) == 0
