"""Areas as tables write them."""

from __future__ import annotations

from edgetime.unit_table import FT_MM
from edgetime.units import UnitSystem

_MM2_PER_M2 = 1e6


def area_text(area_mm2: float, system: UnitSystem) -> str:
    """Write an area without its unit.

    Parameters
    ----------
    area_mm2 : float
        Area [mm²].
    system : UnitSystem
        Square metres or square feet.
    """
    if system is UnitSystem.METRIC:
        return f"{area_mm2 / _MM2_PER_M2:.2f}"
    return f"{area_mm2 / FT_MM**2:.1f}"


def area_unit(system: UnitSystem) -> str:
    """Return the unit of :func:`area_text`."""
    return "m²" if system is UnitSystem.METRIC else "sq ft"
