"""The ``edgetime`` program: its root command and its entry point."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from edgetime._version import __version__
from edgetime.cli.group import QUIET, EdgetimeGroup
from edgetime.cli.help import help_text

app = typer.Typer(
    name="edgetime",
    cls=EdgetimeGroup,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help", "-h"]},
)


def _version(value: bool) -> None:  # noqa: FBT001  the signature of a callback
    if value:
        typer.echo(f"edgetime {__version__}")
        raise typer.Exit


def root(
    ctx: typer.Context,
    version: Annotated[  # noqa: FBT002
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
    quiet: Annotated[  # noqa: FBT002
        bool,
        typer.Option(
            QUIET,
            help="No progress and no notes on standard error, only errors; before or after the "
            "command.",
        ),
    ] = False,
) -> None:
    r"""Calculate how long a load of stone countertop parts takes on the router, tool by tool.

    edgetime reads the DXF of the parts on the table, takes off their edges, plans the passes of
    a tool stack, and times every move within the machine's limits.

    \b
    New here?
      edgetime demo                  write an invented load and estimate it
      edgetime estimate LOAD.dxf     your own drawing
      edgetime init my-shop          your own machine, tools and layer names
      edgetime --install-completion bash
                                     complete names with Tab; also zsh, fish

    Exit codes: all
    """
    del version, quiet  # the group has taken --quiet out by now: it may also follow the command
    if ctx.invoked_subcommand is None:
        typer.echo(ctx.get_help())


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
