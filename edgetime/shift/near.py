"""The first load that a shift does not make: what it misses by, and what would let it fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from edgetime.records import written
from edgetime.shift.engine import made_by_s
from edgetime.shift.leverage import quicker_cycles, quicker_person
from edgetime.shift.load_runs import SLACK_S, ShiftLoad
from edgetime.tooling import ShiftDefaults

NEAR_S: Final = 1800.0
"""A load that misses by less is close enough to say what would let it fit [s]."""

_LESS: Final = 25
"""Cycles and tasks are not expected to be shorter by more than this [%]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """A change with which the next load would be made too, tried by running the plan.

    Attributes
    ----------
    what : str
        ``hours``: a longer shift. ``machine``, ``person``: shorter cycles, attended tasks.
        ``zones``: one more zone of the same length. ``last-load``: letting it run on.
    longer_s : float or None
        By how much longer the shift must be [s].
    less : float or None
        Share by which cycles or tasks must be shorter [-].
    """

    what: str
    longer_s: float | None = field(default=None, metadata=written(optional=True))
    less: float | None = field(default=None, metadata=written(optional=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLoad:
    """The first load that a shift does not make.

    Attributes
    ----------
    name : str
        Of the load.
    number : int
        It would be this one of the shift.
    misses_s : float
        Time that is missing, as planned [s].
    mends : tuple of Mend
        What would let it fit, each by itself; empty when much is missing.
    """

    name: str
    number: int
    misses_s: float
    mends: tuple[Mend, ...]


def next_load(
    loads: Sequence[ShiftLoad],
    made: int,
    rules: ShiftDefaults,
    pockets: int,
    known: Mapping[str, float],
) -> NextLoad | None:
    """Return what the next load misses the shift by.

    Returns
    -------
    NextLoad or None
        None when no load is left. What would let it fit is found by running the loads again
        with that one thing changed.
    """
    if made >= len(loads):
        return None
    these = loads[: made + 1]

    def late_s(loads: Sequence[ShiftLoad], by: ShiftDefaults) -> float:
        return made_by_s(loads, by, pockets, known) - by.hours_s

    def fits(loads: Sequence[ShiftLoad], by: ShiftDefaults) -> bool:
        return late_s(loads, by) <= SLACK_S

    def tries() -> Iterator[Mend]:
        yield Mend(what="hours", longer_s=misses)
        for what, quicker in (("machine", quicker_cycles), ("person", quicker_person)):
            shares = (n / 100.0 for n in range(1, _LESS + 1))
            enough = (s for s in shares if fits(*quicker(these, rules, 1.0 - s)))
            if (least := next(enough, None)) is not None:
                yield Mend(what=what, less=least)
        if fits(these, replace(rules, zones=rules.zones + 1)):
            yield Mend(what="zones")
        if not rules.runs_on and fits(these, replace(rules, last_load="runs-on")):
            yield Mend(what="last-load")

    misses = max(0.0, late_s(these, rules))
    return NextLoad(
        name=these[-1].name,
        number=len(these),
        misses_s=misses,
        mends=tuple(tries()) if misses <= NEAR_S else (),
    )
