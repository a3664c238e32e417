"""Findings of a forecast."""

from __future__ import annotations

from edgetime.findings import Code, Severity

ORDER_LATE = Code(
    "order-late",
    Severity.WARNING,
    "The day by which a tool had to be ordered is past: at its lead time it comes too late at "
    "the service level asked for.",
    "Order today and ask for a faster delivery, or move the job.",
)
NO_LIFE = Code(
    "forecast-no-life",
    Severity.WARNING,
    "A tool states no life for the stone of a job, so its use there is not counted.",
    "Add a [[life]] table to the tool's file.",
)
NO_PRICE = Code(
    "forecast-no-price",
    Severity.NOTE,
    "A tool that is to be ordered has no price; it is missing from the totals.",
    "Add price to the tool's file.",
)
NO_LEDGER = Code(
    "forecast-no-ledger",
    Severity.NOTE,
    "There is no ledger, so nothing counts as at hand but what the command line says.",
    "Receive the pieces you have with edgetime ledger, or say how many with --on-hand.",
)
JOB_PAST = Code(
    "job-past",
    Severity.WARNING,
    "A job of the pipeline lies before the first day of the forecast and is left out.",
    "Take it out of the pipeline, or correct its date.",
)
STACK_CHOSEN = Code(
    "job-stack",
    Severity.NOTE,
    "The shop's stack does not serve the stone or thickness of a job; another one does.",
    "Name the stack in the pipeline if another is meant.",
)
