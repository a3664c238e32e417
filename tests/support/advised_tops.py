"""Drawings that ask for every kind of advice, to be drawn again as it says.

Invented tops, written with ezdxf: one with a sink and a slot for a socket strip, one with an edge
of its own profile at each side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import ezdxf

QUARTER = math.tan(math.pi / 8.0)


def rounded_rectangle(x, y, width, height, radius):
    """Return vertices (x, y, bulge) of a rectangle drawn clockwise; sharp at radius 0."""
    if radius == 0.0:
        return [
            (x, y, 0.0),
            (x, y + height, 0.0),
            (x + width, y + height, 0.0),
            (x + width, y, 0.0),
        ]
    r, right, top = radius, x + width, y + height
    b = -QUARTER
    return [
        (x, y + r, 0.0), (x, top - r, b), (x + r, top, 0.0), (right - r, top, b),
        (right, top - r, 0.0), (right, y + r, b), (right - r, y, 0.0), (x + r, y, b),
    ]  # fmt: skip


@dataclass(frozen=True)
class Tops:
    """Two tops [mm]; ``rare`` and ``turned`` are the layers of the second one's sides.

    ``sink`` and ``slot`` are width, height and radius of the corners.
    """

    width: float
    depth: float
    sink: tuple[float, float, float]
    slot: tuple[float, float, float]
    front: str = "EASED"
    rare: str = "EDGE-BEVEL"
    turned: str = "EDGE-OGEE"
    back: str = "WALL"

    def _rectangle(self, space, x, y, width, layers):
        corners = [(x, y), (x + width, y), (x + width, y + self.depth), (x, y + self.depth)]
        for k, layer in enumerate(layers):
            space.add_line(corners[k], corners[(k + 1) % 4], dxfattribs={"layer": layer})

    def _opening(self, space, layer, centre, size):
        """Draw an opening about its centre, so that it grows to all sides."""
        w, h, r = size
        points = rounded_rectangle(centre[0] - 0.5 * w, centre[1] - 0.5 * h, w, h, r)
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})

    def write(self, path: Path) -> Path:
        """Write the drawing and return its path."""
        doc = ezdxf.new("R2000", units=4)
        space = doc.modelspace()
        self._rectangle(
            space, 200.0, 200.0, self.width, [self.front, "WALL", self.back, self.front]
        )
        self._opening(space, "SINK", (750.0, 520.0), self.sink)
        self._opening(space, "CUTOUT-POLISH", (1600.0, 450.0), self.slot)
        sides = [self.front, self.rare, "WALL", self.turned]
        self._rectangle(space, 200.0, 1100.0, 0.5 * self.width, sides)
        doc.saveas(path)
        return path


KITCHENS = {
    "kitchen": Tops(2200.0, 620.0, (760.0, 400.0, 30.0), (520.0, 70.0, 0.0)),
    "island": Tops(2500.0, 700.0, (500.0, 400.0, 15.0), (300.0, 60.0, 20.0)),
    "bar": Tops(2000.0, 600.0, (640.0, 360.0, 0.0), (440.0, 76.0, 38.0)),
}
"""Three of them. The last slot ends in half circles."""
