"""The yield of a shift: loads through machine, table zones, tools and a person."""

from edgetime.jobs import Job
from edgetime.shift.explain import explain_shift
from edgetime.shift.explain_plans import (
    explain_filling,
    explain_fit,
    explain_pockets,
    explain_variation,
)
from edgetime.shift.figures import Shift, ShiftFigures
from edgetime.shift.filling import Filling, fill_table, gap_mm, table_parts
from edgetime.shift.fit import Fit, fit_shift
from edgetime.shift.loads import machine_of, rules_of, shift_load, undrawn_load, zone_length_mm
from edgetime.shift.model import ShiftLoad, Stop
from edgetime.shift.pockets import PocketPlan, plan_pockets
from edgetime.shift.simulate import simulate_shift
from edgetime.shift.waiting import read_waiting

__all__ = [
    "Filling",
    "Fit",
    "Job",
    "PocketPlan",
    "Shift",
    "ShiftFigures",
    "ShiftLoad",
    "Stop",
    "explain_filling",
    "explain_fit",
    "explain_pockets",
    "explain_shift",
    "explain_variation",
    "fill_table",
    "fit_shift",
    "gap_mm",
    "machine_of",
    "plan_pockets",
    "read_waiting",
    "rules_of",
    "shift_load",
    "simulate_shift",
    "table_parts",
    "undrawn_load",
    "zone_length_mm",
]
