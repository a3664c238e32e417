"""Attended work in words, named alike on every screen."""

from __future__ import annotations

from collections.abc import Iterable

from edgetime.labour import KINDS
from edgetime.report.text import clock
from edgetime.units import format_time


def tasks_text(tasks: Iterable[tuple[str, float]]) -> str:
    """Write the sum of attended work and what it is made of.

    Parameters
    ----------
    tasks : iterable of (str, float)
        Kind, or step at the bench, and time [s].
    """
    done = [(kind, seconds) for kind, seconds in tasks if seconds > 0.0]
    if not done:
        return "none"
    named = (
        f"{KINDS[kind].title if kind in KINDS else kind} {clock(seconds)}" for kind, seconds in done
    )
    return f"{format_time(sum(s for _, s in done))}: {', '.join(named)}"
