"""Clamps, stops and cups as they are drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from edgetime.geometry.path import Path
from edgetime.tolerances import COINCIDENT_MM
from edgetime.tooling.keep_out import KeepOut, KeepOutKind
from edgetime.tooling.layers import Meaning

if TYPE_CHECKING:
    from edgetime.takeoff.by_layer import Sheet


def keep_outs_of(sheet: Sheet, source: str) -> tuple[KeepOut, ...]:
    """Return the keep-out areas of a drawing; the lines of one block are one area."""
    table = sheet.keep_outs
    groups: dict[tuple[Meaning, int, int], list[int]] = {}
    for entity in dict.fromkeys(table.entity.tolist()):
        insert = int(sheet.inserts[entity])
        # What is in no block is an area by itself.
        key = (sheet.meaning(entity), insert, entity if insert < 0 else -1)
        groups.setdefault(key, []).append(entity)
    out = []
    for (meaning, _, _), members in groups.items():
        first = sheet.entities[members[0]]
        name = first.blocks[-1] if first.blocks else first.layer
        out.append(
            KeepOut(
                name=f"{name} ({first.handle})" if first.handle else name,
                kind=KeepOutKind.CUP if meaning is Meaning.CUP else KeepOutKind.SOLID,
                paths=tuple(_path(sheet, entity) for entity in members),
                source=source,
                layer=first.layer,
                handle=first.handle,
            )
        )
    return tuple(out)


def _path(sheet: Sheet, entity: int) -> Path:
    """Return one entity's segments as a path."""
    own = sheet.keep_outs.take(sheet.keep_outs.entity == entity)
    points = np.vstack([own.start, own.end[-1:]])
    closed = len(own) > 1 and bool(np.hypot(*(points[-1] - points[0])) <= COINCIDENT_MM)
    return Path.from_bulges(points[:-1] if closed else points, own.bulge, closed=closed)
