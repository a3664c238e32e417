"""The tool life a load uses, and its water and electricity."""

from edgetime.wear.compute_wear import compute_wear
from edgetime.wear.tool_wear import Consumables, Measure, ToolWear, Wear

__all__ = ["Consumables", "Measure", "ToolWear", "Wear", "compute_wear"]
