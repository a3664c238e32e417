"""Numbers and money as the shop's locale writes them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from edgetime.report.columns import COUNT, Column, NumberForm
from edgetime.report.explained import explained_blocks

if TYPE_CHECKING:
    from edgetime.explained import Explained
    from edgetime.price.formulas import Exact
    from edgetime.report.document import Block
    from edgetime.units import UnitSystem


class Numbers:
    """Writes numbers and money as a locale does.

    Parameters
    ----------
    locale : str
        Such as ``de_DE``.
    currency : str
        ISO 4217 code.
    """

    def __init__(self, locale: str, currency: str) -> None:
        from babel import Locale  # noqa: PLC0415  loaded when a price is printed
        from babel.numbers import (  # noqa: PLC0415
            get_currency_precision,
            get_decimal_symbol,
        )

        self.locale = Locale.parse(locale.replace("-", "_"))
        self.currency = currency
        self.digits = get_currency_precision(currency)
        self.decimal: str = get_decimal_symbol(self.locale)

    def number(self, value: Decimal, digits: int) -> str:
        """Write a number with a number of decimals."""
        from babel.numbers import format_decimal  # noqa: PLC0415  as above

        decimals = f".{'0' * digits}" if digits else ""
        text: str = format_decimal(value, format=f"#,##0{decimals}", locale=self.locale)
        # Some locales part thousands by blanks that terminals and ASCII do not know.
        return text.replace("\u202f", " ").replace("\u00a0", " ")

    def signed(self, text: str) -> str:
        """Put the locale's decimal sign into a plain number."""
        return text.replace(".", self.decimal)

    def amount(self, value: Decimal) -> str:
        """Write an amount without its currency, for a column headed by it."""
        return self.number(value, self.digits)

    def money(self, value: Decimal) -> str:
        """Write an amount with the code of its currency."""
        return f"{self.amount(value)} {self.currency}"

    def change(self, value: Decimal) -> str:
        """Write a difference of amounts with its sign."""
        return f"+{self.amount(value)}" if value > 0 else self.amount(value)

    def percent(self, value: Decimal, digits: int = 0) -> str:
        """Write a share in per cent, without the sign."""
        return self.number(100 * value, digits)

    def column(
        self,
        key: str,
        heading: str,
        get: Callable[[Any], Any] | None = None,
        *,
        show: Callable[[Any], str] | None = None,
        total: Callable[[Any], Decimal] | None = None,
        form: NumberForm | None = None,
        formula: str | Callable[[Any], str] = "",
    ) -> Column[Any]:
        """Declare a column of money, or of other decimals that ``show`` writes.

        Parameters
        ----------
        key, heading, get, total, formula
            As of :class:`~edgetime.report.columns.Column`.
        show : callable, optional
            Writes a value; as an amount without it.
        form : NumberForm, optional
            How it is kept; as an amount without it.
        """
        write = show or self.amount
        return Column(
            key=key,
            heading=heading,
            get=get,
            unit=COUNT,
            total=total,
            show=lambda v, _: write(v),
            form=form or (None if show else self.form()),
            formula=formula,
        )

    def form(self, digits: int | None = None) -> NumberForm:
        """Return how amounts are kept: with the digits of their currency unless others are given."""
        count = self.digits if digits is None else digits
        return NumberForm(1.0, "#,##0" + ("." + "0" * count if count else ""))

    def value(self, value: Decimal, digits: int, unit: str) -> str:
        """Write a value with its unit and at most this many decimals.

        Parameters
        ----------
        value : Decimal
            Any.
        digits : int
            Decimals at most.
        unit : str
            ``-`` for none.
        """
        shown = self.number(value, digits).rstrip("0").rstrip(".,")
        return shown if unit == "-" else f"{shown} {unit}"

    def explained(self, made: Explained[Any], system: UnitSystem) -> str:  # noqa: ARG002
        """Write a value of an explanation, in the unit it has there in any system."""
        return self.value(made.value, 6, made.unit)


def figure_blocks(figures: Iterable[Exact], numbers: Numbers) -> Iterator[Block]:
    """Return how figures came about: formula, inputs, and the source of each."""
    for made in figures:
        yield from explained_blocks(
            f"{made.name} = {numbers.value(made.value, 4, made.unit)}",
            made.inputs,
            numbers.explained,
            formula=made.formula,
            note=made.note,
        )
