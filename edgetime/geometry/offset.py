"""The exact parallel path of a tool along an edge.

The stone lies on the left of the path and the tool on its right. Lines stay lines and arcs
stay arcs; a corner that opens towards the tool is rolled by an arc about the vertex; where the
tool does not fit it does not go, and the stretch of edge it misses is reported.

A piece of the raw parallel path (parallels and rolled arcs) can be walked by the tool exactly
if no point of the source is nearer to it than the distance. The border between allowed and
forbidden consists of raw pieces themselves, so every raw piece is parted at all its crossings
with the others and each part is judged by its middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from edgetime.columns import Columns
from edgetime.geometry.chaining import link_chains
from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.measure import vertex_positions
from edgetime.geometry.near import any_nearer, in_blocks, uncovered
from edgetime.geometry.path import FloatArray, IntArray, Path, travelled
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.geometry.split import cut_rows
from edgetime.geometry.surround import ROLL_MM, all_round, corners, shifted, vertices
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM

_SPLIT_MM: Final = 1e-7
"""Crossings closer together than this are one [mm]."""

_MANY: Final = 300
"""With more segments the parallel is first freed of what vertices nearby rule out."""

_KEEP_MM: Final = 1e-9
"""By so much a piece may seem too near for rounding alone, per metre of coordinates [mm]."""


@dataclass(frozen=True, eq=False)
class Offset:
    """The parallel path of a source path.

    Attributes
    ----------
    chains : tuple of Path
        Continuous pieces in order along the source, each run in its direction; ``closed``
        where the tool comes round. Tags are source segment indices; a rolled arc has that of
        the segment before the corner. Lengths are exact.
    rolled : tuple of (m,) boolean arrays
        True for the arcs about corners, one array a chain.
    treated : tuple of (m,) arrays
        Length of source edge each segment of the chain stands for [mm]; 0 for rolled arcs and
        for the short cut across an inside arc that is passed but not entered.
    spans : tuple of (m, 2) arrays
        Where along the source that edge begins and ends [mm].
    unreached : (k, 2) array
        Stretches along the source that no chain treats [mm], sorted; one that runs over the
        start of a closed source is in two parts.
    """

    chains: tuple[Path, ...]
    rolled: tuple[BoolArray, ...]
    treated: tuple[FloatArray, ...]
    spans: tuple[FloatArray, ...]
    unreached: FloatArray

    @property
    def length_mm(self) -> float:
        """Total length of the chains [mm]."""
        return sum(c.length_mm for c in self.chains)

    @property
    def treated_mm(self) -> float:
        """Total length of source edge treated [mm]."""
        return float(sum(t.sum() for t in self.treated))


@dataclass(frozen=True, eq=False)
class _Raw(Columns):
    """Raw pieces in source order, some of them only borders of the forbidden ground."""

    table: Segments
    lengths: FloatArray
    spans: FloatArray
    tags: IntArray
    rolled: BoolArray
    treats: BoolArray
    pivot: BoolArray


def _raw_pieces(path: Path, d: float, clearance: float) -> tuple[_Raw, Segments, bool]:
    """Return the raw pieces of a positive offset, its mere borders, and if it is plainly convex.

    Segments without length have no direction and are passed over.
    """
    marks = vertex_positions(path)
    live = np.flatnonzero(Segments.of(path).lengths > ZERO_LENGTH_MM)
    source = Segments.of(path).take(live)
    n = len(live)
    start, end = shifted(source, d, 0.0), shifted(source, d, 1.0)
    inside = source.turn < 0.0
    room = np.where(inside, np.abs(source.radius) - d, np.inf)
    pivot = np.abs(room) <= COINCIDENT_MM
    exists = (room > 0.0) | pivot
    reach = room >= clearance - COINCIDENT_MM
    passed = exists & ~reach
    bulge = np.where(passed, 0.0, source.bulge)
    along = Segments(start, end, bulge)
    own = travelled(path.lengths[live], source.lengths)
    length = np.where(passed, along.chord, own + d * source.turn)
    # An inside arc of just the tool's radius is turned on the spot.
    spot = 0.5 * (start + end)
    start = np.where(pivot[:, None], spot, start)
    end_of = np.where(pivot[:, None], spot, end)
    length = np.where(pivot & reach, 0.0, length)

    tau = corners(source, closed=path.closed)
    # At a convex corner the centre turns about the vertex; at a concave one the parallels cross and
    # are cut there.
    roll = tau * d > ROLL_MM
    rolled = Segments(end, np.roll(shifted(source, d, 0.0), -1, axis=0), np.tan(0.25 * tau))

    exists2 = np.column_stack([exists, roll]).ravel()
    raw = _Raw(
        Segments(
            np.stack([start, rolled.start], axis=1).reshape(-1, 2),
            np.stack([end_of, rolled.end], axis=1).reshape(-1, 2),
            np.column_stack([np.where(pivot, 0.0, bulge), rolled.bulge]).ravel(),
        ),
        np.column_stack([np.maximum(length, 0.0), d * tau]).ravel(),
        np.stack(
            [
                np.column_stack([marks[live], marks[live + 1]]),
                np.column_stack([marks[live + 1], marks[live + 1]]),
            ],
            axis=1,
        ).reshape(-1, 2),
        np.repeat(live, 2),
        np.tile([False, True], n),
        np.column_stack([reach, np.zeros(n, dtype=np.bool_)]).ravel(),
        np.column_stack([pivot, np.zeros(n, dtype=np.bool_)]).ravel(),
    ).take(exists2)
    borders = Segments(start, end, source.bulge).take(passed & ~pivot)
    # Convex all round, no piece of the parallel comes near another stretch: nothing is to be cut.
    convex = bool(
        path.closed
        and not inside.any()
        and (tau * d >= -ROLL_MM).all()
        and abs(float(source.turn.sum() + tau.sum()) - 2.0 * np.pi) < 1e-6
    )
    return raw, borders, convex


def _bared(raw: _Raw, path: Path, d: float) -> _Raw:
    """Return what is left of the raw pieces outside the discs about vertices nearby."""
    own = raw.tags + raw.rolled
    low, high = uncovered(raw.table, own, raw.rolled, vertices(path), d)
    low, high = np.where(raw.pivot, 0.0, low), np.where(raw.pivot, 1.0, high)
    left = high > low
    return _part(raw, np.flatnonzero(left), low[left], high[left])


def _part(raw: _Raw, row: IntArray, low: FloatArray, high: FloatArray) -> _Raw:
    """Return parts of raw pieces, from one fraction of each to another."""
    own = raw.take(row)
    first, last = own.spans[:, :1], own.spans[:, 1:]
    return replace(
        own,
        table=own.table.between(low, high),
        lengths=own.lengths * (high - low),
        spans=first + (last - first) * np.column_stack([low, high]),
    )


def _parted(raw: _Raw, borders: Segments) -> _Raw:
    """Return the raw pieces parted at all crossings among them and with the borders."""
    n = len(raw.table)
    every = Segments.stack([raw.table, borders])
    i, j = _meeting(every.boxes(), n)
    pieces, places = [i[:0]], [np.zeros(0)]
    for a, b in in_blocks(i, j):
        row, at_i, at_j = intersections(every.take(a), every.take(b))
        pieces += [a[row], b[row]]
        places += [at_i, at_j]
    piece, at = np.concatenate(pieces), np.concatenate(places)
    # Borders only cut; they are not pieces of the path themselves.
    own = piece < n
    row, low, high = cut_rows(raw.table.lengths, piece[own], at[own], _SPLIT_MM)
    return raw if len(row) == n else _part(raw, row, low, high)


def _meeting(boxes: FloatArray, count: int) -> tuple[IntArray, IntArray]:
    """Return the pairs of boxes that meet, of which the first is one of the first ``count``."""
    i, j = candidate_pairs(boxes[:count])
    to, other = candidate_pairs(boxes[:count], boxes[count:])
    return np.concatenate([i, to]), np.concatenate([j, other + count])


def _clear(raw: _Raw, obstacles: Segments, d: float) -> BoolArray:
    """Return whether each piece keeps its distance from everything."""
    # Cut at all crossings, a piece is clear or forbidden as a whole: its middle tells.
    middle = raw.table.point(np.full(len(raw.table), 0.5))
    # Rounding grows with the distance from the origin.
    scale = max(1.0, float(np.abs(obstacles.start).max()) * 1e-3)
    slack = np.where(raw.pivot, COINCIDENT_MM, _KEEP_MM * scale)
    return ~any_nearer(middle, d - slack, obstacles)


def _missed(spans: FloatArray, total: float) -> FloatArray:
    """Return the stretches of [0, total] that the spans leave out (k, 2) [mm]."""
    if not len(spans):
        return np.array([[0.0, total]])
    spans = spans[np.argsort(spans[:, 0])]
    reached = np.maximum.accumulate(spans[:, 1])
    low = np.concatenate([[0.0], reached])
    high = np.concatenate([spans[:, 0], [total]])
    gap = high - low > COINCIDENT_MM
    return np.column_stack([low[gap], high[gap]])


def _mirrored(path: Path, found: Offset) -> Offset:
    """Return an offset of the reversed path as one of the path itself, to its left."""
    n, total = len(path), path.length_mm
    chains = tuple(
        Path(p.points, p.bulges, p.lengths, p.closed, n - 1 - p.tags)
        for p in (c.reversed() for c in reversed(found.chains))
    )
    return Offset(
        chains,
        tuple(r[::-1] for r in reversed(found.rolled)),
        tuple(t[::-1] for t in reversed(found.treated)),
        tuple(total - s[::-1, ::-1] for s in reversed(found.spans)),
        total - found.unreached[::-1, ::-1],
    )


def offset_path(
    path: Path,
    distance_mm: float,
    *,
    clearance_mm: float = 0.0,
    against: Sequence[Path] = (),
) -> Offset:
    """Return the path of a tool's centre along an edge.

    Parameters
    ----------
    path : Path
        Open or closed, without crossings, the stone on its left.
    distance_mm : float
        Radius of the tool: to the right positive, to the left negative [mm].
    clearance_mm : float
        An inside arc is entered only if its radius is at least this much larger than the
        distance [mm].
    against : sequence of Path
        Further curves the tool stays clear of: the rest of the contour, other parts.

    Returns
    -------
    Offset
        Chains, what each part of them treats, and the stretches not reached. A parallel is
        ``turn × distance`` longer than its source (exact for parallel curves, so it holds for
        the exact lengths of splines as well), a rolled arc ``turn × distance`` long.
    """
    if distance_mm == 0.0 or not len(path):
        marks = vertex_positions(path)
        own = travelled(path.lengths, Segments.of(path).lengths)
        return Offset(
            (Path(path.points, path.bulges, own, path.closed, np.arange(len(path))),),
            (np.zeros(len(path), dtype=np.bool_),),
            (path.lengths.copy(),),
            (np.column_stack([marks[:-1], marks[1:]]),),
            np.zeros((0, 2)),
        )
    if distance_mm < 0.0:
        back = offset_path(
            path.reversed(), -distance_mm, clearance_mm=clearance_mm, against=against
        )
        return _mirrored(path, back)
    total = path.length_mm
    raw, borders, convex = _raw_pieces(path, distance_mm, clearance_mm)
    if not convex or against:
        source = [Segments.of(path), *(Segments.of(p) for p in against)]
        around = [all_round(p, distance_mm, bare=len(p) > _MANY) for p in against]
        if not path.closed:
            around.append(all_round(path, distance_mm, bare=len(path) > _MANY))
        if len(raw.table) > _MANY:
            raw = _bared(raw, path, distance_mm)
        raw = _parted(raw, Segments.stack([borders, *around]))
        raw = raw.take(_clear(raw, Segments.stack(source), distance_mm))
    treated = np.where(raw.treats, raw.spans[:, 1] - raw.spans[:, 0], 0.0)
    runs = link_chains(raw.table.start, raw.table.end, closed=path.closed)
    chains: list[Path] = []
    rolled: list[BoolArray] = []
    lengths: list[FloatArray] = []
    spans: list[FloatArray] = []
    for rows, whole in runs:
        chain = _chain(raw, rows, treated, closed=whole)
        if chain is None:
            continue
        chains.append(chain[0])
        rolled.append(chain[1])
        lengths.append(chain[2])
        spans.append(chain[3])
    return Offset(
        tuple(chains),
        tuple(rolled),
        tuple(lengths),
        tuple(spans),
        _missed(raw.spans[treated > 0.0], total),
    )


def _chain(
    raw: _Raw, rows: IntArray, treated: FloatArray, *, closed: bool
) -> tuple[Path, BoolArray, FloatArray, FloatArray] | None:
    """Return one chain with its columns, None if it treats nothing.

    Ends of an open chain that treat nothing are cut off. A turn on the spot has no length: the
    edge it treats is given to its neighbour.
    """
    worth = np.flatnonzero(treated[rows] > 0.0)
    if not len(worth):
        return None
    if not closed:
        # Arcs about the ends of an open source treat no edge.
        rows = rows[worth[0] : worth[-1] + 1]
    own = raw.take(rows)
    length, span = treated[rows].copy(), own.spans.copy()
    short = own.table.lengths <= ZERO_LENGTH_MM
    if short.any() and not short.all():
        keep = np.flatnonzero(~short)
        for k in np.flatnonzero(short & (length > 0.0)):
            before = keep[keep < k]
            to = before[-1] if len(before) else keep[0]
            length[to] += length[k]
            span[to] = (span[to, 0], span[k, 1]) if len(before) else (span[k, 0], span[to, 1])
        own, length, span = own.take(keep), length[keep], span[keep]
    last = own.table.start[:1] if closed else own.table.end[-1:]
    path = Path(np.vstack([own.table.start, last]), own.table.bulge, own.lengths, closed, own.tags)
    return path, own.rolled, length, span
