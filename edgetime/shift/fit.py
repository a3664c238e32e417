"""Which of the waiting loads fill a shift best.

The choice is a 0/1 linear program (HiGHS) over a relaxation of the shift: machine and person
must each have time enough for what is chosen. Every choice it offers is run through the
simulation; one that does not end within the shift is cut off, and the program is solved
again. What remains is the best of all choices that really fit, and until then the value of
the relaxation is a bound that no choice can beat.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from edgetime.errors import PlanError
from edgetime.shift.engine import AsPlanned, run_shift
from edgetime.shift.model import ShiftLoad
from edgetime.shift.workday import Workday, check_rules
from edgetime.tooling.model import ShiftDefaults

__all__ = ["Fit", "FitTrouble", "fit_shift", "urgency", "values_of"]

_SLACK_S: Final = 1e-6
_NEVER_DAYS: Final = 60
"""A load without a due date counts as one due in so many days."""

_MM2_PER_M2: Final = 1e6
_LEAST_S: Final = 0.2
"""The first solution of the program may take so long, whatever the limit [s]."""

_SCALE: Final = 1e4
_INFEASIBLE: Final = 2
"""Status of the solver."""

_GAP: Final = 1e-9
"""The program is solved to this relative gap; values that differ by less are alike."""


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A choice of loads for a shift.

    Attributes
    ----------
    chosen : tuple of int
        Indices of the loads, in the order they are to run: by due date, then as listed.
    due_value, value : float
        Area of chosen loads that are due by this shift; area of all chosen loads, each
        weighted by its urgency [m²].
    due_bound, bound : float
        No choice has more of the first; none with as much of the first has more of the
        second [m²].
    late : tuple of int
        Loads due by this shift that are not chosen.
    seconds : float
        Spent searching [s].
    checked : int
        Choices run through the simulation.
    """

    chosen: tuple[int, ...]
    due_value: float
    value: float
    due_bound: float
    bound: float
    late: tuple[int, ...]
    seconds: float
    checked: int

    @property
    def optimal(self) -> bool:
        """Whether no choice can be better."""
        return self.gap <= 1e-6 and self.due_bound <= self.due_value * (1 + 1e-6) + 1e-9

    @property
    def gap(self) -> float:
        """By how much the best choice may exceed this one, as a share of the bound [-]."""
        return max(0.0, 1.0 - self.value / self.bound) if self.bound > 0.0 else 0.0

    @property
    def due_gap(self) -> float:
        """The same for the loads that are due [-]."""
        return max(0.0, 1.0 - self.due_value / self.due_bound) if self.due_bound > 0.0 else 0.0

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
            "late": list(self.late),
        }


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


_Limit = tuple[list[float], float]


def _limits(loads: Sequence[ShiftLoad], rules: ShiftDefaults) -> list[_Limit]:
    """Return what must hold of every choice that fits: seconds of each load, and their most.

    The machine runs loads after the first one's loading and before the last one's unloading.
    The person has the shift less the breaks. A load that shares the table with none keeps
    the machine from all others while it is handled. And each zone is taken from the first
    part laid down to the last one taken off.
    """
    free = rules.hours_s - Workday(rules.breaks).break_s(0.0, rules.hours_s)
    machine = [x.cycle_s + x.stop_s for x in loads]
    handling = [x.loading_s + x.unloading_s + rules.measure_s for x in loads]
    whole = [m + h for m, h in zip(machine, handling, strict=True)]
    need = [min(x.zones, rules.zones) for x in loads]
    alone = [n + min(need) > rules.zones for n in need]
    ends = min(x.loading_s for x in loads) + min(x.unloading_s + rules.measure_s for x in loads)
    return [
        (machine, rules.hours_s - ends),
        ([h + x.stop_s for h, x in zip(handling, loads, strict=True)], free),
        (
            [w if only else m for w, m, only in zip(whole, machine, alone, strict=True)],
            rules.hours_s,
        ),
        ([n * w for n, w in zip(need, whole, strict=True)], rules.zones * rules.hours_s),
    ]


class _Checker:
    """Runs choices through the simulation, in due order, each only once."""

    def __init__(
        self,
        loads: Sequence[ShiftLoad],
        rules: ShiftDefaults,
        pockets: int,
        known: Mapping[str, float],
    ) -> None:
        self.loads, self.rules, self.pockets, self.known = loads, rules, pockets, known
        self.order = sorted(
            range(len(loads)), key=lambda i: (loads[i].due or date.max, loads[i].ready_s, i)
        )
        self.rank = {i: n for n, i in enumerate(self.order)}
        self.seen: dict[frozenset[int], bool] = {}
        self.limits = _limits(loads, rules)

    def in_order(self, chosen: frozenset[int]) -> list[int]:
        return sorted(chosen, key=self.rank.__getitem__)

    def fits(self, chosen: frozenset[int]) -> bool:
        """Return whether all of a choice is done within the shift."""
        if not chosen:
            return True
        for seconds, most in self.limits:
            if sum(seconds[i] for i in chosen) > most + _SLACK_S:
                return False
        if chosen not in self.seen:
            outcome = run_shift(
                [self.loads[i] for i in self.in_order(chosen)],
                self.rules,
                AsPlanned(self.rules.used, self.known),
                pockets=self.pockets,
                begin_all=True,
            )
            last = max(r.done_s for r in outcome.runs)
            self.seen[chosen] = last <= self.rules.hours_s + _SLACK_S
        return self.seen[chosen]


class _Program:
    """The relaxation: choose loads of the greatest value for which there is time.

    Solved by HiGHS as SciPy carries it.
    """

    def __init__(self, count: int, limits: Sequence[_Limit]) -> None:
        self.upper = [1.0] * count
        self.rows: list[list[float]] = [seconds for seconds, _ in limits]
        self.low: list[float] = [-math.inf] * len(limits)
        self.high: list[float] = [most + _SLACK_S for _, most in limits]

    def _row(self, weights: Sequence[float], low: float, high: float) -> None:
        self.rows.append(list(weights))
        self.low.append(low)
        self.high.append(high)

    def at_least(self, weights: Sequence[float], limit: float) -> None:
        """Demand so much of something."""
        self._row(weights, limit, math.inf)

    def cut(self, chosen: frozenset[int]) -> None:
        """Forbid to choose all of these together."""
        weights = [1.0 if i in chosen else 0.0 for i in range(len(self.upper))]
        self._row(weights, -math.inf, len(chosen) - 1.0)

    def forbid(self, index: int) -> None:
        """Forbid to choose a load at all."""
        self.upper[index] = 0.0

    def solve(self, values: Sequence[float], limit_s: float) -> tuple[frozenset[int] | None, float]:
        """Return the best choice found and a bound on all."""
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415  heavy

        total = sum(values)
        # The solver stops at an absolute gap of its own; scaled, it is a small share.
        scale = _SCALE / total if total > 0.0 else 1.0
        # Without presolving: mending what it mixes up, the solver of some releases writes to
        # standard output whatever it is told, and on programs this small it saves nothing.
        found = milp(
            [-v * scale for v in values],
            integrality=1,
            bounds=Bounds(0.0, self.upper),
            constraints=LinearConstraint(self.rows, self.low, self.high),
            options={"time_limit": limit_s, "mip_rel_gap": _GAP, "presolve": False},
        )
        if found.status == _INFEASIBLE:
            return None, 0.0
        told = getattr(found, "mip_dual_bound", None)
        bound = total if told is None or not math.isfinite(told) else min(total, -told / scale)
        if found.x is None:
            return None, bound
        return frozenset(i for i, x in enumerate(found.x) if x > 0.5), bound


def _smallest(checker: _Checker, chosen: frozenset[int], until: float) -> frozenset[int]:
    """Drop loads from a choice that does not fit for as long as it still does not."""
    for i in sorted(chosen, key=lambda k: checker.loads[k].cycle_s):
        if time.monotonic() > until:
            break
        fewer = chosen - {i}
        if fewer and not checker.fits(fewer):
            chosen = fewer
    return chosen


def _greedy(
    checker: _Checker, values: Sequence[float], base: frozenset[int], until: float
) -> frozenset[int]:
    """Add loads to a choice that fits, the most value for its machine time first."""
    chosen = base

    def worth(i: int) -> float:
        return values[i] / max(1.0, checker.loads[i].cycle_s)

    for i in sorted(set(range(len(values))) - base, key=lambda k: (-worth(k), k)):
        if time.monotonic() > until:
            break
        if values[i] > 0.0 and checker.fits(chosen | {i}):
            chosen |= {i}
    return chosen


def _best(
    program: _Program,
    checker: _Checker,
    values: Sequence[float],
    start: frozenset[int],
    keeps: Callable[[frozenset[int]], bool],
    until: float,
) -> tuple[frozenset[int], float]:
    """Return the best choice that fits and a bound on all.

    ``keeps`` says whether a mended choice still holds what the program was told to hold.
    """

    def worth(chosen: frozenset[int]) -> float:
        return sum(values[i] for i in chosen)

    best = start
    bound = sum(v for v in values if v > 0.0)
    first = True
    while True:
        left = until - time.monotonic()
        if left <= 0.0 and not first:
            return best, max(bound, worth(best))
        # However little time there is, the relaxation is looked at once: it gives the bound.
        choice, limit = program.solve(values, max(left, _LEAST_S) if first else left)
        first = False
        bound = min(bound, limit)
        if choice is None or bound <= worth(best) * (1.0 + _GAP) + _GAP:
            return best, max(bound, worth(best))
        if checker.fits(choice):
            if worth(choice) > worth(best):
                best = choice
            return best, max(bound, worth(best))
        program.cut(_smallest(checker, choice, until))
        repaired = _repair(checker, values, choice, until)
        if worth(repaired) > worth(best) and keeps(repaired):
            best = repaired


def _repair(
    checker: _Checker, values: Sequence[float], choice: frozenset[int], until: float
) -> frozenset[int]:
    """Take the least worth out of a choice until it fits, then fill what is left."""
    kept = set(choice)
    order = sorted(choice, key=lambda i: (values[i] / max(1.0, checker.loads[i].cycle_s), i))
    for i in order:
        if checker.fits(frozenset(kept)):
            break
        kept.discard(i)
    return _greedy(checker, values, frozenset(kept), until)


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
    any of that, the most area weighted by urgency. The chosen loads run by due date.

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
    checker = _Checker(loads, rules, pockets, dict(used or {}))
    program = _Program(len(loads), checker.limits)
    alone = [checker.fits(frozenset({i})) for i in range(len(loads))]
    if not any(alone):
        raise FitTrouble(
            f"None of the {len(loads)} waiting loads is done within "
            f"{rules.hours_s / 3600.0:g} h by itself.",
            remedy="Make the shift longer, or split the loads.",
        )
    for i, fits in enumerate(alone):
        if not fits:
            program.forbid(i)
    due, value = values_of(loads, day)
    due_best: frozenset[int] = frozenset()
    due_bound = 0.0
    if any(due):
        start = _greedy(checker, due, frozenset(), until)
        # The second goal needs time too.
        half = began + 0.5 * time_limit_s
        due_best, due_bound = _best(program, checker, due, start, lambda _: True, half)
    due_value = sum(due[i] for i in due_best)
    if due_value > 0.0:
        program.at_least(due, due_value * (1.0 - _GAP) - _GAP)
    start = _greedy(checker, value, due_best, until)

    def keeps(choice: frozenset[int]) -> bool:
        return sum(due[i] for i in choice) >= due_value * (1.0 - _GAP) - _GAP

    chosen, bound = _best(program, checker, value, start, keeps, until)
    ran = tuple(checker.in_order(chosen))
    return Fit(
        chosen=ran,
        due_value=sum(due[i] for i in chosen),
        value=sum(value[i] for i in chosen),
        due_bound=due_bound,
        bound=bound,
        late=tuple(i for i, area in enumerate(due) if area > 0.0 and i not in chosen),
        seconds=time.monotonic() - began,
        checked=len(checker.seen),
    )
