"""Closed loops as a table, and what lies in what."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from edgetime.geometry.intersect import intersections
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray, wrapped_angle
from edgetime.takeoff.pairs import box_pairs, expand
from edgetime.takeoff.pieces import Pieces
from edgetime.tolerances import COINCIDENT_MM, OVERLAY_MM

_BATCH = 1_000_000

_JUDGED = np.array([0.5, 0.0, 0.25, 0.75])
# Places on a segment that tell whether its loop lies in another.

_SHALLOW_RAD = 1e-3
# Lines that meet at a smaller angle touch: over a metre they part by less than a saw kerf.


@dataclass(frozen=True, eq=False)
class Loops:
    """Counter-clockwise loops, their segments one after the other.

    Attributes
    ----------
    segments : Pieces
        All segments.
    first : (k + 1,) integer array
        Loop i has the rows ``first[i]`` to ``first[i + 1] - 1``.
    """

    segments: Pieces
    first: IntArray

    @classmethod
    def of(cls, chains: list[Pieces]) -> Loops:
        """Build the table from closed chains, each head to tail."""
        if not chains:
            none = np.zeros(0)
            whole = np.zeros(0, dtype=np.int64)
            empty = Pieces(none.reshape(0, 2), none.reshape(0, 2), none, none, whole, whole)
            return cls(empty, np.zeros(1, dtype=np.int64))
        count = np.array([len(c) for c in chains])
        return cls(Pieces.stack(chains), np.concatenate([[0], np.cumsum(count)]))

    @classmethod
    def stack(cls, tables: list[Loops]) -> Loops:
        """Return the loops of several tables, in order."""
        before = np.cumsum([0, *(len(t.segments) for t in tables)])
        first = [t.first[:-1] + n for t, n in zip(tables, before[:-1].tolist(), strict=True)]
        return cls(
            Pieces.stack([t.segments for t in tables]), np.concatenate([*first, before[-1:]])
        )

    def __len__(self) -> int:
        return len(self.first) - 1

    def loop(self, i: int) -> Pieces:
        """Return the segments of one loop."""
        return self.segments.take(np.s_[int(self.first[i]) : int(self.first[i + 1])])

    def select(self, keep: IntArray) -> Loops:
        """Return the given loops, in that order."""
        owner, rows = expand(self.first[keep], self.first[keep + 1])
        count = np.bincount(owner, minlength=len(keep))
        return Loops(self.segments.take(rows), np.concatenate([[0], np.cumsum(count)]))

    def turned(self, mask: BoolArray) -> Loops:
        """Return the loops with those of the mask run the other way."""
        flip = mask[self.owner]
        rows = np.arange(len(self.segments))
        mirror = self.first[:-1][self.owner] + self.first[1:][self.owner] - 1 - rows
        return Loops(self.segments.turned(flip).take(np.where(flip, mirror, rows)), self.first)

    def sound(self) -> Loops:
        """Return the loops counter-clockwise, each end on the next start to the last bit."""
        turned = self.turned(self.areas < 0.0)
        s = turned.segments
        end = s.start[turned.following]
        return Loops(Pieces(s.start, end, s.bulge, s.length, s.entity, s.label), self.first)

    @cached_property
    def following(self) -> IntArray:
        """Row that follows each row around its loop."""
        rows = np.arange(1, len(self.segments) + 1)
        rows[self.first[1:] - 1] = self.first[:-1]
        return rows

    @cached_property
    def lead(self) -> IntArray:
        """The entity that gives most of each loop, of equal ones the first."""
        if not len(self):
            return np.zeros(0, dtype=np.int64)
        entity = self.segments.entity
        order = np.lexsort((entity, self.owner))
        new = np.flatnonzero(
            np.diff(self.owner[order] * (entity.max() + 1) + entity[order], prepend=-1)
        )
        # Rounded, so that of equal lengths the order of claims decides.
        share = np.round(np.add.reduceat(self.segments.length[order], new), 6)
        loop, own = self.owner[order][new], entity[order][new]
        best = np.lexsort((own, -share, loop))
        return np.asarray(own[best[np.unique(loop[best], return_index=True)[1]]])

    @cached_property
    def circles(self) -> FloatArray:
        """Centre and diameter (k, 3) of the loops that are one circle, NaN for others [mm]."""
        out = np.full((len(self), 3), np.nan)
        bent = ~self.segments.shape.straight
        at = self.first[:-1]
        round_ = np.flatnonzero(np.logical_and.reduceat(bent, at)) if len(self) else at
        if len(round_):
            own = self.select(round_)
            shape, start = own.segments.shape, own.first[:-1]
            columns = np.column_stack([shape.centre, 2.0 * np.abs(shape.radius)])
            low = np.minimum.reduceat(columns, start, axis=0)
            high = np.maximum.reduceat(columns, start, axis=0)
            fine = np.flatnonzero(np.isfinite(low).all(axis=1) & np.isfinite(high).all(axis=1))
            one = fine[(high[fine] - low[fine] <= COINCIDENT_MM).all(axis=1)]
            out[round_[one]] = 0.5 * (low + high)[one]
        return out

    @cached_property
    def owner(self) -> IntArray:
        """Loop of each segment."""
        return np.repeat(np.arange(len(self)), np.diff(self.first))

    @cached_property
    def segment_boxes(self) -> FloatArray:
        """Boxes of the segments [mm]."""
        return self.segments.shape.boxes()

    @cached_property
    def boxes(self) -> FloatArray:
        """Boxes (k, 4) of the loops [mm]."""
        if not len(self):
            return np.zeros((0, 4))
        at = self.first[:-1]
        box = self.segment_boxes
        return np.column_stack(
            [
                np.minimum.reduceat(box[:, :2], at, axis=0),
                np.maximum.reduceat(box[:, 2:], at, axis=0),
            ]
        )

    @cached_property
    def areas(self) -> FloatArray:
        """Enclosed areas [mm²], each calculated from its own corner."""
        if not len(self):
            return np.zeros(0)
        local = self.segments.moved(-self.segments.start[self.first[:-1]][self.owner])
        return np.asarray(0.5 * np.add.reduceat(local.doubled_areas(), self.first[:-1]))

    @cached_property
    def lengths(self) -> FloatArray:
        """Perimeters [mm]."""
        if not len(self):
            return np.zeros(0)
        return np.asarray(np.add.reduceat(self.segments.length, self.first[:-1]))


def inside(loops: Loops, which: IntArray, points: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return whether point k lies inside loop ``which[k]``, and how far it is from its line.

    The winding number of the polygon of chords, plus one for each arc whose segment holds
    the point (minus one for an arc bent inwards).

    Returns
    -------
    winding : (n,) integer array
        Non-zero inside.
    distance : (n,) array
        Distance from the line [mm].
    """
    winding = np.zeros(len(which), dtype=np.int64)
    distance = np.full(len(which), np.inf)
    count = loops.first[which + 1] - loops.first[which]
    batch = np.cumsum(count) // _BATCH
    for k in np.unique(batch):
        own = np.nonzero(batch == k)[0]
        row, at = expand(loops.first[which[own]], loops.first[which[own] + 1])
        s = loops.segments.take(at)
        p = points[own][row]
        d, q = s.end - s.start, p - s.start
        left = d[:, 0] * q[:, 1] - d[:, 1] * q[:, 0]
        low, high = s.start[:, 1] <= p[:, 1], s.end[:, 1] <= p[:, 1]
        # The winding number: crossings of the point's height, half-open, so that a vertex on it
        # counts once. An arc adds what lies between it and its chord.
        turn = (low & ~high & (left > 0)).astype(np.int64) - (~low & high & (left < 0))
        arc = np.flatnonzero(~s.shape.straight)
        if len(arc):
            sense = np.sign(s.bulge[arc]).astype(np.int64)
            off = s.take(arc).shape.side(p[arc, 0], p[arc, 1])
            # A point on a chord counts as a little to its right, or above if it is level: so
            # the comparisons above take it.
            dx, dy = d[arc].T
            beside = np.where(left[arc] == 0.0, np.where(dy == 0.0, dx, -dy), left[arc])
            turn[arc] += sense * ((off * sense < 0.0) & (beside * sense < 0.0))
        np.add.at(winding, own[row], turn)
        np.minimum.at(distance, own[row], s.shape.distance(p[:, 0], p[:, 1]))
    return winding, distance


def holders(loops: Loops, points: FloatArray) -> IntArray:
    """Return the loop around each point, the smallest of several, -1 for none."""
    out = np.full(len(points), -1, dtype=np.int64)
    if len(points) and len(loops):
        i, j = box_pairs(np.column_stack([points, points]), loops.boxes, margin_mm=0.0)
        held = inside(loops, j, points[i])[0] != 0
        i, j = i[held], j[held]
        # The largest first, so that the smallest is written last.
        order = np.lexsort((-loops.areas[j], i))
        out[i[order]] = j[order]
    return out


def strays(loops: Loops, which: IntArray, pieces: Pieces) -> float:
    """Return how far the first of some pieces strays from the loop nearest to it [mm].

    Parameters
    ----------
    loops : Loops
    which : (k,) integer array
        The loops in question.
    pieces : Pieces
        A chain.
    """
    shares = np.linspace(0.0, 1.0, 33)
    points = pieces.take(np.zeros(len(shares), dtype=np.int64)).shape.point(shares)
    own, at = np.repeat(which, len(shares)), np.tile(points, (len(which), 1))
    _, distance = inside(loops, own, at)
    return float(distance.reshape(len(which), -1).max(axis=1).min())


def contained(loops: Loops) -> tuple[IntArray, IntArray]:
    """Return all (inner, outer) pairs of loops of which one lies in the other.

    A loop is judged by the first of its middles, vertices and points between that is not on
    the other's line: a circle in a square touches it at all of the first. Loops that only touch
    from outside are not contained.
    """
    i, j = box_pairs(loops.boxes, loops.boxes, margin_mm=OVERLAY_MM)
    a, b = loops.boxes[i], loops.boxes[j]
    fits = (a[:, :2] >= b[:, :2] - OVERLAY_MM).all(axis=1)
    fits &= (a[:, 2:] <= b[:, 2:] + OVERLAY_MM).all(axis=1)
    fits &= (i != j) & (loops.areas[i] < loops.areas[j])
    i, j = i[fits], j[fits]
    verdict = np.zeros(len(i), dtype=bool)
    open_ = np.arange(len(i))
    step = 0
    while len(open_):
        inner = i[open_]
        size = loops.first[inner + 1] - loops.first[inner]
        left = step < len(_JUDGED) * size
        open_, inner, size = open_[left], inner[left], size[left]
        if not len(open_):
            break
        # One place clear of the outer line decides; where a place lies on it, the next is asked.
        row = loops.first[inner] + step % size
        share = _JUDGED[step // size]
        points = loops.segments.take(row).shape.point(share)
        winding, distance = inside(loops, j[open_], points)
        clear = distance > OVERLAY_MM
        verdict[open_[clear]] = winding[clear] != 0
        open_ = open_[~clear]
        step += 1
    return i[verdict], j[verdict]


def loop_crossings(loops: Loops) -> tuple[IntArray, IntArray, FloatArray]:
    """Return (loop, loop, point) of all proper crossings of segments.

    A crossing lies inside both segments, away from their ends by more than the coincidence
    tolerance, and at an angle: loops that only touch do not cross.
    """
    box = loops.segment_boxes
    i, j = box_pairs(box, box, margin_mm=0.0)
    later = i < j
    a, b = loops.segments.take(i[later]), loops.segments.take(j[later])
    row, t, u = intersections(a.shape, b.shape)
    a, b = a.take(row), b.take(row)
    proper = np.minimum(t, 1.0 - t) * a.length > COINCIDENT_MM
    proper &= np.minimum(u, 1.0 - u) * b.length > COINCIDENT_MM
    proper &= np.abs(np.sin(a.shape.direction(t) - b.shape.direction(u))) > _SHALLOW_RAD
    at = np.flatnonzero(later)[row[proper]]
    points = a.shape.point(t)[proper]
    return loops.owner[i[at]], loops.owner[j[at]], points


def _turning_numbers(loops: Loops) -> FloatArray:
    """Return how many times the direction turns around along each loop."""
    s, first, following = loops.segments.shape, loops.first[:-1], loops.following
    zero = np.zeros(len(s))
    corner = wrapped_angle(s.take(following).direction(zero) - s.direction(zero + 1.0))
    return np.asarray(np.add.reduceat(corner + s.turn, first) / (2.0 * np.pi))


def retraced(loops: Loops) -> BoolArray:
    """Return which loops run back on themselves at some vertex.

    Whether such a spike turns by half a round to the left or to the right is up to rounding,
    so the turning number shows only one of the two.
    """
    s, following = loops.segments, loops.following
    here, next_ = s.shape, s.shape.take(following)
    zero = np.zeros(len(s))
    reach = np.minimum(s.length, s.length[following])
    back = here.direction(zero + 1.0) + np.pi - next_.direction(zero)
    apart = np.abs(wrapped_angle(back)) * reach
    # Run backwards a curve bends the other way.
    apart += 0.5 * np.abs(here.curvature + next_.curvature) * reach**2
    return np.asarray(np.logical_or.reduceat(apart <= COINCIDENT_MM, loops.first[:-1]))


def self_crossing(loops: Loops) -> tuple[dict[int, tuple[float, float]], BoolArray]:
    """Return which loops cross themselves.

    Returns
    -------
    places : dict
        Loop and place of one crossing [mm].
    turning : (k,) bool array
        Loops that do not turn around once: a figure of eight through a vertex has no proper
        crossing, but turns around nought times.
    """
    out: dict[int, tuple[float, float]] = {}
    a, b, points = loop_crossings(loops)
    for k in np.nonzero(a == b)[0].tolist():
        out.setdefault(int(a[k]), (float(points[k, 0]), float(points[k, 1])))
    turns = _turning_numbers(loops)
    return out, np.abs(turns - 1.0) > 0.25


def same_loops(loops: Loops) -> dict[int, int]:
    """Return {copy: original} for loops that lie on an earlier loop all around."""
    i, j = box_pairs(loops.boxes, loops.boxes, margin_mm=OVERLAY_MM)
    a, b = loops.boxes[i], loops.boxes[j]
    close = (np.abs(a - b) <= 2.0 * OVERLAY_MM).all(axis=1) & (i < j)
    slack = OVERLAY_MM * (loops.lengths[i] + loops.lengths[j])
    close &= np.abs(loops.areas[i] - loops.areas[j]) <= slack
    out: dict[int, int] = {}
    for one, two in zip(i[close].tolist(), j[close].tolist(), strict=True):
        if two in out or one in out:
            continue
        if _lies_on(loops, one, two) and _lies_on(loops, two, one):
            out[two] = one
    return out


def _lies_on(loops: Loops, one: int, two: int) -> bool:
    s = loops.loop(one)
    n = len(s)
    share = np.repeat([0.0, 0.25, 0.5, 0.75], n)
    points = s.take(np.tile(np.arange(n), 4)).shape.point(share)
    _, distance = inside(loops, np.full(len(points), two), points)
    return bool((distance <= OVERLAY_MM).all())
