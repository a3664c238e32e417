"""Stacks, machines and feeds side by side, and when the dearer one pays."""

from edgetime.comparison.alternatives import AlternativeFigures, BreakEven, Comparison
from edgetime.comparison.compare import break_even, compare_alternatives
from edgetime.comparison.shift_what_if import ShiftCase, shift_what_ifs
from edgetime.comparison.what_if import WhatIf, price_what_if

__all__ = [
    "AlternativeFigures",
    "BreakEven",
    "Comparison",
    "ShiftCase",
    "WhatIf",
    "break_even",
    "compare_alternatives",
    "price_what_if",
    "shift_what_ifs",
]
