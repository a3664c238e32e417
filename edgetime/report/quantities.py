"""Lengths, feeds and areas as screens write them, in the words of the trade."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from edgetime.unit_table import FT_MM, IN_MM, UNITS
from edgetime.units import UnitSystem, decimals, is_slow, speed_text

FEET_FROM_MM: Final = 2.0 * FT_MM
"""Dimensions from here on are read in feet and inches."""


def _inches(length_mm: float) -> str:
    size = abs(length_mm) / IN_MM
    places = 2 if size >= 1.0 else 3 if size >= 0.1 else 4
    text = f"{length_mm / IN_MM:.{places}f}".rstrip("0").rstrip(".")
    return f"{'0' if text in {'', '-0'} else text} in"


def _sixteenths(length_mm: float) -> tuple[str, int, str]:
    """Return sign, whole inches and fraction of a length, to the nearest sixteenth."""
    whole, part = divmod(round(abs(length_mm) / IN_MM * 16), 16)
    common = math.gcd(part, 16)
    sign = "-" if length_mm < 0.0 and (whole or part) else ""
    return sign, whole, f"{part // common}/{16 // common}" if part else ""


def _mixed(whole: int, fraction: str) -> str:
    return "-".join(bit for bit in (str(whole) if whole or not fraction else "", fraction) if bit)


def format_feet(length_mm: float) -> str:
    """Write a dimension in feet and inches, to the nearest sixteenth.

    Parameters
    ----------
    length_mm : float
        Length [mm].

    Returns
    -------
    str
        ``8' 2-7/16"``, ``0' 5"``.
    """
    sign, inches, fraction = _sixteenths(length_mm)
    feet, whole = divmod(inches, 12)
    return f"{sign}{feet}' {_mixed(whole, fraction)}\""


def format_length(length_mm: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write a dimension: the size of a part, a diameter, a gap.

    Parameters
    ----------
    length_mm : float
        Length [mm].
    system : UnitSystem or str
        ``metric`` (mm, m from 1 m) or ``imperial`` (inches, from 2 ft feet and inches to the
        nearest sixteenth).

    Returns
    -------
    str
        Number and unit: ``635.0 mm``, ``6.096 m``; ``3.94 in``, ``8' 2-7/16"``.
    """
    if UnitSystem(system) is UnitSystem.METRIC:
        if abs(length_mm) < 1e3:
            return f"{length_mm:.1f} mm"
        return f"{length_mm / 1e3:.3f} m"
    if abs(length_mm) < FEET_FROM_MM:
        return _inches(length_mm)
    return format_feet(length_mm)


def format_size(
    length_mm: float, width_mm: float, system: UnitSystem | str = UnitSystem.METRIC
) -> str:
    """Write two dimensions, both in feet and inches where one of them is.

    Parameters
    ----------
    length_mm, width_mm : float
        Length and width [mm].
    system : UnitSystem or str
        As :func:`format_length`.

    Returns
    -------
    str
        ``8' 2-7/16" x 1' 11-5/8"``.
    """
    far = max(abs(length_mm), abs(width_mm)) >= FEET_FROM_MM
    if UnitSystem(system) is UnitSystem.IMPERIAL and far:
        return " x ".join(format_feet(mm) for mm in (length_mm, width_mm))
    return " x ".join(format_length(mm, system) for mm in (length_mm, width_mm))


def format_edge(length_mm: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write a quantity of edge, or a way to be divided by a feed: feet with decimals.

    Parameters
    ----------
    length_mm : float
        Length [mm].
    system : UnitSystem or str
        ``metric`` (mm, m from 1 m) or ``imperial`` (in, ft from 1 ft).

    Returns
    -------
    str
        ``6.096 m``, ``20.00 ft``.
    """
    if UnitSystem(system) is UnitSystem.IMPERIAL and abs(length_mm) >= FT_MM:
        return f"{length_mm / FT_MM:.2f} ft"
    return format_length(length_mm, system)


def format_thickness(thickness_mm: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write the nominal thickness of stone as the trade calls it.

    Parameters
    ----------
    thickness_mm : float
        Nominal thickness [mm].
    system : UnitSystem or str
        ``metric``: millimetres. ``imperial``: ``2 cm``, ``3 cm`` for whole centimetres, as
        slabs are sold in North America too (common practice, no source), ``1-1/4 in`` for
        sixteenths of an inch, ``12 mm`` for the rest, thin sheets among them.
    """
    if UnitSystem(system) is UnitSystem.IMPERIAL:
        if thickness_mm and thickness_mm % 10.0 == 0.0:
            return f"{thickness_mm / 10.0:g} cm"
        sixteenths = thickness_mm / IN_MM * 16.0
        if abs(sixteenths - round(sixteenths)) < 1e-6:
            _, whole, fraction = _sixteenths(thickness_mm)
            return f"{_mixed(whole, fraction)} in"
    return f"{thickness_mm:g} mm"


def speed_unit(
    speeds_mm_per_s: Iterable[float], system: UnitSystem | str = UnitSystem.METRIC
) -> str:
    """Return the one unit for a column of feeds.

    Parameters
    ----------
    speeds_mm_per_s : iterable of float
        All feeds of the column [mm/s].
    system : UnitSystem or str
        Imperial: ``in/min``. Metric: ``mm/min`` where one of them is below 1 m/min, else
        ``m/min``.
    """
    if UnitSystem(system) is UnitSystem.IMPERIAL:
        return "in/min"
    return "mm/min" if any(is_slow(v) for v in speeds_mm_per_s) else "m/min"


def speed_figure(speed_mm_per_s: float, unit: str) -> str:
    """Write a feed for a column headed by :func:`speed_unit`, to four digits.

    Parameters
    ----------
    speed_mm_per_s : float
        Speed [mm/s].
    unit : str
        A unit of speed of :data:`UNITS`.
    """
    return decimals(speed_mm_per_s / UNITS["speed"][unit])


def format_speed(speed_mm_per_s: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write a feed by itself.

    Parameters
    ----------
    speed_mm_per_s : float
        Speed [mm/s].
    system : UnitSystem or str
        ``metric`` (mm/min, m/min from 1 m/min) or ``imperial`` (in/min).

    Returns
    -------
    str
        Number and unit, to four digits: ``75 mm/min``, ``8.89 m/min``, ``2.953 in/min``.
    """
    if UnitSystem(system) is UnitSystem.METRIC:
        return speed_text(speed_mm_per_s)
    return f"{speed_figure(speed_mm_per_s, 'in/min')} in/min"


def format_area(area_mm2: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write an area for a table.

    Parameters
    ----------
    area_mm2 : float
        Area [mm²].
    system : UnitSystem or str
        ``metric`` (m²) or ``imperial`` (sq ft).
    """
    if UnitSystem(system) is UnitSystem.METRIC:
        return f"{area_mm2 / 1e6:.3f} m²"
    return f"{area_mm2 / FT_MM**2:.2f} sq ft"
