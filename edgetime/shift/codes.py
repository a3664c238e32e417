"""Every kind of finding the shift can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

LOAD_LARGER_THAN_ZONE: Final = Code(
    "load-larger-than-zone",
    Severity.NOTE,
    "A load is longer than a zone of the table, or has more area if it is not drawn; it takes "
    "several zones, and what lies on them cannot be loaded while it runs.",
    "Draw it within a zone, or state zone_length where each zone is a table of its own.",
)
POCKETS_SHORT: Final = Code(
    "shift-pockets-short",
    Severity.WARNING,
    "A load needs more tool pieces than the rack has pockets; each further one is put in by "
    "hand during the cycle.",
    "Use a longer rack, or a stack with fewer pieces.",
)
LOADS_LEFT: Final = Code(
    "loads-left",
    Severity.NOTE,
    "Listed loads do not fit into the shift any more.",
    "Let --fit choose which to run, or leave them to the next shift.",
)
FIT_STOPPED: Final = Code(
    "fit-stopped",
    Severity.WARNING,
    "It is not proved that no choice of loads is better; the best may have more by the bound "
    "stated.",
    "Give it more time with --time-limit.",
)
PART_LARGER_THAN_TABLE: Final = Code(
    "part-larger-than-table",
    Severity.WARNING,
    "A part does not lie on the table in either direction; it is left out of the table filling.",
    "Choose a larger machine.",
)

JOB_NOT_DRAWN: Final = Code(
    "job-not-drawn",
    Severity.NOTE,
    "A listed job has no drawing: its tools, its attended stops and the sizes of its parts are not "
    "known. It wears no tool and has no stop in the plan, needs no tool in a pocket plan, and is "
    "in no table filling; asked for one of these, this is a warning. Its area alone is held "
    "against the table and its zones.",
    "Draw it, and name the drawing in the list.",
)
