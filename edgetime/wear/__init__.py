"""What a load takes out of its tools, and the water and electricity it uses."""

from edgetime.wear.compute import compute_wear
from edgetime.wear.model import Consumables, Measure, ToolWear, Wear

__all__ = ["Consumables", "Measure", "ToolWear", "Wear", "compute_wear"]
