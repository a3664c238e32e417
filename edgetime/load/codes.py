"""Every kind of finding the load can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

LOAD_LARGER_THAN_TABLE: Final = Code(
    "load-larger-than-table",
    Severity.ERROR,
    "The parts together reach over more length or width than the table has.",
    "Split the load, place the drawings closer, or choose a larger machine; check the units.",
)
PART_OFF_TABLE: Final = Code(
    "part-off-table",
    Severity.WARNING,
    "Parts reach beyond the table; drawing coordinates are table coordinates unless placed.",
    "Move the parts in the drawing, or place the drawing with --place.",
)
PARTS_OVERLAP: Final = Code(
    "parts-overlap",
    Severity.ERROR,
    "Two parts lie on top of one another; the cycle time counts both.",
    "Move one of the two, or place its drawing elsewhere.",
)
PART_TOO_NARROW: Final = Code(
    "part-too-narrow",
    Severity.WARNING,
    "A part is narrower than the machine can hold while its edges are worked.",
    "Cut it from a wider piece, hold it in a special fixture, or finish it by hand.",
)
NO_SEAM_TO_LAY_APART: Final = Code(
    "no-seam-to-lay-apart",
    Severity.NOTE,
    "--apart is given, but no parts meet in a seam.",
    "Draw the seam from edge to edge on a seam layer, or leave --apart out.",
)

FINDINGS_LEFT_OUT: Final = Code(
    "findings-left-out",
    Severity.NOTE,
    "Findings on what --only or --without leaves out of the load are not shown with it.",
    "edgetime takeoff lists them all.",
)
DIAMETERS_MEASURED: Final = Code(
    "diameters-measured",
    Severity.NOTE,
    "With --mounted, the actual diameters of mounted pieces are those last measured, from the ledger.",
    "Correct one with edgetime ledger measure, or for this load with --diameter.",
)
DIAMETER_UNLIKELY: Final = Code(
    "diameter-unlikely",
    Severity.WARNING,
    "The actual diameter given for a tool is larger than new, or smaller than worn out (its "
    "diameter less twice usable_depth).",
    "Measure it again and check the unit; or correct diameter or usable_depth in the tool's file.",
)
