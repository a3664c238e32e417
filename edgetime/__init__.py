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
    from edgetime.comparison import compare_alternatives
    from edgetime.cycle import compute_cycle
    from edgetime.drawing import read_drawing
    from edgetime.economics import economic_feed
    from edgetime.errors import EdgetimeError
    from edgetime.estimating import Estimate, advise, estimate
    from edgetime.findings import Finding, Severity
    from edgetime.forecast import forecast_use
    from edgetime.life import survive
    from edgetime.load import make_load
    from edgetime.motion import compute_motion
    from edgetime.passes import plan_passes
    from edgetime.price import price_load
    from edgetime.records import as_json
    from edgetime.shift import simulate_shift
    from edgetime.takeoff import take_off
    from edgetime.tooling import Catalogue, load_catalogue
    from edgetime.toolpath import build_tool_paths
    from edgetime.wear import compute_wear

_HOME = {
    "Catalogue": "tooling",
    "EdgetimeError": "errors",
    "Estimate": "estimating",
    "Finding": "findings",
    "Severity": "findings",
    "advise": "estimating",
    "as_json": "records",
    "build_tool_paths": "toolpath",
    "compare_alternatives": "comparison",
    "compute_cycle": "cycle",
    "compute_motion": "motion",
    "compute_wear": "wear",
    "economic_feed": "economics",
    "estimate": "estimating",
    "forecast_use": "forecast",
    "load_catalogue": "tooling",
    "make_load": "load",
    "plan_passes": "passes",
    "price_load": "price",
    "read_drawing": "drawing",
    "simulate_shift": "shift",
    "survive": "life",
    "take_off": "takeoff",
}

__all__ = [
    "Catalogue",
    "EdgetimeError",
    "Estimate",
    "Finding",
    "Severity",
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
    "forecast_use",
    "load_catalogue",
    "make_load",
    "plan_passes",
    "price_load",
    "read_drawing",
    "simulate_shift",
    "survive",
    "take_off",
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
