"""No function is longer than a screen or two, or takes more than a handful of values, unasked."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest
from support.imports import modules

LONGEST = 80
"""Lines of a function without its docstring."""
MOST = 8
"""Parameters without ``self`` and ``cls``."""

OPTIONS = "each parameter is an option of the command"
CHOICES = "each parameter is a choice of the user, by keyword"

ALLOWED: dict[str, str] = {
    "edgetime.cli.ledger.orders.order_command": OPTIONS,
    "edgetime.cli.ledger.post.post_command": OPTIONS,
    "edgetime.cli.ledger.receive.receive_command": OPTIONS,
    "edgetime.ledger.receiving.Receiving.receive": CHOICES,
    "edgetime.tooling.declare.key": CHOICES,
}
"""Function → why it may be so large."""


def _functions(node: ast.AST, name: str) -> Iterator[tuple[str, ast.FunctionDef]]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef):
            yield f"{name}.{child.name}", child
        if isinstance(child, (ast.FunctionDef, ast.ClassDef)):
            yield from _functions(child, f"{name}.{child.name}")


def _too_large(function: ast.FunctionDef) -> bool:
    said = (
        function.body[0].end_lineno if ast.get_docstring(function) is not None else function.lineno
    )
    names = [a.arg for a in (*function.args.posonlyargs, *function.args.args)]
    names += [a.arg for a in function.args.kwonlyargs]
    return (
        function.end_lineno - said > LONGEST
        or len([n for n in names if n not in {"self", "cls"}]) > MOST
    )


def test_no_function_is_too_large() -> None:
    """Those that are have a stated reason, and no reason outlives its function."""
    found = {
        name
        for module, path in modules().items()
        for name, function in _functions(ast.parse(path.read_text(encoding="utf-8")), module)
        if _too_large(function)
    }
    assert sorted(found - set(ALLOWED)) == [], "split it, or say in ALLOWED why not"
    assert sorted(set(ALLOWED) - found) == [], "no longer needed in ALLOWED"


@pytest.mark.parametrize(
    ("text", "large"),
    [
        ("def f(a, b, c, d, e, g, h, i): pass", False),
        ("def f(a, b, c, d, e, g, h, i, *, j): pass", True),
        ("def f():\n" + "    x = 1\n" * LONGEST, False),
        ("def f():\n" + "    x = 1\n" * (LONGEST + 1), True),
        ('def f():\n    """' + "\n" * 100 + '"""\n    return 1', False),
    ],
)
def test_what_counts_as_large(text: str, large: bool) -> None:
    """Lines are counted without the docstring, parameters whichever way they are given."""
    (function,) = ast.parse(text).body
    assert _too_large(function) is large
