"""Loose pieces to closed loops.

Vocabulary: a *piece* is one segment; a *node* is a place where piece ends meet; an end that
meets no other is *free*; a *bridge* is the straight piece over a gap between two ends.

Ends are joined in three rounds: ends at one point are one node; lines that run over a corner are
trimmed to it where their free ends are a pair; free ends are paired with
the nearest free end within the gap tolerance, shortest gap first; a free end that is still
alone is joined with the piece it ends on (a T). What then still ends freely is taken off as
open chains. Nodes where more than two pieces meet are resolved by layer where the pieces
of one layer close by themselves, and else as the areas the pieces enclose.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from edgetime.geometry.intersect import intersections
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray
from edgetime.takeoff.loops import Loops
from edgetime.takeoff.pairs import box_pairs, close_pairs, components
from edgetime.takeoff.pieces import Pieces, between_marks, enclosed_area
from edgetime.takeoff.walks import chains, cycles, enclosed, follow
from edgetime.tolerances import COINCIDENT_MM


class Joint:
    """A gap that was bridged, a trim or a branch: where, how wide [mm], the entities beside it."""

    def __init__(self, x_mm: float, y_mm: float, width_mm: float, *entities: int) -> None:
        self.at, self.width_mm, self.entities = (x_mm, y_mm), width_mm, entities


@dataclass(frozen=True, eq=False)
class Joined:
    """What joining made of the pieces.

    Attributes
    ----------
    loops : Loops
        Closed chains.
    open_chains : list of Chain
        Chains that do not close.
    bridges : list of Joint
        Gaps bridged in closed loops.
    trims : list of Joint
        Where a line was trimmed to a corner it ran over, and by how much.
    branches : list of Joint
        Where three or more ends meet.
    """

    loops: Loops
    open_chains: list[Pieces]
    bridges: list[Joint]
    trims: list[Joint]
    branches: list[Joint]


def join(pieces: Pieces, groups: IntArray, layers: Sequence[object], *, gap_mm: float) -> Joined:
    """Join pieces to closed loops.

    Parameters
    ----------
    pieces : Pieces
        The pieces, in any order and direction, none twice.
    groups : (n,) integer array
        Pieces of different groups are not joined.
    layers : sequence
        Layer of each entity, for the choice at branches.
    gap_mm : float
        Greatest gap bridged [mm].
    """
    # Both ends of so short a piece are one place; the ends beside it meet without it.
    long = pieces.length > 2.0 * COINCIDENT_MM
    pieces, groups = pieces.take(long), groups[long]
    if not len(pieces):
        return Joined(Loops.of([]), [], [], [], [])
    pieces, trims = _trimmed(pieces, groups, gap_mm)
    pieces, groups, node, gaps = _nodes(pieces, groups, gap_mm)
    drawn = len(pieces) - gaps
    count = int(node.max()) + 1
    degree = np.bincount(node.ravel(), minlength=count)
    alive = _prune(node, degree)
    loose = chains(pieces, node, np.nonzero(~alive[:drawn])[0])
    rows = np.nonzero(alive)[0]
    degree = np.bincount(node[rows].ravel(), minlength=count)
    part = components(count, node[rows, 0], node[rows, 1])
    branched = np.zeros(count, dtype=bool)
    branched[part[np.nonzero(degree > 2)[0]]] = True
    messy = branched[part[node[rows, 0]]]
    walks = cycles(node, rows[~messy])
    branches = []
    if messy.any():
        ends = defaultdict(list)
        for i, n in enumerate(node.ravel().tolist()):
            ends[n].append(i)
        for n in np.nonzero(degree > 2)[0].tolist():
            row, side = divmod(ends[n][-1], 2)
            x, y = (pieces.end if side else pieces.start)[row].tolist()
            meeting = pieces.entity[[i // 2 for i in ends[n][::-1]]].tolist()
            branches.append(Joint(x, y, 0.0, *dict.fromkeys(meeting)))
        more, rest = _branched(pieces, node, rows[messy], layers)
        walks += more
        loose += chains(pieces, node, rest[rest < drawn])
    ties = pieces.take(np.arange(drawn, len(pieces))[alive[drawn:]])
    middles = 0.5 * (ties.start + ties.end)
    bridges = [
        Joint(
            float(middles[k, 0]), float(middles[k, 1]), float(ties.length[k]), int(ties.entity[k])
        )
        for k in np.flatnonzero(ties.length > COINCIDENT_MM).tolist()
    ]
    return Joined(_table(pieces, walks), loose, bridges, trims, branches)


def _trimmed(pieces: Pieces, groups: IntArray, gap_mm: float) -> tuple[Pieces, list[Joint]]:
    """Return the pieces without what runs over a corner by no more than the gap tolerance.

    A bridge from there would run back on the line or cross it, and the loop be lost. Where two
    pieces whose free ends are a pair cross near those, both end at the crossing; else each
    ends at the foot of the other's end, so that the bridge runs on. What is cut off is returned, too.
    """
    n = len(pieces)
    points = np.concatenate([pieces.start, pieces.end])
    both = np.concatenate([groups, groups])
    node = _points_to_nodes(points, both)
    free = np.flatnonzero(np.bincount(node)[node] == 1)
    pairs = [
        p for p in _pair_free(points, both, free, pieces.length, gap_mm) if p[0] % n != p[1] % n
    ]
    if not pairs:
        return pieces, []
    ends = np.array(pairs, dtype=np.int64)
    one, two = pieces.take(ends[:, 0] % n).shape, pieces.take(ends[:, 1] % n).shape
    feet = np.column_stack(
        [one.nearest(*points[ends[:, 1]].T)[0], two.nearest(*points[ends[:, 0]].T)[0]]
    )
    size = pieces.length[ends % n]
    at_end = ends >= n
    k, t, u = intersections(one, two)
    crossing = np.column_stack([t, u])
    near = np.where(at_end[k], 1.0 - crossing, crossing) * size[k]
    good = (near <= gap_mm).all(axis=1)
    feet[k[good]] = crossing[good]
    over = np.where(at_end, 1.0 - feet, feet) * size
    cut = (over > COINCIDENT_MM) & (over <= gap_mm)
    low, high = np.zeros(n), np.ones(n)
    high[(ends % n)[cut & at_end]] = feet[cut & at_end]
    low[(ends % n)[cut & ~at_end]] = feet[cut & ~at_end]
    rows = np.unique((ends % n)[cut])
    rows = rows[low[rows] < high[rows]]
    if not len(rows):
        return pieces, []
    kept = np.setdiff1d(np.arange(n), rows)
    order = np.argsort(np.concatenate([kept, rows]))
    out = Pieces.stack([pieces.take(kept), pieces.part(rows, low[rows], high[rows])]).take(order)
    trims = []
    for row, j in np.argwhere(cut & np.isin(ends % n, rows)).tolist():
        x, y = points[ends[row, j]].tolist()
        trims.append(Joint(x, y, float(over[row, j]), int(pieces.entity[ends[row, j] % n])))
    return out, trims


def _points_to_nodes(points: FloatArray, groups: IntArray) -> IntArray:
    # Equal points first: a star of many lines then costs one point, not all its pairs.
    x, y = points.T
    order = np.lexsort((y, x, groups))
    new = np.ones(len(order), dtype=np.bool_)
    sx, sy, sg = x[order], y[order], groups[order]
    new[1:] = (sx[1:] != sx[:-1]) | (sy[1:] != sy[:-1]) | (sg[1:] != sg[:-1])
    one = order[new]
    node = np.empty(len(order), dtype=np.int64)
    node[order] = np.cumsum(new) - 1
    i, j = close_pairs(points[one], groups[one], within_mm=COINCIDENT_MM)
    label = components(len(one), i, j)
    # Labels are the smallest of their kind; count those to number the nodes without a gap.
    number = np.cumsum(label == np.arange(len(label))) - 1
    return np.asarray(number[label[node]])


def node_numbers(pieces: Pieces, groups: IntArray) -> IntArray:
    """Return the (n, 2) node numbers of the pieces' ends; ends at one point share a node."""
    both = np.concatenate([groups, groups])
    node = _points_to_nodes(np.concatenate([pieces.start, pieces.end]), both)
    return np.column_stack([node[: len(pieces)], node[len(pieces) :]])


def _nodes(
    pieces: Pieces, groups: IntArray, gap_mm: float
) -> tuple[Pieces, IntArray, IntArray, int]:
    """Return pieces (bridges last), groups, (n, 2) node numbers, and the number of bridges."""
    # A line that is cut where an end meets it has new ends, which may pair in turn.
    for second_round in (False, True):
        n = len(pieces)
        points = np.concatenate([pieces.start, pieces.end])
        both = np.concatenate([groups, groups])
        node = _points_to_nodes(points, both)
        degree = np.bincount(node)
        free = np.nonzero(degree[node] == 1)[0]
        pairs = _pair_free(points, both, free, pieces.length, gap_mm)
        paired = {e for pair in pairs for e in pair}
        alone = np.array([e for e in free.tolist() if e not in paired], dtype=np.int64)
        if second_round or not len(alone):
            break
        cut = _cut_at_tees(pieces, groups, points, alone, gap_mm)
        if cut is None:
            break
        pieces, groups = cut
    links = pairs + _pair_alone(points, both, alone, node, gap_mm)
    if links:
        ends = np.array(links, dtype=np.int64)
        row = ends % n
        first = np.where(pieces.entity[row[:, 0]] <= pieces.entity[row[:, 1]], row[:, 0], row[:, 1])
        gap = points[ends[:, 1]] - points[ends[:, 0]]
        bridge = Pieces(
            points[ends[:, 0]],
            points[ends[:, 1]],
            np.zeros(len(ends)),
            np.hypot(gap[:, 0], gap[:, 1]),
            pieces.entity[first],
            pieces.label[first],
        )
        pieces = Pieces.stack([pieces, bridge])
        groups = np.concatenate([groups, groups[first]])
        inner = np.column_stack([node[:n], node[n:]])
        return pieces, groups, np.concatenate([inner, node[ends]]), len(ends)
    return pieces, groups, np.column_stack([node[:n], node[n:]]), 0


def _pair_free(
    points: FloatArray, groups: IntArray, free: IntArray, length: FloatArray, gap_mm: float
) -> list[tuple[int, int]]:
    """Pair free ends with the nearest free end, shortest gap first."""
    i, j = close_pairs(points[free], groups[free], within_mm=gap_mm)
    i, j = free[i], free[j]
    n = len(length)
    # The two ends of one short piece are not a gap.
    real = (i % n != j % n) | (length[i % n] > 4.0 * gap_mm)
    i, j = i[real], j[real]
    d = np.hypot(*(points[i] - points[j]).T)
    taken: set[int] = set()
    out = []
    # The nearest first; of equal ones number decides, not rounding.
    for k in np.lexsort((j, i, np.round(d, 9))).tolist():
        a, b = int(i[k]), int(j[k])
        if a not in taken and b not in taken:
            taken |= {a, b}
            out.append((a, b))
    return out


def _pair_alone(
    points: FloatArray, groups: IntArray, alone: IntArray, node: IntArray, gap_mm: float
) -> list[tuple[int, int]]:
    """Join free ends without a partner with the nearest node of any kind."""
    if not len(alone):
        return []
    box = np.column_stack([points[alone], points[alone]])
    i, j = box_pairs(box, np.column_stack([points, points]), margin_mm=gap_mm)
    own = alone[i]
    d = np.hypot(*(points[own] - points[j]).T)
    n = len(points) // 2
    ok = (d <= gap_mm) & (node[own] != node[j]) & (groups[own] == groups[j]) & (own % n != j % n)
    own, j, d = own[ok], j[ok], d[ok]
    best: dict[int, int] = {}
    for k in np.lexsort((j, d, own)).tolist():
        best.setdefault(int(own[k]), int(j[k]))
    return sorted(best.items())


def _cut_at_tees(
    pieces: Pieces, groups: IntArray, points: FloatArray, alone: IntArray, gap_mm: float
) -> tuple[Pieces, IntArray] | None:
    """Cut pieces where a free end meets them between their ends; None when none does."""
    box = np.column_stack([points[alone], points[alone]])
    i, j = box_pairs(box, pieces.shape.boxes(), margin_mm=gap_mm)
    x, y = points[alone[i]].T
    t, distance = pieces.take(j).shape.nearest(x, y)
    n = len(pieces)
    inner = np.minimum(t, 1.0 - t) * pieces.length[j] > gap_mm
    hit = (distance <= gap_mm) & inner & (groups[j] == groups[alone[i] % n])
    hit &= alone[i] % n != j
    if not hit.any():
        return None
    cuts: dict[int, set[float]] = defaultdict(set)
    for row, at in zip(j[hit].tolist(), t[hit].tolist(), strict=True):
        cuts[row].add(at)
    kept = np.setdiff1d(np.arange(n), np.array(sorted(cuts)))
    row, low, high = between_marks([*kept.tolist(), *sorted(cuts)], cuts)
    return pieces.part(row, low, high), groups[row]


def _prune(node: IntArray, degree: IntArray) -> BoolArray:
    """Return which pieces remain when everything that ends freely is taken off."""
    alive = np.ones(len(node), dtype=bool)
    if not (degree == 1).any():
        return alive
    at: dict[int, list[int]] = defaultdict(list)
    a, b = node[:, 0].tolist(), node[:, 1].tolist()
    for row, (x, y) in enumerate(zip(a, b, strict=True)):
        at[x].append(row)
        at[y].append(row)
    # What dangles is peeled off from its free ends; what then is left lies on loops.
    left = degree.tolist()
    todo = np.nonzero(degree == 1)[0].tolist()
    while todo:
        n = todo.pop()
        if left[n] != 1:
            continue
        row = next(r for r in at[n] if alive[r])
        alive[row] = False
        left[n] -= 1
        other = b[row] if a[row] == n else a[row]
        left[other] -= 1
        if left[other] == 1:
            todo.append(other)
    return alive


def _table(pieces: Pieces, walks: list[list[int]]) -> Loops:
    count = [len(w) for w in walks]
    steps = [s for w in walks for s in w]
    return Loops(follow(pieces, steps), np.cumsum([0, *count]))


def _branched(
    pieces: Pieces, node: IntArray, rows: IntArray, layers: Sequence[object]
) -> tuple[list[list[int]], IntArray]:
    """Return the closed walks over pieces with branches, and the pieces in none."""
    walks = []
    by_layer: dict[object, list[int]] = defaultdict(list)
    for r in rows.tolist():
        by_layer[layers[int(pieces.entity[r])]].append(r)
    taken: set[int] = set()
    for own in by_layer.values():
        mine = np.array(own)
        names, local = np.unique(node[mine], return_inverse=True)
        local = local.reshape(-1, 2)
        part = components(len(names), local[:, 0], local[:, 1])
        odd = np.zeros(len(names), dtype=bool)
        odd[part[np.bincount(local.ravel(), minlength=len(names)) != 2]] = True
        clean = mine[~odd[part[local[:, 0]]]]
        walks += cycles(node, clean)
        taken.update(clean.tolist())
    rest = np.array([r for r in rows.tolist() if r not in taken], dtype=np.int64)
    if len(rest):
        degree = np.bincount(node[rest].ravel(), minlength=int(node.max()) + 1)
        alive = _prune(node[rest], degree)
        steps = np.concatenate([2 * rest[alive], 2 * rest[alive] + 1])
        faces = enclosed(pieces, node, steps)
        walks += [w for w in faces if enclosed_area(follow(pieces, w)) > 0.0]
        rest = rest[~alive]
    return walks, rest
