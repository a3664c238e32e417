"""``edgetime estimate``."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions, takes_load_options
from edgetime.cli.options import (
    Drawings,
    FormatOption,
    StrictOption,
    UnitsOption,
    complete_from,
    parse_resume,
)
from edgetime.cli.output import Format, Result, one_table, table_units
from edgetime.records import as_json


@takes_load_options
def estimate_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    explain: Annotated[
        str | None,
        typer.Option(
            "--explain",
            metavar="TOOL",
            autocompletion=complete_from("tools"),
            help="Say how the time of one tool comes about, factor by factor.",
        ),
    ] = None,
    sensitivity: Annotated[  # noqa: FBT002
        bool,
        typer.Option("--sensitivity", help="The five assumptions that move the total most."),
    ] = False,
    resume_at: Annotated[
        str | None,
        typer.Option(
            "--resume-at",
            metavar="TOOL[,PART]|ROW",
            autocompletion=complete_from("tools"),
            help="Also say the time left after a stop at this tool, at this part, or at this "
            "row of the order of work.",
        ),
    ] = None,
    wear: Annotated[  # noqa: FBT002
        bool,
        typer.Option("--wear", help="Also the share of each tool's life used, and its cost."),
    ] = False,
    runs: Annotated[  # noqa: FBT002
        bool,
        typer.Option(
            "--runs",
            help="The order of work: which part and run each tool is at, from when to when.",
        ),
    ] = False,
    start: Annotated[
        str | None,
        typer.Option(
            "--start",
            metavar="[DATE ]TIME",
            help="Time of cycle start, such as 9:10 or '2027-01-18 9:10': all times become "
            "times of day, attended stops included.",
        ),
    ] = None,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say how long a load runs, tool by tool, before cycle start is pressed.

    All drawings named together are one load: each tool is mounted once and goes over all
    parts. Drawing coordinates are table coordinates unless --place says otherwise. The
    time of every tool is the sum of change, cut, lead, plunge, rapid and dwell. With
    --format csv one of --runs, --explain, --sensitivity, --resume-at and --wear gives its
    table instead of the tools.

    \b
    Examples:
      edgetime estimate edgetime-demo/cafe-counters.dxf
      edgetime estimate LOAD.dxf --stone marble --thickness 20 --feed-override 0.8
      edgetime estimate A.dxf B.dxf --place "B.dxf=1800,50,90"
      edgetime estimate LOAD.dxf --explain TOOL
      edgetime estimate LOAD.dxf --sensitivity
      edgetime estimate LOAD.dxf --resume-at TOOL,p02
      edgetime estimate LOAD.dxf --runs --start 9:10
      edgetime estimate edgetime-demo/cafe-counters.dxf --wear

    Exit codes: 0 1 2 3 4
    """
    if start is not None:
        from edgetime.cycle.clock import parse_start  # noqa: PLC0415  brings numpy

        parse_start(start)  # a slip is told before the drawings are read
    if output is Format.CSV:
        one_table(
            {
                "--runs": runs,
                "--explain": explain is not None,
                "--sensitivity": sensitivity,
                "--resume-at": resume_at is not None,
                "--wear": wear,
            }
        )
    est = choices.estimate(drawings)
    wall = None if start is None else est.wall_clock(start)
    from edgetime.estimating import Questions, answer  # noqa: PLC0415  of no use to --help
    from edgetime.report.cycle import answer_parts, answer_table  # noqa: PLC0415  as above

    at = None if resume_at is None else parse_resume(resume_at)
    found = answer(est, Questions(explain, sensitivity, at, wear, runs))
    system = table_units(units, est.load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        out: dict[str, Any] = as_json(found)
        if wall is not None:
            wall.mark(out)
        return out

    table = answer_table(found, wall)
    return Result(
        output=output,
        document=document,
        header=table.header,
        rows=table.cells,
        system=system,
        blocks=lambda: answer_parts(found, system, wall),
        findings=found.all_findings,
        strict=strict,
    )
