"""The script that offers commands, options and names of the catalogue in a shell."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import typer
from typer import completion

from edgetime.errors import UsageError, Where

SHELLS = ("bash", "zsh", "fish", "powershell", "pwsh")
"""Shells for which the library has a script."""


def _no_script(option: str, what: str) -> UsageError:
    return UsageError(
        what,
        where=Where(key=option),
        remedy=f"Name the shell: edgetime {option} {SHELLS[0]}, or "
        f"{', '.join(SHELLS[1:-1])} or {SHELLS[-1]} instead.",
    )


def serve_shell(ctx: Any, args: Sequence[str]) -> None:
    """Print or install the script of the shell that is named behind a completion option.

    The library looks at the program that calls alone, and passes over a name.

    Parameters
    ----------
    ctx : typer.Context
        The root command's.
    args : sequence of str
        What follows ``edgetime``.

    Raises
    ------
    UsageError
        There is no script for that shell, or none for the one that calls.
    """
    option, *named = args
    if named and named[0] not in SHELLS:
        raise _no_script(option, f"There is no completion for a shell named {named[0]!r}.")
    serve = (
        completion.show_callback if option == "--show-completion" else completion.install_callback
    )
    try:
        param = next(p for p in ctx.command.params if option in p.opts)
        serve(ctx, param, named[0] if named else True)
    except typer.Exit as ended:
        raise _no_script(option, "The shell that calls has no completion here.") from ended
