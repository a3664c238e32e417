"""Loads that are priced from their drawing and from what would be told of them.

The galley is invented, as all others: two wall runs with a hob and a sink, and a bar with
four radius corners. Written with ezdxf, not with our own writer.
"""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf

from edgetime.demo import demo_drawings
from support.kitchens import write_kitchen

QUARTER = math.tan(math.pi / 8.0)
EASED, WALL, SEAM, BAR = "EASED", "WALL", "SEAM", "EDGE-HALF-BULLNOSE"

RUNS = (
    # x, y, width, depth [mm]; layers of the front, right, back and left edge
    (150.0, 150.0, 2000.0, 600.0, (EASED, SEAM, WALL, EASED)),
    (2350.0, 150.0, 1500.0, 600.0, (EASED, WALL, WALL, SEAM)),
    (150.0, 950.0, 2600.0, 600.0, (EASED, EASED, WALL, WALL)),
)
BAR_MM = (2950.0, 950.0, 1800.0, 700.0, 80.0)
SINK_MM = (500.0, 1050.0, 760.0, 400.0, 60.0)
HOB_MM = (600.0, 200.0, 560.0, 490.0)
TAP = (1450.0, 1490.0, 17.5)


def _rounded(x, y, w, h, r):
    q = QUARTER
    return [
        (x + r, y, 0.0), (x + w - r, y, q), (x + w, y + r, 0.0), (x + w, y + h - r, q),
        (x + w - r, y + h, 0.0), (x + r, y + h, q), (x, y + h - r, 0.0), (x, y + r, q),
    ]  # fmt: skip


def write_galley(path: Path) -> Path:
    """Write the galley and return its path."""
    doc = ezdxf.new("R2010")
    doc.units = ezdxf.units.MM
    space = doc.modelspace()
    for x, y, w, h, layers in RUNS:
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        for i, layer in enumerate(layers):
            space.add_line(corners[i], corners[(i + 1) % 4], dxfattribs={"layer": layer})
    for layer, spec in ((BAR, BAR_MM), ("SINK", SINK_MM)):
        space.add_lwpolyline(_rounded(*spec), format="xyb", close=True, dxfattribs={"layer": layer})
    x, y, w, h = HOB_MM
    space.add_lwpolyline(
        [(x, y), (x + w, y), (x + w, y + h), (x, y + h)], close=True, dxfattribs={"layer": "HOB"}
    )
    space.add_circle(TAP[:2], TAP[2], dxfattribs={"layer": "TAP"})
    doc.saveas(path)
    return path


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


def told_of(quote, parts=None) -> str:
    """Return what would be told of a job on the telephone: its lengths and numbers."""
    lengths: dict[str, float] = {}
    counts = {"parts": parts} if parts else {}
    for line in quote.lines:
        kind, _, profile = line.item.partition(":")
        if kind == "profile" and line.quantity:
            lengths[profile] = float(line.quantity)
        elif kind == "cutout":
            name = "plain-cutouts" if profile == "unfinished" else "cutouts"
            counts[name] = counts.get(name, 0) + int(line.quantity)
        elif kind in {"holes", "corners"}:
            counts[kind] = int(line.quantity)
    told = [f"{name}={length!r} m" for name, length in lengths.items()]
    return ", ".join([*told, *(f"{name}={n}" for name, n in counts.items())])
