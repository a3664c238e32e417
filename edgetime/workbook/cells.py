"""What a cell of a workbook keeps of a figure: a number and its format."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.report.columns import Cell, Column, NumberForm

if TYPE_CHECKING:
    from edgetime.units import UnitSystem

_DIGITS: Final = re.compile(r"-?\d+(?:\.\d+)?")
_EPOCH: Final = date(1899, 12, 30)
"""Day 0 of dates in spreadsheets, after their 29 February 1900."""


class Kept(NamedTuple):
    """A figure as a cell keeps it."""

    number: float
    form: NumberForm


def form_of(column: Column[Any], value: object, system: UnitSystem) -> NumberForm:
    """Return factor and pattern with which a cell keeps a value of a column."""
    if isinstance(value, Cell):
        column, value = value
    return column.number_form(system) or NumberForm()


def kept_of(column: Column[Any], value: object, system: UnitSystem) -> Kept | None:
    """Return what a cell keeps of a value, None for a text."""
    if isinstance(value, Cell):
        column, value = value
    if isinstance(value, date):
        return _day(value)
    if isinstance(value, bool) or not isinstance(value, (int, float, Decimal, Fraction)):
        return None
    number, form = float(value), column.number_form(system)
    if abs(number) == float("inf") or number != number:  # noqa: PLR0124  not a number
        return None
    if form is not None:
        return Kept(number * form.factor, form)
    if isinstance(value, Decimal) and column.show is None:
        decimals = min(max(0, -int(value.as_tuple().exponent)), 6)
        return Kept(number, NumberForm(pattern=_pattern(decimals)))
    said = column.cell(value, system) or ""
    bare = said.removeprefix("<")
    if not _DIGITS.fullmatch(bare):
        return None
    decimals = len(bare.partition(".")[2])
    if bare != said:
        # Less than the last digit, which a cell need not say in words; not in another unit.
        own = 0.0 <= number < float(bare)
        return Kept(number, NumberForm(pattern=_pattern(decimals))) if own else None
    # Shown in another unit, the digits that people read are the figure.
    same = abs(number - float(said)) <= 0.5000001 * 10.0**-decimals
    return Kept(number if same else float(said), NumberForm(pattern=_pattern(decimals)))


def _day(value: date) -> Kept:
    if isinstance(value, datetime):
        at = value.hour * 3600 + value.minute * 60 + value.second
        days = (value.date() - _EPOCH).days + at / 86400.0
        return Kept(days, NumberForm(pattern="yyyy-mm-dd hh:mm"))
    return Kept(float((value - _EPOCH).days), NumberForm(pattern="yyyy-mm-dd"))


def _pattern(decimals: int) -> str:
    return "0." + "0" * decimals if decimals else "0"


def width_of(kept: Kept) -> int:
    """Return how many characters a number takes in its format, or a few more."""
    if "yy" in kept.form.pattern or "h" in kept.form.pattern:
        return len(kept.form.pattern.partition(";")[0])
    pattern = kept.form.pattern.partition(";")[0]
    decimals = len(pattern.partition(".")[2])
    whole = len(f"{abs(kept.number):,.0f}")
    return whole + decimals + (decimals > 0) + (kept.number < 0.0) + pattern.count("%")
