"""Drawings that ask for every kind of advice, to be drawn again as it says.

Invented tops: one with a sink and a slot for a socket strip, one with an edge
of its own profile at each side.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from support.pen import XY, Pen, rounded_vertices, turned


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

    def write(self, path: Path) -> Path:
        """Write the drawing and return its path; openings are drawn clockwise."""
        pen = Pen()
        first = [self.front, "WALL", self.back, self.front]
        pen.sides(first, 200.0, 200.0, self.width, self.depth)
        _opening(pen, "SINK", (750.0, 520.0), self.sink)
        _opening(pen, "CUTOUT-POLISH", (1600.0, 450.0), self.slot)
        second = [self.front, self.rare, "WALL", self.turned]
        pen.sides(second, 200.0, 1100.0, 0.5 * self.width, self.depth)
        return pen.save(path)


def _opening(pen: Pen, layer: str, centre: XY, size: tuple[float, float, float]) -> None:
    """Draw an opening about its centre, so that it grows to all sides."""
    w, h, r = size
    x, y = centre[0] - 0.5 * w, centre[1] - 0.5 * h
    sharp = [(x, y, 0.0), (x + w, y, 0.0), (x + w, y + h, 0.0), (x, y + h, 0.0)]
    pen.loop(layer, turned(rounded_vertices(x, y, w, h, r) if r else sharp))


KITCHENS = {
    "kitchen": Tops(2200.0, 620.0, (760.0, 400.0, 30.0), (520.0, 70.0, 0.0)),
    "island": Tops(2500.0, 700.0, (500.0, 400.0, 15.0), (300.0, 60.0, 20.0)),
    "bar": Tops(2000.0, 600.0, (640.0, 360.0, 0.0), (440.0, 76.0, 38.0)),
}
"""Three of them. The last slot ends in half circles."""
