"""The units of the trade and their factors to the internal ones."""

from __future__ import annotations

import math
from typing import Final

# Exact by definition: the international yard and pound agreement of 1959 makes the inch
# 25.4 mm and the pound 0.45359237 kg; the US survey foot is 1200/3937 m.
IN_MM: Final = 25.4
FT_MM: Final = 304.8
_LB: Final = 0.45359237
SURVEY_FT_MM: Final = 1.2e6 / 3937.0
_US_GALLON_MM3: Final = 231.0 * IN_MM**3
# The mechanical horsepower, 550 ft·lbf/s, and the metric one, 75 kgf·m/s.
_STANDARD_GRAVITY: Final = 9.80665
_HP_W: Final = 550.0 * 0.3048 * _LB * _STANDARD_GRAVITY
_PS_W: Final = 75.0 * _STANDARD_GRAVITY

UNITS: Final[dict[str, dict[str, float]]] = {
    "length": {"mm": 1.0, "cm": 10.0, "m": 1e3, "km": 1e6, "um": 1e-3, "in": IN_MM, "ft": FT_MM},
    "speed": {
        "mm/s": 1.0,
        "mm/min": 1.0 / 60.0,
        "m/s": 1e3,
        "m/min": 1e3 / 60.0,
        "in/s": IN_MM,
        "in/min": IN_MM / 60.0,
        "ft/s": FT_MM,
        "ft/min": FT_MM / 60.0,
    },
    "acceleration": {"mm/s2": 1.0, "m/s2": 1e3, "in/s2": IN_MM, "ft/s2": FT_MM},
    "jerk": {"mm/s3": 1.0, "m/s3": 1e3, "in/s3": IN_MM, "ft/s3": FT_MM},
    "time": {
        "s": 1.0,
        "ms": 1e-3,
        "min": 60.0,
        "h": 3600.0,
        "d": 86400.0,
        "week": 604800.0,
    },
    "time per length": {
        "s/m": 1e-3,
        "min/m": 0.06,
        "h/m": 3.6,
        "s/ft": 1.0 / FT_MM,
        "min/ft": 60.0 / FT_MM,
        "h/ft": 3600.0 / FT_MM,
    },
    "rotation": {
        "rpm": math.tau / 60.0,
        "1/min": math.tau / 60.0,
        "1/s": math.tau,
        "rad/s": 1.0,
    },
    "area": {"mm2": 1.0, "cm2": 1e2, "m2": 1e6, "in2": IN_MM**2, "ft2": FT_MM**2},
    "volume": {
        "mm3": 1.0,
        "cm3": 1e3,
        "m3": 1e9,
        "ml": 1e3,
        "l": 1e6,
        "in3": IN_MM**3,
        "ft3": FT_MM**3,
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

ALIASES: Final[dict[str, str]] = {
    '"': "in",
    "inch": "in",
    "inches": "in",
    "'": "ft",
    "foot": "ft",
    "feet": "ft",
    "ipm": "in/min",
    "fpm": "ft/min",
    "sec": "s",
    "second": "s",
    "seconds": "s",
    "mins": "min",
    "minute": "min",
    "minutes": "min",
    "hr": "h",
    "hrs": "h",
    "hour": "h",
    "hours": "h",
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
"""Spellings that people use, by the unit they mean."""
