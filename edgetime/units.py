"""Units of the trade, parsed at the boundary by a small explicit table.

Inside, everything is millimetres, seconds, radians, watts and kilograms; densities stay
in kg/m³, the unit every stone data sheet prints. A quantity from outside always carries
its unit ("350 in/min", "9 m/min", "1-1/4 in", "2,5 m"); a bare number is refused, because
guessing between millimetres and inches is how parts are lost.

A units library would do this too, but loading one costs half a second at every start.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from typing import Final

from edgetime.errors import UnitInvalid, Where

__all__ = [
    "DRAWING_UNIT_NAMES",
    "INSUNITS",
    "UNITS",
    "UnitSystem",
    "format_area",
    "format_length",
    "format_speed",
    "format_time",
    "parse_quantity",
    "unit_names",
]


class UnitSystem(StrEnum):
    """Units of printed tables; JSON is always metric."""

    METRIC = "metric"
    IMPERIAL = "imperial"


# Exact by definition: the international yard and pound agreement of 1959 makes the inch
# 25.4 mm and the pound 0.45359237 kg; the US survey foot is 1200/3937 m.
_IN: Final = 25.4
_FT: Final = 304.8
_LB: Final = 0.45359237
_SURVEY_FT: Final = 1.2e6 / 3937.0
_US_GALLON_MM3: Final = 231.0 * _IN**3
# The mechanical horsepower, 550 ft·lbf/s, and the metric one, 75 kgf·m/s.
_STANDARD_GRAVITY: Final = 9.80665
_HP_W: Final = 550.0 * 0.3048 * _LB * _STANDARD_GRAVITY
_PS_W: Final = 75.0 * _STANDARD_GRAVITY

UNITS: Final[dict[str, dict[str, float]]] = {
    "length": {"mm": 1.0, "cm": 10.0, "m": 1e3, "km": 1e6, "um": 1e-3, "in": _IN, "ft": _FT},
    "speed": {
        "mm/s": 1.0,
        "mm/min": 1.0 / 60.0,
        "m/s": 1e3,
        "m/min": 1e3 / 60.0,
        "in/s": _IN,
        "in/min": _IN / 60.0,
        "ft/s": _FT,
        "ft/min": _FT / 60.0,
    },
    "acceleration": {"mm/s2": 1.0, "m/s2": 1e3, "in/s2": _IN, "ft/s2": _FT},
    "jerk": {"mm/s3": 1.0, "m/s3": 1e3, "in/s3": _IN, "ft/s3": _FT},
    "time": {
        "s": 1.0,
        "ms": 1e-3,
        "min": 60.0,
        "h": 3600.0,
        "d": 86400.0,
        "week": 604800.0,
    },
    "rotation": {
        "rpm": math.tau / 60.0,
        "1/min": math.tau / 60.0,
        "1/s": math.tau,
        "rad/s": 1.0,
    },
    "area": {"mm2": 1.0, "cm2": 1e2, "m2": 1e6, "in2": _IN**2, "ft2": _FT**2},
    "volume": {
        "mm3": 1.0,
        "cm3": 1e3,
        "m3": 1e9,
        "ml": 1e3,
        "l": 1e6,
        "in3": _IN**3,
        "ft3": _FT**3,
    },
    "density": {"kg/m3": 1.0, "g/cm3": 1e3, "t/m3": 1e3, "lb/ft3": _LB / 0.3048**3},
    "angle": {"rad": 1.0, "deg": math.pi / 180.0},
    "ratio": {"": 1.0, "%": 0.01},
    "power": {"W": 1.0, "kW": 1e3, "hp": _HP_W, "PS": _PS_W},
    "flow": {
        "mm3/s": 1.0,
        "l/min": 1e6 / 60.0,
        "l/h": 1e6 / 3600.0,
        "l/s": 1e6,
        "m3/h": 1e9 / 3600.0,
        "cm3/min": 1e3 / 60.0,
        "mm3/min": 1.0 / 60.0,
        "gal/min": _US_GALLON_MM3 / 60.0,
    },
    "mass": {"kg": 1.0, "g": 1e-3, "t": 1e3, "lb": _LB},
}
"""Dimension → unit → factor to the internal unit. The gallon is the US one."""

_ALIASES: Final[dict[str, str]] = {
    '"': "in",
    "inch": "in",
    "inches": "in",
    "'": "ft",
    "foot": "ft",
    "feet": "ft",
    "ipm": "in/min",
    "fpm": "ft/min",
    "sec": "s",
    "hr": "h",
    "day": "d",
    "days": "d",
    "weeks": "week",
    "°": "deg",
    "degree": "deg",
    "degrees": "deg",
    "/min": "1/min",
    "min-1": "1/min",
    "r/min": "1/min",
    "rev/min": "1/min",
    "/s": "1/s",
    "percent": "%",
    "sqft": "ft2",
    "sqin": "in2",
    "cc": "cm3",
    "lbs": "lb",
    "litre": "l",
    "liter": "l",
    "lpm": "l/min",
    "gpm": "gal/min",
}

_QUANTITY: Final = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
    (?:(?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<num>\d+)\s*/\s*(?P<den>\d+)
      |(?P<decimal>(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?))
    \s*(?P<unit>.*?)\s*""",
    re.VERBOSE | re.DOTALL,
)
_THOUSANDS: Final = re.compile(r"[1-9]\d{0,2},\d{3}")
_TRANSLATE: Final = str.maketrans({"²": "2", "³": "3", "µ": "u", "μ": "u", "″": '"', "′": "'"})


def unit_names(dimension: str) -> tuple[str, ...]:
    """Return the units a dimension is read in.

    Parameters
    ----------
    dimension : str
        A key of :data:`UNITS`.

    Returns
    -------
    tuple of str
        Names as they are to be written.
    """
    return tuple(name for name in UNITS[dimension] if name)


def parse_quantity(text: str | float, dimension: str, *, where: Where | None = None) -> float:
    """Read a quantity with its unit into internal units.

    Parameters
    ----------
    text : str, int or float
        Such as ``350 in/min``, ``1-1/4 in``, ``2,5 m``. A decimal comma is read; ``1,500``
        is refused, for it may mean either. A number without a unit is only a ratio.
    dimension : str
        A key of :data:`UNITS`: ``length`` [mm], ``speed`` [mm/s], ``acceleration`` [mm/s²],
        ``jerk`` [mm/s³], ``time`` [s], ``rotation`` [rad/s], ``area`` [mm²], ``volume``
        [mm³], ``density`` [kg/m³], ``angle`` [rad], ``ratio`` [-], ``power`` [W],
        ``flow`` [mm³/s], ``mass`` [kg].
    where : Where, optional
        The place the text comes from, for the error.

    Returns
    -------
    float
        The quantity in the internal unit; its sign and range are the caller's matter.

    Raises
    ------
    UnitInvalid
        The text is no quantity, has no or an unknown unit, or is not finite.
    """
    table = UNITS[dimension]
    known = ", ".join(unit_names(dimension))
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitInvalid(
            f"{text!r} is no quantity.",
            where=where,
            remedy=f"Write a number and a unit, one of: {known}.",
        )
    if not isinstance(text, str):
        return _bare(float(text), dimension, where)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitInvalid(
            f"{text!r} is no quantity.",
            where=where,
            remedy=f"Write a number and a unit, one of: {known}.",
        )
    value = _number(match, text, where)
    unit = match["unit"]
    if not unit:
        return _bare(value, dimension, where, text)
    factor = table.get(_canonical(unit, table))
    if factor is None:
        raise UnitInvalid(
            f"{unit!r} in {text!r} is no unit of {dimension}.",
            where=where,
            remedy=f"Known units: {known}.",
        )
    return _finite(value * factor, text, where)


def _bare(value: float, dimension: str, where: Where | None, text: str | None = None) -> float:
    shown = text if text is not None else f"{value:g}"
    if "" not in UNITS[dimension]:
        names = unit_names(dimension)
        raise UnitInvalid(
            f"{shown!r} has no unit; {'an' if dimension[0] in 'aeiou' else 'a'} {dimension} needs one.",
            where=where,
            remedy=f'Write "{shown.strip()} {names[0]}", or with one of: {", ".join(names)}.',
        )
    return _finite(value, shown, where)


def _finite(value: float, text: str, where: Where | None) -> float:
    if not math.isfinite(value):
        raise UnitInvalid(f"{text!r} is not a finite number.", where=where)
    return value


def _number(match: re.Match[str], text: str, where: Where | None) -> float:
    sign = -1.0 if match["sign"] == "-" else 1.0
    decimal = match["decimal"]
    if decimal is None:
        denominator = int(match["den"])
        if denominator == 0:
            raise UnitInvalid(f"{text!r} divides by zero.", where=where)
        return sign * (int(match["whole"] or 0) + int(match["num"]) / denominator)
    if _THOUSANDS.fullmatch(decimal):
        raise UnitInvalid(
            f"{decimal!r} in {text!r} may be a decimal comma or a thousands comma.",
            where=where,
            remedy=f"Write {decimal.replace(',', '.')} or {decimal.replace(',', '')}.",
        )
    return sign * float(decimal.replace(",", "."))


def _canonical(unit: str, table: dict[str, float]) -> str:
    name = unit.translate(_TRANSLATE).replace("^", "").replace("**", "")
    name = re.sub(r"\s+", "", name)
    for candidate in (name, name.lower()):
        candidate = _ALIASES.get(candidate, candidate)  # noqa: PLW2901  one table, two spellings
        if candidate in table:
            return candidate
    # kW, W and PS carry capitals; "KW" and "ps" mean the same, no two units differ by case.
    for candidate in table:
        if candidate.lower() == name.lower():
            return candidate
    return name


def format_length(length_mm: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write a length for a table.

    Parameters
    ----------
    length_mm : float
        Length [mm].
    system : UnitSystem or str
        ``metric`` (mm, m from 1 m) or ``imperial`` (in, ft from 10 ft).

    Returns
    -------
    str
        Number and unit.
    """
    if UnitSystem(system) is UnitSystem.METRIC:
        if abs(length_mm) < 1e3:
            return f"{length_mm:.1f} mm"
        return f"{length_mm / 1e3:.3f} m"
    if abs(length_mm) < 10.0 * _FT:
        return f"{length_mm / _IN:.2f} in"
    return f"{length_mm / _FT:.2f} ft"


def format_speed(speed_mm_per_s: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write a feed for a table.

    Parameters
    ----------
    speed_mm_per_s : float
        Speed [mm/s].
    system : UnitSystem or str
        ``metric`` (m/min) or ``imperial`` (in/min).

    Returns
    -------
    str
        Number and unit.
    """
    if UnitSystem(system) is UnitSystem.METRIC:
        return f"{speed_mm_per_s * 0.06:.2f} m/min"
    return f"{speed_mm_per_s * 60.0 / _IN:.1f} in/min"


def format_area(area_mm2: float, system: UnitSystem | str = UnitSystem.METRIC) -> str:
    """Write an area for a table.

    Parameters
    ----------
    area_mm2 : float
        Area [mm²].
    system : UnitSystem or str
        ``metric`` (m²) or ``imperial`` (sq ft).

    Returns
    -------
    str
        Number and unit.
    """
    if UnitSystem(system) is UnitSystem.METRIC:
        return f"{area_mm2 / 1e6:.3f} m²"
    return f"{area_mm2 / _FT**2:.2f} sq ft"


def format_time(time_s: float) -> str:
    """Write a time as it is read aloud.

    Parameters
    ----------
    time_s : float
        Time [s].

    Returns
    -------
    str
        ``1 h 48 min 05 s``, ``3 min 20 s`` or ``12.3 s``.
    """
    sign = "-" if time_s < 0.0 else ""
    size = abs(time_s)
    if round(size, 1) < 60.0:
        return f"{sign}{size:.1f} s"
    minutes, seconds = divmod(round(size), 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{sign}{hours} h {minutes:02d} min {seconds:02d} s"
    return f"{sign}{minutes} min {seconds:02d} s"


INSUNITS: Final[dict[int, tuple[str, float | None]]] = {
    0: ("unitless", None),
    1: ("in", _IN),
    2: ("ft", _FT),
    3: ("mile", 1_609_344.0),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1e3),
    7: ("km", 1e6),
    8: ("microinch", _IN * 1e-6),
    9: ("mil", _IN * 1e-3),
    10: ("yd", 914.4),
    11: ("angstrom", 1e-7),
    12: ("nm", 1e-6),
    13: ("um", 1e-3),
    14: ("dm", 1e2),
    15: ("dam", 1e4),
    16: ("hm", 1e5),
    17: ("Gm", 1e12),
    18: ("AU", 149_597_870_700.0 * 1e3),
    19: ("light-year", 9_460_730_472_580_800.0 * 1e3),
    20: ("parsec", 149_597_870_700.0 * 1e3 * 648_000.0 / math.pi),
    21: ("US survey ft", _SURVEY_FT),
    22: ("US survey in", _SURVEY_FT / 12.0),
    23: ("US survey yd", _SURVEY_FT * 3.0),
    24: ("US survey mile", _SURVEY_FT * 5280.0),
}
"""Code of the header variable $INSUNITS → name and millimetres (DXF reference, header
section); 0 says nothing."""

DRAWING_UNIT_NAMES: Final[dict[str, float]] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1e3,
    "in": _IN,
    "ft": _FT,
}
"""What ``--drawing-units`` accepts → millimetres."""
