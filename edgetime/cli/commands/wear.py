"""``edgetime wear``."""

from __future__ import annotations

from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions
from edgetime.cli.output import Result


@takes(choices=LoadOptions, form=OutputOptions)
def wear_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Calculate the tool wear of a load, and its cost.

    Per tool piece: edge in contact, stone removed, time in the cut, and the share of its
    life, by length, volume, G-ratio, time, holes or sawn area as the tool's file states it;
    where it states several, the earliest end governs. Beside it pieces used up, water and
    electricity. A profiled wheel has a row for each profile: each is a piece of its own.

    \b
    Examples:
      edgetime wear edgetime-demo/cafe-counters.dxf
      edgetime wear LOAD.dxf --stone sintered --stack sintered
      edgetime wear LOAD.dxf --format csv

    Exit codes: 0 1 2 3 4
    """
    est = choices.estimate(drawings)
    from edgetime.report.document import Table  # noqa: PLC0415  of no use to --help
    from edgetime.report.wear import wear_screen, wear_sheet  # noqa: PLC0415  as above

    found = est.wear
    system = form.system(est.load.catalogue)
    findings = (*est.findings, *found.findings)
    return Result(
        output=form.output,
        answer=found,
        beside={
            "digest": est.digest,
            "drawings": [d.path for d in est.take_off.drawings],
            "stack": est.stack,
            "total_s": est.cycle.total_s,
            "findings": findings,
        },
        table=lambda: Table(wear_sheet(found), found.tools),
        system=system,
        blocks=lambda: wear_screen(est, system),
        findings=findings,
        strict=form.strict,
    )
