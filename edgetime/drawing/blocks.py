"""INSERT: nested, scaled, turned, mirrored and arrayed, without exploding anything."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, Final

from edgetime.drawing.affine import Affine, insert_map, trace
from edgetime.drawing.codes import BLOCK_FLAT, BLOCK_MISSING, ENTITY_OUT_OF_RANGE
from edgetime.drawing.drawing import LayerState
from edgetime.drawing.entities import CURVES, add_curve
from edgetime.drawing.mending import NO_SCALE
from edgetime.drawing.place import Builder, Place, whole
from edgetime.drawing.texts import TEXTS, add_text
from edgetime.errors import DrawingUnreadable, LimitExceeded, Where

MAX_BLOCK_ENTITIES: Final = 200_000
"""Entities and instances that all INSERTs together may show: some 40 s of reading, and a
thousand times what a router table holds."""

MAX_BLOCK_DEPTH: Final = 64
"""Blocks within blocks: real drawings stay below ten."""

_ORIGIN: Final = (0.0, 0.0, 0.0)
_EXTERNAL: Final = 4 | 8
"""Block flags of an external reference or overlay."""


class Blocks:
    """The blocks of a drawing, counted before they are shown.

    Parameters
    ----------
    path : str
        The file as the user named it.
    table : object
        The DXF library's blocks section.
    """

    def __init__(self, path: str, table: Any) -> None:
        self._path = path
        self._table = table
        self._sizes: dict[str, int] = {}
        self._contents: dict[str, list[Any]] = {}

    def block(self, name: str) -> Any:
        """Return the library's block, None if it is missing or external."""
        block = self._table.get(name)
        if block is None or block.block is None or block.block.dxf.get("flags", 0) & _EXTERNAL:
            return None
        return block

    def contents(self, name: str) -> list[Any]:
        """Return the entities of a block that exists."""
        key = name.lower()
        found = self._contents.get(key)
        if found is None:
            found = self._contents[key] = list(self.block(name))
        return found

    def size(self, name: str, chain: tuple[str, ...] = ()) -> int:
        """Return how many entities and instances one insert of a block shows.

        Parameters
        ----------
        name : str
            The block.
        chain : tuple of str
            Blocks being counted, outermost first.

        Raises
        ------
        DrawingUnreadable
            The block inserts itself.
        LimitExceeded
            Blocks are nested deeper than :data:`MAX_BLOCK_DEPTH`.
        """
        key = name.lower()
        if key in self._sizes:
            return self._sizes[key]
        lowered = [link.lower() for link in chain]
        if key in lowered:
            ring = [*chain[lowered.index(key) :], name]
            raise DrawingUnreadable(
                f"Block {name!r} inserts itself: {' > '.join(ring)}.",
                where=Where(path=self._path),
                remedy="Remove the insert from the block.",
            )
        if len(chain) >= MAX_BLOCK_DEPTH:
            raise LimitExceeded(
                f"Blocks are nested more than {MAX_BLOCK_DEPTH} deep, at {name!r}.",
                where=Where(path=self._path),
                remedy="Explode the inner blocks.",
            )
        total = 1
        if self.block(name) is not None:
            inner = (*chain, name)
            for entity in self.contents(name):
                if entity.dxftype() == "INSERT":
                    total += copies(entity) * self.size(entity.dxf.get("name", ""), inner)
                else:
                    total += 1
        self._sizes[key] = total
        return total

    def check(self, layout: Iterable[Any]) -> None:
        """Refuse what would show more than :data:`MAX_BLOCK_ENTITIES`, before showing any."""
        total = 0
        for insert in layout:
            if insert.dxftype() != "INSERT":
                continue
            name = insert.dxf.get("name", "")
            total += copies(insert) * self.size(name)
            if total > MAX_BLOCK_ENTITIES:
                raise LimitExceeded(
                    f"The inserts up to that of block {name!r} show {total} entities; "
                    f"at most {MAX_BLOCK_ENTITIES} are read.",
                    where=Where(path=self._path, handle=insert.dxf.get("handle")),
                    remedy="Check the rows and columns of arrayed inserts.",
                )


def copies(insert: Any) -> int:
    """Return how many copies an INSERT shows, its rows times its columns."""
    ns = vars(insert.dxf)
    return int(max(1, ns.get("column_count", 1)) * max(1, ns.get("row_count", 1)))


def read_layout(builder: Builder, blocks: Blocks, layout: Iterable[Any], place: Place) -> None:
    """Read all entities of model space or of a block."""
    for entity in layout:
        kind = entity.dxftype()
        if kind in CURVES:
            add_curve(builder, kind, entity, place)
        elif kind == "INSERT":
            _insert(builder, blocks, entity, place)
        elif kind in TEXTS:
            add_text(builder, kind, entity, place)
        else:
            builder.ignored[kind] += 1


def _insert(builder: Builder, blocks: Blocks, entity: Any, place: Place) -> None:
    ns = vars(entity.dxf)
    name = ns.get("name", "")
    layer = builder.layer(ns.get("layer", "0"), place)
    handle = place.handle or ns.get("handle") or ""
    if blocks.block(name) is None:
        said = f"INSERT of block {name!r}, which is not in the file."
        builder.find(BLOCK_MISSING, said, layer, handle)
        return
    # A frozen layer hides all an INSERT on it shows; one that is only off hides what is on
    # it, that is the block's entities on layer 0.
    visible = (
        place.visible
        and not ns.get("invisible", 0)
        and builder.layers[layer] is not LayerState.FROZEN
    )
    content = blocks.contents(name)
    base = blocks.block(name).block.dxf.get("base_point", _ORIGIN)
    names = (*place.blocks, whole(name))
    outermost = place.insert < 0
    scale = (ns.get("xscale", 1.0), ns.get("yscale", 1.0), ns.get("zscale", 1.0))
    numbers = (*ns.get("insert", _ORIGIN), *scale, *base, ns.get("rotation", 0.0))
    if not all(map(math.isfinite, numbers)):
        said = f"INSERT of block {name!r} has numbers that are not finite."
        builder.find(ENTITY_OUT_OF_RANGE, said, layer, handle)
        return
    # Old exports write 0 for the scale in Z of what is flat; in X and Y there is no such habit.
    flat = [axis for axis, s in zip("XY", scale, strict=False) if abs(s) <= NO_SCALE]
    if flat:
        axes = " and ".join(flat)
        said = f"INSERT of block {name!r} has the scale 0 in {axes}; it is left out."
        builder.find(BLOCK_FLAT, said, layer, handle)
        return
    spacing = (ns.get("column_spacing", 0.0), ns.get("row_spacing", 0.0))
    for row in range(max(1, ns.get("row_count", 1))):
        for column in range(max(1, ns.get("column_count", 1))):
            m: Affine = insert_map(
                place.map,
                extrusion=ns.get("extrusion"),
                insert=ns.get("insert", _ORIGIN),
                rotation_deg=ns.get("rotation", 0.0),
                scale=scale,
                base=base,
                offset=(column * spacing[0], row * spacing[1]),
            )
            number = place.insert
            if outermost:
                number = builder.inserts
                builder.inserts += 1
            own = (layer, handle, names, number, visible)
            read_layout(builder, blocks, content, Place(m, trace(m, None, 0.0), *own))
            # Attributes stand beside the block, in the coordinates of the INSERT's own place.
            for attribute in entity.attribs:
                add_text(builder, "ATTRIB", attribute, Place(place.map, place.flat, *own))
