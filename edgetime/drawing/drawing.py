"""What a drawing holds, in world coordinates and millimetres: curves and texts.

Columns, not objects: a drawing of a hundred thousand curves is a few arrays.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from edgetime.findings import Finding
from edgetime.geometry.path import FloatArray, IntArray


class LayerState(StrEnum):
    """Whether a layer is on show; parts come from shown layers only."""

    SHOWN = "shown"
    OFF = "off"
    FROZEN = "frozen"


@dataclass(frozen=True, slots=True)
class Entity:
    """Where a curve came from.

    Attributes
    ----------
    kind : str
        DXF name of the entity (``LWPOLYLINE``).
    layer : str
        Layer it counts for: that of the INSERT for a block's entity on layer 0.
    handle : str
        Handle of the entity itself, or of the outermost INSERT that shows it; ``""`` if none.
    blocks : tuple of str
        Names of the blocks it lies in, outermost first; empty in model space.
    insert : int
        Number of the outermost INSERT instance (array copies count one by one) the curve
        belongs to, -1 in model space: curves of one instance make one part.
    visible : bool
        False for an entity on an off or frozen layer or marked invisible.
    closed : bool
        The entity closes on itself (circle, full ellipse, closed polyline or spline).
    circle_diameter_mm : float or None
        Set for a full circle [mm].
    """

    kind: str
    layer: str
    handle: str
    blocks: tuple[str, ...] = ()
    insert: int = -1
    visible: bool = True
    closed: bool = False
    circle_diameter_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Text:
    r"""A TEXT, MTEXT or ATTRIB.

    Attributes
    ----------
    text : str
        Plain text, formatting codes removed; lines separated by ``\n``.
    x_mm, y_mm : float
        Insertion point [mm].
    layer, handle : str
        As for :class:`Entity`.
    insert : int
        As for :class:`Entity`.
    visible : bool
        As for :class:`Entity`.
    height_mm : float
        Height of its letters, 0 if unknown [mm].
    """

    text: str
    x_mm: float
    y_mm: float
    layer: str
    handle: str
    insert: int = -1
    visible: bool = True
    height_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class Drawing:
    """One DXF file, read.

    Attributes
    ----------
    path : str
        The file as the user named it.
    units : str
        What a drawing unit is: ``mm``, ``cm``, ``m``, ``in``, ``ft`` …
    mm_per_unit : float
        Millimetres in one drawing unit.
    entities : tuple of Entity
        One per curve entity drawn (an INSERT's are counted each time it shows them).
    start, end : (n, 2) array
        Ends of every segment [mm].
    bulge : (n,) array
        Tangent of a quarter of each segment's turn [-].
    length : (n,) array
        Exact length of the curve each segment represents [mm].
    entity : (n,) integer array
        Index into ``entities``; the segments of one entity are contiguous and in order.
    texts : tuple of Text
        Model-space texts.
    layers : dict
        State of every layer that is defined or used.
    findings : tuple of Finding
        What reading it found.
    digest : str
        SHA-256 of the file's bytes, hexadecimal.
    """

    path: str
    units: str
    mm_per_unit: float
    entities: tuple[Entity, ...]
    start: FloatArray
    end: FloatArray
    bulge: FloatArray
    length: FloatArray
    entity: IntArray
    texts: tuple[Text, ...]
    layers: dict[str, LayerState]
    findings: tuple[Finding, ...]
    digest: str

    def lengths_by_layer_mm(self) -> dict[str, float]:
        """Return the exact length of all curves on each layer, as drawn [mm].

        Every entity counts once each time it is shown, before joining or removal of
        duplicates, on off and frozen layers too. Layers in order of name.
        """
        import numpy as np  # noqa: PLC0415  numpy is loaded by the arrays already

        per_entity = np.bincount(self.entity, weights=self.length, minlength=len(self.entities))
        totals: dict[str, float] = {}
        for info, length in zip(self.entities, per_entity.tolist(), strict=True):
            totals[info.layer] = totals.get(info.layer, 0.0) + length
        return dict(sorted(totals.items()))

    def bounds_mm(self) -> tuple[float, float, float, float] | None:
        """Return (x_min, y_min, x_max, y_max) of all visible curves [mm], None if empty."""
        import numpy as np  # noqa: PLC0415  numpy is loaded by the arrays already

        from edgetime.geometry.segments import Segments, box_around  # noqa: PLC0415

        visible = np.array([e.visible for e in self.entities], dtype=np.bool_)
        rows = visible[self.entity] if len(visible) else np.zeros(0, dtype=np.bool_)
        if not rows.any():
            return None
        return box_around(Segments(self.start[rows], self.end[rows], self.bulge[rows]).boxes())
