"""The cycle: seconds per visit, part and profile, and what is attended beside it."""

from edgetime.cycle.compute import compute_cycle
from edgetime.cycle.model import TERMS, Cycle, Flow, PartTime, ProfileTime, Visit

__all__ = ["TERMS", "Cycle", "Flow", "PartTime", "ProfileTime", "Visit", "compute_cycle"]
