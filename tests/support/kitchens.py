"""Two tables of kitchen tops, both invented: one for checks against the trade, and a galley.

The first is drawn as kitchens are drawn, with our own lengths.

About 85 sq ft in 30 mm: a wall run in two pieces that meet in a seam, a second wall run in
two pieces, an island, a vanity; three undermount cutouts whose edges are polished, and tap
holes. The galley is two wall runs with a hob and a sink, and a bar with four radius corners.
"""

from __future__ import annotations

import math
from pathlib import Path

from edgetime.demo import demo_drawings
from support.pen import Pen

EASED, WALL, SEAM, SINK, TAP = "EASED", "WALL", "SEAM", "SINK", "TAP"
BAR = "EDGE-HALF-BULLNOSE"

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
TAP_MM = 35.0


def area_sq_ft(*, island: bool = True) -> float:
    """Return the gross area of all tops [sq ft]; 1 ft = 304.8 mm exactly."""
    return sum(w * h for _, _, w, h, _ in RECTANGLES[0 if island else 1 :]) / 304.8**2


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


def write_kitchen(path: Path, *, island: bool = True) -> Path:
    """Write the first table, or what is left of it without its island; return its path."""
    pen, first = Pen(), 0 if island else 1
    for *place, layers in RECTANGLES[first:]:
        pen.sides(layers, *place)
    for sink in ROUNDED[first:]:
        pen.rounded(SINK, *sink)
    pen.ellipse(SINK, *OVAL)
    for x, y in TAPS[first:]:
        pen.circle(TAP, x, y, TAP_MM)
    return pen.save(path)


GALLEY = (
    # as RECTANGLES
    (150.0, 150.0, 2000.0, 600.0, (EASED, SEAM, WALL, EASED)),
    (2350.0, 150.0, 1500.0, 600.0, (EASED, WALL, WALL, SEAM)),
    (150.0, 950.0, 2600.0, 600.0, (EASED, EASED, WALL, WALL)),
)


def write_galley(path: Path) -> Path:
    """Write the galley and return its path."""
    pen = Pen()
    for *place, layers in GALLEY:
        pen.sides(layers, *place)
    pen.rounded(BAR, 2950.0, 950.0, 1800.0, 700.0, 80.0)
    pen.rounded(SINK, 500.0, 1050.0, 760.0, 400.0, 60.0)
    pen.rectangle("HOB", 600.0, 200.0, 560.0, 490.0)
    pen.circle(TAP, 1450.0, 1490.0, TAP_MM)
    return pen.save(path)


def loads_to_compare(folder: Path) -> dict[str, tuple[list[Path], dict[str, object]]]:
    """Return loads by name: drawings, and options of the estimate."""
    demo = []
    for name, text in demo_drawings().items():
        path = folder / name
        path.write_text(text, encoding="ascii")
        demo.append(path)
    kitchen = [write_kitchen(folder / "kitchen.dxf")]
    galley = [write_galley(folder / "galley.dxf")]
    trade = {"machine": "large", "stack": "fast-metal", "thickness_mm": 30.0}
    return {
        "café": (demo, {}),
        "café, counters": (demo[:1], {}),
        "café, washroom": (demo[1:], {}),
        "kitchen": (kitchen, trade),
        "kitchen, marble": (kitchen, {"machine": "large", "stone": "marble", "stack": "marble"}),
        "galley": (galley, {"machine": "large"}),
        "galley, sintered": (
            galley,
            {"machine": "large", "stone": "sintered", "stack": "sintered", "thickness_mm": 20.0},
        ),
    }
