"""From moves to wear: what counts as what, which life governs, cost, consumption, findings."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from support.catalogue import a_cutout, a_load, a_rectangle
from support.shapes import circle, rectangle
from support.wears import AtFeed, by_piece, shop, wear_and_cycle, wear_of

from edgetime.findings import Severity
from edgetime.records import as_json
from edgetime.tooling import Life
from edgetime.wear import compute_wear
from edgetime.wear.compute_wear import _by_part

EUR = {"price": Decimal("200.00"), "currency": "EUR"}
T = 31.0
"""Actual thickness of the small catalogue's stone: 30 mm nominal and 1 mm of spread."""


def eased(**options):
    """Return a load of one rectangle, 3200 mm round, eased."""
    return a_load(a_rectangle(), **options)


def test_edge_is_counted_once_per_pass():
    """3.2 m of edge: three roughing passes (2.5 mm by 1 mm), two of the wheel, one of the pad."""
    wear = by_piece(wear_of(eased()))
    assert wear["drum"].contact_mm == pytest.approx(3 * 3200.0)
    assert wear["wheel/eased"].contact_mm == pytest.approx(2 * 3200.0)
    assert wear["pad"].contact_mm == pytest.approx(3200.0)


def test_the_earliest_end_governs():
    """Of length, volume and time the one with the greatest share decides, whichever it is."""
    lives = {"length": 96_000.0, "volume": 2.5 * T * 3200.0 * 4.0, "time": 1e9}
    for governing in lives:
        life = tuple(Life(by, v / (9.0 if by == governing else 1.0)) for by, v in lives.items())
        tools = {"drum": {"life": life, **EUR}}
        drum = by_piece(wear_of(eased(catalogue=shop(tools=tools))))["drum"]
        shares = {m.by: m.share for m in drum.measures}
        assert shares["length"] == pytest.approx(0.1 * (9.0 if governing == "length" else 1.0))
        assert shares["volume"] == pytest.approx(0.25 * (9.0 if governing == "volume" else 1.0))
        assert drum.share == max(shares.values())
        assert drum.measure is not None
        assert drum.governing == drum.measure.by
    assert drum.governing == "volume", "a slow clock does not end a life"


@pytest.mark.parametrize("by", ["length", "g-ratio"])
def test_factors_make_lives_shorter_step_by_step(by):
    """Twice the wear of one step: twice its tool's share and cost, the same use, others as ever."""
    life = (Life(by, 96_000.0 if by == "length" else 500.0),)
    tools = {"drum": {"life": life, "usable_volume_mm3": 5e4, **EUR}}
    _, cycle, paths = wear_and_cycle(eased(catalogue=shop(tools=tools)))
    motion = AtFeed(paths.moves)
    step = next(p.step.name for p in paths.plan.passes if p.step.tool == "drum")
    stated = by_piece(compute_wear(paths, motion, cycle))["drum"]
    worn = by_piece(compute_wear(paths, motion, cycle, {step: {by: 2.0}}))["drum"]
    assert worn.share == pytest.approx(2.0 * stated.share, rel=1e-12)
    assert worn.cost == pytest.approx(2 * stated.cost)
    assert worn.contact_mm == stated.contact_mm
    assert worn.measure.used / worn.measure.life == pytest.approx(worn.share, rel=1e-12)
    assert sum(x for _, x in worn.by_part) == pytest.approx(worn.share, rel=1e-12)
    other = by_piece(compute_wear(paths, motion, cycle, {"no-such-step": {by: 2.0}}))["drum"]
    assert other == stated


def test_holes_count_drilled_ones_and_entries():
    """Two holes and the entry of a cutout are three; the share is theirs of the stated life."""
    sink = a_cutout(rectangle(400.0, 300.0, x=300.0, y=150.0, radius=60.0))
    part = a_rectangle(x=0.0, y=0.0, holes=[(100.0, 100.0, 35.0), (900.0, 500.0, 35.0)])
    tools = {"core-35": {"life": (Life("holes", 60.0),), **EUR}}
    load = a_load(_with(part, sink), catalogue=shop(tools=tools))
    core = by_piece(wear_of(load))["core-35"]
    assert core.holes == 3
    assert core.share == 0.05
    assert core.cost == Decimal("10.00")
    assert core.area_mm2 == pytest.approx(3 * math.pi * 35.0 * T)


def _with(part, *cutouts):
    return replace(part, cutouts=cutouts)


def test_time_of_a_core_bit_is_the_time_in_stone():
    """31 mm of stone at 1 mm/s, without the air above, the breakthrough and the returns."""
    part = a_rectangle("unfinished", holes=[(600.0, 600.0, 35.0)])
    wear, cycle, _ = wear_and_cycle(a_load(part))
    core = by_piece(wear)["core-35"]
    assert core.cut_s == pytest.approx(T / 1.0)
    assert core.cut_s < cycle.visits[0].time.plunge_s


def test_sawn_area_is_the_slot_s_length_times_the_thickness():
    """However many depths it takes: a round cutout of 300 mm, cut to size 10 mm inside."""
    part = _with(a_rectangle(), a_cutout(circle(1000.0, 800.0, 150.0)))
    tools = {"finger": {"life": (Life("area", 2e6),)}}
    finger = by_piece(wear_of(a_load(part, catalogue=shop(tools=tools))))["finger"]
    slot = 2.0 * math.pi * (150.0 - 10.0)
    assert finger.path_mm == pytest.approx(5 * slot), "33 mm in depths of at most 8"
    assert finger.area_mm2 == pytest.approx(slot * T)
    assert finger.volume_mm3 == pytest.approx(slot * T * 20.0)
    assert finger.share == pytest.approx(slot * T / 2e6)


def test_time_in_the_cut_is_the_cycle_s():
    """But for core bits, whose cut is vertical, both stages say the same."""
    wear, cycle, _ = wear_and_cycle(eased())
    for t in wear.tools:
        spent = sum(v.time.cut_s for v in cycle.visits if v.piece == t.piece)
        assert t.cut_s == pytest.approx(spent, rel=1e-12)


def test_parts_stand_in_running_order_and_add_up():
    """As drawn, the tool goes part by part; the last part is twice the first."""
    parts = [
        a_rectangle(width=w, depth=d, x=10.0, y=y, name=n)
        for n, w, d, y in (("a", 500.0, 300.0, 10.0), ("b", 500.0, 300.0, 500.0),
                           ("c", 1000.0, 600.0, 1000.0))
    ]  # fmt: skip
    tools = {"pad": {"life": (Life("length", 64_000.0),)}}
    wear = wear_of(a_load(*parts, catalogue=shop(tools=tools), order="as-drawn"))
    pad = by_piece(wear)["pad"]
    assert [part for part, _ in pad.by_part] == [0, 1, 2]
    assert [share for _, share in pad.by_part] == pytest.approx([0.025, 0.025, 0.05])
    assert [p for p, _ in wear.parts] == ["a", "b", "c"]


def test_a_part_stands_again_when_the_tool_comes_back():
    """Two stays on the first part, one on the second between them."""
    part = np.array([0, 0, 1, 0])
    assert _by_part(part, np.array([0.1, 0.2, 0.3, 0.4])) == (
        (0, pytest.approx(0.3)), (1, 0.3), (0, 0.4),
    )  # fmt: skip


def test_profiles_share_a_tool_by_their_edges():
    """1000 mm half bullnose and 2200 mm eased on the same pad."""
    names = ["half-bullnose", "eased", "eased", "eased"]
    tools = {"pad": {"life": (Life("length", 32_000.0),)}}
    wear = by_piece(wear_of(a_load(a_rectangle(names), catalogue=shop(tools=tools))))
    assert dict(wear["pad"].by_profile) == pytest.approx(
        {"eased": 0.06875, "half-bullnose": 0.03125}
    )
    assert wear["wheel/eased"].by_profile == (), "no life is stated for the wheel"


def test_currencies_are_not_added_up():
    """Each currency has its total; a piece without a price is in none."""
    life = (Life("length", 32_000.0),)
    tools = {
        "pad": {"life": life, **EUR},
        "drum": {"life": life, "price": Decimal("100.10"), "currency": "USD"},
        "wheel": {"life": life},
    }
    wear = wear_of(eased(catalogue=shop(tools=tools)))
    assert wear.cost == (("EUR", Decimal("20.00")), ("USD", Decimal("30.030")))
    pieces = by_piece(wear)
    assert pieces["wheel/eased"].share == pytest.approx(0.2)
    assert pieces["wheel/eased"].cost is None


def test_missing_figures_are_notes_and_stay_unknown():
    """No life: no share, no cost, no parts. One note per tool, not per piece."""
    names = ["half-bullnose", "eased", "eased", "eased"]
    wear = wear_of(a_load(a_rectangle(names), catalogue=shop(tools={"pad": EUR})))
    found = {(f.code, f.message.split()[0]) for f in wear.findings}
    assert found == {
        ("no-life", "drum"), ("no-life", "wheel"), ("no-life", "pad"),
        ("no-price", "drum"), ("no-price", "wheel"), ("consumption-unstated", "Machine"),
    }  # fmt: skip
    assert len(wear.findings) == len(found)
    assert all(f.severity is Severity.NOTE for f in wear.findings)
    pad = by_piece(wear)["pad"]
    assert (pad.share, pad.cost, pad.governing, pad.by_part) == (None, None, "", ())
    assert wear.cost == ()
    assert wear.consumables.pieces == ()


def test_more_than_a_life_is_a_warning():
    """The finding names the piece, what the load takes and what a piece has."""
    tools = {"pad": {"life": (Life("length", 2_000.0),), **EUR}}
    wear = wear_of(eased(catalogue=shop(tools=tools)))
    (finding,) = [f for f in wear.findings if f.code == "life-exceeded"]
    assert finding.severity is Severity.WARNING
    assert "1.60 lives of pad" in finding.message
    assert by_piece(wear)["pad"].cost == Decimal("320.00")


def test_consumption_is_rate_times_time():
    """6 l/min in the cut, 3 kW of spindle in the cut, 1 kW all the time."""
    machine = {"water_mm3_per_s": 1e5, "spindle_w": 3000.0, "base_w": 1000.0}
    wear, cycle, _ = wear_and_cycle(eased(catalogue=shop(machine=machine)))
    minutes = sum(t.cut_s for t in wear.tools) / 60.0
    used = wear.consumables
    assert used.water_l == pytest.approx(6.0 * minutes)
    assert used.spindle_kwh == pytest.approx(3.0 * minutes / 60.0)
    assert used.base_kwh == pytest.approx(cycle.total_s / 3600.0)
    assert used.electricity_kwh == pytest.approx(used.spindle_kwh + used.base_kwh)
    unknown = wear_of(eased()).consumables
    assert (unknown.water_l, unknown.electricity_kwh) == (None, None)


def test_radius_shrinks_where_a_usable_depth_is_stated():
    """A quarter of the life takes a quarter of the ring, off the diameter it has now."""
    ring = math.pi * 5.0 * (60.0 - 5.0) * 40.0
    tools = {
        "drum": {
            "life": (Life("length", 38_400.0),),
            "usable_depth_mm": 5.0,
            "usable_volume_mm3": ring,
        }
    }
    for diameter in (60.0, 56.0):
        load = eased(catalogue=shop(tools=tools), diameters_mm={"drum": diameter})
        drum = by_piece(wear_of(load))["drum"]
        assert drum.share == pytest.approx(0.25)
        d = drum.radius_loss_mm
        assert math.pi * d * (diameter - d) * 40.0 == pytest.approx(0.25 * ring)
    assert by_piece(wear_of(eased()))["pad"].radius_loss_mm is None


def test_document_names_units_and_keeps_money_as_text():
    """The JSON form is plain, and says where each life is stated."""
    life = (Life("length", 64_000.0, key="life[1].length"),)
    wear = wear_of(eased(catalogue=shop(tools={"pad": {"life": life, "file": "pad.toml", **EUR}})))
    document = json.loads(json.dumps(as_json(wear), allow_nan=False))
    assert document["schema"] == "edgetime.wear/1"
    pad = next(t for t in document["tools"] if t["piece"] == "pad")
    assert Decimal(pad["cost"]) == Decimal("10.00")
    assert pad["by_part"] == [{"part_id": "p01", "share": pytest.approx(0.05)}]
    (m,) = pad["measures"]
    assert (m["unit"], m["file"], m["key"]) == ("mm", "pad.toml", "life[1].length")
    assert document["cost"] == [{"currency": "EUR", "amount": pad["cost"]}]
