"""``edgetime init``."""

from __future__ import annotations

import shlex
from typing import Annotated, Any

import typer

from edgetime.cli.options import FormatOption
from edgetime.cli.output import Format, Result


def init_command(
    folder: Annotated[
        str, typer.Argument(metavar="FOLDER", help="Folder to make.", show_default=False)
    ],
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Make a shop folder: your machine, tools, stacks, profiles, stones and layer names.

    The folder holds commented copies of the shipped catalogue. Edit what differs in your
    shop, delete what you do not need: what is not there is taken from the shipped files.
    Commands run inside the folder, or below it, find it by themselves. Run again on the
    same folder, it writes back what is missing and touches nothing that is there.

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

    Exit codes: 0 done; 2 wrong use; 3 the folder cannot be written.
    """
    from pathlib import Path  # noqa: PLC0415  with the rest

    from edgetime.tooling import init_shop  # noqa: PLC0415  brings pydantic

    done = init_shop(Path(folder))
    states = {"new": done.written, "same": done.same, "kept": done.kept}

    def document() -> dict[str, Any]:
        return {
            "schema": "edgetime.init/1",
            "folder": folder,
            **{state: [str(path) for path in paths] for state, paths in states.items()},
        }

    def blocks() -> list[Any]:
        from edgetime.report.document import Line  # noqa: PLC0415  of no use to --help

        return [
            Line(f"Shop folder {folder}: wrote {len(done.written)} files."),
            *([Line(f"{len(done.same)} were there already, unchanged.")] if done.same else []),
            *(
                [Line(f"Kept as you edited them: {', '.join(map(str, done.kept))}.")]
                if done.kept
                else []
            ),
            Line("shop.toml      default machine, stone, thickness, stack, units", indent=2),
            Line("layers.toml    what the layers of your drawings mean", indent=2),
            Line("machines/ tools/ stacks/ profiles/ stones/    everything else", indent=2),
        ]

    shop = shlex.quote(folder)
    return Result(
        output=output,
        document=document,
        header=("file", "state"),
        rows=lambda: [[path, state] for state, paths in states.items() for path in paths],
        blocks=blocks,
        hints=(
            f"After editing:  edgetime check {shop}",
            f"Then:           edgetime estimate LOAD.dxf --shop {shop}",
        ),
    )
