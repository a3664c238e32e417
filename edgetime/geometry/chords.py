"""Runs of short chords in a contour, taken for the lines and arcs they follow.

Drawing programs and digitisers hand on curves as polylines. A run of chords without a corner
is followed, within a tolerance, by as few lines and arcs as will do; they meet tangentially.
Each of them keeps the length of the chords it represents, so that no length changes.

A corner is a vertex that turns by more than :data:`CORNER_RAD` and stands out from the line
between its neighbours by more than noise within the tolerance explains. A chord many times as
long as its neighbours is a separate straight. A curve midway between vertices and middles of
chords is within the tolerance of both if the chords' rise is at most twice the tolerance; of
these curves the one through the vertices is taken, since programs put the vertices on the curve.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.arcfit import (
    LEAST_CHORDS,
    Fit,
    Limits,
    fit_points,
    pinned,
    round_trip,
)
from edgetime.geometry.chordline import Piece, laid, nearly, replaced, trimmed
from edgetime.geometry.interpolate import directions, through
from edgetime.geometry.measure import corner_turns, is_simple
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.tolerances import STRAIGHT_BULGE, ZERO_LENGTH_MM

CORNER_RAD: Final = np.radians(25.0)
"""A vertex that turns by more is a corner, unless noise may be the reason [rad].
It keeps octagons (45°) and twelve-sided figures (30°) as drawn; 15 chords and more to the round
are a curve if they are short enough."""

_SPIKE: Final = 1.5
"""Noise of half the tolerance in both axes makes a vertex stand out by up to 1.4 tolerances [-]."""

_LONG: Final = 4.0
"""A chord this many times as long as both its neighbours is a separate straight [-]."""

_LONG_MM: Final = 10.0
"""Shorter chords never are [mm]: a digitiser's points lie unevenly."""

_CLEAN: Final = 1.0 / 64.0
"""Points that scatter by less than this share of the tolerance lie on their curve [-]."""

_CLOSE: Final = 1.0 / 16.0
"""Share of the tolerance within which arcs pass the points of a clean curve [-]."""

_RUNGS: Final = (1.0 / 4.0, 1.0)
"""Shares of the tolerance tried in turn on noisy points [-]."""

_SHORT: Final = 12
"""Up to this many points are a curve only if they bend evenly: chance lays a few on any."""

_UNEVEN: Final = 3.0
"""How many times the least curvature of a short run its greatest may be [-]."""

_MEAN_CHORDS: Final = 4
"""A fit closer than the tolerance must save this factor in pieces, or it follows the noise."""

_ROOM: Final = 0.75
"""Share of the tolerance for the single fits, the rest for their tangent joints."""


@dataclass(frozen=True, slots=True)
class Chords:
    """Chords of a contour that were taken for a curve.

    Attributes
    ----------
    chords : int
        How many.
    arcs, straights : int
        What they were taken for.
    vertex_off_mm : float
        Largest distance of a vertex [mm].
    chord_off_mm : float
        Largest distance of the middle of a chord [mm].
    x_mm, y_mm : float
        Where they begin [mm].
    """

    chords: int
    arcs: int
    straights: int
    vertex_off_mm: float
    chord_off_mm: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True, eq=False)
class _Row:
    """A run of chords: its vertices as rows of the contour's, and if it is the whole round."""

    vertices: IntArray
    whole: bool


def follow_chords(path: Path, tolerance_mm: float) -> tuple[Path, tuple[Chords, ...]]:
    """Return a contour with its runs of chords replaced by the lines and arcs they follow.

    Parameters
    ----------
    path : Path
        Closed; no tag occurs in two places, none runs over the start.
    tolerance_mm : float
        How far a vertex may lie from what replaces its chords; the middle of a chord may lie
        twice as far [mm].

    Returns
    -------
    path : Path
        Every stretch of equal tags keeps its length. The vertices where tags change move onto
        the curve. The same object when nothing was recognised.
    found : tuple of Chords
        What was recognised, in order.
    """
    straight = np.abs(path.bulges) < STRAIGHT_BULGE
    if not path.closed or tolerance_mm <= 0.0 or np.count_nonzero(straight) <= LEAST_CHORDS:
        return path, ()
    lengths = Segments.of(path).lengths
    if float(lengths.min()) <= ZERO_LENGTH_MM:
        return path, ()
    # The start of an edge beside a corner may fall on the corner: then edges are followed singly.
    for edge_by_edge in (False, True):
        pieces: list[Piece] = []
        found: list[Chords] = []
        for row in _rows(path, straight, lengths, tolerance_mm, edge_by_edge=edge_by_edge):
            for group in _followed(path, row, tolerance_mm):
                pieces += group
                found.append(_told(path, group))
        out = replaced(path, pieces) if pieces else path
        if out is not None and (out is path or is_simple(out)):
            return out, tuple(found)
    return path, ()


def _rows(
    path: Path,
    straight: BoolArray,
    lengths: FloatArray,
    tolerance_mm: float,
    *,
    edge_by_edge: bool,
) -> Iterator[_Row]:
    """Yield the runs of chords between corners, bulged segments and long straights."""
    n = len(path)
    turn = corner_turns(path)
    after = np.roll(straight, -1)
    # A vertex on a straight, where an overlay ends, parts no chord.
    plain = straight & after & (np.abs(turn) * np.minimum(lengths, np.roll(lengths, -1)) < 1e-6)
    parts = np.roll(path.tags, -1) != path.tags
    parts[-1] = True
    if edge_by_edge:
        plain &= ~parts
    real = np.flatnonzero(~plain) + 1
    if len(real) <= LEAST_CHORDS:
        return
    # From here on vertex k of ``real`` begins chord k, on the closed round.
    first = real % n
    points = path.points[first]
    step = np.roll(points, -1, axis=0) - points
    size = np.hypot(step[:, 0], step[:, 1])
    chord = straight[first]
    bend = np.abs(turn[real - 1])
    span = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    cross = np.abs(span[:, 0] * step[:, 1] - span[:, 1] * step[:, 0])
    width = np.hypot(span[:, 0], span[:, 1])
    out = np.divide(cross, width, out=np.full(len(real), np.inf), where=width > 0.0)
    hard = ~(chord & np.roll(chord, 1)) | ((bend > CORNER_RAD) & (out > _SPIKE * tolerance_mm))
    hard |= bend > np.radians(150.0)
    if edge_by_edge:
        hard |= parts[real - 1]
    # The rise of a chord over which the contour turns by half of what it does at both ends.
    soft = np.where(hard, 0.0, bend)
    coarse = size * (soft + np.roll(soft, -1)) > 16.0 * 2.0 * tolerance_mm
    hard |= coarse | np.roll(coarse, 1)
    near = np.maximum(
        np.where(hard, 0.0, np.roll(size, 1)),
        np.where(np.roll(hard, -1), 0.0, np.roll(size, -1)),
    )
    long = (size > _LONG * near) & (size > _LONG_MM) & (near > 0.0)
    hard |= long | np.roll(long, 1)
    marks = np.flatnonzero(hard)
    if not len(marks):
        # Begun at the contour's start, which is a vertex in any case.
        begun = np.sort(first)
        yield _Row(np.append(begun, begun[0]), whole=True)
        return
    count = np.diff(np.append(marks, marks[0] + len(real)))
    for begin, length in zip(marks.tolist(), count.tolist(), strict=True):
        if length >= LEAST_CHORDS:
            yield _Row(first[np.arange(begin, begin + length + 1) % len(real)], whole=False)


def _limits(tolerance_mm: float, share: float) -> Limits:
    return Limits(share * tolerance_mm, 2.0 * tolerance_mm, 2.0 * tolerance_mm)


def _even(points: FloatArray) -> bool:
    """Return whether a short run bends one way, about equally, or not at all."""
    step = np.diff(points, axis=0)
    size = np.hypot(step[:, 0], step[:, 1])
    cross = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    bend = cross / (size[:-1] * size[1:] * (size[:-1] + size[1:]))
    low, high = float(bend.min()), float(bend.max())
    return low * high > 0.0 and max(abs(low), abs(high)) <= _UNEVEN * min(abs(low), abs(high))


def _noise(points: FloatArray) -> float:
    """Return how far points scatter about a smooth curve, roughly [mm].

    The fifth difference of independent scatter is the root of 252 times as large, that of a
    smooth curve nearly nothing.
    """
    if len(points) < 8:
        return 0.0
    # Fifth differences of points on a smooth curve all but vanish; those of noise have 252 times
    # its variance, the sum of the squares of 1, 5, 10, 10, 5, 1.
    fifth = np.diff(points, n=5, axis=0)
    return float(np.median(np.hypot(fifth[:, 0], fifth[:, 1])) / math.sqrt(252.0))


def _followed(path: Path, row: _Row, tolerance_mm: float) -> list[list[Piece]]:
    """Return what replaces a run of chords: stretches without a gap, or none if not a curve."""
    points = path.points[row.vertices]
    if len(points) <= _SHORT and not row.whole and not _even(points):
        return []
    noise = _noise(points)
    if noise <= _CLEAN * tolerance_mm:
        clean = _interpolated(path, row, points, tolerance_mm)
        if clean:
            return [clean]
    # The closest fit first: a curve drawn cleanly is followed closely, and only a noisy one is
    # given the whole tolerance.
    for share in _RUNGS:
        last = share == _RUNGS[-1]
        if not last and noise > 0.5 * share * tolerance_mm:
            continue
        single = _single(points, row, _limits(tolerance_mm, share))
        if single is not None:
            return _made(path, row, [list(single)], share, tolerance_mm)
        most = len(points) if last else max(2, (len(points) - 1) // _MEAN_CHORDS)
        fits, turned = _chain(points, row, _limits(tolerance_mm, _ROOM * share), most)
        worth = [f for f in fits if f.chords >= LEAST_CHORDS]
        covered = sum(f.chords for f in worth)
        if last or (fits[-1].last == len(points) - 1 and covered >= 0.9 * (len(points) - 1)):
            groups: list[list[Fit]] = []
            for fit in worth:
                if groups and groups[-1][-1].last == fit.first:
                    groups[-1].append(fit)
                else:
                    groups.append([fit])
            return _made(path, turned, groups, share, tolerance_mm)
    return []


def _interpolated(path: Path, row: _Row, points: FloatArray, tolerance_mm: float) -> list[Piece]:
    """Return the pieces through points that lie on a curve, none if their chords are too long."""
    lim = _limits(tolerance_mm, _CLOSE)
    single = _single(points, row, lim)
    if single is not None:
        return _made(path, row, [list(single)], _CLOSE, tolerance_mm)[0]
    along = directions(points, closed=row.whole)
    if not row.whole:
        first, last = _sides(path, row.vertices)
        for k, beside in ((0, first), (-1, last)):
            tangent = nearly(float(along[k]), beside)
            along[k] = along[k] if tangent is None else tangent
    return [
        Piece(
            int(row.vertices[s.first]),
            int(row.vertices[s.last]),
            s.table,
            points[s.first : s.last + 1],
        )
        for s in through(points, along, lim) or []
    ]


def _sides(path: Path, vertices: IntArray) -> tuple[float | None, float | None]:
    """Return the directions of the contour before and after a run of chords."""
    return _beside(path, int(vertices[0]) - 1, 1.0), _beside(path, int(vertices[-1]), 0.0)


def _single(points: FloatArray, row: _Row, lim: Limits) -> tuple[Fit, ...] | None:
    """Return the one line, arc or circle that follows a whole run."""
    if row.whole:
        return round_trip(points, lim)
    one = pinned(points, lim)
    return None if one is None else (one,)


def _chain(points: FloatArray, row: _Row, lim: Limits, most: int) -> tuple[list[Fit], _Row]:
    """Return fits one after another, and the run they count in.

    A closed run may begin anywhere: it is begun where the first fit from its start ends.
    """
    if not row.whole:
        return fit_points(points, lim, most), row
    begin = fit_points(points, lim, 1)[0].last
    vertices = np.roll(row.vertices[:-1], -begin)
    turned = np.roll(points[:-1], -begin, axis=0)
    fits = fit_points(np.vstack([turned, turned[:1]]), lim, most)
    return fits, _Row(np.append(vertices, vertices[0]), whole=True)


def _made(
    path: Path, row: _Row, groups: list[list[Fit]], share: float, tolerance_mm: float
) -> list[list[Piece]]:
    """Return the pieces of each group of neighbouring fits."""
    points = path.points[row.vertices]
    out = []
    waiting = groups[::-1]
    while waiting:
        group = waiting.pop()
        whole = row.whole and group[0].first == 0 and group[-1].last == len(points) - 1
        ends = None if whole else _sides(path, row.vertices[[group[0].first, group[-1].last]])
        tables = laid(points, group, ends, (share * tolerance_mm, tolerance_mm))
        failed = [k for k, t in enumerate(tables) if t is None]
        if failed:
            # Its chords stay as drawn but for those that it follows best, and its neighbours end
            # at their vertices.
            at = failed[0]
            parts = group[:at], trimmed(points, group[at]), group[at + 1 :]
            waiting += [list(p) for p in parts[::-1] if p]
            continue
        out.append(
            [
                Piece(
                    int(row.vertices[f.first]),
                    int(row.vertices[f.last]),
                    t,
                    points[f.first : f.last + 1],
                )
                for f, t in zip(group, tables, strict=True)
                if t is not None
            ]
        )
    return out


def _beside(path: Path, segment: int, at: float) -> float | None:
    """Return the direction of a neighbouring segment that is sure of it: an arc or long [rad]."""
    own = Segments.of(path).take(np.array([segment % len(path)]))
    if bool(own.straight[0]) and float(own.chord[0]) < _LONG_MM:
        return None
    return float(own.direction(np.array([at]))[0])


def _told(path: Path, group: list[Piece]) -> Chords:
    """Return what a finding says of neighbouring pieces."""
    bent = sum(int(np.count_nonzero(~p.table.straight)) for p in group)
    x, y = path.points[group[0].first].tolist()
    return Chords(
        sum(len(p.points) - 1 for p in group),
        bent,
        sum(len(p.table) for p in group) - bent,
        max(p.off_mm(p.points) for p in group),
        max(p.off_mm(0.5 * (p.points[:-1] + p.points[1:])) for p in group),
        float(x),
        float(y),
    )
