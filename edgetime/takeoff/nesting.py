"""Loops to parts, cutouts and holes: sound ones only, then by how deep they lie."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import BoolArray
from edgetime.takeoff import codes
from edgetime.takeoff.by_layer import EDGE_LIKE, Sheet
from edgetime.takeoff.claims import Claims
from edgetime.takeoff.loops import Loops, contained, holders, loop_crossings, self_crossing
from edgetime.takeoff.notches import Notch, closed_along, cut_notches
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pairs import box_pairs
from edgetime.takeoff.pieces import Pieces
from edgetime.takeoff.seams import divide
from edgetime.takeoff.sound import MIN_AREA_MM2, Reporter, kinds
from edgetime.tolerances import RIB_MM
from edgetime.tooling.layers import Meaning


@dataclass(frozen=True, eq=False)
class Nest:
    """Which loop is a part and which is an opening in which part.

    Attributes
    ----------
    loops : Loops
        All loops, in order of their first entity.
    parts : list of int
        Loops that are outlines.
    openings : dict
        Openings of each part.
    islands : dict
        Opening of another part around a part, for the parts that lie in one.
    """

    loops: Loops
    parts: list[int]
    openings: dict[int, list[int]]
    islands: dict[int, int] = field(default_factory=dict)


def nest_loops(
    sheet: Sheet,
    claims: Claims,
    loops: Loops,
    chains: list[Pieces],
    notes: Notes,
    *,
    gap_mm: float,
) -> tuple[Nest, list[Pieces]]:
    """Cut notches, sort loops into parts and openings, and divide parts along seams.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves.
    claims : Claims
        What lies on what.
    loops : Loops
        Sound loops.
    chains : list of Chain
        Open chains; seams among them may divide parts.
    notes : Notes
        Takes the findings.
    gap_mm : float
        Tolerances [mm].
    """
    loops, chains = _closed(sheet, loops, chains, gap_mm)
    seams = [c for c in chains if _is_seam(sheet, c)]
    chains = [c for c in chains if not _is_seam(sheet, c)]
    made = 0
    while True:
        # A seam may run across a sink, which then notches both parts, or end on a notch.
        waiting = len(seams)
        if seams and len(loops):
            nest = _by_depth(sheet, claims, loops, Notes(""), made)
            loops, made, seams = _divided(sheet, nest, made, seams, notes, gap_mm)
        before = len(loops)
        loops, made = _notched(sheet, loops, made, notes, gap_mm)
        if not seams or (len(seams) == waiting and len(loops) == before):
            break
    return _by_depth(sheet, claims, loops, notes, made), chains + seams


def _closed(
    sheet: Sheet, loops: Loops, chains: list[Pieces], gap_mm: float
) -> tuple[Loops, list[Pieces]]:
    """Return the loops with cutouts drawn from edge to edge last, and the chains left over."""
    left: list[Pieces] = []
    closed: list[Pieces] = []
    opening, _ = kinds(sheet, loops)
    for chain in chains:
        line = chain
        means = {sheet.meaning(e) for e in set(line.entity.tolist())}
        found = None
        if means == {Meaning.CUTOUT} and len(loops):
            found = closed_along(loops, ~opening, line, gap_mm=gap_mm)
        if found is None:
            left.append(chain)
        else:
            closed.append(found)
    return Loops.stack([loops, Loops.of(closed)]) if closed else loops, left


def _notched(
    sheet: Sheet, loops: Loops, made: int, notes: Notes, gap_mm: float
) -> tuple[Loops, int]:
    """Return the loops, made outlines and those with notches last, and how many those are."""
    while True:
        opening, hole = kinds(sheet, loops)
        opening[len(loops) - made :] = False
        if not opening.any():
            return loops, made
        report = Reporter(sheet, loops, notes)
        cut, new, notches = cut_notches(loops, opening & ~hole, ~opening, gap_mm=gap_mm)
        if not notches:
            return loops, made
        for notch in notches:
            _note_notch(report, notch)
        # A notch may bring the edge to a cutout that was well inside: once more.
        again = {n.outline for n in notches if n.outline >= len(loops) - made}
        loops, made = cut, made - len(again) + new


def _note_notch(report: Reporter, notch: Notch) -> None:
    report.say(
        codes.CUTOUT_NOTCHES,
        notch.opening,
        f"A cutout of {report.loops.lengths[notch.opening]:.1f} mm reaches the edge of a part "
        f"({report.name(notch.outline)}); it counts as a notch, and {notch.lost_mm:.1f} mm of "
        "that edge are cut away"
        + (f". {notch.parts} parts are left of it." if notch.parts > 1 else "."),
        notch.place,
    )


def _is_seam(sheet: Sheet, pieces: Pieces) -> bool:
    return all(sheet.meaning(e) is Meaning.SEAM for e in set(pieces.entity.tolist()))


def _divided(
    sheet: Sheet, nest: Nest, made: int, seams: list[Pieces], notes: Notes, gap_mm: float
) -> tuple[Loops, int, list[Pieces]]:
    """Return the loops, made outlines last, how many those are now, and the seams left over."""
    loops = nest.loops
    if not nest.parts:
        return loops, made, seams
    outlines = loops.select(np.array(nest.parts))
    by_part: dict[int, list[int]] = {}
    middles = np.vstack([_middle(seam) for seam in seams])
    for k, part in enumerate(holders(outlines, middles).tolist()):
        if part >= 0:
            by_part.setdefault(nest.parts[part], []).append(k)
    gone: set[int] = set()
    done: set[int] = set()
    new: list[Pieces] = []
    for part, own in sorted(by_part.items()):
        holes = nest.openings[part]
        faces, used, cuts = divide(
            loops.loop(part),
            [loops.loop(h) for h in holes],
            [seams[k] for k in own],
            gap_mm=gap_mm,
        )
        if not faces or not _measurable(Loops.of(faces).sound()):
            continue
        new += faces
        gone |= {part, *(holes[u] for u in used)}
        done |= {own[c] for c in cuts}
        for c in cuts:
            pieces = seams[own[c]]
            info = sheet.entities[int(pieces.entity[0])]
            notes.add(
                codes.SEAM_DIVIDES,
                f"A seam of {pieces.length.sum():.1f} mm divides a part here; it counts as an "
                "edge on both sides.",
                of=info,
                at=pieces.start[0].tolist(),
            )
    kept = np.setdiff1d(np.arange(len(loops)), sorted(gone))
    made = len(new) + int((kept >= len(loops) - made).sum())
    left = [s for k, s in enumerate(seams) if k not in done]
    return Loops.stack([loops.select(kept), Loops.of(new).sound()]), made, left


def _middle(chain: Pieces) -> FloatArray:
    """Return the middle of a chain's middle piece (1, 2) [mm]."""
    return chain.take(np.array([len(chain) // 2])).shape.point(np.array([0.5]))


def _measurable(loops: Loops) -> bool:
    """Return whether all loops enclose an area and none crosses itself."""
    crossing, turning = self_crossing(loops)
    return not crossing and not turning.any() and bool((loops.areas >= MIN_AREA_MM2).all())


def _by_depth(sheet: Sheet, claims: Claims, loops: Loops, notes: Notes, made: int) -> Nest:
    """Loops at an even depth are parts, those at an odd depth openings of the part around.

    The last ``made`` loops are outlines whatever layers their pieces are on.
    """
    count = len(loops)
    if not count:
        return Nest(loops, [], {})
    report = Reporter(sheet, loops, notes)
    opening, hole = kinds(sheet, loops)
    # A part divided or notched at a sink has a piece of the sink in its outline.
    opening[count - made :] = False
    alive = np.ones(count, dtype=bool)
    crossed = _note_crossings(report, opening, alive)
    inner, outer = contained(loops)
    if crossed:
        clear = np.array(
            [
                (min(p), max(p)) not in crossed
                for p in zip(inner.tolist(), outer.tolist(), strict=True)
            ],
            dtype=bool,
        )
        inner, outer = inner[clear], outer[clear]
    while True:
        both = alive[inner] & alive[outer]
        depth = np.bincount(inner[both], minlength=count)
        lost = alive & opening & (depth % 2 == 0)
        if not lost.any():
            break
        # The outermost first: what lies in a lost one is judged anew without it.
        lost &= depth == depth[lost].min()
        for k in np.nonzero(lost)[0].tolist():
            what = "hole" if hole[k] else "cutout"
            where = "lies outside all parts" if depth[k] == 0 else "lies inside another opening"
            text = f"A {what}, {loops.lengths[k]:.1f} mm around, {where}."
            drawn = claims.with_covered(loops.loop(k).entity.tolist())
            if any(sheet.meaning(e) is Meaning.OUTLINE for e in drawn):
                opening[k] = lost[k] = False
                text += " It is drawn as an outline, too, and counts as a part."
            else:
                text += report.lost(k)
            report.say(codes.CUTOUT_OUTSIDE, k, text)
        alive &= ~lost
    # Even depth is stone, odd depth an opening in it, and so on inward.
    parts = np.nonzero(alive & (depth % 2 == 0))[0].tolist()
    openings: dict[int, list[int]] = {p: [] for p in parts}
    both = alive[inner] & alive[outer]
    i, j = inner[both], outer[both]
    parent = (depth[i] % 2 == 1) & (depth[j] == depth[i] - 1)
    for k, p in sorted(zip(i[parent].tolist(), j[parent].tolist(), strict=True)):
        openings[p].append(k)
        if not opening[k]:
            report.say(
                codes.OPENING_BY_DEPTH,
                k,
                f"A closed line, {loops.lengths[k]:.1f} mm around, lies inside a part "
                f"({report.name(p)}); it counts as an opening.",
            )
    within = (depth[i] % 2 == 0) & (depth[j] == depth[i] - 1)
    islands = dict(zip(i[within].tolist(), j[within].tolist(), strict=True))
    _note_ribs(report, openings)
    return Nest(loops, parts, openings, islands)


def _note_ribs(report: Reporter, openings: dict[int, list[int]]) -> None:
    """Note openings with hardly any stone between them and the outline."""
    loops = report.loops
    around = np.full(len(loops), -1)
    for part, own in openings.items():
        around[own] = part
    owner = loops.owner
    inner = np.flatnonzero(around[owner] >= 0)
    outer = np.flatnonzero(np.isin(owner, list(openings)))
    # Exact at the ends of segments; along them a few places are enough to see that next to nothing
    # is left.
    box = loops.segment_boxes
    i, j = box_pairs(box[inner], box[outer], margin_mm=RIB_MM)
    i, j = inner[i], outer[j]
    own_part = around[owner[i]] == owner[j]
    i, j = i[own_part], j[own_part]
    if not len(i):
        return
    a, b = loops.segments.take(i), loops.segments.take(j)
    width, place = np.full(len(i), np.inf), a.start.copy()
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        for one, other in ((a, b), (b, a)):
            points = one.shape.point(np.full(len(i), share))
            apart = other.shape.nearest(*points.T)[1]
            nearer = apart < width
            width[nearer], place[nearer] = apart[nearer], points[nearer]
    for k in np.unique(owner[i[width < RIB_MM]]).tolist():
        mine = owner[i] == k
        at = int(np.flatnonzero(mine)[width[mine].argmin()])
        report.say(
            codes.RIB_THIN,
            k,
            f"Between an opening of {report.size(k)} and the edge of its part "
            f"({report.name(int(around[k]))}) {width[at]:.2f} mm of stone are left; less than "
            f"{RIB_MM:g} mm breaks.",
            place[at],
        )


def _note_crossings(report: Reporter, opening: BoolArray, alive: BoolArray) -> set[tuple[int, int]]:
    """Note loops that cross each other; openings that do are left out."""
    a, b, points = loop_crossings(report.loops)
    place: dict[tuple[int, int], FloatArray] = {}
    for one, two, at in zip(a.tolist(), b.tolist(), points, strict=True):
        place.setdefault((min(one, two), max(one, two)), at)
    for (one, two), at in sorted(place.items()):
        k, other = (two, one) if opening[two] else (one, two)
        text = f"This line crosses another ({report.name(other)})"
        if opening[k]:
            alive[k] = False
            text += f"; the opening is left out.{report.lost(k)}"
        else:
            text += "."
        report.say(codes.LOOPS_CROSS, k, text, at)
    return set(place)


def is_edge_chain(sheet: Sheet, pieces: Pieces) -> bool:
    """Return whether a chain is made of curves on profile layers only."""
    return all(sheet.meaning(e) in EDGE_LIKE for e in set(pieces.entity.tolist()))
