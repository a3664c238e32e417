"""``edgetime survive``."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from edgetime.cli.ask import argument, ask, choose
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import LedgerIfThereOption
from edgetime.cli.ledger.survival import survival_of
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import (
    AS_A_TABLE,
    OutputOptions,
    factor_option,
    find_shop_folder,
    rests_on,
)
from edgetime.cli.output import Result
from edgetime.errors import UsageError, Where


class By(StrEnum):
    """What the pieces of a tool are divided by."""

    SUPPLIER = "supplier"
    BATCH = "batch"


@takes(choices=LoadOptions, form=OutputOptions)
def survive_command(
    drawings: Annotated[
        list[str] | None,
        argument(
            "DRAWING",
            "DXF files; several are one load on one table. Without any: mean tool lives.",
            show_default=False,
        ),
    ] = None,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    least_chance: Annotated[
        str,
        ask(
            "SHARE",
            "Minimum chance to finish: warn about tools below it; 0.95 or 95%.",
            show_default=True,
        ),
    ] = "95%",
    by: Annotated[
        By | None, choose("Without a drawing: lives by supplier or batch, as entered at receipt.")
    ] = None,
    ledger: LedgerIfThereOption = None,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Calculate the chance that the mounted tools finish a load, and what to swap first.

    For every mounted tool in the ledger: the chance that it finishes, the part on which it is
    expected to fail otherwise, and how many such loads it has left. Tool life is estimated from
    the tools retired so far; while there are few, the life in the tool's file is used too.
    Without a ledger, new tools are assumed.

    Without a drawing: how long the tools in the ledger last on average, in metres or another
    measure, days and runs, with 90 % intervals and the number of pieces they rest on.

    \b
    Examples:
      edgetime survive edgetime-demo/cafe-counters.dxf
      edgetime survive --shop my-shop --by supplier
      edgetime survive LOAD.dxf --least-chance 99% --strict
      edgetime survive LOAD.dxf --format json

    Exit codes: 0 1 2 3 4 5
    """
    if not drawings:
        return _lasting(choices, by, ledger, form)
    if by is not None:
        raise UsageError(
            "--by divides mean lives, which are not shown for a drawing.",
            where=Where(key="--by"),
            remedy="Leave out --by, or the drawing.",
        )
    chance = factor_option(least_chance, "--least-chance")
    est = choices.estimate(drawings, ledger)
    name, found = survival_of(est, ledger, choices.shop, least_chance=chance)
    from edgetime.report import survive as report  # noqa: PLC0415  of no use to --help

    findings = (*est.findings, *found.findings)
    system = form.system(est.load.catalogue)
    return Result(
        answer=found,
        beside={
            "ledger": name,
            "digest": est.digest,
            "drawings": [d.path for d in est.take_off.drawings],
            "total_s": est.cycle.total_s,
            "findings": findings,
        },
        table=lambda: report.survival_table(found),
        blocks=lambda: report.survive_screen(est, found, name, system),
        assumptions=rests_on([est]),
        system=system,
        findings=findings,
    )


def _lasting(
    choices: LoadOptions, by: By | None, ledger: str | None, form: OutputOptions
) -> Result:
    """Answer how long the tools of the ledger last."""
    from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database library
    from edgetime.life import lasting  # noqa: PLC0415  brings numpy
    from edgetime.report import lasting as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    catalogue = choices.catalogue()
    folder = find_shop_folder(choices.shop)
    with open_ledger(ledger, shop=folder, create=False, catalogue=catalogue) as books:
        name = books.name
        group = None if by is None else by.value
        found = lasting(books.lives(), books.balances(), books.history(), group)
    return Result(
        answer=found,
        beside={"ledger": name},
        table=Table(report.lasting_sheet(found.by), found.tools),
        blocks=lambda: report.lasting_parts(found, name),
        system=form.system(catalogue),
    )
