"""Which of the waiting loads fill a shift best, in whatever order.

Few loads: every choice, the best first, in every order, until one is done within the shift.
Many: a 0/1 linear program (HiGHS) over what must hold of any choice in any order, whose
choices are run through the simulation. What it may not choose is told apart: what is proved
to be too much, and what was only not found to fit. Only the first counts for the bound.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Any, Final

from edgetime.errors import PlanError, Where
from edgetime.shift.model import ShiftLoad
from edgetime.shift.orders import EXACT_LOADS, Order, Orders
from edgetime.shift.program import GAP, Program
from edgetime.shift.workday import check_rules
from edgetime.tooling.model import ShiftDefaults

__all__ = ["Fit", "FitTrouble", "fit_shift", "urgency", "values_of"]

_NEVER_DAYS: Final = 60
"""A load without a due date counts as one due in so many days."""

_MM2_PER_M2: Final = 1e6
_ALIKE: Final = 1e-6
"""Values that differ by a smaller share are alike; so exact is the solver."""

_LEAST_S: Final = 0.2
"""The first solution of the program may take so long, whatever the limit [s]."""


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A choice of loads for a shift.

    Attributes
    ----------
    chosen : tuple of int
        Indices of the loads, in the order they are to run.
    due_value, value : float
        Area of chosen loads that are due by this shift; area of all chosen loads, each
        weighted by its urgency [m²].
    due_bound, bound : float
        No choice in any order has more of the first; none with as much of the first has more
        of the second [m²].
    late : tuple of int
        Loads due by this shift that are not chosen.
    in_turn : bool
        Whether they run by due date, then by the time they are ready, then as listed; if not,
        these loads were found to fit in another order only.
    seconds : float
        Spent searching [s].
    checked : int
        Orders run through the simulation.
    """

    chosen: tuple[int, ...]
    due_value: float
    value: float
    due_bound: float
    bound: float
    late: tuple[int, ...]
    in_turn: bool
    seconds: float
    checked: int

    @property
    def optimal(self) -> bool:
        """Whether it is proved that no choice in any order is better."""
        return (
            self.bound <= self.value * (1.0 + _ALIKE) + GAP
            and self.due_bound <= self.due_value * (1.0 + _ALIKE) + GAP
        )

    @property
    def gap(self) -> float:
        """By how much the best choice may exceed this one, as a share of this one [-]."""
        return _more(self.value, self.bound) or 0.0

    @property
    def due_gap(self) -> float | None:
        """The same for the loads that are due; None when none of them is chosen [-]."""
        return _more(self.due_value, self.due_bound)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; the time spent is left out, for it never is the same twice."""
        return {
            "chosen": list(self.chosen),
            "due_value_m2": self.due_value,
            "due_bound_m2": self.due_bound,
            "value_m2": self.value,
            "bound_m2": self.bound,
            "gap": self.gap,
            "due_gap": self.due_gap,
            "optimal": self.optimal,
            "in_turn": self.in_turn,
            "late": list(self.late),
        }


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

    Parameters
    ----------
    loads : sequence of ShiftLoad
        Waiting.
    day : date
        Of the shift.

    Returns
    -------
    due, value : list of float
        Area if it is due by the day, else 0; area weighted by urgency [m²].
    """
    due = [x.area_mm2 / _MM2_PER_M2 if x.due is not None and x.due <= day else 0.0 for x in loads]
    value = [x.area_mm2 / _MM2_PER_M2 * urgency(x.due, day) for x in loads]
    return due, value


@dataclass(frozen=True)
class _Goal:
    """What is sought, and what must not be given up for it."""

    values: Sequence[float]
    keeps: Callable[[Iterable[int]], bool]

    def worth(self, chosen: Iterable[int]) -> float:
        # Always summed in the same order: equal choices are equally good.
        return sum(self.values[i] for i in sorted(chosen))


def _greedy(orders: Orders, values: Sequence[float], base: Order, until: float) -> Order:
    """Add loads to a choice that fits, the most value for what it takes first."""
    chosen = base

    def worth(i: int) -> float:
        return values[i] / orders.takes[i]

    for i in sorted(set(range(len(values))) - set(base), key=lambda k: (-worth(k), k)):
        if time.monotonic() > until:
            break
        if values[i] > 0.0:
            chosen = orders.rule(frozenset({*chosen, i})) or chosen
    return chosen


def _repair(orders: Orders, values: Sequence[float], choice: Iterable[int], until: float) -> Order:
    """Take the least worth out of a choice until it fits, then fill what is left."""
    kept = set(choice)
    for i in sorted(kept, key=lambda k: (values[k] / orders.takes[k], k)):
        if orders.rule(frozenset(kept)) is not None:
            break
        kept.discard(i)
    return _greedy(orders, values, orders.rule(frozenset(kept)) or (), until)


def _smallest(orders: Orders, chosen: frozenset[int], until: float) -> frozenset[int]:
    """Drop loads from a choice with no order found for as long as the rest has none either."""
    for i in sorted(chosen, key=lambda k: (orders.loads[k].cycle_s, k)):
        if time.monotonic() > until:
            break
        fewer = chosen - {i}
        if fewer and orders.rule(fewer) is None:
            chosen = fewer
    return chosen


def _cut(program: Program, orders: Orders, choice: frozenset[int], until: float) -> bool:
    """Forbid a choice by what is proved of it; return whether anything is."""
    if orders.never(choice):
        program.cut(orders.core(choice))
        return True
    order, proved = orders.search(choice, until)
    if order is None and proved:
        program.cut_only(choice)
        return True
    return False


def _best(
    program: Program, orders: Orders, goal: _Goal, start: Order, until: float, *, proving: bool
) -> tuple[Order, float]:
    """Return the best order found and a bound on all choices.

    Parameters
    ----------
    program : Program
        It is told of choices that do not fit.
    start : tuple of int
        The best so far.
    proving : bool
        Forbid only what is proved not to fit. Otherwise the rest of it too that no order was
        found for, with all that holds it: that leads to good choices sooner, but the bound
        stays where it was before the first of these.
    """
    best = start
    bound = sum(v for v in goal.values if v > 0.0)
    sound = first = True
    while True:
        left = until - time.monotonic()
        if left <= 0.0 and not first:
            break
        # However little time there is, the program is looked at once: it gives the bound.
        choice, limit = program.solve(goal.values, max(left, _LEAST_S) if first else left)
        first = False
        if sound:
            bound = min(bound, limit)
        if choice is None or limit <= goal.worth(best) * (1.0 + GAP) + GAP:
            break
        order, _ = orders.search(choice, until)
        if order is not None:
            if goal.worth(order) > goal.worth(best) and goal.keeps(order):
                best = order
            break
        if not _cut(program, orders, choice, until):
            if proving:
                break
            sound = False
            program.cut(_smallest(orders, choice, until))
        elif not proving and not orders.never(choice):
            sound = False
            program.cut(_smallest(orders, choice, until))
        repaired = _repair(orders, goal.values, choice, until)
        if goal.worth(repaired) > goal.worth(best) and goal.keeps(repaired):
            best = repaired
    return best, max(bound, goal.worth(best))


def _of_many(
    program: Program, orders: Orders, goal: _Goal, start: Order, until: float
) -> tuple[Order, float]:
    """Return the best order found and a bound on all choices, good choices being sought first."""
    now = time.monotonic()
    best, bound = _best(
        program.copy(), orders, goal, start, now + 0.5 * (until - now), proving=False
    )
    if bound > goal.worth(best) * (1.0 + GAP) + GAP and time.monotonic() < until:
        best, limit = _best(program, orders, goal, best, until, proving=True)
        bound = max(min(bound, limit), goal.worth(best))
    return best, bound


def _of_few(
    orders: Orders, due: _Goal, value: _Goal, start: Order, until: float
) -> tuple[Order, float, float]:
    """Return the best of all choices in all orders, and bounds on both goals.

    Choices are tried from the best on, so the first that fits is the best; when the time
    ends, those not tried yet give the bounds.
    """
    count = len(orders.loads)
    every = [
        (round(due.worth(c), 9), round(value.worth(c), 9), c)
        for size in range(count + 1)
        for c in combinations(range(count), size)
    ]
    every.sort(key=lambda e: (-e[0], -e[1], len(e[2]), e[2]))
    had = (round(due.worth(start), 9), round(value.worth(start), 9))
    for n, (most_due, most, choice) in enumerate(every):
        if (most_due, most) <= had:
            break
        order, proved = orders.search(frozenset(choice), until)
        if order is not None:
            start = order
            break
        if not proved:
            # Not all that is still open can have as much due as the first of it.
            open_value = max(v for d, v, _ in every[n:] if d >= had[0])
            return start, max(due.worth(start), most_due), max(value.worth(start), open_value, most)
    return start, due.worth(start), value.worth(start)


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
        Tool pieces the rack holds.
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
    first = _Goal(due, lambda _: True)
    start = _greedy(orders, due, (), until)
    if len(loads) <= EXACT_LOADS:
        start = _greedy(orders, value, start, until)
        ran, due_bound, bound = _of_few(orders, first, _Goal(value, lambda _: True), start, until)
    else:
        program = Program(loads, rules, orders.draws.known)
        due_bound = 0.0
        if any(due):
            # The second goal needs time too.
            half = began + 0.5 * time_limit_s
            start, due_bound = _of_many(program.copy(), orders, first, start, half)
        due_value = first.worth(start)
        least = due_value * (1.0 - GAP) - GAP
        if due_value > 0.0:
            program.at_least(due, least)
        second = _Goal(value, lambda chosen: first.worth(chosen) >= least)
        start = _greedy(orders, value, start, until)
        ran, bound = _of_many(program, orders, second, start, until)
    if not ran:
        raise _none_fits(loads, rules)
    return Fit(
        chosen=ran,
        due_value=first.worth(ran),
        value=sum(value[i] for i in sorted(ran)),
        due_bound=due_bound,
        bound=bound,
        late=tuple(i for i, area in enumerate(due) if area > 0.0 and i not in ran),
        in_turn=ran == orders.in_turn(ran),
        seconds=time.monotonic() - began,
        checked=orders.runs,
    )


def _none_fits(loads: Sequence[ShiftLoad], rules: ShiftDefaults) -> FitTrouble:
    paths = {x.where.path for x in loads}
    path = paths.pop() if len(paths) == 1 else None
    # One load's line, or the list that all of them stand in.
    where = Where(path=path) if len(set(loads)) > 1 else loads[0].where
    one = len(set(loads)) == 1
    what = f"{loads[0].name} is not" if one else f"None of the {len(loads)} waiting loads is"
    return FitTrouble(
        f"{what} done within {rules.hours_s / 3600.0:g} h by itself.",
        where=where if path else Where(key="--hours"),
        remedy="Make the shift longer, or split the loads.",
    )
