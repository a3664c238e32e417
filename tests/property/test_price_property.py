"""Random jobs, rates and rules: whatever they are, every cent has its place."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.prices import RATES, an_estimate, recomputed

from edgetime.explained import Explained, figures_json
from edgetime.price.formulas import figure
from edgetime.price.money import apportion, rounded
from edgetime.price.price_load import price_work
from edgetime.price.rates import Rates
from edgetime.price.work import HOLES, SETUP, Amounts, Work

CENT = Decimal("0.01")

money = st.decimals(0, 500, places=2)
share = st.decimals(0, Decimal("0.9"), places=4)
seconds = st.floats(0, 2e4).map(lambda x: Decimal(repr(x)))
items = st.sampled_from(
    ["profile:eased", "profile:ogee", "profile:seam", "cutout:eased", HOLES, SETUP]
)
amounts = st.builds(
    Amounts,
    machine_s=seconds,
    waiting_s=seconds,
    attended_s=seconds,
    bench_s=seconds,
    material=st.decimals(0, 500, places=4),
    setup_h=st.decimals(0, 2, places=3),
    energy_kwh=st.decimals(0, 30, places=5),
    water_m3=st.decimals(0, 5, places=5),
    hand_m=st.decimals(0, 10, places=4),
)
rates = st.builds(
    replace,
    st.just(RATES),
    machine_rate=money,
    electricity=money,
    water=money,
    labour_rate=money,
    hand_rate=money,
    attendance=share,
    overhead=share,
    margin=share,
    margin_on=st.sampled_from(["cost", "price"]),
    minimum=money,
    round_to=st.sampled_from([Decimal(x) for x in ("0.01", "0.05", "0.50", "1", "5")]),
    rounding=st.sampled_from(["half-up", "half-even", "up"]),
    round_at=st.sampled_from(["total", "line"]),
    tax=share,
    tax_included=st.booleans(),
    tax_at=st.sampled_from(["total", "line"]),
)
cells = st.dictionaries(st.tuples(st.integers(0, 3), items), amounts, min_size=1, max_size=12)


@cache
def _estimate():
    """Return one small estimate whose tools have no price: all money comes from the rates."""
    from support.catalogue import TOOLS  # noqa: PLC0415  beside its only use

    return an_estimate(tools=TOOLS)


def _quote(job, chosen):
    est = _estimate()
    load = est.load
    shop = replace(load.catalogue.shop, price=chosen)
    work = Work(
        cells=job,
        parts=tuple((f"p{i}", f"P{i}") for i in range(4)),
        count={"profile:eased": Decimal("3.2"), HOLES: Decimal(2)},
        worn={},
    )
    return price_work(work, Rates(replace(load.catalogue, shop=shop), ()), [est])


def _check(job, chosen) -> None:
    made = _quote(job, chosen)
    shown = made.gross if chosen.tax_included else made.net
    assert sum(x.amount for x in made.lines) == shown
    assert sum(x.amount for x in made.parts) == shown
    assert sum(x.amount for x in made.costs) == made.net
    assert made.net + made.tax == made.gross
    assert all(x.amount >= 0 for x in (*made.lines, *made.parts))
    kinds = {x.kind: x.amount for x in made.costs}
    assert all(amount >= 0 for kind, amount in kinds.items() if kind != "rounding")
    for kind, amount in kinds.items():
        # Rounding of the price stays apart: a cost is what it was, to the cent.
        assert abs(amount - made.figures[kind].value) < 2 * CENT, kind
    for amount in (made.net, made.tax, made.gross, *(x.amount for x in made.lines)):
        assert amount % CENT == 0
    if chosen.tax_at == "line":
        assert sum(x.tax for x in made.lines) == made.tax
    if chosen.round_at == "line" and made.figures["price"].value:
        assert all(x.amount % chosen.round_to == 0 for x in made.lines)
    else:
        assert shown % chosen.round_to == 0
    exact = made.figures["price"].value + made.figures["minimum"].value
    assert exact >= chosen.minimum
    if chosen.tax_included:
        exact *= 1 + chosen.tax
    steps = len(made.lines) if chosen.round_at == "line" else 1
    allowed = steps * chosen.round_to
    if chosen.tax_included and chosen.tax_at == "line" and made.net < chosen.minimum + CENT:
        # Each line's tax may take half a cent more than its share out of the minimum.
        allowed += len(made.lines) * CENT
    assert abs(shown - exact) <= allowed
    assert made.net >= chosen.minimum


@pytest.mark.slow
@settings(max_examples=2000, suppress_health_check=[HealthCheck.too_slow])
@given(cells, rates)
def test_thousands_of_random_quotes_add_up_to_the_cent(job, chosen) -> None:
    """Lines, parts and kinds add up exactly; totals obey their step and their rule."""
    _check(job, chosen)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(cells, rates)
def test_random_figures_are_recomputed_from_their_factors(job, chosen) -> None:
    """Every formula over its factors as told gives its figure, to the last digit."""
    for one in _quote(job, chosen).explain("all"):
        (told,) = figures_json([one])
        facts = {f["name"]: f["value"] for f in told["factors"]}
        assert recomputed(told["formula"], facts) == Decimal(told["value"])


@pytest.mark.slow
@settings(max_examples=1000)
@given(
    st.integers(0, 10_000_000),
    st.lists(st.decimals(0, 10_000, places=6), min_size=1, max_size=30),
    st.sampled_from([Decimal(x) for x in ("0.001", "0.01", "1")]),
)
def test_sharing_out_is_exact_and_fair(steps, weights, step) -> None:
    """The shares add up exactly; none is a step or more from its exact one; order is kept."""
    total = steps * step
    shares = apportion(total, weights, step)
    assert sum(shares) == total
    whole = sum(weights)
    for amount, weight in zip(shares, weights, strict=True):
        exact = total * weight / whole if whole else total / len(weights)
        assert abs(amount - exact) < step * (1 + Decimal("1e-20"))
    for i, j in zip(range(len(weights)), range(1, len(weights)), strict=False):
        if weights[i] > weights[j]:
            assert shares[i] >= shares[j]


@settings(max_examples=1000)
@given(st.decimals(0, 10**9, places=8), st.sampled_from(["half-up", "half-even", "up"]))
def test_rounding_moves_by_less_than_its_step(amount, rule) -> None:
    """Half a step at most, a whole one for up; what is rounded stays as it is."""
    made = rounded(amount, CENT, rule)
    most = CENT if rule == "up" else CENT / 2
    assert abs(made - amount) <= most
    assert rule != "up" or made >= amount
    assert rounded(made, CENT, rule) == made


def test_sums_of_thousands_of_terms_are_added_up() -> None:
    """A sum is as long as a job is large; it is no deeper for that."""
    facts = [Explained(f"n_{i}", Decimal(i), "") for i in range(2000)]
    formula = " + ".join(f.name for f in facts)
    assert figure("x", "", formula, facts).value == 2000 * 1999 // 2
    assert figure("x", "", f"2 * ({formula}) - n_1", facts).value == 2000 * 1999 - 1


@settings(max_examples=300)
@given(st.decimals(1, 10**6, places=6), st.decimals(1, 10**6, places=6))
def test_formulas_are_plain_arithmetic(a, b) -> None:
    """The small language of formulas means what Python means by it."""
    facts = [Explained("a", a, ""), Explained("b", b, "")]
    for formula in ("a + b * 2 - 3", "(a - b) / (a + b)", "max(a - b, 0 * a)", "a / b / 7"):
        expected = recomputed(formula, {"a": str(a), "b": str(b)})
        assert figure("x", "", formula, facts).value == expected
