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
from edgetime.unit_table import ALIASES, FT_MM, IN_MM, SURVEY_FT_MM, UNITS
from edgetime.usual_units import proposed_unit


class UnitSystem(StrEnum):
    """Units of printed tables; JSON is always metric."""

    METRIC = "metric"
    IMPERIAL = "imperial"


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
    """
    return tuple(name for name in UNITS[dimension] if name)


def written_in_inches(text: str) -> bool | None:
    """Return whether a text is a quantity in inches or feet, None when it has no such unit.

    Parameters
    ----------
    text : str
        Such as ``350 in/min``.
    """
    match = _QUANTITY.fullmatch(text)
    unit = match["unit"] if match is not None else ""
    for dimension in ("length", "speed", "acceleration", "jerk"):
        name = _canonical(unit, UNITS[dimension])
        if unit and name in UNITS[dimension]:
            return name.startswith(("in", "ft"))
    return None


def parse_quantity(
    text: str | float,
    dimension: str,
    *,
    where: Where | None = None,
    usual: str = "",
    inches: bool = False,
) -> float:
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
    usual : str
        A key of :data:`edgetime.usual_units.USUAL`, for the unit that is proposed where it is
        missing; the dimension's own if empty.
    inches : bool
        Whether what is beside it is in inches, for the same purpose.

    Returns
    -------
    float
        The quantity in the internal unit; its sign and range are the caller's matter.

    Raises
    ------
    UnitInvalid
        The text is not a quantity, has no or an unknown unit, or is not finite.
    """
    table = UNITS[dimension]
    known = ", ".join(unit_names(dimension))
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitInvalid(
            f"{text!r} is not a quantity.",
            where=where,
            remedy=f"Write a number and a unit, one of: {known}.",
        )
    if not isinstance(text, str):
        return _bare(float(text), dimension, where, usual=usual, inches=inches)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        raise UnitInvalid(
            f"{text!r} is not a quantity.",
            where=where,
            remedy=f"Write a number and a unit, one of: {known}.",
        )
    value = _number(match, text, where)
    unit = match["unit"]
    if not unit:
        return _bare(value, dimension, where, text, usual=usual, inches=inches)
    factor = table.get(_canonical(unit, table))
    if factor is None:
        raise UnitInvalid(
            f"{unit!r} in {text!r} is not a unit of {dimension}.",
            where=where,
            remedy=f"Known units: {known}.",
        )
    return _finite(value * factor, text, where)


def _bare(
    value: float,
    dimension: str,
    where: Where | None,
    text: str | None = None,
    *,
    usual: str,
    inches: bool,
) -> float:
    shown = text if text is not None else f"{value:g}"
    if "" not in UNITS[dimension]:
        names = ", ".join(unit_names(dimension))
        unit = proposed_unit(value, usual or dimension, UNITS[dimension], inches=inches)
        write = f'Write "{shown.strip()} {unit}", or with' if unit else "Write it with"
        raise UnitInvalid(
            f"{shown!r} has no unit; {'an' if dimension[0] in 'aeiou' else 'a'} {dimension} needs "
            "one.",
            where=where,
            remedy=f"{write} one of: {names}.",
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
        candidate = ALIASES.get(candidate, candidate)  # noqa: PLW2901  one table, two spellings
        if candidate in table:
            return candidate
    # kW, W and PS carry capitals; "KW" and "ps" mean the same, no two units differ by case.
    for candidate in table:
        if candidate.lower() == name.lower():
            return candidate
    return name


def decimals(value: float, digits: int = 4) -> str:
    """Write a number with some significant digits, no exponent and no zeros behind them.

    Returns
    -------
    str
        ``2.953``, ``350``, ``12000``.
    """
    if not value:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def is_slow(speed_mm_per_s: float) -> bool:
    """Return whether a feed is written in millimetres a minute: below 1 m/min."""
    return 0.0 < abs(speed_mm_per_s) * 0.06 < 1.0 - 1e-9


def speed_text(*speeds_mm_per_s: float) -> str:
    """Write a feed, or a range of feeds, for a message.

    Messages are metric; screens put them in their own units.

    Parameters
    ----------
    *speeds_mm_per_s : float
        One speed, or the least and the greatest of a range [mm/s].

    Returns
    -------
    str
        ``75 mm/min``, from 1 m/min on ``8.89 m/min``, ``600 to 5400 mm/min``, to four digits.
    """
    slow = any(map(is_slow, speeds_mm_per_s))
    scale, unit = (60.0, "mm/min") if slow else (0.06, "m/min")
    return f"{' to '.join(decimals(v * scale) for v in speeds_mm_per_s)} {unit}"


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
    1: ("in", IN_MM),
    2: ("ft", FT_MM),
    3: ("mile", 1_609_344.0),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1e3),
    7: ("km", 1e6),
    8: ("microinch", IN_MM * 1e-6),
    9: ("mil", IN_MM * 1e-3),
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
    21: ("US survey ft", SURVEY_FT_MM),
    22: ("US survey in", SURVEY_FT_MM / 12.0),
    23: ("US survey yd", SURVEY_FT_MM * 3.0),
    24: ("US survey mile", SURVEY_FT_MM * 5280.0),
}
"""Code of the header variable $INSUNITS → name and millimetres (DXF reference, header
section); 0 says nothing."""

DRAWING_UNIT_NAMES: Final[dict[str, float]] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1e3,
    "in": IN_MM,
    "ft": FT_MM,
}
"""What ``--drawing-units`` accepts → millimetres."""
