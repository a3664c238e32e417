"""Times as people write them: ``1 h 48 min``, ``1h48``, ``108 min``, ``1:48``.

Every time that comes from outside is read here. What :func:`edgetime.units.format_time` prints
is read back; so is what a table prints with a colon, where the reader says which of hours,
minutes and seconds that table means.
"""

from __future__ import annotations

import re
from typing import Final

from edgetime.errors import UnitInvalid, Where
from edgetime.units import parse_quantity

H_MIN: Final = "h:min"
"""``1:48`` is an hour and 48 minutes: lengths of a shift, of its parts and of breaks."""

MIN_S: Final = "min:s"
"""``1:48`` is a minute and 48 seconds: cycles and what they are made of."""

_NUMBER: Final = r"\d+(?:[.,]\d+)?"
_PARTS: Final = re.compile(
    rf"""\s*(?:(?P<h>{_NUMBER})\s*(?:hrs?|hours?|h)(?![a-z/]))?
    \s*(?:(?P<min>{_NUMBER})\s*(?:mins?|minutes?|m)(?![a-z/]))?
    \s*(?:(?P<s>{_NUMBER})\s*(?:sec|seconds?|s)(?![a-z/]))?
    \s*(?P<last>{_NUMBER})?\s*""",
    re.VERBOSE | re.IGNORECASE,
)
_PLAIN: Final = re.compile(r"\s*[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?\s*", re.IGNORECASE)
_CLOCK: Final = re.compile(r"\s*(\d+):(\d{1,2})(?::(\d{1,2}))?\s*")
_LESS: Final = {"min": "h", "s": "min"}
_SECONDS: Final = {"h": 3600.0, "min": 60.0, "s": 1.0}


def parse_duration(
    text: str | float,
    *,
    clock: str | None = None,
    bare: str | None = None,
    usual: str = "",
    where: Where | None = None,
) -> float:
    """Read a time.

    Parameters
    ----------
    text : str, int or float
        A number and its unit (``108 min``, ``1.8 h``); hours, minutes and seconds one after the
        other (``1 h 48 min``, ``1h48``, ``3 min 20 s``), where a last number without a unit is
        of the next smaller one; or with colons (``1:48``, ``1:48:30``).
    clock : str, optional
        What one colon separates: :data:`H_MIN` or :data:`MIN_S`. Without it a time with
        one colon is refused; two colons are always hours, minutes and seconds.
    bare : str, optional
        Unit of a number without one, such as ``h``; without it such a number is refused.
    usual : str
        As in :func:`edgetime.units.parse_quantity`.
    where : Where, optional
        The place the text comes from, for the error.

    Returns
    -------
    float
        The time; its sign and range are the caller's matter [s].

    Raises
    ------
    UnitInvalid
        The text is not a time, or may mean two.
    """
    if bare is not None and _PLAIN.fullmatch(str(text)):
        return parse_quantity(f"{text} {bare}", "time", where=where)
    if isinstance(text, str):
        if ":" in text:
            return _clocked(text, clock, where)
        found = _in_parts(text, where)
        if found is not None:
            return found
    return parse_quantity(text, "time", where=where, usual=usual)


def _wrong(text: str, why: str, remedy: str, where: Where | None) -> UnitInvalid:
    return UnitInvalid(f"{text!r} {why}.", where=where, remedy=remedy)


def _clocked(text: str, clock: str | None, where: Where | None) -> float:
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise _wrong(text, "is not a time", "Write it as 1 h 48 min, 108 min or 1:48:00.", where)
    numbers = [int(n) for n in match.groups() if n is not None]
    names = ("h", "min", "s") if len(numbers) > 2 or clock == H_MIN else ("min", "s")
    if len(numbers) == 2 and clock is None:
        first, second = numbers
        raise _wrong(
            text,
            "may be hours and minutes or minutes and seconds",
            f'Write "{first} h {second} min" or "{first} min {second} s".',
            where,
        )
    for name, value in list(zip(names, numbers, strict=False))[1:]:
        if value >= 60:
            raise _wrong(text, f"has {value} {name} after the colon", "Write 0 to 59 there.", where)
    return sum(n * _SECONDS[name] for name, n in zip(names, numbers, strict=False))


def _in_parts(text: str, where: Where | None) -> float | None:
    """Read hours, minutes and seconds one after the other; None for anything else."""
    match = _PARTS.fullmatch(text)
    if match is None:
        return None
    parts = [(name, match[name]) for name in ("h", "min", "s") if match[name] is not None]
    last = match["last"]
    if last is not None and parts:
        unit = {"h": "min", "min": "s"}.get(parts[-1][0])
        if unit is None:
            raise _wrong(text, f"ends in {last} without a unit", "Write 3 min 20 s.", where)
        parts.append((unit, last))
    if len(parts) < 2:
        # One number and its unit, or none: that is a plain quantity, "m" no minutes in it.
        return None
    *whole, _ = parts
    for _, number in whole:
        if not number.isdecimal():
            raise _wrong(
                text,
                f"has a fraction, {number}, before smaller units",
                "Write whole hours and minutes, such as 1 h 48 min, or one number: 1.8 h.",
                where,
            )
    for name, number in parts[1:]:
        if float(number.replace(",", ".")) >= 60.0:
            raise _wrong(
                text,
                f"has {number} {name} after {_LESS[name]}",
                f"Write less than 60 {name} there, or one number such as 108 min.",
                where,
            )
    return sum(parse_quantity(f"{n} {name}", "time", where=where) for name, n in parts)
