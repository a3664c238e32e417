"""Cycle time of a stone-countertop load, from its drawing.

The flow is one straight line, each arrow a function of this module::

    read_drawing → take_off → make_load → plan_passes → build_tool_paths
                 → compute_motion → compute_cycle → compute_wear

:func:`estimate` runs the whole of it. All values are in millimetres, seconds and radians;
all results are frozen records. Nothing here prints.

Importing the package costs next to nothing: each name is loaded when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from edgetime._version import __version__

if TYPE_CHECKING:
    from edgetime.comparison import Comparison, compare_alternatives, price_what_if
    from edgetime.cycle import Cycle, compute_cycle
    from edgetime.drawing import Drawing, read_drawing
    from edgetime.economics import FeedStudy, economic_feed
    from edgetime.errors import EdgetimeError
    from edgetime.estimating import (
        Estimate,
        advise,
        estimate,
        explain_tool,
        motion_limits,
        resume_at,
        sensitivity,
    )
    from edgetime.findings import Finding, Severity
    from edgetime.forecast import Forecast, forecast_use, read_pipeline, wear_rates
    from edgetime.life import LifeFit, Survival, fit_life, fit_lives, survive
    from edgetime.load import Load, make_load
    from edgetime.motion import MotionLimits, MotionTimes, compute_motion
    from edgetime.moves import MoveKind, Moves
    from edgetime.passes import PassPlan, plan_passes
    from edgetime.price import Quote, price_lengths, price_list, price_load
    from edgetime.records import as_json
    from edgetime.shift import (
        Shift,
        ShiftLoad,
        fill_table,
        fit_shift,
        plan_pockets,
        shift_load,
        simulate_shift,
    )
    from edgetime.takeoff import LayerRule, LayerRules, TakeOff, take_off
    from edgetime.tooling import Catalogue, load_catalogue
    from edgetime.toolpath import ToolPaths, build_tool_paths
    from edgetime.wear import Wear, compute_wear

_HOME = {
    "Catalogue": "tooling",
    "Comparison": "comparison",
    "Cycle": "cycle",
    "Drawing": "drawing",
    "EdgetimeError": "errors",
    "Estimate": "estimating",
    "FeedStudy": "economics",
    "Finding": "findings",
    "Forecast": "forecast",
    "LayerRule": "takeoff",
    "LayerRules": "takeoff",
    "LifeFit": "life",
    "Load": "load",
    "MotionLimits": "motion",
    "MotionTimes": "motion",
    "MoveKind": "moves",
    "Moves": "moves",
    "PassPlan": "passes",
    "Quote": "price",
    "Severity": "findings",
    "Shift": "shift",
    "ShiftLoad": "shift",
    "Survival": "life",
    "TakeOff": "takeoff",
    "ToolPaths": "toolpath",
    "Wear": "wear",
    "advise": "estimating",
    "as_json": "records",
    "build_tool_paths": "toolpath",
    "compare_alternatives": "comparison",
    "compute_cycle": "cycle",
    "compute_motion": "motion",
    "compute_wear": "wear",
    "economic_feed": "economics",
    "estimate": "estimating",
    "explain_tool": "estimating",
    "fill_table": "shift",
    "fit_life": "life",
    "fit_lives": "life",
    "fit_shift": "shift",
    "forecast_use": "forecast",
    "load_catalogue": "tooling",
    "make_load": "load",
    "motion_limits": "estimating",
    "plan_passes": "passes",
    "price_lengths": "price",
    "price_list": "price",
    "price_load": "price",
    "price_what_if": "comparison",
    "plan_pockets": "shift",
    "read_drawing": "drawing",
    "read_pipeline": "forecast",
    "resume_at": "estimating",
    "sensitivity": "estimating",
    "shift_load": "shift",
    "simulate_shift": "shift",
    "survive": "life",
    "take_off": "takeoff",
    "wear_rates": "forecast",
}

__all__ = [
    "Catalogue",
    "Comparison",
    "Cycle",
    "Drawing",
    "EdgetimeError",
    "Estimate",
    "FeedStudy",
    "Finding",
    "Forecast",
    "LayerRule",
    "LayerRules",
    "LifeFit",
    "Load",
    "MotionLimits",
    "MotionTimes",
    "MoveKind",
    "Moves",
    "PassPlan",
    "Quote",
    "Severity",
    "Shift",
    "ShiftLoad",
    "Survival",
    "TakeOff",
    "ToolPaths",
    "Wear",
    "__version__",
    "advise",
    "as_json",
    "build_tool_paths",
    "compare_alternatives",
    "compute_cycle",
    "compute_motion",
    "compute_wear",
    "economic_feed",
    "estimate",
    "explain_tool",
    "fill_table",
    "fit_life",
    "fit_lives",
    "fit_shift",
    "forecast_use",
    "load_catalogue",
    "make_load",
    "motion_limits",
    "plan_passes",
    "plan_pockets",
    "price_lengths",
    "price_list",
    "price_load",
    "price_what_if",
    "read_drawing",
    "read_pipeline",
    "resume_at",
    "sensitivity",
    "shift_load",
    "simulate_shift",
    "survive",
    "take_off",
    "wear_rates",
]


def __getattr__(name: str) -> Any:
    home = _HOME.get(name)
    if home is None:
        raise AttributeError(f"module 'edgetime' has no attribute {name!r}")
    value = getattr(import_module(f"edgetime.{home}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
