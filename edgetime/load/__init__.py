"""The load: placed parts, their stone and thickness, the machine and its mounted tools."""

from edgetime.load.choice import Copies
from edgetime.load.layout import PartChoice
from edgetime.load.load import Load, PlacedPart
from edgetime.load.make_load import make_load
from edgetime.load.options import Choices, Options
from edgetime.load.place import Placement

__all__ = [
    "Choices",
    "Copies",
    "Load",
    "Options",
    "PartChoice",
    "PlacedPart",
    "Placement",
    "make_load",
]
