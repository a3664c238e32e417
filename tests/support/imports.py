"""Who imports whom inside the package, read from the files."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import edgetime

PACKAGE = Path(edgetime.__file__).parent


def module_of(path: Path) -> str:
    """Return the dotted name of a file of the package."""
    name = ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    return name.removesuffix(".__init__")


@cache
def modules() -> dict[str, Path]:
    """Return all files of the package by dotted name."""
    return {module_of(path): path for path in sorted(PACKAGE.rglob("*.py"))}


def package_of(module: str) -> str:
    """Return the package or top-level module that a module lies in, empty for the root."""
    return [*module.split("."), ""][1]


def _for_types_alone(tree: ast.AST) -> set[ast.AST]:
    return {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for statement in node.body
        for inner in ast.walk(statement)
    }


def imports(path: Path, *, types: bool = True) -> Iterator[str]:
    """Yield the modules a file imports, anywhere in it; without ``types`` those of run time."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    left_out = set() if types else _for_types_alone(tree)
    for node in ast.walk(tree):
        if node in left_out:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: relative import"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in modules() else node.module


def cycles(graph: dict[str, set[str]]) -> list[set[str]]:
    """Return the strongly connected components of more than one node (Tarjan 1972)."""
    number: dict[str, int] = {}
    lowest: dict[str, int] = {}
    path: list[str] = []
    found: list[set[str]] = []

    def visit(node: str) -> None:
        number[node] = lowest[node] = len(number)
        path.append(node)
        for following in sorted(graph[node]):
            if following not in number:
                visit(following)
                lowest[node] = min(lowest[node], lowest[following])
            elif following in path:
                lowest[node] = min(lowest[node], number[following])
        if lowest[node] == number[node]:
            at = path.index(node)
            component, path[at:] = set(path[at:]), []
            if len(component) > 1:
                found.append(component)

    for node in sorted(graph):
        if node not in number:
            visit(node)
    return found
