"""Which stated life holds, and the arithmetic of lives, wheels and money."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from support.catalogue import STONE, a_tool

from edgetime.tooling import Life
from edgetime.wear.life import cost_of, lives_for, measure, radius_loss_mm

GRANITE = replace(STONE, name="black", family="granite", abrasiveness=0.8)


def tool(*lives, **changes):
    """Return a tool with lives given as (by, value, stone, thickness)."""
    made = tuple(Life(*life, key=f"life[{n}]") for n, life in enumerate(lives, 1))
    return a_tool("drum", 60.0, life=made, **changes)


def chosen(one, stone=GRANITE, thickness_mm=30.0):
    """Return the values chosen, by measure."""
    return {life.by: life.value for life in lives_for(one, stone, thickness_mm)}


def test_the_stone_goes_before_its_family_and_that_before_all_others():
    """The entry that says most about the stone holds, wherever it stands in the file."""
    lives = [
        ("length", 1.0, None, None),
        ("length", 3.0, "black", None),
        ("length", 2.0, "granite", None),
        ("length", 9.0, "marble", None),
    ]
    assert chosen(tool(*lives)) == {"length": 3.0}
    assert chosen(tool(*lives), replace(GRANITE, name="white")) == {"length": 2.0}
    assert chosen(tool(*lives), replace(GRANITE, name="x", family="y")) == {"length": 1.0}
    assert chosen(tool(lives[3])) == {}


def test_a_stone_whose_name_is_its_family_s_is_the_stone():
    """Granite of the family granite finds the entry for granite."""
    one = tool(("length", 1.0, None, None), ("length", 2.0, "granite", None))
    assert chosen(one, replace(GRANITE, name="granite")) == {"length": 2.0}


def test_the_thickness_decides_among_equals_and_the_stone_goes_first():
    """A named thickness within 2 mm goes before none; a named stone goes before both."""
    one = tool(
        ("holes", 100.0, None, None),
        ("holes", 150.0, None, 20.0),
        ("holes", 80.0, None, 31.0),
    )
    assert chosen(one, thickness_mm=30.0) == {"holes": 80.0}
    assert chosen(one, thickness_mm=20.0) == {"holes": 150.0}
    assert chosen(one, thickness_mm=12.0) == {"holes": 100.0}
    both = tool(("holes", 1.0, None, 30.0), ("holes", 2.0, "granite", None))
    assert chosen(both) == {"holes": 2.0}
    assert chosen(tool(("holes", 1.0, None, 20.0))) == {}


def test_measures_are_chosen_apart():
    """A life by volume for this stone leaves the one by length for all stones in force."""
    one = tool(("length", 5.0, None, None), ("volume", 7.0, "granite", None))
    assert chosen(one) == {"length": 5.0, "volume": 7.0}


def test_abrasiveness_divides_only_lives_stated_without_a_stone():
    """Half as abrasive lasts twice as long, unless the file speaks of the stone itself."""
    soft = replace(GRANITE, abrasiveness=0.5)
    used = {"length": 100.0}
    without = measure(tool(), Life("length", 1000.0), soft, used)
    assert (without.life, without.share, without.abrasiveness) == (2000.0, 0.05, 0.5)
    named = measure(tool(), Life("length", 1000.0, "granite"), soft, used)
    assert (named.life, named.share, named.abrasiveness) == (1000.0, 0.1, 1.0)


def test_g_ratio_is_stone_per_wheel():
    """500 of stone at G 50 wear 10 of the wheel's 200; twice as abrasive, 20."""
    one = tool(usable_volume_mm3=200.0)
    m = measure(one, Life("g-ratio", 50.0), replace(GRANITE, abrasiveness=1.0), {"g-ratio": 500.0})
    assert (m.used, m.life, m.share, m.unit) == (10.0, 200.0, 0.05, "mm3")
    m = measure(one, Life("g-ratio", 50.0), replace(GRANITE, abrasiveness=2.0), {"g-ratio": 500.0})
    assert (m.used, m.share) == (20.0, 0.1)


def test_radius_loss_is_the_inverse_of_the_ring():
    """From a depth to its ring and back, for a hair and for the whole radius."""
    for depth in (1e-9, 0.01, 4.0, 40.0):
        ring = math.pi * depth * (80.0 - depth) * 50.0
        assert radius_loss_mm(ring, 80.0, 50.0) == pytest.approx(depth, rel=1e-12)
    assert radius_loss_mm(1e9, 80.0, 50.0) == 40.0


@pytest.mark.parametrize(
    ("price", "share", "cost"),
    [
        ("260.00", 0.1, "26.000"),
        ("0.10", 0.1, "0.010"),
        ("19.99", 1.0 / 3.0, "6.663333333333332667"),
        ("1234567.89", 0.12345678901234568, "152415.7875171467901082152"),
        ("40.00", 0.0, "0.000"),
    ],
)
def test_cost_is_the_product_of_two_decimals(price, share, cost):
    """Not a digit is rounded: 0.1 of 0.10 is 0.01. Products by long multiplication."""
    exact = cost_of(Decimal(price), share)
    assert exact == Decimal(cost)
    sign, digits, exponent = Decimal(repr(share)).as_tuple()
    whole = int("".join(map(str, digits))) * int(price.replace(".", ""))
    assert sign == 0
    assert exact.scaleb(2 - exponent) == whole
