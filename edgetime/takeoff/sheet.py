"""One drawing sorted by what its layers mean, in an order that does not depend on the file's."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from edgetime.drawing.model import Drawing, Entity
from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray
from edgetime.takeoff import codes
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.pieces import Pieces
from edgetime.takeoff.rules import LayerRule, LayerRules, Meaning
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM

__all__ = ["EDGE_LIKE", "SHAPES", "Sheet", "sort_out"]

SHAPES = frozenset({Meaning.OUTLINE, Meaning.CUTOUT, Meaning.HOLE})
EDGE_LIKE = frozenset({Meaning.EDGE, Meaning.SEAM, Meaning.UNFINISHED})


@dataclass(frozen=True, eq=False)
class Sheet:
    """The curves of a drawing that can make parts.

    Attributes
    ----------
    entities : list of Entity
        In order of handle, then as drawn; segments refer to this order.
    rules : list of LayerRule or None
        Rule of each entity, None for those in no part.
    inserts : (n,) integer array
        INSERT instance of each entity.
    shapes_closed, shapes_open, edges_closed, edges_open : Pieces
        Outline, cutout and hole layers; edge, seam and unfinished layers.
    recesses : Pieces
        Listed work.
    """

    entities: list[Entity]
    rules: list[LayerRule | None]
    inserts: IntArray
    shapes_closed: Pieces
    shapes_open: Pieces
    edges_closed: Pieces
    edges_open: Pieces
    recesses: Pieces

    def meaning(self, entity: int) -> Meaning:
        """Return what an entity's layer means; the entity must have a rule."""
        rule = self.rules[entity]
        return Meaning.IGNORE if rule is None else rule.means

    def profile(self, entity: int) -> str | None:
        """Return the profile that an entity's layer gives, None for none."""
        rule = self.rules[entity]
        if rule is None:
            return None
        if rule.means in {Meaning.SEAM, Meaning.UNFINISHED}:
            return str(rule.means)
        return rule.profile


def _draw_order(entities: tuple[Entity, ...]) -> IntArray:
    def number(handle: str) -> int:
        try:
            return min(int(handle, 16), 2**62)
        except ValueError:
            return 2**62

    handles = np.array([number(e.handle) for e in entities], dtype=np.int64)
    return np.argsort(handles, kind="stable")


def sort_out(drawing: Drawing, rules: LayerRules, notes: Notes) -> Sheet:
    """Sort a drawing's curves by the meaning of their layers; note what is left out.

    Parameters
    ----------
    drawing : Drawing
        The drawing.
    rules : LayerRules
        What its layers mean.
    notes : Notes
        Takes findings on unmatched and hidden layers and on recess work.
    """
    order = _draw_order(drawing.entities)
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
    _note_left_out(entities, rules, lengths, drawing, notes)

    means = [None if r is None else r.means for r in rule_of]
    edge = np.array([m in EDGE_LIKE for m in means], dtype=bool)
    shape = np.array([m in SHAPES for m in means], dtype=bool)
    recess = np.array([m is Meaning.RECESS for m in means], dtype=bool)
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

    def pick(flag: BoolArray) -> Pieces:
        return table.take(flag[entity]) if len(entities) else table

    return Sheet(
        entities=entities,
        rules=rule_of,
        inserts=np.array([e.insert for e in entities], dtype=np.int64),
        shapes_closed=pick(shape & closed),
        shapes_open=pick(shape & ~closed),
        edges_closed=pick(edge & closed),
        edges_open=pick(edge & ~closed),
        recesses=pick(recess),
    )


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
    source = rules.source or "the layer rules"
    for (kind, layer), (count, length) in sorted(tally.items()):
        many = f"{count:.0f} curve{'s' if count != 1 else ''}, {length:.1f} mm"
        if kind == "hidden":
            state = drawing.layers.get(layer)
            why = "marked invisible" if state is None or state == "shown" else f"{state}"
            notes.add(
                codes.LAYER_HIDDEN,
                f"Layer {layer} ({many}) is left out of the parts: {why}.",
                layer=layer,
            )
        elif kind == "unmatched":
            own = layer.casefold() == "defpoints"
            why = "; programs keep dimension points there" if own else ""
            notes.add(
                codes.LAYER_UNMATCHED,
                f"No rule in {source} matches layer {layer} ({many}); it is in no part{why}.",
                layer=layer,
                level=codes.LAYER_HIDDEN.severity if own else None,
            )
        else:
            notes.add(
                codes.RECESS_LISTED,
                f"Recess work on layer {layer} ({many}) is listed, its time is not counted.",
                layer=layer,
            )
