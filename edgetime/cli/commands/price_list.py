"""``edgetime price-list``."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from edgetime.cli.layer_options import LayersOption
from edgetime.cli.load_options import FeedOverrideOption, MachineOption
from edgetime.cli.options import (
    FormatOption,
    ShopOption,
    UnitsOption,
    complete_from,
    factor_option,
    length_option,
    load_shop,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.records import as_json

_MOST_EDGES = 20


def price_list_command(
    stone: Annotated[
        str | None,
        typer.Option(
            "--stone",
            metavar="NAME",
            autocompletion=complete_from("stones"),
            help="Only this stone.",
        ),
    ] = None,
    profile: Annotated[
        str | None,
        typer.Option(
            "--profile",
            metavar="NAME",
            autocompletion=complete_from("profiles"),
            help="Only this profile.",
        ),
    ] = None,
    thickness: Annotated[
        str | None,
        typer.Option("--thickness", metavar="LENGTH", help="Only this nominal thickness."),
    ] = None,
    machine: MachineOption = None,
    stack: Annotated[
        str | None,
        typer.Option(
            "--stack",
            metavar="NAME",
            autocompletion=complete_from("stacks"),
            help="Stack to take where it serves; else the shop's, else the first by name.",
        ),
    ] = None,
    feed_override: FeedOverrideOption = "1",
    edge: Annotated[
        str, typer.Option("--edge", metavar="LENGTH", help="Length of one reference edge.")
    ] = "2.5 m",
    edges: Annotated[
        int,
        typer.Option("--edges", metavar="NUMBER", help="Reference edges, 1 to 20."),
    ] = 4,
    explain: Annotated[
        str | None,
        typer.Option(
            "--explain",
            metavar="FIGURE",
            help="Say how a figure of a line comes about: profile:eased/m, share:labour, price "
            "and others; all for all of them. Needs --stone, --profile and --thickness.",
        ),
    ] = None,
    shop: ShopOption = None,
    layers: LayersOption = None,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
) -> Result:
    r"""List what every profile costs in every stone and thickness, per metre and foot.

    Each line is planned, timed and worn by itself: straight edges on as many tables as they
    take, with the tool changes, loading and set-up of each. Beside the price stand the shares of
    machine, people, tools, hand work, overhead and margin. What cannot be made, because no
    stack serves it or it is made elsewhere, is listed as such. No minimum charge is in it.

    \b
    Examples:
      edgetime price-list --stone granite --thickness 30
      edgetime price-list --profile half-bullnose --format csv
      edgetime price-list --shop my-shop --edge "8 ft" --edges 6

    Exit codes: 0 done; 2 wrong use; 3 a shop file cannot be used.
    """
    from edgetime.errors import UsageError, Where  # noqa: PLC0415  with the rest
    from edgetime.estimating import Options  # noqa: PLC0415  of no use to --help
    from edgetime.price import price_list  # noqa: PLC0415

    edge_mm = length_option(edge, "--edge") or 0.0
    if not 100.0 <= edge_mm <= 20_000.0:
        raise UsageError(
            f"A reference edge of {edge_mm:g} mm; it may be from 0.1 m to 20 m.",
            where=Where(key="--edge"),
            remedy='Give a length such as "2.5 m".',
        )
    if not 1 <= edges <= _MOST_EDGES:
        raise UsageError(
            f"{edges} reference edges; there may be from 1 to {_MOST_EDGES}.",
            where=Where(key="--edges"),
            remedy="Give a number of edges such as 4.",
        )
    catalogue = load_shop(shop, layers)
    options = Options(
        machine=machine, stack=stack, feed_override=factor_option(feed_override, "--feed-override")
    )
    prices = price_list(
        catalogue,
        options,
        edge_mm=edge_mm,
        edges=edges,
        stone=stone,
        profile=profile,
        thickness_mm=length_option(thickness, "--thickness"),
    )
    figures = () if explain is None else prices.explain(explain)
    from edgetime.report import price_list as report  # noqa: PLC0415  of no use to --help

    system = table_units(units, catalogue.shop.units)

    def document() -> dict[str, Any]:
        out: dict[str, Any] = as_json(prices)
        if explain is not None:
            from edgetime.explained import figures_json  # noqa: PLC0415  when asked for

            out["explain"] = figures_json(figures)
        return out

    return Result(
        output=output,
        document=document,
        header=report.list_sheet(prices).header,
        rows=lambda: report.list_sheet(prices).csv_rows(prices.rows),
        system=system,
        blocks=lambda: report.list_screen(prices, system, figures=figures),
        findings=prices.findings,
    )
