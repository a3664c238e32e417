"""A number with separators is refused for what it is, wherever money is read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgetime.amounts import separator_fault


@pytest.mark.parametrize(
    ("text", "what", "write"),
    [
        ("1,800", "thousands comma or a decimal comma", "Write 1800 or 1.800."),
        ("999,999 EUR", "thousands comma or a decimal comma", "Write 999999 or 999.999."),
        ("1,80 EUR", "decimal comma", "Write 1.80."),
        ("0,800", "decimal comma", "Write 0.800."),
        ("2,5 %", "decimal comma", "Write 2.5."),
        ("1'800 EUR", "thousands apart", "Write 1800."),
        ("1\u2019800", "thousands apart", "Write 1800."),
        ("1 800 EUR", "thousands apart", "Write 1800."),
        ("1\u202f800", "thousands apart", "Write 1800."),
        ("1.800,00EUR", "thousands apart", "Write 1800.00."),
        ("1,800.00", "thousands apart", "Write 1800.00."),
        ("1,234,567", "thousands apart", "Write 1234567."),
        ("1.234.567", "thousands apart", "Write 1234567."),
    ],
)
def test_what_is_wrong_and_what_to_write(text, what, write) -> None:
    """Both readings where there are two; the one where there is one."""
    told = separator_fault(text)
    assert what in told[0]
    assert told[1] == write


@pytest.mark.parametrize("text", ["1800", "1800.50EUR", "45.00 EUR/h", "15 %", "", "many"])
def test_plain_numbers_have_no_fault(text) -> None:
    """One decimal point is none, nor is a blank before the currency."""
    assert separator_fault(text) is None


@given(
    st.integers(1_000, 10**12), st.sampled_from([",", "'", "_", " ", "\u202f"]), st.integers(0, 99)
)
def test_grouped_amounts_are_told_apart(whole, mark, cents) -> None:
    """Groups of three and two decimals: the remedy is the number itself."""
    grouped = f"{whole:,}".replace(",", mark)
    assert separator_fault(f"{grouped}.{cents:02d}")[1] == f"Write {whole}.{cents:02d}."
