"""Tangent lines and arcs laid through fits, and set in place of the chords of a contour."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from edgetime.geometry.arcfit import LEAST_CHORDS, Fit, Limits, fit_arc
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import Segments, wrapped_angle
from edgetime.geometry.smooth import biarcs
from edgetime.tolerances import COINCIDENT_MM

_KINK_RAD: Final = np.radians(12.0)
"""Neighbouring fits whose directions differ by more meet in a corner [rad]."""

_BEND_RAD: Final = np.radians(3.0)
"""A fit whose direction differs by no more from that of a sure neighbour is made tangent to it
[rad]: the vertices between them are rounded, or a little off."""

_EXACT_RAD: Final = 1e-6
"""Directions that differ by less agree [rad]."""

_AROUND: Final = 2
"""Chords on each side of a joint that its direction is read from, at least."""

_TRIM: Final = 8
"""Chords that a fit may leave at each end where its joints do not suit it."""

_DEEPEST: Final = 4
"""Halvings of a fit until its arcs are tangent to its neighbours'."""


@dataclass(frozen=True, eq=False)
class Piece:
    """Lines and arcs in place of the chords between two vertices of a contour.

    Attributes
    ----------
    first, last : int
        Rows of the contour's vertices.
    table : Segments
        End to end.
    points : (m + 1, 2) array
        The vertices of the chords [mm].
    """

    first: int
    last: int
    table: Segments
    points: FloatArray

    def off_mm(self, points: FloatArray) -> float:
        """Return the largest distance of points from it [mm]."""
        return float(self.table.distance(points[:, :1], points[:, 1:]).min(axis=1).max())


@dataclass(frozen=True, eq=False)
class _Node:
    """A joint: its place, the direction of arrival and that of departure, None if any will do."""

    point: FloatArray
    into: float | None
    out: float | None


def _joint(points: FloatArray, a: Fit, b: Fit, off_mm: float) -> _Node:
    """Return where two neighbouring fits of a row of points are joined.

    Where the curvature changes steadily the direction is that of a fit about the joint: it errs
    a quarter as much as the ends of the fits on both sides. Where it jumps there is none; then
    the longer fit is the surer of its direction. A straight keeps its own, two make a corner.
    """
    into, drawn = a.tangent(1.0), points[b.first]
    kink = _angle(b.tangent(0.0) - into)
    if abs(kink) > _KINK_RAD or a.bulge == b.bulge == 0.0:
        return _Node(drawn, None, None)
    if a.bulge == 0.0:
        return _Node(a.end, into, into)
    if b.bulge == 0.0:
        return _Node(b.start, into + kink, into + kink)
    if abs(kink) <= _EXACT_RAD and float(np.hypot(*(a.end - b.start))) <= COINCIDENT_MM * 1e-3:
        return _Node(b.start, into, into)
    # Where two arcs meet, an arc fitted to the points on both sides of the joint gives place and
    # direction; fewer points are tried until one holds.
    half = min(a.chords, b.chords) // 2
    while half >= _AROUND:
        # On a closed row the last point is the first again.
        around = np.arange(a.last - half, a.last + 1), np.arange(b.first + 1, b.first + half + 1)
        local = fit_arc(points[np.concatenate(around)], Limits(off_mm, np.inf, np.inf))
        if local is not None:
            table = local.table()
            at = np.clip(table.fraction(drawn[:1], drawn[1:]), 0.0, 1.0)
            along = float(table.direction(at)[0])
            return _Node(table.point(at)[0], along, along)
        half //= 2
    # No such arc: the longer neighbour, which is better determined, moves less.
    share = b.size_mm / (a.size_mm + b.size_mm)
    along = into + share * kink
    return _Node((1.0 - share) * a.end + share * b.start, along, along)


def nearly(own: float, beside: float | None) -> float | None:
    """Return the direction at an end: the neighbour's if the fit all but has it."""
    if beside is None:
        return None
    kink = _angle(beside - own)
    return own + kink if abs(kink) <= _BEND_RAD else None


def laid(
    points: FloatArray,
    fits: list[Fit],
    ends: tuple[float | None, float | None] | None,
    off_mm: tuple[float, float],
) -> list[Segments | None]:
    """Return lines and arcs along neighbouring fits, tangent where they join.

    Parameters
    ----------
    points : (m + 1, 2) array
        The row of points the fits count in [mm].
    fits : list of Fit
        Each begins at the point where the one before ends.
    ends : (float or None, float or None) or None
        Directions of the contour before and after [rad], None where it has none to speak of.
        None altogether for a closed round, which is joined there too.
    off_mm : (float, float)
        How far a point should lie off at most, and how far it may [mm]; a chord's middle may
        lie off by twice the second.

    Returns
    -------
    list of Segments or None
        One table a fit; None where they would leave the points too far.
    """
    inner = [_joint(points, a, b, off_mm[0]) for a, b in pairwise(fits)]
    if ends is None:
        seam = _joint(points, fits[-1], fits[0], off_mm[0])
        nodes = [seam, *inner, seam]
    else:
        first, last = points[fits[0].first], points[fits[-1].last]
        nodes = [
            _Node(first, None, nearly(fits[0].tangent(0.0), ends[0])),
            *inner,
            _Node(last, nearly(fits[-1].tangent(1.0), ends[1]), None),
        ]
    return [
        _between(points[f.first : f.last + 1], f, (a.point, a.out), (b.point, b.into), off_mm)
        for f, a, b in zip(fits, nodes[:-1], nodes[1:], strict=True)
    ]


_End = tuple[FloatArray, float | None]


def _between(
    points: FloatArray,
    fit: Fit,
    begin: _End,
    end: _End,
    off_mm: tuple[float, float],
    depth: int = 0,
) -> Segments | None:
    """Return the lines and arcs of one fit from joint to joint, None if they stray."""
    (p0, u0), (p1, u1) = begin, end
    plain = Segments(p0[None, :], p1[None, :], np.array([fit.bulge]))
    t0, t1 = fit.tangent(0.0), fit.tangent(1.0)
    moved = float(np.hypot(*(p0 - fit.start)) + np.hypot(*(p1 - fit.end)))
    if moved <= COINCIDENT_MM and _agree(u0, t0) and _agree(u1, t1):
        return plain
    made = _tangent(p0, u0, p1, u1) or plain
    should, may = off_mm
    if _near(made, points, should, 2.0 * may):
        return made
    if depth == _DEEPEST or len(points) < 2 * LEAST_CHORDS:
        return next((t for t in (made, plain) if _near(t, points, may, 2.0 * may)), None)
    # Halved, each half has a joint more to bend at.
    middle = len(points) // 2
    share = fit.table().fraction(points[middle : middle + 1, :1], points[middle : middle + 1, 1:])
    at = np.clip(share[0], 0.0, 1.0)
    foot, along = fit.table().point(at)[0], float(fit.table().direction(at)[0])
    halves = fit.table().between(np.zeros(1), at), fit.table().between(at, np.ones(1))
    one, other = (
        Fit(0, len(p) - 1, h.start[0], h.end[0], float(h.bulge[0]))
        for p, h in zip((points[: middle + 1], points[middle:]), halves, strict=True)
    )
    parts = (
        _between(points[: middle + 1], one, begin, (foot, along), off_mm, depth + 1),
        _between(points[middle:], other, (foot, along), end, off_mm, depth + 1),
    )
    return None if None in parts else Segments.stack([t for t in parts if t is not None])


def trimmed(points: FloatArray, fit: Fit) -> list[Fit]:
    """Return a fit without a few chords at its ends, so that it ends at vertices that lie on it.

    Parameters
    ----------
    points : (m + 1, 2) array
        The row of points the fit counts in [mm].
    fit : Fit
        One whose neighbours' joints lead it away from its points.

    Returns
    -------
    list of Fit
        One; none where too few chords would be left.
    """
    few = min(_TRIM, fit.chords // (2 * LEAST_CHORDS))
    if few < 1:
        return []
    table = fit.table()
    own = points[fit.first : fit.last + 1]
    share, off = table.nearest(own[:, :1], own[:, 1:])
    first = 1 + int(off[1 : few + 1, 0].argmin())
    last = len(own) - 2 - int(off[-few - 1 : -1, 0][::-1].argmin())
    part = table.between(share[first], share[last])
    return [
        Fit(fit.first + first, fit.first + last, part.start[0], part.end[0], float(part.bulge[0]))
    ]


def _agree(wanted: float | None, has: float) -> bool:
    return wanted is None or abs(_angle(wanted - has)) <= _EXACT_RAD


def _angle(difference: float) -> float:
    """Return a difference of directions in (-π, π] [rad]."""
    return float(wrapped_angle(np.array([difference]))[0])


def _tangent(p0: FloatArray, u0: float | None, p1: FloatArray, u1: float | None) -> Segments | None:
    """Return the arc or pair of arcs between two places with the directions that are given."""
    if u0 is None and u1 is None:
        return None
    step = p1 - p0
    heading = float(np.arctan2(step[1], step[0]))
    if u0 is None or u1 is None:
        # The angle between chord and tangent is half the turn.
        half = _angle(heading - u0 if u0 is not None else (u1 or 0.0) - heading)
        return Segments(p0[None, :], p1[None, :], np.array([np.tan(0.5 * half)]))
    tangents = [np.array([[np.cos(u), np.sin(u)]]) for u in (u0, u1)]
    joint, first, second = biarcs(p0[None, :], p1[None, :], *tangents)
    return Segments(
        np.vstack([p0, joint[0]]), np.vstack([joint[0], p1]), np.concatenate([first, second])
    )


def _near(made: Segments, points: FloatArray, off_mm: float, chord_mm: float) -> bool:
    """Return whether arcs keep to the points and chords and do not swing round."""
    if float(np.abs(made.turn).max()) > np.pi:
        return False
    middles = 0.5 * (points[:-1] + points[1:])
    return all(
        float(made.distance(p[:, :1], p[:, 1:]).min(axis=1).max()) <= limit
        for p, limit in ((points, off_mm), (middles, chord_mm))
    )


def replaced(path: Path, pieces: list[Piece]) -> Path | None:
    """Return a closed contour with pieces in place of chords, None if an edge would vanish.

    Returns
    -------
    Path or None
        Begun at the place of its old start. Each stretch of equal tags has its old length.
    """
    n = len(path)
    pieces = sorted(pieces, key=lambda p: p.first)
    origin = pieces[0].first
    rows: list[tuple[Segments, FloatArray, IntArray]] = []
    start, count = -1, 0
    at = origin
    for k, piece in enumerate(pieces):
        after = pieces[k + 1].first if k + 1 < len(pieces) else origin
        own = _cut(path, piece)
        if own is None:
            return None
        table, lengths, tags, zero = own
        rows.append((table, lengths, tags))
        if zero >= 0:
            start = count + zero
        count += len(table)
        at = piece.last % n
        between = np.arange(at, at + (after - at) % n) % n
        if 0 in between:
            start = count + int(np.flatnonzero(between == 0)[0])
        if len(between):
            rows.append(
                (Segments.of(path).take(between), path.lengths[between], path.tags[between])
            )
            count += len(between)
    table = Segments.stack([r[0] for r in rows])
    order = np.roll(np.arange(count), -max(start, 0))
    points = table.start[order]
    return Path(
        np.vstack([points, points[:1]]),
        table.bulge[order],
        np.concatenate([r[1] for r in rows])[order],
        True,
        np.concatenate([r[2] for r in rows])[order],
    )


def _cut(path: Path, piece: Piece) -> tuple[Segments, FloatArray, IntArray, int] | None:
    """Return a piece parted where tags change or the contour starts.

    With lengths, tags and the row that begins at the contour's start, -1 for none.
    """
    n = len(path)
    count = (piece.last - piece.first) % n or n
    segments = np.arange(piece.first, piece.first + count) % n
    tags, lengths = path.tags[segments], path.lengths[segments]
    cuts = np.flatnonzero((np.diff(tags) != 0) | (segments[1:] == 0)) + 1
    zero = 0 if segments[0] == 0 else -1
    table = piece.table
    size = table.lengths
    ends = np.cumsum(size)
    marks = np.concatenate([[0.0], _places(table, path.points[segments[cuts]]), ends[-1:]])
    # An arc that ends all but at a mark ends at the mark.
    joints = ends[:-1][np.abs(ends[:-1, None] - marks).min(axis=1) > COINCIDENT_MM]
    edges = np.sort(np.concatenate([marks, joints]))
    low, high = edges[:-1], edges[1:]
    row = np.minimum(np.searchsorted(ends, 0.5 * (low + high)), len(table) - 1)
    begin = ends[row] - size[row]
    parts = table.take(row).between(
        np.clip((low - begin) / size[row], 0.0, 1.0), np.clip((high - begin) / size[row], 0.0, 1.0)
    )
    section = np.searchsorted(marks, 0.5 * (low + high)) - 1
    share = high - low
    total = np.bincount(section, weights=share, minlength=len(marks) - 1)
    if float(total.min()) <= 0.0:
        return None
    drawn = np.add.reduceat(lengths, np.concatenate([[0], cuts]))
    first = np.concatenate([[0], cuts])
    found = np.flatnonzero(segments[cuts] == 0)
    if len(found):
        zero = int(np.searchsorted(section, found[0] + 1))
    return parts, drawn[section] * share / total[section], tags[first][section], zero


def _places(table: Segments, points: FloatArray) -> FloatArray:
    """Return where along a table of segments, end to end, points have their feet [mm]."""
    if not len(points):
        return np.zeros(0)
    fraction, away = table.nearest(points[:, :1], points[:, 1:])
    best = np.argmin(away, axis=1)
    size = table.lengths
    at = np.cumsum(size)[best] - size[best] * (1.0 - fraction[np.arange(len(best)), best])
    return np.asarray(np.maximum.accumulate(at))
