"""What a number written without its unit most likely means.

A program, a data sheet and a stopwatch each speak their own unit: feeds are written in mm/min or
in/min, rapids in m/min, marks on wheels in m/s. A proposal is made only where the number is then
of a size that occurs; otherwise the units are listed and none is proposed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Usual:
    """How a kind of figure is usually written.

    Attributes
    ----------
    least, most : float
        Sizes that occur, in the internal unit of the dimension.
    units : tuple of str
        Tried in this order.
    in_inches : tuple of str
        Tried before them in a file that is written in inches.
    """

    least: float
    most: float
    units: tuple[str, ...]
    in_inches: tuple[str, ...] = ()


_MIN: Final = 60.0
_HOUR: Final = 3600.0
_DAY: Final = 86400.0

USUAL: Final[dict[str, Usual]] = {
    "acceleration": Usual(50.0, 5e4, ("m/s2", "mm/s2"), ("in/s2",)),
    "angle": Usual(0.0, 7.0, ("deg", "rad")),
    "area": Usual(1e4, 1e11, ("m2", "cm2", "mm2"), ("ft2",)),
    "density": Usual(500.0, 6000.0, ("kg/m3", "g/cm3")),
    "flow": Usual(1e3, 2e7, ("l/min",), ("gal/min",)),
    "jerk": Usual(500.0, 5e6, ("m/s3", "mm/s3"), ("in/s3",)),
    "length": Usual(0.0, 2e4, ("mm",), ("in",)),
    "mass": Usual(0.0, 1e5, ("kg",), ("lb",)),
    "power": Usual(50.0, 2e5, ("kW", "W")),
    "rotation": Usual(5.0, 7e3, ("rpm",)),
    "speed": Usual(0.33, 500.0, ("mm/min", "m/min", "mm/s"), ("in/min",)),
    "time": Usual(0.0, 8.0 * _HOUR, ("s",)),
    "time per length": Usual(0.01, 14.4, ("min/m", "s/m"), ("min/ft",)),
    "volume": Usual(1e5, 1e11, ("l", "cm3"), ("in3",)),
    # Narrower than their dimension: what a key of a file or an option is about.
    "traverse": Usual(30.0, 3e3, ("m/min", "mm/min", "m/s"), ("in/min",)),
    "rim speed": Usual(5e3, 1.5e5, ("m/s", "m/min"), ("ft/min",)),
    "edge": Usual(1e3, 1e8, ("m", "km"), ("ft",)),
    "bond": Usual(1e3, 1e7, ("cm3",), ("in3",)),
    "handling": Usual(5.0, _HOUR, ("min", "s")),
    "block": Usual(1e-4, 0.1, ("ms", "s")),
    "tool life": Usual(10.0 * _MIN, 5000.0 * _HOUR, ("h", "min")),
    "delivery": Usual(0.0, 730.0 * _DAY, ("d",)),
    "shift": Usual(0.5 * _HOUR, 200.0 * _HOUR, ("h", "min")),
}
"""Dimension, or use within one, to how it is written. The sizes are assumptions: wide enough for
every shop, and narrow enough that a wrong unit, a factor of 60 or 1000 off, falls outside."""


def proposed_unit(
    value: float, usual: str, factors: Mapping[str, float], *, inches: bool = False
) -> str | None:
    """Return the unit a bare number most likely has.

    Parameters
    ----------
    value : float
        The number as written.
    usual : str
        A key of :data:`USUAL`.
    factors : mapping
        Unit to its factor to the internal unit.
    inches : bool
        Whether what is beside it is in inches.

    Returns
    -------
    str or None
        None when the number is of no size that occurs, whatever its unit.
    """
    known = USUAL[usual]
    for unit in (*(known.in_inches if inches else ()), *known.units):
        if known.least <= abs(value) * factors[unit] <= known.most:
            return unit
    return None
