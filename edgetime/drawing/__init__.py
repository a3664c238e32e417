"""DXF in: curves and texts in world coordinates and millimetres.

:func:`read_drawing` is loaded on first use, for the DXF library behind it is heavy.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from edgetime.drawing.drawing import Drawing, Entity, LayerState, Text

if TYPE_CHECKING:
    from edgetime.drawing.reader import read_drawing

__all__ = ["Drawing", "Entity", "LayerState", "Text", "read_drawing"]


def __getattr__(name: str) -> Any:
    if name == "read_drawing":
        from edgetime.drawing.reader import read_drawing  # noqa: PLC0415

        return read_drawing
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
