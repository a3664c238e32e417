"""Cycle time of a stone-countertop load, from its drawing.

The flow is one straight line, each arrow a function of this module::

    read_drawing → take_off → make_load → plan_passes → build_tool_paths
                 → compute_motion → compute_cycle → compute_wear

:func:`estimate` runs the whole of it. All values are in millimetres, seconds and radians;
all results are frozen records. Nothing here prints.

Importing the package costs next to nothing: each name is loaded when it is first used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime._version import __version__
from edgetime.lazily import lazily

if TYPE_CHECKING:
    from edgetime.comparison import compare_alternatives, compare_revisions
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

__getattr__ = lazily(
    __name__,
    {
        "comparison": "compare_alternatives compare_revisions",
        "cycle": "compute_cycle",
        "drawing": "read_drawing",
        "economics": "economic_feed",
        "errors": "EdgetimeError",
        "estimating": "Estimate advise estimate",
        "findings": "Finding Severity",
        "forecast": "forecast_use",
        "life": "survive",
        "load": "make_load",
        "motion": "compute_motion",
        "passes": "plan_passes",
        "price": "price_load",
        "records": "as_json",
        "shift": "simulate_shift",
        "takeoff": "take_off",
        "tooling": "Catalogue load_catalogue",
        "toolpath": "build_tool_paths",
        "wear": "compute_wear",
    },
)

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
    "compare_revisions",
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


def __dir__() -> list[str]:
    return sorted(__all__)
