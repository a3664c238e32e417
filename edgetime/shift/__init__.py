"""The yield of a shift: loads through machine, table zones, tools and a person."""

from edgetime.jobs import Job
from edgetime.shift.account import ShiftFigures
from edgetime.shift.filling import Filling, fill_table, table_parts
from edgetime.shift.fit import Fit, fit_shift
from edgetime.shift.load_runs import ShiftLoad, Stop
from edgetime.shift.make_shift_load import shift_load, undrawn_load
from edgetime.shift.options import ShiftOptions
from edgetime.shift.plan import ShiftPlan, estimate_key, plan_shift
from edgetime.shift.pockets import PocketPlan, plan_pockets
from edgetime.shift.simulate import Shift, simulate_shift
from edgetime.shift.waiting import read_waiting

__all__ = [
    "Filling",
    "Fit",
    "Job",
    "PocketPlan",
    "Shift",
    "ShiftFigures",
    "ShiftLoad",
    "ShiftOptions",
    "ShiftPlan",
    "Stop",
    "estimate_key",
    "fill_table",
    "fit_shift",
    "plan_pockets",
    "plan_shift",
    "read_waiting",
    "shift_load",
    "simulate_shift",
    "table_parts",
    "undrawn_load",
]
