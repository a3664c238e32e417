"""``edgetime init``."""

from __future__ import annotations

import shlex
from typing import Annotated, Any

import typer

from edgetime.cli.options import FormatOption
from edgetime.cli.output import Format, Result
from edgetime.errors import InputError, Where

__all__ = ["init_command"]


def init_command(
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Folder to make.", show_default=False)
    ],
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Make a shop folder: your machine, tools, stacks, profiles, stones and layer names.

    The folder holds commented copies of the shipped catalogue. Edit what differs in your
    shop, delete what you do not need: what is not there is taken from the shipped files.
    Commands run inside the folder, or below it, find it by themselves.

    \b
    What to edit first:
      shop.toml      default machine, stone, thickness, stack, units
      layers.toml    what the layers of your drawings mean
      machines/      travel, speeds, accelerations, tool change times

    \b
    Examples:
      edgetime init my-shop
      edgetime check my-shop
      edgetime estimate LOAD.dxf --shop my-shop

    \b
    Exit codes: 0 done; 2 wrong use; 3 the folder cannot be written, or is one already.
    """
    from pathlib import Path  # noqa: PLC0415  with the rest

    from edgetime.tooling import init_shop  # noqa: PLC0415  brings pydantic

    try:
        files = [str(path) for path in init_shop(Path(folder))]
    except OSError as error:
        raise InputError(
            f"The shop folder cannot be written: {error.strerror or error}.",
            where=Where(path=str(error.filename or folder)),
            remedy="Name a folder that does not exist yet, where you may write.",
        ) from error

    def document() -> dict[str, Any]:
        return {"schema": "edgetime.init/1", "folder": folder, "files": files}

    def screen() -> list[Any]:
        from edgetime.report.screen import line  # noqa: PLC0415  brings rich

        return [
            line(f"Made the shop folder {folder} with {len(files)} files."),
            line("shop.toml      default machine, stone, thickness, stack, units", indent=2),
            line("layers.toml    what the layers of your drawings mean", indent=2),
            line("machines/ tools/ stacks/ profiles/ stones/    everything else", indent=2),
        ]

    shop = shlex.quote(folder)
    return Result(
        output=output,
        document=document,
        header=("file",),
        rows=lambda: [[name] for name in files],
        screen=screen,
        hints=(
            f"After editing:  edgetime check {shop}",
            f"Then:           edgetime estimate LOAD.dxf --shop {shop}",
        ),
    )
