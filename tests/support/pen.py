"""A pen that draws tops, cutouts and holes with ezdxf, not with our own reader's code."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import ezdxf

QUARTER = math.tan(math.pi / 8.0)
"""Bulge of a quarter circle."""

XY = tuple[float, float]
Vertices = list[tuple[float, float, float]]


def rounded_vertices(x: float, y: float, w: float, h: float, r: float) -> Vertices:
    """Return a rectangle with rounded corners, counter-clockwise, as vertices with bulges."""
    q, x1, y1 = QUARTER, x + w, y + h
    return [
        (x + r, y, 0.0), (x1 - r, y, q), (x1, y + r, 0.0), (x1, y1 - r, q),
        (x1 - r, y1, 0.0), (x + r, y1, q), (x, y1 - r, 0.0), (x, y + r, q),
    ]  # fmt: skip


def turned(vertices: Vertices) -> Vertices:
    """Return a closed curve drawn the other way round."""
    bulges = [-b for _, _, b in vertices]
    around = zip(reversed(vertices), [*reversed(bulges[:-1]), bulges[-1]], strict=True)
    return [(x, y, b) for (x, y, _), b in around]


class Pen:
    """Draws on the model space of a new drawing; coordinates are mm whatever its units.

    Parameters
    ----------
    units
        $INSUNITS of the drawing.
    mm_per_unit
        Millimetres of one unit of the drawing.
    """

    def __init__(self, units: int = ezdxf.units.MM, mm_per_unit: float = 1.0) -> None:
        self.doc = ezdxf.new("R2010")
        self.doc.units = units
        self.space: Any = self.doc.modelspace()
        self.mm_per_unit = mm_per_unit

    def _at(self, *points: XY) -> list[XY]:
        return [(x / self.mm_per_unit, y / self.mm_per_unit) for x, y in points]

    def loop(self, layer: str, vertices: Sequence[Sequence[float]], **more: Any) -> None:
        """Draw a closed polyline of (x, y) or (x, y, bulge)."""
        s = self.mm_per_unit
        points = [(x / s, y / s, *bulge) for x, y, *bulge in vertices]
        own = {"layer": layer, **more}
        self.space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=own)

    def rectangle(self, layer: str, x: float, y: float, w: float, h: float, **more: Any) -> None:
        self.loop(layer, [(x, y), (x + w, y), (x + w, y + h), (x, y + h)], **more)

    def rounded(self, layer: str, x: float, y: float, w: float, h: float, r: float) -> None:
        self.loop(layer, rounded_vertices(x, y, w, h, r))

    def sides(self, layers: Sequence[str], x: float, y: float, w: float, h: float) -> None:
        """Draw a rectangle as four lines; layers of the bottom, right, top and left one."""
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        for k, layer in enumerate(layers):
            self.line(layer, corners[k], corners[(k + 1) % 4])

    def line(self, layer: str, a: XY, b: XY, **more: Any) -> None:
        self.space.add_line(*self._at(a, b), dxfattribs={"layer": layer, **more})

    def circle(self, layer: str, x: float, y: float, d: float, **more: Any) -> None:
        radius = 0.5 * d / self.mm_per_unit
        self.space.add_circle(*self._at((x, y)), radius, dxfattribs={"layer": layer, **more})

    def ellipse(self, layer: str, x: float, y: float, a: float, b: float) -> None:
        """Draw an ellipse of half axes ``a`` along X and ``b`` along Y, ``a`` the longer."""
        centre, major = self._at((x, y), (a, 0.0))
        self.space.add_ellipse(centre, major, b / a, dxfattribs={"layer": layer})

    def text(self, layer: str, text: str, x: float, y: float) -> None:
        height = 30.0 / self.mm_per_unit
        placed = self.space.add_text(text, dxfattribs={"layer": layer, "height": height})
        placed.set_placement(*self._at((x, y)))

    def save(self, path: Path) -> Path:
        """Write the drawing and return its path."""
        self.doc.saveas(path)
        return path
