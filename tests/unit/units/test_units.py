"""Quantities at the boundary: the table against pint, the texts people write, refusals."""

from __future__ import annotations

import math
import subprocess
import sys

import pint
import pytest

from edgetime.errors import EdgetimeError, UnitInvalid, Where
from edgetime.units import (
    DRAWING_UNIT_NAMES,
    INSUNITS,
    UNITS,
    decimals,
    format_time,
    parse_quantity,
    speed_text,
    unit_names,
)

INTERNAL = {
    "length": "mm",
    "speed": "mm/s",
    "acceleration": "mm/s**2",
    "jerk": "mm/s**3",
    "time": "s",
    "time per length": "s/mm",
    "rotation": "rad/s",
    "area": "mm**2",
    "volume": "mm**3",
    "density": "kg/m**3",
    "angle": "rad",
    "ratio": "",
    "power": "W",
    "flow": "mm**3/s",
    "mass": "kg",
}
SPELLED = {
    "rpm": "revolution/min",
    "1/min": "revolution/min",
    "1/s": "revolution/s",
    "%": "percent",
    "PS": "metric_horsepower",
}
INSUNITS_PINT = {
    1: "inch",
    2: "foot",
    3: "mile",
    4: "mm",
    5: "cm",
    6: "m",
    7: "km",
    8: "microinch",
    9: "thou",
    10: "yard",
    11: "angstrom",
    12: "nm",
    13: "um",
    14: "dm",
    15: "dam",
    16: "hm",
    17: "gigameter",
    18: "astronomical_unit",
    19: "light_year",
    20: "parsec",
    21: "survey_foot",
    22: "survey_foot/12",
    23: "survey_foot*3",
    24: "survey_mile",
}


@pytest.fixture(scope="session")
def pint_registry():
    """Load a units registry that shares nothing with our table."""
    return pint.UnitRegistry()


def pint_unit(unit):
    """Spell one of our unit names for pint."""
    if unit in SPELLED:
        return SPELLED[unit]
    for letter in ("m", "in", "ft", "s", "cm", "mm"):
        for power in "23":
            if unit.split("/")[-1] == letter + power:
                return unit[: -len(letter + power)] + f"{letter}**{power}"
            if unit.split("/")[0] == letter + power:
                return f"{letter}**{power}" + unit[len(letter + power) :]
    return unit


@pytest.mark.parametrize(
    ("dimension", "unit"), [(d, u) for d, table in UNITS.items() for u in table if u]
)
def test_every_unit_agrees_with_pint(pint_registry, dimension, unit):
    """Each factor of the table equals pint's conversion."""
    quantity = pint_registry.Quantity(3.0, pint_unit(unit))
    expected = quantity.to(INTERNAL[dimension] or "dimensionless").magnitude
    assert parse_quantity(f"3 {unit}", dimension) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("code", sorted(INSUNITS_PINT))
def test_insunits_agree_with_pint(pint_registry, code):
    """Each $INSUNITS code is as many millimetres as pint says."""
    expected = pint_registry.parse_expression(INSUNITS_PINT[code]).to("mm").magnitude
    # Light-years and parsecs differ between almanacs in the tenth digit.
    assert INSUNITS[code][1] == pytest.approx(expected, rel=1e-9 if code > 17 else 1e-13)


def test_insunits_are_complete():
    """Codes 0 to 24 of the DXF reference all stand, 0 without a length."""
    assert sorted(INSUNITS) == list(range(25))
    assert INSUNITS[0][1] is None
    assert all(mm is not None for code, (_, mm) in INSUNITS.items() if code)


def test_drawing_units_are_the_insunits_of_the_same_name():
    """The option and the header mean the same by one name."""
    by_name = dict(INSUNITS.values())
    assert {name: by_name[name] for name in DRAWING_UNIT_NAMES} == DRAWING_UNIT_NAMES


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        ("350 in/min", "speed", 350 * 25.4 / 60),
        ("350 ipm", "speed", 350 * 25.4 / 60),
        ("9 m/min", "speed", 150.0),
        ("1500 m", "length", 1.5e6),
        ("3/4 in", "length", 19.05),
        ("1-1/4 in", "length", 31.75),
        ("1 1/4 in", "length", 31.75),
        ('1-1/4"', "length", 31.75),
        ("20 mm", "length", 20.0),
        ("20mm", "length", 20.0),
        ("-20 MM", "length", -20.0),
        ("2,5 m", "length", 2500.0),
        ("0,125 in", "length", 3.175),
        (".5 in", "length", 12.7),
        ("1e2 mm", "length", 100.0),
        ("0.8 m/s2", "acceleration", 800.0),
        ("0.8 m/s²", "acceleration", 800.0),
        ("0.8 m/s^2", "acceleration", 800.0),
        ("5 m / s3", "jerk", 5000.0),
        ("6000 rpm", "rotation", 200 * math.pi),
        ("6000 1/min", "rotation", 200 * math.pi),
        ("12 s", "time", 12.0),
        ("1.5 h", "time", 5400.0),
        ("100 cm3", "volume", 1e5),
        ("100 cm³", "volume", 1e5),
        ("2.7 g/cm3", "density", 2700.0),
        ("45°", "angle", math.pi / 4),
        ("30 %", "ratio", 0.3),
        ("0.3", "ratio", 0.3),
        (0.3, "ratio", 0.3),
        (2, "ratio", 2.0),
        ("7.5 kw", "power", 7500.0),
        ("30 l/min", "flow", 5e5),
        ("2 lb", "mass", 0.90718474),
    ],
)
def test_texts_people_write(text, dimension, expected):
    """Spellings of the trade give their value in internal units."""
    assert parse_quantity(text, dimension) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        (350, "speed", "no unit"),
        ("350", "speed", "no unit"),
        ("350 furlong", "length", "mm, cm, m"),
        ("9 m", "speed", "mm/s"),
        ("nan mm", "length", "not a quantity"),
        ("1e999 mm", "length", "finite"),
        (float("inf"), "ratio", "finite"),
        (float("nan"), "ratio", "finite"),
        ("1,500 m", "length", "thousands"),
        ("3/0 in", "length", "zero"),
        ("", "length", "not a quantity"),
        ("mm", "length", "not a quantity"),
        ("1 2 mm", "length", "not a unit of length"),
        (True, "ratio", "not a quantity"),
        (None, "length", "not a quantity"),
    ],
)
def test_refusals_name_the_remedy(text, dimension, says):
    """What is not a quantity is refused with a message that helps, as an input error."""
    place = Where(path="shop.toml", key="feed")
    with pytest.raises(UnitInvalid) as caught:
        parse_quantity(text, dimension, where=place)
    assert says in str(caught.value)
    assert caught.value.where == place
    assert isinstance(caught.value, ValueError)
    assert isinstance(caught.value, EdgetimeError)
    assert caught.value.exit_code == 3


def test_unit_names_leave_out_the_bare_number():
    """The list shown to the user has no empty name."""
    assert unit_names("ratio") == ("%",)


@pytest.mark.parametrize(
    ("time_s", "text"),
    [
        (6485.0, "1 h 48 min 05 s"),
        (200.0, "3 min 20 s"),
        (12.34, "12.3 s"),
        (59.96, "1 min 00 s"),
        (3599.7, "1 h 00 min 00 s"),
        (0.0, "0.0 s"),
        (-200.0, "-3 min 20 s"),
    ],
)
def test_times_read_aloud(time_s, text):
    """Times carry over from seconds to minutes to hours."""
    assert format_time(time_s) == text


@pytest.mark.parametrize(
    ("mm_per_min", "text"),
    [
        (75.0, "75 mm/min"),
        (0.5, "0.5 mm/min"),
        (999.96, "1000 mm/min"),
        (1000.0, "1 m/min"),
        (8890.0, "8.89 m/min"),
        (12345.6, "12.35 m/min"),
    ],
)
def test_feeds_of_messages_keep_their_digits(mm_per_min, text):
    """A plunge of 75 mm/min is no 0.07 m/min."""
    assert speed_text(mm_per_min / 60.0) == text


def test_a_range_of_feeds_has_one_unit():
    """The lower end decides."""
    assert speed_text(0.6e3 / 60, 5.4e3 / 60) == "600 to 5400 mm/min"
    assert speed_text(1.5e3 / 60, 5.4e3 / 60) == "1.5 to 5.4 m/min"


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (2.95276, "2.953"), (350.0, "350"), (12345.0, "12345"), (-0.0314159, "-0.03142")],
)
def test_four_digits(value, text):
    """Four significant digits, whole numbers with all of theirs, never an exponent."""
    assert decimals(value) == text


def test_importing_units_loads_no_numpy():
    """The ground floor stays light."""
    code = "import sys, edgetime.units; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
