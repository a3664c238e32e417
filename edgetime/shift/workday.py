"""When the person works: the shift without its breaks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from edgetime.errors import CatalogueInvalid, EdgetimeError, UsageError, Where
from edgetime.tooling import ShiftDefaults


class Workday:
    """Arithmetic of working time that pauses in breaks.

    Parameters
    ----------
    breaks : sequence of (float, float)
        Begin and length of each [s], in order, apart from one another.
    """

    def __init__(self, breaks: Sequence[tuple[float, float]]) -> None:
        self._breaks = tuple((at, at + length) for at, length in sorted(breaks))

    def stretches(self, start_s: float, work_s: float) -> list[tuple[float, float]]:
        """Return the intervals in which work begun at ``start_s`` gets done.

        Parameters
        ----------
        start_s : float
            When the person is free for it [s].
        work_s : float
            How much there is [s].

        Returns
        -------
        list of (float, float)
            Begin and end of each [s]; the last one's end is when the work is done.
        """
        out: list[tuple[float, float]] = []
        now, left = start_s, work_s
        for begin, end in self._breaks:
            if now >= end:
                continue
            room = begin - now
            if room > 0.0:
                if left <= room:
                    break
                out.append((now, begin))
                left -= room
            now = end
        out.append((now, now + left))
        return out

    def end(self, start_s: float, work_s: float) -> float:
        """Return when work begun at ``start_s`` is done [s]."""
        return self.stretches(start_s, work_s)[-1][1] if work_s > 0.0 else start_s

    def break_s(self, start_s: float, stop_s: float) -> float:
        """Return the seconds of breaks between two times [s]."""
        return sum(max(0.0, min(end, stop_s) - max(begin, start_s)) for begin, end in self._breaks)


_MOST_HOURS = 24.0
_MOST_ZONES = 8
"""As the shop's file."""

_KEYS = {"--hours": "shift.hours", "--zones": "shift.zones", "--break": "shift.breaks"}


def check_rules(rules: ShiftDefaults, file: str = "") -> ShiftDefaults:
    """Refuse shift rules that contradict one another.

    Parameters
    ----------
    rules : ShiftDefaults
        From ``shop.toml``, or changed by options.
    file : str
        Where they are written; options of the command when empty.

    Raises
    ------
    UsageError
        No hours, no zone, or a break that is outside the shift or runs into another;
        CatalogueInvalid when a file says so.
    """

    def refuse(option: str, what: str, remedy: str) -> EdgetimeError:
        if not file:
            return UsageError(what, where=Where(key=option), remedy=remedy)
        return CatalogueInvalid(what, where=Where(path=file, key=_KEYS[option]), remedy=remedy)

    hours, zones = f"The shift has {rules.hours_s / 3600.0:g} hours", f"The table has {rules.zones}"
    if not (math.isfinite(rules.hours_s) and rules.hours_s > 0.0):
        what = f"{hours}; it must be longer than 0."
        raise refuse("--hours", what, "Write its length, such as --hours '8 h'.")
    if rules.hours_s > _MOST_HOURS * 3600.0:
        what = f"{hours}; the most is {_MOST_HOURS:g}."
        raise refuse("--hours", what, "Plan longer periods one shift at a time.")
    if rules.zones > _MOST_ZONES:
        what = f"{zones} zones; the most is {_MOST_ZONES}."
        raise refuse("--zones", what, f"Write a number from 1 to {_MOST_ZONES}.")
    if rules.zones < 1:
        what = f"{zones} zones; the least is 1."
        raise refuse("--zones", what, "Write 1 if nothing is loaded during the cycle.")
    last = 0.0
    for after, length in sorted(rules.breaks):
        text = f"The break of {length / 60.0:g} min after {after / 3600.0:g} h"
        if length <= 0.0:
            remedy = "Write a length above zero, or give no break with --no-breaks."
            raise refuse("--break", f"{text} has no length.", remedy)
        if after < 0.0 or after + length > rules.hours_s:
            what = f"{text} is outside the shift of {rules.hours_s / 3600.0:g} h."
            remedy = "Let it begin and end within the shift, or give none with --no-breaks."
            raise refuse("--break", what, remedy)
        if after < last:
            what = f"{text} begins before the previous break ends, at {last / 3600.0:g} h."
            raise refuse("--break", what, "Leave time between them, or write them as one.")
        last = after + length
    return replace(rules, breaks=tuple(sorted(rules.breaks)))
