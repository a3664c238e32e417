"""A shift as planned: worked out on paper, event by event."""

from __future__ import annotations

import pytest
from support.shifts import HOUR, MIN, a_load, rules

from edgetime.errors import PlanError, UsageError
from edgetime.shift.engine import run_shift
from edgetime.shift.load_runs import Stop
from edgetime.shift.simulate import simulate_shift


def _plan(loads, by, *, pockets=20, **more):
    return simulate_shift(loads, by, pockets=pockets, variation=False, **more)


def test_one_load_by_hand() -> None:
    """Load 6, cycle 60, measure 2, unload 4 minutes: each time is where it must be."""
    shift = _plan([a_load()], rules(measure_s=2 * MIN))
    (run,) = shift.runs
    times = (run.loading_at_s, run.loaded_at_s, run.starts_s, run.ends_s, run.done_s)
    assert times == pytest.approx([0.0, 6 * MIN, 6 * MIN, 66 * MIN, 72 * MIN])
    assert dict(shift.figures.attended) == pytest.approx(
        {"load": 6 * MIN, "measure": 2 * MIN, "unload": 4 * MIN}
    )
    assert shift.figures.unattended_s == pytest.approx(60 * MIN)
    assert shift.figures.longest_unattended_at_s == pytest.approx(6 * MIN)


def test_the_machine_waits_for_the_person_at_a_stop() -> None:
    """Two zones: the stop at 10 min comes while a part of the next load is being fixed."""
    first = a_load(60.0, load_min=5.0, stops=(Stop(at_s=10 * MIN, seconds=3 * MIN, reason="flip"),))
    second = a_load(60.0, load_min=4.0, parts=5)
    shift = _plan([first, second], rules(zones=2))
    # Loaded at 5, stop due at 15; parts of the second from 5 to 9, 13, 17: the stop begins at
    # 17 and ends at 20, the cycle has 50 min left.
    stop = next(s for s in shift.person if s.kind == "flip")
    assert (stop.start_s, stop.stop_s) == pytest.approx((17 * MIN, 20 * MIN))
    held = next(s for s in shift.machine if s.kind == "stop")
    assert (held.start_s, held.stop_s) == pytest.approx((15 * MIN, 20 * MIN))
    assert shift.runs[0].ends_s == pytest.approx(70 * MIN)
    assert shift.runs[1].loaded_at_s == pytest.approx((5 + 20 + 3) * MIN)


def test_the_machine_runs_through_a_break() -> None:
    """A cycle goes on; loading pauses and goes on after it."""
    by = rules(breaks=((30 * MIN, 30 * MIN),))
    through = _plan([a_load()], by)
    assert through.runs[0].ends_s == pytest.approx(66 * MIN)
    paused = _plan([a_load(load_min=40.0)], by)
    assert paused.runs[0].loaded_at_s == pytest.approx(70 * MIN)
    assert dict(paused.figures.account)["break"] == pytest.approx(30 * MIN)


def test_warm_up_goes_on_beside_loading() -> None:
    """The first cycle begins when both are done."""
    assert _plan([a_load()], rules(warm_up_s=10 * MIN)).runs[0].starts_s == pytest.approx(10 * MIN)
    assert _plan([a_load()], rules(warm_up_s=2 * MIN)).runs[0].starts_s == pytest.approx(6 * MIN)


def test_a_load_waits_until_it_is_ready() -> None:
    """It is not loaded before, and the supply is said to limit the yield."""
    shift = _plan([a_load(ready_s=2 * HOUR)], rules())
    assert shift.runs[0].loading_at_s == pytest.approx(2 * HOUR)
    assert shift.leverages[0].what == "supply"


def test_no_load_is_left_half_done() -> None:
    """Seventy minutes each: six in eight hours, and the seventh is not begun."""
    shift = _plan([a_load()], rules(), fill=True)
    assert shift.figures.loads == len(shift.runs) == 6
    assert shift.figures.overtime_s == 0.0
    listed = _plan([a_load(name=f"k{i}") for i in range(8)], rules())
    assert listed.left == ("k6", "k7")
    assert {f.code for f in listed.findings} == {"loads-left"}


def test_a_worn_piece_is_changed_between_loads() -> None:
    """40 % a load from 30 %: worn in the second, so changed before it; then before the fourth."""
    load = a_load(pieces=(("pad", 0.4),))
    shift = _plan([load] * 4, rules(used=0.3, tool_swap_s=3 * MIN))
    assert [r.swapped for r in shift.runs] == [(), ("pad",), (), ("pad",)]
    assert dict(shift.figures.account)["swap"] == pytest.approx(6 * MIN)
    known = _plan([load], rules(used=0.3), used={"pad": 0.7})
    assert known.runs[0].swapped == ("pad",)


def test_a_load_that_wears_out_several_pieces() -> None:
    """2.5 lives take three pieces: whatever is in the rack goes, and two more after it."""
    shift = _plan([a_load(pieces=(("pad", 2.5),))] * 2, rules(used=0.9))
    assert [len(r.swapped) for r in shift.runs] == [3, 3]


def test_pieces_that_the_rack_lacks_are_put_in() -> None:
    """Two pockets: the third piece comes in before the second load, the machine stands."""
    one = a_load(pieces=(("a", None), ("b", None)))
    two = a_load(pieces=(("b", None), ("c", None)))
    shift = _plan([one, two], rules(tool_swap_s=5 * MIN), pockets=2)
    assert [r.swapped for r in shift.runs] == [(), ("c",)]
    assert shift.runs[1].ends_s - shift.runs[1].starts_s == pytest.approx(65 * MIN)


def test_a_load_over_two_zones_keeps_others_off() -> None:
    """With two zones a load on both is as one with one."""
    wide = [a_load(zones=2)] * 3
    assert _plan(wide, rules(zones=2)).runs[-1].done_s == pytest.approx(3 * 70 * MIN)


def test_shift_longer_than_a_load() -> None:
    """A load that the shift is too short for is refused with both times."""
    with pytest.raises(PlanError, match=r"big alone needs 1 h 10 min 00 s.* 1 h 00 min 00 s"):
        _plan([a_load(name="big")], rules(hours_s=HOUR))


def test_bad_questions() -> None:
    """No load, no pocket."""
    with pytest.raises(UsageError, match="no load"):
        _plan([], rules())
    with pytest.raises(UsageError, match="0 pockets"):
        _plan([a_load()], rules(), pockets=0)
    with pytest.raises(PlanError, match="any number of times"):
        _plan([a_load(0.0)], rules(), fill=True)


def test_limits_by_hand() -> None:
    """One zone, three loads of 6 + 60 + 4: a tenth of 180 and of 30 minutes."""
    shift = _plan([a_load()] * 3, rules())
    saved = {x.what: x.saved_s for x in shift.leverages}
    assert saved["machine"] == pytest.approx(18 * MIN)
    assert saved["person"] == pytest.approx(3 * MIN)
    assert shift.leverages[0].what == "machine"
    slow = _plan([a_load(5.0, load_min=20.0)] * 3, rules())
    assert slow.leverages[0].what == "person"


def test_loads_that_end_early_limit_themselves() -> None:
    """All that are given are run: only more of them would yield more."""
    assert _plan([a_load()] * 3, rules()).limit == "loads"
    assert _plan([a_load()] * 9, rules()).limit == "machine"
    assert _plan([a_load()] * 3, rules(), all_given=False).limit == "machine"
    assert _plan([a_load()], rules(), fill=True).limit == "machine"


def test_loads_left_are_counted_by_name() -> None:
    """Each name once, with how often it stands there."""
    shift = _plan([a_load(name="a")] * 9 + [a_load(name="b")], rules())
    (told,) = shift.findings
    assert told.message.endswith(f"{len(shift.left)} of 10 loads do not fit in the shift: "
                                 f"{len(shift.left) - 1} × a, b.")  # fmt: skip


def test_what_is_done_in_time_is_run() -> None:
    """Foreseen from the machine alone the fourth ends too late; run, all end in time."""
    from support.shifts import PLAN  # noqa: PLC0415  beside its only use

    stop = (Stop(at_s=5 * MIN, seconds=15 * MIN, reason="flip"),)
    loads = [
        a_load(10.0, load_min=60.0, unload_min=20.0, parts=2),
        a_load(10.0, parts=3, stops=stop),
        a_load(60.0, unload_min=20.0),
        a_load(90.0, load_min=30.0, unload_min=20.0, ready_s=2 * HOUR, stops=stop),
    ]
    by = rules(zones=2, hours_s=6 * HOUR + 44 * MIN)
    all_of_them = run_shift(loads, by, PLAN, pockets=9, begin_all=True)
    assert max(r.done_s for r in all_of_them.runs) <= by.hours_s + 1e-6
    assert len(_plan(loads, by).runs) == 4


def test_everything_begun_is_brought_to_its_end() -> None:
    """Whatever the shift's length, when all are to be begun."""
    from support.shifts import PLAN  # noqa: PLC0415  beside its only use

    outcome = run_shift([a_load()] * 9, rules(), PLAN, pockets=1, begin_all=True)
    assert outcome.runs[-1].done_s == pytest.approx(9 * 70 * MIN)


def test_variation_without_any_is_the_plan() -> None:
    """With all spreads zero each simulated shift is the plan."""
    shift = simulate_shift([a_load()], rules(), pockets=5, fill=True)
    assert shift.variation is not None
    found = dict(shift.variation.figures)
    assert found["loads"].low == found["loads"].high == shift.figures.loads
    assert found["attended_s"].mean == pytest.approx(shift.figures.attended_s)
    assert found["attended_s"].half_width == pytest.approx(0.0, abs=1e-9)


def test_variation_is_the_same_twice_and_its_seed_matters() -> None:
    """Equal seeds, equal figures; another seed, others."""
    by = rules(cycle_spread=0.1, handling_spread=0.3, scrap=0.1, stoppage_every_s=4 * HOUR,
               stoppage_s=10 * MIN)  # fmt: skip
    one, two, three = (
        simulate_shift([a_load()], rules_, pockets=5, fill=True).variation
        for rules_ in (by, by, rules(**{**_changes(by), "seed": 2}))
    )
    assert one == two
    assert one != three


def _changes(by):
    return {n: getattr(by, n) for n in by.__dataclass_fields__}
