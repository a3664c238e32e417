"""Clamps, stops and cups: what stands on the table where no tool may come."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from edgetime.geometry.measure import bounds
from edgetime.geometry.path import Path
from edgetime.records import HIDDEN, figure, written
from edgetime.takeoff.rules import Meaning
from edgetime.tolerances import COINCIDENT_MM

if TYPE_CHECKING:
    from edgetime.takeoff.sheet import Sheet


class KeepOutKind(StrEnum):
    """Which tools a keep-out area is in the way of."""

    SOLID = "solid"
    """All of them: clamps and stops stand beside the slab or on it."""

    CUP = "cup"
    """Those that reach the underside of the slab: cups lie under it."""


def _or_none(text: str) -> str | None:
    return text or None


@dataclass(frozen=True, eq=False)
class KeepOut:
    """An area that no tool may sweep.

    Attributes
    ----------
    name : str
        For messages: the block's name or the layer, with the handle; or as the machine's file
        names it.
    kind : KeepOutKind
        Which tools it is in the way of.
    paths : tuple of Path
        Its lines; closed ones bound it [mm].
    source : str
        Drawing or machine file it comes from.
    layer, handle : str
        Of its first line, ``""`` in a machine's file.
    """

    name: str
    kind: KeepOutKind
    paths: tuple[Path, ...] = field(metadata=HIDDEN)
    source: str = field(metadata=HIDDEN)
    layer: str = field(default="", metadata=written(write=_or_none))
    handle: str = field(default="", metadata=written(write=_or_none))

    @property
    @figure
    def bounds_mm(self) -> tuple[float, ...]:
        """Left, bottom, right and top of its lines [mm]."""
        boxes = np.array([bounds(p) for p in self.paths])
        low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        return (*low.tolist(), *high.tolist())


def keep_outs_of(sheet: Sheet, source: str) -> tuple[KeepOut, ...]:
    """Return the keep-out areas of a drawing; the lines of one block are one area.

    Parameters
    ----------
    sheet : Sheet
        Curves sorted by the meaning of their layers.
    source : str
        Path of the drawing.
    """
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
