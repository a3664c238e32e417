"""Parts, cutouts, holes and edges by profile, read from drawings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

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


def __getattr__(name: str) -> Any:
    """Load the numerical modules only when they are asked for."""
    if name == "take_off":
        from edgetime.takeoff.take_off_drawings import take_off  # noqa: PLC0415

        return take_off
    if name in __all__:
        from edgetime.takeoff import parts  # noqa: PLC0415

        return getattr(parts, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
