"""Stacks, machines and feeds side by side, and when the dearer one pays."""

from edgetime.comparison.alternatives import AlternativeFigures, BreakEven, Comparison
from edgetime.comparison.compare import break_even, compare_alternatives
from edgetime.comparison.what_if import WhatIf, price_what_if

__all__ = [
    "AlternativeFigures",
    "BreakEven",
    "Comparison",
    "WhatIf",
    "break_even",
    "compare_alternatives",
    "price_what_if",
]
