"""Curves that lie on one another: overlays that give profiles, and duplicates.

Two segments coincide on the stretches of the first that stay within a tolerance of the
second and run along it. The ends of such a stretch can only be ends of one of the two, so
each pair has at most three candidate stretches, and all pairs are tested at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from edgetime.columns import Columns
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray
from edgetime.takeoff.pairs import box_pairs
from edgetime.takeoff.pieces import Pieces
from edgetime.tolerances import COINCIDENT_MM, OVERLAY_MM

_ALONG_RAD = 0.2
# Crossing lines are near each other for a moment; lines that lie on one another also run
# the same way. Over a stretch of ten tolerances the ends alone allow this much.


@dataclass(frozen=True, eq=False)
class Stretches(Columns):
    """Shared stretches, one per row.

    Attributes
    ----------
    base, other : (k,) integer array
        Rows of the two tables.
    t0, t1 : (k,) array
        The stretch in fractions of the base row's length, t0 < t1.
    u0, u1 : (k,) array
        The same in fractions of the other row's length, u0 < u1.
    """

    base: IntArray
    other: IntArray
    t0: FloatArray
    t1: FloatArray
    u0: FloatArray
    u1: FloatArray

    def swapped(self) -> Stretches:
        """Return the same stretches with the two tables exchanged, sorted by base row."""
        order = np.lexsort((self.base, self.u0, self.other))
        turned = Stretches(self.other, self.base, self.u0, self.u1, self.t0, self.t1)
        return turned.take(order)


def _snapped(t: FloatArray, length: FloatArray) -> FloatArray:
    t = np.where((t * length <= OVERLAY_MM) & (t <= 0.5), 0.0, t)
    return np.where(((1.0 - t) * length <= OVERLAY_MM) & (t > 0.5), 1.0, t)


def shared_stretches(base: Pieces, other: Pieces, *, among: bool = False) -> Stretches:
    """Return every stretch of a base row on which an other row lies.

    Parameters
    ----------
    base, other : Pieces
        The two tables.
    among : bool
        Both tables are the same one: only pairs with base before other.
    """
    i, j = box_pairs(base.shape.boxes(), other.shape.boxes(), margin_mm=OVERLAY_MM)
    if among:
        i, j = i[i < j], j[i < j]
    a, b = base.take(i), other.take(j)
    feet = [a.shape.nearest(p[:, 0], p[:, 1])[0] for p in (b.start, b.end)]
    ends = np.sort(np.column_stack(feet), axis=1)
    # The feet of the other curve's ends part the row in three; each part lies on it, or not, as a
    # whole.
    cuts = np.column_stack([np.zeros(len(i)), ends, np.ones(len(i))])
    cuts = _snapped(cuts, a.length[:, None])
    found = []
    for k in range(3):
        pair = np.nonzero((cuts[:, k + 1] - cuts[:, k]) * a.length > COINCIDENT_MM)[0]
        # The middle first: it settles most pairs, and is the place where directions are compared.
        for share in (0.5, 0.0, 1.0, 0.25, 0.75):
            rows = a.take(pair)
            t = cuts[pair, k] + share * (cuts[pair, k + 1] - cuts[pair, k])
            at, beside = rows.shape.point(t), b.take(pair)
            u, distance = beside.shape.nearest(at[:, 0], at[:, 1])
            ok = distance <= OVERLAY_MM
            if share == 0.5:
                turn = rows.shape.direction(t) - beside.shape.direction(u)
                ok &= np.abs(np.sin(turn)) <= np.sin(_ALONG_RAD)
            pair = pair[ok]
        found.append(np.column_stack([pair, np.full(len(pair), k)]))
    pair, k = np.concatenate(found).astype(np.int64).T
    t0, t1 = cuts[pair, k], cuts[pair, k + 1]
    rows, others = a.take(pair), b.take(pair)
    places = [rows.shape.point(t) for t in (t0, t1)]
    u = np.column_stack([others.shape.nearest(p[:, 0], p[:, 1])[0] for p in places])
    u = _snapped(np.sort(u, axis=1), others.length[:, None])
    # Ends that overshoot each other by no more than the tolerance share nothing.
    long = (t1 - t0) * rows.length > 2.0 * OVERLAY_MM
    whole = ((t0 == 0.0) & (t1 == 1.0)) | ((u[:, 0] == 0.0) & (u[:, 1] == 1.0))
    keep = (long | whole) & (u[:, 1] > u[:, 0])
    order = np.lexsort((others.entity[keep], t0[keep], i[pair[keep]]))
    out = Stretches(i[pair], j[pair], t0, t1, u[:, 0], u[:, 1])
    return out.take(np.nonzero(keep)[0][order])


def _breaks(t0: FloatArray, t1: FloatArray, slack: float) -> list[float]:
    """Return 0, the ends of the stretches with those closer than the slack merged, 1."""
    out = [0.0]
    for t in np.sort(np.concatenate([t0, t1])).tolist():
        if t - out[-1] > slack and 1.0 - t > slack:
            out.append(t)
    return [*out, 1.0]


@dataclass(frozen=True, eq=False)
class Meetings(Columns):
    """Where two curves that both claim a stretch of a base meet, one per row.

    A claim is the entity whose layer gives the profile; the smallest claim of a stretch wins.

    Attributes
    ----------
    winner, loser : (k,) integer array
        Claims of the stretch.
    kept, lost : (k,) integer array
        The entities that were drawn there.
    length : (k,) array
        Length of the stretch [mm].
    place : (k, 2) array
        Where it begins [mm].
    own : (k,) bool array
        The base itself is what lost.
    """

    winner: IntArray
    loser: IntArray
    kept: IntArray
    lost: IntArray
    length: FloatArray
    place: FloatArray
    own: BoolArray


def label_stretches(
    base: Pieces, found: Stretches, over: Pieces
) -> tuple[Pieces, IntArray, Meetings]:
    """Split base rows where stretches begin and end; the strongest claim labels each piece.

    Parameters
    ----------
    base : Pieces
        The outlines.
    found : Stretches
        Sorted by base row.
    over : Pieces
        The table the stretches' other rows are of.

    Returns
    -------
    pieces : Pieces
        In order of base rows and along them.
    parents : (n,) integer array
        Base row of each piece.
    meetings : Meetings
        Every other curve on each piece that is covered, its claim beside the one that wins.
    """
    own, others = base.claim, over.claim[found.other]
    rows, first, count = np.unique(found.base, return_index=True, return_counts=True)
    whole = (count == 1) & (found.t0[first] == 0.0) & (found.t1[first] == 1.0)
    label = base.label.copy()
    simple = rows[whole]
    label[simple] = np.minimum(others[first[whole]], own[simple])
    parent: list[IntArray] = [np.setdiff1d(np.arange(len(base)), rows[~whole])]
    t0 = [np.zeros(len(parent[0]))]
    t1 = [np.ones(len(parent[0]))]
    names = [label[parent[0]]]
    # One row per piece and curve over it: base row, stretch, and the piece's ends.
    cover: list[tuple[IntArray, IntArray, FloatArray, FloatArray]] = [
        (simple, first[whole], np.zeros(len(simple)), np.ones(len(simple)))
    ]
    for row, at, n in zip(
        rows[~whole].tolist(), first[~whole].tolist(), count[~whole].tolist(), strict=True
    ):
        here = slice(at, at + n)
        f0, f1, source = found.t0[here], found.t1[here], others[here]
        cuts = np.array(_breaks(f0, f1, OVERLAY_MM / max(float(base.length[row]), 1e-300)))
        middle = 0.5 * (cuts[:-1] + cuts[1:])
        covers = (f0[:, None] <= middle) & (middle <= f1[:, None])
        best = np.where(covers, source[:, None], np.iinfo(np.int64).max).min(axis=0)
        tag = np.where(covers.any(axis=0), np.minimum(best, own[row]), base.label[row])
        parent.append(np.full(len(middle), row))
        t0.append(cuts[:-1])
        t1.append(cuts[1:])
        names.append(tag)
        which, piece = np.nonzero(covers)
        cover.append((np.full(len(which), row), at + which, cuts[piece], cuts[piece + 1]))
    pieces, parents = _assemble(base, parent, t0, t1, names)
    return pieces, parents, _meetings(base, found, over, cover)


def _meetings(
    base: Pieces,
    found: Stretches,
    over: Pieces,
    cover: list[tuple[IntArray, IntArray, FloatArray, FloatArray]],
) -> Meetings:
    row, stretch = (np.concatenate([c[k] for c in cover]).astype(np.int64) for k in (0, 1))
    low, high = (np.concatenate([c[k] for c in cover]) for k in (2, 3))
    other = found.other[stretch]
    claim, drawn = over.claim[other], over.entity[other]
    # The base takes part in its own pieces: as what is covered, and as what may win.
    order = np.lexsort((low, row))
    new = np.ones(len(order), dtype=np.bool_)
    new[1:] = (np.diff(row[order]) != 0) | (np.diff(low[order]) != 0.0)
    at, count = order[new], int(new.sum())
    piece = np.empty(len(order), dtype=np.int64)
    piece[order] = np.cumsum(new) - 1
    piece = np.concatenate([np.arange(count), piece])
    row, low, high = (np.concatenate([v[at], v]) for v in (row, low, high))
    claim = np.concatenate([base.claim[row[:count]], claim])
    drawn = np.concatenate([base.entity[row[:count]], drawn])
    order = np.lexsort((drawn, claim, piece))
    winner = order[np.unique(piece[order], return_index=True)[1]][piece]
    loses = np.flatnonzero(winner != np.arange(len(piece)))
    best = winner[loses]
    part = base.part(row[loses], low[loses], high[loses])
    return Meetings(
        claim[best], claim[loses], drawn[best], drawn[loses], part.length, part.start, loses < count
    )


def remove_stretches(table: Pieces, shared: Stretches) -> tuple[Pieces, IntArray]:
    """Return what is left of a table when stretches of its rows are taken away.

    Leftovers no longer than the tolerance are dropped with the stretch beside them.

    Returns
    -------
    pieces : Pieces
        In order of rows and along them.
    parents : (n,) integer array
        Row of each piece.
    """
    rows, u0, u1 = shared.other, shared.u0, shared.u1
    touched = np.unique(rows)
    parent: list[IntArray] = [np.setdiff1d(np.arange(len(table)), touched)]
    t0 = [np.zeros(len(parent[0]))]
    t1 = [np.ones(len(parent[0]))]
    order = np.lexsort((u0, rows))
    rows, u0, u1 = rows[order], u0[order], u1[order]
    edges = np.searchsorted(rows, np.append(touched, np.iinfo(np.int64).max))
    for row, a, b in zip(touched.tolist(), edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        slack = OVERLAY_MM / max(float(table.length[row]), 1e-300)
        at, left = 0.0, []
        for low, high in zip(u0[a:b].tolist(), u1[a:b].tolist(), strict=True):
            if low - at > slack:
                left.append((at, low))
            at = max(at, high)
        if 1.0 - at > slack:
            left.append((at, 1.0))
        parent.append(np.full(len(left), row))
        t0.append(np.array([x for x, _ in left]))
        t1.append(np.array([x for _, x in left]))
    return _assemble(table, parent, t0, t1, [table.label[p] for p in parent])


def _assemble(
    table: Pieces,
    parent: list[IntArray],
    t0: list[FloatArray],
    t1: list[FloatArray],
    label: list[IntArray],
) -> tuple[Pieces, IntArray]:
    row, low = np.concatenate(parent).astype(np.int64), np.concatenate(t0)
    order = np.lexsort((low, row))
    row = row[order]
    pieces = table.part(row, low[order], np.concatenate(t1)[order])
    return replace(pieces, label=np.concatenate(label)[order].astype(np.int64)), row
