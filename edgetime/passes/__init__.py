"""The pass plan: steps times edge runs, in running order."""

from edgetime.passes.pass_plan import AttendedStop, EdgeRun, Pass, PassPlan, PlannedVisit
from edgetime.passes.plan_passes import plan_passes

__all__ = ["AttendedStop", "EdgeRun", "Pass", "PassPlan", "PlannedVisit", "plan_passes"]
