"""The pass plan: steps times edge runs, in running order."""

from edgetime.passes.model import AttendedStop, EdgeRun, Pass, PassPlan, PlannedVisit
from edgetime.passes.plan import plan_passes

__all__ = ["AttendedStop", "EdgeRun", "Pass", "PassPlan", "PlannedVisit", "plan_passes"]
