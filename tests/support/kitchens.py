"""A table of kitchen tops for the trade check: our own lengths, drawn as kitchens are drawn.

About 85 sq ft in 30 mm: a wall run in two pieces that meet in a seam, a second wall run in
two pieces, an island, a vanity; three undermount cutouts whose edges are polished, and tap
holes. The kitchen is invented. Written with ezdxf, not with our own writer, so that the
check does not read back what the project itself wrote.
"""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf

EASED, WALL, SEAM, SINK, TAP = "EASED", "WALL", "SEAM", "SINK", "TAP"
QUARTER = math.tan(math.pi / 8.0)

RECTANGLES = (
    # x, y, width, height [mm]; layers of the bottom, right, top and left edge
    (150.0, 150.0, 2800.0, 1150.0, (EASED, EASED, EASED, EASED)),  # island
    (150.0, 1550.0, 1700.0, 650.0, (EASED, SEAM, WALL, EASED)),  # first run, left piece
    (2050.0, 1550.0, 1500.0, 650.0, (EASED, WALL, WALL, SEAM)),  # first run, right piece
    (3200.0, 150.0, 1600.0, 560.0, (EASED, EASED, WALL, EASED)),  # vanity
    (3750.0, 900.0, 650.0, 1300.0, (EASED, WALL, WALL, EASED)),  # second run, one piece
    (4600.0, 900.0, 650.0, 1300.0, (EASED, EASED, WALL, WALL)),  # second run, other piece
)
ROUNDED = (
    # x, y, width, height, corner radius [mm]
    (1000.0, 500.0, 400.0, 400.0, 60.0),
    (500.0, 1650.0, 760.0, 430.0, 80.0),
)
OVAL = (4000.0, 400.0, 240.0, 190.0)
TAPS = ((1200.0, 970.0), (880.0, 2140.0), (4000.0, 650.0))
TAP_RADIUS = 17.5


def area_sq_ft() -> float:
    """Return the gross area of all tops [sq ft]; 1 ft = 304.8 mm exactly."""
    return sum(w * h for _, _, w, h, _ in RECTANGLES) / 304.8**2


def polished_mm() -> float:
    """Return the length of all polished edges by arithmetic [mm].

    The oval by Ramanujan's second approximation, good to 1e-9 at this flatness.
    """
    total = 0.0
    for _, _, w, h, layers in RECTANGLES:
        total += sum(n for n, layer in zip((w, h, w, h), layers, strict=True) if layer == EASED)
    for _, _, w, h, r in ROUNDED:
        total += 2.0 * (w + h) - 8.0 * r + 2.0 * math.pi * r
    _, _, a, b = OVAL
    lam = ((a - b) / (a + b)) ** 2
    total += math.pi * (a + b) * (1.0 + 3.0 * lam / (10.0 + math.sqrt(4.0 - 3.0 * lam)))
    return total


def write_kitchen(path: Path) -> Path:
    """Write the drawing and return its path."""
    doc = ezdxf.new("R2010")
    doc.units = ezdxf.units.MM
    space = doc.modelspace()
    for x, y, w, h, layers in RECTANGLES:
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        for i, layer in enumerate(layers):
            space.add_line(corners[i], corners[(i + 1) % 4], dxfattribs={"layer": layer})
    for x, y, w, h, r in ROUNDED:
        space.add_lwpolyline(
            [
                (x + r, y, 0.0),
                (x + w - r, y, QUARTER),
                (x + w, y + r, 0.0),
                (x + w, y + h - r, QUARTER),
                (x + w - r, y + h, 0.0),
                (x + r, y + h, QUARTER),
                (x, y + h - r, 0.0),
                (x, y + r, QUARTER),
            ],
            format="xyb",
            close=True,
            dxfattribs={"layer": SINK},
        )
    x, y, a, b = OVAL
    space.add_ellipse((x, y), (a, 0.0), b / a, dxfattribs={"layer": SINK})
    for centre in TAPS:
        space.add_circle(centre, TAP_RADIUS, dxfattribs={"layer": TAP})
    doc.saveas(path)
    return path
