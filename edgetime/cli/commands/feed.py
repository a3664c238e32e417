"""``edgetime feed``."""

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
    speed_option,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.records import as_json


@takes_load_options
def feed_command(
    drawings: Drawings,
    tool: Annotated[
        str | None,
        typer.Option(
            "--tool",
            metavar="NAME",
            autocompletion=complete_from("tools"),
            help="One tool or step, with its curve; otherwise all of the load.",
        ),
    ] = None,
    trial: Annotated[
        list[str] | None,
        typer.Option(
            "--trial",
            metavar="FEED=LIFE",
            help="A feed at which a piece was run until it was spent, and the edge it made or "
            "its time in the cut: '1.5 m/min=3000 m'. Two at least; instead of the tool's "
            "[taylor], with --tool.",
        ),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option("--at", metavar="FEED", help="A feed to be told besides, with --tool."),
    ] = None,
    explain: Annotated[
        str | None,
        typer.Option(
            "--explain",
            metavar="STEP",
            help="Say how the costs of a step come about, today and at its best feeds; all for "
            "all of them.",
        ),
    ] = None,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say at which feed each tool costs least, and at which it makes most.

    Faster saves machine time and wears tools sooner. How much sooner says [taylor] in the
    tool's file, or two trials; the time at every feed comes of the load's own paths, with
    its corners and short moves. Feeds that nobody tried are never judged, and no feed goes
    beyond what tool, machine and finish allow.

    \b
    Examples:
      edgetime feed edgetime-demo/cafe-counters.dxf --shop edgetime-demo
      edgetime feed LOAD.dxf --tool metal-1 --at "2.5 m/min" --explain metal-1
      edgetime feed LOAD.dxf --tool drum-75 --trial "2 m/min=3 km" --trial ...

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 a drawing or a shop file cannot be used; 4 nothing to cut, no tool whose life by feed
    is known, or a feed that was not tried.
    """
    at_mm_per_s = speed_option(at, "--at")
    from edgetime.economics import economic_feed, read_trial  # noqa: PLC0415  not for --help

    trials = [read_trial(text) for text in trial or ()]
    est = choices.estimate(drawings)
    study = economic_feed(est, tool=tool, trials=trials, at_mm_per_s=at_mm_per_s)
    figures = () if explain is None else study.explain(explain)
    from edgetime.report import feed as report  # noqa: PLC0415  of no use to --help

    system = table_units(units, est.load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        out = {**as_json(study), "digest": est.digest, "drawings": list(drawings)}
        if explain is not None:
            from edgetime.explained import figures_json  # noqa: PLC0415  when asked for

            out["explain"] = figures_json(figures)
        return out

    return Result(
        output=output,
        document=document,
        header=report.feed_sheet(study).header,
        rows=lambda: report.feed_sheet(study).csv_rows(report.feed_rows(study)),
        system=system,
        blocks=lambda: report.feed_screen(study, system, figures=figures),
        findings=study.findings,
        strict=strict,
    )
