"""Set-up and attendance in a shift: who waits for whom."""

from __future__ import annotations

import pytest
from support.shifts import HOUR, MIN, PLAN, a_load, rules

from edgetime.shift.engine import run_shift
from edgetime.shift.load_runs import Stop
from edgetime.shift.simulate import simulate_shift


def _spans(outcome, kind):
    """Return begin and end of each span of a kind, one after the other [min]."""
    return [t / MIN for s in outcome.person if s.kind == kind for t in (s.start_s, s.stop_s)]


def test_the_next_load_is_set_up_while_the_machine_runs() -> None:
    """Set-up 15, loading 6, cycle 60, unloading 4: only the first set-up holds the machine."""
    loads = [a_load(setup_s=15 * MIN)] * 3
    outcome = run_shift(loads, rules(), PLAN, pockets=1, begin_all=True)
    starts = [r.starts_s / MIN for r in outcome.runs]
    # 15 + 6 = 21; each next load is laid down after 60 + 4, in 6 minutes.
    assert starts == pytest.approx([21.0, 91.0, 161.0])
    assert [r.loading_at_s / MIN for r in outcome.runs] == pytest.approx([15.0, 85.0, 155.0])
    assert _spans(outcome, "set-up") == pytest.approx([0.0, 15.0, 21.0, 36.0, 91.0, 106.0])


def test_a_stop_does_not_wait_for_a_set_up_to_end() -> None:
    """A slug five minutes into the cycle is taken out at once, and the set-up goes on after it."""
    stop = Stop(at_s=5 * MIN, seconds=2 * MIN, reason="slug")
    loads = [a_load(setup_s=15 * MIN, stops=(stop,)), a_load(setup_s=15 * MIN)]
    outcome = run_shift(loads, rules(), PLAN, pockets=1, begin_all=True)
    assert outcome.runs[0].ends_s / MIN == pytest.approx(21.0 + 60.0 + 2.0)
    assert _spans(outcome, "slug") == pytest.approx([26.0, 28.0])
    assert _spans(outcome, "set-up") == pytest.approx([0.0, 15.0, 21.0, 26.0, 28.0, 38.0])


def test_attending_takes_the_person_and_not_the_machine() -> None:
    """A fifth of an hour's cycle: 12 minutes in spells of one, and the cycle is as long."""
    outcome = run_shift([a_load(attend_s=12 * MIN)], rules(), PLAN, pockets=1, begin_all=True)
    (run,) = outcome.runs
    assert run.ends_s - run.starts_s == pytest.approx(HOUR)
    spells = _spans(outcome, "attend")
    assert len(spells) == 2 * 12
    assert sum(spells[1::2]) - sum(spells[::2]) == pytest.approx(12.0)
    assert spells[0] == pytest.approx(6.0)
    assert spells[-1] <= run.ends_s / MIN


def test_a_load_that_cannot_be_done_is_not_set_up() -> None:
    """Eight hours hold seven loads of 64 minutes behind a set-up of 15; nobody prepares an eighth."""
    shift = simulate_shift([a_load(54.0, setup_s=15 * MIN)], rules(), pockets=1, fill=True,
                           variation=False)  # fmt: skip
    # 15 + n · (6 + 54 + 4) ≤ 480 → n = 7.
    assert shift.figures.loads == 7
    assert dict(shift.figures.attended)["set-up"] == pytest.approx(7 * 15 * MIN)
