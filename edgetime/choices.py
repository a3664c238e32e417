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


CUTOUT_METHODS: Final = get_args(CutoutMethod)
RUN_ORDERS: Final = get_args(RunOrder)
