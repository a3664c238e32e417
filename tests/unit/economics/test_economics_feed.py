"""The best feed of a step: its time, wear and cost, what bounds it, and what is not said."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from support.catalogue import STEPS, a_drawing, a_rectangle
from support.feeds import TAYLOR, changed, feed_estimate, feed_tools
from support.prices import RATES, priced_tools, recomputed

from edgetime.economics import economic_feed, read_trial
from edgetime.economics.step_run import with_feed
from edgetime.errors import PlanError, UsageError
from edgetime.takeoff import TakeOff


def _of(study, tool):
    return next(s for s in study.steps if s.tool == tool)


def _codes(study):
    return [f.code for f in study.findings]


@pytest.mark.parametrize("cap", [math.inf, 25.0])
def test_every_point_is_the_whole_pipeline_at_that_feed(cap) -> None:
    """Time and wear at each feed are those of planning and running the load anew."""
    steps = changed(STEPS, "wheel", edge_feed_cap_mm_per_s=cap, hold_contact_feed=True)
    est = feed_estimate(steps=steps)
    study = economic_feed(est, tool="wheel")
    found = _of(study, "wheel")
    step = next(s for s in est.load.stack.steps if s.tool == "wheel")
    for point in found.points:
        anew = with_feed(est, step, point.feed_mm_per_s)
        seconds = sum(v.time.total_s for v in anew.cycle.visits if v.tool == "wheel")
        assert point.machine_s == pytest.approx(seconds, rel=1e-9)
        share = sum(t.share for t in anew.wear.tools if t.tool == "wheel")
        # Life by length at v^(1/n - 1), n = 0.4, from today's 30 mm/s.
        factor = (point.feed_mm_per_s / 30.0) ** 1.5
        assert point.wear == pytest.approx(share * factor, rel=1e-9)


def test_cost_is_what_paper_says() -> None:
    """A pad once round a top of 1000 x 600 mm: time, wear and cost of today's feed by hand.

    Pad of radius 50 mm at 30 mm/s, 31 mm deep from 5 mm above; rapids at 500 mm/s in X and Y and
    200 mm/s in Z, all axes at 1000 mm/s2; from the rack at (-200, -200) to the middle of the
    front, (1000, 450), and back. A move from rest to rest takes s / v + v / a.
    """
    steps = tuple(replace(s, share=1.0) for s in STEPS if s.tool == "pad")
    take_off = TakeOff((a_drawing(a_rectangle()),))
    est = feed_estimate(tools=feed_tools("pad"), steps=steps, take_off=take_off)
    point = _of(economic_feed(est, tool="pad"), "pad").today
    cut = (3200.0 + 100.0 * math.pi) / 30.0 + 0.03
    plunge = 36.0 / 10.0 + 0.01 + 36.0 / 50.0 + 0.05
    rapid = 2.0 * (55.0 / 200.0 + 0.2)
    # X decides the speed of the travel, 500 mm/s on 1200 of sqrt(1200^2 + 650^2) mm.
    way = math.hypot(1200.0, 650.0)
    travel = 2.0 * (1200.0 / 500.0 + 0.5 * way / 1200.0)
    # Exchange 10 s, measuring 5 s, up to 300 rad/s at 100 rad/s2; water 1 s, probing 3 s.
    machine = cut + plunge + rapid + travel + 10.0 + 5.0 + 3.0 + 1.0 + 3.0
    wear = 3200.0 / 20000.0
    assert point.cut_s == pytest.approx(cut, rel=1e-9)
    assert point.machine_s == pytest.approx(machine, rel=1e-9)
    assert point.wear == pytest.approx(wear, rel=1e-9)
    assert point.swap_s == pytest.approx(180.0 * wear)
    energy = (5.0 * machine + 4.0 * cut) / 3600.0
    water = 500.0 * cut / 1e6
    worn = wear * (100.0 + (72.0 + 36.0) * 180.0 / 3600.0)
    by_hand = (72.0 + 0.1 * 36.0) * machine / 3600.0 + 0.30 * energy + 5.0 * water + worn
    assert float(point.cost) == pytest.approx(by_hand, rel=1e-9)
    assert float(point.worn_cost) == pytest.approx(worn, rel=1e-9)
    facts = {f.name: str(f.value) for f in point.explained.inputs}
    assert recomputed(point.explained.formula, facts) == point.cost


def test_stated_life_is_today_s_without_a_reference() -> None:
    """At today's feed the wear is the one that the load's wear tells."""
    est = feed_estimate()
    found = _of(economic_feed(est, tool="wheel"), "wheel")
    told = sum(t.share for t in est.wear.tools if t.tool == "wheel")
    assert found.today.wear == pytest.approx(told, rel=1e-9)


def test_life_of_another_feed_is_converted_and_told() -> None:
    """A life stated for 60 mm/s wears 2^1.5 times slower at 30 mm/s; a finding says so."""
    taylor = replace(TAYLOR, reference_mm_per_s=60.0)
    est = feed_estimate(tools=feed_tools("wheel", taylor=taylor))
    study = economic_feed(est, tool="wheel")
    told = sum(t.share for t in est.wear.tools if t.tool == "wheel")
    assert _of(study, "wheel").today.wear == pytest.approx(told / 2.0**1.5, rel=1e-9)
    assert "life-at-other-feed" in _codes(study)


def test_life_by_time_falls_with_the_full_power() -> None:
    """A life in hours falls by v^(1/n), and what is used of it is the time in the cut."""
    tools = tuple(
        replace(t, life=(replace(t.life[0], by="time", value=5000.0),)) if t.taylor else t
        for t in feed_tools("wheel")
    )
    point = _of(economic_feed(feed_estimate(tools=tools), tool="wheel"), "wheel").points[-1]
    expected = point.cut_s / 5000.0 * (point.feed_mm_per_s / 30.0) ** 2.5
    assert point.wear == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(
    ("kind", "tools", "steps", "machine"),
    [
        ("tool", {"max_feed_mm_per_s": 20.0}, {}, {}),
        ("machine", {}, {}, {"axis_speed_mm_per_s": (20.0, 18.0, 20.0)}),
        ("finish", {}, {"finish_feed_mm_per_s": 20.0}, {}),
        (
            "data-high",
            {"taylor": replace(TAYLOR, range_mm_per_s=(10.0, 20.0), reference_mm_per_s=15.0)},
            {},
            {},
        ),
    ],
)
def test_each_limit_holds_and_is_named(kind, tools, steps, machine) -> None:
    """Tool, machine, finish and data each stop the feed at 20 mm/s, and are named as the limit.

    Wheels that cost nothing want to run as fast as they may.
    """
    taylor = tools.pop("taylor", replace(TAYLOR, exponent=0.9))
    est = feed_estimate(
        tools=feed_tools("wheel", taylor=taylor, price="0", life_mm=1e9, **tools),
        steps=changed(STEPS, "wheel", **steps),
        machine=machine,
    )
    found = _of(economic_feed(est, tool="wheel"), "wheel")
    for point in (found.least_cost, found.most_output):
        assert point.feed_mm_per_s == pytest.approx(20.0, rel=1e-9)
        assert point.limited_by == kind


def test_polishing_without_a_cap_is_not_run_faster() -> None:
    """A polishing step that states no finish_feed stays at today's feed at most, and it is told."""
    est = feed_estimate(tools=feed_tools("pad", price="0", life_mm=1e9))
    study = economic_feed(est, tool="pad")
    assert _of(study, "pad").least_cost.feed_mm_per_s == pytest.approx(30.0)
    assert "finish-feed-missing" in _codes(study)
    capped = feed_estimate(
        tools=feed_tools("pad", price="0", life_mm=1e9),
        steps=changed(STEPS, "pad", finish_feed_mm_per_s=40.0),
    )
    study = economic_feed(capped, tool="pad")
    assert _of(study, "pad").most_output.feed_mm_per_s == pytest.approx(40.0)
    assert "finish-feed-missing" not in _codes(study)


def test_override_is_in_the_feed() -> None:
    """Today's feed is the step's times the override, and a feed means the same at any override."""
    found = _of(economic_feed(feed_estimate(feed_override=0.5), tool="wheel"), "wheel")
    assert found.feed_mm_per_s == pytest.approx(15.0)
    full = _of(economic_feed(feed_estimate(), tool="wheel"), "wheel")
    # Vertical feeds follow the override as well, so only the time in the cut is alike.
    assert found.points[0].feed_mm_per_s == full.points[0].feed_mm_per_s == 10.0
    assert found.points[0].cut_s == pytest.approx(full.points[0].cut_s, rel=1e-9)


def test_a_feed_that_was_not_tried_is_refused() -> None:
    """Beyond the data: exit code 4, with the feeds that were tried and the file."""
    est = feed_estimate()
    for feed in (9.9, 90.1, 1e6):
        with pytest.raises(PlanError) as caught:
            economic_feed(est, tool="wheel", at_mm_per_s=feed)
        assert caught.value.exit_code == 4
        assert "600 to 5400 mm/min" in caught.value.what
        assert caught.value.remedy
    asked = _of(economic_feed(est, tool="wheel", at_mm_per_s=45.0), "wheel").at
    assert asked.feed_mm_per_s == 45.0


def test_today_outside_the_data_has_no_saving() -> None:
    """Where today's feed was not tried no saving is told, and a finding says why."""
    taylor = replace(TAYLOR, range_mm_per_s=(40.0, 90.0), reference_mm_per_s=50.0)
    study = economic_feed(feed_estimate(tools=feed_tools("wheel", taylor=taylor)), tool="wheel")
    found = _of(study, "wheel")
    assert found.today is None
    assert found.saving is None
    assert found.saving_s is None
    assert found.least_cost is not None
    assert min(p.feed_mm_per_s for p in found.points) == pytest.approx(40.0)
    assert "feed-outside-data" in _codes(study)


def test_a_life_outside_the_data_is_no_anchor() -> None:
    """Where the life holds for a feed that was not tried nothing is told: exit code 4."""
    taylor = replace(TAYLOR, range_mm_per_s=(40.0, 90.0))
    with pytest.raises(PlanError, match=r"1\.8 m/min, the feed of") as caught:
        economic_feed(feed_estimate(tools=feed_tools("wheel", taylor=taylor)), tool="wheel")
    assert "2.4 to 5.4 m/min" in caught.value.what
    assert "reference_feed" in caught.value.remedy


def test_the_knob_changes_the_life() -> None:
    """At half the feed by the override a stated life is longer by 2^1.5; it is told."""
    est = feed_estimate(feed_override=0.5)
    study = economic_feed(est, tool="wheel")
    told = sum(t.share for t in est.wear.tools if t.tool == "wheel")
    assert _of(study, "wheel").today.wear == pytest.approx(told / 2.0**1.5, rel=1e-9)
    assert "life-at-other-feed" in _codes(study)


def test_end_of_the_data_is_told() -> None:
    """A best feed at the end of the data is marked as maybe not the best."""
    taylor = replace(TAYLOR, range_mm_per_s=(10.0, 31.0))
    tools = feed_tools("wheel", taylor=taylor, price="0", life_mm=1e9)
    assert "best-feed-at-data-end" in _codes(
        economic_feed(feed_estimate(tools=tools), tool="wheel")
    )


def test_tools_that_cannot_be_judged_are_listed() -> None:
    """A load tells the tools it can, and says of the others why not; with none, exit code 4."""
    study = economic_feed(feed_estimate())
    assert _of(study, "wheel").least_cost is not None
    assert "has no [taylor]" in _of(study, "drum").why_not
    with pytest.raises(PlanError, match="taylor"):
        economic_feed(feed_estimate(), tool="drum")
    unpriced = tuple(replace(t, price=None) for t in feed_tools("wheel"))
    with pytest.raises(PlanError, match="states no price"):
        economic_feed(feed_estimate(tools=unpriced), tool="wheel")


def test_no_room_between_data_and_limits() -> None:
    """Limits below everything that was tried leave no feed, and the limit is named."""
    tools = feed_tools("wheel", max_feed_mm_per_s=5.0)
    with pytest.raises(PlanError, match="tool allows") as caught:
        economic_feed(feed_estimate(tools=tools), tool="wheel")
    assert caught.value.where.key == "max_feed"


def test_two_steps_on_one_piece_are_not_told_apart() -> None:
    """Where two steps wear one wheel no best feed is told for either."""
    again = replace(next(s for s in STEPS if s.tool == "wheel"), name="wheel-again")
    with pytest.raises(PlanError, match="wear the same"):
        economic_feed(feed_estimate(steps=(*STEPS, again)), tool="wheel")


def test_trials_make_a_relation_between_their_feeds() -> None:
    """Two trials: their lives are met at both, and nothing is said beyond."""
    trials = [read_trial("1.2 m/min=4000 m"), read_trial("3 m/min=1500 m")]
    est = feed_estimate(tools=priced_tools())
    found = _of(economic_feed(est, tool="wheel", trials=trials), "wheel")
    used = sum(t.contact_mm for t in est.wear.tools if t.tool == "wheel")
    first, last = found.points[0], found.points[-1]
    assert (first.feed_mm_per_s, last.feed_mm_per_s) == pytest.approx((20.0, 50.0))
    assert first.wear == pytest.approx(used / 4e6, rel=1e-9)
    assert last.wear == pytest.approx(used / 1.5e6, rel=1e-9)
    with pytest.raises(PlanError, match="outside"):
        economic_feed(est, tool="wheel", trials=trials, at_mm_per_s=51.0)


@pytest.mark.parametrize(
    "texts",
    [
        ["2 m/min=3000 m"],
        ["2 m/min=3000 m", "2 m/min=2500 m"],
        ["2 m/min=3000 m", "3 m/min=20 h"],
        ["2 m/min=3000 m", "3 m/min=3100 m"],
        ["2=3000 m", "3 m/min=3100 m"],
        ["2 m/min", "3 m/min=3100 m"],
        ["0 m/min=2 m", "3 m/min=3100 m"],
        ["2 m/min=-2 m", "3 m/min=3100 m"],
    ],
)
def test_trials_that_say_nothing_are_refused(texts) -> None:
    """One feed, mixed measures, a life that rises or no figures: exit code 2 with a remedy."""
    with pytest.raises(UsageError) as caught:
        economic_feed(feed_estimate(), tool="wheel", trials=[read_trial(t) for t in texts])
    assert caught.value.where.key == "--trial"
    assert caught.value.remedy or caught.value.what


def test_questions_without_a_tool_are_refused() -> None:
    """A trial or a feed belongs to a tool, and the tool must run in the load."""
    est = feed_estimate()
    with pytest.raises(UsageError, match="which tool"):
        economic_feed(est, at_mm_per_s=30.0)
    with pytest.raises(UsageError, match="which tool"):
        economic_feed(est, trials=[read_trial("2 m/min=3000 m")])
    with pytest.raises(UsageError, match="No tool 'wheels'") as caught:
        economic_feed(est, tool="wheels")
    assert "wheel" in caught.value.remedy


def test_explain_names_steps() -> None:
    """Figures of today and both best feeds; an unknown name is told what there is."""
    study = economic_feed(feed_estimate(), tool="wheel", at_mm_per_s=20.0)
    assert len(study.explain("wheel")) == 4
    assert study.explain("all") == study.explain("wheel")
    with pytest.raises(UsageError, match="no step 'x'"):
        study.explain("x")


def test_textbook_and_search_agree_where_the_textbook_holds() -> None:
    """On a machine without inertia and without consumption the closed form is the lowest cost."""
    fast = (1e7, 1e7, 1e7)
    est = feed_estimate(
        tools=feed_tools("wheel", price="5.00"),
        machine={
            "axis_acceleration_mm_per_s2": fast, "path_acceleration_mm_per_s2": 1e7,
            "centripetal_mm_per_s2": 1e7, "water_mm3_per_s": 0.0, "spindle_w": 0.0, "base_w": 0.0,
        },
        rates=RATES,
    )  # fmt: skip
    found = _of(economic_feed(est, tool="wheel"), "wheel")
    assert found.least_cost.limited_by is None
    # The lead and overlap moves of the wheel, out of the cut, gain a little from a higher feed.
    assert found.least_cost.feed_mm_per_s == pytest.approx(found.textbook_mm_per_s, rel=0.02)
