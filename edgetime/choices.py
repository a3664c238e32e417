"""Words that may be chosen alike in a shop's files, on the command line and in Python."""

from __future__ import annotations

from enum import StrEnum
from typing import Final, Literal, get_args

CutoutMethod = Literal["milled", "precut"]
"""Cut out by the router, or open already."""

RunOrder = Literal["short-travel", "as-drawn"]
"""In which order a tool visits the edge runs."""

DrawingUnits = Literal["mm", "cm", "m", "in", "ft"]
"""What the numbers of a drawing may mean."""


class Paper(StrEnum):
    """What a page is printed on."""

    A4 = "a4"
    A3 = "a3"
    LETTER = "letter"


class ReportBy(StrEnum):
    """What a report of the ledger is divided by."""

    MONTH = "month"
    JOB = "job"
    MACHINE = "machine"
    TOOL = "tool"
    SUPPLIER = "supplier"
    BATCH = "batch"

    @property
    def of_runs(self) -> bool:
        """Whether a run belongs to one group as a whole, with its water and electricity."""
        return self in {ReportBy.MONTH, ReportBy.JOB, ReportBy.MACHINE}

    @property
    def has_receipts(self) -> bool:
        """Whether receipts belong to a group: a tool is bought for no job and no machine."""
        return self not in {ReportBy.JOB, ReportBy.MACHINE}

    @property
    def has_stock(self) -> bool:
        """Whether the stock belongs to groups."""
        return self is not ReportBy.JOB


CUTOUT_METHODS: Final = get_args(CutoutMethod)
RUN_ORDERS: Final = get_args(RunOrder)
