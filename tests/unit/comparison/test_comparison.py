"""Set-ups side by side: what each takes and costs, and when the dearer one pays."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.catalogue import STEPS, a_drawing, a_rectangle
from support.feeds import changed, feed_estimate, with_stack
from support.prices import RATES, priced_tools, recomputed

from edgetime.comparison import break_even, compare_alternatives
from edgetime.comparison.changes import read_change
from edgetime.errors import PlanError, UsageError
from edgetime.price import price_load
from edgetime.shift import shift_load, simulate_shift
from edgetime.takeoff.parts import TakeOff

FAST = changed(STEPS, "wheel", feed_mm_per_s=60.0)


def _codes(comparison):
    return [f.code for f in comparison.findings]


def test_nothing_changed_saves_nothing() -> None:
    """The load against itself: the same figures, a saving of nothing, and it never pays."""
    before, after = compare_alternatives([feed_estimate()], ["feed-override=100%"]).alternatives
    for name in ("machine_s", "attended_s", "hand_mm", "edge_mm", "cost", "tools", "per_m"):
        assert getattr(before, name) == getattr(after, name)
    assert after.saving == 0
    assert after.break_even.pays == "never"


def test_figures_are_those_of_estimate_price_and_shift() -> None:
    """Time, cost and yield of a set-up are those of the other commands for it."""
    # A long set-up would keep the person, not the machine, from another load.
    own = {"tools": priced_tools(), "rates": replace(RATES, setup_h=Decimal("0.05"))}
    est = with_stack(feed_estimate(**own), "fast", steps=FAST)
    alone = feed_estimate(**own, steps=FAST)
    before, after = compare_alternatives([est], ["stack=fast"]).alternatives
    quote = price_load(alone)
    assert after.machine_s == pytest.approx(alone.cycle.total_s, rel=1e-12)
    assert after.cost == quote.figures["cost"].value
    assert after.tools == quote.figures["tools"].value
    assert after.saving == before.cost - after.cost > 0
    metres = sum(alone.plan.treated_mm.values()) / 1000.0
    assert float(after.per_m) * metres == pytest.approx(float(after.cost), rel=1e-12)
    rules = alone.load.catalogue.shop.shift
    load, _ = shift_load(alone, rules, pockets=12)
    shift = simulate_shift([load], rules, pockets=12, fill=True, variation=False)
    assert after.shift.loads == shift.figures.loads > before.shift.loads > 0
    assert after.shift.area_mm2 == pytest.approx(shift.figures.area_mm2)


def test_a_set_that_is_there_pays_at_once() -> None:
    """Faster feeds of the same tools need nothing bought."""
    est = with_stack(feed_estimate(tools=priced_tools()), "fast", steps=FAST)
    after = compare_alternatives([est], ["stack=fast"]).alternatives[1]
    assert (after.pieces, after.purchase) == ((), 0)
    assert after.break_even.pays == "at-once"
    assert after.break_even.loads == 0


def _with_new_wheel(price):
    tools = priced_tools()
    wheel = next(t for t in tools if t.name == "wheel")
    life = (replace(wheel.life[0], value=3.0 * wheel.life[0].value),)
    new = replace(wheel, name="quick", price=price, life=life, file="tools/quick.toml")
    steps = tuple(
        replace(s, tool="quick", feed_mm_per_s=60.0) if s.tool == "wheel" else s for s in STEPS
    )
    return with_stack(feed_estimate(tools=(*tools, new)), "fast", steps=steps)


def test_new_tools_are_bought_piece_by_piece() -> None:
    """A profiled wheel is bought for each profile; loads are the purchase by the saving."""
    est = _with_new_wheel(Decimal("150.00"))
    comparison = compare_alternatives([est], ["stack=fast"])
    after = comparison.alternatives[1]
    assert sorted(after.pieces) == [
        ("quick/eased", Decimal("150.00")),
        ("quick/half-bullnose", Decimal("150.00")),
    ]
    assert after.purchase == Decimal("300.00")
    pays = after.break_even
    assert pays.pays == "after"
    assert (pays.loads - 1) * after.saving < 300 <= pays.loads * after.saving
    metres = 300.0 / float(after.saving) * after.edge_mm / 1000.0
    assert float(pays.metres) == pytest.approx(metres, rel=1e-12)
    assert (pays.days - 1) * after.shift.loads < pays.loads <= pays.days * after.shift.loads
    for figure in comparison.explain("all"):
        facts = {f.name: str(f.value) for f in figure.inputs}
        assert recomputed(figure.formula, facts) == figure.value


def test_a_price_that_is_missing_is_told() -> None:
    """Without the price of a new wheel neither purchase nor wear is known, so neither is the day.

    ``purchase=`` tells what the set costs; what wears off it remains unknown.
    """
    est = _with_new_wheel(None)
    comparison = compare_alternatives([est], ["stack=fast", "stack=fast,purchase=50 EUR"])
    unknown, told = comparison.alternatives[1:]
    assert unknown.purchase is None
    assert unknown.break_even.pays == "unknown"
    assert "set-price-unknown" in _codes(comparison)
    assert told.purchase == 50
    assert (told.saving, told.break_even.pays) == (None, "unknown")
    assert "set-wear-unknown" in _codes(comparison)


def test_a_slower_set_never_pays() -> None:
    """What makes a load dearer has no break-even, however cheap it is."""
    slow = changed(STEPS, "wheel", feed_mm_per_s=15.0)
    after = compare_alternatives(
        [with_stack(feed_estimate(tools=priced_tools()), "slow", steps=slow)],
        ["stack=slow,purchase=1"],
    ).alternatives[1]
    assert after.saving < 0
    assert after.break_even.pays == "never"
    assert after.break_even.loads is None


def test_another_rate_changes_the_machine_s_cost_only() -> None:
    """Ten more an hour cost ten times the hours the machine is taken up."""
    est = feed_estimate()
    before, after = compare_alternatives([est], ["rate=82"]).alternatives
    rules = est.load.catalogue.shop.shift
    worn = sum(t.share for t in est.wear.tools if t.share)
    stands = est.cycle.attended_s + rules.measure_s + worn * rules.tool_swap_s
    hours = (est.cycle.total_s + stands) / 3600 / (1 - rules.scrap)
    assert float(after.cost - before.cost) == pytest.approx(10 * hours, rel=1e-9)
    assert "--with rate=82" in {f.source.written for f in after.figures["machine"].inputs}


def test_another_machine_without_a_price_is_told() -> None:
    """When another machine pays is unknown until purchase= tells its price, with a rate or not."""
    est = feed_estimate()
    catalogue = est.load.catalogue
    quick = replace(catalogue.machines["bench"], name="quick", exchange_s=1.0, measure_s=0.0)
    own = replace(catalogue, machines={**catalogue.machines, "quick": quick})
    base = replace(est, load=replace(est.load, catalogue=own))
    comparison = compare_alternatives(
        [base],
        ["machine=quick", "machine=quick,rate=60", "machine=quick,rate=60,purchase=5000"],
    )
    same, rated, bought = comparison.alternatives[1:]
    assert same.machine == "quick"
    for other in (same, rated):
        assert other.saving > 0
        assert (other.purchase, other.break_even.pays) == (None, "unknown")
    assert (bought.purchase, bought.break_even.pays) == (5000, "after")
    told = [f.message for f in comparison.findings if f.code == "machine-price-not-counted"]
    assert len(told) == 2
    assert "at the rate of bench" in told[0]
    assert "has a rate" in told[1]


def test_several_loads_are_averaged() -> None:
    """Figures of two loads are the mean of each by itself; the yield runs them in turn."""
    one = feed_estimate(tools=priced_tools())
    other = feed_estimate(tools=priced_tools(), take_off=TakeOff((a_drawing(a_rectangle()),)))
    both = compare_alternatives([one, other], ["feed-override=120%"])
    alone = [compare_alternatives([e], ["feed-override=120%"]) for e in (one, other)]
    for k in (0, 1):
        for name in ("cost", "machine_s", "edge_mm"):
            mean = sum(float(getattr(c.alternatives[k], name)) for c in alone) / 2.0
            assert float(getattr(both.alternatives[k], name)) == pytest.approx(mean, rel=1e-12)
    assert "feed-wear-not-counted" in _codes(both)


def test_what_cannot_run_stands_aside() -> None:
    """A stack for another stone is refused with its reason; alone it ends with exit code 4."""
    est = feed_estimate()
    catalogue = est.load.catalogue
    other = replace(est.load.stack, name="other", stones=("marble",))
    own = replace(catalogue, stacks={**catalogue.stacks, "other": other})
    base = replace(est, load=replace(est.load, catalogue=own))
    comparison = compare_alternatives([base], ["stack=other", "feed-override=90%"])
    assert len(comparison.alternatives) == 2
    assert comparison.refused[0].text == "stack=other"
    with pytest.raises(PlanError, match="No alternative can be made") as caught:
        compare_alternatives([base], ["stack=other"])
    assert caught.value.exit_code == 4
    assert caught.value.remedy


def test_a_load_longer_than_the_shift_has_no_yield() -> None:
    """Without a yield there are no days, and a finding says why."""
    est = feed_estimate(tools=priced_tools(), machine={"exchange_s": 8000.0})
    comparison = compare_alternatives([est], ["feed-override=150%,purchase=10"])
    after = comparison.alternatives[1]
    assert after.shift is None
    assert after.break_even.loads is not None
    assert after.break_even.days is None
    assert "yield-unknown" in _codes(comparison)


@pytest.mark.parametrize(
    "text",
    [
        "", ",", "stak=x", "stone=marble", "stack", "stack=", "stack=a,stack=b",
        "feed-override=fast", "purchase=much", "rate=-3", "rate=5USD,purchase=4EUR",
        "stack=nowhere", "machine=nowhere", "feed-override=900%", "purchase=3USD",
    ],
)  # fmt: skip
def test_set_ups_that_cannot_be_read(text) -> None:
    """Every slip ends with exit code 2, the option's name and a remedy."""
    with pytest.raises(UsageError) as caught:
        compare_alternatives([feed_estimate()], [text])
    assert caught.value.where.key == "--with"
    assert caught.value.remedy


@pytest.mark.parametrize("count", [0, 6])
def test_number_of_set_ups(count) -> None:
    """There is at least one and there are at most five, refused before anything is calculated."""
    with pytest.raises(UsageError, match="1 to 5"):
        compare_alternatives([feed_estimate()], ["feed-override=90%"] * count)


def test_explain_of_an_unknown_figure() -> None:
    """An unknown figure is refused with the names there are."""
    comparison = compare_alternatives([feed_estimate()], ["feed-override=150%"])
    assert len(comparison.explain("cost")) == 2
    with pytest.raises(UsageError) as caught:
        comparison.explain("profit")
    assert "saving" in caught.value.remedy


def test_time_and_yield_come_about_tool_by_tool_and_load_by_load() -> None:
    """cycle, attended, loads and area add up to the rows of the table, in every set-up."""
    one = feed_estimate(tools=priced_tools())
    other = feed_estimate(tools=priced_tools(), take_off=TakeOff((a_drawing(a_rectangle()),)))
    comparison = compare_alternatives([one, other], ["feed-override=150%"])
    for name in ("cycle", "attended", "loads", "area"):
        figures = comparison.explain(name)
        assert len(figures) == 2
        for s, made in zip(comparison.alternatives, figures, strict=True):
            rows = {
                "cycle": s.machine_s, "attended": s.attended_s, "loads": s.shift.loads,
                "area": s.shift.area_mm2 / 1e6,
            }  # fmt: skip
            assert float(made.value) == pytest.approx(rows[name], rel=1e-9)
            facts = {f.name: str(f.value) for f in made.inputs}
            assert recomputed(made.formula, facts) == made.value
    wheel = [
        next(f.value for f in made.inputs if f.note == "wheel")
        for made in comparison.explain("cycle")
    ]
    seconds = sum(v.time.total_s for e in (one, other) for v in e.cycle.visits if v.tool == "wheel")
    assert float(wheel[0]) == pytest.approx(seconds, rel=1e-12)
    assert wheel[1] < wheel[0]
    for s in comparison.alternatives:
        assert [name for name, _, _ in s.shift.done] == ["load", "load"]
        assert 0 <= s.shift.done[0][2] - s.shift.done[1][2] <= 1


def test_explain_of_a_figure_that_no_set_up_has() -> None:
    """What is nowhere known is told so, not refused as a name that there is not."""
    comparison = compare_alternatives([feed_estimate(tools=priced_tools())], ["feed-override=50%"])
    with pytest.raises(UsageError, match="No alternative has the figure"):
        comparison.explain("break-even")


def test_reading_a_set_up() -> None:
    """Blanks do not matter; a factor is read in per cent or as a number."""
    read = read_change(" stack = fast , feed-override = 110 % , purchase = 1800.50EUR ")
    assert (read.stack, read.feed_override, read.purchase) == ("fast", 1.1, Decimal("1800.50"))
    assert read.currency == "EUR"


def test_break_even_by_hand() -> None:
    """1800 at 6 a load of 10 m, 7 loads a day: 300 loads, 3000 m, 43 days."""
    made = break_even(Decimal(1800), Decimal(6), Decimal(10), 7)
    assert (made.pays, made.loads, made.metres, made.days) == ("after", 300, 3000, 43)
    assert break_even(Decimal(1801), Decimal(6), Decimal(10), 7).loads == 301


money = st.decimals(Decimal("0.01"), 100_000, places=2)


@given(money, money, st.decimals(0, 500, places=3), st.integers(1, 40))
def test_break_even_is_the_first_load_that_pays(purchase, saving, metres, per_day) -> None:
    """One load fewer has not paid, that many have, to the last cent; likewise days."""
    made = break_even(purchase, saving, metres, per_day)
    assert (made.loads - 1) * saving < purchase <= made.loads * saving
    assert (made.days - 1) * per_day < made.loads <= made.days * per_day


def test_a_saving_in_hours_that_make_no_more_loads_is_told() -> None:
    """A set-up of half an hour keeps the person busy: the faster stack frees hours only."""
    est = with_stack(feed_estimate(tools=priced_tools()), "fast", steps=FAST)
    comparison = compare_alternatives([est], ["stack=fast", "rate=10"])
    before, after, _ = comparison.alternatives
    assert after.shift.loads == before.shift.loads
    (told,) = [f for f in comparison.findings if f.code == "saving-in-freed-hours"]
    hours = sum(before.figures[k].value - after.figures[k].value for k in ("machine", "labour"))
    cent = Decimal("0.01")
    assert f"{min(hours, after.saving).quantize(cent)} are freed hours" in told.message
    assert "'stack=fast'" in told.message


def test_the_knob_has_one_name_in_what_if_and_compare() -> None:
    """``feed`` is short for ``feed-override`` in both; both together are one key twice."""
    assert read_change("feed=110%").feed_override == read_change("feed-override=110%").feed_override
    for read in (read_change,):
        with pytest.raises(UsageError, match="feed-override is given twice"):
            read("feed=110%,feed-override=90%")


@pytest.mark.parametrize(
    ("value", "why", "write"),
    [
        (
            "1,800",
            "1,800 in '1,800' may have a thousands comma or a decimal comma",
            "1800 or 1.800",
        ),
        ("1,5", "has a decimal comma", "1.5"),
        ("1'800", "has thousands apart", "1800"),
        ("1.800,00EUR", "has thousands apart", "1800.00"),
    ],
)
@pytest.mark.parametrize("key", ["purchase", "rate"])
def test_an_amount_with_a_comma_is_refused_as_one(key, value, why, write) -> None:
    """Not as an unknown change called 800: what is wrong is the comma."""
    with pytest.raises(UsageError) as told:
        read_change(f"stack=fast, {key}={value}")
    assert why in told.value.what
    assert f"{key} is not an amount" in told.value.what
    assert told.value.remedy == f"Write {write}."


def test_a_factor_may_have_a_decimal_comma() -> None:
    """As in --what-if, and as all other figures with a unit."""
    assert read_change("stack=fast,feed=1,1").feed_override == pytest.approx(1.1)
    assert read_change("feed = 1,1 , stack = fast").stack == "fast"
