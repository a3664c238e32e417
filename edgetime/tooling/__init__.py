"""The catalogue: profiles, tools, stacks, machines, stones and a shop's defaults.

Importing this package is cheap; pydantic comes in only when files are read.
"""

from edgetime.tooling.loader import (
    check_shop,
    find_shop,
    load_catalogue,
    load_layers,
    shipped_folder,
)
from edgetime.tooling.model import (
    Catalogue,
    FaceUp,
    Life,
    Machine,
    Operation,
    Profile,
    Section,
    ShopDefaults,
    Stack,
    Step,
    Stone,
    Tool,
    ToolKind,
)
from edgetime.tooling.shop import InitResult, init_shop

__all__ = [
    "Catalogue",
    "FaceUp",
    "InitResult",
    "Life",
    "Machine",
    "Operation",
    "Profile",
    "Section",
    "ShopDefaults",
    "Stack",
    "Step",
    "Stone",
    "Tool",
    "ToolKind",
    "check_shop",
    "find_shop",
    "init_shop",
    "load_catalogue",
    "load_layers",
    "shipped_folder",
]
