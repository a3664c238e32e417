"""Parallels of many runs at once, where nothing is in the way.

Most runs are plain: no inside corner is sharp or tighter than the tool, and the tool fits
through every opening. Then the parallel is known piece by piece without parting anything, and
the pieces of all runs of a load are computed together. Whatever is not plain goes through
:func:`edgetime.geometry.offset.offset_path`, whose result this one equals where both apply.

A run counts as plain if its whole contour is. The border of the ground the tool must keep off
consists of pieces of the raw parallel itself, so a raw parallel of a closed contour that
nowhere meets itself is clear of the stone as a whole if it is clear at one place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import BoolArray, Segments, wrapped_angle
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM
from edgetime.toolpath.centre import CentreLine

__all__ = ["Parallel", "plain_lines"]

_ROLL_MM: Final = 1e-8
"""A rolled arc shorter than this is the rounding of a tangent joint [mm]."""

_BLOCK: Final = 20_000
"""Contour segments worked on at once, to bound the memory."""


@dataclass(frozen=True, eq=False)
class Parallel:
    """A run to be followed at a distance.

    Attributes
    ----------
    contour : Path
        Closed, stone on the left; begins with the run.
    count : int
        How many of its segments are the run.
    offset_mm : float
        Distance into the air [mm].
    clearance_mm : float
        By how much an inside arc's radius must exceed the offset [mm].
    """

    contour: Path
    count: int
    offset_mm: float
    clearance_mm: float


def plain_lines(wanted: Sequence[Parallel]) -> list[CentreLine | None]:
    """Return the centre line of each run that is plain, None for the others.

    Parameters
    ----------
    wanted : sequence of Parallel
        Runs on closed contours.

    Returns
    -------
    list of CentreLine or None
        In the order given.
    """
    out: list[CentreLine | None] = []
    block: list[Parallel] = []
    size = 0
    for each in wanted:
        block.append(each)
        size += len(each.contour)
        if size >= _BLOCK:
            out += _lines(block)
            block, size = [], 0
    return out + (_lines(block) if block else [])


@dataclass(frozen=True, eq=False)
class _Table:
    """The contours of a block as one table of segments, with the raw parallels."""

    source: Segments
    first: IntArray
    job: IntArray
    d: FloatArray
    along: Segments
    rolled: Segments
    tau: FloatArray
    rolls: BoolArray

    @classmethod
    def of(cls, block: Sequence[Parallel]) -> _Table:
        sizes = np.array([len(w.contour) for w in block], dtype=np.int64)
        first = np.concatenate([[0], np.cumsum(sizes)])
        source = Segments.stack([Segments.of(w.contour) for w in block])
        job = np.repeat(np.arange(len(block)), sizes)
        d = np.repeat(np.array([w.offset_mm for w in block]), sizes)
        follower = np.arange(1, len(job) + 1, dtype=np.int64)
        follower[first[1:] - 1] = first[:-1]
        half = 0.5 * source.turn
        begin, finish = source.heading - half, source.heading + half
        tau = wrapped_angle(begin[follower] - finish)
        start = source.start + d[:, None] * np.column_stack([np.sin(begin), -np.cos(begin)])
        end = source.end + d[:, None] * np.column_stack([np.sin(finish), -np.cos(finish)])
        return cls(
            source,
            first,
            job,
            d,
            Segments(start, end, source.bulge),
            Segments(end, start[follower], np.tan(0.25 * tau)),
            tau,
            tau * d > _ROLL_MM,
        )

    def each_job(self, rows: BoolArray) -> BoolArray:
        """Return which jobs have a marked row."""
        out = np.zeros(len(self.first) - 1, dtype=np.bool_)
        out[self.job[rows]] = True
        return out


def _lines(block: Sequence[Parallel]) -> list[CentreLine | None]:
    """Return the centre lines of one block."""
    t = _Table.of(block)
    clearance = np.array([w.clearance_mm for w in block])[t.job]
    inside = t.source.turn < 0.0
    room = np.where(inside, np.abs(t.source.radius) - t.d, np.inf)
    bad = (
        (t.source.lengths <= ZERO_LENGTH_MM)
        | (t.d <= 0.0)
        | (room <= COINCIDENT_MM)
        | (room < clearance - COINCIDENT_MM)
        | (t.tau * t.d < -_ROLL_MM)
    )
    plain = ~t.each_job(bad)
    turn = np.bincount(t.job, weights=t.source.turn + t.tau, minlength=len(block))
    convex = ~t.each_job(inside) & (np.abs(turn - 2.0 * np.pi) < 1e-6)
    doubtful = plain & ~convex
    if doubtful.any():
        plain &= ~_meets_itself(t, doubtful)
        plain &= ~_too_near(t, doubtful)
    radius = np.abs(t.source.radius)
    lengths = np.concatenate([w.contour.lengths for w in block])
    out: list[CentreLine | None] = []
    for k, w in enumerate(block):
        if not plain[k]:
            out.append(None)
            continue
        a = int(t.first[k])
        out.append(_line(t, slice(a, a + w.count), w, lengths, radius))
    return out


def _meets_itself(t: _Table, doubtful: BoolArray) -> BoolArray:
    """Return which of the doubtful jobs have a raw parallel that meets itself."""
    rows = np.flatnonzero(doubtful[t.job])
    curved = rows[t.rolls[rows]]
    pieces = Segments.stack([t.along.take(rows), t.rolled.take(curved)])
    job = np.concatenate([t.job[rows], t.job[curved]])
    # Places along the contours: a rolled arc comes after its segment. Closed contours join up.
    place = np.concatenate([2 * rows, 2 * curved + 1])
    boxes = pieces.boxes()
    # Contours are laid out side by side, so that only pieces of one meet.
    low = np.full(len(doubtful), np.inf)
    high = np.full(len(doubtful), -np.inf)
    np.minimum.at(low, job, boxes[:, 0])
    np.maximum.at(high, job, boxes[:, 2])
    width = np.where(doubtful, high - low + 1.0, 0.0)
    shift = np.cumsum(width) - width - np.where(doubtful, low, 0.0)
    boxes[:, [0, 2]] += shift[job][:, None]
    i, j = candidate_pairs(boxes)
    # In running order, neighbours touch: ranks differ by one, or by all but one around the end.
    rank = np.empty(len(place), dtype=np.int64)
    rank[np.argsort(place, kind="stable")] = np.arange(len(place))
    count = np.bincount(job, minlength=len(doubtful))[job[i]]
    gap = np.abs(rank[i] - rank[j])
    use = (gap > 1) & (gap < count - 1) & (job[i] == job[j])
    i, j = i[use], j[use]
    row, _, _ = intersections(pieces.take(i), pieces.take(j))
    out = np.zeros(len(doubtful), dtype=np.bool_)
    out[job[i[row]]] = True
    return out


def _too_near(t: _Table, doubtful: BoolArray) -> BoolArray:
    """Return which of the doubtful jobs are too near to the stone at their first piece."""
    at = t.along.take(t.first[:-1])
    middle = at.point(np.full(len(at), 0.5))
    rows = np.flatnonzero(doubtful[t.job])
    p = middle[t.job[rows]]
    near = t.source.take(rows).distance(p[:, 0], p[:, 1]) < t.d[rows] - COINCIDENT_MM
    out = np.zeros(len(doubtful), dtype=np.bool_)
    out[t.job[rows[near]]] = True
    return out


def _line(
    t: _Table, rows: slice, w: Parallel, lengths: FloatArray, radius: FloatArray
) -> CentreLine:
    """Return the centre line over some rows, the corners between them rolled."""
    n = w.count
    whole = n == len(w.contour)
    rolls = t.rolls[rows].copy()
    if not whole:
        rolls[-1] = False
    d, tau = w.offset_mm, t.tau[rows]
    keep = np.column_stack([np.ones(n, dtype=np.bool_), rolls]).ravel()
    along, rolled = t.along, t.rolled
    start = np.stack([along.start[rows], rolled.start[rows]], axis=1).reshape(-1, 2)[keep]
    end = np.stack([along.end[rows], rolled.end[rows]], axis=1).reshape(-1, 2)[keep]
    bulge = np.column_stack([along.bulge[rows], rolled.bulge[rows]]).ravel()[keep]
    edge = lengths[rows]
    shifted = edge + d * t.source.turn[rows]
    length = np.column_stack([shifted, d * tau]).ravel()[keep]
    zero = np.zeros(n)
    treated = np.column_stack([edge, zero]).ravel()[keep]
    centre_radius = radius[rows] + np.sign(t.source.turn[rows]) * d
    arc = np.isfinite(centre_radius)
    q = np.divide(radius[rows], centre_radius, out=np.ones(n), where=arc)
    ratio = np.column_stack([q, zero]).ravel()[keep]
    # The ends of a chain are its pieces' starts, so that it is continuous to the last digit.
    end[:-1] = start[1:]
    if whole:
        end[-1] = start[0]
    return CentreLine(
        Segments(start, end, bulge),
        length,
        treated,
        np.repeat(np.arange(n), 2)[keep],
        ratio,
        closed=whole,
        first_mm=0.0,
        last_mm=float(edge.sum()),
    )
