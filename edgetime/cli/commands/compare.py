"""``edgetime compare``."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from edgetime.cli.ask import ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions, rests_on
from edgetime.cli.output import Result
from edgetime.cli.priced import priced


@takes(choices=LoadOptions, form=OutputOptions)
def compare_command(
    drawings: Drawings,
    alternatives: Annotated[
        list[str] | None,
        ask(
            "CHANGES",
            "An alternative: stack=, machine=, feed-override=, stone=, thickness=, profile=, "
            "rate= (machine, per hour), purchase= (replaces the price of the tools to buy), "
            "separated by commas; one is required, up to five.",
            flag="--with",
        ),
    ] = None,
    each: Annotated[  # noqa: FBT002
        bool, switch("--each", "Each drawing is a separate load.")
    ] = False,
    explain: Annotated[
        str | None,
        ask(
            "FIGURE",
            "Explain a figure of every alternative: cycle, attended, loads, area, cost, "
            "tools, per-m, saving, purchase, break-even and others; or 'all'.",
        ),
    ] = None,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Compare stacks, machines and feeds on the same loads.

    Time, tool cost, cost per metre and loads per shift of each alternative, and its break-even
    in loads, metres of edge and days. The purchase is the tools today's load does not need.
    Tool life depends on the feed if the tool's file has [taylor]; at an untested feed, cost and
    break-even are unknown.

    \b
    Examples:
      edgetime compare edgetime-demo/cafe-counters.dxf --with stack=fast-metal
      edgetime compare LOAD.dxf --with machine=large,rate=55 --with feed=110%
      edgetime compare A.dxf LOAD.dxf --each --with stack=fast-metal,purchase=1800

    Exit codes: 0 1 2 3 4 5
    """
    from edgetime.comparison import compare_alternatives  # noqa: PLC0415  not for --help

    estimates = [
        choices.estimate(group) for group in ([[d] for d in drawings] if each else [drawings])
    ]
    comparison = compare_alternatives(estimates, alternatives or [])
    from edgetime.report import compare as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    system = form.system(estimates[0].load.catalogue)
    result = priced(
        comparison,
        system,
        explain=explain,
        beside={"digests": [est.digest for est in estimates], "drawings": list(drawings)},
        table=lambda: Table(
            report.compare_sheet(comparison, system),
            [*comparison.alternatives, *comparison.refused],
        ),
        screen=lambda figures, live: report.compare_screen(
            comparison,
            system,
            figures=figures,
            live=report.compare_costing(comparison, estimates[0].load.catalogue.shop.price)
            if live
            else None,
        ),
    )
    return replace(result, assumptions=rests_on(estimates, "price", "shift"))
