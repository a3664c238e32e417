"""``edgetime compare``."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions, takes_load_options
from edgetime.cli.options import (
    Drawings,
    FormatOption,
    StrictOption,
    UnitsOption,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.records import as_json


@takes_load_options
def compare_command(
    drawings: Drawings,
    setups: Annotated[
        list[str] | None,
        typer.Option(
            "--with",
            metavar="SETUP",
            help="What to compare with: stack=, machine=, feed-override=, rate= (of the machine, "
            "per hour), purchase= (instead of the tools to be bought), parted by commas; up to "
            "five.",
        ),
    ] = None,
    each: Annotated[  # noqa: FBT002
        bool, typer.Option("--each", help="Each drawing is a load of its own.")
    ] = False,
    explain: Annotated[
        str | None,
        typer.Option(
            "--explain",
            metavar="FIGURE",
            help="Say how a figure of every set-up comes about: cycle, attended, loads, area, cost, "
            "tools, per-m, saving, purchase, break-even and others; all for all of them.",
        ),
    ] = None,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Set stacks, machines and feeds side by side on the same loads.

    Time, worn tools, cost per metre and loads per shift of each, and when what must be
    bought for it is earned back: in loads, in metres of edge and in days of such loads.
    To be bought are the tool pieces that the load as it is does not need. Lives follow the
    feed where the tool's file says how; at a feed that was not tried, cost and payback are
    unknown.

    \b
    Examples:
      edgetime compare edgetime-demo/cafe-counters.dxf --with stack=fast-metal
      edgetime compare LOAD.dxf --with machine=large,rate=55 --with stack=own
      edgetime compare A.dxf LOAD.dxf --each --with stack=own,purchase=1800

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 a drawing or a shop file cannot be used; 4 nothing to cut, or no set-up that can.
    """
    from edgetime.comparison import compare_setups  # noqa: PLC0415  of no use to --help

    estimates = [
        choices.estimate(group) for group in ([[d] for d in drawings] if each else [drawings])
    ]
    comparison = compare_setups(estimates, setups or [])
    figures = () if explain is None else comparison.explain(explain)
    from edgetime.report import compare as report  # noqa: PLC0415  of no use to --help

    system = table_units(units, estimates[0].load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        out = {
            **as_json(comparison),
            "digests": [est.digest for est in estimates],
            "drawings": list(drawings),
        }
        if explain is not None:
            from edgetime.explained import figures_json  # noqa: PLC0415  when asked for

            out["explain"] = figures_json(figures)
        return out

    return Result(
        output=output,
        document=document,
        header=report.compare_sheet(comparison, system).header,
        rows=lambda: report.compare_sheet(comparison, system).csv_rows(
            [*comparison.alternatives, *comparison.refused]
        ),
        system=system,
        blocks=lambda: report.compare_screen(comparison, system, figures=figures),
        findings=comparison.findings,
        strict=strict,
    )
