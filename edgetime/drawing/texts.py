"""TEXT, MTEXT and ATTRIB: what they say and where."""

from __future__ import annotations

import math
from typing import Any, Final

from edgetime.drawing.affine import with_axes
from edgetime.drawing.drawing import LayerState, Text
from edgetime.drawing.place import Builder, Place, whole

TEXTS: Final = frozenset({"TEXT", "MTEXT"})
_ORIGIN: Final = (0.0, 0.0, 0.0)


def add_text(builder: Builder, kind: str, entity: Any, place: Place) -> None:
    """Read one text.

    Parameters
    ----------
    builder : Builder
        Takes the text.
    kind : str
        ``TEXT``, ``MTEXT`` or ``ATTRIB``.
    entity : object
        The DXF library's entity.
    place : Place
        Where it is.
    """
    ns = vars(entity.dxf)
    layer = builder.layer(ns.get("layer", "0"), place)
    try:
        said = whole(entity.plain_text())
    except (ValueError, TypeError, IndexError, AttributeError):
        said = whole(str(ns.get("text", "")))
    # MTEXT stands in world coordinates, the others in those of their normal.
    outer = place.map if kind == "MTEXT" else with_axes(place.map, ns.get("extrusion"))
    x, y, _ = outer.point(ns.get("insert", _ORIGIN))
    if not said.strip() or not (math.isfinite(x) and math.isfinite(y)):
        return
    # Sizes are compared only: what an unequal scale does to them matters little.
    size = math.sqrt(abs(place.map.xx * place.map.yy - place.map.xy * place.map.yx))
    height = float(ns.get("char_height" if kind == "MTEXT" else "height", 0.0)) * size
    hidden = ns.get("invisible", 0) or builder.layers[layer] is not LayerState.SHOWN
    builder.texts.append(
        Text(
            said,
            x,
            y,
            layer,
            place.handle or ns.get("handle") or "",
            place.insert,
            place.visible and not hidden,
            height if math.isfinite(height) and height > 0.0 else 0.0,
        )
    )
