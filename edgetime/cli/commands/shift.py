"""``edgetime shift``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

from edgetime.cli.ask import argument
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, OutputOptions
from edgetime.cli.output import Result, one_table, write_page
from edgetime.cli.shift_options import AS_THE_SHOP_RUNS, ShiftChoices

if TYPE_CHECKING:
    from edgetime.comparison import ShiftCase
    from edgetime.report.document import Block


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
    the order, with --table-filling the parts, with --what-if the plans side by side. For two
    of these, run the command twice.

    \b
    Examples:
      edgetime shift edgetime-demo/cafe-counters.dxf
      edgetime shift LOAD.dxf --zones 2 --hours 10
      edgetime shift LOAD.dxf --cycle-time "108 min" --repeat 3 --explain
      edgetime shift --jobs edgetime-demo/waiting.csv --fit --day 2027-01-18
      edgetime shift --jobs edgetime-demo/waiting.csv --pocket-plan --pockets 20
      edgetime shift --jobs edgetime-demo/waiting.csv --table-filling
      edgetime shift LOAD.dxf --what-if machine=large --what-if feed=110%
      edgetime shift LOAD.dxf --day 2027-01-18 --board board.pdf --paper a3

    Exit codes: 0 1 2 3 4 5
    """
    if form.csv:
        one_table(
            {
                "--fit": asked.fit,
                "--pocket-plan": asked.pocket_plan,
                "--table-filling": asked.table_filling,
                "--what-if": bool(asked.what_if),
            }
        )
    asked.check_files()
    from edgetime.report.assumptions import assumption_blocks  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Line  # noqa: PLC0415  of no use to --help
    from edgetime.report.shift import shift_blocks, shift_table  # noqa: PLC0415  of no use to --help
    from edgetime.shift import plan_shift  # noqa: PLC0415  as above

    catalogue = choices.catalogue()
    jobs = asked.read_jobs(drawings or [], catalogue)
    options = asked.options(choices, jobs)
    plan = plan_shift(jobs, catalogue, options)
    system = form.system(catalogue)
    beside: dict[str, object] = {}
    if asked.board is not None:
        from edgetime.page.shift_board import shift_board  # noqa: PLC0415  brings the pictures

        page = shift_board(plan, day=options.day, paper=asked.paper, system=system)
        write_page(asked.board, page)
        beside["board"] = str(asked.board)
    cases: Sequence[ShiftCase] = ()
    if asked.what_if:
        from edgetime.comparison import shift_what_ifs  # noqa: PLC0415  brings the price

        cases = shift_what_ifs(asked.what_if, jobs, plan, options)
        beside["what_if"] = cases

    def blocks() -> Iterator[Block]:
        yield from shift_blocks(plan, system, cases)
        if asked.board is not None:
            yield Line("")
            yield Line(f"Wrote {asked.board}.")

    return Result(
        answer=plan,
        beside=beside,
        table=lambda: shift_table(plan, cases),
        blocks=blocks,
        assumptions=lambda: assumption_blocks(
            catalogue,
            [("machine", catalogue.machines[choices.machine or catalogue.shop.machine])],
            ("shift",),
        ),
        system=system,
        findings=plan.findings,
    )
