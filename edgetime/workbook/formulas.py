"""Declared formulas as formulas of a spreadsheet.

A column declares how its cells follow from others as a sum, product or quotient of names:
``machine_rate * machine_s / 3600``. A name is a column of the same row or a cell that bears the
name; ``table.key`` is a whole column. Figures are in the units of their records there; the
reference turns what a cell keeps (days, metres) back into them.

Functions are ``max``, ``min``, ``sum(table.key)``, ``sum_if(table.key, value, table.key)``,
``round_half_up(x, step)``, ``round_half_even``, ``round_up``, ``apportion(total, table.key, step)``
and Python's ``a if x < y else b``. Two properties of spreadsheets decide how they are written:

* Amounts are binary fractions there: half a cent may be a hair below half. What is rounded is
  first cut off at a millionth of the step, which is more than that error and less than any
  figure of ours is precise to.
* There is no rounding to even, and no sharing out without a remainder; both are put together
  from what there is.
"""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

_EPS: Final = "1E-7"
"""Remainders of a step nearer to one another than this count as equal."""


class Range(NamedTuple):
    """The cells of a column.

    Attributes
    ----------
    cells : str
        Such as ``Work!$C$2:$C$9``.
    back : str
        What turns a kept number into the record's: ``*86400``; empty for nothing.
    """

    cells: str
    back: str


@dataclass(frozen=True, slots=True)
class Names:
    """What the names of a formula stand for in one cell.

    Attributes
    ----------
    one : callable
        Returns the reference of a bare name.
    column : callable
        Returns the range of a column, from table and key.
    """

    one: Callable[[str], str]
    column: Callable[[str, str], Range]


_OPERATORS: Final[dict[type[ast.operator], str]] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
}
_COMPARISONS: Final[dict[type[ast.cmpop], str]] = {
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Eq: "=",
}


@lru_cache(maxsize=512)
def _parsed(formula: str) -> ast.expr:
    return ast.parse(formula, mode="eval").body


def is_sum(formula: str) -> bool:
    """Return whether a formula only adds and takes away."""
    kinds = (ast.BinOp, ast.Add, ast.Sub, ast.Name, ast.Load)
    return all(isinstance(node, kinds) for node in ast.walk(_parsed(formula)))


def back_from(factor: float) -> str:
    """Return what turns a number kept with a factor back into the record's."""
    return "" if factor == 1.0 else f"*{round(1.0 / factor, 9):.15g}"


def spreadsheet_formula(formula: str, names: Names) -> str:
    """Translate a declared formula.

    Parameters
    ----------
    formula : str
        As a :class:`~edgetime.report.columns.Column` declares it.
    names : Names
        What its names stand for.

    Returns
    -------
    str
        Without the sign of equality.

    Raises
    ------
    ValueError
        It has something that no spreadsheet formula is made of.
    """
    return _Writer(names).text(_parsed(formula))


class _Writer:
    """Writes one formula."""

    def __init__(self, names: Names) -> None:
        self.names = names

    def text(self, node: ast.expr) -> str:
        """Return the formula of a part; sums are in brackets, so that it can be a factor."""
        match node:
            case ast.Constant(value=bool()):
                raise _unknown(node)
            case ast.Constant(value=int() | float() as number):
                return repr(number).replace("e", "E")
            case ast.Name(id=name):
                return self.names.one(name)
            case ast.UnaryOp(op=ast.USub(), operand=inner):
                return f"(-{self.text(inner)})"
            case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
                both = f"{self.text(left)}{_OPERATORS[type(op)]}{self.text(right)}"
                return f"({both})"
            case ast.Compare(left=left, ops=[op], comparators=[right]) if type(op) in _COMPARISONS:
                return f"{self.text(left)}{_COMPARISONS[type(op)]}{self.text(right)}"
            case ast.IfExp(test=test, body=body, orelse=other):
                return f"IF({self.text(test)},{self.text(body)},{self.text(other)})"
            case ast.Call(func=ast.Name(id=name), args=args):
                return self.call(name, args)
        raise _unknown(node)

    def range(self, node: ast.expr) -> Range:
        match node:
            case ast.Attribute(value=ast.Name(id=table), attr=key):
                return self.names.column(table, key)
        raise _unknown(node)

    def call(self, name: str, args: list[ast.expr]) -> str:
        match name, args:
            case (("max" | "min"), _):
                return f"{name.upper()}({','.join(map(self.text, args))})"
            case "sum", [column]:
                cells, back = self.range(column)
                return f"(SUM({cells}){back})"
            case "sum_if", [keys, value, column]:
                cells, back = self.range(column)
                return f"(SUMIF({self.range(keys).cells},{self.text(value)},{cells}){back})"
            case "round_half_up", [x, step]:
                return f"(ROUND({self.steps(x, step)},0)*{self.text(step)})"
            case "round_up", [x, step]:
                return f"(ROUNDUP({self.steps(x, step)},0)*{self.text(step)})"
            case "round_half_even", [x, step]:
                n = self.steps(x, step)
                # Half up, and one step back where that was half a step to an odd number.
                even = f"ROUND({n},0)-(ABS({n}-INT({n})-0.5)<{_EPS})*MOD(ROUND({n},0),2)"
                return f"(({even})*{self.text(step)})"
            case "apportion", [total, column, step]:
                return self.apportion(total, column, self.text(step))
        message = f"no function {name} of {len(args)}"
        raise ValueError(message)

    def steps(self, x: ast.expr, step: ast.expr) -> str:
        return f"ROUND({self.text(x)}/{self.text(step)},6)"

    def apportion(self, total: ast.expr, column: ast.expr, step: str) -> str:
        """Share out whole steps by the largest remainder, the first among equals.

        A cell gets the whole steps of its exact share, and one more if fewer cells are before it
        (with a larger remainder, or an equal one further up) than steps are left.
        """
        cells = self.range(column).cells
        assert isinstance(column, ast.Attribute)  # noqa: S101  the range above refuses others
        own = self.names.one(column.attr)
        count = f"({self.text(total)}/{step})"
        # Without any weight above zero all count the same.
        none = f"(SUM({cells})=0)"
        whole = f"(SUM({cells})+{none}*ROWS({cells}))"
        all_exact, exact = (f"({count}*({of}+{none})/{whole})" for of in (cells, own))
        all_steps, steps = (f"INT({of}+{_EPS})" for of in (all_exact, exact))
        all_rests, rest = f"({all_exact}-{all_steps})", f"({exact}-{steps})"
        before = (
            f"SUMPRODUCT(({all_rests}>{rest}+{_EPS})+(ABS({all_rests}-{rest})<={_EPS})"
            f"*(ROW({cells})<ROW({own})))"
        )
        left = f"ROUND({count}-SUMPRODUCT({all_steps}),0)"
        return f"(({steps}+IF({before}<{left},1,0))*{step})"


def _unknown(node: ast.expr) -> ValueError:
    return ValueError(f"not a spreadsheet formula: {ast.unparse(node)}")
