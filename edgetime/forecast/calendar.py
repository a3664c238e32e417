"""The days on which a shop works, so that no order date falls on a day off."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from importlib import import_module
from typing import Any, Final

from edgetime.errors import UsageError, Where

WEEKDAYS: Final = frozenset(range(5))
"""Monday to Friday, as :meth:`datetime.date.weekday` counts."""

_LONGEST: Final = 60
"""No shop is closed for longer than this many days on end."""


@dataclass(frozen=True, eq=False)
class WorkCalendar:
    """Working days of a shop.

    Attributes
    ----------
    weekdays : frozenset of int
        Days of the week worked, 0 for Monday.
    days_off : frozenset of date
        The shop's own days off.
    region : str
        Whose public holidays are off, such as ``DE``, ``US-CA``; ``""`` for none.
    """

    weekdays: frozenset[int] = WEEKDAYS
    days_off: frozenset[date] = frozenset()
    region: str = ""

    @classmethod
    def of(cls, region: str = "", days_off: Iterable[date] = ()) -> WorkCalendar:
        """Return a calendar of Mondays to Fridays, and check that its region is known.

        Parameters
        ----------
        region : str
            Country, or country and part of it, as ISO 3166 writes them: ``DE``, ``US-CA``.
        days_off : iterable of date
            The shop's own days off.

        Raises
        ------
        UsageError
            The region is not known, or the library of holidays is not installed.
        """
        calendar = cls(days_off=frozenset(days_off), region=region)
        if region:
            calendar.public  # noqa: B018  read once for its errors
        return calendar

    @cached_property
    def public(self) -> Any:
        """The public holidays, a container of dates."""
        if not self.region:
            return ()
        remedy = "Write a country, or a country and its part: DE, DE-BY, US-CA."
        try:
            library: Any = import_module("holidays")
        except ImportError:
            raise UsageError(
                "Public holidays need the library 'holidays', which is not installed.",
                where=Where(key="--holidays"),
                remedy="Install it with: pip install 'edgetime[holidays]'. Or list the days with "
                "--day-off.",
            ) from None
        country, _, part = self.region.upper().partition("-")
        try:
            return library.country_holidays(country, subdiv=part or None)
        except NotImplementedError:
            raise UsageError(
                f"{self.region!r} is not a region with known holidays.",
                where=Where(key="--holidays"),
                remedy=remedy,
            ) from None

    def works(self, day: date) -> bool:
        """Return whether a day is a working day."""
        return (
            day.weekday() in self.weekdays and day not in self.days_off and day not in self.public
        )

    def on_or_before(self, day: date) -> date:
        """Return the last working day up to a day; the day itself if there is none for long."""
        for back in range(_LONGEST):
            if self.works(day - timedelta(days=back)):
                return day - timedelta(days=back)
        return day
