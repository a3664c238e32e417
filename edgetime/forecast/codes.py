"""Findings of a forecast."""

from __future__ import annotations

from edgetime.findings import note, warning

ORDER_LATE = warning(
    "order-late",
    "The last day to order a tool is past: at its lead time it arrives too late for the service "
    "level asked for.",
    "Order today and ask for a faster delivery, or move the job.",
)
NO_LIFE = warning(
    "forecast-no-life",
    "A tool states no life for the stone of a job, so its use there is not counted.",
    "Add a [[life]] table to the tool's file.",
)
NO_PRICE = note(
    "forecast-no-price",
    "A tool that has to be ordered has no price; it is missing from the totals.",
    "Add price to the tool's file.",
)
NO_LEDGER = note(
    "forecast-no-ledger",
    "There is no ledger, so only what the command line states counts as on hand.",
    "Receive the tools you have with edgetime ledger, or state them with --on-hand.",
)
JOB_PAST = warning(
    "job-past",
    "A job of the pipeline lies before the first day of the forecast and is left out.",
    "Remove it from the pipeline, or correct its date.",
)
STACK_CHOSEN = note(
    "job-stack",
    "The shop's stack does not serve the stone or thickness of a job; another one does.",
    "Name the stack in the pipeline if another one is meant.",
)
JOB_POSTED = note(
    "job-posted",
    "Runs of a job of the pipeline are in the ledger already: they are not forecast again. A run "
    "counts for the job of its load's name, or of the name of its drawing, that is due next, if "
    "it was posted no more than 60 days before the job's date.",
    "Remove the job from the pipeline. If the runs belong to another job, give the jobs names of "
    "their own.",
)
ORDER_OVERDUE = warning(
    "order-overdue",
    "A delivery was expected before the first day of the forecast and has not been received. It "
    "counts as if it came on the first day.",
    "Ask the supplier, and enter the new date with edgetime ledger expect; or receive what came, "
    "or cancel the order.",
)
STOCK_LIMIT = warning(
    "stock-limit",
    "The stock limit is smaller than the service level requires, so fewer tools are ordered than "
    "are missing.",
    "Allow a larger stock with --shelf or largest_stock, order more often with --review, or accept "
    "a lower service level.",
)
ARRIVES_LATE = warning(
    "arrives-late",
    "Tools on order are expected only after the stock runs out at the service level asked for.",
    "Ask for an earlier delivery, or move the job.",
)
