"""``edgetime estimate``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

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

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from edgetime.report.columns import Sheet


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
    from edgetime.report import beside, extras, order, visits  # noqa: PLC0415  of no use to --help

    factors = effects = rest = None
    if explain is not None:
        from edgetime.estimating import explain_tool  # noqa: PLC0415  as above

        factors = explain_tool(est, explain)
    if sensitivity:
        from edgetime.estimating import sensitivity as find_effects  # noqa: PLC0415

        effects = find_effects(est)
    if resume_at is not None:
        from edgetime.estimating import resume_at as find_rest  # noqa: PLC0415

        tool, part = parse_resume(resume_at)
        rest = find_rest(est, tool, part)
    system = table_units(units, est.load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        out: dict[str, Any] = as_json(est)
        if factors is not None:
            out["explain"] = {"tool": explain, "factors": as_json(factors)}
        if effects is not None:
            out["sensitivity"] = as_json(effects)
        if rest is not None:
            out["resume"] = as_json(rest)
        if wear:
            out["wear"] = as_json(est.wear)
        if wall is not None:
            wall.mark(out)
        if runs:
            out["runs"] = order.order_sheet(wall).records(est.order)
        return out

    def blocks() -> list[Any]:
        from edgetime.report.cycle import estimate_parts  # noqa: PLC0415  brings rich

        extra: list[Any] = []
        if runs:
            extra += order.order_parts(est.order, wall)
        if factors is not None and explain is not None:
            extra += extras.explain_parts(explain, factors, system)
        if effects is not None:
            extra += extras.sensitivity_parts(effects, est.cycle.total_s)
        if rest is not None and resume_at is not None:
            extra += extras.resume_parts(resume_at, rest)
        if wear:
            from edgetime.report.wear import wear_parts  # noqa: PLC0415  only when asked for

            extra += wear_parts(est.wear, system)
        return [*estimate_parts(est, system, extra, wall)]

    def tables() -> tuple[Sequence[str], Callable[[], list[list[Any]]]]:
        """Return header and rows of the CSV form: the tools, or the one table asked for."""
        if wear:
            from edgetime.report.wear import WEAR_HEADER, wear_csv_rows  # noqa: PLC0415

            return WEAR_HEADER, lambda: wear_csv_rows(est.wear)
        sheet: Sheet[Any] = visits.visit_sheet(est.cycle.total_s, wall)
        rows: Sequence[Any] = visits.numbered(est.cycle)
        if runs:
            sheet, rows = order.order_sheet(wall), est.order
        elif factors is not None:
            sheet, rows = beside.FACTORS, factors
        elif effects is not None:
            sheet, rows = beside.EFFECTS, effects
        elif rest is not None:
            sheet, rows = beside.LEFT, rest.visits
        return sheet.header, lambda: sheet.csv_rows(rows)

    header, rows = tables()
    return Result(
        output=output,
        document=document,
        header=header,
        rows=rows,
        system=system,
        blocks=blocks,
        findings=(*est.findings, *(est.wear.findings if wear else ())),
        strict=strict,
    )
