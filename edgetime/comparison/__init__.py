"""Stacks, machines and feeds side by side, and when the dearer one pays."""

from edgetime.comparison.compute import break_even, compare_setups
from edgetime.comparison.model import BreakEven, Comparison, SetupFigures

__all__ = ["BreakEven", "Comparison", "SetupFigures", "break_even", "compare_setups"]
