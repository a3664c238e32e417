"""From sorted curves to labelled loops: overlays, duplicates, joining."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from edgetime.geometry.segments import BoolArray
from edgetime.takeoff import codes
from edgetime.takeoff.coincide import (
    Stretches,
    label_stretches,
    remove_stretches,
    shared_stretches,
)
from edgetime.takeoff.joining import Chain, join
from edgetime.takeoff.loops import Loops
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pieces import Pieces, concatenate
from edgetime.takeoff.rules import Meaning
from edgetime.takeoff.sheet import Sheet
from edgetime.tolerances import COINCIDENT_MM

__all__ = ["Found", "find_loops"]


@dataclass(frozen=True, eq=False)
class Found:
    """Closed loops and what did not close.

    Attributes
    ----------
    loops : Loops
        As drawn, each head to tail.
    chains : list of Chain
        Open chains.
    """

    loops: Loops
    chains: list[Chain]


def find_loops(sheet: Sheet, notes: Notes, *, gap_mm: float, overlay_mm: float) -> Found:
    """Find all closed loops of a drawing, their segments labelled with what gives the profile.

    Curves on outline, cutout and hole layers, and closed curves on profile layers, are the
    base. A curve on a profile layer that lies on the base labels it and is used up; what is
    left of such curves and of open base curves is joined.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves.
    notes : Notes
        Takes findings on duplicates, conflicts, bridges and branches.
    gap_mm, overlay_mm : float
        Tolerances of joining and of lying on one another [mm].
    """
    shapes_open = _counted_once(sheet, sheet.shapes_open, notes, overlay_mm)
    edges_open = _counted_once(sheet, sheet.edges_open, notes, overlay_mm)
    used, loops_of_edges = _closed_overlays(sheet, shapes_open, overlay_mm)

    base = concatenate([sheet.shapes_closed, loops_of_edges, shapes_open])
    whole = len(sheet.shapes_closed) + len(loops_of_edges)
    over = concatenate([edges_open, used])
    shared = _same_insert_first(
        sheet, base, over, shared_stretches(base, over, tolerance_mm=overlay_mm)
    )
    pieces, parents = label_stretches(
        base, shared, over.label[shared.other], tolerance_mm=overlay_mm
    )
    left, came_from = remove_stretches(
        over, shared.other, shared.u0, shared.u1, tolerance_mm=overlay_mm
    )
    loose = concatenate([pieces.take(parents >= whole), left.take(came_from < len(edges_open))])
    closed = pieces.take(parents < whole)
    first = np.flatnonzero(np.diff(closed.entity, prepend=-1))
    loops = [Loops(closed, np.append(first, len(closed)))]

    layers = [e.layer.casefold() for e in sheet.entities]
    joined = join(loose, sheet.inserts[loose.entity], layers, gap_mm=gap_mm)
    loops.append(joined.loops)
    bridges, branches, chains = joined.bridges, joined.branches, joined.open_chains
    if len({int(sheet.inserts[c.pieces.entity[0]]) for c in chains}) > 1:
        # What stays open by itself may close with another block's curves.
        rest = concatenate([c.pieces for c in chains])
        again = join(rest, np.zeros(len(rest), dtype=np.int64), layers, gap_mm=gap_mm)
        loops.append(again.loops)
        bridges, branches = bridges + again.bridges, branches + again.branches
        chains = again.open_chains
    for bridge in bridges:
        info = sheet.entities[bridge.entity]
        notes.add(
            codes.GAP_BRIDGED,
            f"A gap of {bridge.width_mm:.3f} mm is bridged (up to {gap_mm:g} mm is).",
            layer=info.layer,
            handle=info.handle,
            at=(bridge.x_mm, bridge.y_mm),
        )
    for x, y, entity in branches:
        info = sheet.entities[entity]
        notes.add(
            codes.BRANCH,
            "Three or more ends meet here; loops were found by layer, then by enclosed area.",
            layer=info.layer,
            handle=info.handle,
            at=(x, y),
        )
    every = Loops.stack(loops)
    return Found(every, _without_copies(sheet, every, chains, notes, overlay_mm))


def _counted_once(sheet: Sheet, table: Pieces, notes: Notes, tolerance_mm: float) -> Pieces:
    """Take away what lies on a curve drawn earlier, each with a finding."""
    shared = shared_stretches(table, table, tolerance_mm=tolerance_mm, among=True)
    one, two = table.entity[shared.base], table.entity[shared.other]
    # A cutout may end on the edge of a part: its line there is no second copy of that edge.
    outline = np.array(
        [m is Meaning.OUTLINE for m in map(sheet.meaning, range(len(sheet.entities)))]
    )
    alike = outline[one] == outline[two]
    shared = shared.take((sheet.inserts[one] == sheet.inserts[two]) & alike)
    if not len(shared.base):
        return table
    _note_copies(sheet, table, shared, notes)
    return remove_stretches(table, shared.other, shared.u0, shared.u1, tolerance_mm=tolerance_mm)[0]


def _note_copies(sheet: Sheet, table: Pieces, shared: Stretches, notes: Notes) -> None:
    rows = table.take(shared.other)
    length = (shared.u1 - shared.u0) * rows.length
    start = table.part(shared.other, shared.u0, shared.u1).start
    by_pair: dict[tuple[int, int], list[int]] = defaultdict(list)
    for k, pair in enumerate(
        zip(rows.entity.tolist(), table.entity[shared.base].tolist(), strict=True)
    ):
        by_pair[pair].append(k)
    for (copy, first), own in by_pair.items():
        mine, other = sheet.entities[copy], sheet.entities[first]
        one, two = sheet.profile(copy), sheet.profile(first)
        total = float(length[own].sum())
        place = f"layer {other.layer}" + (f", handle {other.handle}" if other.handle else "")
        if one == two:
            code = codes.DUPLICATE_CURVE
            text = f"{total:.1f} mm lie on a curve drawn before ({place}); they count once."
        else:
            code = codes.PROFILE_CONFLICT
            one, two = one or "no profile", two or "no profile"
            text = f"{total:.1f} mm are drawn as {one} and as {two} ({place}); {two} counts."
        notes.add(code, text, layer=mine.layer, handle=mine.handle, at=start[own[0]].tolist())


def _closed_overlays(
    sheet: Sheet, shapes_open: Pieces, tolerance_mm: float
) -> tuple[Pieces, Pieces]:
    """Part closed curves on profile layers into overlays and outlines of their own."""
    table = sheet.edges_closed
    base = concatenate([sheet.shapes_closed, shapes_open])
    if not len(table) or not len(base):
        return table.take(np.s_[:0]), table
    covered = _covered(base, table, tolerance_mm)
    bare = np.unique(table.entity[~covered])
    lies_on = ~np.isin(table.entity, bare)
    return table.take(lies_on), table.take(~lies_on)


def _covered(base: Pieces, table: Pieces, tolerance_mm: float) -> BoolArray:
    """Return which rows of a table lie on the base from end to end."""
    shared = shared_stretches(base, table, tolerance_mm=tolerance_mm)
    _, parents = remove_stretches(
        table, shared.other, shared.u0, shared.u1, tolerance_mm=tolerance_mm
    )
    out = np.ones(len(table), dtype=bool)
    out[parents] = False
    return out


def _same_insert_first(sheet: Sheet, base: Pieces, over: Pieces, shared: Stretches) -> Stretches:
    """Where a curve lies on lines of its own block and of another, keep its own."""
    mine = sheet.inserts[over.entity[shared.other]]
    own = sheet.inserts[base.entity[shared.base]] == mine
    has_own = np.zeros(len(over), dtype=bool)
    has_own[shared.other[own]] = True
    return shared.take(own | ~has_own[shared.other])


def _without_copies(
    sheet: Sheet, loops: Loops, chains: list[Chain], notes: Notes, tolerance_mm: float
) -> list[Chain]:
    """Drop open chains that lie on closed loops all along: they are drawn twice."""
    if not chains or not len(loops):
        return chains
    rows = concatenate([c.pieces for c in chains])
    covered = _covered(loops.segments, rows, tolerance_mm)
    out = []
    at = 0
    for chain in chains:
        n = len(chain.pieces)
        if covered[at : at + n].all():
            info = sheet.entities[int(chain.pieces.entity[0])]
            total = float(chain.pieces.length.sum())
            if total > COINCIDENT_MM:
                notes.add(
                    codes.DUPLICATE_CURVE,
                    f"{total:.1f} mm lie on closed lines drawn elsewhere; they count once.",
                    layer=info.layer,
                    handle=info.handle,
                    at=chain.pieces.start[0].tolist(),
                )
        else:
            out.append(chain)
        at += n
    return out
