"""From an estimate to a quote: what is priced, how it is shared, how it adds up."""

from __future__ import annotations

import math
import re
from dataclasses import fields, replace
from decimal import Decimal

import pytest
from support.catalogue import a_part
from support.prices import RATES, an_estimate, priced_tools, recomputed
from support.shapes import circle

from edgetime.errors import CatalogueInvalid, UsageError
from edgetime.explained import figures_json
from edgetime.geometry.path import Path
from edgetime.price import price_load, price_loads
from edgetime.price.work import CORNERS, HOLES, SETUP, collect
from edgetime.records import as_json
from edgetime.takeoff.parts import DrawingTakeOff, TakeOff


def quote(**changes):
    return price_load(an_estimate(rates=replace(RATES, **changes)))


def total(items):
    return sum((i.amount for i in items), Decimal(0))


def near(value, expected):
    assert float(value) == pytest.approx(expected, rel=1e-12)


def test_work_adds_up_to_the_estimate() -> None:
    """Machine, attended, hand, tools, power and water of all items are those of the load."""
    est = an_estimate()
    work = collect(est, RATES)
    whole = work.total()
    near(whole.machine_s, est.cycle.total_s)
    near(whole.attended_s, est.cycle.attended_s)
    near(whole.hand_m * 1000 or 1, est.cycle.hand_mm or 1)
    near(whole.tools, float(est.wear.cost[0][1]))
    near(whole.energy_kwh, est.wear.consumables.electricity_kwh)
    near(whole.water_m3, est.wear.consumables.water_l / 1000.0)
    assert whole.setup_h.quantize(Decimal("1e-12")) == RATES.setup_h


def test_work_of_a_part_is_the_cycles() -> None:
    """The machine's time of each part is the one the estimate tells."""
    est = an_estimate()
    by_part = collect(est, RATES).by_part()
    for i, part in enumerate(est.cycle.parts):
        near(by_part[i].machine_s, part.time.total_s)


def test_items_are_what_an_estimator_sells() -> None:
    """Profiles by length without the cutout's edge, the cutout with its edge, the hole."""
    lines = {line.item: line for line in quote().lines}
    assert list(lines) == [
        "profile:eased", "profile:half-bullnose", "profile:seam", "cutout:eased", HOLES,
    ]  # fmt: skip
    assert lines["profile:eased"].quantity == Decimal("2.4")
    assert lines["profile:half-bullnose"].quantity == Decimal("0.8")
    assert (lines["cutout:eased"].quantity, lines[HOLES].quantity) == (1, 1)
    assert lines["cutout:eased"].amounts.machine_s > lines[HOLES].amounts.machine_s
    near(lines["profile:eased"].unit_price, float(lines["profile:eased"].amount) / 2.4)


def test_radius_corners_are_counted_and_their_length_is_not_sold_twice() -> None:
    """A part with two corners of 60 mm: two corners, and its metres without their arcs."""
    points = [(0, 0), (940, 0), (1000, 60), (1000, 540), (940, 600), (0, 600)]
    quarter = 0.41421356237309503
    path = Path.from_bulges(
        [(x + 300, y + 300) for x, y in points], [0, quarter, 0, quarter, 0, 0], closed=True
    )
    part = a_part(path, "eased")
    drawing = DrawingTakeOff("a.dxf", "mm", 1.0, "", (0, 0), {}, {}, (part,), ())
    lines = {x.item: x for x in price_load(an_estimate(take_off=TakeOff((drawing,)))).lines}
    assert lines[CORNERS].quantity == 2
    near(lines["profile:eased"].quantity, 0.94 + 0.48 + 0.94 + 0.6)
    assert lines[CORNERS].amounts.machine_s > 0


def test_disc_is_edge_and_no_corner() -> None:
    """A round part of 140 mm radius: its whole circumference by the metre, nothing each."""
    disc = a_part(circle(600.0, 600.0, 140.0).reversed(), "eased")
    drawing = DrawingTakeOff("a.dxf", "mm", 1.0, "", (0, 0), {}, {}, (disc,), ())
    made = price_load(an_estimate(take_off=TakeOff((drawing,))))
    assert [x.item for x in made.lines] == ["profile:eased"]
    near(made.lines[0].quantity, 2.0 * math.pi * 0.140)
    near(made.lines[0].unit_price, float(made.lines[0].amount) / (2.0 * math.pi * 0.140))


def test_half_round_ends_of_a_straight_part_are_corners() -> None:
    """A part as round at its ends, with straights between them, has two corners."""
    points = [(300, 300), (900, 300), (900, 560), (300, 560)]
    path = Path.from_bulges(points, [0, 1, 0, 1], closed=True)
    drawing = DrawingTakeOff("a.dxf", "mm", 1.0, "", (0, 0), {}, {}, (a_part(path, "eased"),), ())
    lines = {x.item: x for x in price_load(an_estimate(take_off=TakeOff((drawing,)))).lines}
    assert lines[CORNERS].quantity == 2
    near(lines["profile:eased"].quantity, 1.2)


def test_hand_computed_price() -> None:
    """The price of the load is the one a pocket calculator gives from its amounts."""
    est = an_estimate()
    made = price_load(est)
    cycle, used = est.cycle, est.wear.consumables
    machine = 72 * (cycle.total_s + cycle.attended_s) / 3600
    labour = 36 * ((cycle.attended_s + 0.1 * cycle.total_s) / 3600 + 0.5)
    other = 0.30 * used.electricity_kwh + 5 * used.water_l / 1000 + 50 * cycle.hand_mm / 1000
    cost = machine + labour + other + float(est.wear.cost[0][1])
    assert float(made.net) == pytest.approx(cost * 1.10 * 1.25, abs=0.005)
    kinds = {k.kind: float(k.amount) for k in made.costs}
    assert kinds["machine"] == pytest.approx(machine, abs=0.01)
    assert kinds["labour"] == pytest.approx(labour, abs=0.01)
    assert kinds["overhead"] == pytest.approx(0.10 * cost, abs=0.01)
    assert kinds["margin"] == pytest.approx(0.25 * 1.10 * cost, abs=0.01)


def test_margin_on_the_price() -> None:
    """With margin_on = price the margin is that share of the net price."""
    made = quote(margin_on="price")
    price = made.figures["price"].value
    assert abs(made.figures["margin"].value / price - Decimal("0.25")) < Decimal("1e-40")


def test_second_table_spares_the_waiting() -> None:
    """The machine is charged for its cycle and the slug it waits for, people as before."""
    one, two = quote(), quote(machine_waits=False)
    near(two.figures["machine"].value, 72.0 * (float(two.machine_s) + 50.0) / 3600.0)
    assert one.figures["machine"].value > two.figures["machine"].value
    assert one.figures["labour"].value == two.figures["labour"].value


@pytest.mark.parametrize("rule", ["time", "parts", "length", "line"])
def test_set_up_is_shared_by_the_rule(rule) -> None:
    """By machine time, equally, by worked length (2.4 m and a cutout against 0.8 m), or alone."""
    est = an_estimate()
    work = collect(est, replace(RATES, setup_share=rule))
    by_part = work.by_part()
    first, second = by_part[0].setup_h, by_part[1].setup_h
    if rule == "line":
        assert (first, second) == (0, 0)
        assert work.cells[-1, SETUP].setup_h == RATES.setup_h
        made = price_load(an_estimate(rates=replace(RATES, setup_share=rule)))
        assert [x.item for x in made.lines][-1] == SETUP
        assert made.parts[-1].part_id == ""
        assert total(made.parts) == made.net
        return
    times = [p.time.total_s for p in est.cycle.parts]
    lengths = [sum(n for (p, _), n in est.plan.treated_mm.items() if p == i) for i in (0, 1)]
    ratio = {"time": times[0] / times[1], "parts": 1.0, "length": lengths[0] / lengths[1]}[rule]
    near(first / second, ratio)
    near(first + second, 0.5)


def test_minimum_charge_is_told_and_shared() -> None:
    """A small job costs the minimum; its lines and kinds add up to it, and it is said."""
    made = quote(minimum=Decimal("250.00"))
    assert made.net == Decimal("250.00")
    assert total(made.lines) == total(made.parts) == total(made.costs) == Decimal("250.00")
    added = next(k for k in made.costs if k.kind == "minimum")
    assert abs(added.amount - (250 - made.figures["price"].value)) < Decimal("0.01")
    assert [f.code for f in made.own_findings] == ["minimum-charged"]


RULES = [
    {"round_at": at, "rounding": rounding, "tax": Decimal(tax), "tax_included": bool(Decimal(tax)),
     "tax_at": tax_at}
    for at in ("total", "line")
    for rounding in ("half-up", "half-even", "up")
    for tax, tax_at in (("0", "total"), ("0.19", "total"), ("0.19", "line"))
]  # fmt: skip


@pytest.mark.parametrize("rules", RULES, ids=lambda r: "-".join(map(str, r.values())))
@pytest.mark.parametrize(("minimum", "step"), [("300.01", "5"), ("302", "5"), ("300.03", "0.01")])
def test_nothing_is_charged_below_the_minimum(minimum, step, rules) -> None:
    """Whatever rounds where, the net is at least the minimum, and each step is kept."""
    least, step = Decimal(minimum), Decimal(step)
    made = quote(minimum=least, round_to=step, **rules)
    assert made.net >= least
    assert made.shown % step == 0
    assert total(made.lines) == total(made.parts) == made.shown
    assert total(made.costs) == made.net == made.gross - made.tax
    assert made.figures["minimum"].value > 0
    exact = least * (1 + (rules["tax"] if rules["tax_included"] else 0))
    # A step for what is rounded, and half a cent of tax for each line where it is rounded.
    steps = len(made.lines) if rules["round_at"] == "line" else 1
    cents = len(made.lines) if rules["tax_at"] == "line" else 0
    assert made.shown - exact < steps * step + cents * Decimal("0.01")
    if rules["round_at"] == "line":
        assert all(x.amount % step == 0 for x in made.lines)
    for one in made.explain("all"):
        (told,) = figures_json([one])
        facts = {f["name"]: f["value"] for f in told["factors"]}
        assert recomputed(told["formula"], facts) == Decimal(told["value"]), one.name


def test_minimum_of_82_in_steps_of_5_is_85() -> None:
    """Half up it were 80, less than the shop takes for any job; with 19 % in it 97.58, so 100."""
    small = {"minimum": Decimal(82), "round_to": Decimal(5)}
    free = {"machine_rate": Decimal(0), "labour_rate": Decimal(0), "hand_rate": Decimal(0)}
    made = quote(**small, **free)
    assert made.figures["minimum"].value > 0
    assert str(made.net) == "85.00"
    assert "rounded up" in made.figures["net"].note
    taxed = quote(**small, **free, tax=Decimal("0.19"), tax_included=True)
    assert (str(taxed.gross), str(taxed.net)) == ("100.00", "84.03")


def test_rounding_does_not_take_a_dearer_job_below_the_minimum() -> None:
    """A job a little dearer than the minimum is no cheaper than it, for all its rounding."""
    price = quote().figures["price"].value
    least = (price - Decimal("0.01")).quantize(Decimal("0.01"), "ROUND_FLOOR")
    made = quote(minimum=least, round_to=Decimal(50))
    assert not made.figures["minimum"].value
    assert made.net >= least
    assert made.net % 50 == 0


def test_digits_of_an_amount_are_those_of_its_currency() -> None:
    """Rounded to whole fives, in euros there are cents all the same; in yen there are none."""
    told = as_json(quote(round_to=Decimal(5), tax=Decimal("0.19")))
    for amount in (told["net"], told["tax"], told["gross"], *(x["amount"] for x in told["lines"])):
        assert re.fullmatch(r"\d+\.\d\d", amount), amount
    rates = replace(RATES, currency="JPY", round_to=Decimal(5), minimum=Decimal(10))
    told = as_json(price_load(an_estimate(rates=rates, tools=priced_tools("JPY"))))
    assert re.fullmatch(r"\d+", told["net"])


def test_error_without_a_drawing_leaves_the_minimum() -> None:
    """The band is about the job, before the minimum; what is charged is never below it."""
    est = an_estimate()
    price = price_load(est).figures["price"].value
    cent, error = Decimal("0.01"), Decimal("0.25")
    assert price_load(est).band is None
    made = price_loads([est], error=error)
    assert made.band == tuple(
        (price / f).quantize(cent, "ROUND_HALF_UP") for f in (1 + error, 1 - error)
    )
    third = 4.0 / 3.0
    for times, low, high in (("0.9", "0.9", third), ("1.1", "1.1", third), ("2", "2", "2")):
        least = (price * Decimal(times)).quantize(cent)
        dear = an_estimate(rates=replace(RATES, minimum=least))
        made = price_loads([dear], error=error)
        assert [float(x / price) for x in made.band] == pytest.approx(
            [float(low), float(high)], abs=1e-4
        )
        assert made.band[0] >= least


def test_job_that_costs_nothing_still_has_its_minimum() -> None:
    """Rates of zero: the minimum is shared out evenly, whatever is rounded where."""
    free = {f.name: Decimal(0) for f in fields(RATES) if f.name in {
        "machine_rate", "electricity", "water", "labour_rate", "hand_rate",
    }}  # fmt: skip
    bare = tuple(replace(t, price=None, currency="") for t in priced_tools())
    for at in ("line", "total"):
        rates = replace(RATES, **free, round_at=at, minimum=Decimal("80.01"))
        made = price_load(an_estimate(rates=rates, tools=bare))
        assert made.net == total(made.lines) == total(made.costs) == Decimal("80.01")


def test_tax_on_top() -> None:
    """19 % on top of the net total, rounded once, half up."""
    made = quote(tax=Decimal("0.19"))
    assert made.tax == (made.net * Decimal("0.19")).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert made.gross == made.net + made.tax
    assert total(made.lines) == total(made.parts) == made.net


def test_tax_inside() -> None:
    """Prices with 19 % in them: lines add up to the gross, which the exact price gives."""
    outside, made = quote(tax=Decimal("0.19")), quote(tax=Decimal("0.19"), tax_included=True)
    price = made.figures["price"].value
    assert made.gross == (price * Decimal("1.19")).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert made.tax == (made.gross * 19 / 119).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert total(made.lines) == total(made.parts) == made.shown == made.gross
    assert total(made.costs) == made.net == made.gross - made.tax
    assert abs(made.net - outside.net) <= Decimal("0.01")


def test_tax_line_by_line() -> None:
    """Each line's tax is rounded by itself; the tax is their sum."""
    made = quote(tax=Decimal("0.077"), tax_at="line")
    assert made.tax == sum(x.tax for x in made.lines)
    for x in made.lines:
        assert x.tax == (x.amount * Decimal("0.077")).quantize(Decimal("0.01"), "ROUND_HALF_UP")


@pytest.mark.parametrize("rounding", ["half-up", "half-even", "up"])
@pytest.mark.parametrize("at", ["total", "line"])
def test_tax_is_rounded_half_up_whatever_prices_are(rounding, at) -> None:
    """A shop that rounds its prices up does not collect more tax than is owed."""
    made = quote(tax=Decimal("0.081"), rounding=rounding, tax_at=at)
    amounts = [x.amount for x in made.lines] if at == "line" else [made.net]
    cents = [(a * Decimal("0.081")).quantize(Decimal("0.01"), "ROUND_HALF_UP") for a in amounts]
    assert made.tax == sum(cents)


def test_tax_by_line_is_explained_by_its_lines() -> None:
    """Its formula has every line, the rate with file and key, and no sum nobody can check."""
    made = quote(tax=Decimal("0.19"), tax_at="line", round_at="line")
    facts = {f.name: f for f in made.figures["tax"].inputs}
    assert (facts["tax_rate"].source.file, facts["tax_rate"].source.key) == (
        "shop.toml",
        "price.tax",
    )
    for i, x in enumerate(made.lines, 1):
        for figure in (made.figures["tax"], made.figures["net"]):
            fact = next(f for f in figure.inputs if f.name == f"line_{i}")
            assert (fact.value, fact.note) == (x.amount, f"figure {x.item}")


def test_price_per_foot_is_a_figure() -> None:
    """What is printed per foot can be asked for, and is 0.3048 of the price per metre."""
    made = quote()
    per_m, per_ft = (made.figures[f"profile:eased/{x}"].value for x in ("m", "ft"))
    near(per_ft, float(per_m) * 0.3048)
    assert made.figures["profile:eased/ft"].inputs[1].note == "of the drawing"
    assert "holes/ft" not in made.figures


def test_round_line_by_line_and_to_five_cents() -> None:
    """Each line is a multiple of the step, and the total is their sum."""
    made = quote(round_at="line", round_to=Decimal("0.05"))
    assert all(x.amount % Decimal("0.05") == 0 for x in made.lines)
    assert made.net == total(made.lines) == total(made.parts) == total(made.costs)


def test_rounded_total_is_shared_to_the_cent() -> None:
    """A total in whole euros over lines in cents: no line is a cent off its exact share."""
    made = quote(round_to=Decimal("1.00"))
    assert made.net == int(made.net)
    exact = made.figures["price"].value
    by_item = collect(an_estimate(), RATES).by_item()
    assert total(made.lines) == made.net
    for x in made.lines:
        own = by_item[x.item]
        assert own.machine_s == x.amounts.machine_s
        fact = next(f for f in made.figures[x.item].inputs if f.name == "to_the_cent")
        unrounded = x.amount - fact.value
        assert abs(x.amount - unrounded * made.net / exact) < Decimal("0.01")


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"tax": Decimal("0.19"), "tax_included": True, "minimum": Decimal(300)},
        {"tax": Decimal("0.08"), "tax_at": "line", "round_at": "line", "rounding": "half-even"},
        {
            "margin_on": "price",
            "setup_share": "line",
            "rounding": "up",
            "round_to": Decimal("0.50"),
        },
    ],
)
def test_every_figure_is_recomputed_from_its_factors(changes) -> None:
    """Formula and factors, as the JSON form tells them, give each figure exactly."""
    made = quote(**changes)
    for one in made.explain("all"):
        (told,) = figures_json([one])
        facts = {f["name"]: f["value"] for f in told["factors"]}
        assert recomputed(told["formula"], facts) == Decimal(told["value"]), one.name
    shown = {line.item: line.amount for line in made.lines}
    shown |= {"net": made.net, "tax": made.tax, "gross": made.gross}
    shown |= {f"part:{p.part_id or SETUP}": p.amount for p in made.parts}
    for name, amount in shown.items():
        assert made.figures[name].value == amount


def test_factors_say_where_they_stand() -> None:
    """Rates name shop.toml and their key; tools their files; times the machine's file or none."""
    made = quote()
    for one in made.explain("all"):
        for fact in one.inputs:
            assert fact.note or fact.source.text, (one.name, fact.name)
    rate = made.figures["labour"].inputs[0]
    assert (rate.source.file, rate.source.key) == ("shop.toml", "price.labour_rate")
    tool = made.figures["tools"].inputs[0]
    assert tool.source.file.startswith("tools/")
    assert tool.source.key == "price"


def test_unknown_figure() -> None:
    """What cannot be explained is refused with what can."""
    with pytest.raises(UsageError, match="no figure 'profit'") as caught:
        quote().explain("profit")
    assert "margin" in caught.value.remedy


def test_mixed_currencies_of_tools() -> None:
    """Two tools in two currencies: which, where, and what to do."""
    tools = [replace(t, currency="USD") if t.name == "wheel" else t for t in priced_tools()]
    with pytest.raises(CatalogueInvalid, match=r"wheel is priced in USD.* is in EUR") as caught:
        price_load(an_estimate(tools=tuple(tools)))
    assert caught.value.where.path == "tools/wheel.toml"
    assert caught.value.exit_code == 3


def test_rates_in_another_currency_than_the_tools() -> None:
    """Rates in dollars and tools in euros cannot be added up."""
    with pytest.raises(CatalogueInvalid, match="two currencies"):
        price_load(an_estimate(rates=replace(RATES, currency="USD")))


def test_assumed_rates_take_the_tools_currency() -> None:
    """A shop without [price] is priced with assumed figures in its tools' currency, and told."""
    rates = replace(RATES, key="", currency="")
    made = price_load(an_estimate(rates=rates, tools=priced_tools("CHF")))
    assert made.currency == "CHF"
    assert "price-assumed" in {f.code for f in made.findings}


def test_step_finer_than_the_coin() -> None:
    """Tenths of a yen cannot be charged."""
    rates = replace(RATES, currency="JPY")
    with pytest.raises(CatalogueInvalid, match=r"rounded to 0\.01 JPY"):
        price_load(an_estimate(rates=rates, tools=priced_tools("JPY")))


def test_unknown_locale() -> None:
    """A locale nobody knows is refused with its key."""
    with pytest.raises(CatalogueInvalid, match="'xx_YY' is not a known locale") as caught:
        quote(locale="xx_YY")
    assert caught.value.where.key == "price.locale"


def test_unknown_tool_costs_are_told() -> None:
    """A tool without a price is not priced in silence."""
    tools = tuple(
        replace(t, price=None, currency="") if t.name == "pad" else t for t in priced_tools()
    )
    found = {f.code: f for f in price_load(an_estimate(tools=tools)).findings}
    assert "pad states no price" in found["tool-cost-unknown"].message
