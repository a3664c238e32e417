"""What holds of every shift, whatever the loads."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.shifts import HOUR, MIN, PLAN, a_load, rules

from edgetime.shift.account import figures_of
from edgetime.shift.engine import run_shift
from edgetime.shift.load_runs import ACCOUNT, Stop
from edgetime.shift.simulate import simulate_shift
from edgetime.shift.varying import Varying

minutes = st.floats(1.0, 90.0)


@st.composite
def some_loads(draw, zones=1):
    """Make loads of a few parts, some with stops and worn pieces."""
    out = []
    for n in range(draw(st.integers(1, 5))):
        cycle = draw(minutes)
        stops = tuple(
            Stop(at_s=cycle * MIN * part, seconds=draw(minutes) * MIN / 10.0, reason="flip")
            for part in sorted(draw(st.lists(st.floats(0.0, 1.0), max_size=2)))
        )
        out.append(
            a_load(
                cycle, load_min=draw(minutes) / 10.0, unload_min=draw(minutes) / 10.0,
                parts=draw(st.integers(1, 4)), name=str(n), stops=stops,
                zones=draw(st.integers(1, zones)),
                pieces=tuple((p, draw(st.none() | st.floats(0.0, 1.5))) for p in "ab"),
            )
        )  # fmt: skip
    return out


some_rules = st.builds(
    lambda zones, warm, swap, pause: rules(
        zones=zones, warm_up_s=warm * MIN, tool_swap_s=swap * MIN, measure_s=MIN,
        breaks=((2 * HOUR, pause * MIN),), cycle_spread=0.1, handling_spread=0.4,
        stoppage_every_s=2 * HOUR, stoppage_s=9 * MIN, scrap=0.1, hours_s=5 * HOUR,
    ),
    st.integers(1, 3), st.floats(0.0, 30.0), st.floats(0.0, 5.0), st.floats(1.0, 60.0),
)  # fmt: skip


def _apart(spans):
    return all(a.stop_s <= b.start_s + 1e-6 for a, b in pairwise(spans))


@settings(max_examples=60, deadline=None)
@given(some_loads(zones=3), some_rules, st.integers(0, 10**6))
def test_one_machine_one_person_and_all_time_accounted_for(loads, by, seed) -> None:
    """Neither does two things at once; nobody works in a break; the account makes the shift."""
    for draws in (PLAN, Varying(by, {}, random.Random(seed))):
        done = run_shift(loads, by, draws, pockets=1, begin_all=True)
        assert [r.load for r in done.runs] == loads
        assert _apart(done.machine)
        assert _apart(done.person)
        (start, length), *_ = by.breaks
        assert all(
            t.stop_s <= start + 1e-6 or t.start_s >= start + length - 1e-6 for t in done.person
        )
        found = figures_of(done, by)
        account = dict(found.account)
        assert tuple(account) == ACCOUNT
        assert sum(account.values()) == pytest.approx(by.hours_s)
        assert min(account.values()) >= -1e-6
        assert found.unattended_s <= account["run"] + 1e-6
        assert found.longest_unattended_s <= found.unattended_s + 1e-6
        for r in done.runs:
            assert r.loading_at_s <= r.loaded_at_s <= r.starts_s <= r.ends_s <= r.done_s


@settings(max_examples=40, deadline=None)
@given(some_loads(), some_rules)
def test_plan_keeps_within_the_shift_and_takes_its_time(loads, by) -> None:
    """Whatever is planned is done in time, attended as long as its tasks are."""
    shift = simulate_shift(loads, by, pockets=2, variation=False)
    assert shift.figures.overtime_s == 0.0
    ran = [r.load for r in shift.runs]
    assert ran == loads[: len(ran)]
    assert len(ran) + len(shift.left) == len(loads)
    swaps = sum(len(r.swapped) for r in shift.runs) * by.tool_swap_s
    tasks = sum(x.loading_s + x.stop_s + x.unloading_s + by.measure_s for x in ran)
    assert shift.figures.attended_s == pytest.approx(tasks + swaps)


@settings(max_examples=40, deadline=None)
@given(some_loads(zones=2), some_rules)
def test_running_on_makes_no_less_and_nobody_works_at_night(loads, by) -> None:
    """What is done within the shift is made either way; the account still makes the shift."""
    by, loads = replace(by, last_load="runs-on"), loads * 2
    shift = simulate_shift(loads, by, pockets=2, variation=False)
    within = replace(by, last_load="in-shift")
    assert len(shift.runs) >= len(simulate_shift(loads, within, pockets=2, variation=False).runs)
    assert all(s.start_s < by.hours_s for s in shift.person)
    assert sum(s for _, s in shift.figures.account) == pytest.approx(by.hours_s)
    assert shift.figures.runs_on == sum(r.runs_on for r in shift.runs)
    starts = {s.load: s.start_s for s in reversed(shift.machine) if s.kind == "run"}
    assert all(starts[n] <= by.hours_s + 1e-6 for n in range(len(shift.runs)))
    held = [s.stop_s for s in shift.machine if s.kind in {"stop", "swap"}]
    assert max(held, default=0.0) <= by.hours_s + 1e-6


@settings(max_examples=40, deadline=None)
@given(some_loads(zones=2), some_rules, st.sampled_from(["in-shift", "runs-on"]))
def test_a_near_load_fits_with_what_it_misses(loads, by, last) -> None:
    """A shift longer by that, breaks and all, makes one load more; a second less does not."""
    by, loads = replace(by, last_load=last), loads * 2
    shift = simulate_shift(loads, by, pockets=2, variation=False)
    near = shift.near
    assert (near is None) == (len(shift.runs) == len(loads))
    if near is None:
        return
    these = loads[: near.number]
    enough = replace(by, hours_s=by.hours_s + near.misses_s)
    assert not simulate_shift(these, enough, pockets=2, variation=False).left
    if near.misses_s > 1.0:
        short = replace(by, hours_s=by.hours_s + near.misses_s - 1.0)
        assert simulate_shift(these, short, pockets=2, variation=False).left


@settings(max_examples=30, deadline=None)
@given(some_loads())
def test_one_zone_without_breaks_is_a_sum(loads) -> None:
    """The last load is done after the sum of all times."""
    by = rules(hours_s=100 * HOUR, measure_s=MIN, tool_swap_s=2 * MIN)
    done = run_shift(loads, by, PLAN, pockets=9, begin_all=True)
    total = (
        sum(x.loading_s + x.cycle_s + x.stop_s + by.measure_s + x.unloading_s for x in loads)
        + sum(len(r.swapped) for r in done.runs) * by.tool_swap_s
    )
    assert done.runs[-1].done_s == pytest.approx(total)
