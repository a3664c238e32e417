"""Values calculated by evaluating the formula that explains them.

What ``--explain`` shows is what was calculated; nobody has to keep the two alike.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import lru_cache
from types import CodeType
from typing import Any, Final

from edgetime.explained import Explained
from edgetime.price.money import EXACT, ROUNDINGS, rounded

Exact = Explained[Decimal]
"""A value that money is calculated from."""

FOOT: Final = Explained("foot", Decimal("0.3048"), "m/ft", "the international foot, exact")

_FUNCTIONS: Final[dict[str, Any]] = {
    "__builtins__": {},
    "max": max,
    **{
        f"round_{rule.replace('-', '_')}": lambda x, step, rule=rule: rounded(x, step, rule)
        for rule in ROUNDINGS
    },
}


@lru_cache(maxsize=256)
def _compiled(formula: str) -> CodeType:
    return compile(formula, "<formula>", "eval")


def evaluate(formula: str, values: Mapping[str, Decimal]) -> Decimal:
    """Return what a formula gives.

    Parameters
    ----------
    formula : str
        Sums, products and quotients of names and whole numbers; ``round_half_up(x, step)``,
        ``round_half_even``, ``round_up``, ``max``.
    values : mapping
        Name → value.
    """
    with decimal.localcontext(EXACT):
        # Formulas are this program's own texts; no name of a user's file is ever in one.
        return Decimal(eval(_compiled(formula), _FUNCTIONS, dict(values)))  # noqa: S307


def used(made: Exact, name: str | None = None) -> Exact:
    """Return a value as the input of another one.

    Parameters
    ----------
    made : Explained
        The value.
    name : str, optional
        What the formula calls it, if not by its name.
    """
    return Explained(name or made.name, made.value, made.unit, f"figure {made.name}")


def names_of(formula: str) -> tuple[str, ...]:
    """Return the names of a formula in their order, its functions among them.

    Parameters
    ----------
    formula : str
        As :func:`evaluate` takes it.
    """
    return _compiled(formula).co_names


def figure(
    name: str, unit: str, formula: str, inputs: Iterable[Exact] = (), note: str = ""
) -> Exact:
    """Calculate a value by a formula.

    Parameters
    ----------
    name, unit, formula, note : str
        As of :class:`~edgetime.explained.Explained`.
    inputs : iterable of Explained
        One per name of the formula.
    """
    listed = tuple(inputs)
    value = evaluate(formula, {f.name: f.value for f in listed})
    return Explained(name, value, unit, note, formula=formula, inputs=listed)
