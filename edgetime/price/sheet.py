"""Figures with the formula and the factors they come of.

A figure is computed by evaluating its formula over its factors, so what ``--explain`` tells
is what was done, and nobody has to keep the two alike.
"""

from __future__ import annotations

import ast
import decimal
import operator
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

from edgetime.errors import InternalError
from edgetime.price.money import EXACT, ROUNDINGS, digits, rounded


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One factor of a figure.

    Attributes
    ----------
    name : str
        As the formula names it.
    value : Decimal
        In ``unit``.
    unit : str
        ``EUR/h``, ``s``, ``m``, ``-`` …
    file, key, written : str
        Where it stands and the text there; empty for what is computed.
    note : str
        Where it comes from otherwise, such as the figure of that name.
    """

    name: str
    value: Decimal
    unit: str
    file: str = ""
    key: str = ""
    written: str = ""
    note: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; the value as a decimal text."""
        return {
            "name": self.name,
            "value": digits(self.value),
            "unit": self.unit,
            "file": self.file,
            "key": self.key,
            "written": self.written,
            "note": self.note,
        }


FOOT: Final = Fact(
    name="foot", value=Decimal("0.3048"), unit="m/ft", note="the international foot, exact"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure: what its formula gives for its factors.

    Attributes
    ----------
    name : str
        As ``--explain`` takes it: ``machine``, ``total``, ``profile:eased``, ``part:p01``.
    value : Decimal
        In ``unit``.
    unit : str
        Currency, mostly.
    formula : str
        Sums, products and quotients of the factors; ``round_half_up(x, step)``,
        ``round_half_even``, ``round_up``, ``max``.
    facts : tuple of Fact
        Every name of the formula once.
    note : str
        The rule in words, where the formula alone does not say it.
    """

    name: str
    value: Decimal
    unit: str
    formula: str
    facts: tuple[Fact, ...]
    note: str = ""

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "figure": self.name,
            "value": digits(self.value),
            "unit": self.unit,
            "formula": self.formula,
            "factors": [f.as_dict() for f in self.facts],
            "note": self.note,
        }


_BINARY: Final[dict[type[ast.operator], Callable[[Decimal, Decimal], Decimal]]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}
_CALLS: Final[dict[str, Callable[..., Decimal]]] = {
    "max": max,
    **{
        f"round_{name.replace('-', '_')}": lambda x, step, rule=name: rounded(x, step, rule)
        for name in ROUNDINGS
    },
}


@lru_cache(maxsize=256)
def _parsed(formula: str) -> ast.Expression:
    return ast.parse(formula, mode="eval")


@lru_cache(maxsize=256)
def _compiled(formula: str) -> Callable[[Mapping[str, Decimal]], Decimal]:
    """Return a formula as a function of its factors."""

    def of(node: ast.AST) -> Callable[[Mapping[str, Decimal]], Decimal]:
        match node:
            case ast.Expression(body=body):
                return of(body)
            case ast.BinOp(op=ast.Add()):
                return added(node)
            case ast.BinOp(left=left, op=op, right=right):
                one, two, act = of(left), of(right), _BINARY[type(op)]
                return lambda values: act(one(values), two(values))
            case ast.Name(id=name):
                return operator.itemgetter(name)
            case ast.Constant(value=int(number)):
                constant = Decimal(number)
                return lambda _: constant
            case ast.Call(func=ast.Name(id=name), args=args):
                call, inner = _CALLS[name], [of(arg) for arg in args]
                return lambda values: call(*(arg(values) for arg in inner))
        raise InternalError(f"A formula cannot hold {ast.dump(node)}.")

    def added(node: ast.AST) -> Callable[[Mapping[str, Decimal]], Decimal]:
        # A sum of many terms nests as deep as it is long; a loop does not.
        last: list[ast.AST] = []
        while isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
            last.append(node.right)
            node = node.left
        first, terms = of(node), [of(term) for term in reversed(last)]
        return lambda values: sum((term(values) for term in terms), first(values))

    return of(_parsed(formula))


def evaluate(formula: str, values: Mapping[str, Decimal]) -> Decimal:
    """Return what a formula gives.

    Parameters
    ----------
    formula : str
        See :class:`Figure`.
    values : mapping
        Name → value.
    """
    with decimal.localcontext(EXACT):
        return _compiled(formula)(values)


def names_of(formula: str) -> frozenset[str]:
    """Return the names of a formula, its functions among them."""
    nodes = ast.walk(_parsed(formula))
    return frozenset(node.id for node in nodes if isinstance(node, ast.Name))


def figure(name: str, unit: str, formula: str, facts: Iterable[Fact], note: str = "") -> Figure:
    """Compute a figure.

    Parameters
    ----------
    name, unit, formula, note : str
        As of :class:`Figure`.
    facts : iterable of Fact
        One per name of the formula.
    """
    listed = tuple(facts)
    value = evaluate(formula, {f.name: f.value for f in listed})
    return Figure(name=name, value=value, unit=unit, formula=formula, facts=listed, note=note)
