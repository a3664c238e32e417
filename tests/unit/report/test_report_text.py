"""Figures as tables write them."""

from __future__ import annotations

import pytest

from edgetime.report.text import (
    clock,
    figure,
    length_column,
    length_header,
    percent,
    percent_number,
    share,
    signed_clock,
)
from edgetime.units import UnitSystem


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.0, "-"),
        (0.2, "<0:01"),
        (7.4, "0:07"),
        (59.6, "1:00"),
        (200.0, "3:20"),
        (3599.7, "60:00"),
        (6485.0, "108:05"),
        (36000.0, "600:00"),
    ],
)
def test_clock(seconds: float, text: str) -> None:
    """Minutes and seconds, never hours; nothing never as 0:00."""
    assert clock(seconds) == text


@pytest.mark.parametrize(
    ("seconds", "text"), [(0.3, "0:00"), (-0.3, "0:00"), (65.0, "+1:05"), (-65.0, "-1:05")]
)
def test_signed_clock(seconds: float, text: str) -> None:
    """A difference carries its sign."""
    assert signed_clock(seconds) == text


@pytest.mark.parametrize(
    ("part", "whole", "text"),
    [
        (1.0, 8.0, "12"),
        (1.0, 1.0, "100"),
        (0.001, 1.0, "<1"),
        (0.0, 1.0, "-"),
        (1.0, 0.0, "-"),
    ],
)
def test_share(part: float, whole: float, text: str) -> None:
    """Whole per cent, and a small share is not none."""
    assert share(part, whole) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.5, "0.5"), (1500.0, "1500"), (123456.0, "123456"), (float("inf"), "none")],
)
def test_figure(value: float, text: str) -> None:
    """No exponent for the sizes of the trade."""
    assert figure(value) == text


def test_lengths() -> None:
    """Metres and feet (1 ft = 304.8 mm exactly, 1959)."""
    assert length_column(1524.0, UnitSystem.METRIC) == "1.524"
    assert length_column(1524.0, UnitSystem.IMPERIAL) == "5.00"
    assert length_column(0.0, UnitSystem.METRIC) == "-"
    assert length_header(UnitSystem.METRIC) == "m"
    assert length_header(UnitSystem.IMPERIAL) == "ft"


@pytest.mark.parametrize(
    ("share", "shown"),
    [
        (None, "-"), (0.0, "0 %"), (-0.0, "0 %"), (-0.0004, "0 %"), (0.0004, "<0.1 %"),
        (0.05, "5.0 %"), (0.0996, "10 %"), (0.1234, "12 %"), (1.0, "100 %"), (-0.032, "-3.2 %"),
        (-0.25, "-25 %"),
    ],
)  # fmt: skip
def test_a_share_is_written_with_few_digits(share: float | None, shown: str) -> None:
    """Little is not nothing, and nothing has no sign."""
    assert percent(share) == shown


@pytest.mark.parametrize(
    ("chance", "digits", "shown"),
    [
        (0.0, 1, "<0.1"), (1.0, 1, ">99.9"), (0.9996, 1, ">99.9"), (0.9994, 1, "99.9"),
        (0.5, 1, "50.0"), (0.0004, 1, "<0.1"), (0.0, 0, "<1"), (0.996, 0, ">99"), (0.07, 0, "7"),
    ],
)  # fmt: skip
def test_a_probability_is_never_certain(chance: float, digits: int, shown: str) -> None:
    """Neither 0 nor 100 is written of what is only likely."""
    assert percent_number(chance, digits=digits, fine=100.0, uncertain=True) == shown
