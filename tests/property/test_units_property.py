"""Whatever the figure: what is printed is what was meant, to the digits printed."""

from __future__ import annotations

import re
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from edgetime.report.quantities import format_feet, format_speed
from edgetime.report.wording import in_units
from edgetime.units import UnitSystem

FEET = re.compile(r"(-?)(\d+)' (?:(\d+)(?=-|\"))?-?(?:(\d+)/(\d+))?\"")
LENGTHS = st.floats(-1e5, 1e5, allow_nan=False)


@given(LENGTHS)
def test_feet_and_inches_are_the_nearest_sixteenth(length_mm):
    """Read back, they are within a thirty-second of an inch; no 12 inches, no 2/16."""
    sign, feet, inches, part, whole = FEET.fullmatch(format_feet(length_mm)).groups()
    fraction = Fraction(int(part), int(whole)) if part else Fraction(0)
    assert int(inches or 0) < 12
    assert not part or (fraction < 1 and fraction.denominator == int(whole))
    read = (12 * int(feet) + int(inches or 0) + fraction) * (-1 if sign else 1)
    assert abs(float(read) - length_mm / 25.4) <= 1 / 32 + 1e-9


@given(st.floats(1e-3, 1e4), st.sampled_from(list(UnitSystem)))
def test_feeds_have_enough_digits(speed, system):
    """No feed is off by more than a digit of four, however slow or fast."""
    number, unit = format_speed(speed, system).split()
    per = {"mm/min": 1 / 60, "m/min": 1000 / 60, "in/min": 25.4 / 60}[unit]
    assert abs(float(number) * per - speed) <= 5.001e-4 * speed


WORDS = st.sampled_from(
    ["On part p1,", "'a 20 mm'", "row 3 of", "P2 (Bar 7 mm)", "key=5 mm", "needs"]
)
MARKED = st.decimals(0, 599, places=1).map(lambda d: (f"{d} mm", float(d)))


@given(st.lists(st.one_of(WORDS, MARKED), min_size=1, max_size=8))
def test_only_quantities_change_and_by_their_factor(bits):
    """Words come through letter by letter, each length within half of its last digit."""
    text = " ".join(b if isinstance(b, str) else b[0] for b in bits)
    left = in_units(text, UnitSystem.IMPERIAL)
    assert in_units(text, UnitSystem.METRIC) == text
    for bit in bits:
        if isinstance(bit, str):
            assert left.startswith(bit)
            left = left[len(bit) :].lstrip()
        else:
            number = re.match(r"([\d.]+) in ?", left)
            places = len(number[1].partition(".")[2])
            least = 2 if bit[1] >= 25.4 else 3 if bit[1] >= 2.54 else 4
            assert abs(float(number[1]) - bit[1] / 25.4) <= 0.5 * 10.0**-least + 1e-9
            assert places <= least
            left = left[number.end() :]
    assert not left
