"""``edgetime advise``."""

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
def advise_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say what to change in a drawing or a set-up to save time or hand work.

    Larger inside radii, wider openings, smaller wheels, cutouts cut beforehand, another stack,
    a rare profile, parts turned over, more spacing, too few pockets. Each change is made and
    the load estimated again; the saving is the difference. The last row of the table says what
    the changes save together.

    \b
    Examples:
      edgetime advise edgetime-demo/cafe-counters.dxf
      edgetime advise LOAD.dxf --stone granite --thickness 30
      edgetime advise LOAD.dxf --format csv

    Exit codes: 0 1 2 3 4
    """
    est = choices.estimate(drawings)
    from edgetime.estimating import advise, together  # noqa: PLC0415  of no use to --help
    from edgetime.report.advice import advice_parts, advice_sheet  # noqa: PLC0415  as above

    found = advise(est)
    sums = together(est, found)
    sheet = advice_sheet()
    system = table_units(units, est.load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        return {
            "schema": "edgetime.advice/1",
            "digest": est.digest,
            "total_s": est.cycle.total_s,
            "attended_s": est.cycle.attended_s,
            "hand_mm": est.cycle.hand_mm,
            "advice": as_json(found),
            "together": as_json(sums),
            "findings": as_json(est.findings),
        }

    return Result(
        output=output,
        document=document,
        header=sheet.header,
        rows=lambda: sheet.csv_rows(list(enumerate(found, 1))),
        system=system,
        blocks=lambda: advice_parts(est, found, sums, system),
        findings=est.findings,
        strict=strict,
    )
