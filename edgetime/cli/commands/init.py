"""``edgetime init``."""

from __future__ import annotations

import shlex
from typing import Annotated

from edgetime.cli.ask import argument
from edgetime.cli.options import FormatOption
from edgetime.cli.output import Format, Result


def init_command(
    folder: Annotated[str, argument("FOLDER", "Folder to make.", show_default=False)],
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Make a shop folder: your machine, tools, stacks, profiles, stones and layer names.

    The folder holds commented copies of the shipped catalogue. Edit what differs in your shop,
    delete what you do not need: missing files are taken from the shipped catalogue. Commands
    run in the folder or below it find it automatically. Run again on the same folder, init
    restores missing files and leaves the others as they are.

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

    Exit codes: 0 2 3
    """
    from pathlib import Path  # noqa: PLC0415  with the rest

    from edgetime.report.shop_folder import init_parts, init_table  # noqa: PLC0415  not for --help
    from edgetime.tooling import init_shop  # noqa: PLC0415  of no use to --help

    done = init_shop(Path(folder))
    shop = shlex.quote(folder)
    return Result(
        output=output,
        answer={
            "schema": "edgetime.init/1",
            "folder": folder,
            "new": done.written,
            "same": done.same,
            "kept": done.kept,
        },
        table=init_table(done),
        blocks=lambda: init_parts(folder, done),
        hints=(
            f"After editing:  edgetime check {shop}",
            f"Then:           edgetime estimate LOAD.dxf --shop {shop}",
        ),
    )
