"""``edgetime advise``."""

from __future__ import annotations

from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions, rests_on
from edgetime.cli.output import Result


@takes(choices=LoadOptions, form=OutputOptions)
def advise_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Suggest changes to the drawing, tooling or machine that save time or hand work.

    Larger inside radii, wider openings, smaller wheels, precut openings, another stack, a rare
    profile, flips, more spacing, too few pockets. The load is estimated again with each change;
    the saving is the difference. The last row of the table is the saving of all changes
    together.

    \b
    Examples:
      edgetime advise edgetime-demo/cafe-counters.dxf
      edgetime advise LOAD.dxf --stone granite --thickness 30
      edgetime advise LOAD.dxf --format csv

    Exit codes: 0 1 2 3 4 5
    """
    est = choices.estimate(drawings)
    from edgetime.estimating import advise, together  # noqa: PLC0415  of no use to --help
    from edgetime.report.advice import advice_parts, advice_sheet  # noqa: PLC0415  as above
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    found = advise(est)
    sums = together(est, found)
    system = form.system(est.load.catalogue)
    return Result(
        answer={
            "schema": "edgetime.advice/1",
            "digest": est.digest,
            "total_s": est.cycle.total_s,
            "attended_s": est.cycle.attended_s,
            "hand_mm": est.cycle.hand_mm,
            "advice": found,
            "together": sums,
            "findings": est.findings,
        },
        table=lambda: Table(advice_sheet(), list(enumerate(found, 1))),
        system=system,
        blocks=lambda: advice_parts(est, found, sums, system),
        assumptions=rests_on([est], "price"),
        findings=est.findings,
    )
