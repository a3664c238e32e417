"""The search for a good choice of loads, and for the proof that none is better."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from edgetime.progress import tell
from edgetime.shift.orders import Order, Orders
from edgetime.shift.program import GAP, Program

_LEAST_S: Final = 0.2
"""The first solution of the program may take so long, whatever the limit [s]."""


@dataclass(frozen=True)
class Goal:
    """What is sought, and what must not be given up for it.

    Attributes
    ----------
    values : sequence of float
        Of each load when chosen [m²].
    keeps : callable
        Whether a choice still holds what was reached before.
    """

    values: Sequence[float]
    keeps: Callable[[Iterable[int]], bool]

    def worth(self, chosen: Iterable[int]) -> float:
        """Return the value of a choice [m²]."""
        # Always summed in the same order: equal choices are equally good.
        return sum(self.values[i] for i in sorted(chosen))


def greedy(
    orders: Orders,
    values: Sequence[float],
    base: Order,
    until: float,
    takes: Sequence[float] | None = None,
) -> Order:
    """Add loads to a choice that fits, the most value for what it takes first.

    Parameters
    ----------
    orders : Orders
        Of the waiting loads.
    values : sequence of float
        Of each load when chosen [m²].
    base : tuple of int
        The choice, in an order in which it fits.
    until : float
        No more is added then, by the monotonic clock [s].
    takes : sequence of float, optional
        What each load takes; of whatever there is least for it when None.
    """
    chosen = base
    cost = orders.takes if takes is None else takes

    def worth(i: int) -> float:
        return values[i] / cost[i]

    for i in sorted(set(range(len(values))) - set(base), key=lambda k: (-worth(k), k)):
        if time.monotonic() > until:
            break
        if values[i] > 0.0:
            chosen = orders.rule(frozenset({*chosen, i})) or chosen
    return chosen


def _exchanged(orders: Orders, goal: Goal, best: Order, until: float) -> Order:
    """Take one load out and fill what is left with others, for as long as that is better."""
    better = True
    while better:
        better = False
        for i in best:
            kept = orders.rule(frozenset(best) - {i})
            others = [0.0 if k == i else v for k, v in enumerate(goal.values)]
            # By value for what it takes, and by value alone, which leaves larger ones in.
            for by in (orders.takes, [1.0] * len(others)):
                if kept is None or time.monotonic() > until:
                    break
                trial = greedy(orders, others, kept, until, by)
                if goal.worth(trial) > goal.worth(best) + GAP and goal.keeps(trial):
                    best, better = trial, True
                    break
            if better:
                break
    return best


def _repair(orders: Orders, values: Sequence[float], choice: Iterable[int], until: float) -> Order:
    """Take the least worth out of a choice until it fits, then fill what is left."""
    kept = set(choice)
    for i in sorted(kept, key=lambda k: (values[k] / orders.takes[k], k)):
        if orders.rule(frozenset(kept)) is not None:
            break
        kept.discard(i)
    return greedy(orders, values, orders.rule(frozenset(kept)) or (), until)


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


def best_of(
    program: Program, orders: Orders, goal: Goal, start: Order, until: float
) -> tuple[Order, float]:
    """Return the best order found and a bound on all choices in all orders.

    The program gives a choice that nothing yet proved rules out, and with it a bound; the
    simulation shows whether it fits in some order. If it is proved not to, the program is
    given that as a further constraint and gives the next choice: a Benders decomposition by
    logic (Hooker and Ottosson, Mathematical Programming 96 (2003) 33-60, from memory). It ends
    with a choice that fits, and is then the best; or with the time. From the first choice on of
    which neither is shown, the bound stays; half of the time left goes on with that choice
    guessed not to fit, the rest exchanges single loads.

    Parameters
    ----------
    program : Program
        What must hold of any choice; what is proved on the way is added to it.
    orders : Orders
        Of the waiting loads.
    goal : Goal
        What is sought.
    start : tuple of int
        A choice that fits, in an order in which it does.
    until : float
        The search ends then, by the monotonic clock [s].

    Returns
    -------
    order : tuple of int
        Of the best choice found.
    bound : float
        No choice in any order has more [m²].
    """
    best = start
    bound = sum(v for v in goal.values if v > 0.0)
    sound = first = True
    began, end = time.monotonic(), until
    while True:
        left = end - time.monotonic()
        if left <= 0.0 and not first:
            break
        # The search takes what time it has at most, so the time is what is left of it.
        tell("choosing loads", int(time.monotonic() - began), max(int(until - began), 1))
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
            # A guess from here on: it leads to good choices, and no longer to a bound.
            if sound:
                sound, end = False, time.monotonic() + 0.5 * (until - time.monotonic())
            program.cut(_smallest(orders, choice, until))
        # A choice that is a little too much leads to one that fits, long before the proof.
        repaired = _repair(orders, goal.values, choice, until)
        if goal.worth(repaired) > goal.worth(best) and goal.keeps(repaired):
            best = repaired
    tell("choosing loads", 1, 1)
    if bound > goal.worth(best) * (1.0 + GAP) + GAP and time.monotonic() < until:
        best = _exchanged(orders, goal, best, until)
    return best, max(bound, goal.worth(best))
