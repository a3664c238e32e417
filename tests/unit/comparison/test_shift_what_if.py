"""A shift with something changed is the shift that would be planned of the changed loads."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from support.kitchens import write_kitchen

from edgetime.comparison import shift_what_ifs
from edgetime.errors import UsageError
from edgetime.estimating import estimate
from edgetime.load.options import Options
from edgetime.price import price_load
from edgetime.records import as_json
from edgetime.shift import Job, ShiftOptions, plan_shift
from edgetime.tooling import load_catalogue
from edgetime.tooling.price_rates import PriceRates

PHONE = Job(name="by phone", cycle_s=3600.0, area_mm2=2e6, parts=2)


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory):
    return str(write_kitchen(tmp_path_factory.mktemp("shift") / "kitchen.dxf"))


@pytest.fixture(scope="module")
def catalogue():
    """Return the shipped catalogue, which states rates."""
    return load_catalogue()


def _cases(catalogue, jobs, *texts, **asked):
    options = ShiftOptions(replications=0, **asked)
    plan = plan_shift(jobs, catalogue, options)
    return shift_what_ifs(texts, jobs, plan, options)


def test_it_is_the_plan_of_that_stack_and_machine(kitchen, catalogue):
    """Asked for as a change, or chosen at first: the same loads, times and cost."""
    jobs = [Job(name="kitchen", drawings=(kitchen,))]
    _, case = _cases(catalogue, jobs, "machine=large, feed=120%", fill=True)
    chosen = ShiftOptions(
        replications=0, fill=True, load=Options(machine="large", feed_override=1.2)
    )
    alone = plan_shift(jobs, catalogue, chosen)
    assert case.plan.machine.name == "large"
    assert case.loads == alone.shift.figures.loads
    assert case.makespan_s == pytest.approx(alone.shift.runs[-1].done_s)
    assert case.operator_s == pytest.approx(alone.shift.figures.attended_s)
    quote = price_load(estimate([kitchen], machine="large", feed_override=1.2))
    assert case.cost == pytest.approx(
        case.loads * quote.figures["cost"].value, rel=Decimal("1e-25")
    )
    assert case.cost_per_load == pytest.approx(quote.figures["cost"].value, rel=Decimal("1e-25"))


def test_nothing_changed_changes_nothing(kitchen, catalogue):
    """Today's plan comes first, and again with a change that is none."""
    base, same = _cases(catalogue, [Job(drawings=(kitchen,), quantity=2)], "feed=100%")
    a, b = as_json(base), as_json(same)
    assert (a.pop("what_if"), b.pop("what_if")) == ("", "feed=100%")
    assert a == b
    assert a["loads"] == 2


def test_a_measured_cycle_changes_in_proportion(kitchen, catalogue):
    """Measured 30 min on the estimate's C: with another override, 30 min times C' / C."""
    (_, case) = _cases(catalogue, [Job(drawings=(kitchen,), cycle_s=1800.0)], "feed=120%")
    before, after = (estimate([kitchen], feed_override=f).cycle.total_s for f in (1.0, 1.2))
    (load,) = case.plan.loads
    assert load.cycle_s == pytest.approx(1800.0 * after / before)
    assert after < before


def test_a_rate_changes_the_cost_alone(kitchen, catalogue):
    """10 more an hour of the machine is 10 more for each hour that it runs."""
    jobs = [Job(drawings=(kitchen,))]
    now = catalogue.shop.price.machine_rate
    a, b = (c for c in _cases(catalogue, jobs, f"rate={now}", f"rate={now + 10}")[1:])
    assert a.makespan_s == b.makespan_s
    hours = a.plan.shift.runs[0].load.cycle_s / 3600.0
    assert float(b.cost - a.cost) > 10 * hours - 1e-6
    assert b.cost > a.cost > Decimal(0)


def test_without_rates_or_drawing_there_is_no_cost(kitchen, catalogue):
    """Assumed rates are no cost of this shop; nobody knows what a job without drawing costs."""
    bare = replace(catalogue, shop=replace(catalogue.shop, price=PriceRates()))
    base, _ = _cases(bare, [Job(drawings=(kitchen,))], "feed=120%")
    assert base.cost is None
    both = _cases(catalogue, [Job(drawings=(kitchen,)), PHONE], "feed=120%")
    assert [c.cost for c in both] == [None, None]


def test_what_cannot_be_planned_says_why(kitchen, catalogue):
    """A stack that does not suit the stone is refused; the others are still planned."""
    jobs = [Job(drawings=(kitchen,))]
    _, no, yes = _cases(catalogue, jobs, "stone=marble, stack=standard", "feed=110%")
    assert no.plan is None
    assert "standard" in no.refused
    assert no.loads is None
    assert yes.loads == 1


@pytest.mark.parametrize(
    ("text", "jobs", "match"),
    [
        ("purchase=100", [PHONE], "not depend on what is bought"),
        ("feed=110%", [PHONE], "No job has a drawing"),
        ("colour=red", [PHONE], "cannot be changed"),
    ],
)
def test_what_makes_no_sense_is_refused(catalogue, text, jobs, match):
    """By the option, as it is for a price."""
    with pytest.raises(UsageError, match=match) as told:
        _cases(catalogue, jobs, text)
    assert told.value.where.key == "--what-if"
