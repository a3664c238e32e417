"""Rounding, sharing out, and the digits of a currency: every cent has its place."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from typing import Final

from edgetime.errors import InternalError
from edgetime.records import written

EXACT: Final = Context(prec=50, rounding=ROUND_HALF_EVEN)
"""Digits of money between its roundings: thirty more than any sum needs."""

_FINE: Final = Decimal("1e-20")
"""Shares of a quantity are cut off here: far below anything measured, and sums stay exact."""

ROUNDINGS: Final = {
    "half-up": ROUND_HALF_UP,
    "half-even": ROUND_HALF_EVEN,
    "up": ROUND_CEILING,
}
"""Names of the rules in ``shop.toml`` → rules of the decimal arithmetic."""


def decimal_of(value: float) -> Decimal:
    """Return the shortest decimal that a float is read back from."""
    return Decimal(repr(float(value)))


def rounded(amount: Decimal, step: Decimal, rounding: str = "half-up") -> Decimal:
    """Round an amount to a multiple of a step.

    Parameters
    ----------
    amount : Decimal
        Not negative.
    step : Decimal
        Such as 0.01 or 0.05.
    rounding : str
        A key of :data:`ROUNDINGS`. Half a step is that exactly: 0.125 is half way between 0.12
        and 0.13, for the amount is a decimal, no float.
    """
    with decimal.localcontext(EXACT):
        # Through a whole number, so that the digits of the result are those of the step.
        return int((amount / step).to_integral_value(ROUNDINGS[rounding])) * step


def apportion(total: Decimal, weights: Sequence[Decimal], step: Decimal) -> tuple[Decimal, ...]:
    """Share out an amount in whole steps, by the largest remainder.

    Each gets the whole steps of its exact share; the steps that are left go one each to the
    largest remainders, the first among equals. (Hamilton's method of apportionment; no share
    is a step or more away from its exact one.)

    Parameters
    ----------
    total : Decimal
        A multiple of ``step``, not negative.
    weights : sequence of Decimal
        None negative; without any above zero all count the same.
    step : Decimal
        Such as 0.01.

    Returns
    -------
    tuple of Decimal
        In the order of the weights; their sum is ``total`` exactly.
    """
    if not weights:
        if total:
            raise InternalError(f"{total} cannot be shared out over nothing.")
        return ()
    with decimal.localcontext(EXACT):
        count = total / step
        whole = sum(weights, Decimal(0))
        shares = [count * w / whole if whole else count / len(weights) for w in weights]
        steps = [int(share.to_integral_value(ROUND_FLOOR)) for share in shares]
        left = int(count) - sum(steps)
        order = sorted(range(len(weights)), key=lambda i: (steps[i] - shares[i], i))
        for i in order[:left]:
            steps[i] += 1
        return tuple(n * step for n in steps)


def shared(total: Decimal, weights: Sequence[Decimal]) -> list[Decimal]:
    """Share out a quantity in proportion to weights so that the shares add up to it exactly.

    Parameters
    ----------
    total : Decimal
        Seconds, litres, money before rounding.
    weights : sequence of Decimal
        None negative, at least one above zero.

    Returns
    -------
    list of Decimal
        In the order of the weights. Each is cut off at twenty decimals; the last weight above
        zero takes what that leaves.
    """
    with decimal.localcontext(EXACT):
        whole = sum(weights, Decimal(0))
        out = [(total * w / whole).quantize(_FINE) for w in weights]
        last = max(i for i, w in enumerate(weights) if w > 0)
        out[last] += total - sum(out, Decimal(0))
        return out


def plain(value: Decimal) -> str:
    """Write an amount with the digits it has: 12.50.

    Parameters
    ----------
    value : Decimal
        Money, mostly.
    """
    return f"{value:f}"


AMOUNT: Final = written(write=plain)
"""Metadata of a field of money in JSON."""

NUMBER: Final = written(write=float)
"""Metadata of a decimal field that is a number in JSON, no text."""


def minor_unit(currency: str) -> Decimal:
    """Return the smallest amount of a currency, such as 0.01.

    Parameters
    ----------
    currency : str
        ISO 4217 code. The digits are those of the Unicode locale data.
    """
    from babel.numbers import get_currency_precision  # noqa: PLC0415  only for prices

    return Decimal(1).scaleb(-get_currency_precision(currency))
