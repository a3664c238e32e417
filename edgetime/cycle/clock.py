"""The clock on the wall: when a moment of the cycle is, if cycle start is at a given time."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from edgetime.cycle.timeline import Cycle
from edgetime.errors import UsageError, Where
from edgetime.passes.pass_plan import AttendedStop

_START = re.compile(
    r"(?:(?P<day>\d{4}-\d{2}-\d{2})[T ]\s*)?(?P<h>\d{1,2}):(?P<m>\d{2})(?::(?P<s>\d{2}))?"
)

_UNDATED = datetime(2000, 1, 3)  # noqa: DTZ001  a clock on the wall has no zone
"""Used for today where no date is given; never shown."""

_LAST_YEAR = 9000
"""Far enough from the end of the calendar for any cycle."""


def _bad_start(text: str) -> UsageError:
    return UsageError(
        f"{text!r} is not a time of day.",
        where=Where(key="--start"),
        remedy="Write HH:MM or HH:MM:SS on the 24-hour clock, such as 9:10, with a date before "
        'it if wanted: "2027-01-18 9:10".',
    )


def parse_start(text: str) -> tuple[datetime, bool]:
    """Read the time of cycle start.

    Parameters
    ----------
    text : str
        ``9:10``, ``21:05:30``, ``2027-01-18 9:10`` or ``2027-01-18T09:10``.

    Returns
    -------
    (datetime, bool)
        Local time without a zone, and whether a date was given.

    Raises
    ------
    UsageError
        No such time or date.
    """
    found = _START.fullmatch(text.strip())
    if found is None:
        raise _bad_start(text)
    try:
        day = datetime.fromisoformat(found["day"]) if found["day"] else _UNDATED
        start = day.replace(
            hour=int(found["h"]), minute=int(found["m"]), second=int(found["s"] or 0)
        )
    except ValueError:
        raise _bad_start(text) from None
    if start.year > _LAST_YEAR:
        raise _bad_start(text)
    return start, found["day"] is not None


@dataclass(frozen=True, slots=True)
class WallClock:
    """Turns seconds of one cycle into local times.

    The machine waits during an attended stop, so a stop moves all that follows it.

    Attributes
    ----------
    start : datetime
        Cycle start, local time without a zone.
    dated : bool
        Whether its date is meant; else only the time of day is given.
    stops : tuple of AttendedStop
        In order.
    starts_s : tuple of float
        When each visit starts, and when the last one ends, on the machine's clock [s].
    """

    start: datetime
    dated: bool
    stops: tuple[AttendedStop, ...]
    starts_s: tuple[float, ...]

    @classmethod
    def of(cls, text: str, stops: Sequence[AttendedStop], cycle: Cycle) -> WallClock:
        """Return the clock of a cycle that starts at the time a text says.

        Parameters
        ----------
        text : str
            As :func:`parse_start` reads it.
        stops : sequence of AttendedStop
            Of the cycle's plan.
        cycle : Cycle
            The timeline.

        Raises
        ------
        UsageError
            No such time or date.
        """
        starts_s = (*(v.starts_s for v in cycle.visits), cycle.total_s)
        return cls(*parse_start(text), tuple(stops), starts_s)

    def at(self, visit: int, cycle_s: float) -> datetime:
        """Return when a moment of the cycle is.

        Parameters
        ----------
        visit : int
            The visit it is in, from 0.
        cycle_s : float
            On the machine's clock, stops excluded [s].
        """
        waited = sum(s.seconds for s in self.stops if s.before_visit <= visit)
        return self.start + timedelta(seconds=waited + cycle_s)

    @property
    def end(self) -> datetime:
        """When the program ends; a stop behind the last tool is later."""
        return self.at(len(self.starts_s) - 2, self.starts_s[-1])

    def stop_times(self) -> list[tuple[AttendedStop, datetime, datetime]]:
        """Return each attended stop with its begin and end."""
        out: list[tuple[AttendedStop, datetime, datetime]] = []
        waited = 0.0
        for stop in self.stops:
            begin = self.start + timedelta(seconds=waited + self.starts_s[stop.before_visit])
            waited += stop.seconds
            out.append((stop, begin, begin + timedelta(seconds=stop.seconds)))
        return out

    def day(self, moment: datetime) -> int:
        """Return how many midnights lie between cycle start and a moment."""
        return (moment.date() - self.start.date()).days

    def iso(self, moment: datetime) -> str:
        """Return a moment as ISO 8601 local time, with its date if one was given."""
        text = moment.isoformat(timespec="milliseconds")
        return text if self.dated else text.partition("T")[2]

    def keys(self, name: str, moment: datetime) -> dict[str, Any]:
        """Return the JSON keys of a moment: ``name_at`` and ``name_day``."""
        return {f"{name}_at": self.iso(moment), f"{name}_day": self.day(moment)}

    def show(self, moment: datetime) -> str:
        """Return a moment as tables write it: ``09:10:00``, ``00:05:12 +1`` after midnight."""
        rounded = moment + timedelta(milliseconds=500)
        day = self.day(rounded)
        return f"{rounded:%H:%M:%S}" + (f" +{day}" if day else "")

    def mark(self, document: dict[str, Any]) -> None:
        """Add the times of day to an ``edgetime.estimate/1`` document of the same cycle."""
        document |= self.keys("starts", self.start) | self.keys("ends", self.end)
        for number, row in enumerate(document["tools"]):
            row.update(self.keys("starts", self.at(number, row["starts_s"])))
        for row, (_, begin, end) in zip(document["stops"], self.stop_times(), strict=True):
            row.update(self.keys("starts", begin) | self.keys("ends", end))
        for row in document.get("runs", ()):
            for name in ("starts", "ends"):
                row.update(self.keys(name, self.at(row["visit"] - 1, row[f"{name}_s"])))
