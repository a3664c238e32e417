"""Which waiting loads fill a shift best: against trying every choice."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import combinations

import pytest
from shift_builder import HOUR, MIN, PLAN, a_load, rules

from edgetime.errors import PlanError
from edgetime.shift.engine import run_shift
from edgetime.shift.fit import fit_shift, urgency, values_of
from edgetime.shift.model import Stop

DAY = date(2027, 3, 15)
BY = rules(
    breaks=((4 * HOUR, 30 * MIN),), measure_s=2 * MIN, tool_swap_s=3 * MIN, warm_up_s=10 * MIN
)


def _some(rng, count, zones):
    return [
        a_load(
            rng.uniform(20.0, 140.0), load_min=4.0, unload_min=3.0, parts=rng.randint(1, 7),
            name=f"job {i}", zones=rng.randint(1, zones),
            stops=(Stop(at_s=5 * MIN, seconds=rng.choice([2, 15]) * MIN, reason="flip"),)
            if rng.random() < 0.4 else (),
            pieces=tuple((f"t{k}", None) for k in rng.sample(range(8), 3)),
            due=rng.choice([None, DAY - timedelta(2), DAY, DAY + timedelta(1), DAY + timedelta(9)]),
        )
        for i in range(count)
    ]  # fmt: skip


def _best_of_all(loads, by, pockets):
    """Return the best value of every choice that is done within the shift, in due order."""
    due, value = values_of(loads, DAY)
    order = sorted(range(len(loads)), key=lambda i: (loads[i].due or date.max, i))
    best = (0.0, 0.0)
    for count in range(1, len(loads) + 1):
        for chosen in combinations(order, count):
            done = run_shift([loads[i] for i in chosen], by, PLAN, pockets=pockets, begin_all=True)
            if max(r.done_s for r in done.runs) <= by.hours_s + 1e-6:
                best = max(best, (sum(due[i] for i in chosen), sum(value[i] for i in chosen)))
    return best


@pytest.mark.parametrize("seed", range(16))
def test_fit_is_the_best_of_all_choices(seed) -> None:
    """What is due first, then area by urgency; with one zone and with two; and said to be."""
    rng = random.Random(seed)
    zones = 1 + seed % 2
    by = rules(**{**_changes(BY), "zones": zones})
    loads = _some(rng, 6, zones)
    fit = fit_shift(loads, by, pockets=4, day=DAY, time_limit_s=60.0)
    assert (fit.due_value, fit.value) == pytest.approx(_best_of_all(loads, by, 4))
    assert fit.optimal
    assert fit.gap <= 1e-6


def test_what_is_chosen_is_done_within_the_shift() -> None:
    """Forty loads: the choice, run in its order, ends in time, due loads first."""
    loads = _some(random.Random(7), 40, 1)
    fit = fit_shift(loads, BY, pockets=8, day=DAY, time_limit_s=20.0)
    done = run_shift([loads[i] for i in fit.chosen], BY, PLAN, pockets=8, begin_all=True)
    assert done.runs[-1].done_s <= BY.hours_s
    days = [loads[i].due or date.max for i in fit.chosen]
    assert days == sorted(days)
    assert fit.value <= fit.bound * (1.0 + 1e-9)


def test_many_loads_stop_on_time_with_a_bound() -> None:
    """Three hundred loads, half a second: an answer, a bound above it, and not much later."""
    loads = _some(random.Random(8), 300, 1)
    fit = fit_shift(loads, BY, pockets=8, day=DAY, time_limit_s=0.5)
    assert fit.chosen
    assert 0.0 < fit.value <= fit.bound
    assert 0.0 <= fit.gap < 0.5
    # One step of the search may be under way when the time ends.
    assert fit.seconds < 5.0


def test_equal_questions_equal_answers() -> None:
    """Nothing of the answer depends on the clock when the search ends by itself."""
    loads = _some(random.Random(9), 12, 1)
    one, two = (fit_shift(loads, BY, pockets=6, day=DAY, time_limit_s=60.0) for _ in range(2))
    assert one.as_dict() == two.as_dict()


def test_urgency() -> None:
    """Due or overdue 1, tomorrow a half, without a date 1/61."""
    assert urgency(DAY, DAY) == urgency(DAY - timedelta(9), DAY) == 1.0
    assert urgency(DAY + timedelta(1), DAY) == 0.5
    assert urgency(None, DAY) == pytest.approx(1.0 / 61.0)


def test_a_due_load_goes_before_larger_ones() -> None:
    """A small load due today is chosen although two large ones would fill the shift better."""
    small = a_load(200.0, name="small", due=DAY)
    large = a_load(225.0, load_min=2.0, unload_min=1.0, parts=4, due=DAY + timedelta(1))
    fit = fit_shift([large, large, small], rules(), pockets=4, day=DAY)
    assert 2 in fit.chosen
    assert len(fit.chosen) == 2
    assert fit.late == ()


def test_due_loads_that_do_not_fit_are_told() -> None:
    """Two loads of five hours are due, one of them is late."""
    fit = fit_shift([a_load(300.0, due=DAY)] * 2, rules(), pockets=4, day=DAY)
    assert len(fit.chosen) == len(fit.late) == 1


def test_nothing_fits() -> None:
    """No load fits the shift by itself, or there is none."""
    with pytest.raises(PlanError, match="None of the 1 waiting loads"):
        fit_shift([a_load(600.0)], rules(), pockets=4, day=DAY)
    with pytest.raises(PlanError, match="No load is waiting"):
        fit_shift([], rules(), pockets=4, day=DAY)


def _changes(by):
    return {n: getattr(by, n) for n in by.__dataclass_fields__}
