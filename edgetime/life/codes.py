"""Every kind of finding the question "will it last?" can bring up."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

MAY_NOT_LAST: Final = Code(
    "may-not-last",
    Severity.WARNING,
    "A piece finishes this load with less than the chance asked for.",
    "Swap it before cycle start, have a fresh one at hand and plan a stop, or split the load.",
)
NO_LEDGER: Final = Code(
    "no-ledger",
    Severity.NOTE,
    "There is no ledger, so nothing is known of the pieces now mounted: new ones are assumed, "
    "and the life the tool files state.",
    "Enter the pieces with 'edgetime ledger receive' and 'edgetime ledger mount'.",
)
NOT_MOUNTED: Final = Code(
    "not-mounted",
    Severity.NOTE,
    "The load needs a piece which, by the ledger, is not mounted: a new one is assumed.",
    "Mount one and enter it with 'edgetime ledger mount'.",
)
SEVERAL_MOUNTED: Final = Code(
    "several-mounted",
    Severity.NOTE,
    "More than one piece of a kind is mounted: the most worn is taken.",
    "If another one is used, enter the change with 'edgetime ledger mount'.",
)
LIFE_UNKNOWN: Final = Code(
    "life-unknown",
    Severity.NOTE,
    "A tool's file states no life for this stone and thickness: no chance can be given.",
    "Add a [[life]] table to the tool's file.",
)
FEW_RETIREMENTS: Final = Code(
    "few-retirements",
    Severity.NOTE,
    "Too few pieces of a tool have been worn out for the chances to be trusted: the catalogue's "
    "figure weighs in, and it may be far off.",
    "Enter each piece taken out with 'edgetime ledger retire' and its reason.",
)
CATALOGUE_OFF: Final = Code(
    "catalogue-off",
    Severity.NOTE,
    "The shop's own pieces do not last as long as the tool's file says, or longer.",
    "Put the shop's own figure into the [[life]] table of the tool's file.",
)
RECORD_UNUSABLE: Final = Code(
    "record-unusable",
    Severity.NOTE,
    "A piece was retired without any use entered: no life can be read from it.",
    "Post the runs of a load with 'edgetime ledger post'.",
)
