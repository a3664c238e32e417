"""Lengths, feeds and areas as the trade writes them, metric and imperial."""

from __future__ import annotations

import pytest

from edgetime.report.quantities import (
    format_area,
    format_edge,
    format_feet,
    format_length,
    format_size,
    format_speed,
    format_thickness,
    speed_figure,
    speed_unit,
)

FT = 304.8
IN = 25.4


@pytest.mark.parametrize(
    ("write", "value", "metric", "imperial"),
    [
        (format_length, 100.0, "100.0 mm", "3.94 in"),
        (format_length, 23.5 * IN, "596.9 mm", "23.5 in"),
        (format_length, 2 * FT + 0.25 * IN, "616.0 mm", "2' 1/4\""),
        (format_length, 20 * FT, "6.096 m", "20' 0\""),
        # 2500 / 25.4 = 98.425: eight feet, 2 inches, 0.425 = 6.8 sixteenths.
        (format_length, 2500.0, "2.500 m", "8' 2-7/16\""),
        (format_length, 2.0, "2.0 mm", "0.0787 in"),
        (format_edge, 2500.0, "2.500 m", "8.20 ft"),
        (format_edge, 300.0, "300.0 mm", "11.81 in"),
        (format_speed, 350 * IN / 60, "8.89 m/min", "350 in/min"),
        (format_speed, 75 / 60, "75 mm/min", "2.953 in/min"),
        (format_area, FT**2, "0.093 m²", "1.00 sq ft"),
        (format_thickness, 20.0, "20 mm", "2 cm"),
        (format_thickness, 30.0, "30 mm", "3 cm"),
        (format_thickness, 12.0, "12 mm", "12 mm"),
        (format_thickness, 1.25 * IN, "31.75 mm", "1-1/4 in"),
    ],
)
def test_figures_in_both_systems(write, value, metric, imperial):
    """Stone is 3 cm, a top is 8 feet and some inches, a quantity of edge is feet with decimals."""
    assert write(value, "metric") == metric
    assert write(value, "imperial") == imperial


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (11.97, "1' 0\""),
        (11.95, "0' 11-15/16\""),
        (0.0, "0' 0\""),
        (-30.5, "-2' 6-1/2\""),
        (24.03125 + 0.001, "2' 1/16\""),
    ],
)
def test_feet_and_inches_carry_over(inches, text):
    """Never 12 inches beside feet, never 16 sixteenths."""
    assert format_feet(inches * IN) == text


def test_two_dimensions_are_written_alike():
    """One of them in feet and inches makes both so; small ones stay in inches."""
    assert format_size(2500.0, 600.0, "imperial") == "8' 2-7/16\" x 1' 11-5/8\""
    assert format_size(500.0, 400.0, "imperial") == "19.69 in x 15.75 in"
    assert format_size(2500.0, 600.0) == "2.500 m x 600.0 mm"


def test_a_column_of_feeds_has_one_unit():
    """Millimetres a minute where one feed is below 1 m/min, else metres."""
    slow = speed_unit([75 / 60, 2500 / 60])
    assert [slow, speed_figure(75 / 60, slow), speed_figure(2500 / 60, slow)] == [
        "mm/min", "75", "2500",
    ]  # fmt: skip
    fast = speed_unit([1000 / 60, 2500 / 60])
    assert [fast, speed_figure(1000 / 60, fast), speed_figure(2500 / 60, fast)] == [
        "m/min", "1", "2.5",
    ]  # fmt: skip
    assert speed_unit([75 / 60], "imperial") == "in/min"
