"""The catalogue: profiles, tools, stacks, machines, stones, layer rules and a shop's defaults.

Importing this package is cheap; the records come in only when they are asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from edgetime.tooling.loader import (
    check_shop,
    find_shop,
    load_catalogue,
    load_layers,
    shipped_folder,
)
from edgetime.tooling.shop_folder import InitResult, init_shop

if TYPE_CHECKING:
    from edgetime.tooling.catalogue import Catalogue
    from edgetime.tooling.declare import OldKey
    from edgetime.tooling.defaults import ShiftDefaults, ShopDefaults
    from edgetime.tooling.machines import Machine
    from edgetime.tooling.ordering import CalendarRules, OrderingRules
    from edgetime.tooling.price_rates import MachineHour, PriceRates
    from edgetime.tooling.profiles import FaceUp, PreparationStep, Profile, Section
    from edgetime.tooling.stacks import Operation, Stack, Step
    from edgetime.tooling.stones import Stone
    from edgetime.tooling.tools import Life, Taylor, Tool, ToolKind

_HOME = {
    "CalendarRules": "ordering",
    "Catalogue": "catalogue",
    "FaceUp": "profiles",
    "Life": "tools",
    "Machine": "machines",
    "MachineHour": "price_rates",
    "OldKey": "declare",
    "Operation": "stacks",
    "OrderingRules": "ordering",
    "PreparationStep": "profiles",
    "PriceRates": "price_rates",
    "Profile": "profiles",
    "Section": "profiles",
    "ShiftDefaults": "defaults",
    "ShopDefaults": "defaults",
    "Stack": "stacks",
    "Step": "stacks",
    "Stone": "stones",
    "Taylor": "tools",
    "Tool": "tools",
    "ToolKind": "tools",
}

__all__ = [
    "CalendarRules",
    "Catalogue",
    "FaceUp",
    "InitResult",
    "Life",
    "Machine",
    "MachineHour",
    "OldKey",
    "Operation",
    "OrderingRules",
    "PreparationStep",
    "PriceRates",
    "Profile",
    "Section",
    "ShiftDefaults",
    "ShopDefaults",
    "Stack",
    "Step",
    "Stone",
    "Taylor",
    "Tool",
    "ToolKind",
    "check_shop",
    "find_shop",
    "init_shop",
    "load_catalogue",
    "load_layers",
    "shipped_folder",
]


def __getattr__(name: str) -> Any:
    """Load the records only when they are asked for."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"edgetime.tooling.{_HOME[name]}"), name)
