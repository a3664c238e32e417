"""Every kind of finding the load can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import error, note, warning

LOAD_LARGER_THAN_TABLE: Final = error(
    "load-larger-than-table",
    "The parts together reach over more length or width than the table has.",
    "Split the load, place the drawings closer, or choose a larger machine; check the units.",
)
PART_OFF_TABLE: Final = warning(
    "part-off-table",
    "Parts reach beyond the table; drawing coordinates are table coordinates unless placed.",
    "Move the parts in the drawing, or place the drawing with --place.",
)
PARTS_OVERLAP: Final = error(
    "parts-overlap",
    "Two parts lie on top of one another; the cycle time counts both.",
    "Move one of the two, or place its drawing elsewhere.",
)
PART_TOO_NARROW: Final = warning(
    "part-too-narrow",
    "A part is narrower than the machine can hold while its edges are worked.",
    "Cut it from a wider piece, hold it in a special fixture, or finish it by hand.",
)
NO_SEAM_TO_LAY_APART: Final = note(
    "no-seam-to-lay-apart",
    "--apart is given, but no parts meet in a seam.",
    "Draw the seam from edge to edge on a seam layer, or leave --apart out.",
)

FINDINGS_LEFT_OUT: Final = note(
    "findings-left-out",
    "Findings on what --only or --without leaves out of the load are not shown with it.",
    "edgetime takeoff lists them all.",
)
DIAMETERS_MEASURED: Final = note(
    "diameters-measured",
    "With --mounted, the actual diameters of mounted tools are those last measured, from the ledger.",
    "Correct one with edgetime ledger measure, or for this load with --diameter.",
)
DIAMETER_UNLIKELY: Final = warning(
    "diameter-unlikely",
    "The actual diameter given for a tool is larger than new, or smaller than worn out (its "
    "diameter less twice usable_depth).",
    "Measure it again and check the unit; or correct diameter or usable_depth in the tool's file.",
)
