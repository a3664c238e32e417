"""The cycle: seconds per visit, part and profile, and what is attended beside it."""

from edgetime.cycle.between import ToolChange, tool_changes
from edgetime.cycle.clock import WallClock
from edgetime.cycle.compute_cycle import compute_cycle
from edgetime.cycle.order import OrderRow, order_of_work
from edgetime.cycle.timeline import TERMS, Cycle, Flow, PartTime, ProfileTime, Visit

__all__ = [
    "TERMS",
    "Cycle",
    "Flow",
    "OrderRow",
    "PartTime",
    "ProfileTime",
    "ToolChange",
    "Visit",
    "WallClock",
    "compute_cycle",
    "order_of_work",
    "tool_changes",
]
