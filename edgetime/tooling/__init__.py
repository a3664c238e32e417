"""The catalogue: profiles, tools, stacks, machines, stones, layer rules and a shop's defaults.

Importing this package is cheap; the records come in only when they are asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.lazily import lazily
from edgetime.tooling.loader import check_shop, load_catalogue
from edgetime.tooling.shop_files import find_shop, shipped_folder
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

__getattr__ = lazily(
    __name__,
    {
        "catalogue": "Catalogue",
        "declare": "OldKey",
        "defaults": "ShiftDefaults ShopDefaults",
        "machines": "Machine",
        "ordering": "CalendarRules OrderingRules",
        "price_rates": "MachineHour PriceRates",
        "profiles": "FaceUp PreparationStep Profile Section",
        "stacks": "Operation Stack Step",
        "stones": "Stone",
        "tools": "Life Taylor Tool ToolKind",
    },
)

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
    "shipped_folder",
]
