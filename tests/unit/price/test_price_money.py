"""Rounding and sharing out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from edgetime.errors import InternalError
from edgetime.price.money import apportion, decimal_of, minor_unit, rounded

CENT = Decimal("0.01")


@pytest.mark.parametrize(
    ("amount", "rule", "expected"),
    [
        ("0.125", "half-up", "0.13"),
        ("0.135", "half-up", "0.14"),
        ("0.125", "half-even", "0.12"),
        ("0.135", "half-even", "0.14"),
        ("0.1201", "up", "0.13"),
        ("0.12", "up", "0.12"),
        ("2.675", "half-up", "2.68"),
    ],
)
def test_rounding_rules(amount, rule, expected) -> None:
    """Half a cent goes where its rule says; 2.675, which no float holds, goes up."""
    assert rounded(Decimal(amount), CENT, rule) == Decimal(expected)
    assert str(rounded(Decimal(amount), CENT, rule)) == expected


@pytest.mark.parametrize(
    ("amount", "step", "expected"),
    [("7.32", "0.05", "7.30"), ("7.325", "0.05", "7.35"), ("7.33", "0.05", "7.35"),
     ("1234.5", "1", "1235"), ("1249", "50", "1250")],
)  # fmt: skip
def test_rounding_to_wider_steps(amount, step, expected) -> None:
    """Five cents, whole units, fifties: the nearest multiple, half up."""
    assert rounded(Decimal(amount), Decimal(step)) == Decimal(expected)


def test_thirds_of_a_unit() -> None:
    """1.00 over three equals is 0.34 + 0.33 + 0.33: the first gets the cent that is left."""
    assert apportion(Decimal("1.00"), [Decimal(1)] * 3, CENT) == (
        Decimal("0.34"),
        Decimal("0.33"),
        Decimal("0.33"),
    )


def test_nothing_to_go_by_is_shared_evenly() -> None:
    """Without a weight above zero all count the same."""
    assert apportion(Decimal("0.05"), [Decimal(0), Decimal(0)], CENT) == (
        Decimal("0.03"),
        Decimal("0.02"),
    )


def test_nobody_to_share_with() -> None:
    """Nothing over nobody is nothing; something over nobody is our fault."""
    assert apportion(Decimal(0), [], CENT) == ()
    with pytest.raises(InternalError):
        apportion(Decimal(1), [], CENT)


def test_digits_of_currencies() -> None:
    """ISO 4217: two digits for the euro and the dollar, none for the yen, three for the dinar."""
    assert [minor_unit(c) for c in ("EUR", "USD", "JPY", "KWD")] == [
        Decimal("0.01"), Decimal("0.01"), Decimal(1), Decimal("0.001"),
    ]  # fmt: skip


def test_decimals_of_floats() -> None:
    """A float becomes the decimal that is written for it."""
    assert decimal_of(0.1) == Decimal("0.1")
