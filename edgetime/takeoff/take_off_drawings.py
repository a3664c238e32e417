"""Take off parts, edges, cutouts and holes from drawings."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from edgetime.drawing.codes import HIDDEN_GEOMETRY
from edgetime.drawing.drawing import Drawing, Entity
from edgetime.takeoff import codes
from edgetime.takeoff.by_layer import UNFINISHED, Sheet, sort_out
from edgetime.takeoff.chords import follow_contour
from edgetime.takeoff.claims import Claims
from edgetime.takeoff.contours import contours_of
from edgetime.takeoff.keepouts import keep_outs_of
from edgetime.takeoff.layer_use import layer_uses
from edgetime.takeoff.layer_use import layers_command as layer_command
from edgetime.takeoff.loops import Loops, holders, inside, strays
from edgetime.takeoff.naming import block_names, in_rows, ordinal, unique_names
from edgetime.takeoff.nesting import Nest, is_edge_chain, nest_loops
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.oddities import note_islands, note_small, note_touching
from edgetime.takeoff.openings import CoreBits, Openings
from edgetime.takeoff.outlines import find_loops
from edgetime.takeoff.parts import Cutout, DrawingTakeOff, Hole, Part, Recess, TakeOff
from edgetime.takeoff.pieces import Pieces
from edgetime.takeoff.sound import lost_profiles, sound_loops
from edgetime.takeoff.texts import Labels, known_profile, read_labels
from edgetime.takeoff.unused import unused_rules
from edgetime.tolerances import CONTOUR_MM, OVERLAY_MM
from edgetime.tooling.layers import LayerRules, Meaning


@dataclass(frozen=True, slots=True)
class _Options:
    rules: LayerRules
    profiles: Collection[str] | None
    core_diameters_mm: tuple[float, ...]
    contour_mm: float
    command: str | None = None

    def command_for(self, drawing: Drawing) -> str:
        """Return the command that proposes rules for unmatched layers."""
        return self.command or layer_command([drawing.path])


@dataclass(frozen=True, eq=False)
class _Draft:
    """A part without its id and final name."""

    part: Part
    box: tuple[float, float, float, float]
    lead: Entity
    label: Labels


def take_off(
    drawings: Sequence[Drawing],
    rules: LayerRules,
    *,
    profiles: Collection[str] | None = None,
    core_diameters_mm: Sequence[float] = (),
    contour_mm: float = CONTOUR_MM,
    layers_command: str | None = None,
) -> TakeOff:
    """Take off the parts of all drawings of a load.

    The result does not depend on the order of a drawing's entities (as long as they have
    handles) nor on the direction they are drawn in. Bad geometry never raises; it is left
    out with a finding.

    Parameters
    ----------
    drawings : sequence of Drawing
        The drawings, in order.
    rules : LayerRules
        What their layers mean. Ends of curves within their ``gap_mm`` are joined; the gap is
        bridged by a straight piece whose length counts.
    profiles : collection of str, optional
        Profile names the catalogue knows; with it, other names are findings.
    core_diameters_mm : sequence of float
        Core bits on hand [mm]. With none, every circle on a hole layer is a hole.
    contour_mm : float
        Runs of chords are taken for the curve they follow within this; 0 for none [mm].
    layers_command : str, optional
        The command that findings on unmatched layers name; one for the drawing itself when
        omitted.

    Returns
    -------
    TakeOff
        Parts are numbered over all drawings: rows from the top, each from left to right.
    """
    options = _Options(rules, profiles, tuple(core_diameters_mm), contour_mm, layers_command)
    done = [_one_drawing(d, options) for d in drawings]
    names = unique_names([part.name for found in done for part in found.parts])
    width = max(2, len(str(len(names))))
    called = iter([(f"p{k:0{width}d}", name) for k, name in enumerate(names, 1)])
    out = []
    for found in done:
        parts = [
            replace(p, part_id=i, name=n) for p, (i, n) in zip(found.parts, called, strict=False)
        ]
        out.append(replace(found, parts=tuple(parts)))
    if unused := tuple(unused_rules(drawings, rules.rules)):
        # Only all drawings together show that a rule matches nothing; one of them tells it.
        out[0] = replace(out[0], findings=(*out[0].findings, *unused))
    return TakeOff(tuple(out))


def _one_drawing(drawing: Drawing, options: _Options) -> DrawingTakeOff:
    found = _read_once(drawing, options)
    if all(use.rule is not None for use in found.layers):
        return found
    from edgetime.takeoff.unknown import outline_first  # noqa: PLC0415  only when needed

    return outline_first(
        found,
        drawing,
        options.rules,
        lambda rules: _read_once(drawing, replace(options, rules=rules)),
        core_diameters_mm=options.core_diameters_mm,
        command=options.command_for(drawing),
    )


def _read_once(drawing: Drawing, options: _Options) -> DrawingTakeOff:
    """Return the take-off of one drawing; its parts have no ids, and names that may repeat."""
    notes = Notes(drawing.path)
    sheet = sort_out(drawing, options.rules, notes, command=options.command_for(drawing))
    _note_unknown_profiles(sheet, options, notes)
    claims = Claims(sheet)
    gap_mm = options.rules.gap_mm
    found = find_loops(sheet, claims, notes, gap_mm=gap_mm)
    loops = sound_loops(sheet, claims, found.loops, notes)
    claims.note(notes)
    nest, chains = nest_loops(sheet, claims, loops, found.chains, notes, gap_mm=gap_mm)
    _note_chains(sheet, chains, nest, notes, gap_mm)
    drafts = _drafts(drawing, sheet, claims, nest, options, notes)
    if not drafts:
        notes.add(codes.NO_PARTS, "No closed outline was found; the drawing has no parts.")
    note_small(sheet, nest, notes, units=drawing.units, mm_per_unit=drawing.mm_per_unit)
    note_touching(sheet, nest, notes)
    parts = _named(drafts, notes)
    lengths: dict[str, float] = defaultdict(float)
    for part in parts:
        for contour in part.contours():
            for edge in contour.edges:
                lengths[edge.profile] += edge.length_mm
    box = drawing.bounds_mm()
    size = (0.0, 0.0) if box is None else (box[2] - box[0], box[3] - box[1])
    return DrawingTakeOff(
        path=drawing.path,
        units=drawing.units,
        mm_per_unit=drawing.mm_per_unit,
        digest=drawing.digest,
        size_mm=size,
        lengths_by_layer_mm=drawing.lengths_by_layer_mm(),
        lengths_by_profile_mm=dict(sorted(lengths.items())),
        parts=tuple(parts),
        # What is hidden is told once, with its length and layer rule: as LAYER_HIDDEN.
        findings=(
            *(f for f in drawing.findings if f.kind is not HIDDEN_GEOMETRY),
            *notes.listed(),
        ),
        keep_outs=keep_outs_of(sheet, drawing.path),
        layers=layer_uses(drawing, options.rules),
    )


def _note_unknown_profiles(sheet: Sheet, options: _Options, notes: Notes) -> None:
    seen: set[str] = set()
    for info, rule in zip(sheet.entities, sheet.rules, strict=True):
        if rule is None or rule.profile is None or info.layer in seen:
            continue
        seen.add(info.layer)
        if options.profiles is not None and known_profile(rule.profile, options.profiles) is None:
            text = f"The rule for layer {info.layer} names profile {rule.profile!r}; the catalogue "
            notes.add(codes.PROFILE_UNKNOWN, text + "has none of that name.", of=info)


def _note_chains(
    sheet: Sheet, chains: list[Pieces], nest: Nest, notes: Notes, gap_mm: float
) -> None:
    """Note every open chain with its ends and the nearest other end."""
    ends = np.array([p for c in chains for p in (c.start[0], c.end[-1])], dtype=np.float64).reshape(
        -1, 2
    )
    laid = set(nest.loops.segments.claim.tolist())
    for k, pieces in enumerate(chains):
        info = sheet.entities[int(pieces.entity[0])]
        start, end = ends[2 * k], ends[2 * k + 1]
        length = float(pieces.length.sum())
        span = (
            f"from ({start[0]:.1f}, {start[1]:.1f}) to ({end[0]:.1f}, {end[1]:.1f}) mm, "
            f"{length:.1f} mm long"
        )
        middle = pieces.take(np.s_[:1]).shape.point(np.array([0.5]))
        which = np.array(nest.parts, dtype=np.int64)
        winding, distance = inside(nest.loops, which, np.broadcast_to(middle, (len(which), 2)))
        within = bool(((winding != 0) | (distance <= gap_mm)).any())
        # What is left of an overlay that runs past the end of its edge.
        within |= len(which) > 0 and set(pieces.entity.tolist()) <= laid
        if is_edge_chain(sheet, pieces) and within:
            seam = sheet.meaning(int(pieces.entity[0])) is Meaning.SEAM
            notes.add(
                codes.SEAM_LOOSE if seam else codes.EDGE_STRAY,
                f"A {'seam' if seam else 'profile curve'} {span}, "
                + (
                    "does not divide the part."
                    if seam
                    else "is not on an outline; the nearest is up to "
                    f"{strays(nest.loops, which, pieces):.2f} mm "
                    f"away (up to {OVERLAY_MM:g} mm is on it)."
                ),
                of=info,
                at=start.tolist(),
            )
            continue
        gaps = np.hypot(*(ends - end).T)
        gaps[2 * k + 1] = math.inf
        near = int(gaps.argmin())
        own = near == 2 * k
        where = "its own start" if own else f"({ends[near, 0]:.1f}, {ends[near, 1]:.1f}) mm"
        notes.add(
            codes.OPEN_CHAIN,
            f"A chain {span}, does not close; the nearest other end, {where}, is "
            f"{gaps[near]:.3f} mm from its end (up to {gap_mm:g} mm are joined)."
            + lost_profiles(sheet, pieces),
            of=info,
            at=end.tolist(),
        )


def _drafts(
    drawing: Drawing, sheet: Sheet, claims: Claims, nest: Nest, options: _Options, notes: Notes
) -> list[_Draft]:
    loops, count = nest.loops, len(nest.loops)
    outlines = loops.select(np.array(nest.parts, dtype=np.int64))
    lead = [sheet.entities[e] for e in outlines.lead.tolist()]
    labels = read_labels(
        drawing.texts,
        options.rules,
        outlines,
        loops.select(
            np.array(sorted(k for own in nest.openings.values() for k in own), dtype=np.int64)
        ),
        np.array([e.insert for e in lead], dtype=np.int64),
        notes,
        profiles=options.profiles,
    )
    recesses = _recesses(sheet, outlines)
    outer = np.zeros(count, dtype=bool)
    outer[nest.parts] = True
    fallback: list[str | None] = [options.rules.cutout_profile] * count
    for p, label in zip(nest.parts, labels, strict=True):
        fallback[p] = label.profile or options.rules.default_profile
    contours = contours_of(sheet, loops, outer, [f or UNFINISHED for f in fallback])
    openings = Openings(
        sheet,
        claims,
        loops,
        contours,
        notes,
        cores=CoreBits(options.core_diameters_mm),
        contour_mm=options.contour_mm,
        profile=options.rules.cutout_profile,
    )
    areas, boxes = loops.areas.tolist(), loops.boxes.tolist()
    out = []
    methods: dict[int, str | None] = {}
    for k, p in enumerate(nest.parts):
        outline, missing, worst = contours[p]
        if missing > 0.0 and fallback[p] is None:
            text = f"{missing:.1f} mm of the outline have no profile; they count as unfinished."
            notes.add(codes.OUTLINE_PROFILE_MISSING, text, of=outline, at=worst)
        made = [openings.make(o) for o in nest.openings[p]]
        own = zip(nest.openings[p], made, strict=True)
        methods |= {o: m.method for o, m in own if isinstance(m, Cutout)}
        holes = [h for h in made if isinstance(h, Hole)]
        cutouts = [c for c in made if isinstance(c, Cutout)]
        followed = follow_contour(outline, options.contour_mm)
        followed.note("an outline", notes)
        x0, y0, x1, y1 = boxes[p]
        part = Part(
            part_id="",
            name="",
            drawing=drawing.path,
            outline=followed.contour,
            cutouts=tuple(sorted(cutouts, key=lambda c: _reading_order(*c.contour.path.points[0]))),
            holes=tuple(sorted(holes, key=lambda h: _reading_order(h.x_mm, h.y_mm))),
            recesses=recesses.get(k, ()),
            area_gross_mm2=areas[p],
            area_mm2=areas[p] - sum(areas[o] for o in nest.openings[p]),
            size_mm=(x1 - x0, y1 - y0),
        )
        out.append(_Draft(part, (x0, y0, x1, y1), lead[k], labels[k]))
    note_islands(sheet, nest, methods, notes)
    return out


def _reading_order(x: float, y: float) -> tuple[float, float]:
    return (-round(float(y), 3), round(float(x), 3))


def _recesses(sheet: Sheet, outlines: Loops) -> dict[int, tuple[Recess, ...]]:
    """Return the recess curves of each part; a curve belongs to the smallest part around it."""
    s = sheet.recesses
    out: dict[int, list[Recess]] = defaultdict(list)
    if not len(s) or not len(outlines):
        return {}
    entities, first = np.unique(s.entity, return_index=True)
    length = np.bincount(s.entity, weights=s.length)[entities]
    points = s.take(first).shape.point(np.full(len(first), 0.5))
    for k, part in enumerate(holders(outlines, points).tolist()):
        if part >= 0:
            info = sheet.entities[int(entities[k])]
            shape = s.take(np.flatnonzero(s.entity == entities[k])).shape
            out[part].append(Recess(info.layer, info.handle, float(length[k]), shape))
    return {k: tuple(v) for k, v in out.items()}


def _named(drafts: list[_Draft], notes: Notes) -> list[Part]:
    """Return the parts in order of position, with names that are not yet unique."""
    blocks = block_names([d.lead for d in drafts])
    out = []
    for r, row in enumerate(in_rows([d.box for d in drafts]), start=1):
        for c, k in enumerate(row, start=1):
            label = drafts[k].label
            name = blocks[k] or label.name or f"row {r}, {ordinal(c)}"
            if label.others and not blocks[k]:
                others = " or ".join(map(repr, label.others[:3]))
                text = (
                    f"Of the texts in a part {label.name!r} names it; it could have been {others}."
                )
                at, outline = drafts[k].box[:2], drafts[k].part.outline
                notes.add(codes.PART_NAME_CHOSEN, text, of=outline, at=at)
            out.append(replace(drafts[k].part, name=name))
    return out
