"""What to order by when: days, quantities, sets, suppliers, money, findings."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from support.forecasts import FIRST, PRICED, Stock, a_forecast, a_job, a_shop, of_piece

from edgetime.errors import UsageError
from edgetime.forecast import Cost
from edgetime.forecast.inventory import order_quantity, set_quantity
from edgetime.life import LifeDistribution
from edgetime.records import as_json

SURE = LifeDistribution.known(1.0, 0.01)
"""Pieces that all last one life: expectations can be counted on fingers."""


def test_runs_out_on_the_third_job() -> None:
    """One piece bears two jobs of 0.4; the third, on day 28, needs another 14 d before."""
    jobs = [a_job(14), a_job(21), a_job(28)]
    found = of_piece(a_forecast(jobs, {"pad": 0.4}, law=SURE, stock={"pad": Stock(new=1)}), "pad")
    assert found.out == found.likely_out == FIRST + timedelta(days=28)
    assert found.order_by == FIRST + timedelta(days=14)
    assert (found.needed, found.quantity, found.late_d) == (1, 1, 0)
    assert found.short == pytest.approx(1.0, abs=1e-6)


def test_used_piece_ends_sooner() -> None:
    """The piece in the rack is half used: it bears one job, not two."""
    jobs = [a_job(14), a_job(21), a_job(28)]
    stock = {"pad": Stock(used=(0.5,))}
    found = of_piece(a_forecast(jobs, {"pad": 0.4}, law=SURE, stock=stock), "pad")
    assert found.out == FIRST + timedelta(days=21)
    assert found.needed == 1
    assert found.simulated


def test_nothing_to_order() -> None:
    """Enough at hand: no day, no quantity, no order."""
    found = a_forecast([a_job(14)], {"pad": 0.4}, law=SURE, stock={"pad": Stock(new=1)})
    pad = of_piece(found, "pad")
    assert (pad.out, pad.order_by, pad.needed, pad.quantity) == (None, None, 0, 0)
    assert found.orders == ()
    assert found.cost == ()


def test_unlikely_job_within_the_service_level() -> None:
    """A job of 4 % is not ordered for at 95 %, and is at 97 %."""
    jobs = [a_job(14, probability=0.04)]
    assert of_piece(a_forecast(jobs, {"pad": 0.4}, law=SURE), "pad").quantity == 0
    high = of_piece(a_forecast(jobs, {"pad": 0.4}, law=SURE, service=0.97), "pad")
    assert high.quantity == 1
    assert high.likely_out is None


def test_lead_time_varies() -> None:
    """The day to order is earlier by z sd: 14 + 1.645 · 4 = 20.6, rounded up to 21 d."""
    shop = a_shop(pad={"lead_time_d": 14.0, "lead_time_spread_d": 4.0})
    found = of_piece(a_forecast([a_job(30)], {"pad": 0.4}, law=SURE, shop=shop), "pad")
    assert found.order_by == FIRST + timedelta(days=9)


def test_late_orders_are_told() -> None:
    """A job in three days and a lead time of 14 d: eleven days too late."""
    found = a_forecast([a_job(3)], {"pad": 0.4}, law=SURE)
    assert of_piece(found, "pad").late_d == 11
    (line,) = found.orders[0].lines
    assert line.late_d == 11
    late = [f for f in found.findings if f.code == "order-late"]
    assert len(late) == 1
    assert "up to 11 days" in late[0].message


@pytest.mark.parametrize(
    ("needed", "pack", "minimum", "bought"),
    [(0, 3, 5, 0), (1, 1, 1, 1), (1, 3, 1, 3), (4, 3, 1, 6), (2, 3, 5, 6), (7, 1, 5, 7)],
)
def test_packs_and_minimum(needed, pack, minimum, bought) -> None:
    """Whole packs, at least the minimum, nothing for nothing."""
    assert order_quantity(needed, pack=pack, minimum=minimum) == bought


def test_sets_in_packs_of_all() -> None:
    """As many of each member as the neediest, in whole packs of every member."""
    assert set_quantity([1, 5, 0], packs=[2, 3, 1], minimums=[1, 1, 1]) == 6
    assert set_quantity([0, 0], packs=[2, 3], minimums=[4, 4]) == 0


def test_sets_are_ordered_together() -> None:
    """The pad needs two, the drum none, the seamer is not used: all three are ordered, twice."""
    member = {"set_name": "trio", "supplier": "north", **PRICED}
    shop = a_shop(pad=member, drum=member | {"lead_time_d": 20.0}, seamer=member)
    found = a_forecast(
        [a_job(30)], {"pad": 1.5, "drum": 0.1}, law=SURE, shop=shop, stock={"drum": Stock(new=1)}
    )
    (order,) = found.orders
    assert {line.piece: line.quantity for line in order.lines} == {
        "pad": 2, "drum": 2, "seamer": 2
    }  # fmt: skip
    assert {line.needed for line in order.lines} == {0, 2}
    assert {line.order_by for line in order.lines} == {FIRST + timedelta(days=16)}
    assert order.cost == (Cost("EUR", Decimal("360.60")),)


def test_sets_of_profiled_wheels_share_the_profile() -> None:
    """A set of profiled wheels is one set per profile."""
    shop = a_shop(wheel={"set_name": "metals", **PRICED}, pad={"set_name": "metals"})
    found = a_forecast([a_job(30)], {"wheel/ogee": 0.5, "wheel/eased": 1.5}, law=SURE, shop=shop)
    (order,) = found.orders
    assert {line.piece: line.quantity for line in order.lines} == {
        "wheel/ogee": 1, "wheel/eased": 2
    }  # fmt: skip


def test_orders_by_supplier() -> None:
    """One order per supplier, the most urgent first, its money exact."""
    shop = a_shop(
        pad={"supplier": "north", "pack": 3, **PRICED},
        drum={"supplier": "south", "lead_time_d": 30.0, "price": Decimal("0.1"), "currency": "EUR"},
        finger={"supplier": "north", "price": Decimal("9.99"), "currency": "USD"},
    )
    shares = {"pad": 1.2, "drum": 2.5, "finger": 0.1}
    found = a_forecast([a_job(40)], shares, law=SURE, shop=shop)
    assert [o.supplier for o in found.orders] == ["south", "north"]
    south, north = found.orders
    assert south.cost == (Cost("EUR", Decimal("0.3")),)
    assert north.cost == (Cost("EUR", Decimal("180.30")), Cost("USD", Decimal("9.99")))
    assert found.cost == (Cost("EUR", Decimal("180.60")), Cost("USD", Decimal("9.99")))
    pads = next(line for line in north.lines if line.piece == "pad")
    assert (pads.needed, pads.quantity, pads.packs) == (2, 3, 1)


def test_weeks() -> None:
    """Weeks begin on Mondays, and their means add up to the total."""
    jobs = [a_job(0), a_job(6, probability=0.5), a_job(7), a_job(23)]
    found = of_piece(a_forecast(jobs, {"pad": 0.4}), "pad")
    assert [w.monday for w in found.weeks] == [
        date(2027, 1, 4), date(2027, 1, 11), date(2027, 1, 18), date(2027, 1, 25)
    ]  # fmt: skip
    assert [w.use.mean for w in found.weeks] == pytest.approx([0.6, 0.4, 0.0, 0.4])
    assert sum(w.use.mean for w in found.weeks) == pytest.approx(found.total.mean)
    assert found.weeks[0].use.sd_demand == pytest.approx(0.2)
    assert found.per_week.mean == pytest.approx(1.4 / (24 / 7))


def test_past_jobs_are_left_out_and_told() -> None:
    """A job before the first day counts for nothing."""
    found = a_forecast([a_job(-1), a_job(5)], {"pad": 0.4}, law=SURE)
    assert found.jobs == 1
    assert of_piece(found, "pad").total.mean == pytest.approx(0.4)
    assert [f.code for f in found.findings if f.code == "job-past"] == ["job-past"]


def test_only_past_jobs() -> None:
    """A pipeline of the past leaves nothing to do."""
    found = a_forecast([a_job(-9)], {"pad": 0.4})
    assert (found.tools, found.orders, found.last) == ((), (), FIRST)


def test_no_price_is_told() -> None:
    """An article without a price is ordered, not summed, and told."""
    found = a_forecast([a_job(40)], {"pad": 0.4}, law=SURE)
    assert found.orders[0].cost == ()
    assert "forecast-no-price" in {f.code for f in found.findings}


@pytest.mark.parametrize("service", [0.0, 0.4, 1.0, 1.5, float("nan")])
def test_service_levels_that_are_none(service) -> None:
    """Levels below one half, certainty and more are refused."""
    with pytest.raises(UsageError, match="service level"):
        a_forecast([a_job(1)], {"pad": 0.4}, service=service)


def test_same_question_same_answer() -> None:
    """The simulation has a fixed seed; another seed is another simulation."""
    stock = {"pad": Stock(new=1, used=(0.3,))}
    jobs = [a_job(9, probability=0.5), a_job(20)]

    def short(**options):
        return of_piece(a_forecast(jobs, {"pad": 0.9}, stock=stock, **options), "pad").short

    assert short() == short()
    assert short(seed=2) == pytest.approx(short(), abs=0.03)
    assert short(seed=2) != short()


def test_life_not_known_for_certain_orders_more() -> None:
    """Without retirements lives are uncertain: at 95 % more is kept than for known lives."""
    jobs = [a_job(20)]
    known = of_piece(a_forecast(jobs, {"pad": 5.0}), "pad")
    assumed = of_piece(a_forecast(jobs, {"pad": 5.0}, law=None), "pad")
    assert assumed.needed > known.needed
    assert (known.trust, assumed.trust) == ("given", "catalogue")
    assert assumed.total.sd_mean > 0.0 == known.total.sd_mean
    assert assumed.safety_stock > known.safety_stock


def test_document() -> None:
    """The JSON document carries every figure, money as text."""
    shop = a_shop(pad={"supplier": "north", **PRICED})
    document = as_json(a_forecast([a_job(40)], {"pad": 1.2}, law=SURE, shop=shop))
    assert document["schema"] == "edgetime.forecast/1"
    (pad,) = document["tools"]
    assert pad["order_by"] == "2027-01-29"  # day 26 is a Saturday
    assert (pad["order_pieces"], pad["cost"], pad["currency"]) == (2, "120.20", "EUR")
    assert document["orders"][0]["lines"][0]["piece"] == "pad"
    assert document["cost"] == [{"currency": "EUR", "amount": "120.20"}]
    assert pad["weeks"][0]["monday"] == "2027-01-04"
