"""Write lines, arcs and texts to a DXF file."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ezdxf.document import Drawing as Document
from ezdxf.filemanagement import new
from ezdxf.units import MM

from edgetime.geometry.path import FloatArray

BLACK_OR_WHITE = 7
"""Colour number of the DXF reference that shows on light and dark screens alike."""


@dataclass(frozen=True, eq=False, slots=True)
class Line:
    """A chain of lines and arcs to be written.

    Attributes
    ----------
    layer : str
        Its layer.
    points : (n + 1, 2) array
        Vertices [mm].
    bulges : (n,) array
        Tangent of a quarter of each segment's turn [-].
    closed : bool
        Whether it returns to its start.
    """

    layer: str
    points: FloatArray
    bulges: FloatArray
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """A text to be written.

    Attributes
    ----------
    layer, text : str
        Its layer and words.
    x_mm, y_mm, height_mm : float
        Lower left corner and height of the letters [mm].
    """

    layer: str
    text: str
    x_mm: float
    y_mm: float
    height_mm: float


def dxf_bytes(
    layers: Sequence[tuple[str, int]], lines: Iterable[Line], notes: Iterable[Note] = ()
) -> bytes:
    """Return a DXF file in millimetres.

    Parameters
    ----------
    layers : sequence of (str, int)
        Names and colour numbers, in the order of the layer table.
    lines : iterable of Line
        Each becomes one LWPOLYLINE, whose bulges are exact arcs.
    notes : iterable of Note
        Each becomes one TEXT.
    """
    document: Document = new("R2010")
    document.units = MM
    for name, colour in layers:
        document.layers.add(name, color=colour)
    space = document.modelspace()
    for line in lines:
        points = line.points[:-1] if line.closed else line.points
        bulges = [*line.bulges.tolist(), 0.0][: len(points)]
        rows = [(x, y, b) for (x, y), b in zip(points.tolist(), bulges, strict=True)]
        space.add_lwpolyline(
            rows, format="xyb", close=line.closed, dxfattribs={"layer": line.layer}
        )
    for note in notes:
        text = space.add_text(note.text, height=note.height_mm, dxfattribs={"layer": note.layer})
        text.set_placement((note.x_mm, note.y_mm))
    out = io.StringIO()
    document.write(out)
    return document.encode(out.getvalue())
