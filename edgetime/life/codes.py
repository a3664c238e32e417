"""Every kind of finding about the life of tools."""

from __future__ import annotations

from typing import Final

from edgetime.findings import note, warning

MAY_NOT_LAST: Final = warning(
    "may-not-last",
    "The chance that a tool finishes this load is below the minimum asked for.",
    "Swap it before cycle start, have a fresh one ready and plan a stop, or split the load.",
)
NO_LEDGER: Final = note(
    "no-ledger",
    "There is no ledger, so nothing is known of the mounted tools: new ones are assumed, and "
    "the life in the tools' files.",
    "Enter the tools with 'edgetime ledger receive' and 'edgetime ledger mount'.",
)
NOT_MOUNTED: Final = note(
    "not-mounted",
    "The load needs a tool that the ledger does not show as mounted: a new one is assumed.",
    "Mount one and enter it with 'edgetime ledger mount'.",
)
SEVERAL_MOUNTED: Final = note(
    "several-mounted",
    "More than one tool of a kind is mounted: the one in the lowest pocket is assumed to work, "
    "as it is when a run is posted.",
    "If another one works, enter the change with 'edgetime ledger mount'.",
)
LIFE_UNKNOWN: Final = note(
    "life-unknown",
    "A tool's file states no life for this stone and thickness: no chance can be calculated.",
    "Add a [[life]] table to the tool's file.",
)
FEW_RETIREMENTS: Final = note(
    "few-retirements",
    "Too few tools of this kind have been worn out for a reliable life: the figure of its file "
    "weighs in, and it may be far off.",
    "Enter each tool taken out with 'edgetime ledger retire' and its reason.",
)
CATALOGUE_OFF: Final = note(
    "catalogue-off",
    "The shop's own tools last shorter or longer than the tool's file says.",
    "Put the shop's own figure into the [[life]] table of the tool's file.",
)
RECORD_UNUSABLE: Final = note(
    "record-unusable",
    "A tool was retired without any use entered: it says nothing about tool life.",
    "Post the runs of a load with 'edgetime ledger post'.",
)
