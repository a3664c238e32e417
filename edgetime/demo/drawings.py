"""The invented load: tops for a café by a lake, in two drawings that are shipped as files.

A service counter with a radius end, two island tables, two washroom vanity tops with
undermount basins and tap holes, and a window bench in two pieces that meet in a seam. The
place, its owner and every measure are made up for this demo; the sizes are ordinary.

The two drawings show the two habits of drawing: in the first every edge is on the layer of its
profile, in the second an outline is overlaid by curves on profile layers. The vanity is a
block, inserted once as it is and once mirrored. Its basins have corners of 30 mm, tighter than
most wheels: they show what is left for hand finishing, and what advice says of it.
"""

from __future__ import annotations

from pathlib import Path

DRAWING_NAMES = ("cafe-counters.dxf", "cafe-washroom.dxf")
"""Names of the drawings, in the order they are estimated."""


def demo_drawings() -> dict[str, str]:
    """Return the text of each drawing by name.

    Returns
    -------
    dict
        DXF, in :data:`DRAWING_NAMES`' order.
    """
    folder = Path(__file__).parent
    return {name: (folder / name).read_bytes().decode("ascii") for name in DRAWING_NAMES}
