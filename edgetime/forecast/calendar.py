"""The days on which a shop works, so that no order date falls on a day off."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.tooling import CalendarRules

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
    def of(
        cls,
        region: str = "",
        days_off: Iterable[date] = (),
        *,
        weekdays: frozenset[int] = WEEKDAYS,
        key: str = "--holidays",
        file: str | None = None,
    ) -> WorkCalendar:
        """Return a calendar, and check that its region is known.

        Parameters
        ----------
        region : str
            Country, or country and part of it, as ISO 3166 writes them: ``DE``, ``US-CA``.
        days_off : iterable of date
            The shop's own days off.
        weekdays : frozenset of int
            Days of the week worked, 0 for Monday.
        key, file : str
            Where the region is written, for messages.

        Raises
        ------
        UsageError
            The region is not known, or the library of holidays is not installed.
        """
        calendar = cls(weekdays=weekdays, days_off=frozenset(days_off), region=region)
        if region:
            try:
                calendar.public  # noqa: B018  read once for its errors
            except UsageError as error:
                error.where = Where(path=file, key=key)
                raise
        return calendar

    @classmethod
    def of_shop(
        cls,
        rules: CalendarRules,
        *,
        file: str | None = None,
        region: str = "",
        days_off: Iterable[date] = (),
    ) -> WorkCalendar:
        """Return the calendar of a shop's file, with more days off and perhaps another region.

        Parameters
        ----------
        rules : CalendarRules
            The table ``[calendar]``.
        file : str, optional
            Where it was read, for messages.
        region : str
            Whose public holidays are off instead of those the file names.
        days_off : iterable of date
            Further days off.
        """
        from edgetime.tooling.ordering import Weekday  # noqa: PLC0415  with the records

        order = list(Weekday)
        return cls.of(
            region or rules.holidays,
            (*rules.days_off, *days_off),
            weekdays=frozenset(order.index(day) for day in rules.workdays),
            key="--holidays" if region else "calendar.holidays",
            file=None if region else file,
        )

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
                remedy="Install it with: pip install 'edgetime[holidays]'. Or list the days: "
                "--day-off, or days_off in [calendar] of shop.toml.",
            ) from None
        country, _, part = self.region.upper().partition("-")
        try:
            return library.country_holidays(country, subdiv=part or None)
        except NotImplementedError:
            raise UsageError(
                f"{self.region!r} is not a region with known holidays.",
                remedy=remedy,
            ) from None

    def works(self, day: date) -> bool:
        """Return whether a day is a working day."""
        return (
            day.weekday() in self.weekdays and day not in self.days_off and day not in self.public
        )

    def on_or_after(self, day: date) -> date:
        """Return the first working day from a day on; the day itself if there is none for long."""
        for ahead in range(_LONGEST):
            if self.works(day + timedelta(days=ahead)):
                return day + timedelta(days=ahead)
        return day

    def on_or_before(self, day: date) -> date:
        """Return the last working day up to a day; the day itself if there is none for long."""
        for back in range(_LONGEST):
            if self.works(day - timedelta(days=back)):
                return day - timedelta(days=back)
        return day
