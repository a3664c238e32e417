"""From sorted curves to labelled loops: overlays, duplicates, joining."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.path import IntArray
from edgetime.takeoff import codes
from edgetime.takeoff.by_layer import EDGE_LIKE, Sheet
from edgetime.takeoff.claims import Claims
from edgetime.takeoff.coincide import Stretches, label_stretches, remove_stretches, shared_stretches
from edgetime.takeoff.joining import Joined, Joint, join
from edgetime.takeoff.loops import Loops
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pieces import Pieces
from edgetime.tolerances import COINCIDENT_MM
from edgetime.tooling.layers import Meaning

_JOINTS: Final = {
    "bridges": (codes.GAP_BRIDGED, "A gap of {:.3f} mm is bridged (up to {:g} mm is)."),
    "trims": (
        codes.CORNER_TRIMMED,
        "A line runs {:.3f} mm past its corner; the excess is trimmed (up to {:g} mm is).",
    ),
    "branches": (
        codes.BRANCH,
        "Three or more ends meet here; loops were found by layer, then by enclosed area.",
    ),
}
"""Lists of joints of :class:`Joined` → what is said about each."""

_KINDS = {Meaning.OUTLINE: 1, Meaning.CUTOUT: 2, Meaning.HOLE: 3}


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
    chains: list[Pieces]


def find_loops(sheet: Sheet, claims: Claims, notes: Notes, *, gap_mm: float) -> Found:
    """Find all closed loops of a drawing, their segments labelled with what gives the profile.

    Cutouts and holes that close by themselves are loops. Curves on outline layers, closed
    curves on profile layers, and what is left of the openings are the base. A curve on a
    profile layer that lies on the base labels it and is used up; what is left of such curves
    and of open base curves is joined. What then still is open but lies on a loop labels that.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves.
    claims : Claims
        Takes what lies on what.
    notes : Notes
        Takes findings on bridges and branches.
    gap_mm : float
        Tolerances of joining and of lying on one another [mm].
    """
    layers = [e.layer.casefold() for e in sheet.entities]
    shapes_open = _counted_once(sheet, sheet.shapes_open, claims)
    edges_open = _counted_once(sheet, sheet.edges_open, claims)
    opens = sheet.of_meaning(shapes_open, Meaning.CUTOUT, Meaning.HOLE)
    outlines, mine = shapes_open.take(~opens), shapes_open.take(opens)
    # The line of a sink along the front is no second copy of the front: an opening is closed
    # by its own lines if they do close.
    kind = sheet.of_meaning(mine, Meaning.HOLE)
    alone = join(mine, 2 * sheet.inserts[mine.entity] + kind, layers, gap_mm=gap_mm)
    mine = _pieces_of(mine, alone.open_chains)
    outlines, mine = _overlaid_openings(outlines, mine, claims)

    whole = sheet.of_meaning(sheet.shapes_closed, Meaning.CUTOUT, Meaning.HOLE)
    closed_outlines = sheet.shapes_closed.take(~whole)
    openings = Loops.stack([_entity_loops(sheet.shapes_closed.take(whole)), alone.loops])
    used, own = _closed_overlays(
        sheet, Pieces.stack([closed_outlines, openings.segments, outlines, mine])
    )
    closed = Pieces.stack([closed_outlines, own])
    base = Pieces.stack([closed, outlines, mine])
    over = Pieces.stack([edges_open, used])
    shared = _same_insert_first(sheet, base, over, shared_stretches(base, over))
    pieces, parents = claims.label(base, shared, over)
    left, came_from = remove_stretches(over, shared)
    from_open = came_from < len(edges_open)
    loose = Pieces.stack([pieces.take(parents >= len(closed)), left.take(from_open)])

    joined = [alone, join(loose, sheet.inserts[loose.entity], layers, gap_mm=gap_mm)]
    chains = joined[1].open_chains
    if len({int(sheet.inserts[c.entity[0]]) for c in chains}) > 1:
        # What stays open by itself may close with another block's curves.
        rest = Pieces.stack(list(chains))
        none = np.zeros(len(rest), dtype=np.int64)
        joined.append(join(rest, none, layers, gap_mm=gap_mm))
        chains = joined[2].open_chains
    _note_joints(sheet, joined, notes, gap_mm)
    every = Loops.stack(
        [
            _entity_loops(pieces.take(parents < len(closed))),
            openings,
            *(j.loops for j in joined[1:]),
        ]
    )
    chains += [left.take(np.array([k])) for k in np.flatnonzero(~from_open).tolist()]
    return _laid_on_loops(sheet, every, chains, claims)


def _pieces_of(table: Pieces, chains: list[Pieces]) -> Pieces:
    return Pieces.stack([table.take(np.s_[:0]), *(c for c in chains)])


def _entity_loops(table: Pieces) -> Loops:
    """Return closed entities as loops, one each."""
    first = np.flatnonzero(np.diff(table.entity, prepend=-1))
    return Loops(table, np.append(first, len(table)))


def _note_joints(sheet: Sheet, joined: list[Joined], notes: Notes, gap_mm: float) -> None:
    for name, (code, text) in _JOINTS.items():
        for joint in (joint for j in joined for joint in getattr(j, name)):
            # Where a seam is drawn as the common edge of two parts, three ends are meant to meet.
            if name == "branches" and _is_seam_end(sheet, joint):
                continue
            said = text.format(joint.width_mm, gap_mm)
            notes.add(code, said, of=sheet.entities[joint.entities[0]], at=joint.at)


def _is_seam_end(sheet: Sheet, joint: Joint) -> bool:
    return any(sheet.meaning(e) is Meaning.SEAM for e in joint.entities)


def _counted_once(sheet: Sheet, table: Pieces, claims: Claims) -> Pieces:
    """Take away what lies on a curve of the same kind whose claim comes first."""
    shared = shared_stretches(table, table, among=True)
    one, two = table.entity[shared.base], table.entity[shared.other]
    # A cutout may end on the edge of a part, and a hole be drawn on a cutout: no copies.
    means = np.array([_KINDS.get(sheet.meaning(e), 0) for e in range(len(sheet.entities))])
    alike = means[one] == means[two]
    shared = shared.take((sheet.inserts[one] == sheet.inserts[two]) & alike)
    if not len(shared.base):
        return table
    # Each stretch that is taken away loses to the strongest curve on it only.
    _, _, meetings = label_stretches(table, shared.swapped(), table)
    claims.met(meetings.take(meetings.own))
    return remove_stretches(table, shared)[0]


def _overlaid_openings(outlines: Pieces, mine: Pieces, claims: Claims) -> tuple[Pieces, Pieces]:
    """Let open lines of openings label the open outline lines they lie on; return both.

    A cutout may be drawn in part on the outline layer, in part on its own, and the two may
    overlap: what lies on one another is one line then.
    """
    if not len(outlines) or not len(mine):
        return outlines, mine
    shared = shared_stretches(outlines, mine)
    labelled, _ = claims.label(outlines, shared, mine)
    left, _ = remove_stretches(mine, shared)
    return labelled, left


def _closed_overlays(sheet: Sheet, base: Pieces) -> tuple[Pieces, Pieces]:
    """Part closed curves on profile layers into overlays and outlines of their own."""
    table = sheet.edges_closed
    if not len(table) or not len(base):
        return table.take(np.s_[:0]), table
    shared = shared_stretches(base, table)
    _, parents = remove_stretches(table, shared)
    bare = np.unique(table.entity[parents])
    lies_on = ~np.isin(table.entity, bare)
    return table.take(lies_on), table.take(~lies_on)


def _same_insert_first(sheet: Sheet, base: Pieces, over: Pieces, shared: Stretches) -> Stretches:
    """Where a curve lies on lines of its own block and of another, keep its own."""
    mine = sheet.inserts[over.entity[shared.other]]
    # A block's edges belong on its own outline, even where another block lies on top of it.
    own = sheet.inserts[base.entity[shared.base]] == mine
    has_own = np.zeros(len(over), dtype=bool)
    has_own[shared.other[own]] = True
    return shared.take(own | ~has_own[shared.other])


def _laid_on_loops(sheet: Sheet, loops: Loops, chains: list[Pieces], claims: Claims) -> Found:
    """Let open chains that lie on loops label them; return what is left of the chains.

    Of curves on profile layers every stretch counts. Other chains count when they lie on loops
    all along: a cutout that is open along the edge of a part is yet to be closed.
    """
    if not chains or not len(loops):
        return Found(loops, chains)
    rows = Pieces.stack(list(chains))
    owner = np.repeat(np.arange(len(chains)), [len(c) for c in chains])
    shared = _same_insert_first(
        sheet,
        loops.segments,
        rows,
        shared_stretches(loops.segments, rows),
    )
    left, parents = remove_stretches(rows, shared)
    # Chains that lie on loops in part only stay whole, unless they are edges.
    edge = np.logical_and.reduceat(sheet.of_meaning(rows, *EDGE_LIKE), _firsts(owner))
    on = edge.copy()
    on[~np.isin(np.arange(len(chains)), owner[parents])] = True
    shared = shared.take(on[owner[shared.other]])
    if not len(shared.base):
        return Found(loops, chains)
    segments, came_from = claims.label(loops.segments, shared, rows)
    labelled = Loops(segments, np.searchsorted(came_from, loops.first))
    touched = np.zeros(len(chains), dtype=bool)
    touched[owner[shared.other]] = True
    out = [c for c, gone in zip(chains, touched.tolist(), strict=True) if not gone]
    rest = touched[owner[parents]]
    if rest.any():
        out += _runs(left.take(rest), owner[parents[rest]])
    return Found(labelled, out)


def _firsts(owner: IntArray) -> IntArray:
    return np.flatnonzero(np.diff(owner, prepend=-1))


def _runs(pieces: Pieces, owner: IntArray) -> list[Pieces]:
    """Return pieces in order as chains, parted where they do not meet."""
    apart = np.hypot(*(pieces.start[1:] - pieces.end[:-1]).T) > COINCIDENT_MM
    new = np.flatnonzero(np.concatenate([[True], apart | (np.diff(owner) != 0)]))
    stops = [*new[1:].tolist(), len(pieces)]
    return [pieces.take(np.s_[a:b]) for a, b in zip(new.tolist(), stops, strict=True)]
