"""Attended time: one account of it for the estimate, the price and the shift."""

from edgetime.labour.compute_labour import compute_labour
from edgetime.labour.tasks import KINDS, Labour, Preparation, Task, TaskKind

__all__ = ["KINDS", "Labour", "Preparation", "Task", "TaskKind", "compute_labour"]
