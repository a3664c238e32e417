"""Which waiting loads fill a shift best: against trying every choice."""

from __future__ import annotations

import os
import random
from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import pytest
from support.screens import shown
from support.shifts import HOUR, MIN, PLAN, a_load, rules

from edgetime.errors import PlanError, Where
from edgetime.records import as_json
from edgetime.report.shift_plans import fit_blocks
from edgetime.shift.engine import AsPlanned, run_shift
from edgetime.shift.fit import Fit, fit_shift, urgency, values_of
from edgetime.shift.load_runs import Stop
from edgetime.shift.simulate import simulate_shift

DAY = date(2027, 3, 15)
BY = rules(
    breaks=((4 * HOUR, 30 * MIN),), measure_s=2 * MIN, tool_swap_s=3 * MIN, warm_up_s=10 * MIN
)


def _some(rng, count, zones):
    return [
        a_load(
            rng.uniform(20.0, 140.0), load_min=4.0, unload_min=3.0, parts=rng.randint(1, 7),
            name=f"job {i}", zones=rng.randint(1, zones),
            setup_s=rng.choice([0.0, 5.0, 15.0, 40.0]) * MIN,
            stops=(Stop(at_s=5 * MIN, seconds=rng.choice([2, 15]) * MIN, reason="flip"),)
            if rng.random() < 0.4 else (),
            pieces=tuple((f"t{k}", None) for k in rng.sample(range(8), 3)),
            due=rng.choice([None, DAY - timedelta(2), DAY, DAY + timedelta(1), DAY + timedelta(9)]),
        )
        for i in range(count)
    ]  # fmt: skip


def _makes(outcome, by):
    """Return whether a shift makes all loads, read off what machine and person do."""
    end = by.hours_s + 1e-6
    if by.last_load == "in-shift":
        return all(r.done_s <= end for r in outcome.runs)
    begins = {}
    for s in outcome.machine:
        if s.kind == "run":
            begins.setdefault(s.load, s.start_s)
    held = [s.stop_s for s in outcome.machine if s.kind in {"stop", "stoppage", "swap"}]
    return all(t <= end for t in [*begins.values(), *held])


def _best_of_all(loads, by, pockets, plan=PLAN):
    """Return the best value of every choice that is done within the shift in some order."""
    due, value = values_of(loads, DAY)
    best = (0.0, 0.0)
    for count in range(1, len(loads) + 1):
        for order in permutations(range(len(loads)), count):
            worth = (sum(due[i] for i in order), sum(value[i] for i in order))
            if worth <= best:
                continue
            done = run_shift([loads[i] for i in order], by, plan, pockets=pockets, begin_all=True)
            if _makes(done, by):
                best = worth
    return best


@pytest.mark.parametrize("last", ["in-shift", "runs-on"])
@pytest.mark.parametrize("seed", range(24))
def test_fit_is_the_best_of_all_choices_and_orders(seed, last) -> None:
    """What is due first, then area by urgency; ready times, breaks; one zone and two."""
    rng = random.Random(seed)
    zones = 1 + seed % 2
    by = replace(BY, zones=zones, last_load=last)
    loads = _some(rng, 5 + seed % 3 // 2, zones)
    if seed % 4 < 2:
        ready = [0.0, 0.0, 1.5, 3.0, 4.5]
        loads = [replace(x, ready_s=rng.choice(ready) * HOUR) for x in loads]
    fit = fit_shift(loads, by, pockets=4, day=DAY, time_limit_s=60.0)
    assert (fit.due_value_m2, fit.value_m2) == pytest.approx(_best_of_all(loads, by, 4))
    assert fit.optimal
    assert fit.gap <= 1e-6
    done = run_shift([loads[i] for i in fit.chosen], by, PLAN, pockets=4, begin_all=True)
    assert _makes(done, by)


@pytest.mark.parametrize("last", ["in-shift", "runs-on"])
@pytest.mark.parametrize("seed", range(12))
def test_bounds_hold_for_every_choice_and_order(seed, last, monkeypatch) -> None:
    """Where orders are not all tried: never below the best, and optimal only if so."""
    monkeypatch.setattr("edgetime.shift.orders.EXACT_LOADS", 0)
    rng = random.Random(100 + seed)
    zones = 1 + seed % 2
    by = replace(BY, zones=zones, used=0.5, last_load=last)
    plan = AsPlanned(by.used, {})
    loads = [
        replace(
            x,
            ready_s=rng.choice([0.0, 0.0, 2.0, 4.0]) * HOUR,
            pieces=tuple((p, rng.choice([None, 0.2, 0.4])) for p, _ in x.pieces),
        )
        for x in _some(rng, 5, zones)
    ]
    fit = fit_shift(loads, by, pockets=4, day=DAY, time_limit_s=20.0)
    best_due, best = _best_of_all(loads, by, 4, plan)
    assert fit.due_value_m2 <= best_due + 1e-9 <= fit.due_bound_m2 * (1 + 1e-6) + 2e-9
    if fit.due_value_m2 == pytest.approx(best_due):
        assert fit.value_m2 <= best + 1e-9 <= fit.bound_m2 * (1 + 1e-6) + 2e-9
    if fit.optimal:
        assert (fit.due_value_m2, fit.value_m2) == pytest.approx((best_due, best))


def test_a_load_that_is_not_ready_holds_back_none() -> None:
    """Due first but ready at noon: the other one is run before it, and that is said."""
    late = a_load(150.0, parts=2, name="late ready", due=DAY, ready_s=4 * HOUR)
    early = a_load(200.0, name="early bird", due=DAY + timedelta(1))
    fit = fit_shift([late, early], rules(), pockets=4, day=DAY)
    assert fit.chosen == (1, 0)
    assert fit.optimal
    assert not fit.in_turn
    shift = simulate_shift([early, late], rules(), pockets=4, variation=False)
    assert [r.load.name for r in shift.runs] == ["early bird", "late ready"]


def test_a_gap_is_a_share_of_what_is_chosen() -> None:
    """Of a bound of 77 and a value of 70 no choice has more than a tenth more."""
    fit = Fit(
        waiting=(a_load(name="one"), a_load(name="two")), day=DAY, chosen=(0,), due_value_m2=0.0,
        value_m2=70.0, due_bound_m2=5.0, bound_m2=77.0, late=(), in_turn=True, seconds=0.0,
    )  # fmt: skip
    assert fit.gap == pytest.approx(0.1)
    assert fit.due_gap is None
    assert not fit.optimal
    short = replace(fit, due_value_m2=4.0)
    assert short.due_gap == pytest.approx(0.25)
    text = " ".join(shown(fit_blocks(short)).split())
    assert "Not proven optimal." in text
    assert "Up to 25.0 % more area of what is due may fit." in text
    assert "up to 10.0 % more area weighted by urgency may fit." in text


def test_what_is_chosen_is_done_within_the_shift() -> None:
    """Forty loads: the choice, run in its order, ends in time, due loads first."""
    loads = _some(random.Random(7), 40, 1)
    fit = fit_shift(loads, BY, pockets=8, day=DAY, time_limit_s=20.0)
    done = run_shift([loads[i] for i in fit.chosen], BY, PLAN, pockets=8, begin_all=True)
    assert done.runs[-1].done_s <= BY.hours_s
    turn = sorted(fit.chosen, key=lambda i: (loads[i].due or date.max, i))
    assert fit.in_turn == (list(fit.chosen) == turn)
    assert fit.value_m2 <= fit.bound_m2 * (1.0 + 1e-9)


def test_many_loads_stop_on_time_with_a_bound() -> None:
    """Three hundred loads, half a second: an answer, a bound above it, and not much later."""
    loads = _some(random.Random(8), 300, 1)
    fit = fit_shift(loads, BY, pockets=8, day=DAY, time_limit_s=0.5)
    assert fit.chosen
    assert 0.0 < fit.value_m2 <= fit.bound_m2
    assert 0.0 <= fit.gap < 0.5
    # One step of the search may be under way when the time ends.
    assert fit.seconds < 5.0


def test_no_time_at_all_still_gives_a_choice() -> None:
    """Both together are too long by their tool swaps only; the time is over at once."""
    by = rules(tool_swap_s=HOUR, used=0.5)
    fit = fit_shift([a_load(200.0, pieces=(("t", 0.6),))] * 2, by, pockets=4, day=DAY,
                    time_limit_s=0.0)  # fmt: skip
    assert len(fit.chosen) == 1
    assert not fit.optimal
    assert fit.value_m2 < fit.bound_m2


def test_equal_questions_equal_answers() -> None:
    """Nothing of the answer depends on the clock when the search ends by itself."""
    loads = _some(random.Random(9), 12, 1)
    one, two = (fit_shift(loads, BY, pockets=6, day=DAY, time_limit_s=60.0) for _ in range(2))
    assert as_json(one) == as_json(two)


def test_letting_the_last_load_run_on_is_never_worse() -> None:
    """Whatever is done within the shift is made with either rule."""
    for seed in range(6):
        loads = _some(random.Random(200 + seed), 6, 2)
        by = replace(BY, zones=2)
        found = [
            fit_shift(loads, replace(by, last_load=last), pockets=4, day=DAY, time_limit_s=60.0)
            for last in ("in-shift", "runs-on")
        ]
        assert all(f.optimal for f in found)
        assert found[0].due_value_m2 <= found[1].due_value_m2 + 1e-9


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
    with pytest.raises(PlanError, match="load is not done within 8 h 00 min 00 s by") as told:
        fit_shift([a_load(600.0)], rules(), pockets=4, day=DAY)
    assert told.value.where.key == "--hours"
    place = Where(path="jobs.csv", line=3)
    with pytest.raises(PlanError, match="None of the 2") as told:
        fit_shift([a_load(600.0, where=place), a_load(700.0, where=place)], rules(), pockets=4,
                  day=DAY)  # fmt: skip
    assert (told.value.where.path, told.value.where.line) == ("jobs.csv", None)
    with pytest.raises(PlanError, match="not done within") as told:
        fit_shift([a_load(600.0, where=place)] * 2, rules(), pockets=4, day=DAY)
    assert told.value.where == place
    with pytest.raises(PlanError, match="No load is waiting"):
        fit_shift([], rules(), pockets=4, day=DAY)


def test_the_solver_writes_nothing_to_standard_output(monkeypatch, capfd):
    """Standard output is for the answer: what the solver says there from C would spoil JSON."""
    import scipy.optimize  # noqa: PLC0415

    solve = scipy.optimize.milp

    def talks(*args, **kwargs):
        os.write(1, b"HighsMipSolverData: a word from C")
        return solve(*args, **kwargs)

    monkeypatch.setattr(scipy.optimize, "milp", talks)
    loads = [a_load(30.0 + 7.0 * k, name=f"L{k}") for k in range(14)]
    fit_shift(loads, rules(), pockets=12, day=DAY)
    print("after")
    assert capfd.readouterr().out == "after\n"
