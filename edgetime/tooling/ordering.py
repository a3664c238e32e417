"""How a shop orders: its working days, and how much of a tool it keeps."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from itertools import chain
from typing import Any

from edgetime.tooling.declare import Record, key
from edgetime.tooling.kinds import Count, Each, Kind, Names, Quantity, Refused
from edgetime.tooling.shared_kinds import TEXT
from edgetime.tooling.suggest import shown


class Weekday(StrEnum):
    """Days of the week, in the order of :meth:`datetime.date.weekday`."""

    MONDAY = "monday"
    TUESDAY = "tuesday"
    WEDNESDAY = "wednesday"
    THURSDAY = "thursday"
    FRIDAY = "friday"
    SATURDAY = "saturday"
    SUNDAY = "sunday"


class Days(Kind):
    """One day, or the first and the last of several."""

    def parse(self, value: Any) -> tuple[date, ...]:
        """Return the days."""
        if isinstance(value, date) and not isinstance(value, datetime):
            return (value,)
        if isinstance(value, str):
            first, dots, last = value.partition("..")
            with suppress(ValueError):
                begin = date.fromisoformat(first.strip())
                end = date.fromisoformat(last.strip()) if dots else begin
                if 0 <= (end - begin).days <= 366:
                    return tuple(begin + timedelta(days=k) for k in range((end - begin).days + 1))
        raise Refused(
            f"{shown(value)} is neither a day nor a span of days within a year.",
            f"Allowed: {self.allowed()}.",
        )

    def allowed(self) -> str:
        """Return the form."""
        return 'a day, or the first and last of several: "2027-12-24..2027-12-31"'


LARGEST_STOCK = Count(1, 10_000)
SHELF_LIFE = Quantity("time", above="0 d", at_most="3650 d", usual="delivery", days=True)


@dataclass(frozen=True, kw_only=True)
class CalendarRules(Record):
    """The shop's working days."""

    workdays: tuple[Weekday, ...] = key(
        Names(Weekday),
        "Days of the week on which the shop works; Monday to Friday if absent.",
        value=tuple(Weekday)[:5],
    )
    days_off: tuple[date, ...] = key(
        Each(Days()),
        "Days on which the shop is closed.",
        value=(),
        make=lambda spans: tuple(chain.from_iterable(spans)),
    )
    holidays: str = key(
        TEXT,
        "Whose public holidays are days off: a country, or a part of it, by ISO 3166, such as "
        '"DE", "DE-BY", "US-CA". Needs the library "holidays".',
        value="",
    )


@dataclass(frozen=True, kw_only=True)
class OrderingRules(Record):
    """How much of a tool the shop keeps, where the tool's file does not say."""

    largest_stock: int | None = key(
        LARGEST_STOCK,
        "Most tools of one article to keep; larger needs are ordered in stages.",
        default=None,
    )
    shelf_life_d: float | None = key(
        SHELF_LIFE,
        "How long an article keeps; no order covers more than the use of that time.",
        default=None,
    )
