"""``edgetime ledger report``."""

from __future__ import annotations

from typing import Annotated

from edgetime.choices import ReportBy
from edgetime.cli.ask import ask, choose
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import THE_SHOPS_BOOKS, BookOptions, read_period
from edgetime.cli.options import AS_IT_IS, FormOptions, UnitsOption
from edgetime.cli.output import Result
from edgetime.errors import UsageError, Where


@takes(books=BookOptions, form=FormOptions)
def report_command(
    by: Annotated[
        ReportBy, choose("What to divide by; a job is the load's name.")
    ] = ReportBy.MONTH,
    since: Annotated[str | None, ask("DATE", "Only from this day on.", flag="--from")] = None,
    until: Annotated[str | None, ask("DATE", "Only up to this day, with it.", flag="--to")] = None,
    books: BookOptions = THE_SHOPS_BOOKS,
    units: UnitsOption = None,
    form: FormOptions = AS_IT_IS,  # noqa: ARG001  for the tail of the commands
) -> Result:
    r"""Report pieces and edge used, money spent, cost a metre and stock value of a period.

    Also shown: water and electricity of the runs, how long retired pieces lasted beside the life
    stated for them, and actual runs beside predicted ones. What was reversed counts nowhere.
    Money is what was paid at receipt, each currency by itself.

    \b
    Examples:
      edgetime ledger report
      edgetime ledger report --by supplier --from 2026-01-01 --to 2026-03-31
      edgetime ledger report --by job --format csv
      edgetime ledger report --xlsx report.xlsx

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be read.
    """
    from edgetime.report import ledger_report as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    first, end = read_period(since, until)
    if first is not None and end is not None and end <= first:
        raise UsageError(
            f"The period ends before it begins: {since} to {until}.",
            where=Where(key="--to"),
            remedy="Give a day after --from.",
        )
    with books.open(shares=False) as ledger:
        name, last_hash = ledger.name, ledger.last_hash()
        found = ledger.report(by, since=first, until=end)
    return Result(
        answer=found,
        beside={"ledger": name, "last_hash": last_hash},
        table=lambda: Table(report.report_sheet(found.by), report.rows_of(found.groups)),
        blocks=lambda: report.report_parts(found, name),
        system=books.system(units),
    )
