"""What the curves on each layer of a drawing look like: outlines, openings, holes, lines."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Final

import numpy as np

from edgetime.drawing.drawing import Drawing
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray
from edgetime.takeoff.by_layer import sort_out
from edgetime.takeoff.claims import Claims
from edgetime.takeoff.joining import join
from edgetime.takeoff.loops import Loops, contained, inside, loop_crossings, same_loops
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.outlines import find_loops
from edgetime.takeoff.pairs import box_pairs
from edgetime.takeoff.pieces import Pieces
from edgetime.takeoff.sound import sound_loops
from edgetime.tolerances import HOLE_DIAMETER_MM, OVERLAY_MM
from edgetime.tooling.layers import LayerRule, LayerRules, Meaning, exact_match

_BIT_LIKE_MM: Final = 80.0
"""Without core bits to compare with, a smaller circle counts as one of bit size [mm]."""

_PAPER: Final = math.sqrt(2.0)
"""Height to width of the sheets of ISO 216."""

_OPENINGS: Final = frozenset({Meaning.CUTOUT, Meaning.HOLE})
_QUIET: Final = frozenset({Meaning.IGNORE})
_ON_TABLE: Final = frozenset({Meaning.KEEP_OUT, Meaning.CUP})


class Role(StrEnum):
    """What a closed line or an open chain of curves is among the others."""

    OUTER = "outer"
    INNER = "inner"
    HOLE = "hole"
    COPY = "copy"
    FRAME = "frame"
    BORDER = "border"
    OVERLAY = "overlay"
    SEAM = "seam"
    NOTCH = "notch"
    AREA = "area"
    INSIDE = "inside"
    OUTSIDE = "outside"


@dataclass
class Shapes:
    """What is on one layer.

    Attributes
    ----------
    count : dict
        How many closed lines and chains there are of each role.
    length_mm : dict
        Their length [mm].
    """

    count: dict[Role, int] = field(default_factory=lambda: defaultdict(int))
    length_mm: dict[Role, float] = field(default_factory=lambda: defaultdict(float))

    def add(self, role: Role, length_mm: float, count: int = 1) -> None:
        """Count one more of a role."""
        self.count[role] += count
        self.length_mm[role] += length_mm

    def has(self, *roles: Role) -> bool:
        """Return whether there is any of these roles."""
        return any(self.count.get(r, 0) for r in roles)


@dataclass
class _Group:
    """The closed lines and chains of one layer, or of all layers with rules."""

    layer: str | None
    loops: Loops
    chains: list[Pieces]
    parts: list[bool]
    """Which closed lines a rule says to be outlines."""


def shapes_of(
    drawing: Drawing,
    rules: LayerRules,
    unknown: Sequence[str],
    guesses: dict[str, Meaning | None],
    *,
    core_diameters_mm: Collection[float],
) -> dict[str, Shapes]:
    """Return what the curves on unknown layers look like, beside those of known layers.

    Parameters
    ----------
    drawing : Drawing
        The drawing.
    rules : LayerRules
        What the other layers mean.
    unknown : sequence of str
        Layers that no rule matches.
    guesses : dict
        What their names speak for, None for nothing.
    core_diameters_mm : collection of float
        Core bits on hand [mm].
    """
    out = {layer: Shapes() for layer in unknown}
    groups = [_group(drawing, rules, None)]
    for layer in sorted(unknown, key=lambda name: _rank(guesses[name])):
        if guesses[layer] in _QUIET:
            continue
        rule = LayerRules((LayerRule(exact_match(layer), Meaning.OUTLINE),), gap_mm=rules.gap_mm)
        group = _group(drawing, rule, layer)
        if guesses[layer] in _ON_TABLE and len(group.loops):
            # They are no stone: nothing lies in them, and they lie in nothing.
            out[layer].add(Role.AREA, float(group.loops.lengths.sum()), len(group.loops))
            continue
        groups.append(group)
    groups = [g for g in groups if len(g.loops) or g.chains]
    if not groups:
        return out
    loops = Loops.stack([g.loops for g in groups])
    owner = [g.layer for g in groups for _ in range(len(g.loops))]
    parts = [part for g in groups for part in g.parts]
    chains = [(g.layer, c) for g in groups for c in g.chains]
    chains = _overlays(loops, chains, out)
    joint, chains = _borders(chains, out, rules.gap_mm)
    loops, owner = Loops.stack([loops, joint]), owner + [None] * len(joint)
    parts += [False] * len(joint)
    outer = _nest(loops, owner, parts, out, core_diameters_mm)
    _lines(loops.select(outer), chains, out, rules.gap_mm)
    return out


def _rank(guess: Meaning | None) -> int:
    # Where two layers hold the same closed line, the outline is the original.
    order = (Meaning.OUTLINE, None, Meaning.CUTOUT, Meaning.HOLE)
    return order.index(guess) if guess in order else len(order)


def _group(drawing: Drawing, rules: LayerRules, layer: str | None) -> _Group:
    quiet = Notes("")
    sheet = sort_out(drawing, rules, quiet)
    claims = Claims(sheet)
    found = find_loops(sheet, claims, quiet, gap_mm=rules.gap_mm)
    loops = sound_loops(sheet, claims, found.loops, quiet)
    leads = [sheet.meaning(e) for e in loops.lead.tolist()]
    parts = [layer is None and m not in _OPENINGS for m in leads]
    return _Group(layer, loops, found.chains, parts)


def _near_lines(loops: Loops, points: FloatArray) -> BoolArray:
    """Return which points lie on a line of the loops."""
    i, j = box_pairs(np.column_stack([points, points]), loops.segment_boxes, margin_mm=OVERLAY_MM)
    apart = np.full(len(points), np.inf)
    np.minimum.at(apart, i, loops.segments.take(j).shape.distance(*points[i].T))
    return np.asarray(apart <= OVERLAY_MM)


_Owned = list[tuple[str | None, Pieces]]


def _overlays(loops: Loops, chains: _Owned, out: dict[str, Shapes]) -> _Owned:
    """Count the chains that lie on closed lines; return the others."""
    left: _Owned = []
    for layer, chain in chains:
        p = chain
        rows = np.repeat(np.arange(len(p)), 3)
        points = p.take(rows).shape.point(np.tile([0.25, 0.5, 0.75], len(p)))
        if len(loops) and bool(_near_lines(loops, points).all()):
            if layer is not None:
                out[layer].add(Role.OVERLAY, float(p.length.sum()))
        else:
            left.append((layer, chain))
    return left


def _borders(chains: _Owned, out: dict[str, Shapes], gap_mm: float) -> tuple[Loops, _Owned]:
    """Close chains of several layers with one another; return the loops and what is left."""
    if not chains:
        return Loops.of([]), []
    # The chains come of several readings, whose numbers of entities mean nothing together.
    rows = Pieces.stack([replace(c, entity=np.full(len(c), k)) for k, (_, c) in enumerate(chains)])
    none = np.zeros(len(rows), dtype=np.int64)
    joined = join(rows, none, [""] * len(chains), gap_mm=gap_mm)
    loops = joined.loops.sound() if len(joined.loops) else joined.loops
    used = np.unique(loops.segments.entity).tolist()
    for k in used:
        layer = chains[k][0]
        if layer is not None:
            own = loops.segments.entity == k
            out[layer].add(Role.BORDER, float(loops.segments.length[own].sum()))
    left = [chain for k, chain in enumerate(chains) if k not in used]
    return loops, left


def _nest(
    loops: Loops,
    owner: list[str | None],
    parts: list[bool],
    out: dict[str, Shapes],
    core_diameters_mm: Collection[float],
) -> IntArray:
    """Count closed lines by what lies in what; return those that are outlines."""
    copies = same_loops(loops)
    inner, outer = contained(loops)
    alive = np.ones(len(loops), dtype=bool)
    alive[list(copies)] = False
    frames: set[int] = set()
    # A frame taken away may uncover another: the edge of a sheet has a border inside.
    while (frame := _frame(loops, owner, parts, inner, outer, alive)) is not None:
        frames.add(frame)
        alive[frame] = False
    both = alive[inner] & alive[outer]
    depth = np.bincount(inner[both], minlength=len(loops))
    title = _title_blocks(loops, owner, frames, alive & (depth % 2 == 0), outer[both])
    notches = _notches(loops, owner, alive & (depth % 2 == 0), title)
    lengths, circles = loops.lengths.tolist(), loops.circles[:, 2].tolist()
    for k, layer in enumerate(owner):
        if layer is None:
            continue
        if k in frames or k in title:
            role = Role.FRAME
        elif k in copies:
            role = Role.COPY
        elif k in notches:
            role = Role.NOTCH
        elif depth[k] % 2 == 0:
            role = Role.OUTER
        else:
            role = Role.HOLE if _is_bit_size(circles[k], core_diameters_mm) else Role.INNER
        out[layer].add(role, lengths[k])
    even = alive & (depth % 2 == 0)
    even[list(title | notches)] = False
    return np.flatnonzero(even)


def _title_blocks(
    loops: Loops, owner: list[str | None], frames: set[int], even: BoolArray, holding: IntArray
) -> set[int]:
    """Return the closed lines beside a frame, on its layer, that are a title block and no parts.

    They hold nothing, and the outlines on other layers are larger.
    """
    own = {owner[k] for k in frames}
    beside = [k for k in np.flatnonzero(even).tolist() if owner[k] in own]
    others = [k for k in np.flatnonzero(even).tolist() if owner[k] not in own]
    if not others or set(beside) & set(holding.tolist()):
        return set()
    small = float(loops.areas[beside].sum()) < float(loops.areas[others].sum())
    return set(beside) if small else set()


def _notches(loops: Loops, owner: list[str | None], even: BoolArray, title: set[int]) -> set[int]:
    """Return the closed lines that run over the edge of a larger outline of another layer."""
    i, j, _ = loop_crossings(loops)
    out: set[int] = set()
    for a, b in zip(i.tolist(), j.tolist(), strict=True):
        small = min(a, b, key=lambda k: float(loops.areas[k]))
        if even[a] and even[b] and owner[a] != owner[b] and not title & {a, b}:
            out.add(small)
    return out


def _is_bit_size(diameter_mm: float, core_diameters_mm: Collection[float]) -> bool:
    if math.isnan(diameter_mm):
        return False
    if not core_diameters_mm:
        return diameter_mm <= _BIT_LIKE_MM
    return min(abs(d - diameter_mm) for d in core_diameters_mm) <= HOLE_DIAMETER_MM


def _frame(
    loops: Loops,
    owner: list[str | None],
    parts: list[bool],
    inner: IntArray,
    outer: IntArray,
    alive: BoolArray,
) -> int | None:
    """Return a rectangle around everything else that can be no part, None for none."""
    both = alive[inner] & alive[outer]
    i, o = inner[both], outer[both]
    depth = np.bincount(i, minlength=len(loops))
    size = loops.boxes[:, 2:] - loops.boxes[:, :2]
    for k in np.flatnonzero(alive & (depth == 0)).tolist():
        held = i[o == k]
        if owner[k] is None or not len(held) or len(held) < int(alive.sum()) - 1:
            continue
        width, height = size[k].tolist()
        if loops.areas[k] < 0.999 * width * height:
            continue
        direct = held[depth[held] == 1]
        # Sheets of ISO 216 have sides of 1 to √2.
        paper = abs(max(width, height) / min(width, height) - _PAPER) < 0.01 * _PAPER
        if (depth[held] >= 2).any() or any(parts[h] for h in direct.tolist()):
            return k
        if paper and len(direct) > 1:
            return k
    return None


def _lines(outlines: Loops, chains: _Owned, out: dict[str, Shapes], gap_mm: float) -> None:
    """Count the open chains that lie on no closed line and close none."""
    which = np.arange(len(outlines))
    for layer, p in chains:
        if layer is None:
            continue
        role = Role.OUTSIDE
        if len(outlines):
            middle = p.take(np.array([len(p) // 2])).shape.point(np.array([0.5]))
            held = inside(outlines, which, np.repeat(middle, len(which), axis=0))[0] != 0
            if held.any():
                ends = np.array([p.start[0], p.end[-1]])
                near = [
                    inside(outlines, which, np.repeat(e[None], len(which), axis=0))[1] for e in ends
                ]
                touch = (np.array(near) <= gap_mm + OVERLAY_MM).all(axis=0)
                role = Role.SEAM if bool((touch & held).any()) else Role.INSIDE
        out[layer].add(role, float(p.length.sum()))
