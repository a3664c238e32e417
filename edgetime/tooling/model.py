"""Names of the records, where they were before each had its own file."""

from edgetime.places import Place
from edgetime.tooling.catalogue import Catalogue
from edgetime.tooling.declare import OldKey
from edgetime.tooling.defaults import ShiftDefaults, ShopDefaults
from edgetime.tooling.machines import Machine
from edgetime.tooling.profiles import FaceUp, PreparationStep, Profile, Section
from edgetime.tooling.stacks import Operation, Stack, Step
from edgetime.tooling.stones import Stone
from edgetime.tooling.tools import Life, Taylor, Tool, ToolKind

__all__ = [
    "Catalogue",
    "FaceUp",
    "Life",
    "Machine",
    "OldKey",
    "Operation",
    "Place",
    "PreparationStep",
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
]
