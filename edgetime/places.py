"""Where on a part an edge is: the words of tool stacks, take-off and passes alike."""

from __future__ import annotations

from enum import StrEnum


class Place(StrEnum):
    """Where on a part an edge is."""

    OUTER = "outer"
    CUTOUT = "cutout"
    HOLE = "hole"
