"""In which order a shift makes a choice of loads, and which choices it never makes.

Two answers are kept apart. That a choice fits is shown by the simulation, with the order it
ran in. That it fits in no order is shown either by trying every order, or by an easier shift
in which tools are never swapped and the person is never busy elsewhere: what is too much for
that one is too much for the real one, and stays so with any further load.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Final

from edgetime.shift.engine import made_by_s
from edgetime.shift.load_runs import SLACK_S, ShiftLoad
from edgetime.shift.workday import Workday
from edgetime.tooling import ShiftDefaults

EXACT_LOADS: Final = 7
"""Up to this many loads every order is tried."""

_EASIER_LOADS: Final = 10
"""Most loads the easier shift is calculated for; it takes 2^n n steps."""

_TRIES: Final = 60
"""Orders tried at most when there are too many loads to try all."""

Order = tuple[int, ...]


def shares_with_none(loads: Sequence[ShiftLoad], rules: ShiftDefaults) -> list[bool]:
    """Return which loads leave no zone for any other."""
    need = [min(x.zones, rules.zones) for x in loads]
    return [n + min(need) > rules.zones for n in need]


def limits(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults
) -> list[tuple[list[float], float, float]]:
    """Return what must hold of every choice that fits, whatever its order.

    The machine runs loads after the first one's set-up and loading and before the last one's
    unloading.
    Of loads that are ready late it has only the time after that. The person has the shift
    less the breaks. A load that shares the table with none keeps the machine from all others
    while it is handled. And each zone is taken from the first part laid down to the last one
    taken off.

    Where the last load may run on, each of these has more time: what one load takes of the
    machine, what one load takes of each zone, and of the person what unloading one load from
    each zone takes. For every load begins within the shift, so at most one on the machine, and
    one on a zone, goes on beyond its end.

    Returns
    -------
    list of (list of float, float, float)
        Seconds of each load, how many times each tool swap counts, and the most seconds.
    """
    hours = rules.hours_s
    free = hours - Workday(rules.breaks).break_s(0.0, hours)
    machine = [x.cycle_s + x.stop_s for x in loads]
    handling = [x.loading_s + x.unloading_s + rules.measure_s for x in loads]
    whole = [m + h for m, h in zip(machine, handling, strict=True)]
    need = [min(x.zones, rules.zones) for x in loads]
    alone = shares_with_none(loads, rules)
    table = [w if only else m for w, m, only in zip(whole, machine, alone, strict=True)]
    before = max(rules.warm_up_s, min(x.setup_s + x.loading_s for x in loads))
    after = min(x.unloading_s + rules.measure_s for x in loads)
    person = [h + x.setup_s + x.stop_s for h, x in zip(handling, loads, strict=True)]
    zones = [n * w for n, w in zip(need, whole, strict=True)]
    warm = max(0.0, rules.warm_up_s - max(x.loading_s for x in loads))
    # What one load more on the machine, and on each zone, takes after the shift.
    beyond = (0.0, 0.0, 0.0, 0.0)
    if rules.runs_on:
        after = 0.0
        unloading = max(x.unloading_s + rules.measure_s for x in loads)
        beyond = (max(machine), rules.zones * unloading, max(table), rules.zones * max(whole))
    out = [
        (machine, 1.0, hours - before - after + beyond[0]),
        (person, 1.0, free + beyond[1]),
        (table, 1.0, hours - warm + beyond[2]),
        (zones, float(min(need)), rules.zones * hours + beyond[3]),
    ]
    # Tools swapped for loads that are ready sooner take nothing of the time that is left.
    for ready in sorted({x.ready_s for x in loads if x.ready_s > 0.0}):
        late = [x.ready_s >= ready for x in loads]
        out.append(([s if yes else 0.0 for s, yes in zip(table, late, strict=True)], 0.0,
                    max(0.0, hours - ready) + beyond[2]))  # fmt: skip
    return out


class Orders:
    """Finds orders for choices of the waiting loads.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        Waiting.
    rules : ShiftDefaults
        How the shift runs.
    pockets : int
        Of the rack.
    known : mapping of str to float
        Share of their life that tools have used.
    """

    def __init__(
        self,
        loads: Sequence[ShiftLoad],
        rules: ShiftDefaults,
        pockets: int,
        known: Mapping[str, float],
    ) -> None:
        self.loads, self.rules, self.pockets = loads, rules, pockets
        self.known = known
        self.workday = Workday(rules.breaks)
        self.alone = shares_with_none(loads, rules)
        self.limits = limits(loads, rules)
        # Of whatever there is least for it [-].
        self.takes = [
            max(1e-9, *(seconds[i] / max(SLACK_S, most) for seconds, _, most in self.limits))
            for i in range(len(loads))
        ]
        self.by_rule: dict[frozenset[int], Order | None] = {}
        self.by_search: dict[frozenset[int], Order | None] = {}

    def _due(self, i: int) -> tuple[date, float, int]:
        return (self.loads[i].due or date.max, self.loads[i].ready_s, i)

    def _ready(self, i: int) -> tuple[float, date, int]:
        return (self.loads[i].ready_s, self.loads[i].due or date.max, i)

    def _zones(self, i: int) -> tuple[int, date, float, int]:
        return (self.loads[i].zones, *self._due(i))

    def in_turn(self, chosen: Iterable[int]) -> Order:
        """Return loads by due date, then by the time they are ready, then as listed."""
        return tuple(sorted(chosen, key=self._due))

    def done_s(self, order: Sequence[int]) -> float:
        """Return when the last load of an order is made, by the simulation [s]."""
        return made_by_s([self.loads[i] for i in order], self.rules, self.pockets, self.known)

    def _within(self, time_s: float) -> bool:
        return time_s <= self.rules.hours_s + SLACK_S

    def _rules(self, chosen: frozenset[int]) -> tuple[Order, ...]:
        # Loads that leave no zone for others delay them least when they follow one another.
        keys = (self._ready, self._zones)
        return (self.in_turn(chosen), *(tuple(sorted(chosen, key=key)) for key in keys))

    def rule(self, chosen: frozenset[int]) -> Order | None:
        """Return an order by a plain rule in which a choice fits: by due date, else another."""
        if not chosen:
            return ()
        if chosen not in self.by_rule:
            rules = self._rules(chosen)
            tries = () if self._too_much(chosen) else dict.fromkeys(rules)
            self.by_rule[chosen] = next((o for o in tries if self._within(self.done_s(o))), None)
        return self.by_rule[chosen]

    def search(self, chosen: frozenset[int], until: float) -> tuple[Order | None, bool]:
        """Look for an order in which a choice fits.

        Parameters
        ----------
        chosen : frozenset of int
            Indices of loads.
        until : float
            The search ends then, by the monotonic clock [s].

        Returns
        -------
        order : tuple of int or None
            The first one found.
        proved : bool
            Whether none means that there is none.
        """
        if chosen in self.by_search:
            return self.by_search[chosen], True
        order = self.rule(chosen)
        if order is None and self.never(chosen):
            self.by_search[chosen] = None
            return None, True
        if order is None and len(chosen) > EXACT_LOADS:
            return self._moved(chosen, until), False
        if order is None:
            order, ended = self._any(chosen, until)
            if order is None and not ended:
                return None, False
        self.by_search[chosen] = order
        return order, True

    def _any(self, chosen: frozenset[int], until: float) -> tuple[Order | None, bool]:
        """Try every order, leaving out those whose beginning is too long in the easier shift."""
        ended = True

        def extend(order: Order, free_s: float, left: Order) -> Order | None:
            nonlocal ended
            if not left:
                return order if self._within(self.done_s(order)) else None
            tried: set[ShiftLoad] = set()
            for i in left:
                if time.monotonic() > until:
                    ended = False
                    return None
                if self.loads[i] in tried:
                    continue
                tried.add(self.loads[i])
                then = self._after(free_s, i)
                rest = tuple(k for k in left if k != i)
                if math.isinf(then) or any(math.isinf(self._after(then, k)) for k in rest):
                    continue
                found = extend((*order, i), then, rest)
                if found is not None or not ended:
                    return found
            return None

        return extend((), 0.0, self.in_turn(chosen)), ended

    def _moved(self, chosen: frozenset[int], until: float) -> Order | None:
        """Move single loads for as long as the last one is done sooner by it."""
        order = min(self._rules(chosen), key=self.done_s)
        best, tries, better = self.done_s(order), 0, True
        while better:
            better = False
            for i in range(len(order)):
                for j in range(len(order)):
                    if i == j:
                        continue
                    if self._within(best):
                        return order
                    if tries >= _TRIES or time.monotonic() > until:
                        return None
                    tries += 1
                    rest = order[:i] + order[i + 1 :]
                    trial = (*rest[:j], order[i], *rest[j:])
                    done = self.done_s(trial)
                    if done < best - SLACK_S:
                        best, order, better = done, trial, True
        return order if self._within(best) else None

    def _after(self, free_s: float, i: int) -> float:
        """Return when the easier shift can go on after a load, infinity if that is too late.

        It grows with ``free_s`` and is never below it, so leaving a load out of an order
        makes nothing later: that is what lets one choice speak for all larger ones.
        """
        load, day = self.loads[i], self.workday
        laid = max(free_s, load.ready_s) if self.alone[i] else load.ready_s
        ready = day.end(load.ready_s, load.setup_s)
        loaded = day.end(max(laid, ready), load.loading_s)
        start = max(free_s, loaded, self.rules.warm_up_s)
        done = start + load.cycle_s + load.stop_s
        last = day.end(done, self.rules.measure_s + load.unloading_s)
        if not self._within(start + load.last_stop_s if self.rules.runs_on else last):
            return math.inf
        return last if self.alone[i] else done

    def _too_much(self, chosen: frozenset[int]) -> bool:
        """Return whether there is not time enough for a choice, whatever its order."""
        return any(
            sum(seconds[i] for i in chosen) > most + SLACK_S for seconds, _, most in self.limits
        )

    def never(self, chosen: frozenset[int]) -> bool:
        """Return whether the easier shift has no order for a choice: no larger one fits then."""
        if self._too_much(chosen):
            return True
        order = sorted(chosen, key=self._ready)
        free = 0.0
        for i in order:
            free = self._after(free, i)
        if math.isfinite(free) or len(order) > _EASIER_LOADS:
            return False
        # The soonest end of every part of the choice; one load after the other is the last.
        soonest = [math.inf] * (1 << len(order))
        soonest[0] = 0.0
        for part, free in enumerate(soonest):
            if math.isinf(free):
                continue
            for n, i in enumerate(order):
                if not part >> n & 1:
                    with_it = part | 1 << n
                    soonest[with_it] = min(soonest[with_it], self._after(free, i))
        return math.isinf(soonest[-1])

    def core(self, chosen: frozenset[int]) -> frozenset[int]:
        """Drop loads from a choice that never fits for as long as the rest still never does."""
        for i in sorted(chosen, key=lambda k: (self.loads[k].cycle_s, k)):
            fewer = chosen - {i}
            if fewer and self.never(fewer):
                chosen = fewer
        return chosen
