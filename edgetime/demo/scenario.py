"""The invented load: tops for a café by a lake.

A service counter with a radius end, two island tables, two washroom vanity tops with
undermount basins and tap holes, and a window bench in two pieces that meet in a seam. The
place, its owner and every measure are made up for this demo; the sizes are ordinary.

The two drawings show the two habits of drawing: in the first every edge lies on the layer
of its profile, in the second an outline is overlaid by curves on profile layers. The vanity
is a block, inserted once as it is and once mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from edgetime.demo.dxf import Sketch, write_dxf

COUNTERS = "cafe-counters.dxf"
WASHROOM = "cafe-washroom.dxf"
DRAWING_NAMES = (COUNTERS, WASHROOM)
"""Names of the drawings, in the order they are estimated."""

_QUARTER_BULGE = math.tan(math.pi / 8.0)
"""Bulge of a quarter turn counter-clockwise: tan(90° / 4)."""

_GAP_MM = 200.0
"""Room between parts: a roughing drum of 80 mm and its leads pass, and cups can be reached."""

_MARGIN_MM = 120.0
"""Room to the table's edges: no wheel reaches over them."""

_COUNTER_MM = (2100.0, 600.0)
_ISLAND_MM = (900.0, 500.0)
_VANITY_MM = (1000.0, 480.0)
_BENCH_MM = (1350.0, 300.0)

_BASIN_RADIUS_MM = 30.0
"""Tighter than most wheels: it teaches what is left for the hand, and what advice says."""


def _rounded(
    x: float, y: float, width: float, height: float, radius: float
) -> list[tuple[float, float, float]]:
    """Return a rectangle with rounded corners, counter-clockwise, as (x, y, bulge)."""
    x1, y1 = x + width, y + height
    q = _QUARTER_BULGE
    return [
        (x + radius, y, 0.0), (x1 - radius, y, q),
        (x1, y + radius, 0.0), (x1, y1 - radius, q),
        (x1 - radius, y1, 0.0), (x + radius, y1, q),
        (x, y1 - radius, 0.0), (x, y + radius, q),
    ]  # fmt: skip


def _name(sketch: Sketch, corner: Sequence[float], text: str) -> None:
    sketch.text("NAMES", (corner[0] + 60.0, corner[1] + 60.0), 40.0, text)


def _counters() -> str:
    """Draw counter and islands: every edge on the layer of its profile."""
    sketch = Sketch()
    width, depth = _COUNTER_MM
    x, y = _MARGIN_MM, _MARGIN_MM
    radius = depth / 2.0
    straight = x + width - radius
    sketch.line("EDGE-HALF-BULLNOSE", (x, y), (straight, y))
    sketch.arc("EDGE-HALF-BULLNOSE", (straight, y + radius), radius, -90.0, 90.0)
    sketch.line("EDGE-EASED", (straight, y + depth), (x, y + depth))
    sketch.line("SEAM", (x, y + depth), (x, y))
    sketch.circle("CUTOUT-CHUTE", (x + 700.0, y + depth / 2.0), 180.0)
    _name(sketch, (x, y), "COUNTER")
    y += depth + _GAP_MM
    for number in (1, 2):
        sketch.polyline("EDGE-EASED", _rounded(x, y, *_ISLAND_MM, 60.0))
        _name(sketch, (x, y), f"ISLAND {number}")
        x += _ISLAND_MM[0] + _GAP_MM
    return write_dxf(sketch, {})


def _vanity() -> Sketch:
    """Draw the vanity: an outline, its worked edges laid over it, a basin, tap holes."""
    block = Sketch()
    width, depth = _VANITY_MM
    block.polyline("OUTLINE", [(0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth)])
    block.line("EDGE-EASED", (0.0, 0.0), (width, 0.0))
    block.line("EDGE-EASED", (width, 0.0), (width, depth))
    block.polyline("WALL", [(width, depth), (0.0, depth), (0.0, 0.0)], closed=False)
    block.polyline("SINK", _rounded(250.0, 100.0, 480.0, 300.0, _BASIN_RADIUS_MM))
    block.circle("HOLE-TAP", (490.0, 440.0), 35.0)
    block.circle("HOLE-SOAP", (640.0, 440.0), 35.0)
    return block


def _washroom() -> str:
    """Draw vanities and benches: outlines overlaid by the curves of their worked edges."""
    sketch = Sketch()
    x = _MARGIN_MM + _COUNTER_MM[0] + _GAP_MM
    y = _MARGIN_MM
    sketch.insert("0", "VANITY", (x, y))
    y += _VANITY_MM[1] + _GAP_MM
    sketch.insert("0", "VANITY", (x + _VANITY_MM[0], y), mirrored=True)
    width, depth = _BENCH_MM
    x, y = _MARGIN_MM, _MARGIN_MM + _COUNTER_MM[1] + _ISLAND_MM[1] + 2.0 * _GAP_MM
    for number, seam_at in ((1, width), (2, 0.0)):
        sketch.polyline("OUTLINE", [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)])
        sketch.line("EDGE-EASED", (x, y), (x + width, y))
        sketch.line("SEAM", (x + seam_at, y), (x + seam_at, y + depth))
        wall_at = x + width - seam_at
        ends = [(wall_at, y), (wall_at, y + depth), (x + seam_at, y + depth)]
        sketch.polyline("WALL", ends, closed=False)
        _name(sketch, (x, y), f"BENCH {number}")
        x += width + _GAP_MM
    return write_dxf(sketch, {"VANITY": _vanity()})


def demo_drawings() -> dict[str, str]:
    """Return the texts of the demo's drawings by file name; equal at every call."""
    return {COUNTERS: _counters(), WASHROOM: _washroom()}
