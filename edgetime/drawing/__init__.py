"""DXF in: curves and texts in world coordinates and millimetres.

:func:`read_drawing` is loaded on first use, for the DXF library behind it is heavy.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.drawing.drawing import Drawing, Entity, LayerState, Text
from edgetime.lazily import lazily

if TYPE_CHECKING:
    from edgetime.drawing.reader import read_drawing

__all__ = ["Drawing", "Entity", "LayerState", "Text", "read_drawing"]

__getattr__ = lazily(__name__, {"reader": "read_drawing"})
