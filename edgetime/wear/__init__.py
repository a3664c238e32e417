"""What a load takes out of its tools, and the water and electricity it uses."""

from edgetime.wear.compute_wear import compute_wear
from edgetime.wear.tool_wear import Consumables, Measure, ToolWear, Wear

__all__ = ["Consumables", "Measure", "ToolWear", "Wear", "compute_wear"]
