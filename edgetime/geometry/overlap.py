"""Where one curve runs along another: overlays that name an edge, and pieces drawn twice."""

from __future__ import annotations

from typing import Final

import numpy as np

from edgetime.geometry.intersect import candidate_pairs, intersections
from edgetime.geometry.measure import vertex_positions
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.tolerances import ZERO_LENGTH_MM

_ALONG: Final = np.sin(np.radians(15.0))
"""Curves run along each other when their directions differ by less: a crossing at a smaller
angle is longer than a few tolerances and cannot be told from an overlay drawn askew."""

_BRIDGE: Final = 4.0
"""Gaps up to so many tolerances are closed: at corners two nearly equal curves part for a
moment."""

_LEAST: Final = 4.0
"""A common stretch shorter than so many tolerances is a touch, unless it is half of one of the
curves."""

_CROSSING: Final = 40.0
"""A common stretch shorter than so many tolerances is a crossing, if it begins and ends in the
middle of segments of both curves: two lines that cross at 3 degrees are so long together."""


def _borders(table: Segments, tolerance_mm: float) -> Segments:
    """Return everything at the tolerance's distance from the segments, either side."""
    out: list[Segments] = []
    for side in (tolerance_mm, -tolerance_mm):
        keep = 1.0 + side * table.curvature > 0.0
        kept = table.take(keep)
        begin, end = kept.direction(np.zeros(len(kept))), kept.direction(np.ones(len(kept)))
        out.append(
            Segments(
                kept.start + side * np.column_stack([np.sin(begin), -np.cos(begin)]),
                kept.end + side * np.column_stack([np.sin(end), -np.cos(end)]),
                kept.bulge,
            )
        )
    ends = np.vstack([table.start, table.end])
    east, west = ends + np.array([tolerance_mm, 0.0]), ends - np.array([tolerance_mm, 0.0])
    ones = np.ones(len(ends))
    return Segments.stack([*out, Segments(east, west, ones), Segments(west, east, ones)])


def _breaks(own: Segments, other: Segments, tolerance_mm: float) -> tuple[IntArray, FloatArray]:
    """Return (row, fraction) of all places where running along may begin or end."""
    border = _borders(other, tolerance_mm)
    i, j = candidate_pairs(own.boxes(), border.boxes())
    row, at, _ = intersections(own.take(i), border.take(j))
    rows, fractions = [i[row]], [at]
    # The feet of the other's ends, beyond which it is not alongside any more.
    ends = np.vstack([other.start, other.end])
    grown = np.column_stack([ends - tolerance_mm, ends + tolerance_mm])
    j, i = candidate_pairs(grown, own.boxes())
    foot = own.take(i).fraction(ends[j, 0], ends[j, 1])
    good = (foot > 0.0) & (foot < 1.0)
    # Where the nearest of two neighbours changes, the direction may change with it.
    rows.append(i[good])
    fractions.append(foot[good])
    return np.concatenate(rows), np.concatenate(fractions)


def _alongside(
    own: Segments,
    at: FloatArray,
    other: Segments,
    marks: FloatArray,
    lengths: FloatArray,
    tolerance_mm: float,
    *,
    closed: bool,
) -> tuple[BoolArray, FloatArray, BoolArray]:
    """Return for places on own rows: whether the other runs along, where, and if the same way."""
    p = own.point(at)
    boxes = np.column_stack([p - tolerance_mm, p + tolerance_mm])
    i, j = candidate_pairs(boxes, other.boxes())
    near = other.take(j)
    fraction, away = near.nearest(p[i, 0], p[i, 1])
    angle = own.direction(at)[i] - near.direction(fraction)
    good = (away <= tolerance_mm * (1.0 + 1e-9)) & (np.abs(np.sin(angle)) <= _ALONG)
    if not closed:
        # Beyond a free end the other is near, but no longer alongside.
        foot = near.fraction(p[i, 0], p[i, 1])
        slack = ZERO_LENGTH_MM / np.maximum(lengths[j], ZERO_LENGTH_MM)
        good &= ~((j == 0) & (foot < -slack)) & ~((j == len(other) - 1) & (foot > 1.0 + slack))
    i, j, fraction, away, angle = i[good], j[good], fraction[good], away[good], angle[good]
    order = np.lexsort((away, i))
    first = order[np.unique(i[order], return_index=True)[1]]
    on = np.zeros(len(p), dtype=np.bool_)
    where = np.full(len(p), np.nan)
    same = np.zeros(len(p), dtype=np.bool_)
    on[i[first]] = True
    where[i[first]] = marks[j[first]] + fraction[first] * lengths[j[first]]
    same[i[first]] = np.cos(angle[first]) > 0.0
    return on, where, same


def _joined(
    pieces: list[tuple[float, float, float, float, bool]],
    round_mm: float | None,
    bridge_mm: float,
) -> list[tuple[float, float, float, float, bool]]:
    """Return the pieces (s0, s1, o0, o1, same) in order, neighbours made one.

    Two are neighbours when they run the same way and neither the path nor the other leaves out
    more than the bridge between them; on a closed other its places may differ by a round.
    """
    out: list[tuple[float, float, float, float, bool]] = []
    for s0, s1, o0, o1, same in pieces:
        if out:
            p0, p1, q0, q1, before = out[-1]
            jump = o0 - q1
            rounds = round(jump / round_mm) * round_mm if round_mm else 0.0
            if same == before and s0 - p1 <= bridge_mm and abs(jump - rounds) <= bridge_mm:
                out[-1] = (p0, s1, q0, o1 - rounds, same)
                continue
        out.append((s0, s1, o0, o1, same))
    return out


def overlaps(
    path: Path, other: Path, tolerance_mm: float
) -> list[tuple[float, float, float, float]]:
    """Return the stretches of a path that another path runs along.

    Parameters
    ----------
    path, other : Path
        Open or closed, lines and arcs in any mixture.
    tolerance_mm : float
        Largest distance between the two [mm].

    Returns
    -------
    list of (s0, s1, o0, o1)
        From ``s0`` to ``s1`` > ``s0`` along ``path`` the other is nowhere further than the
        tolerance; ``o0`` and ``o1`` are the places of the other beside ``s0`` and ``s1``
        [mm]. ``o1`` < ``o0`` where it runs the other way. A stretch over the start of a closed
        path has ``s1`` beyond the path's length; one over the start of a closed other has
        ``o1`` beyond its length or below zero. Ends within the tolerance of a vertex of
        ``path`` are set onto it. Sorted by ``s0``; mere crossings and touches are left out.
    """
    if not len(path) or not len(other):
        return []
    total, other_total = path.length_mm, other.length_mm
    own, theirs = Segments.of(path), Segments.of(other)
    their_live = theirs.lengths > ZERO_LENGTH_MM
    their_marks = vertex_positions(other)[:-1][their_live]
    their_lengths = other.lengths[their_live]
    theirs = theirs.take(their_live)
    low_box, high_box = theirs.boxes()[:, :2].min(axis=0), theirs.boxes()[:, 2:].max(axis=0)
    boxes = own.boxes()
    close = (
        (own.lengths > ZERO_LENGTH_MM)
        & (boxes[:, :2] <= high_box + tolerance_mm).all(axis=1)
        & (boxes[:, 2:] >= low_box - tolerance_mm).all(axis=1)
    )
    live = np.flatnonzero(close)
    if not len(live):
        return []
    own = own.take(live)
    marks = vertex_positions(path)[live]
    lengths = path.lengths[live]

    row, at = _breaks(own, theirs, tolerance_mm)
    n = len(own)
    row = np.concatenate([np.arange(n, dtype=np.int64), row])
    at = np.concatenate([np.zeros(n), at])
    order = np.lexsort((at, row))
    row, at = row[order], at[order]
    high = np.append(at[1:], 1.0)
    high[np.append(row[1:] != row[:-1], True)] = 1.0
    wide = (high - at) * lengths[row] > ZERO_LENGTH_MM
    row, at, high = row[wide], at[wide], high[wide]

    def look(fraction: FloatArray) -> tuple[BoolArray, FloatArray, BoolArray]:
        return _alongside(
            own.take(row),
            fraction,
            theirs,
            their_marks,
            their_lengths,
            tolerance_mm,
            closed=other.closed,
        )

    on, where, same = look(0.5 * (at + high))
    row, at, high, where, same = row[on], at[on], high[on], where[on], same[on]
    s0, s1 = marks[row] + at * lengths[row], marks[row] + high * lengths[row]
    sign = np.where(same, 1.0, -1.0)
    half = 0.5 * (s1 - s0)
    found = list(
        zip(
            s0.tolist(),
            s1.tolist(),
            (where - sign * half).tolist(),
            (where + sign * half).tolist(),
            same.tolist(),
            strict=True,
        )
    )
    bridge = _BRIDGE * tolerance_mm
    joined = _joined(found, other_total if other.closed else None, bridge)
    if path.closed and len(joined) > 1 and total - joined[-1][1] + joined[0][0] <= bridge:
        first, last = joined[0], joined[-1]
        moved = (first[0] + total, first[1] + total, first[2], first[3], first[4])
        over = _joined([last, moved], other_total if other.closed else None, bridge)
        if len(over) == 1:
            joined = [*joined[1:-1], over[0]]
    vertices = vertex_positions(path)
    if path.closed:
        vertices = np.concatenate([vertices, vertices[1:] + total])
    out: list[tuple[float, float, float, float]] = []
    small = min(0.5 * total, 0.5 * other_total)
    other_vertices = vertex_positions(other)
    for begin, stop, o0, o1, way in joined:
        ends = np.array([begin, stop])
        places = np.mod([o0, o1], other_total) if other.closed else np.array([o0, o1])
        anchored = _reaches(ends, vertices, bridge) or _reaches(places, other_vertices, bridge)
        least = (_LEAST if anchored else _CROSSING) * tolerance_mm
        if stop - begin < min(least, small):
            continue
        step = 1.0 if way else -1.0
        s_from = _set_on(begin, vertices, tolerance_mm)
        s_to = _set_on(stop, vertices, tolerance_mm)
        o_from, o_to = o0 + step * (s_from - begin), o1 + step * (s_to - stop)
        if path.closed and s_from >= total:
            s_from, s_to = s_from - total, s_to - total
        if s_to - s_from > ZERO_LENGTH_MM:
            out.append((s_from, s_to, o_from, o_to))
    return sorted(out)


def _reaches(places: FloatArray, vertices: FloatArray, within_mm: float) -> bool:
    """Return whether any of the places is near a vertex."""
    return bool((np.abs(places[:, None] - vertices) <= within_mm).any())


def _set_on(s: float, vertices: FloatArray, tolerance_mm: float) -> float:
    """Return the nearest vertex's position if it is within the tolerance, else the position."""
    nearest = float(vertices[np.argmin(np.abs(vertices - s))])
    return nearest if abs(nearest - s) <= tolerance_mm else s
