"""Kinds of figures for money: exact decimals, never floats."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any, Final

from edgetime.durations import parse_duration
from edgetime.errors import UnitInvalid
from edgetime.tooling.kinds import Kind, Refused, not_read
from edgetime.tooling.suggest import shown

_MONEY: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([A-Z]{3})\s*")
_RATE: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([A-Z]{3})\s*/\s*(\S.*?)\s*")
_NUMBER: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(\S*)\s*")

_PER: Final[dict[str, dict[str, Decimal]]] = {
    "h": {"h": Decimal(1), "min": Decimal(60)},
    "m": {"m": Decimal(1), "ft": 1 / Decimal("0.3048"), "in": 1 / Decimal("0.0254")},
    "kWh": {"kWh": Decimal(1)},
    "m3": {"m3": Decimal(1), "l": Decimal(1000)},
    "year": {"year": Decimal(1), "month": Decimal(12)},
    "m2 year": {"m2 year": Decimal(1), "m2 month": Decimal(12)},
}
"""What a rate is per → how it may be written → factor to the rate per that. The foot and the
inch are exact by definition: 0.3048 m and 0.0254 m."""


class Money(Kind):
    """An amount and the ISO 4217 code of its currency."""

    form = 'an amount and a currency code, such as "240.00 EUR"'

    def parse(self, value: Any) -> tuple[Decimal, str]:
        """Return amount and currency."""
        match = _MONEY.fullmatch(value) if isinstance(value, str) else None
        if match is None:
            raise not_read(value, "price", self.allowed())
        return Decimal(match[1]), match[2]


class Rate(Kind):
    """An amount of money per something.

    Parameters
    ----------
    per : str
        A key of the table of units above, such as ``h`` or ``m``.
    """

    def __init__(self, per: str) -> None:
        self.per = per

    def parse(self, value: Any) -> tuple[Decimal, str]:
        """Return the amount per unit and the currency."""
        match = _RATE.fullmatch(value) if isinstance(value, str) else None
        factor = None if match is None else _PER[self.per].get(" ".join(match[3].split()))
        if match is None or factor is None:
            raise not_read(value, "rate of money", self.allowed())
        return Decimal(match[1]) * factor, match[2]

    def allowed(self) -> str:
        """Return the form."""
        first, *others = _PER[self.per]
        text = f'an amount, a currency code and what it is for, such as "45.00 EUR/{first}"'
        return f"{text}; also per {', '.join(others)}" if others else text

    def unit(self) -> str:
        """Return what the rate may be per."""
        return ", ".join(f"per {name}" for name in _PER[self.per])


class Percent(Kind):
    """A share, exact.

    Parameters
    ----------
    below, at_most : str, optional
        Bounds in per cent; ``below`` is not itself allowed.
    """

    def __init__(self, *, below: str | None = None, at_most: str | None = None) -> None:
        self._below = None if below is None else Decimal(below)
        self._most = None if at_most is None else Decimal(at_most)

    def parse(self, value: Any) -> Decimal:
        """Return the share as a fraction of one."""
        text = value if isinstance(value, str) else ""
        match = _NUMBER.fullmatch(text)
        if match is None or match[2] != "%":
            raise not_read(value, "share in per cent", self.allowed())
        percent = Decimal(match[1])
        if (self._below is not None and percent >= self._below) or (
            self._most is not None and percent > self._most
        ):
            raise self.out_of_range(value, "Correct the number.")
        return percent / 100

    def allowed(self) -> str:
        """Return the range."""
        high = ""
        if self._below is not None:
            high = f", below {self._below} %"
        elif self._most is not None:
            high = f", at most {self._most} %"
        return f'per cent, such as "15 %", at least 0 %{high}'

    def unit(self) -> str:
        """Return the sign."""
        return "%"


class Duration(Kind):
    """A time, exact, in hours."""

    form = 'a time at least 0 min and at most 24 h, such as "15 min"'

    suffix = "_h"

    def parse(self, value: Any) -> Decimal:
        """Return the time [h]."""
        hours = self._hours(value)
        if hours > 24:
            raise self.out_of_range(value)
        return hours

    def _hours(self, value: Any) -> Decimal:
        match = _NUMBER.fullmatch(value) if isinstance(value, str) else None
        per_hour = {"h": 1, "min": 60, "s": 3600}.get(match[2]) if match is not None else None
        if match is not None and per_hour is not None:
            return Decimal(match[1]) / per_hour
        try:
            seconds = parse_duration(value)
        except UnitInvalid as error:
            plain = not isinstance(value, str) or (match is not None and not match[2])
            what = f"{shown(value)} is not a time." if plain else error.what
            remedy = "" if plain else error.remedy
            raise Refused(what, remedy or f"Allowed: {self.allowed()}.") from None
        if seconds < 0.0:
            raise Refused(f"{shown(value)} is not a time.", f"Allowed: {self.allowed()}.")
        return Decimal(repr(seconds)) / 3600

    def unit(self) -> str:
        """Return the units."""
        return "s, min, h"
