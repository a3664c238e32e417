"""Every kind of finding the shift can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import note, warning

LOAD_LARGER_THAN_ZONE: Final = note(
    "load-larger-than-zone",
    "A load is longer than a zone of the table or, if not drawn, larger in area. It takes several "
    "zones, which cannot be loaded while it runs.",
    "Draw it within a zone, or set zone_length if each zone is a separate table.",
)
POCKETS_SHORT: Final = warning(
    "shift-pockets-short",
    "A load needs more tools than the rack has pockets; the others are swapped by hand during the "
    "cycle.",
    "Use a longer rack, or a stack with fewer tools.",
)
LOADS_LEFT: Final = note(
    "loads-left",
    "Some listed loads do not fit in the shift.",
    "Let --fit choose which to run, or leave them for the next shift.",
)
FIT_STOPPED: Final = warning(
    "fit-stopped",
    "The choice of loads is not proven optimal; the gap is stated.",
    "Give it more time with --time-limit.",
)
PART_LARGER_THAN_TABLE: Final = warning(
    "part-larger-than-table",
    "A part does not fit the table in either direction; it is left out of the table filling.",
    "Choose a larger machine.",
)

JOB_NOT_DRAWN: Final = note(
    "job-not-drawn",
    "A listed job has no drawing: its tools, its attended stops and the sizes of its parts are not "
    "known. The plan has no tool wear and no stop for it, a pocket plan no tool, a table filling "
    "no part; with --pocket-plan or --table-filling this is a warning. Only its area is checked "
    "against the table and its zones.",
    "Draw it, and name the drawing in the list.",
)
