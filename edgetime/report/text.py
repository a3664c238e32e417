"""Figures as tables write them."""

from __future__ import annotations

import math

from edgetime.unit_table import FT_MM
from edgetime.units import UnitSystem

NONE = "-"
"""What a table shows where there is nothing."""

_MM_PER_M = 1e3


def clock(time_s: float) -> str:
    """Write a time in minutes and seconds.

    Parameters
    ----------
    time_s : float
        Time, 0 or more [s].

    Returns
    -------
    str
        ``108:05``, ``3:20``, ``0:07``; ``-`` for nothing, ``<0:01`` below half a second.
    """
    if time_s <= 0.0:
        return NONE
    seconds = round(time_s)
    if seconds == 0:
        return "<0:01"
    # Never hours: one unit in a column, and a column as narrow as can be.
    return f"{seconds // 60}:{seconds % 60:02d}"


def signed_clock(time_s: float) -> str:
    """Write a difference of times.

    Parameters
    ----------
    time_s : float
        Difference [s].

    Returns
    -------
    str
        ``+3:20``, ``-0:07``, ``0:00``.
    """
    if round(time_s) == 0:
        return "0:00"
    return ("-" if time_s < 0.0 else "+") + clock(abs(time_s))


def hours(time_s: float) -> str:
    """Write a time in hours and minutes.

    Parameters
    ----------
    time_s : float
        Time, 0 or more [s].

    Returns
    -------
    str
        ``7:30``, ``0:05``.
    """
    minutes = round(time_s / 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}"


def time_of_day(time_s: float) -> str:
    """Write a time of the day.

    Parameters
    ----------
    time_s : float
        From midnight, of that day or a later one [s].

    Returns
    -------
    str
        ``07:05``.
    """
    minutes = round(time_s / 60.0)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def share(part: float, whole: float) -> str:
    """Write a share in whole per cent.

    Parameters
    ----------
    part, whole : float
        In one unit.

    Returns
    -------
    str
        ``12``, ``<1``; ``-`` for nothing or of nothing.
    """
    if whole <= 0.0 or part <= 0.0:
        return NONE
    percent = 100.0 * part / whole
    return f"{percent:.0f}" if percent >= 0.5 else "<1"


def percent(share: float | None) -> str:
    """Write a share of life with its sign of per cent, which may be below nothing.

    Returns
    -------
    str
        ``12 %``, ``5.0 %``, ``0 %``, ``<0.1 %``, ``-3.2 %``, never "-0 %"; ``-`` for None.
    """
    return NONE if share is None else f"{percent_number(share)} %"


def percent_number(
    share: float, *, digits: int = 1, fine: float = 10.0, uncertain: bool = False
) -> str:
    """Write a share or a probability in per cent, without the sign.

    Parameters
    ----------
    share : float
        What is written [-].
    digits : int
        Digits behind the point, below ``fine`` per cent; from there one less.
    fine : float
        Where that changes [%].
    uncertain : bool
        Whether it is a probability that is never quite 0 or 1, whatever rounding makes of it.

    Returns
    -------
    str
        ``5.0``, ``12``, ``0``; ``<0.1`` for a little; ``>99.9`` for nearly certain.
    """
    value, step = 100.0 * share, 10.0**-digits
    if uncertain and value > 100.0 - 0.5 * step:
        return f">{100.0 - step:.{digits}f}"
    if uncertain or value > 0.0:
        if value < 0.5 * step:
            return f"<{step:.{digits}f}"
    elif value > -0.5 * step:
        return "0"
    rounded = abs(round(value, digits))
    return f"{value:.{digits if rounded < fine else max(digits - 1, 0)}f}"


def count(number: int, what: str) -> str:
    """Write a number of things: ``1 part``, ``2 parts``."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def holes(number: float) -> str:
    """Write a number of holes: each is drilled whole, and half a one counts as one."""
    return count(math.floor(number + 0.5), "hole")


def figure(value: float) -> str:
    """Write a number with as many digits as a reader wants, at most six.

    Returns
    -------
    str
        ``0.5``, ``1500``, ``none`` for infinity.
    """
    if value in {float("inf"), float("-inf")}:
        return "none"
    return f"{value:.0f}" if abs(value) >= 1e5 else f"{value:.6g}"


def length_header(system: UnitSystem) -> str:
    """Return the unit of a column of edge lengths."""
    return "m" if system is UnitSystem.METRIC else "ft"


def length_column(length_mm: float, system: UnitSystem) -> str:
    """Write an edge length for a column headed by :func:`length_header`.

    Parameters
    ----------
    length_mm : float
        Length [mm].
    system : UnitSystem
        Units of the table.

    Returns
    -------
    str
        Metres with three decimals, feet with two; ``-`` for nothing.
    """
    if length_mm <= 0.0:
        return NONE
    if system is UnitSystem.METRIC:
        return f"{length_mm / _MM_PER_M:.3f}"
    return f"{length_mm / FT_MM:.2f}"
