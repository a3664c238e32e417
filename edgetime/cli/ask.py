"""How a parameter of a command is declared: its words, and the names a shell completes it with.

An option is called as the parameter that it fills: ``resume_at`` is ``--resume-at``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import typer


def ask(metavar: str, said: str, kind: str | None = None, *, flag: str = "", **more: Any) -> Any:
    """Declare an option with a value.

    Parameters
    ----------
    metavar, said : str
        What the help calls the value, and says about it.
    kind : str, optional
        ``profiles``, ``tools``, ``stacks``, ``machines`` or ``stones``: a shell offers their names.
    flag : str
        The option, where it is not called as its parameter.
    **more
        As ``typer.Option`` takes it.
    """
    complete = None if kind is None else complete_from(kind)
    names = (flag,) if flag else ()
    return typer.Option(*names, metavar=metavar, help=said, autocompletion=complete, **more)


def choose(said: str, *, flag: str = "", **more: Any) -> Any:
    """Declare an option whose values are listed, or follow from its type; as :func:`ask`."""
    return typer.Option(*((flag,) if flag else ()), help=said, **more)


def switch(flag: str, said: str, **more: Any) -> Any:
    """Declare an option without a value; as :func:`ask`."""
    return typer.Option(flag, help=said, **more)


def argument(metavar: str, said: str, kind: str | None = None, **more: Any) -> Any:
    """Declare a value that is known by its place; as :func:`ask`."""
    if kind is not None:
        more["autocompletion"] = complete_from(kind)
    return typer.Argument(metavar=metavar, help=said, **more)


def _names(ctx: typer.Context, kind: str, incomplete: str) -> list[str]:
    from edgetime.tooling import find_shop, shipped_folder  # noqa: PLC0415  of no use to --help

    shop = ctx.params.get("shop")
    # Every entry bears its file's name, so no file need be read. Completion must never
    # disturb the shell: where a folder cannot be listed there is nothing to offer.
    names: set[str] = set()
    for folder in (shipped_folder(), find_shop(Path.cwd()) if shop is None else Path(shop)):
        if folder is not None:
            try:
                names |= {path.stem for path in (folder / kind).glob("*.toml")}
            except OSError:
                continue
    return sorted(name for name in names if name.startswith(incomplete))


def complete_from(kind: str) -> Callable[[typer.Context, str], Sequence[str]]:
    """Return a completion that offers the catalogue's names of one kind.

    Parameters
    ----------
    kind : str
        ``profiles``, ``tools``, ``stacks``, ``machines`` or ``stones``.
    """
    return lambda ctx, incomplete: _names(ctx, kind, incomplete)


def complete_kind_name(ctx: typer.Context, incomplete: str) -> list[str]:
    """Complete a name of the kind given before it on the command line."""
    kind = ctx.params.get("kind")
    return [] if kind is None else _names(ctx, str(kind), incomplete)
