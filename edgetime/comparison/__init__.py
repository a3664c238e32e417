"""Stacks, machines and feeds side by side, when the dearer one pays, and revisions of drawings.

Each name is loaded when it is first used: revisions need no price.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.lazily import lazily

if TYPE_CHECKING:
    from edgetime.comparison.alternatives import AlternativeFigures, BreakEven, Comparison
    from edgetime.comparison.compare import break_even, compare_alternatives
    from edgetime.comparison.revisions import compare_revisions
    from edgetime.comparison.revisions_records import Revision
    from edgetime.comparison.shift_what_if import ShiftCase, shift_what_ifs
    from edgetime.comparison.what_if import WhatIf, price_what_if

__getattr__ = lazily(
    __name__,
    {
        "alternatives": "AlternativeFigures BreakEven Comparison",
        "compare": "break_even compare_alternatives",
        "revisions": "compare_revisions",
        "revisions_records": "Revision",
        "shift_what_if": "ShiftCase shift_what_ifs",
        "what_if": "WhatIf price_what_if",
    },
)

__all__ = [
    "AlternativeFigures",
    "BreakEven",
    "Comparison",
    "Revision",
    "ShiftCase",
    "WhatIf",
    "break_even",
    "compare_alternatives",
    "compare_revisions",
    "price_what_if",
    "shift_what_ifs",
]
