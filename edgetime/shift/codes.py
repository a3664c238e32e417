"""Every kind of finding the shift can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

LOAD_LARGER_THAN_ZONE: Final = Code(
    "load-larger-than-zone",
    Severity.NOTE,
    "A load is longer than a zone of the table or, if not drawn, larger in area. It takes several "
    "zones, which cannot be loaded while it runs.",
    "Draw it within a zone, or set zone_length if each zone is a separate table.",
)
POCKETS_SHORT: Final = Code(
    "shift-pockets-short",
    Severity.WARNING,
    "A load needs more tools than the rack has pockets; the others are swapped by hand during the "
    "cycle.",
    "Use a longer rack, or a stack with fewer tools.",
)
LOADS_LEFT: Final = Code(
    "loads-left",
    Severity.NOTE,
    "Some listed loads do not fit in the shift.",
    "Let --fit choose which to run, or leave them for the next shift.",
)
FIT_STOPPED: Final = Code(
    "fit-stopped",
    Severity.WARNING,
    "The choice of loads is not proven optimal; the gap is stated.",
    "Give it more time with --time-limit.",
)
PART_LARGER_THAN_TABLE: Final = Code(
    "part-larger-than-table",
    Severity.WARNING,
    "A part does not fit the table in either direction; it is left out of the table filling.",
    "Choose a larger machine.",
)

JOB_NOT_DRAWN: Final = Code(
    "job-not-drawn",
    Severity.NOTE,
    "A listed job has no drawing: its tools, its attended stops and the sizes of its parts are not "
    "known. The plan has no tool wear and no stop for it, a pocket plan no tool, a table filling "
    "no part; with --pocket-plan or --table-filling this is a warning. Only its area is checked "
    "against the table and its zones.",
    "Draw it, and name the drawing in the list.",
)
