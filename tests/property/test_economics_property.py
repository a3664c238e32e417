"""Whatever prices, exponents and bounds are: the best feed is the best."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.feeds import TAYLOR, feed_estimate, feed_tools
from support.prices import RATES

from edgetime.economics import economic_feed
from edgetime.economics.taylor import (
    feed_of_life,
    fit_relation,
    least_cost_life,
    life_at,
)
from edgetime.estimating import estimate_take_off

SLACK = 1e-6
"""The search stops within 1e-4 of the feed, where the cost is flat: far less than this."""

few = settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
exponents = st.floats(0.1, 0.9)
prices = st.decimals(0, 400, places=2)
lives = st.floats(2e3, 1e6)


@cache
def _base():
    return feed_estimate()


def _study(*, exponent=0.4, price=Decimal(100), life_mm=2e4, low=10.0, high=90.0, rates=RATES,
           machine=None):  # fmt: skip
    taylor = replace(TAYLOR, exponent=exponent, range_mm_per_s=(low, high),
                     reference_mm_per_s=30.0)  # fmt: skip
    base = _base()
    catalogue = base.load.catalogue
    tools = {t.name: t for t in feed_tools("wheel", taylor=taylor, price=price, life_mm=life_mm)}
    shop = replace(catalogue.shop, price=rates)
    machines = {n: replace(m, **(machine or {})) for n, m in catalogue.machines.items()}
    own = replace(catalogue, tools=tools, shop=shop, machines=machines)
    est = estimate_take_off(base.take_off, own, base.options)
    (found,) = (s for s in economic_feed(est, tool="wheel").steps if s.tool == "wheel")
    return found, est


@few
@given(exponents, prices, lives, st.floats(10.0, 90.0))
def test_no_feed_is_better_than_the_best(exponent, price, life_mm, feed) -> None:
    """Neither a neighbour of the curve nor any feed within the bounds is cheaper or faster."""
    found, est = _study(exponent=exponent, price=price, life_mm=life_mm)
    asked = economic_feed(est, tool="wheel", at_mm_per_s=feed).steps[0].at
    for point in (*found.points, asked):
        assert float(found.least_cost.cost) <= float(point.cost) * (1.0 + SLACK)
        assert found.most_output.output_s <= point.output_s * (1.0 + SLACK)


@few
@given(exponents, prices, lives, st.floats(12.0, 29.0), st.floats(45.0, 80.0))
def test_wider_bounds_are_never_worse(exponent, price, life_mm, low, high) -> None:
    """What is best between narrow bounds is not better than the best between wider ones."""
    options = {"exponent": exponent, "price": price, "life_mm": life_mm}
    wide, _ = _study(**options)
    narrow, _ = _study(**options, low=low, high=high)
    assert float(wide.least_cost.cost) <= float(narrow.least_cost.cost) * (1.0 + SLACK)
    assert wide.most_output.output_s <= narrow.most_output.output_s * (1.0 + SLACK)


@few
@given(exponents, lives)
def test_a_free_tool_costs_least_where_it_makes_most(exponent, life_mm) -> None:
    """Without a price and a swapping person, and without power and water, both feeds are one."""
    found, _ = _study(
        exponent=exponent,
        price=Decimal(0),
        life_mm=life_mm,
        rates=replace(RATES, labour_rate=Decimal(0)),
        machine={"spindle_w": 0.0, "base_w": 0.0, "water_mm3_per_s": 0.0},
    )
    ratio = found.least_cost.feed_mm_per_s / found.most_output.feed_mm_per_s
    assert ratio == pytest.approx(1.0, abs=3e-4)


@few
@given(exponents, st.decimals(1, 200, places=2), lives)
def test_a_dearer_tool_runs_no_faster(exponent, price, life_mm) -> None:
    """Twice the price moves the feed of least cost down, or leaves it at a bound."""
    cheap, _ = _study(exponent=exponent, price=price, life_mm=life_mm)
    dear, _ = _study(exponent=exponent, price=2 * price, life_mm=life_mm)
    assert dear.least_cost.feed_mm_per_s <= cheap.least_cost.feed_mm_per_s * (1.0 + 3e-4)


@given(
    st.floats(0.05, 0.95), st.floats(1.0, 1e3), st.floats(0.1, 100.0), st.floats(0.0, 1e3),
    st.floats(0.01, 100.0),
)  # fmt: skip
def test_lives_of_the_closed_forms(n, constant, swap, piece, rate) -> None:
    """Life and feed are each other's inverse; a free piece leaves the life of most output."""
    cost = least_cost_life(n, swap, piece, rate)
    assert cost >= least_cost_life(n, swap, 0.0, rate) == (1.0 / n - 1.0) * swap
    feed = feed_of_life(cost, exponent=n, constant=constant)
    assert life_at(feed, exponent=n, constant=constant) == pytest.approx(cost, rel=1e-9)


@given(st.floats(0.05, 0.95), st.floats(10.0, 1e4), st.floats(1.05, 10.0), st.floats(1.0, 100.0))
def test_two_trials_give_their_relation_back(n, constant, ratio, feed) -> None:
    """Trials made with n and C are fitted with n and C."""
    trials = [(v, life_at(v, exponent=n, constant=constant)) for v in (feed, feed * ratio)]
    found, c = fit_relation(trials)
    assert found == pytest.approx(n, rel=1e-9)
    assert c == pytest.approx(constant, rel=1e-6)
