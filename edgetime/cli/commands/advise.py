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

__all__ = ["advise_command"]


@takes_load_options
def advise_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say what to change in a drawing or a set-up to save time or hand work.

    Larger inside radii, smaller wheels, cutouts cut beforehand, another stack, a rare
    profile, a seam elsewhere, more spacing, too few pockets: each with what it saves. Most
    savings are the difference of two whole estimates; each line says how it was reckoned.

    \b
    Examples:
      edgetime advise edgetime-demo/cafe-counters.dxf
      edgetime advise LOAD.dxf --stone granite --thickness 30
      edgetime advise LOAD.dxf --format csv

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 a drawing or a shop file cannot be used; 4 nothing to cut, or no stack for it.
    """
    est = choices.estimate(drawings)
    from edgetime.estimating import advise  # noqa: PLC0415  of no use to --help
    from edgetime.report import extras  # noqa: PLC0415  as above

    found = advise(est)
    system = table_units(units, est.load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        return {
            "schema": "edgetime.advice/1",
            "digest": est.digest,
            "total_s": est.cycle.total_s,
            "attended_s": est.cycle.attended_s,
            "hand_mm": est.cycle.hand_mm,
            "advice": [a.as_dict() for a in found],
            "findings": [f.as_dict() for f in est.findings],
        }

    return Result(
        output=output,
        document=document,
        header=extras.ADVICE_HEADER,
        rows=lambda: extras.advice_rows(found),
        screen=lambda: extras.advice_parts(est, found, system),
        findings=est.findings,
        strict=strict,
    )
