"""A shift in one call: what the options replace, what is asked for, and its JSON form."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from support.shifts import HOUR, MIN

from edgetime.errors import UsageError, Where
from edgetime.records import as_json
from edgetime.shift import Job, ShiftOptions, plan_shift
from edgetime.tooling import load_catalogue

CATALOGUE = load_catalogue()
RULES = CATALOGUE.shop.shift
PHONE = Job(name="by phone", cycle_s=60 * MIN, area_mm2=2e6, parts=2)


def _plan(*jobs, **asked):
    return plan_shift(jobs, CATALOGUE, ShiftOptions(replications=0, **asked))


def test_nothing_chosen_is_the_shops_shift() -> None:
    """No key of the shop's is replaced, not even by a plan without simulation."""
    plan = _plan(PHONE)
    assert plan.rules == RULES
    assert ShiftOptions(replications=0).replaced == ()
    assert [row.run.name for row in plan.rows] == ["by phone"]
    assert plan.shift.variation is None


def test_what_is_chosen_replaces_the_shops() -> None:
    """Zones, seed 0 and a shorter shift, whose late breaks are dropped."""
    asked = ShiftOptions(hours_s=3 * HOUR, zones=2, seed=0)
    rules = asked.rules(CATALOGUE)
    assert asked.replaced == ("hours", "zones", "seed")
    assert rules == replace(RULES, hours_s=3 * HOUR, zones=2, seed=0, breaks=())
    with pytest.raises(UsageError, match="0 zones"):
        ShiftOptions(zones=0).rules(CATALOGUE)


def test_a_quantity_is_loads_and_fill_repeats() -> None:
    """Three times a job are three loads; without a number, as many as the shift holds."""
    three = _plan(replace(PHONE, quantity=3))
    assert (len(three.waiting), len(three.loads)) == (3, 1)
    full = _plan(PHONE, fill=True)
    assert full.shift.figures.loads > 3
    assert full.shift.limit != "loads"


def test_fit_and_order_lead_to_the_plan() -> None:
    """The chosen loads run, in the order of the pocket plan."""
    due = date(2027, 3, 15)
    jobs = [replace(PHONE, name=f"job {n}", due=due, cycle_s=150 * MIN) for n in range(4)]
    plan = _plan(*jobs, fit=True, day=due, pocket_plan=True)
    names = [jobs[i].name for i in plan.fit.chosen]
    assert [names[i] for i in plan.pocket_plan.order] == [r.name for r in plan.shift.runs]
    assert [row.runs for row in plan.fit.rows].count(None) == 4 - len(names)
    assert {f.severity.value for f in plan.findings if f.code == "job-not-drawn"} == {"warning"}


def test_a_tool_that_does_not_run_has_no_life_used() -> None:
    """It is refused by its option."""
    with pytest.raises(UsageError, match="No tool 'polish-9'") as told:
        _plan(PHONE, used={"polish-9": 0.5})
    assert told.value.where == Where(key="--used")


def test_json_has_what_is_asked_for() -> None:
    """Only the keys of the answers asked for; the machine has a name beside its spans."""
    plain = as_json(_plan(PHONE))
    assert plain["schema"] == "edgetime.shift/1"
    assert plain["machine_name"] == CATALOGUE.shop.machine
    assert {span["kind"] for span in plain["machine"]} == {"warm-up", "run"}
    assert not {"fit", "pocket_plan", "table_filling", "explain"} & set(plain)
    full = as_json(
        _plan(PHONE, fit=True, pocket_plan=True, table_filling=True, explain=True, hours_s=6 * HOUR)
    )
    assert full["fit"]["waiting"] == full["pocket_plan"]["names"] == ["by phone"]
    assert full["table_filling"]["loads"] == []
    seconds = [x["seconds"] for x in full["explain"] if x["seconds"] is not None]
    assert sum(seconds) == pytest.approx(6 * HOUR)
