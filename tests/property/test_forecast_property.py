"""What must hold of every pipeline."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.forecasts import Stock, a_forecast, a_job, a_shop, of_piece

from edgetime.life import Family, LifeDistribution

QUICK = settings(max_examples=40, deadline=None)

jobs = st.lists(
    st.builds(
        a_job,
        st.integers(0, 90),
        probability=st.sampled_from([0.05, 0.3, 0.5, 0.8, 0.95, 1.0]),
        quantity=st.integers(1, 5),
    ),
    min_size=1,
    max_size=8,
)
laws = st.builds(
    LifeDistribution.known,
    st.floats(0.5, 2.0),
    st.floats(0.1, 0.9),
    family=st.sampled_from([Family.GAMMA, Family.WEIBULL]),
)
stocks = st.builds(
    Stock,
    new=st.integers(0, 4),
    used=st.lists(st.floats(0.0, 1.2), max_size=2).map(tuple),
)
shares = st.floats(0.01, 1.5)


def pad(jobs, share, law, stock, **options):
    """Return the forecast of the pad."""
    return of_piece(
        a_forecast(jobs, {"pad": share}, law=law, stock={"pad": stock}, **options), "pad"
    )


@QUICK
@given(jobs, shares, laws, stocks)
def test_higher_service_never_orders_less_or_later(jobs, share, law, stock) -> None:
    """From 60 % to 99 %, quantities rise and days to order come sooner."""
    found = [pad(jobs, share, law, stock, service=s) for s in (0.6, 0.9, 0.95, 0.99)]
    quantities = [t.quantity for t in found]
    assert quantities == sorted(quantities)
    points = [t.reorder_point for t in found]
    assert points == sorted(points)
    days = [t.order_by for t in found if t.order_by is not None]
    assert days == sorted(days, reverse=True)
    first_with = next((i for i, t in enumerate(found) if t.order_by), len(found))
    assert all(t.order_by for t in found[first_with:])


@QUICK
@given(jobs, shares, laws, stocks, st.integers(0, 90))
def test_job_that_never_comes_changes_nothing(jobs, share, law, stock, day) -> None:
    """A job of probability 0 within the pipeline's days, or of quantity 0, is as if not there."""
    last = max(job.day for job in jobs)
    none = a_job(min(day, (last - a_job(0).day).days), probability=0.0, quantity=9)
    nothing = replace(none, probability=1.0, quantity=0)
    want = pad(jobs, share, law, stock)
    assert pad([*jobs, none], share, law, stock) == want
    assert pad([nothing, *jobs], share, law, stock) == want


@QUICK
@given(jobs, shares, laws, stocks)
def test_doubling(jobs, share, law, stock) -> None:
    """Twice the quantities: twice the mean, and neither fewer pieces nor a later day."""
    one = pad(jobs, share, law, stock)
    two = pad([replace(j, quantity=2 * j.quantity) for j in jobs], share, law, stock)
    assert two.total.mean == pytest.approx(2.0 * one.total.mean)
    assert two.total.sd_demand == pytest.approx(2.0 * one.total.sd_demand)
    assert two.total.sd_life == pytest.approx(math.sqrt(2.0) * one.total.sd_life)
    assert two.needed >= one.needed
    assert two.short >= one.short - 1e-9
    if one.order_by is not None:
        assert two.order_by is not None
        assert two.order_by <= one.order_by
    # Twice the work with half the share per unit is the same work.
    half = pad([replace(j, quantity=2 * j.quantity) for j in jobs], 0.5 * share, law, stock)
    assert half.needed == one.needed
    assert half.total.mean == pytest.approx(one.total.mean)


@QUICK
@given(jobs, shares, laws, stocks)
def test_more_at_hand_never_orders_more(jobs, share, law, stock) -> None:
    """One new piece more at hand is one piece less to order, down to none."""
    more = replace(stock, new=stock.new + 1)
    one, two = pad(jobs, share, law, stock), pad(jobs, share, law, more)
    assert two.needed == max(0, one.needed - 1)
    assert two.short <= one.short
    assert two.out is None or two.out >= one.out


@QUICK
@given(jobs, shares, laws, st.randoms(use_true_random=False))
def test_order_of_the_jobs_does_not_matter(jobs, share, law, rnd) -> None:
    """A pipeline is a set of jobs."""
    shuffled = list(jobs)
    rnd.shuffle(shuffled)
    one, two = pad(jobs, share, law, Stock()), pad(shuffled, share, law, Stock())
    assert two.total.mean == pytest.approx(one.total.mean)
    assert two.short == pytest.approx(one.short, abs=1e-9)
    assert (two.out, two.needed) == (one.out, one.needed)


@QUICK
@given(
    jobs,
    st.dictionaries(st.sampled_from(["pad", "drum", "seamer", "finger"]), shares, min_size=1),
    st.integers(1, 7),
    st.integers(1, 12),
    st.decimals(0, 999, places=2),
    st.booleans(),
)
def test_orders_can_be_bought(jobs, taken, pack, minimum, price, together) -> None:
    """Whole packs, the minimum, all of a set alike, enough of each; money exact to the cent."""
    trade = {
        "pack": pack, "minimum_order": minimum, "price": price, "currency": "EUR",
        "set_name": "all" if together else "",
    }  # fmt: skip
    shop = a_shop(pad=trade, drum=trade | {"pack": 2}, seamer=trade, finger=trade)
    found = a_forecast(jobs, taken, shop=shop)
    total = Decimal(0)
    for order in found.orders:
        for line in order.lines:
            own = shop.tools[line.piece]
            assert line.quantity % own.pack == 0
            assert line.packs * own.pack == line.quantity
            assert line.quantity >= max(minimum, line.needed)
            assert line.cost == price * line.quantity
            # No float came near it: the amount has the price's two places.
            assert line.cost.as_tuple().exponent == -2
            total += line.cost
        if together:
            # As many of each, in every one of the orders that a large need is staged in.
            alike = {
                name: [line.quantity for line in order.lines if line.piece == name]
                for name in ("pad", "drum", "seamer", "finger")
            }
            assert {line.piece for line in order.lines} == set(alike)
            assert all(quantities == alike["pad"] for quantities in alike.values())
    assert {c.currency: c.amount for c in found.cost}.get("EUR", Decimal(0)) == total
    ordered = {line.piece for order in found.orders for line in order.lines}
    assert {t.piece for t in found.tools if t.needed} <= ordered
