"""``edgetime wear``."""

from __future__ import annotations

from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions, rests_on
from edgetime.cli.output import Result


@takes(choices=LoadOptions, form=OutputOptions)
def wear_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Calculate the tool life a load uses, and its cost.

    For each tool: pass length, stone removed, cutting time and the share of life used, by each
    measure its file states (length, volume, G-ratio, time, holes or sawn area); the first to
    run out is the limit. Also water and electricity. A profiled wheel has one row per profile.

    \b
    Examples:
      edgetime wear edgetime-demo/cafe-counters.dxf
      edgetime wear LOAD.dxf --stone sintered --stack sintered
      edgetime wear LOAD.dxf --format csv

    Exit codes: 0 1 2 3 4 5
    """
    est = choices.estimate(drawings)
    from edgetime.report.document import Table  # noqa: PLC0415  of no use to --help
    from edgetime.report.wear import wear_screen, wear_sheet  # noqa: PLC0415  as above

    found = est.wear
    system = form.system(est.load.catalogue)
    findings = (*est.findings, *found.findings)
    return Result(
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
        assumptions=rests_on([est]),
        findings=findings,
    )
