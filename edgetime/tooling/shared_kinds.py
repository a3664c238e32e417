"""The kinds of figures that several records share, each with its range."""

from __future__ import annotations

from typing import Final

from edgetime.tooling.kinds import Each, Flag, Quantity, Several, Text

TEXT: Final = Text()
FLAG: Final = Flag()
LENGTH: Final = Quantity("length", above="0 mm", at_most="20 m")
ROOM: Final = Quantity("length", at_least="0 mm", at_most="20 m")
SMALL: Final = Quantity("length", above="0 mm", at_most="200 mm")
SPOT: Final = Several(Quantity("length", at_least="-20 m", at_most="20 m"), "X", "Y")
SIZE: Final = Several(Quantity("length", above="0 mm"), "X", "Y")
LENGTHS: Final = Each(LENGTH)
FEED: Final = Quantity("speed", above="0 mm/min", at_most="60 m/min")
ROTATION: Final = Quantity("rotation", above="0 rpm", at_most="60000 rpm")
SECONDS: Final = Quantity("time", at_least="0 s", at_most="8 h")
HANDLING: Final = Quantity("time", at_least="0 s", at_most="8 h", usual="handling")
FRACTION: Final = Quantity("ratio", at_least="0 %", at_most="100 %")
SHARE: Final = Quantity("ratio", above="0 %", at_most="100 %")
