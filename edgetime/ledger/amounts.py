"""Quantities as the ledger stores them: whole numbers of a small unit, so that sums are exact.

A length is kept in nanometres, a time in microseconds, an area in square micrometres, a
volume in picolitres (10⁻⁶ mm³), money in millionths of its currency and a share of life in
10⁻¹². Adding such numbers loses nothing, in whatever order they are added.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, localcontext
from typing import Any

from edgetime.errors import LedgerError, Where

_LARGEST = 2**53 - 1
"""Every whole number up to here is exact as a double too, so JSON keeps it."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A kind of quantity and how it is stored.

    Attributes
    ----------
    name : str
        Name with its unit, as in exports: ``contact_mm``.
    column : str
        Column of the database, named after the unit it holds: ``contact_nm``.
    digits : int
        Decimal places kept.
    money : bool
        Whether it is money, which is never a binary fraction.
    """

    name: str
    column: str
    digits: int
    money: bool = False

    def store(self, value: Decimal | float | str | None) -> int | None:
        """Return the whole number that stands for a value, rounded half to even.

        Half a hole counts as one, as on screens.

        Parameters
        ----------
        value : Decimal, float, str or None
            In the unit of ``name``.

        Raises
        ------
        LedgerError
            Not finite, or larger than the ledger can hold exactly.
        """
        if not value:
            # Most figures of most entries are nothing, or stand for nothing.
            return None if value is None else 0
        exact = (
            value
            if isinstance(value, Decimal)
            else Decimal(repr(value) if isinstance(value, float) else value)
        )
        with localcontext() as context:
            context.prec = 60
            whole = (
                exact.scaleb(self.digits).to_integral_value(
                    ROUND_HALF_EVEN if self.digits else ROUND_HALF_UP
                )
                if exact.is_finite()
                else Decimal(_LARGEST + 1)
            )
        if abs(whole) > _LARGEST:
            raise LedgerError(
                f"{self.name} is {value}; the ledger holds at most "
                f"{Decimal(_LARGEST).scaleb(-self.digits):.6g}.",
                where=Where(key=self.name),
                remedy="Check the figure and its unit.",
            )
        return int(whole)

    def exact(self, stored: int | None) -> Decimal | None:
        """Return the exact value of a stored number."""
        return None if stored is None else Decimal(stored).scaleb(-self.digits)

    def plain(self, stored: int | None) -> float | None:
        """Return the nearest double of a stored number."""
        return None if stored is None else stored / 10**self.digits

    def text(self, stored: int | None) -> str:
        """Write a stored number exactly, without needless zeros; ``""`` for None."""
        if stored is None:
            return ""
        sign = "-" if stored < 0 else ""
        digits = str(abs(stored)).rjust(self.digits + 1, "0")
        if not self.digits:
            return sign + digits
        whole, fraction = digits[: -self.digits], digits[-self.digits :].rstrip("0")
        return f"{sign}{whole}.{fraction}" if fraction else sign + whole


@dataclass(frozen=True, slots=True)
class Measure:
    """What a tool's life may be stated by.

    Attributes
    ----------
    by : str
        ``length``, ``volume``, ``g-ratio``, ``time``, ``holes`` or ``area``.
    used : str
        The amount that is counted.
    share : str
        The amount that holds the share of life by this measure.
    unit : str
        Unit of what is counted.
    """

    by: str
    used: str
    share: str
    unit: str


MEASURES = (
    Measure("length", "contact_mm", "share_length", "mm"),
    Measure("volume", "volume_mm3", "share_volume", "mm3"),
    Measure("g-ratio", "wheel_mm3", "share_g_ratio", "mm3"),
    Measure("time", "cut_s", "share_time", "s"),
    Measure("holes", "holes", "share_holes", "1"),
    Measure("area", "area_mm2", "share_area", "mm2"),
)

ADDED = (
    Amount("contact_mm", "contact_nm", 6),
    Amount("path_mm", "path_nm", 6),
    Amount("volume_mm3", "volume_pl", 6),
    Amount("wheel_mm3", "wheel_pl", 6),
    Amount("cut_s", "cut_us", 6),
    Amount("holes", "holes", 0),
    Amount("area_mm2", "area_um2", 6),
    *(Amount(m.share, f"{m.share}_e12", 12) for m in MEASURES),
    Amount("share_any", "share_any_e12", 12),
    Amount("cost", "cost_e6", 6, money=True),
)
"""What a balance is the sum of. ``share_any`` counts towards every measure alike."""

STATED = (
    Amount("thickness_mm", "thickness_nm", 6),
    Amount("diameter_mm", "diameter_nm", 6),
    Amount("restored", "restored_e12", 12),
    Amount("price", "price_e6", 6, money=True),
)
"""What an entry states and nobody adds up."""

CONSUMED = (
    Amount("water_l", "water_l_e6", 6),
    Amount("electricity_kwh", "electricity_kwh_e6", 6),
)
"""What a whole run consumed beside its tools."""

AMOUNTS = (*STATED, *ADDED)
BY_NAME = {amount.name: amount for amount in AMOUNTS}

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")


def as_utc(at: datetime | None) -> datetime:
    """Return a time in UTC; now when there is none.

    Parameters
    ----------
    at : datetime or None
        With its time zone.

    Raises
    ------
    LedgerError
        A time without a zone: nobody could say when that was.
    """
    if at is None:
        return datetime.now(UTC)
    if at.tzinfo is None:
        raise LedgerError(
            f"{at.isoformat()} has no time zone.",
            where=Where(key="at"),
            remedy="State the zone, such as 2026-03-02T14:00+01:00, or Z for UTC.",
        )
    return at.astimezone(UTC)


def time_text(at: datetime) -> str:
    """Write a UTC time with microseconds; such texts sort as the times do."""
    return at.strftime("%Y-%m-%dT%H:%M:%S.%f").rjust(26, "0") + "Z"


def local_text(at: datetime) -> str:
    """Write a time as this computer's clock shows it, with the zone."""
    with suppress(OverflowError):
        at = at.astimezone()
    return f"{at:%Y-%m-%d %H:%M %Z}"


def read_time(text: Any) -> datetime:
    """Read what :func:`time_text` wrote.

    Raises
    ------
    ValueError
        Another form, or no such time.
    """
    if isinstance(text, str) and _TIME.fullmatch(text):
        with suppress(ValueError):
            return datetime.fromisoformat(text[:-1]).replace(tzinfo=UTC)
    raise ValueError(f"{text!r} is not a UTC time such as 2026-03-02T13:00:00.000000Z")
