"""Cutouts that reach the edge of a part are notches in its outline: apron sinks, posts, pipes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgetime.geometry.intersect import intersections
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray
from edgetime.takeoff.coincide import shared_stretches
from edgetime.takeoff.joining import join
from edgetime.takeoff.loops import Loops, contained, inside, self_crossing
from edgetime.takeoff.pairs import box_pairs
from edgetime.takeoff.pieces import Pieces, between_marks
from edgetime.tolerances import COINCIDENT_MM, OVERLAY_MM


@dataclass(frozen=True, slots=True)
class Notch:
    """A cutout that became part of an outline.

    Attributes
    ----------
    opening, outline : int
        Loops, as numbered before.
    parts : int
        Into how many parts it cuts the outline; 1 for a plain notch.
    lost_mm : float
        Length of the outline that it takes away [mm].
    place : (float, float)
        Where the longest piece taken away begins [mm].
    """

    opening: int
    outline: int
    parts: int
    lost_mm: float
    place: tuple[float, float]


def cut_notches(
    loops: Loops, cutout: BoolArray, outline: BoolArray, *, gap_mm: float
) -> tuple[Loops, int, list[Notch]]:
    """Cut the openings that share a stretch with an outline, or cross it, out of the outline.

    A cutout that meets several outlines, such as a sink on a seam, notches each. One that
    touches an outline at single points only, or leaves nothing of it, stays as it is.

    Parameters
    ----------
    loops : Loops
        Sound loops.
    cutout, outline : (k,) bool array
        Which loops may notch, and which may be notched if they lie in no other of these.
    gap_mm : float
        Tolerances [mm]: ends this near are joined; lines this near lie on one another.

    Returns
    -------
    loops : Loops
        The outlines that were notched last, without the openings that did it.
    count : int
        How many those last ones are.
    notches : list of Notch
        In order of openings, then outlines.
    """
    pairs = _meetings(loops, cutout, outline)
    if not pairs:
        return loops, 0, []
    current: dict[int, list[Pieces]] = {}
    gone: set[int] = set()
    notches: list[Notch] = []
    for opening, outlines in pairs.items():
        made = {
            o: _notched_all(current.get(o, [loops.loop(o)]), loops.loop(opening), gap_mm)
            for o in outlines
        }
        if any(m is None for m in made.values()):
            continue
        gone.add(opening)
        for o, cut in made.items():
            if cut is not None:
                before = len(current.get(o, [None]))
                current[o] = cut.loops
                parts = len(cut.loops) - before + 1
                notches.append(Notch(opening, o, parts, cut.lost_mm, cut.place))
    new = [piece for o in sorted(current) for piece in current[o]]
    left = np.setdiff1d(np.arange(len(loops)), sorted(gone | set(current)))
    return Loops.stack([loops.select(left), Loops.of(new).sound()]), len(new), notches


def closed_along(loops: Loops, outline: BoolArray, line: Pieces, *, gap_mm: float) -> Pieces | None:
    """Close an open line along the outline that it ends on, if that makes a notch.

    Parameters
    ----------
    loops : Loops
        Sound loops.
    outline : (k,) bool array
        Which loops may be notched.
    line : Pieces
        Head to tail, drawn on cutout layers only.
    gap_mm : float
        Tolerances [mm]: an end this near to the outline ends on it; as of :func:`cut_notches`.

    Returns
    -------
    Pieces or None
        The line and the shorter of the two ways back along the outline, its pieces given to
        the line's entity. None when no outline has both ends and the line within, or when that
        way is longer than the line.
    """
    ends = line.end[-1], line.start[0]
    low, high = np.minimum(*ends) - gap_mm, np.maximum(*ends) + gap_mm
    # The line's ends must lie on the outline: one whose box does not hold both is passed over.
    near = (loops.boxes[:, :2] <= low + 2.0 * gap_mm).all(axis=1)
    near &= (loops.boxes[:, 2:] >= high - 2.0 * gap_mm).all(axis=1)
    middle = line.take(np.array([len(line) // 2]))
    for k in np.flatnonzero(outline & near).tolist():
        border = loops.loop(k)
        begin, end = (_place_on(border, p, gap_mm) for p in ends)
        if begin is None or end is None or not _within(middle, border).all():
            continue
        ways = (_stretch(border, begin, end), _stretch(border, end, begin).reversed())
        way = min(ways, key=lambda way: float(way.length.sum()))
        # A line that cuts off more than it goes around is no notch: a centre line, say.
        if way.length.sum() > line.length.sum() + COINCIDENT_MM:
            continue
        closed = Loops.of([_tied(line, way)]).sound().loop(0)
        if _notched(border, closed, gap_mm) is not None:
            return closed
    return None


def _tied(line: Pieces, way: Pieces) -> Pieces:
    """Return a line and the way back from its end to its start, gaps between them bridged."""
    start = np.array([line.end[-1], way.end[-1]])
    end = np.array([way.start[0], line.start[0]])
    length = np.hypot(*(end - start).T)
    none = np.zeros(2, dtype=np.int64)
    ties = Pieces(start, end, np.zeros(2), length, none, none)
    wide = length > COINCIDENT_MM
    order = np.flatnonzero([wide[0], *np.ones(len(way), dtype=bool), wide[1]])
    back = Pieces.stack([ties.take(np.s_[:1]), way, ties.take(np.s_[1:])]).take(order)
    own = np.full(len(back), line.entity[0])
    back = Pieces(back.start, back.end, back.bulge, back.length, own, np.full(len(back), -1))
    return Pieces.stack([line, back])


def _place_on(border: Pieces, point: FloatArray, gap_mm: float) -> tuple[int, float] | None:
    """Return the row and the fraction of a loop that a point lies on, None for none."""
    at, distance = border.shape.nearest(point[0], point[1])
    row = int(distance.argmin())
    return (row, float(at[row])) if float(distance[row]) <= gap_mm else None


def _stretch(border: Pieces, begin: tuple[int, float], end: tuple[int, float]) -> Pieces:
    """Return a loop's stretch from one place on it forward to another."""
    (i, low), (j, high) = begin, end
    count = len(border)
    steps = (j - i) % count or (0 if low <= high else count)
    rows = (i + np.arange(steps + 1)) % count
    from_, to = np.zeros(steps + 1), np.ones(steps + 1)
    from_[0], to[-1] = low, high
    some = (to - from_) * border.length[rows] > COINCIDENT_MM
    return border.part(rows[some], from_[some], to[some])


def _meetings(loops: Loops, cutout: BoolArray, outline: BoolArray) -> dict[int, list[int]]:
    """Return the outlines that each cutout crosses or shares a stretch with."""
    own = loops.owner
    rows_a, rows_b = np.flatnonzero(outline[own]), np.flatnonzero(cutout[own])
    a, b = loops.segments.take(rows_a), loops.segments.take(rows_b)
    i, j = box_pairs(a.shape.boxes(), b.shape.boxes(), margin_mm=OVERLAY_MM)
    if not len(i):
        return {}
    near_a, near_b = np.unique(i), np.unique(j)
    a, b = a.take(near_a), b.take(near_b)
    row, t, u = _crossings(a, b)
    # A corner that barely passes the edge, or ends on it, touches it at a point.
    clear = np.minimum(t, 1.0 - t) * a.length[row[:, 0]] > OVERLAY_MM
    clear |= np.minimum(u, 1.0 - u) * b.length[row[:, 1]] > OVERLAY_MM
    shared = shared_stretches(a, b)
    first = np.concatenate([row[clear, 0], shared.base])
    second = np.concatenate([row[clear, 1], shared.other])
    found = sorted(
        set(
            zip(
                own[rows_b[near_b[second]]].tolist(),
                own[rows_a[near_a[first]]].tolist(),
                strict=True,
            )
        )
    )
    if not found:
        return {}
    # What is drawn as an outline inside another is an opening: nothing is cut out of that.
    candidates = np.flatnonzero(outline)
    inner, _ = contained(loops.select(candidates))
    islands = set(candidates[inner].tolist())
    out: dict[int, list[int]] = {}
    for opening, o in found:
        out.setdefault(opening, []).append(o)
    return {k: v for k, v in out.items() if not islands & set(v)}


def _crossings(a: Pieces, b: Pieces) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return the (row of a, row of b) that meet, and where along both, in fractions."""
    i, j = box_pairs(a.shape.boxes(), b.shape.boxes(), margin_mm=0.0)
    row, t, u = intersections(a.take(i).shape, b.take(j).shape)
    return np.column_stack([i[row], j[row]]), t, u


@dataclass(frozen=True, eq=False)
class _Cut:
    loops: list[Pieces]
    lost_mm: float
    place: tuple[float, float]


def _notched_all(outlines: list[Pieces], opening: Pieces, gap_mm: float) -> _Cut | None:
    """Cut an opening out of what is left of one outline; None when it is not a notch in any."""
    loops: list[Pieces] = []
    lost, longest, place = 0.0, 0.0, (0.0, 0.0)
    for outline in outlines:
        cut = _notched(outline, opening, gap_mm)
        if cut is None:
            loops.append(outline)
            continue
        loops += cut.loops
        lost += cut.lost_mm
        if cut.lost_mm > longest:
            longest, place = cut.lost_mm, cut.place
    return _Cut(loops, lost, place) if lost > 0.0 else None


def _notched(outline: Pieces, opening: Pieces, gap_mm: float) -> _Cut | None:
    """Return the outline without the opening; None when it is not a notch.

    Both are parted where they cross and where shared stretches begin and end. Of the outline
    is kept what lies outside the opening, of the opening what lies inside the outline. Of a
    shared stretch nothing is kept when both have their insides on one side of it, else the
    outline's.
    """
    row, t, u = _crossings(outline, opening)
    shared = shared_stretches(outline, opening)
    a, same_a, opposite_a = _parted(
        outline, opening, row[:, 0], t, (shared.base, shared.t0, shared.t1)
    )
    b, same_b, opposite_b = _parted(
        opening, outline, row[:, 1], u, (shared.other, shared.u0, shared.u1)
    )
    # Bits no longer than the tolerance go with the stretch beside them; a touch leaves no more.
    long_a, long_b = a.length > OVERLAY_MM, b.length > OVERLAY_MM
    # Of the outline stays what lies outside of the opening, of the opening what lies inside of the
    # outline. A shared stretch is cut away if both lie on one side of it; it stays otherwise.
    keep_a = ~same_a & (opposite_a | ~_within(a, opening)) & long_a
    keep_b = ~same_b & ~opposite_b & _within(b, outline) & long_b
    if not (long_a & ~keep_a).any() or not keep_a.any() or not keep_b.any():
        return None
    rest = Pieces.stack([a.take(keep_a), b.take(keep_b)])
    groups = np.zeros(len(rest), dtype=np.int64)
    one_layer = [""] * (int(rest.entity.max()) + 1)
    # What is left of both lines closes to the new outline; ends cut at one crossing lie within
    # twice the tolerance.
    joined = join(rest, groups, one_layer, gap_mm=max(gap_mm, 2.0 * OVERLAY_MM))
    found = joined.loops.sound()
    crossing, turning = self_crossing(found)
    if joined.open_chains or not len(found) or crossing or turning.any():
        return None
    lost = a.take(~keep_a)
    x, y = lost.start[int(lost.length.argmax())].tolist()
    return _Cut([found.loop(k) for k in range(len(found))], float(lost.length.sum()), (x, y))


def _parted(
    table: Pieces,
    other: Pieces,
    rows: IntArray,
    at: FloatArray,
    shared: tuple[IntArray, FloatArray, FloatArray],
) -> tuple[Pieces, BoolArray, BoolArray]:
    """Part a loop at the given places, and tell which pieces lie on the other loop.

    Returns
    -------
    pieces : Pieces
        The parted loop.
    same, opposite : (n,) bool array
        Pieces on the other loop that run the same way as it, and the other way.
    """
    marked: dict[int, list[float]] = {}
    for r in range(len(table)):
        length = max(float(table.length[r]), COINCIDENT_MM)
        marked[r] = cuts = [0.0, 1.0]
        # Crossings are exact; a stretch that ends near one, or near a corner, ends there.
        mine = shared[0] == r
        for marks, slack_mm in (
            (at[rows == r], COINCIDENT_MM),
            (np.concatenate([shared[1][mine], shared[2][mine]]), OVERLAY_MM),
        ):
            for x in marks.tolist():
                if min(abs(x - c) for c in cuts) * length > slack_mm:
                    cuts.append(x)
    row, low, high = between_marks(marked, {r: cuts[2:] for r, cuts in marked.items()})
    pieces = table.part(row, low, high)
    middle = pieces.shape.point(np.full(len(pieces), 0.5))
    on = np.zeros(len(pieces), dtype=bool)
    along = np.zeros(len(pieces))
    for k, (r, t0, t1) in enumerate(zip(row.tolist(), low.tolist(), high.tolist(), strict=True)):
        mine = (shared[0] == r) & (shared[1] <= 0.5 * (t0 + t1)) & (shared[2] >= 0.5 * (t0 + t1))
        if mine.any():
            on[k] = True
            u, distance = other.shape.nearest(middle[k, 0], middle[k, 1])
            best = int(distance.argmin())
            there = other.take(np.array([best])).shape.direction(u[[best]])
            here = pieces.take(np.array([k])).shape.direction(np.array([0.5]))
            along[k] = float(np.cos(there - here)[0])
    return pieces, on & (along > 0.0), on & (along <= 0.0)


def _within(pieces: Pieces, loop: Pieces) -> BoolArray:
    """Return which pieces have their middle inside a loop."""
    middle = pieces.shape.point(np.full(len(pieces), 0.5))
    winding, _ = inside(Loops.of([loop]), np.zeros(len(pieces), dtype=np.int64), middle)
    return np.asarray(winding != 0)
