"""``edgetime wear``."""

from __future__ import annotations

from typing import Any

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
def wear_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say what a load takes out of its tools, and what that costs.

    Per tool piece: edge in contact, stone removed, time in the cut, and the share of its
    life, by length, volume, G-ratio, time, holes or sawn area as the tool's file states it;
    where it states several, the earliest end governs. Beside it pieces, water and
    electricity. A profiled wheel has a row for each profile: each is a piece of its own.

    \b
    Examples:
      edgetime wear edgetime-demo/cafe-counters.dxf
      edgetime wear LOAD.dxf --stone sintered --stack sintered
      edgetime wear LOAD.dxf --format csv

    Exit codes: 0 1 2 3 4
    """
    est = choices.estimate(drawings)
    from edgetime.report import wear as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    found = est.wear
    table = Table(report.wear_sheet(found), found.tools)
    system = table_units(units, est.load.catalogue.shop.units)
    findings = (*est.findings, *found.findings)

    def document() -> dict[str, Any]:
        return {
            **as_json(found),
            "digest": est.digest,
            "drawings": [d.path for d in est.take_off.drawings],
            "stack": est.load.stack.name,
            "total_s": est.cycle.total_s,
            "findings": as_json(findings),
        }

    return Result(
        output=output,
        document=document,
        header=table.header,
        rows=table.cells,
        system=system,
        blocks=lambda: report.wear_screen(est, system),
        findings=findings,
        strict=strict,
    )
