"""``edgetime estimate``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli.options import (
    CutoutMethod,
    Drawings,
    DrawingUnitsOption,
    FormatOption,
    LayersOption,
    Order,
    ShopOption,
    StrictOption,
    UnitsOption,
    complete_from,
    factor_option,
    find_shop_folder,
    length_option,
    parse_diameters,
    parse_place,
    parse_resume,
)
from edgetime.cli.output import Format, Result, table_units

if TYPE_CHECKING:
    from edgetime.estimating import Estimate

__all__ = [
    "ActualThicknessOption",
    "CutoutsOption",
    "DiameterOption",
    "FeedOverrideOption",
    "MachineOption",
    "OrderOption",
    "PlaceOption",
    "StackOption",
    "StoneOption",
    "ThicknessOption",
    "estimate_command",
    "run_estimate",
]

MachineOption = Annotated[
    str | None,
    typer.Option(
        "--machine",
        metavar="NAME",
        autocompletion=complete_from("machines"),
        help="Machine; otherwise the shop's default.",
    ),
]
StoneOption = Annotated[
    str | None,
    typer.Option(
        "--stone", metavar="NAME", autocompletion=complete_from("stones"), help="Stone of the load."
    ),
]
StackOption = Annotated[
    str | None,
    typer.Option(
        "--stack",
        metavar="NAME",
        autocompletion=complete_from("stacks"),
        help="Tool stack; otherwise the shop's default.",
    ),
]
ThicknessOption = Annotated[
    str | None,
    typer.Option(
        "--thickness",
        metavar="LENGTH",
        help="Nominal thickness: 30 (millimetres), '3 cm', '1-1/4 in'.",
    ),
]
ActualThicknessOption = Annotated[
    str | None,
    typer.Option(
        "--actual-thickness",
        metavar="LENGTH",
        help="Thickness as probed; otherwise nominal plus the stone's spread.",
    ),
]
CutoutsOption = Annotated[
    CutoutMethod | None,
    typer.Option("--cutouts", help="How cutouts are made where no layer rule says it."),
]
FeedOverrideOption = Annotated[
    str,
    typer.Option(
        "--feed-override",
        metavar="FACTOR",
        help="Factor on all cutting feeds, 0.8 or 80%, as the knob on the controller.",
        show_default=True,
    ),
]
OrderOption = Annotated[
    Order | None, typer.Option("--order", help="Order in which a tool visits the edges.")
]
PlaceOption = Annotated[
    list[str] | None,
    typer.Option(
        "--place",
        metavar="[DRAWING=]X,Y[,ROTATION]",
        help="Turn a drawing by ROTATION degrees and put the lower left corner of its "
        "parts at X,Y on the table, in mm; may be repeated. Otherwise as drawn.",
    ),
]
DiameterOption = Annotated[
    list[str] | None,
    typer.Option(
        "--diameter",
        metavar="TOOL=LENGTH",
        help="Real diameter of a mounted tool; may be repeated.",
    ),
]


def run_estimate(
    drawings: list[str],
    *,
    shop: str | None,
    layers: str | None,
    drawing_units: str | None,
    machine: str | None,
    stone: str | None,
    stack: str | None,
    thickness: str | None,
    actual_thickness: str | None,
    cutouts: str | None,
    feed_override: str,
    order: str | None,
    place: list[str] | None,
    diameter: list[str] | None,
) -> Estimate:
    """Read the options' texts and make the estimate."""
    thickness_mm = length_option(thickness, "--thickness")
    actual_mm = length_option(actual_thickness, "--actual-thickness")
    diameters_mm = parse_diameters(diameter or ())
    from edgetime.estimating import estimate  # noqa: PLC0415  brings numpy and the reader

    return estimate(
        drawings,
        shop=find_shop_folder(shop),
        layers=layers,
        drawing_units=drawing_units,
        machine=machine,
        stone=stone,
        stack=stack,
        thickness_mm=thickness_mm,
        actual_mm=actual_mm,
        cutout_method=cutouts,
        feed_override=factor_option(feed_override, "--feed-override"),
        order=order,
        place=parse_place(place or (), drawings),
        diameters_mm=diameters_mm,
    )


def estimate_command(
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
    explain: Annotated[
        str | None,
        typer.Option(
            "--explain",
            metavar="TOOL",
            autocompletion=complete_from("tools"),
            help="Say how the time of one tool comes about, factor by factor.",
        ),
    ] = None,
    sensitivity: Annotated[  # noqa: FBT002
        bool,
        typer.Option("--sensitivity", help="The five assumptions that move the total most."),
    ] = False,
    resume_at: Annotated[
        str | None,
        typer.Option(
            "--resume-at",
            metavar="TOOL[,PART]",
            autocompletion=complete_from("tools"),
            help="Also say the time left after a stop at this tool, at this part.",
        ),
    ] = None,
    wear: Annotated[  # noqa: FBT002
        bool,
        typer.Option("--wear", help="Also the share of each tool's life used, and its cost."),
    ] = False,
    shop: ShopOption = None,
    layers: LayersOption = None,
    drawing_units: DrawingUnitsOption = None,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Say how long a load runs, tool by tool, before cycle start is pressed.

    All drawings named together are one load: each tool is mounted once and goes over all
    parts. Drawing coordinates are table coordinates unless --place says otherwise. The
    time of every tool is the sum of change, cut, lead, plunge, rapid and dwell.

    \b
    Examples:
      edgetime estimate edgetime-demo/cafe-counters.dxf
      edgetime estimate LOAD.dxf --stone marble --thickness 20 --feed-override 0.8
      edgetime estimate A.dxf B.dxf --place "B.dxf=1800,50,90"
      edgetime estimate LOAD.dxf --explain TOOL
      edgetime estimate LOAD.dxf --sensitivity
      edgetime estimate LOAD.dxf --resume-at TOOL,p02
      edgetime estimate edgetime-demo/cafe-counters.dxf --wear

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 a drawing or a shop file cannot be used; 4 nothing to cut, or no stack for it.
    """
    est = run_estimate(
        drawings,
        shop=shop,
        layers=layers,
        drawing_units=_text(drawing_units),
        machine=machine,
        stone=stone,
        stack=stack,
        thickness=thickness,
        actual_thickness=actual_thickness,
        cutouts=_text(cutouts),
        feed_override=feed_override,
        order=_text(order),
        place=place,
        diameter=diameter,
    )
    from edgetime.report import extras  # noqa: PLC0415  of no use to --help

    factors = effects = rest = None
    if explain is not None:
        from edgetime.estimating import explain_tool  # noqa: PLC0415  as above

        factors = explain_tool(est, explain)
    if sensitivity:
        from edgetime.estimating import sensitivity as find_effects  # noqa: PLC0415

        effects = find_effects(est)
    if resume_at is not None:
        from edgetime.estimating import resume_at as find_rest  # noqa: PLC0415

        tool, part = parse_resume(resume_at)
        rest = find_rest(est, tool, part)
    system = table_units(units, est.load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        out = est.as_dict()
        if factors is not None:
            out["explain"] = {"tool": explain, "factors": [f.as_dict() for f in factors]}
        if effects is not None:
            out["sensitivity"] = [e.as_dict() for e in effects]
        if rest is not None:
            out["resume"] = rest.as_dict()
        if wear:
            out["wear"] = est.wear.as_dict()
        return out

    def screen() -> list[Any]:
        from edgetime.report.cycle import estimate_parts  # noqa: PLC0415  brings rich

        extra: list[Any] = []
        if factors is not None and explain is not None:
            extra += extras.explain_parts(explain, factors, system)
        if effects is not None:
            extra += extras.sensitivity_parts(effects, est.cycle.total_s)
        if rest is not None and resume_at is not None:
            extra += extras.resume_parts(resume_at, rest)
        if wear:
            from edgetime.report.wear import wear_parts  # noqa: PLC0415  only when asked for

            extra += wear_parts(est.wear, system)
        return [*estimate_parts(est, system, extra)]

    return Result(
        output=output,
        document=document,
        header=extras.VISIT_HEADER,
        rows=lambda: extras.visit_csv_rows(est.cycle),
        screen=screen,
        findings=(*est.findings, *(est.wear.findings if wear else ())),
        strict=strict,
    )


def _text(value: Any) -> str | None:
    return None if value is None else str(value)
