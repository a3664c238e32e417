"""The ``edgetime`` program: its commands and its entry point."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable
from typing import Annotated

import typer

from edgetime._version import __version__
from edgetime.cli.commands.advise import advise_command
from edgetime.cli.commands.catalogue import catalogue_command
from edgetime.cli.commands.check import check_command
from edgetime.cli.commands.demo import demo_command
from edgetime.cli.commands.estimate import estimate_command
from edgetime.cli.commands.init import init_command
from edgetime.cli.commands.takeoff import takeoff_command
from edgetime.cli.group import EdgetimeGroup

__all__ = ["app", "main"]

app = typer.Typer(
    name="edgetime",
    cls=EdgetimeGroup,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help", "-h"]},
)


def help_text(function: Callable[..., object]) -> str:
    """Return a command's docstring as its help, with the marks that keep lines as they are.

    Parameters
    ----------
    function : callable
        The command; a line of a backslash and a ``b`` before a paragraph keeps its lines.
    """
    return inspect.cleandoc(function.__doc__ or "").replace("\\b", "\b")


def _version(value: bool) -> None:  # noqa: FBT001  the signature of a callback
    if value:
        typer.echo(f"edgetime {__version__}")
        raise typer.Exit


def root(
    ctx: typer.Context,
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    r"""Say how long a load of stone countertop parts runs on the router, tool by tool.

    edgetime reads the DXF of the parts that will lie on the table, takes off their edges,
    plans the passes of a tool stack over them, and times every move under the machine's
    limits.

    \b
    New here?
      edgetime demo                  write an invented load and estimate it
      edgetime estimate LOAD.dxf     your own drawing
      edgetime init my-shop          your own machine, tools and layer names

    \b
    Exit codes:
       0  done
       1  findings of warning or worse, with --strict
       2  wrong use of the command line
       3  a drawing or a file of the shop cannot be used
       4  nothing to cut, or no tool stack for it
      70  a fault in edgetime itself
    """
    del version
    if ctx.invoked_subcommand is None:
        typer.echo(ctx.get_help())


_COMMANDS = (
    ("demo", demo_command, "Write an invented load and estimate it: start here."),
    ("init", init_command, "Make a folder for your own machine, tools and layers."),
    ("catalogue", catalogue_command, "Show profiles, tools, stacks, machines, stones."),
    ("takeoff", takeoff_command, "List parts, areas and edge lengths of a drawing."),
    ("estimate", estimate_command, "Say how long a load runs, tool by tool."),
    ("advise", advise_command, "Say what to change to save time or hand work."),
    ("check", check_command, "Report all errors in a shop folder at once."),
)
for _name, _function, _short in _COMMANDS:
    app.command(_name, help=help_text(_function), short_help=_short)(_function)
app.callback(help=help_text(root))(root)


def main() -> None:
    """Run the program on the arguments of this process."""
    if not sys.warnoptions:
        # Warnings of libraries are for developers; what users must know is a finding.
        import warnings  # noqa: PLC0415

        warnings.simplefilter("ignore")
    app()


if __name__ == "__main__":
    main()
