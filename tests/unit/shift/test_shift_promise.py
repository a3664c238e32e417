"""How often a plan is met, what the next load misses by, and the load that runs on."""

from __future__ import annotations

import math

import pytest
from scipy import stats
from support.shifts import HOUR, MIN, a_load, rules

from edgetime.errors import PlanError
from edgetime.records import as_json
from edgetime.shift.load_runs import Stop
from edgetime.shift.promise import Chance, promise_of
from edgetime.shift.simulate import simulate_shift

NIGHT = rules(last_load="runs-on")


def _shift(loads, by, *, variation=False, **more):
    return simulate_shift(loads, by, pockets=20, variation=variation, **more)


def _near_share(chance, exact):
    """Hold a counted share against an exact one, by four standard errors of the binomial."""
    assert abs(chance.share - exact) <= 4.0 * math.sqrt(exact * (1.0 - exact) / chance.of)


@pytest.mark.parametrize(("shifts", "of"), [(0, 30), (1, 200), (92, 200), (200, 200), (7, 31)])
def test_interval_of_a_share(shifts, of) -> None:
    """Wilson's score interval, as SciPy computes it by itself."""
    theirs = stats.binomtest(shifts, of).proportion_ci(0.9, method="wilson")
    ours = Chance(loads=1, shifts=shifts, of=of).interval
    assert ours == pytest.approx((theirs.low, theirs.high))


def test_promise_by_hand() -> None:
    """Of ten shifts one makes 1 load, five make 2, four make 3; the plan is 3."""
    told = promise_of(3, 0.9, (0, 1, 5, 4))
    assert [c.share for c in told.chances] == [1.0, 0.9, 0.4]
    assert told.mean == pytest.approx(2.3)
    assert told.met.shifts == 4
    assert told.sure.loads == 2
    assert promise_of(3, 0.95, (0, 1, 5, 4)).sure.loads == 1
    assert promise_of(3, 0.9, (2, 8)).sure is None
    assert promise_of(3, 0.9, (2, 8)).met.shifts == 0
    assert promise_of(3, 0.9).met is None


@pytest.mark.parametrize("room_min", [70.0, 71.0, 75.0, 82.0])
def test_chance_of_one_load_is_that_of_its_cycle(room_min) -> None:
    """10 min of handling that do not vary, a lognormal cycle of 60 min on average.

    It is done in time if 10 + 60 F <= room; ln F is normal with mean -s²/2 and variance
    s² = ln(1 + c²).
    """
    by = rules(hours_s=room_min * MIN, cycle_spread=0.1, replications=2000)
    shift = _shift([a_load()], by, variation=True)
    s = math.sqrt(math.log1p(0.1**2))
    exact = stats.norm.cdf((math.log((room_min - 10.0) / 60.0) + 0.5 * s * s) / s)
    _near_share(shift.promise.met, exact)
    assert shift.promise.mean == pytest.approx(shift.promise.met.share)


@pytest.mark.parametrize("loads", [1, 3, 6])
def test_chance_without_room_is_that_of_no_stoppage(loads) -> None:
    """The shift is as long as its loads: each stoppage, however short, costs the last one.

    Stoppages are a Poisson process of the running time, so none comes in n h with exp(-n/5);
    all but the last load are made in any case.
    """
    by = rules(
        hours_s=loads * 70 * MIN, stoppage_every_s=5 * HOUR, stoppage_s=2.0, replications=1500
    )
    shift = _shift([a_load()], by, fill=True, variation=True)
    assert shift.figures.loads == loads
    _near_share(shift.promise.met, math.exp(-loads / 5.0))
    if loads > 1:
        assert shift.promise.chance(loads - 1).share == 1.0
        assert shift.promise.sure.loads == loads - 1


def test_mean_is_that_of_the_variation() -> None:
    """The shares of all numbers of loads add up to the mean."""
    by = rules(cycle_spread=0.2, handling_spread=0.5, stoppage_every_s=4 * HOUR, stoppage_s=900.0)
    shift = _shift([a_load()], by, fill=True, variation=True)
    told = shift.promise
    assert sum(c.share for c in told.chances) == pytest.approx(told.mean)
    assert told.mean == pytest.approx(dict(shift.variation.figures)["loads"].mean)


def test_next_load_misses_by_minutes() -> None:
    """Seven loads of 70 min need 490 of 480: ten minutes, or one of these.

    Cycles: 7 (10 + 60 f) <= 480 for f <= 0.976; tasks: 7 (60 + 10 f) <= 480 for f <= 0.857.
    With two zones the machine waits for the first loading only; running on, the last cycle
    begins after 6 · 70 + 6 min.
    """
    near = _shift([a_load()], rules(), fill=True).near
    assert near.number == 7
    assert near.misses_s == pytest.approx(10 * MIN)
    assert {m.what: m.longer_s or m.less or 1.0 for m in near.mends} == pytest.approx(
        {"hours": 10 * MIN, "machine": 0.03, "person": 0.15, "zones": 1.0, "last-load": 1.0}
    )
    far = _shift([a_load()], rules(hours_s=450 * MIN), fill=True).near
    assert far.misses_s == pytest.approx(40 * MIN)
    assert far.mends == ()
    listed = _shift([a_load(name=f"k{i}") for i in range(7)], rules()).near
    assert listed.name == "k6"
    assert _shift([a_load()] * 6, rules()).near is None


def test_what_would_let_the_next_load_fit_lets_it() -> None:
    """Each change told, made by hand, gives one load more."""
    load, by = (
        a_load(50.0, parts=3),
        rules(measure_s=2 * MIN, warm_up_s=10 * MIN),
    )
    before = _shift([load], by, fill=True)
    mends = {m.what: m.longer_s or m.less or 1.0 for m in before.near.mends}
    assert set(mends) == {"hours", "machine", "person", "zones", "last-load"}
    less, handier = 1.0 - mends["machine"], 1.0 - mends["person"]
    after = [
        _shift([load], rules(**_of(by, hours_s=by.hours_s + mends["hours"])), fill=True),
        _shift([a_load(50.0 * less, parts=3)], by, fill=True),
        _shift([a_load(50.0, parts=3, load_min=6 * handier, unload_min=4 * handier)],
               rules(**_of(by, measure_s=2 * MIN * handier)), fill=True),
        _shift([load], rules(**_of(by, zones=2)), fill=True),
        _shift([load], rules(**_of(by, last_load="runs-on")), fill=True),
    ]  # fmt: skip
    assert all(x.figures.loads > before.figures.loads for x in after)


def _of(by, **changes):
    kept = {k: getattr(by, k) for k in ("measure_s", "warm_up_s", "hours_s")}
    return {**kept, **changes}


def test_the_last_load_runs_on() -> None:
    """Seven loads of 70 min: the last begins at 426 min and ends at 486, six after the shift."""
    shift = _shift([a_load()], NIGHT, fill=True)
    assert shift.figures.loads == 7
    assert [r.runs_on for r in shift.runs] == [False] * 6 + [True]
    last = shift.runs[-1]
    assert (last.starts_s, last.ends_s) == pytest.approx((426 * MIN, 486 * MIN))
    assert as_json(last)["done_s"] is None
    assert shift.figures.runs_on == 1
    assert shift.figures.next_shift_s == pytest.approx(4 * MIN)
    assert shift.figures.overtime_s == 0.0
    assert max(s.stop_s for s in shift.person) <= 480 * MIN
    assert sum(s for _, s in shift.figures.account) == pytest.approx(8 * HOUR)
    assert _shift([a_load()], rules(), fill=True).figures.runs_on == 0


@pytest.mark.parametrize(("at_min", "made"), [(50.0, 7), (50.5, 6)])
def test_nobody_attends_a_stop_after_the_shift(at_min, made) -> None:
    """Begun at 426 min, a stop of 4 min: after 50 it ends with the shift, after 50.5 too late."""
    stop = Stop(at_s=at_min * MIN, seconds=4 * MIN, reason="flip")
    shift = _shift([*[a_load()] * 6, a_load(stops=(stop,))], NIGHT)
    assert shift.figures.loads == made


def test_a_cycle_begins_within_the_shift_or_not_at_all() -> None:
    """Loaded at 476 min it begins; a minute later than the end it does not, and none follows it."""
    assert _shift([a_load(400.0), a_load(66.0, load_min=70.0)], NIGHT).figures.loads == 2
    assert _shift([a_load(401.0), a_load(66.0, load_min=70.0)], NIGHT).figures.loads == 1
    # One load runs on; a second zone does not let another begin behind it.
    two = _shift([a_load(300.0)] * 3, rules(last_load="runs-on", zones=2))
    assert [r.runs_on for r in two.runs] == [False, True]


def test_a_cycle_longer_than_the_shift_runs_over_night() -> None:
    """Ten hours in a shift of eight: refused as a rule, made where it may run on."""
    with pytest.raises(PlanError, match="alone needs 10 h 10 min"):
        _shift([a_load(600.0)], rules())
    assert _shift([a_load(600.0)], NIGHT).figures.loads == 1
    with pytest.raises(PlanError, match="alone needs 8 h 20 min 00 s before it can run on"):
        _shift([a_load(600.0, load_min=500.0)], NIGHT)


def test_a_stoppage_at_night_is_not_made_good() -> None:
    """30 of 60 min run after the shift: made if no stoppage comes in them, exp(-30/120)."""
    by = rules(
        hours_s=36 * MIN, last_load="runs-on", stoppage_every_s=2 * HOUR, stoppage_s=1e-3,
        replications=2000,
    )  # fmt: skip
    shift = _shift([a_load()], by, variation=True)
    _near_share(shift.promise.met, math.exp(-0.25))
    assert dict(shift.variation.figures)["overtime_s"].high == 0.0


def test_unloading_that_the_shift_has_no_time_for_is_left() -> None:
    """The cycle ends two minutes before the shift does: of three parts one is taken off."""
    shift = _shift([a_load(460.0, parts=3, unload_min=4.0)], NIGHT)
    assert shift.runs[0].ends_s == pytest.approx(478 * MIN)
    assert shift.figures.next_shift_s == pytest.approx(8 * MIN)
    assert shift.figures.overtime_s == pytest.approx(2 * MIN)
