"""The reference pages, made from the program itself."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import os
import re
import textwrap
from collections.abc import Callable, Iterable, Iterator
from enum import Enum, StrEnum
from functools import cached_property
from importlib import import_module
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path
from types import ModuleType
from typing import Any

from pages import edgetime as run_edgetime

import edgetime
from edgetime import errors
from edgetime.findings import Code, codes_in
from edgetime.tooling.declare import Record, meanings

NOTE = "<!-- Written by docs/generate.py; edit the program, not this page. -->\n"


def _page(title: str, *parts: str) -> str:
    return "\n\n".join([f"# {title}", NOTE.strip(), *(p.strip("\n") for p in parts)]) + "\n"


def _cell(text: object) -> str:
    return " ".join(str(text).split()).replace("|", "\\|")


def _table(header: list[str], rows: list[list[object]]) -> str:
    lines = ["| " + " | ".join(header) + " |", "|" + "---|" * len(header)]
    lines += ["| " + " | ".join(_cell(c) for c in row) + " |" for row in rows]
    return "\n".join(lines)


# Commands ------------------------------------------------------------------------------


def _walk(command: Any, words: list[str]) -> Iterator[list[str]]:
    yield words
    if hasattr(command, "list_commands"):
        context = command.make_context(words[-1], [], resilient_parsing=True)
        for name in command.list_commands(context):
            yield from _walk(command.get_command(context, name), [*words, name])


def cli_page() -> str:
    """Return the help of every command."""
    from typer.main import get_command  # noqa: PLC0415  heavy

    from edgetime.cli.app import app  # noqa: PLC0415  heavy

    before = os.environ.get("COLUMNS")
    os.environ["COLUMNS"] = "80"
    try:
        head = (
            "The `--help` of every command. Tables go to standard output; hints and "
            "errors go to standard error."
        )
        parts = [head]
        for words in _walk(get_command(app), ["edgetime"]):
            _, said, _ = run_edgetime(*words[1:], "--help")
            text = "\n".join(line.rstrip() for line in said.strip().splitlines())
            parts.append(f"## {' '.join(words)}\n\n```text\n{text}\n```")
    finally:
        if before is None:
            del os.environ["COLUMNS"]
        else:
            os.environ["COLUMNS"] = before
    return _page("Commands", *parts)


# Shop files ----------------------------------------------------------------------------


def shop_files_page() -> str:
    """Return every key of every TOML file."""
    from edgetime.tooling.reference import key_reference  # noqa: PLC0415  heavy

    head = (
        "A shop folder holds TOML files. Every key there is stands below, with its units, its "
        "range and its default; an unknown key is an error, so a slip of the pen is not "
        "silently ignored. `edgetime init my-shop` writes commented copies, `edgetime check "
        "my-shop` reports all errors at once.\n\n"
        'Quantities are texts with a unit: `"350 in/min"`, `"9 m/min"`, `"30 mm"`. In the '
        "column *default*, *required* means that the key must be there; an empty cell, that it "
        "may be left out."
    )
    parts = [head]
    for file, keys in groupby(key_reference(), key=lambda k: k.file):
        rows: list[list[object]] = [
            [f"`{k.key}`", k.allowed, k.unit, k.default, k.meaning] for k in keys
        ]
        header = ["key", "allowed", "units", "default", "meaning"]
        parts.append(f"## {file}\n\n{_table(header, rows)}")
    return _page("Files of a shop", *parts)


# Findings and errors -------------------------------------------------------------------


def used_stages() -> set[str]:
    """Return the packages that the command line leads to, straight or through others."""
    package = Path(edgetime.__path__[0])
    found: set[str] = set()
    waiting = ["cli"]
    while waiting:
        stage = waiting.pop()
        if stage in found or not (package / stage).is_dir():
            continue
        found.add(stage)
        for path in (package / stage).rglob("*.py"):
            text = path.read_text(encoding="utf-8")
            waiting += re.findall(r"^\s*from edgetime\.(\w+)", text, re.MULTILINE)
    return found


def stage_codes() -> dict[str, tuple[Code, ...]]:
    """Return the codes each stage declares, in the order of the packages' names."""
    out = {}
    for stage in sorted(used_stages()):
        if find_spec(f"edgetime.{stage}.codes"):
            out[stage] = codes_in(import_module(f"edgetime.{stage}.codes"))
    return out


def _load_errors() -> None:
    """Import every module that makes a kind of error of its own, so that it is known."""
    names = {name for name, value in vars(errors).items() if isinstance(value, type)}
    package = Path(edgetime.__path__[0])
    for path in sorted(p for s in used_stages() for p in (package / s).rglob("*.py")):
        bases = re.findall(r"^class \w+\((\w+)", path.read_text(encoding="utf-8"), re.MULTILINE)
        if names & set(bases):
            inner = path.relative_to(package).with_suffix("")
            import_module(".".join(["edgetime", *inner.parts]))


def error_kinds() -> list[type[errors.EdgetimeError]]:
    """Return every kind of error, by exit code."""
    _load_errors()
    known = used_stages() | {"errors"}
    found: list[type[errors.EdgetimeError]] = []
    waiting = [errors.EdgetimeError]
    while waiting:
        kind = waiting.pop()
        for child in kind.__subclasses__():
            if child not in found and child.__module__.split(".")[1] in known:
                found.append(child)
                waiting.append(child)
    return sorted(found, key=lambda e: (e.exit_code, e.code))


def findings_page() -> str:
    """Return every finding and every error."""
    head = (
        "A **finding** reports something that does not stop the command. It is listed below the "
        "tables and in every JSON document, with its code, its place and what to do. With `--strict` a command that has a finding of severity *warning* or "
        "*error* ends with exit code 1.\n\n"
        "An **error** stops the command: one message says what is wrong, where, and what to do. "
        "Nothing is written to standard output except, with `--format json`, the error document. "
        "See [Fix findings](../howto/fix-findings.md) for the common ones."
    )
    parts = [head]
    titles = {
        "drawing": "Reading a drawing",
        "takeoff": "Take-off",
        "load": "Load",
        "passes": "Passes",
        "toolpath": "Tool paths",
    }
    codes = stage_codes()
    for stage in [*(s for s in titles if s in codes), *(s for s in codes if s not in titles)]:
        rows: list[list[object]] = [
            [f"`{c.name}`", str(c.severity), c.meaning, c.remedy] for c in codes[stage]
        ]
        title = titles.get(stage, stage.capitalize())
        parts.append(f"## {title}\n\n{_table(['code', 'severity', 'meaning', 'what to do'], rows)}")
    rows = [
        [f"`{e.code}`", e.exit_code, inspect.cleandoc(e.__doc__ or "").splitlines()[0]]
        for e in error_kinds()
    ]
    parts.append(f"## Errors\n\n{_table(['code', 'exit code', 'meaning'], rows)}")
    parts.append(
        "Exit code 0 is success. Exit code 1 is success with findings under `--strict`. Exit "
        "code 70 is a bug: please report it."
    )
    return _page("Findings and errors", *parts)


# Python --------------------------------------------------------------------------------

_SECTION = re.compile(r"^(\w[\w ]*)\n-{3,}$", re.MULTILINE)
_ROLE = re.compile(r":\w+:`~?([^`]+)`")


def _inline(text: str) -> str:
    return _ROLE.sub(r"`\1`", text).replace("``", "`")


def _entries(body: str) -> str:
    out: list[str] = []
    for line in textwrap.dedent(body).splitlines():
        if line and not line.startswith(" "):
            name, colon, kind = line.partition(" : ")
            out.append(f"* `{name}`" + (f" ({_inline(kind)})" if colon else ""))
        elif line.strip() and out:
            out[-1] += (": " if out[-1].endswith((")", "`")) else " ") + _inline(line.strip())
    return "\n".join(out)


def _docstring(value: object) -> str:
    text = inspect.cleandoc(inspect.getdoc(value) or "")
    pieces = _SECTION.split(text)
    parts = [_inline(pieces[0].strip())]
    for title, body in zip(pieces[1::2], pieces[2::2], strict=True):
        inner = body.strip("\n")
        if title == "Examples":
            code = "\n".join(
                re.sub(r"\s*# doctest.*", "", line)[4:]
                for line in inner.splitlines()
                if line.startswith((">>> ", "... "))
            )
            # A blank line after the imports, as the formatter wants it in Markdown too.
            code = re.sub(r"^((?:from|import) .*\n)(?!from|import)", r"\1\n", code)
            parts.append(f"*{title}*\n\n```py\n{code}\n```")
        else:
            parts.append(f"*{title}*\n\n{_entries(inner)}")
    return "\n\n".join(p for p in parts if p)


def _members(kind: type) -> str:
    rows = []
    for name, member in vars(kind).items():
        inner = member.fget if isinstance(member, property) else member
        inner = getattr(inner, "__func__", inner)
        inner = member.func if isinstance(member, cached_property) else inner
        if name.startswith("_") or not inspect.isfunction(inner) or not inner.__doc__:
            continue
        call = "" if isinstance(member, (property, cached_property)) else "()"
        rows.append(f"* `.{name}{call}`: {_inline(inner.__doc__.strip().splitlines()[0])}")
    return "*Methods and properties*\n\n" + "\n".join(rows) if rows else ""


def _entry(name: str, value: Any, level: str) -> str:
    parts = [f"{level} {name}"]
    if inspect.isfunction(value):
        shape = str(inspect.signature(value)).replace("'", "")
        parts.append(f"```py\n{name}{shape}\n```" if len(shape) < 80 else _long(name, value))
    parts.append(_docstring(value))
    if inspect.isclass(value) and issubclass(value, StrEnum):
        parts.append("*Values:* " + ", ".join(f"`{member.value}`" for member in value))
    if inspect.isclass(value) and issubclass(value, Record):
        rows = [f"* `{n}` ({kind}): {_inline(said)}" for n, kind, said in meanings(value)]
        parts.append("*Attributes*\n\n" + "\n".join(rows))
    if inspect.isclass(value):
        parts.append(_members(value))
    return "\n\n".join(p for p in parts if p)


def _long(name: str, value: Callable[..., object]) -> str:
    signature = inspect.signature(value)
    lines = []
    starred = False
    for p in signature.parameters.values():
        if p.kind is inspect.Parameter.KEYWORD_ONLY and not starred:
            lines.append("    *,")
            starred = True
        lines.append(f"    {p!s},".replace("'", ""))
    back = str(signature.return_annotation).replace("'", "")
    # A function as a default has no text of its own.
    lines = [re.sub(r"<function .*>", "...", line) for line in lines]
    return f"```py\n{name}(\n" + "\n".join(lines) + f"\n) -> {back}\n```"


def _public_names(module: ModuleType) -> list[str]:
    """Return what a package exports, or what a module of the ground floor declares."""
    own = [
        name
        for name, value in vars(module).items()
        if name[0] != "_" and getattr(value, "__module__", "") == module.__name__
    ]
    return list(getattr(module, "__all__", own))


_PACKAGES = (
    *("drawing", "takeoff", "tooling", "load", "passes", "toolpath", "moves", "motion", "cycle"),
    *("wear", "estimating", "jobs", "life", "forecast", "price", "economics", "shift"),
    *("comparison", "findings", "errors"),
)
"""Packages whose names the reference lists, in the order of the flow."""
_FUNCTIONS = {
    *("explain_tool", "motion_limits", "resume_at", "sensitivity", "read_jobs", "read_pipeline"),
    *("wear_rates", "fit_life", "fit_lives", "price_lengths", "price_list", "price_what_if"),
    *("shift_load", "fit_shift", "plan_pockets", "fill_table", "open_ledger"),
}
"""Functions of packages that are of use beside those of ``edgetime`` itself."""


def _documented(value: object) -> bool:
    if inspect.isfunction(value):
        return value.__name__ in _FUNCTIONS
    return dataclasses.is_dataclass(value) or (inspect.isclass(value) and issubclass(value, Enum))


def api_page() -> str:
    """Return the public names, then the names of each package."""
    head = (
        "`import edgetime` costs next to nothing; each name is loaded when it is first used. "
        "Nothing prints, nothing keeps state, and every result is a frozen record. Lengths are "
        "in millimetres, times in seconds, angles in radians. For examples see [Use from "
        "Python](../howto/use-from-python.md)."
    )
    parts = [head]
    public = [n for n in edgetime.__all__ if n != "__version__"]
    functions = [n for n in public if inspect.isfunction(getattr(edgetime, n))]
    parts.append("## Functions")
    parts += [_entry(n, getattr(edgetime, n), "###") for n in functions]
    parts.append("## Records")
    parts += [_entry(n, getattr(edgetime, n), "###") for n in public if n not in functions]
    parts.append(
        "## Names of the packages\n\nWhat is needed less often is imported from its package, such "
        "as `from edgetime.takeoff import Part`."
    )
    owners = [getattr(edgetime, n) for n in public]
    for name in _PACKAGES:
        module = import_module(f"edgetime.{name}")
        inner = [
            n for n in _public_names(module) if n not in public and _documented(getattr(module, n))
        ]
        if inner:
            parts.append(f"### edgetime.{name}")
            parts += [_entry(n, getattr(module, n), "####") for n in sorted(inner)]
            owners += [getattr(module, n) for n in inner]
    listed = set(re.findall(r"^#{3,4} (\w+)$", "\n".join(parts), re.MULTILINE))
    named = [t for t in _named_types(owners) if t[1] not in listed]
    if named:
        parts.append("## Types named above\n\nImport each from the module it is listed under.")
    for module in dict.fromkeys(m for m, _, _ in named):
        parts.append(f"### {module}")
        parts += [_entry(name, value, "####") for m, name, value in named if m == module]
    return _page("Python", *parts)


def _named_types(owners: Iterable[Any]) -> list[tuple[str, str, type]]:
    """Return (module, name, class) of our classes that annotations of the owners name."""
    found: dict[str, type] = {}
    for owner in owners:
        if inspect.isfunction(owner):
            text = str(inspect.signature(owner))
        else:
            shown = {k: v for k, v in inspect.get_annotations(owner).items() if k[0] != "_"}
            text = " ".join(map(str, shown.values()))
        for name in re.findall(r"\b[A-Z]\w+", text):
            value = _looked_up(name, owner.__module__)
            if inspect.isclass(value) and value.__module__.startswith("edgetime."):
                found[name] = value
    return sorted((c.__module__, name, c) for name, c in found.items())


def _looked_up(name: str, module_name: str) -> object:
    """Return what a name means in a module, also where only the type checker imports it."""
    module = import_module(module_name)
    if hasattr(module, name):
        return getattr(module, name)
    for node in ast.walk(ast.parse(inspect.getsource(module))):
        if isinstance(node, ast.ImportFrom) and name in {a.name for a in node.names}:
            return getattr(import_module(node.module or ""), name, None)
    return None


REFERENCE: dict[str, Callable[[], str]] = {
    "api.md": api_page,
    "cli.md": cli_page,
    "findings.md": findings_page,
    "shop-files.md": shop_files_page,
}
