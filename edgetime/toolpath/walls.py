"""The way of a bit that cuts an opening: stock only where a later step takes it off.

A cut leaves stock on the wall for roughing. Where no roughing or seam wheel comes along after
it, or where that wheel does not reach, the stock would stay for good, and the opening would be
too small. So the centre runs at two distances: the tool's radius plus the stock where it is
taken off later, the radius alone everywhere else, with a step square to the edge in between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from edgetime.geometry.measure import locate, vertex_positions
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import Segments
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM
from edgetime.toolpath.batch_offset import Reached
from edgetime.toolpath.centre import CentreLine

_SLACK: Final = 1e-9
"""A place this near to the end of a segment, in shares of it, is the end."""

Stretch = tuple[float, float]
"""Where a stretch of an edge begins and ends along its run [mm]."""


def complement(gaps: Sequence[Stretch], total: float) -> list[Stretch]:
    """Return what is left of a run of some length without the gaps, ascending.

    Parameters
    ----------
    gaps : sequence of (float, float)
        Within the run [mm].
    total : float
        Length of the run [mm].
    """
    out: list[Stretch] = []
    at = 0.0
    for low, high in sorted(gaps):
        if low - at > COINCIDENT_MM:
            out.append((at, low))
        at = max(at, high)
    if total - at > COINCIDENT_MM:
        out.append((at, total))
    return out


def shifted(stretches: Sequence[Stretch], by: float, around: float, total: float) -> list[Stretch]:
    """Return stretches of one run as stretches of another on the same closed contour.

    Parameters
    ----------
    stretches : sequence of (float, float)
        Along the first run [mm].
    by : float
        Where the first run begins, along the contour from the other's beginning [mm].
    around, total : float
        Lengths of the contour and of the other run [mm].
    """
    out: list[Stretch] = []
    for low, high in stretches:
        begin = (low + by) % around
        for turn in (0.0, around):
            a, b = max(0.0, begin - turn), min(total, begin - turn + high - low)
            if b - a > COINCIDENT_MM:
                out.append((a, b))
    return complement(complement(out, total), total)


def _both(a: Sequence[Stretch], b: Sequence[Stretch], total: float) -> list[Stretch]:
    """Return the stretches that are in both."""
    return complement([*complement(a, total), *complement(b, total)], total)


def _left(
    followed: Sequence[Stretch], gaps: Sequence[Stretch], total: float, radius: float
) -> list[Stretch]:
    """Return where stock is left: where it is taken off later and the bit runs at both distances.

    From a corner that the bit does not enter it keeps off by its radius, so that the step lies
    clear of the corner. A shorter stretch than the radius is not worth two steps.
    """
    grown = [(max(0.0, low - radius), min(total, high + radius)) for low, high in gaps]
    kept = _both(followed, complement(grown, total), total)
    return [(low, high) for low, high in kept if high - low > radius]


def _spans(line: CentreLine, path: Path) -> FloatArray:
    """Return where along the run the edge of each row begins and ends (n, 2) [mm].

    A row that treats nothing lies where the row before it ends.
    """
    edge = Segments.of(path).take(line.tags)
    marks, length = vertex_positions(path)[line.tags], path.lengths[line.tags]
    ends = (line.segments.start, line.segments.end)
    at = [np.clip(edge.fraction(p[:, 0], p[:, 1]), 0.0, 1.0) for p in ends]
    spans = np.column_stack([marks + a * length for a in at])
    for k in np.flatnonzero(line.treated <= 0.0).tolist():
        spans[k] = spans[k - 1, 1]
    return spans


def begun_along(line: CentreLine, path: Path, at_mm: float) -> CentreLine | None:
    """Return a closed line begun at a place of its edge; None where it does not treat that.

    Parameters
    ----------
    line : CentreLine
        Closed.
    path : Path
        Its run.
    at_mm : float
        Along the run [mm].
    """
    segment, fraction = locate(path, [at_mm])
    rows = np.flatnonzero((line.tags == segment[0]) & (line.treated > 0.0))
    edge = Segments.of(path).take(np.full(len(rows), segment[0]))
    table = line.segments.take(rows)
    first = edge.fraction(table.start[:, 0], table.start[:, 1])
    last = edge.fraction(table.end[:, 0], table.end[:, 1])
    share = (float(fraction[0]) - first) / (last - first)
    found = np.flatnonzero((share >= -_SLACK) & (share <= 1.0 + _SLACK))
    if not len(found):
        return None
    k = int(found[0])
    within = float(np.clip(share[k], 0.0, 1.0))
    if within > 1.0 - _SLACK:
        return line.begun_at((int(rows[k]) + 1) % len(line), 0.0)
    return line.begun_at(int(rows[k]), within if within > _SLACK else 0.0)


@dataclass(eq=False)
class _Chunk:
    """Shares of successive rows of one line, from place ``begin`` to ``end`` along the edge."""

    line: CentreLine
    begin: float
    end: float
    rows: list[int] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def add(self, row: int, low: float, high: float, end: float) -> None:
        self.rows.append(row)
        self.low.append(low)
        self.high.append(high)
        self.end = end

    def before(self, other: _Chunk) -> _Chunk:
        """Return this chunk with another behind it."""
        return _Chunk(
            self.line, self.begin, other.end,
            self.rows + other.rows, self.low + other.low, self.high + other.high,
        )  # fmt: skip

    def all_round(self) -> bool:
        """Return whether this is the whole of a closed line."""
        share = np.array(self.high) - np.array(self.low)
        return self.line.closed and len(self.rows) == len(self.line) and bool((share == 1.0).all())

    def segments(self) -> Segments:
        rows = np.array(self.rows)
        return self.line.segments.take(rows).between(np.array(self.low), np.array(self.high))


def _chunks(
    line: CentreLine, path: Path, kept: Sequence[Stretch], *, corners: bool
) -> list[_Chunk]:
    """Return what of a line lies along the kept stretches.

    Parameters
    ----------
    line : CentreLine
        Along the run.
    path : Path
        The run.
    kept : sequence of (float, float)
        Along the run [mm].
    corners : bool
        Whether rolled corners at the ends of the stretches belong to them.
    """
    out: list[_Chunk] = []
    now: _Chunk | None = None
    grown = COINCIDENT_MM if corners else -COINCIDENT_MM
    for row, (begin, end) in enumerate(_spans(line, path).tolist()):
        if line.treated[row] <= 0.0:
            if not any(low - grown <= begin <= high + grown for low, high in kept):
                now = None
                continue
            parts = [(begin, begin, 0.0, 1.0)]
        else:
            cut = [(max(begin, low), min(end, high)) for low, high in kept]
            size = end - begin
            parts = [
                (a, b, (a - begin) / size, (b - begin) / size)
                for a, b in cut
                if b - a > ZERO_LENGTH_MM
            ]
            if not parts or parts[0][2] * size > ZERO_LENGTH_MM:
                now = None
        for k, (a, b, low, high) in enumerate(parts):
            if now is None or k:
                now = _Chunk(line, a, a)
                out.append(now)
            now.add(row, low, high, b)
        if parts and (1.0 - parts[-1][3]) * (end - begin) > ZERO_LENGTH_MM:
            now = None
    if (
        line.closed
        and len(out) > 1
        and now is out[-1]
        and out[0].rows[0] == 0
        and not out[0].low[0]
    ):
        out[0] = out.pop().before(out[0])
    return out


def _line(chunks: Sequence[_Chunk], *, closed: bool) -> CentreLine:
    """Return chunks one behind the other, with straight steps in between, as one line."""
    tables: list[Segments] = []
    columns: list[list[FloatArray]] = [[], [], []]
    tags: list[IntArray] = []
    follows = [*chunks[1:], chunks[0]] if closed else [*chunks[1:], None]
    for chunk, then in zip(chunks, follows, strict=True):
        rows, share = np.array(chunk.rows), np.array(chunk.high) - np.array(chunk.low)
        table, line = chunk.segments(), chunk.line
        tables.append(table)
        tags.append(line.tags[rows])
        for column, name in zip(columns, ("length", "treated"), strict=False):
            column.append(getattr(line, name)[rows] * share)
        columns[2].append(line.contact_ratio[rows])
        if then is None or (then is chunk and len(chunks) == 1):
            continue
        a, b = table.end[-1], then.segments().start[0]
        tables.append(Segments(a[None, :], b[None, :], np.zeros(1)))
        tags.append(line.tags[rows[-1:]])
        for column, value in zip(columns, (float(np.hypot(*(b - a))), 0.0, 0.0), strict=True):
            column.append(np.array([value]))
    table = Segments.stack(tables)
    # Each piece ends where the next begins, to the last digit.
    table.end[:-1] = table.start[1:]
    if closed:
        table.end[-1] = table.start[0]
    length, treated, ratio = (np.concatenate(column) for column in columns)
    first, last = chunks[0].begin, chunks[-1].end
    return CentreLine(table, length, treated, np.concatenate(tags), ratio, closed, first, last)


def cut_lines(
    path: Path, stock: Reached, size: Reached, followed: Sequence[Stretch], radius_mm: float
) -> Reached:
    """Return the centre lines of a bit that leaves stock where it is taken off later.

    Parameters
    ----------
    path : Path
        The run of the cut.
    stock, size : Reached
        Centre lines at the tool's radius plus the stock, and at the radius alone, each with the
        stretches it misses.
    followed : sequence of (float, float)
        Where along the run later steps take the stock off [mm], ascending.
    radius_mm : float
        The tool's [mm].

    Returns
    -------
    lines : tuple of CentreLine
        In order along the run; closed where the bit comes round.
    unreached : (k, 2) array
        Stretches that the bit misses [mm].
    """
    total = path.length_mm
    gaps = [*stock[1].tolist(), *size[1].tolist()]
    left = _left(followed, gaps, total, radius_mm)
    whole = [(0.0, total)]
    # Where later steps follow all of the edge, or none of it, one of the two lines serves whole.
    if not left:
        return size
    if complement(left, total) == [] and not gaps:
        return stock
    chunks = [
        (kind, c)
        for kind, lines, kept in (
            (0, stock[0], left),
            (1, size[0], _both(whole, complement(left, total), total)),
        )
        for line in lines
        for c in _chunks(line, path, kept, corners=kind == 1)
    ]
    return tuple(_linked(chunks, path, left)), size[1]


def _linked(
    chunks: list[tuple[int, _Chunk]], path: Path, left: Sequence[Stretch]
) -> list[CentreLine]:
    """Join chunks of both kinds where the bit steps from one distance to the other."""
    total = path.length_mm
    steps = [s for stretch in left for s in stretch]
    if path.closed and steps[0] <= COINCIDENT_MM and steps[-1] >= total - COINCIDENT_MM:
        steps = steps[1:-1]

    def meets(a: float, b: float) -> bool:
        gap = abs(a - b)
        return min(gap, abs(gap - total) if path.closed else gap) <= COINCIDENT_MM

    def is_step(at: float) -> bool:
        return any(meets(at, s) for s in steps)

    after: dict[int, int] = {}
    for i, (kind, one) in enumerate(chunks):
        if is_step(one.end):
            for j, (other_kind, other) in enumerate(chunks):
                if other_kind != kind and meets(one.end, other.begin):
                    after[i] = j
    heads = sorted(set(range(len(chunks))) - set(after.values()), key=lambda i: chunks[i][1].begin)
    out: list[CentreLine] = []
    seen: set[int] = set()
    for head in [*heads, *sorted(after, key=lambda i: chunks[i][1].begin)]:
        if head in seen:
            continue
        chain, i = [head], head
        while (i := after.get(i, -1)) not in (-1, head):
            chain.append(i)
        seen.update(chain)
        closed = i == head or (len(chain) == 1 and chunks[head][1].all_round())
        out.append(_line([chunks[k][1] for k in chain], closed=closed))
    return out
