"""Making a load: defaults, unknown names, ranges, stacks that do not serve."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from support.catalogue import SHOP, a_catalogue, a_drawing, a_load, a_rectangle

from edgetime.errors import NothingToCut, StackMissing, UsageError
from edgetime.load import make_load
from edgetime.records import as_json
from edgetime.takeoff.parts import TakeOff


def test_shop_defaults_fill_what_is_not_said():
    """Machine, stone, stack, thickness, cutout method and order come from the shop."""
    load = a_load(a_rectangle())
    assert load.machine.name == SHOP.machine
    assert load.stone.name == SHOP.stone
    assert load.stack.name == SHOP.stack
    assert load.cutout_method == SHOP.cutout_method
    assert load.order == SHOP.order
    assert load.feed_override == 1.0
    assert load.findings == ()


def test_actual_thickness_is_nominal_plus_spread_unless_probed():
    """30 mm stone with a spread of 1 mm counts as 31 mm; a probed figure counts as it is."""
    assert a_load(a_rectangle()).parts[0].actual_mm == 31.0
    assert a_load(a_rectangle()).parts[0].nominal_mm == 30.0
    assert a_load(a_rectangle(), actual_mm=29.2).parts[0].actual_mm == 29.2


@pytest.mark.parametrize(
    ("option", "value", "near"),
    [("machine", "bnech", "bench"), ("stone", "stoone", "stone"), ("stack", "stak", "stack"),
     ("cutout_method", "mild", "milled"), ("order", "short-travels", "short-travel")],
)  # fmt: skip
def test_unknown_name_gets_a_suggestion_and_the_known_names(option, value, near):
    """A slip of the pen is answered with the nearest name and the whole list."""
    with pytest.raises(UsageError) as caught:
        a_load(a_rectangle(), **{option: value})
    assert value in caught.value.what
    assert f"Did you mean {near}?" in caught.value.remedy
    assert "Allowed: " in caught.value.remedy
    assert caught.value.where.key is not None


@pytest.mark.parametrize("option", ["thickness_mm", "actual_mm", "feed_override"])
@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf, 1e6])
def test_absurd_numbers_are_refused_with_the_range(option, value):
    """Zero, negative, endless and huge figures are a usage error that names what is allowed."""
    with pytest.raises(UsageError, match="it may be from"):
        a_load(a_rectangle(), **{option: value})


def test_diameter_of_an_unknown_tool_is_refused():
    """A real diameter belongs to a tool of the catalogue."""
    with pytest.raises(UsageError, match="No tool 'drumm'") as caught:
        a_load(a_rectangle(), diameters_mm={"drumm": 59.0})
    assert "drum" in caught.value.remedy


def test_real_diameter_overrides_the_new_one():
    """A worn drum of 58.5 mm counts as such, other tools as new."""
    load = a_load(a_rectangle(), diameters_mm={"drum": 58.5})
    assert load.diameter_mm("drum") == 58.5
    assert load.diameter_mm("pad") == 100.0


def test_absurd_diameter_is_refused():
    """A drum of 60 mm new does not measure 1 mm."""
    with pytest.raises(UsageError, match="diameter of drum"):
        a_load(a_rectangle(), diameters_mm={"drum": 1.0})


def test_stack_for_another_thickness_is_refused():
    """The only stack is for 30 mm; 20 mm says so, and that none serves."""
    with pytest.raises(StackMissing, match="30 mm, not stone in 20 mm") as caught:
        a_load(a_rectangle(), thickness_mm=20.0)
    assert "No stack" in caught.value.remedy


def test_thickness_near_nominal_is_served():
    """A stack for 30 mm serves a slab sold as 28.5 mm."""
    assert a_load(a_rectangle(), thickness_mm=28.5).nominal_mm == 28.5


def test_stack_for_another_stone_is_refused_and_names_one_that_serves():
    """A stack for marble does not serve granite; the one that does is named."""
    catalogue = a_catalogue()
    marble = a_catalogue(name="soft", stones=("marble",)).stacks["soft"]
    catalogue.stacks["soft"] = marble
    with pytest.raises(StackMissing, match="serves marble") as caught:
        a_load(a_rectangle(), catalogue=catalogue, stack="soft")
    assert caught.value.remedy.endswith("suits it: stack.")


def test_take_off_without_parts_is_nothing_to_cut():
    """No part, no load; the remedy says where to look."""
    with pytest.raises(NothingToCut) as caught:
        make_load(TakeOff((a_drawing(),)), a_catalogue())
    assert "takeoff" in caught.value.remedy
    assert caught.value.exit_code == 4


def test_json_form_says_what_lies_where():
    """The JSON form carries choices, thicknesses and exact bounds."""
    data = as_json(a_load(a_rectangle(x=500.0, y=400.0, width=1000.0, depth=600.0)))
    json.dumps(data)
    assert data["schema"] == "edgetime.load/1"
    assert data["parts"][0]["bounds_mm"] == [500.0, 400.0, 1500.0, 1000.0]
    assert data["parts"][0]["actual_mm"] == 31.0


@pytest.mark.parametrize(
    ("diameter", "unlikely"), [(60.4, False), (60.6, True), (51.6, False), (51.4, True)]
)
def test_diameter_the_tool_cannot_have_is_a_finding(diameter, unlikely):
    """A drum of 60 mm, spent 4 mm deep, measures 52 to 60 mm, give or take half a millimetre."""
    catalogue = a_catalogue()
    drum = replace(catalogue.tools["drum"], usable_depth_mm=4.0)
    assert drum.diameter_mm == 60.0
    catalogue = replace(catalogue, tools={**catalogue.tools, "drum": drum})
    load = a_load(a_rectangle(), catalogue=catalogue, diameters_mm={"drum": diameter})
    assert [f.code for f in load.findings] == ["diameter-unlikely"] * unlikely
