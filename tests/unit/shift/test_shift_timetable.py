"""The plan load by load: on which zones, what the operator does when, worked out on paper."""

from __future__ import annotations

from itertools import pairwise

import pytest
from support.shifts import HOUR, MIN, a_load, rules

from edgetime.shift import simulate_shift
from edgetime.shift.load_runs import PieceUse, Stop
from edgetime.shift.timetable import needed, timetable


def _shift(loads, *, pockets=10, **changes):
    return simulate_shift(loads, rules(**changes), pockets=pockets, variation=False)


def test_loads_take_turns_on_two_zones() -> None:
    """While one zone is worked on, the next load is laid on the other."""
    rows = timetable(_shift([a_load() for _ in range(4)], zones=2))
    assert [row.run.on_zones for row in rows] == [(1,), (2,), (1,), (2,)]
    assert [row.number for row in rows] == [1, 2, 3, 4]


def test_a_zone_holds_one_load_at_a_time() -> None:
    """No two loads on a zone overlap, whatever they take; long ones lie side by side."""
    loads = [a_load(20.0 + 7.0 * n, zones=1 + n % 2) for n in range(8)]
    rows = timetable(_shift(loads, zones=3))
    assert len(rows) == 8
    for zone in (1, 2, 3):
        held = [(r.bars[0].start_s, r.bars[-1].stop_s) for r in rows if zone in r.run.on_zones]
        assert all(a[1] <= b[0] + 1e-6 for a, b in pairwise(held))
    for row in rows:
        on = row.run.on_zones
        assert len(on) == row.run.load.zones
        assert on[-1] - on[0] == len(on) - 1


def test_errands_have_their_times_and_what_they_are_about() -> None:
    """Loading ends at 6 min; the tool swap takes 5, the stop after 20 min of the cycle takes 3."""
    load = a_load(
        60.0,
        pieces=(PieceUse("wheel", 0.8),),
        stops=(Stop(at_s=20 * MIN, seconds=3 * MIN, reason="flip", on=("p1", "p2")),),
    )
    (row,) = timetable(_shift([load], tool_swap_s=5 * MIN, used=0.5))
    assert [(e.kind, e.start_s, e.stop_s, e.on) for e in row.errands] == [
        ("swap", pytest.approx(6 * MIN), pytest.approx(11 * MIN), ("wheel",)),
        ("flip", pytest.approx(31 * MIN), pytest.approx(34 * MIN), ("p1", "p2")),
    ]
    kinds = [bar.kind for bar in row.bars]
    assert kinds == ["load", "swap", "run", "stop", "run", "unload"]
    # Nothing is left out between loading and unloading.
    assert row.bars[0].start_s == 0.0
    assert row.bars[-1].stop_s == pytest.approx((6 + 5 + 20 + 3 + 40 + 4) * MIN)
    assert all(a.stop_s == pytest.approx(b.start_s) for a, b in pairwise(row.bars))


def test_the_operator_is_needed_in_stretches() -> None:
    """One load: loading until 6 min, unloading from 66 to 70; a pause of 4 min is no freedom."""
    assert [(s.start_s, s.stop_s) for s in needed(_shift([a_load(60.0)]))] == [
        (0.0, pytest.approx(6 * MIN)),
        (pytest.approx(66 * MIN), pytest.approx(70 * MIN)),
    ]
    (one,) = needed(_shift([a_load(4.0)]))
    assert (one.start_s, one.stop_s) == (0.0, pytest.approx(14 * MIN))


def test_a_load_that_runs_on_ends_with_its_cycle() -> None:
    """Nobody knows when the next shift unloads it."""
    shift = _shift([a_load(60.0)], hours_s=0.5 * HOUR, last_load="runs-on")
    (row,) = timetable(shift)
    assert row.run.runs_on
    assert [bar.kind for bar in row.bars] == ["load", "run"]
    assert shift.makespan_s == pytest.approx(66 * MIN)
