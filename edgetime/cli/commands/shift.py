"""``edgetime shift``."""

from __future__ import annotations

from typing import Annotated

from edgetime.cli.ask import argument
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, OutputOptions
from edgetime.cli.output import Result, one_table
from edgetime.cli.shift_options import AS_THE_SHOP_RUNS, ShiftChoices


@takes(asked=ShiftChoices, choices=LoadOptions, form=OutputOptions)
def shift_command(
    drawings: Annotated[
        list[str] | None, argument("DRAWING", "DXF files; each is a load.", show_default=False)
    ] = None,
    asked: ShiftChoices = AS_THE_SHOP_RUNS,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Plan how many loads fit in a shift and when an operator is needed.

    The drawings run in turn until the shift is full, or the jobs of a list in its order:
    loading, cycle with its attended stops, measuring, unloading; tools are swapped when worn
    out or when the rack lacks them. First the plan at nominal times; then simulated shifts with
    varying times, stoppages and scrap. Hours, breaks, zones and rates are in shop.toml under
    [shift].

    CSV has one table: the loads that run; with --fit the waiting loads, with --pocket-plan
    the order, with --table-filling the parts. For two of these, run the command twice.

    \b
    Examples:
      edgetime shift edgetime-demo/cafe-counters.dxf
      edgetime shift LOAD.dxf --zones 2 --hours 10
      edgetime shift LOAD.dxf --cycle-time "108 min" --repeat 3 --explain
      edgetime shift --jobs edgetime-demo/waiting.csv --fit --day 2027-01-18
      edgetime shift --jobs edgetime-demo/waiting.csv --pocket-plan --pockets 20
      edgetime shift --jobs edgetime-demo/waiting.csv --table-filling

    Exit codes: 0 1 2 3 4 5
    """
    if form.csv:
        one_table(
            {
                "--fit": asked.fit,
                "--pocket-plan": asked.pocket_plan,
                "--table-filling": asked.table_filling,
            }
        )
    from edgetime.report.shift import shift_blocks, shift_table  # noqa: PLC0415  of no use to --help
    from edgetime.shift import plan_shift  # noqa: PLC0415  as above

    catalogue = choices.catalogue()
    jobs = asked.read_jobs(drawings or [], catalogue)
    plan = plan_shift(jobs, catalogue, asked.options(choices, jobs))
    system = form.system(catalogue)
    return Result(
        output=form.output,
        answer=plan,
        table=lambda: shift_table(plan),
        blocks=lambda: shift_blocks(plan, system),
        system=system,
        findings=plan.findings,
        strict=form.strict,
    )
