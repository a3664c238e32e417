"""The command group: loads only the command that is called, and writes what it returns."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command

from edgetime.cli.help import COMMANDS, help_text
from edgetime.cli.progress import shown

if TYPE_CHECKING:
    from edgetime.cli.output import Format
    from edgetime.errors import UsageError
    from edgetime.units import UnitSystem

BROKEN_PIPE = 141
INTERRUPTED = 130
"""128 + the number of the signal, as shells report it (SIGPIPE 13, SIGINT 2)."""

_TYPE = re.compile(r" <(?:str|int|float|list\[\w+\]|\w+ range)>")
"""What the library writes for a value without its own name."""

QUIET = "--quiet"
"""No progress and no notes on standard error; errors are written all the same."""

_COMPLETION = ("--show-completion", "--install-completion")

# Newer releases of typer carry their own copy of click, older ones import it; the base of
# its exceptions is found through the one name both export.
_ClickError: type[Exception] = next(
    c for c in typer.BadParameter.__mro__ if c.__name__ == "ClickException"
)


def _value_of(args: Sequence[str], option: str, allowed: Sequence[str] = ()) -> str:
    """Return the last value of an option that is allowed, ``""`` without one."""
    wanted = ""
    for arg, following in zip(args, [*args, ""][1:], strict=True):
        if arg == "--":
            break
        value = following if arg == option else arg.removeprefix(f"{option}=")
        if (arg == option or arg.startswith(f"{option}=")) and (not allowed or value in allowed):
            wanted = value
    return wanted


def _without_quiet(argv: list[str]) -> tuple[list[str], bool]:
    """Take ``--quiet`` out of a command line: it may stand before the command or after it."""
    end = argv.index("--") if "--" in argv else len(argv)
    rest = [word for word in argv[:end] if word != QUIET]
    return rest + argv[end:], len(rest) < end


def _wanted_format(args: Sequence[str]) -> Format:
    """Return the form asked for, read before parsing: its failures obey it too."""
    from edgetime.cli.output import Format  # noqa: PLC0415  of no use to --help

    return Format(_value_of(args, "--format", tuple(Format)) or Format.TABLE)


def _wanted_units(args: Sequence[str], error: BaseException) -> UnitSystem:
    """Return the units of what is said of a load that fails: the option's, else the shop's."""
    from contextlib import suppress  # noqa: PLC0415  of no use to --help

    from edgetime.cli.options import load_shop  # noqa: PLC0415  as above
    from edgetime.errors import EdgetimeError, PlanError  # noqa: PLC0415  as above
    from edgetime.units import UnitSystem  # noqa: PLC0415  as above

    if value := _value_of(args, "--units", tuple(UnitSystem)):
        return UnitSystem(value)
    if isinstance(error, PlanError):
        with suppress(EdgetimeError, OSError):
            return UnitSystem(load_shop(_value_of(args, "--shop") or None, None).shop.units)
    return UnitSystem.METRIC


def _usage_error(error: Any) -> UsageError:
    from edgetime.errors import UsageError, Where  # noqa: PLC0415  of no use to --help

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


def _unknown_command(name: str) -> UsageError:
    from difflib import get_close_matches  # noqa: PLC0415  only for a slip

    from edgetime.errors import UsageError  # noqa: PLC0415  of no use to --help

    close = get_close_matches(name, COMMANDS, n=1)
    hint = f"Did you mean {close[0]!r}? " if close else ""
    return UsageError(
        f"There is no command {name!r}.",
        remedy=f"{hint}Commands: {', '.join(COMMANDS)}. See 'edgetime --help'.",
    )


def _leave_quietly() -> int:
    # What is still buffered has no reader; the interpreter must not try again at exit.
    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, sys.stdout.fileno())
    return BROKEN_PIPE


class EdgetimeCommand(TyperCommand):
    """A command whose help names arguments in words, without the types of the language."""

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write arguments and options as definition lists."""
        records: dict[str, list[tuple[str, str]]] = {"argument": [], "option": []}
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record is not None:
                name, text = record
                records[param.param_type_name].append((_TYPE.sub("", name), text))
        for title, rows in (("Arguments", records["argument"]), ("Options", records["option"])):
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)


class EdgetimeGroup(TyperGroup):
    """A group that imports a command when it is called."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the root's options; those for shell completion may name the shell."""
        if args and args[0] in _COMPLETION and not ctx.resilient_parsing:
            from edgetime.cli.completion import serve_shell  # noqa: PLC0415  hardly ever used

            serve_shell(ctx, args)
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the commands' names in the order they are taught."""
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return a command, loading its module at its first use."""
        del ctx
        if cmd_name not in COMMANDS:
            return None
        if cmd_name not in self.commands:
            own = cmd_name.replace("-", "_")
            module = import_module(f"edgetime.cli.commands.{own}")
            several = getattr(module, f"{own}_app", None)
            if several is not None:
                self.commands[cmd_name] = get_command(several)
                return self.commands[cmd_name]
            function = getattr(module, f"{own}_command")
            alone = typer.Typer(
                add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False
            )
            alone.command(
                cmd_name,
                cls=EdgetimeCommand,
                help=help_text(function),
                short_help=COMMANDS[cmd_name],
                context_settings={"help_option_names": ["--help", "-h"]},
            )(function)
            self.commands[cmd_name] = get_command(alone)
        return self.commands[cmd_name]

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Return the command called, or refuse it with those there are."""
        if not ctx.resilient_parsing and args[0] not in COMMANDS and args[0][:1] != "-":
            raise _unknown_command(args[0])
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the list of commands without loading any of them."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

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
        argv, quiet = _without_quiet(list(sys.argv[1:] if args is None else args))
        try:
            code = self._run(
                argv,
                quiet=quiet,
                prog_name=prog_name or "edgetime",
                complete_var=complete_var,
                windows_expand_args=windows_expand_args,
                **extra,
            )
        except BrokenPipeError:
            code = _leave_quietly()
        except (KeyboardInterrupt, typer.Abort):
            # The question that was broken off leaves its line open.
            typer.echo(err=True)
            code = INTERRUPTED
        if standalone_mode:
            sys.exit(code)
        return code

    def _run(self, argv: list[str], *, quiet: bool, **options: Any) -> int:
        try:
            with shown(quiet=quiet):
                value = super().main(args=argv, standalone_mode=False, **options)
            if value is None or isinstance(value, int):
                return value or 0
            from edgetime.cli.output import emit  # noqa: PLC0415  of no use to --help

            return emit(value, quiet=quiet)
        except (BrokenPipeError, typer.Abort):
            raise
        except Exception as error:  # noqa: BLE001  the last gate: every failure gets its code
            from edgetime.cli.output import emit_error  # noqa: PLC0415  of no use to --help

            told = _usage_error(error) if isinstance(error, _ClickError) else error
            return emit_error(
                told,
                output=_wanted_format(argv),
                argv=argv,
                system=_wanted_units(argv, told),
            )
