"""Parts, cutouts, holes and edges by profile, read from drawings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.lazily import lazily
from edgetime.places import Place
from edgetime.tooling.layers import LayerRule, LayerRules, Meaning

if TYPE_CHECKING:
    from edgetime.takeoff.parts import (
        Contour,
        Cutout,
        DrawingTakeOff,
        Edge,
        Hole,
        Part,
        Recess,
        TakeOff,
    )
    from edgetime.takeoff.take_off_drawings import take_off

__getattr__ = lazily(
    __name__,
    {
        "parts": "Contour Cutout DrawingTakeOff Edge Hole Part Recess TakeOff",
        "take_off_drawings": "take_off",
    },
)

__all__ = [
    "Contour",
    "Cutout",
    "DrawingTakeOff",
    "Edge",
    "Hole",
    "LayerRule",
    "LayerRules",
    "Meaning",
    "Part",
    "Place",
    "Recess",
    "TakeOff",
    "take_off",
]
