"""The command group that turns results and failures into output and exit codes."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Any

import typer
from typer.core import TyperGroup

from edgetime.cli.output import BROKEN_PIPE, INTERRUPTED, Format, Result, emit, emit_error
from edgetime.errors import UsageError, Where

__all__ = ["EdgetimeGroup"]

# Newer releases of typer carry their own copy of click, older ones import it; the base of
# its exceptions is found through the one name both export.
_ClickError: type[Exception] = next(
    c for c in typer.BadParameter.__mro__ if c.__name__ == "ClickException"
)


def _wanted_format(args: Sequence[str]) -> Format:
    """Return the form asked for, read before parsing: its failures obey it too."""
    wanted = Format.TABLE
    for arg, following in zip(args, [*args, ""][1:], strict=True):
        if arg == "--":
            break
        value = following if arg == "--format" else arg.removeprefix("--format=")
        if (arg == "--format" or arg.startswith("--format=")) and value in set(Format):
            wanted = Format(value)
    return wanted


def _usage_error(error: Any) -> UsageError:
    context = getattr(error, "ctx", None)
    command = context.command_path if context is not None else "edgetime"
    param = getattr(error, "param", None)
    option = getattr(error, "option_name", None)
    if option is None and param is not None:
        option = param.opts[0] if param.param_type_name == "option" else param.metavar
    return UsageError(
        " ".join(error.format_message().split()).replace(": Value error, ", ": "),
        where=Where(key=option),
        remedy=f"See '{command} --help'.",
    )


def _leave_quietly() -> int:
    # What is still buffered has no reader; the interpreter must not try again at exit.
    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, sys.stdout.fileno())
    return BROKEN_PIPE


class EdgetimeGroup(TyperGroup):
    """A group whose ``main`` writes what its commands return."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,  # noqa: FBT001, FBT002  the signature of the base
        windows_expand_args: bool = True,  # noqa: FBT001, FBT002
        **extra: Any,
    ) -> Any:
        """Run a command line, write its result and end with its exit code."""
        argv = list(sys.argv[1:] if args is None else args)
        output = _wanted_format(argv)
        try:
            code = self._run(argv, prog_name, complete_var, windows_expand_args, output, extra)
        except BrokenPipeError:
            code = _leave_quietly()
        except (KeyboardInterrupt, typer.Abort):
            code = INTERRUPTED
        if standalone_mode:
            sys.exit(code)
        return code

    def _run(
        self,
        argv: list[str],
        prog_name: str | None,
        complete_var: str | None,
        windows_expand_args: bool,  # noqa: FBT001
        output: Format,
        extra: dict[str, Any],
    ) -> int:
        try:
            value = super().main(
                args=argv,
                prog_name=prog_name or "edgetime",
                complete_var=complete_var,
                standalone_mode=False,
                windows_expand_args=windows_expand_args,
                **extra,
            )
            if isinstance(value, Result):
                return emit(value)
        except (BrokenPipeError, typer.Abort):
            raise
        except _ClickError as error:
            return emit_error(_usage_error(error), output=output)
        except Exception as error:  # noqa: BLE001  the last gate: every failure gets its code
            return emit_error(error, output=output)
        return value if isinstance(value, int) else 0
