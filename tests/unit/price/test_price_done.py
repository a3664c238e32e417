"""Only what is done is billed: whatever the tools cannot reach, whatever is turned over."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.catalogue import PROFILES, a_cutout, a_drawing, a_part, a_profile
from support.prices import RATES, an_estimate, priced_tools
from support.shapes import circle, rectangle
from support.shifts import RULES

from edgetime.errors import CatalogueInvalid, NothingToCut
from edgetime.estimating import estimate_take_off
from edgetime.load import Options
from edgetime.price import price_load
from edgetime.price.work import collect
from edgetime.records import as_json
from edgetime.shift import shift_load
from edgetime.takeoff.parts import TakeOff
from edgetime.tooling import PreparationStep

GROMMET = (900.0, 800.0)


def an_opening(x, y, radius, profile="eased"):
    return a_cutout(circle(x, y, radius), profile, diameter_mm=2.0 * radius)


def a_top(*cutouts, profile="eased", name="p01", holes=(), y=500.0):
    return a_part(rectangle(1200.0, 700.0, x=600.0, y=y), profile, *cutouts, holes=holes, name=name)


def made(*parts, tools=None, rates=RATES):
    return an_estimate(
        take_off=TakeOff((a_drawing(*parts),)), tools=tools or priced_tools(), rates=rates
    )


def lines_of(est):
    return {line.item: line for line in price_load(est).lines}


def test_a_hole_that_no_tool_bores_is_not_billed():
    """No core bit of 20 mm: the hole's line is gone, and the rest costs what it costs alone."""
    hole = an_opening(*GROMMET, 10.0, "unfinished")
    with_it, without = made(a_top(hole)), made(a_top())
    assert with_it.cycle.total_s == without.cycle.total_s
    assert [s.reason for s in with_it.plan.stops] == []
    assert lines_of(with_it).keys() == lines_of(without).keys() == {"profile:eased"}
    assert lines_of(with_it)["profile:eased"].amount == lines_of(without)["profile:eased"].amount


def test_an_unreachable_grommet_moves_no_other_price():
    """Ø 60 lets the finger bit in and no wheel: the front's price is that of the front."""
    opening = an_opening(300.0, 600.0, 150.0)
    reached = made(a_top(opening))
    grommet = made(a_top(opening, an_opening(*GROMMET, 30.0)))
    for est in (reached, grommet):
        wheel = [p for p in est.plan.passes if p.step.tool == "wheel"]
        assert {p.run.contour for p in wheel} == {0, 1}
    before, after = lines_of(reached)["profile:eased"], lines_of(grommet)["profile:eased"]
    # Own time is the same; only its share of what all items share may move, by the handling.
    assert float(after.amounts.machine_s) == pytest.approx(
        float(before.amounts.machine_s), rel=0.02
    )


def test_a_turn_over_for_an_edge_no_tool_reaches_does_not_happen():
    """A two-sided profile in an opening too small for its wheel: nobody turns the part."""
    small = made(a_top(an_opening(*GROMMET, 30.0, "full-bullnose")))
    large = made(a_top(an_opening(*GROMMET, 150.0, "full-bullnose")))
    assert "flip" not in {s.reason for s in small.plan.stops}
    assert "flip" in {s.reason for s in large.plan.stops}
    for est in (small, large):
        load, _ = shift_load(est, RULES)
        starts = [*(v.starts_s for v in est.cycle.visits), est.cycle.total_s]
        assert [s.at_s for s in load.stops] == sorted(
            starts[s.before_visit] for s in est.plan.stops
        )
    turned = next(s for s in shift_load(large, RULES)[0].stops if s.reason == "flip")
    side = next(
        v.starts_s for v, p in zip(large.cycle.visits, large.plan.visits, strict=True) if p.side
    )
    assert turned.at_s == side


def test_slugs_count_only_openings_that_are_cut():
    """Of two openings the bit fits one: one slug, 30 s, and the stop itself, 20 s."""
    est = made(a_top(an_opening(300.0, 600.0, 150.0), an_opening(*GROMMET, 9.0)))
    (stop,) = est.plan.stops
    machine = est.load.machine
    assert (stop.reason, stop.places) == ("slug", ((0, 1),))
    assert stop.seconds == machine.slug_s + machine.stop_s
    assert dict(est.cycle.attended)["slug"] == stop.seconds


radii = st.sampled_from([8.0, 12.0, 17.5, 30.0, 42.0, 60.0, 150.0])
profiles = st.sampled_from(
    ["eased", "unfinished", "half-bullnose", "full-bullnose", "ogee", "mitre"]
)


@st.composite
def loads(draw):
    parts = []
    for number in range(draw(st.integers(1, 2))):
        y = 500.0 + 900.0 * number
        openings = [
            an_opening(250.0 + 350.0 * k, y + 100.0, draw(radii), draw(profiles))
            for k in range(draw(st.integers(0, 3)))
        ]
        holes = [(1100.0, y, draw(st.sampled_from([12.0, 20.0, 35.0])))] * draw(st.integers(0, 1))
        parts.append(
            a_top(*openings, profile=draw(profiles), holes=holes, name=f"p{number + 1:02d}", y=y)
        )
    return parts


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(loads(), st.sampled_from(["time", "parts", "length", "line"]))
def test_items_and_parts_add_up_to_what_the_load_takes(parts, setup_share):
    """Machine, labour, tools and hand work of items and parts are the load's, exactly."""
    rates = replace(RATES, setup_share=setup_share)
    try:
        est = made(*parts, rates=rates)
    except NothingToCut:
        return
    work = collect(est, rates)
    total = work.total()
    assert total.machine_s == Decimal(repr(est.cycle.total_s))
    for shares in (work.by_item(), work.by_part()):
        for name in ("machine_s", "attended_s", "waiting_s", "tools", "hand_m", "setup_h"):
            assert sum(getattr(a, name) for a in shares.values()) == getattr(total, name)
    for part, amounts in work.by_part().items():
        if part >= 0:
            own = est.cycle.parts[part].time.total_s
            assert math.isclose(float(amounts.machine_s), own, rel_tol=1e-9, abs_tol=1e-9)
    labour = dict(est.labour.by_kind)
    at_load = sum(s for kind, s in labour.items() if kind not in {"set-up", "attend"})
    assert math.isclose(float(total.attended_s), at_load, rel_tol=1e-9)
    assert math.isclose(float(total.hand_m), est.paths.hand_mm / 1000.0, abs_tol=1e-9)
    served = {(p.run.part, p.run.contour) for p in est.plan.passes}
    for (part, item), amounts in work.cells.items():
        if item.startswith("cutout:") and not amounts.machine_s:
            assert not amounts.tools
            assert not amounts.attended_s
        if amounts.machine_s:
            assert item == "handling" or any(p == part for p, _ in served)
    quote = price_load(est)
    assert sum(line.amount for line in quote.lines) == quote.net
    assert sum(part.amount for part in quote.parts) == quote.net


def test_a_laminated_edge_costs_its_strip_its_glue_and_its_clamping():
    """1.2 m at 6 and 4 min a metre and 10 EUR: 0.2 h at 36, 12 EUR; then the surcharges."""
    steps = (
        PreparationStep(name="strip", s_per_mm=0.36, material_per_m=Decimal(10), currency="EUR"),
        PreparationStep(name="glue-up", s_per_mm=0.24, material_per_m=Decimal(0), currency=""),
    )
    plain = a_profile("apron", "laminated", 10.0)
    edges = ["apron", "unfinished", "unfinished", "unfinished"]

    def quote(apron):
        others = [p for p in PROFILES if p.name != "apron"]
        base = an_estimate(tools=priced_tools())
        catalogue = replace(base.load.catalogue, profiles={p.name: p for p in (*others, apron)})
        parts = TakeOff((a_drawing(a_top(profile=edges)),))
        return price_load(estimate_take_off(parts, catalogue, Options()))

    without, with_it = quote(plain), quote(replace(plain, preparation=steps))
    line = next(x for x in with_it.lines if x.item == "preparation:apron")
    assert (line.quantity, line.unit) == (Decimal("1.2"), "m")
    assert line.unit_price == line.amount / Decimal("1.2")
    assert {"per_m", "per_ft"} <= set(as_json(line))
    assert line.amounts.bench_s == Decimal("720.0")
    assert line.amounts.machine_s == 0
    cost = Decimal("0.2") * 36 + 12
    more = with_it.figures["price"].value - without.figures["price"].value
    assert more == pytest.approx(cost * Decimal("1.10") * Decimal("1.25"))


def test_material_in_another_currency_is_refused_with_its_key():
    """The strip is priced in CHF, the shop in EUR."""
    step = PreparationStep(name="strip", s_per_mm=0.0, material_per_m=Decimal(9), currency="CHF")
    base = an_estimate(tools=priced_tools())
    eased = replace(base.load.catalogue.profiles["eased"], preparation=(step,))
    profiles = {**base.load.catalogue.profiles, "eased": eased}
    catalogue = replace(base.load.catalogue, profiles=profiles)
    with pytest.raises(CatalogueInvalid, match="CHF, the job in EUR") as told:
        price_load(estimate_take_off(base.take_off, catalogue, Options()))
    assert told.value.where.key == "preparation[1].material"


def test_rounding_leaves_the_costs_as_they_are():
    """Rounded up to 50: machine, labour and tools stay; the margin shown is what is left."""
    fine = price_load(an_estimate())
    coarse = price_load(an_estimate(rates=replace(RATES, round_to=Decimal(50), rounding="up")))
    costs = {k.kind: k.amount for k in fine.costs}
    for kind in coarse.costs:
        if kind.kind not in {"rounding", "minimum"}:
            assert kind.amount == costs[kind.kind], kind.kind
    cost = fine.figures["cost"].value + fine.figures["overhead"].value
    left = coarse.net - cost
    assert coarse.figures["margin-in-all"].value == pytest.approx(left)
    assert coarse.figures["margin-share"].value == pytest.approx(left / coarse.net)
    assert coarse.net % 50 == 0
    assert coarse.net - fine.net == sum(k.amount for k in coarse.costs if k.kind == "rounding")


def test_remakes_and_worn_tools_are_in_the_cost_as_the_shift_has_them():
    """4 % scrap: cost / 0.96; each life used up costs 3 min of machine and person."""
    est = an_estimate()
    shop = replace(est.load.catalogue.shop, shift=replace(RULES, scrap=0.04, measure_s=120.0))
    catalogue = replace(est.load.catalogue, shop=shop)
    with_rules = estimate_take_off(est.take_off, catalogue, Options())
    plain, full = price_load(est).figures, price_load(with_rules).figures
    worn = sum(t.share for t in est.wear.tools if t.share)
    hours = (worn * shop.shift.tool_swap_s + 120.0) / 3600.0
    base = float(plain["cost"].value) + hours * float(RATES.machine_rate + RATES.labour_rate)
    assert float(full["cost"].value) == pytest.approx(base / 0.96)
    assert float(full["remakes"].value) == pytest.approx(base * 0.04 / 0.96)


def _price(*parts):
    """Return the estimate and what it costs with all surcharges, before any rounding."""
    est = made(*parts)
    return est, float(price_load(est).figures["price"].value)


finishes = st.sampled_from(["eased", "half-bullnose", "unfinished"])


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(finishes, min_size=4, max_size=4), st.sampled_from([17.5, 60.0, 150.0]), profiles)
def test_a_quote_never_falls_when_a_part_is_added(edges, radius, profile):
    """Whatever the second part is, the load costs no less with it than without."""
    first = a_top(an_opening(300.0, 600.0, 150.0), profile=["eased", *edges[1:]])
    opening = an_opening(300.0, 1500.0, radius, profile)
    second = a_top(opening, profile=edges, name="p02", y=1400.0)
    _, alone = _price(first)
    _, both = _price(first, second)
    assert both >= alone


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(finishes, min_size=4, max_size=4), st.integers(0, 3))
def test_a_worked_edge_more_saves_no_more_than_leads_plunges_and_rapids(edges, which):
    """Two runs that become one are entered once: that alone may make more edge cost less."""
    edges[which] = "unfinished"
    more = [*edges]
    more[which] = "eased"
    before, less = _price(a_top(an_opening(300.0, 600.0, 150.0), profile=edges))
    after, full = _price(a_top(an_opening(300.0, 600.0, 150.0), profile=more))
    air = sum(v.time.lead_s + v.time.plunge_s + v.time.rapid_s for v in before.cycle.visits)
    surcharge = float((1 + RATES.overhead) * (1 + RATES.margin))
    second = float(RATES.machine_rate + RATES.attendance * RATES.labour_rate) / 3600.0
    assert full >= less - surcharge * second * air
    assert sum(after.plan.treated_mm.values()) > sum(before.plan.treated_mm.values())
