"""One drawing sorted by what its layers mean, in an order that does not depend on the file's."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from edgetime.drawing.drawing import Drawing, Entity
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.takeoff import codes
from edgetime.takeoff.loops import Loops
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pieces import Pieces
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM
from edgetime.tooling.layers import LayerRule, LayerRules, Meaning

UNFINISHED: Final = "unfinished"
_MEANINGS: Final = tuple(Meaning)

SHAPES = frozenset({Meaning.OUTLINE, Meaning.CUTOUT, Meaning.HOLE})
EDGE_LIKE = frozenset({Meaning.EDGE, Meaning.SEAM, Meaning.UNFINISHED})
KEEP_OUTS = frozenset({Meaning.KEEP_OUT, Meaning.CUP})
IF_ON_TABLE: Final = "Switch the layer on and save the drawing if it is on the table."


@dataclass(frozen=True, eq=False)
class Sheet:
    """The curves of a drawing that can make parts.

    Attributes
    ----------
    entities : list of Entity
        In order of claim (see :func:`sort_out`); segments refer to this order.
    rules : list of LayerRule or None
        Rule of each entity, None for those in no part.
    numbers : dict
        Place of each rule, by its identity.
    inserts : (n,) integer array
        INSERT instance of each entity.
    shapes_closed, shapes_open, edges_closed, edges_open : Pieces
        Outline, cutout and hole layers; edge, seam and unfinished layers.
    recesses : Pieces
        Listed work.
    keep_outs : Pieces
        Clamps, stops and cups.
    """

    entities: list[Entity]
    rules: list[LayerRule | None]
    numbers: dict[int, int]
    inserts: IntArray
    shapes_closed: Pieces
    shapes_open: Pieces
    edges_closed: Pieces
    edges_open: Pieces
    recesses: Pieces
    keep_outs: Pieces

    def meaning(self, entity: int) -> Meaning:
        """Return what an entity's layer means; the entity must have a rule."""
        rule = self.rules[entity]
        return Meaning.IGNORE if rule is None else rule.means

    def profile(self, entity: int) -> str | None:
        """Return the profile that an entity's layer gives, None for none."""
        rule = self.rules[entity]
        return None if rule is None else _profile_of(rule)

    def worked(self, entity: int) -> bool:
        """Return whether an entity's layer gives a profile that is made."""
        return self.profile(entity) not in {None, UNFINISHED}

    def rule_number(self, entity: int) -> int:
        """Return the place of an entity's rule among the layer rules; it must have one."""
        return self.numbers[id(self.rules[entity])]

    def of_meaning(self, table: Pieces, *wanted: Meaning) -> BoolArray:
        """Return which rows of a table are of entities whose layers have these meanings."""
        return np.asarray(np.isin(self._means[table.entity], [_MEANINGS.index(m) for m in wanted]))

    @cached_property
    def _means(self) -> IntArray:
        means = (self.meaning(e) for e in range(len(self.entities)))
        return np.array([_MEANINGS.index(m) for m in means], dtype=np.int64)

    def name(self, entity: int) -> str:
        """Return where an entity is, for messages."""
        info = self.entities[entity]
        return f"layer {info.layer}" + (f", handle {info.handle}" if info.handle else "")


def _claim_order(drawing: Drawing, rules: LayerRules, number: dict[int, int]) -> IntArray:
    """Return the entities in order of claim: of curves on one another the first one counts.

    Seams come before worked edges, those before what is left unfinished, that before the bare
    lines of holes, cutouts and outlines; within each the earlier layer rule. Place and size
    decide between curves of one rule, so neither the order of the file nor its handles do.
    """
    entities = drawing.entities
    count = len(entities)
    by_layer = {e.layer: rules.rule_for(e.layer) for e in entities}
    layers = {name: k for k, name in enumerate(sorted(by_layer, key=lambda n: (n.casefold(), n)))}
    rank = {
        name: (7, 0) if rule is None else (_strength(rule), number[id(rule)])
        for name, rule in by_layer.items()
    }
    keys = np.array([(*rank[e.layer], layers[e.layer]) for e in entities], dtype=np.int64)
    place = np.full((count, 5), np.inf)
    if len(drawing.entity):
        at = np.flatnonzero(np.diff(drawing.entity, prepend=-1))
        own = drawing.entity[at]
        box = Segments(drawing.start, drawing.end, drawing.bulge).boxes()
        place[own, :2] = np.minimum.reduceat(box[:, :2], at, axis=0)
        place[own, 2:4] = np.maximum.reduceat(box[:, 2:], at, axis=0)
        place[own, 4] = np.add.reduceat(drawing.length, at)
    handles = np.array([_handle_number(e.handle) for e in entities], dtype=np.int64)
    # The rounding of an arc's box depends on its direction; that may not decide.
    columns = [handles, *np.round(place, 6).T[::-1], *keys.reshape(-1, 3).T[::-1]]
    return np.lexsort(columns)


def _strength(rule: LayerRule) -> int:
    if rule.means is Meaning.SEAM:
        return 0
    profile = _profile_of(rule)
    if profile is not None:
        return 2 if profile == UNFINISHED else 1
    return {Meaning.HOLE: 3, Meaning.CUTOUT: 4, Meaning.OUTLINE: 5}.get(rule.means, 6)


def _profile_of(rule: LayerRule) -> str | None:
    """Return the profile that a layer gives its curves, None for none."""
    if rule.means in {Meaning.SEAM, Meaning.UNFINISHED}:
        return str(rule.means)
    # Outlines and holes have none of their own, whatever their rule says.
    return rule.profile if rule.means in {Meaning.EDGE, Meaning.CUTOUT} else None


def _handle_number(handle: str) -> int:
    try:
        return min(int(handle, 16), 2**62)
    except ValueError:
        return 2**62


def sort_out(drawing: Drawing, rules: LayerRules, notes: Notes, *, command: str = "") -> Sheet:
    """Sort a drawing's curves by the meaning of their layers; note what is left out.

    The entities are put in order of claim: where several lie on one another, the first of
    them gives the stretch its profile. So the more specific layer counts, then the earlier
    layer rule, whatever order the file has them in.
    """
    numbers = {id(r): k for k, r in enumerate(rules.rules)}
    order = _claim_order(drawing, rules, numbers)
    entities = [drawing.entities[k] for k in order.tolist()]
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    entity = rank[drawing.entity] if len(rank) else drawing.entity
    rows = np.argsort(entity, kind="stable")
    rows = rows[drawing.length[rows] > ZERO_LENGTH_MM]
    entity = entity[rows]
    lengths = np.bincount(entity, weights=drawing.length[rows], minlength=len(entities)).astype(
        float
    )
    rule_of = [rules.rule_for(e.layer) if e.visible else None for e in entities]
    _note_left_out(entities, rules, lengths, drawing, notes, command)

    means = [None if r is None else r.means for r in rule_of]
    edge = np.array([m in EDGE_LIKE for m in means], dtype=bool)
    shape = np.array([m in SHAPES for m in means], dtype=bool)
    recess = np.array([m is Meaning.RECESS for m in means], dtype=bool)
    keep_out = np.array([m in KEEP_OUTS for m in means], dtype=bool)
    label = np.where(edge[entity], entity, -1) if entities else entity
    table = Pieces(
        drawing.start[rows],
        drawing.end[rows],
        drawing.bulge[rows],
        drawing.length[rows],
        entity,
        np.asarray(label, dtype=np.int64),
    )
    closed = _closed(entities, table)
    table = _in_one_sense(table, closed)

    def pick(flag: BoolArray) -> Pieces:
        return table.take(flag[entity]) if len(entities) else table

    return Sheet(
        entities=entities,
        rules=rule_of,
        numbers=numbers,
        inserts=np.array([e.insert for e in entities], dtype=np.int64),
        shapes_closed=pick(shape & closed),
        shapes_open=pick(shape & ~closed),
        edges_closed=pick(edge & closed),
        edges_open=pick(edge & ~closed),
        recesses=pick(recess),
        keep_outs=pick(keep_out),
    )


def _in_one_sense(table: Pieces, closed: BoolArray) -> Pieces:
    """Return each entity run the same way however it is drawn.

    Open ones from their lower left end, closed ones counter-clockwise from their lower left
    vertex: ties further on are then broken alike.
    """
    if not len(table):
        return table
    loops = Loops(table, np.append(np.flatnonzero(np.diff(table.entity, prepend=-1)), len(table)))
    whole = closed[table.entity[loops.first[:-1]]]
    start, end = table.start[loops.first[:-1]], table.end[loops.first[1:] - 1]
    # Open curves are made to run to the right, or up: which way a line was drawn may not decide.
    x, y = np.round(end - start, 6).T
    loops = loops.turned(np.where(whole, loops.areas < 0.0, (x < 0.0) | ((x == 0.0) & (y < 0.0))))
    x, y = np.round(loops.segments.start, 6).T
    begin = np.lexsort((y, x, loops.owner))[loops.first[:-1]]
    begin = np.where(whole, begin, loops.first[:-1])[loops.owner]
    first, count = loops.first[:-1][loops.owner], np.diff(loops.first)[loops.owner]
    rows = np.arange(len(table))
    return loops.segments.take(first + (rows - first + begin - first) % count)


def _closed(entities: list[Entity], table: Pieces) -> BoolArray:
    """Return which entities are closed chains of segments, whatever they say."""
    closed = np.array([e.closed for e in entities], dtype=bool)
    n = len(table)
    if not n:
        return closed
    first = np.nonzero(np.diff(table.entity, prepend=-1))[0]
    following = np.arange(1, n + 1)
    following[np.append(first[1:], n) - 1] = first
    gap = np.hypot(*(table.start[following] - table.end).T)
    closed[table.entity[gap > COINCIDENT_MM]] = False
    single = np.bincount(table.entity, minlength=len(entities)) < 2
    return closed & ~single


def _note_left_out(
    entities: list[Entity],
    rules: LayerRules,
    lengths: FloatArray,
    drawing: Drawing,
    notes: Notes,
    command: str,
) -> None:
    tally: dict[tuple[str, str], list[float]] = defaultdict(lambda: [0, 0.0])
    for info, length in zip(entities, lengths.tolist(), strict=True):
        rule = rules.rule_for(info.layer)
        if not info.visible:
            kind = "hidden"
        elif rule is None:
            kind = "unmatched"
        elif rule.means is Meaning.RECESS:
            kind = "recess"
        else:
            continue
        tally[kind, info.layer][0] += 1
        tally[kind, info.layer][1] += length
    source = rules.file or "the layer rules"
    for (kind, layer), (count, length) in sorted(tally.items()):
        many = f"{count:.0f} curve{'s' if count != 1 else ''}, {length:.1f} mm"
        if kind == "hidden":
            state = drawing.layers.get(layer)
            why = "marked invisible" if state is None or state == "shown" else f"{state}"
            rule = rules.rule_for(layer)
            barred = rule is not None and rule.means in KEEP_OUTS
            text = f"Layer {layer} ({many}) is left out of the parts: {why}."
            if barred:
                text = f"Layer {layer} ({many}) is {why}, so tools are not kept clear of it."
            cure = IF_ON_TABLE if barred else None
            notes.add(codes.LAYER_HIDDEN, text, layer=layer, cure=cure)
        elif kind == "unmatched":
            own = layer.casefold() == "defpoints"
            why = "; programs keep dimension points there" if own else ""
            notes.add(
                codes.LAYER_UNMATCHED,
                f"No rule in {source} matches layer {layer} ({many}); it is not part of any "
                f"part{why}.",
                layer=layer,
                level=codes.LAYER_HIDDEN.severity if own else None,
                cure=f"To let edgetime propose rules and write them: {command}",
            )
        else:
            text = f"Recess work on layer {layer} ({many}) is listed, its time is not counted."
            notes.add(codes.RECESS_LISTED, text, layer=layer)
