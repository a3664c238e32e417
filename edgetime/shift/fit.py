"""Which of the waiting loads fill a shift best, in any order.

A 0/1 linear program (HiGHS) over what must hold of any choice in any order gives choices;
the simulation shows whether they fit. What is proved to be too much is kept apart from what
was only not found to fit: only the first counts for the bound. Up to seven loads are tried in
every order, so that every choice of them is proved either way.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final, NamedTuple

from edgetime.errors import PlanError, Where
from edgetime.records import HIDDEN, figure, written
from edgetime.shift.load_runs import ShiftLoad
from edgetime.shift.orders import Orders
from edgetime.shift.program import GAP, Program
from edgetime.shift.search import Goal, best_of, greedy
from edgetime.shift.workday import check_rules
from edgetime.tooling import ShiftDefaults
from edgetime.units import format_time

_NEVER_DAYS: Final = 60
"""A load without a due date counts as due in this many days."""

_MM2_PER_M2: Final = 1e6
_ALIKE: Final = 1e-6
"""Values that differ by a smaller share are alike; so exact is the solver."""


def _names(loads: Sequence[ShiftLoad]) -> list[str]:
    return [load.name for load in loads]


class FitRow(NamedTuple):
    """A waiting load in a choice.

    Attributes
    ----------
    fit : Fit
        The choice.
    number : int
        Of the load as listed, from 1.
    load : ShiftLoad
        The load.
    runs : int or None
        Its place in the running order; None when it is not chosen.
    late : bool
        Whether it is due by this shift and not chosen.
    """

    fit: Fit
    number: int
    load: ShiftLoad
    runs: int | None
    late: bool


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A choice of loads for a shift.

    Attributes
    ----------
    waiting : tuple of ShiftLoad
        The loads to choose from.
    day : date
        Of the shift.
    chosen : tuple of int
        Indices of the loads, in the order they are to run.
    due_value_m2, value_m2 : float
        Area of chosen loads that are due by this shift; area of all chosen loads, each
        weighted by its urgency [m²].
    due_bound_m2, bound_m2 : float
        No choice in any order has more of the first; none with as much of the first has more
        of the second [m²].
    late : tuple of int
        Loads due by this shift that are not chosen.
    in_turn : bool
        Whether they run by due date, then by the time they are ready, then as listed; if not,
        these loads were found to fit in another order only.
    seconds : float
        Time of the search [s]; not in the JSON form, for it is never the same twice.
    """

    waiting: tuple[ShiftLoad, ...] = field(metadata=written(write=_names))
    day: date = field(metadata=HIDDEN)
    chosen: tuple[int, ...]
    due_value_m2: float
    due_bound_m2: float
    value_m2: float
    bound_m2: float
    late: tuple[int, ...]
    in_turn: bool
    seconds: float = field(metadata=HIDDEN)

    @property
    @figure
    def optimal(self) -> bool:
        """Whether it is proved that no choice in any order is better."""
        return (
            self.bound_m2 <= self.value_m2 * (1.0 + _ALIKE) + GAP
            and self.due_bound_m2 <= self.due_value_m2 * (1.0 + _ALIKE) + GAP
        )

    @property
    @figure
    def gap(self) -> float:
        """By how much the best choice may exceed this one, as a share of this one [-]."""
        return _more(self.value_m2, self.bound_m2) or 0.0

    @property
    @figure
    def due_gap(self) -> float | None:
        """The same for the loads that are due; None when none of them is chosen [-]."""
        return _more(self.due_value_m2, self.due_bound_m2)

    @property
    def rows(self) -> tuple[FitRow, ...]:
        """Each waiting load, in the order of the list."""
        place = {i: n for n, i in enumerate(self.chosen, 1)}
        return tuple(
            FitRow(self, i + 1, load, place.get(i), i in self.late)
            for i, load in enumerate(self.waiting)
        )


def _more(value: float, bound: float) -> float | None:
    if value <= 0.0:
        return None if bound > 0.0 else 0.0
    return max(0.0, bound / value - 1.0)


class FitTrouble(PlanError):
    """No waiting load fits the shift at all."""

    code = "nothing-fits"


def urgency(due: date | None, day: date) -> float:
    """Return the weight of a load's area [-].

    Parameters
    ----------
    due : date or None
        When it must be done.
    day : date
        Of the shift.

    Returns
    -------
    float
        ``1 / (1 + days left)``: 1 when it is due on the day or before, a half when due on the
        next, 1/61 without a due date.
    """
    days = _NEVER_DAYS if due is None else max(0, (due - day).days)
    return 1.0 / (1.0 + days)


def values_of(loads: Sequence[ShiftLoad], day: date) -> tuple[list[float], list[float]]:
    """Return what each load counts when chosen.

    Returns
    -------
    due, value : list of float
        Area if it is due by the day, else 0; area weighted by urgency [m²].
    """
    due = [x.area_mm2 / _MM2_PER_M2 if x.due is not None and x.due <= day else 0.0 for x in loads]
    value = [x.area_mm2 / _MM2_PER_M2 * urgency(x.due, day) for x in loads]
    return due, value


def fit_shift(
    loads: Sequence[ShiftLoad],
    rules: ShiftDefaults,
    *,
    pockets: int,
    day: date,
    time_limit_s: float = 10.0,
    used: Mapping[str, float] | None = None,
) -> Fit:
    """Choose the waiting loads that fill a shift best; none is split.

    First as much as possible (by area) of what is due by this shift; then, without giving up
    any of that, the most area weighted by urgency. The chosen loads run by due date if they are
    done within the shift so, otherwise in the first order found in which they are.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        Waiting, one entry for each time a job is to be run.
    rules : ShiftDefaults
        How the shift runs.
    pockets : int
        Tools the rack holds.
    day : date
        Of the shift.
    time_limit_s : float
        The search ends then with the best choice found and its bound [s].
    used : mapping of str to float, optional
        As in :func:`edgetime.shift.simulate.simulate_shift`.

    Returns
    -------
    Fit
        The choice, its value and the bound.

    Raises
    ------
    FitTrouble
        No load fits by itself.
    """
    began = time.monotonic()
    until = began + time_limit_s
    rules = check_rules(rules)
    if not loads:
        raise FitTrouble("No load is waiting.", remedy="Name drawings or a job list.")
    orders = Orders(loads, rules, pockets, dict(used or {}))
    due, value = values_of(loads, day)
    first = Goal(due, lambda _: True)
    start = greedy(orders, due, (), until)
    if not start:
        # However little time there is, a load that fits by itself is found.
        start = next((o for i in range(len(loads)) if (o := orders.rule(frozenset({i})))), ())
    program = Program(loads, rules, orders.known)
    due_bound = 0.0
    if any(due):
        # The second goal needs time too.
        half = began + 0.5 * time_limit_s
        start, due_bound = best_of(program.copy(), orders, first, start, half)
    due_value = first.worth(start)
    least = due_value * (1.0 - GAP) - GAP
    if due_value > 0.0:
        program.at_least(due, least)
    second = Goal(value, lambda chosen: first.worth(chosen) >= least)
    start = greedy(orders, value, start, until)
    ran, bound = best_of(program, orders, second, start, until)
    if not ran:
        raise _none_fits(loads, rules)
    return Fit(
        waiting=tuple(loads),
        day=day,
        chosen=ran,
        due_value_m2=first.worth(ran),
        value_m2=sum(value[i] for i in sorted(ran)),
        due_bound_m2=due_bound,
        bound_m2=bound,
        late=tuple(i for i, area in enumerate(due) if area > 0.0 and i not in ran),
        in_turn=ran == orders.in_turn(ran),
        seconds=time.monotonic() - began,
    )


def _none_fits(loads: Sequence[ShiftLoad], rules: ShiftDefaults) -> FitTrouble:
    paths = {x.where.path for x in loads}
    path = paths.pop() if len(paths) == 1 else None
    # One load's line, or the list that all of them are in.
    where = Where(path=path) if len(set(loads)) > 1 else loads[0].where
    one = len(set(loads)) == 1
    what = f"{loads[0].name} is not" if one else f"None of the {len(loads)} waiting loads is"
    how = "left to run on" if rules.runs_on else "done"
    return FitTrouble(
        f"{what} {how} within {format_time(rules.hours_s)} by itself.",
        where=where if loads[0].where.line else replace(where, key="--hours"),
        remedy="Make the shift longer, or split the loads.",
    )
