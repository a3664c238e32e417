"""Tool lives in set-ups of other feeds: followed where they were tried, else not claimed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from support.catalogue import STEPS
from support.feeds import TAYLOR, changed, feed_estimate, feed_tools, with_stack
from support.prices import priced_tools

from edgetime.comparison import compare_alternatives
from edgetime.comparison.feed_lives import follow_feeds
from edgetime.economics import economic_feed
from edgetime.price import price_load
from edgetime.records import as_json
from edgetime.report.compare import compare_sheet
from edgetime.tooling import Life
from edgetime.units import UnitSystem

WHEEL_FEED = next(s for s in STEPS if s.tool == "wheel").feed_mm_per_s
FAST = changed(STEPS, "wheel", feed_mm_per_s=60.0)
TOO_FAST = changed(STEPS, "wheel", feed_mm_per_s=96.0)


def _told(comparison, code):
    return [f for f in comparison.findings if f.code == code]


def _shares(est, tool="wheel"):
    return sum(t.share for t in est.wear.tools if t.tool == tool)


@pytest.mark.parametrize("by", ["length", "time", "volume"])
def test_a_life_follows_the_feed_as_the_command_feed_has_it(by) -> None:
    """What the wheels wear more in the fast stack is what ``feed`` reckons for that feed."""
    tools = tuple(
        replace(t, life=(Life(by, 5e4, key="life[1]"),)) if t.name == "wheel" else t
        for t in feed_tools("wheel")
    )
    est = with_stack(feed_estimate(tools=tools), "fast", steps=FAST)
    comparison = compare_alternatives([est], ["stack=fast"])
    before, after = comparison.alternatives
    at = economic_feed(est, tool="wheel", at_mm_per_s=60.0).steps[0].at
    more = 100.0 * (at.wear - _shares(est))
    assert more > 0.0
    assert float(after.tools - before.tools) == pytest.approx(more, rel=1e-9)
    alone = price_load(feed_estimate(tools=tools, steps=FAST)).figures
    rules, own = est.load.catalogue.shop.shift, est.load.catalogue.shop.price
    swap = rules.tool_swap_s / 3600 * float(own.machine_rate + own.labour_rate)
    tools_alone = float(alone["tools"].value)
    more = (float(after.tools) - tools_alone) * (1 + swap / 100.0)
    stated = float(alone["cost"].value)
    assert float(after.cost) == pytest.approx(stated + more / (1 - rules.scrap), rel=1e-9)
    (told,) = _told(comparison, "life-by-feed")
    assert "'stack=fast' runs wheel" in told.message
    assert "3.6 m/min" in told.message
    assert not _told(comparison, "feed-wear-not-counted")


def test_the_factor_of_a_life_by_length_on_paper() -> None:
    """At twice the feed and n = 0.4 a metre takes 2^(1/0.4 - 1) = 2.83 times as much."""
    est = with_stack(feed_estimate(), "fast", steps=FAST)
    fast = feed_estimate(steps=FAST)
    followed = follow_feeds(fast, est).estimate
    assert WHEEL_FEED == 30.0
    assert _shares(followed) == pytest.approx(_shares(est) * 2.0**1.5, rel=1e-12)
    for t in followed.wear.tools:
        assert sum(share for _, share in t.by_part) == pytest.approx(t.share, rel=1e-12)
        assert sum(share for _, share in t.by_profile) == pytest.approx(t.share, rel=1e-12)
        assert t.measure.used / t.measure.life == pytest.approx(t.share, rel=1e-12)
    assert _shares(followed, "pad") == _shares(fast, "pad")


@pytest.mark.parametrize("feed", [96.0, 9.0])
def test_outside_the_range_nothing_is_claimed(feed) -> None:
    """Above or below the feeds tried: time and yield are told, cost and payback are unknown."""
    steps = changed(STEPS, "wheel", feed_mm_per_s=feed)
    est = with_stack(feed_estimate(), "odd", steps=steps)
    comparison = compare_alternatives([est], ["stack=odd,purchase=900"])
    before, after = comparison.alternatives
    assert before.cost > 0
    assert (after.tools, after.cost, after.per_m, after.saving) == (None,) * 4
    assert after.break_even.pays == "unknown"
    assert after.machine_s > 0.0
    assert after.shift.loads > 0
    (told,) = _told(comparison, "life-not-tried")
    assert told.severity == "warning"
    said = {9.0: "540 mm/min", 96.0: "5.76 m/min"}[feed]
    for word in ("wheel", said, "range is 600 to 5400 mm/min"):
        assert word in told.message
    row = as_json(comparison)["setups"][1]
    assert [row[k] for k in ("tools", "cost", "per_m", "per_ft", "saving")] == [None] * 5
    sheet = compare_sheet(comparison, UnitSystem.METRIC)
    cells = sheet.records(comparison.alternatives)[1]
    assert [cells[k] for k in ("tools", "cost", "saving")] == [None] * 3
    assert cells["pays"] == "unknown"


def test_a_set_up_beside_an_unknown_one_is_known() -> None:
    """One feed that was not tried leaves the other set-ups as they are."""
    est = with_stack(feed_estimate(), "fast", steps=TOO_FAST)
    both = compare_alternatives([est], ["stack=fast", "rate=60"]).alternatives
    assert both[1].saving is None
    assert both[2].saving == compare_alternatives([est], ["rate=60"]).alternatives[1].saving > 0


def test_the_stated_feed_needs_no_range() -> None:
    """A life holds as stated at its own feed, even where only others were tried."""
    taylor = replace(TAYLOR, range_mm_per_s=(50.0, 90.0))
    est = with_stack(feed_estimate(tools=feed_tools("wheel", taylor=taylor)), "fast", steps=FAST)
    comparison = compare_alternatives([est], ["rate=60", "stack=fast"])
    before, same, fast = comparison.alternatives
    assert before.tools == same.tools == price_load(est).figures["tools"].value
    assert fast.tools is None
    (told,) = _told(comparison, "life-not-tried")
    assert "stated for 1.8" in told.message


def test_several_steps_of_one_piece_wear_it_each_at_its_own_feed() -> None:
    """Two steps share a wheel and only the second runs faster: half of the edge wears it more."""
    wheel = next(s for s in STEPS if s.tool == "wheel")
    rest = tuple(s for s in STEPS if s.tool != "wheel")
    first = replace(wheel, name="wheel-a", share=0.5, passes=2)
    second = replace(wheel, name="wheel-b", share=0.25, passes=2, feed_mm_per_s=45.0)
    steps = (*rest[:-1], first, second, rest[-1])
    fast = (*rest[:-1], first, replace(second, feed_mm_per_s=60.0), rest[-1])
    est = with_stack(feed_estimate(steps=steps), "fast", steps=fast)
    before, after = compare_alternatives([est], ["stack=fast"]).alternatives
    used = {(est.plan.visits[p.visit].piece, p.step.name) for p in est.plan.passes}
    assert {("wheel/eased", "wheel-a"), ("wheel/eased", "wheel-b")} <= used
    more = 100.0 * 0.5 * _shares(est) * ((60.0 / 45.0) ** 1.5 - 1.0)
    assert float(after.tools - before.tools) == pytest.approx(more, rel=1e-9)


def test_a_life_of_unknown_feed_is_not_converted() -> None:
    """Where steps of two feeds use a tool, another step's life holds for neither by itself."""
    wheel = next(s for s in STEPS if s.tool == "wheel")
    rest = tuple(s for s in STEPS if s.tool != "wheel")
    first = replace(wheel, name="wheel-a", share=0.5)
    second = replace(wheel, name="wheel-b", share=0.25, feed_mm_per_s=45.0)
    steps = (*rest[:-1], first, second, rest[-1])
    one = (*rest[:-1], replace(wheel, name="wheel-only", feed_mm_per_s=60.0), rest[-1])
    est = with_stack(feed_estimate(steps=steps), "one", steps=one)
    comparison = compare_alternatives([est], ["stack=one"])
    assert comparison.alternatives[1].cost is None
    (told,) = _told(comparison, "life-not-tried")
    assert told.where.key == "taylor.reference_feed"
    stated = replace(TAYLOR, reference_mm_per_s=30.0)
    tools = feed_tools("wheel", taylor=stated)
    est = with_stack(feed_estimate(tools=tools, steps=steps), "one", steps=one)
    assert compare_alternatives([est], ["stack=one"]).alternatives[1].cost is not None


def test_the_shop_as_it_is_is_converted_too() -> None:
    """With a life stated for another feed nothing changed still saves nothing, and it is told."""
    tools = feed_tools("wheel", taylor=replace(TAYLOR, reference_mm_per_s=15.0))
    est = feed_estimate(tools=tools)
    comparison = compare_alternatives([est], ["feed-override=100%"])
    before, after = comparison.alternatives
    assert after.saving == 0
    assert float(before.tools - price_load(est).figures["tools"].value) == pytest.approx(
        100.0 * _shares(est) * (2.0**1.5 - 1.0), rel=1e-9
    )
    assert any("As it is" in f.message for f in _told(comparison, "life-by-feed"))


def _two_machines(tools):
    est = feed_estimate(tools=tools)
    catalogue = est.load.catalogue
    quick = replace(catalogue.machines["bench"], name="quick", exchange_s=1.0)
    own = replace(catalogue, machines={**catalogue.machines, "quick": quick})
    est = replace(est, load=replace(est.load, catalogue=own))
    return with_stack(est, "fast", steps=FAST)


@pytest.mark.parametrize(
    ("setup", "told"),
    [
        ("stack=fast", "runs wheel (step profile-wheel) at 3.6 m/min instead of 1.8"),
        ("machine=quick,feed-override=120%", "at 2.16 m/min instead of 1.8"),
        ("feed-override=80%", "at 1.44 m/min instead of 1.8"),
        ("machine=quick", ""),
        ("rate=60", ""),
    ],
)
def test_feeds_whose_wear_nobody_knows_are_told(setup, told) -> None:
    """Stack, machine or override: the note comes with the feed, and only with it."""
    comparison = compare_alternatives([_two_machines(priced_tools())], [setup])
    found = _told(comparison, "feed-wear-not-counted")
    assert len(found) == (1 if told else 0)
    assert all(told in f.message for f in found)


def test_how_much_more_they_may_wear_is_the_last_tenth_that_saves() -> None:
    """With lives shorter by the times told a load still saves, with a tenth more it does not."""

    def at(times):
        tools = tuple(
            replace(t, life=(replace(t.life[0], value=1e5 / times),)) if t.name == "wheel" else t
            for t in priced_tools()
        )
        return price_load(feed_estimate(tools=tools, steps=FAST)).figures["cost"].value

    est = with_stack(feed_estimate(tools=priced_tools()), "fast", steps=FAST)
    comparison = compare_alternatives([est], ["stack=fast"])
    (told,) = _told(comparison, "saving-by-wear")
    times = float(told.message.split("at most ")[1].split(" times")[0])
    assert times > 1.0
    as_is = comparison.alternatives[0].cost
    assert at(times) <= as_is < at(times + 0.1)


def test_nothing_is_said_of_wear_where_nothing_is_saved() -> None:
    """A slower set-up saves nothing however little its tools wear."""
    comparison = compare_alternatives([feed_estimate(tools=priced_tools())], ["feed-override=50%"])
    assert comparison.alternatives[1].saving < Decimal(0)
    assert not _told(comparison, "saving-by-wear")


def test_work_left_undone_is_no_saving() -> None:
    """A stack without its core bit costs less, for holes stay undrilled: told, not praised."""
    steps = tuple(s for s in STEPS if s.tool != "core-35")
    est = with_stack(feed_estimate(tools=priced_tools()), "less", steps=steps)
    comparison = compare_alternatives([est], ["stack=less"])
    before, after = comparison.alternatives
    assert after.cost < before.cost
    assert after.errors > before.errors
    assert (after.saving, after.break_even.pays) == (None, "unknown")
    (told,) = _told(comparison, "not-the-same-work")
    assert "no-core-bit" in told.message


def test_feeds_beyond_the_limits_of_tool_and_finish_are_told() -> None:
    """max_feed, finish_feed, and a polish that runs faster without either."""
    tools = tuple(
        replace(t, max_feed_mm_per_s=40.0) if t.name == "wheel" else t for t in priced_tools()
    )
    est = feed_estimate(tools=tools)
    comparison = compare_alternatives([est], ["feed-override=120%", "feed-override=150%"])
    (told,) = _told(comparison, "feed-beyond-limit")
    assert "150%" in told.message
    assert told.where.key == "max_feed"
    assert len(_told(comparison, "finish-not-known")) == 2
    limited = changed(STEPS, "pad", finish_feed_mm_per_s=40.0)
    comparison = compare_alternatives([feed_estimate(steps=limited)], ["feed-override=150%"])
    (told,) = _told(comparison, "feed-beyond-limit")
    assert "2.4 m/min" in told.message
    assert not _told(comparison, "finish-not-known")
