"""Messages in the units that a screen is asked for.

Findings, notes and advice are made once, in metric, for every surface: JSON and CSV carry them
as they are. A screen in inches rewrites the quantities in them here. A number counts as a
quantity only with a blank and a unit behind it; text in quotes, behind ``=`` or in the
brackets of a part's name is the user's own text and is left alone.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Final

from edgetime.errors import Where
from edgetime.report.quantities import (
    FEET_FROM_MM,
    format_feet,
    format_length,
    format_thickness,
)
from edgetime.unit_table import FT_MM, IN_MM, UNITS
from edgetime.units import UnitSystem, decimals

_NUMBER: Final = r"-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?"
_ITEM: Final = rf"(?:\({_NUMBER}, {_NUMBER}\)|{_NUMBER})"
_JOINT: Final = r"(?: to | by | x | × |–)"
_UNITS: Final = ("mm/min", "mm/s", "m/min", "m/s", "mm²", "mm2", "cm²", "cm2", "m²", "m2",
                 "cm3", "mm", "m")  # fmt: skip
_PLAIN_UNITS: Final = ("%", "s", "min", "h", "kg", "l", "times", "kWh", "in", "ft", "sq ft")
"""Units of both systems; of numbers before them only the decimal sign changes."""

_KEPT: Final = r"""(?<!\w)'[^'\n]*'(?!\w)|"[^"\n]*"|`[^`\n]*`|\bP\d+ \([^()\n]*\)"""
_QUANTITY: Final = re.compile(
    rf"(?P<kept>{_KEPT})"
    rf"|(?<![\w.,=/-])(?P<numbers>{_ITEM}(?:{_JOINT}{_ITEM})*)"
    rf" (?P<unit>{'|'.join((*_UNITS, *_PLAIN_UNITS))})(?![\w/²³'\"])"
    r"(?P<stone>(?= (?:thick|nominal)\b))?"
)
_NUMBERS: Final = re.compile(_NUMBER)

# Metric unit → factor to the imperial unit, and its name; lengths are written by their size.
_RATES: Final[dict[str, tuple[float, str]]] = {
    **{
        name: (UNITS["speed"][name] / UNITS["speed"]["in/min"], "in/min")
        for name in ("mm/min", "mm/s", "m/min")
    },
    # Rims of wheels: marks in feet per minute are usual beside those in m/s.
    "m/s": (UNITS["speed"]["m/s"] / UNITS["speed"]["ft/min"], "ft/min"),
    **dict.fromkeys(("mm²", "mm2"), (1.0 / IN_MM**2, "sq in")),
    **dict.fromkeys(("cm²", "cm2"), (100.0 / IN_MM**2, "sq in")),
    **dict.fromkeys(("m²", "m2"), (1000000.0 / FT_MM**2, "sq ft")),
    "cm3": (1e3 / IN_MM**3, "in3"),
    "m": (1e3 / FT_MM, "ft"),
}


def _each(numbers: str, write: Callable[[float], str]) -> str:
    return _NUMBERS.sub(lambda m: write(float(m[0])), numbers)


def _lengths(numbers: str) -> str:
    """Write millimetres in inches, and dimensions of 2 ft and more in feet and inches."""
    values = [float(n) for n in _NUMBERS.findall(numbers)]
    if "(" in numbers:
        return f"{_each(numbers, lambda v: f'{v / IN_MM:.2f}')} in"
    if max(abs(v) for v in values) >= FEET_FROM_MM:
        return _each(numbers, lambda v: format_feet(v) if v else "0")
    if len(values) == 1:
        return format_length(values[0], UnitSystem.IMPERIAL)
    bare = _each(numbers, lambda v: format_length(v, UnitSystem.IMPERIAL).removesuffix(" in"))
    return f"{bare} in"


def _imperial(numbers: str, unit: str, *, nominal: bool) -> str:
    if unit == "mm" and nominal:
        return _each(numbers, lambda v: format_thickness(v, UnitSystem.IMPERIAL))
    if unit == "mm":
        return _lengths(numbers)
    if unit not in _RATES:
        return f"{numbers} {unit}"
    factor, name = _RATES[unit]
    if name in {"ft", "sq ft"}:
        return f"{_each(numbers, lambda v: f'{factor * v:.2f}')} {name}"
    digits = 4 if unit != "m/s" else 3
    return f"{_each(numbers, lambda v: decimals(factor * v, digits))} {name}"


def in_units(
    text: str,
    system: UnitSystem,
    *,
    names: Iterable[str | None] = (),
    decimal: str = ".",
) -> str:
    """Rewrite the quantities of a message for a screen.

    Returns
    -------
    str
        ``12.5 mm`` becomes ``0.492 in``, ``2500 × 600 mm`` ``8' 2-7/16" × 1' 11-5/8"``,
        ``(2500, 600) mm`` ``(98.43, 23.62) in``, ``30 mm thick`` ``3 cm thick``,
        ``75 mm/min`` ``2.953 in/min``; with a comma asked for, ``12,5 mm``.
    """
    if system is UnitSystem.METRIC and decimal == ".":
        return text

    def rewrite(match: re.Match[str]) -> str:
        if match["kept"] is not None:
            return match[0]
        numbers, unit = match["numbers"], match["unit"]
        written = f"{numbers} {unit}"
        if system is UnitSystem.IMPERIAL:
            written = _imperial(numbers, unit, nominal=match["stone"] is not None)
        # Between the commas of a place a decimal comma would be read as a third one.
        return written if "(" in numbers else re.sub(r"(?<=\d)\.(?=\d)", decimal, written)

    own = [name for name in names if name and name in text and _QUANTITY.search(name)]
    if not own:
        return _QUANTITY.sub(rewrite, text)
    apart = re.split(f"({'|'.join(map(re.escape, sorted(own, key=len, reverse=True)))})", text)
    return "".join(
        bit if number % 2 else _QUANTITY.sub(rewrite, bit) for number, bit in enumerate(apart)
    )


def place_in_units(where: Where, system: UnitSystem) -> str:
    """Write a place in the user's data, its coordinates in the units asked for.

    Parameters
    ----------
    where : Where
        The place; ``""`` when nothing of it is known.
    system : UnitSystem
        Millimetres or inches.
    """
    if system is UnitSystem.METRIC or where.x_mm is None or where.y_mm is None:
        return str(where)
    rest = str(replace(where, x_mm=None, y_mm=None))
    at = f"at ({where.x_mm / IN_MM:.2f}, {where.y_mm / IN_MM:.2f}) in"
    return f"{rest}, {at}" if rest else at
