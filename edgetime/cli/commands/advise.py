"""``edgetime advise``."""

from __future__ import annotations

from typing import Any

from edgetime.cli.commands.estimate import (
    ActualThicknessOption,
    CutoutsOption,
    DiameterOption,
    FeedOverrideOption,
    MachineOption,
    OrderOption,
    PlaceOption,
    StackOption,
    StoneOption,
    ThicknessOption,
    run_estimate,
)
from edgetime.cli.options import (
    Drawings,
    DrawingUnitsOption,
    FormatOption,
    LayersOption,
    ShopOption,
    StrictOption,
    UnitsOption,
)
from edgetime.cli.output import Format, Result, table_units

__all__ = ["advise_command"]


def advise_command(
    drawings: Drawings,
    machine: MachineOption = None,
    stone: StoneOption = None,
    thickness: ThicknessOption = None,
    actual_thickness: ActualThicknessOption = None,
    stack: StackOption = None,
    cutouts: CutoutsOption = None,
    feed_override: FeedOverrideOption = "1",
    order: OrderOption = None,
    place: PlaceOption = None,
    diameter: DiameterOption = None,
    shop: ShopOption = None,
    layers: LayersOption = None,
    drawing_units: DrawingUnitsOption = None,
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
    est = run_estimate(
        drawings,
        shop=shop,
        layers=layers,
        drawing_units=drawing_units,
        machine=machine,
        stone=stone,
        stack=stack,
        thickness=thickness,
        actual_thickness=actual_thickness,
        cutouts=cutouts,
        feed_override=feed_override,
        order=order,
        place=place,
        diameter=diameter,
    )
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
