"""Stacks, machines and feeds side by side, and when the dearer one pays."""

from edgetime.comparison.compute import break_even, compare_setups
from edgetime.comparison.model import AlternativeFigures, BreakEven, Comparison

__all__ = ["AlternativeFigures", "BreakEven", "Comparison", "break_even", "compare_setups"]
