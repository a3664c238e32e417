"""``edgetime takeoff``."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any

import typer

from edgetime.cli.layer_options import (
    CutoutProfileOption,
    LayerRuleOption,
    LayersOption,
    ProfileOption,
)
from edgetime.cli.options import (
    Drawings,
    DrawingUnitsOption,
    FormatOption,
    ShopOption,
    StrictOption,
    UnitsOption,
    load_shop,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.records import as_json


class Show(StrEnum):
    """Which table of a take-off."""

    EDGES = "edges"
    LAYERS = "layers"


def takeoff_command(
    drawings: Drawings,
    show: Annotated[
        Show,
        typer.Option(
            "--show",
            help="edges: parts and their edges. layers: only what each layer means, and by "
            "which rule.",
            show_default=True,
        ),
    ] = Show.EDGES,
    shop: ShopOption = None,
    layers: LayersOption = None,
    layer: LayerRuleOption = None,
    profile: ProfileOption = None,
    cutout_profile: CutoutProfileOption = None,
    drawing_units: DrawingUnitsOption = None,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""List what is in a drawing: parts, areas, edge lengths by profile and layer.

    Nothing is planned or timed. Lengths are exact, not those of a chain of chords. Start
    here with a new drawing: findings say which layers no rule knows, which curves do not
    close and what was drawn twice.

    \b
    Examples:
      edgetime takeoff edgetime-demo/cafe-counters.dxf
      edgetime takeoff LOAD.dxf --drawing-units in --units imperial
      edgetime takeoff LOAD.dxf --layers my-layers.toml --format json
      edgetime takeoff LOAD.dxf --layer "0=outline" --profile eased
      edgetime takeoff LOAD.dxf --show layers

    Exit codes: 0 1 2 3
    """
    from edgetime.estimating import read_take_off  # noqa: PLC0415  brings numpy and the reader

    catalogue = load_shop(shop, layers, layer, profile, cutout_profile)
    take_off = read_take_off(
        drawings, catalogue, drawing_units=None if drawing_units is None else str(drawing_units)
    )
    system = table_units(units, catalogue.shop.units)

    from edgetime.report import takeoff as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above
    from edgetime.report.layers import LAYERS  # noqa: PLC0415  as above

    by_layer = show is Show.LAYERS
    table: Table[Any] = (
        Table(LAYERS, report.layer_rows(take_off))
        if by_layer
        else Table(report.EDGES, report.edge_rows(take_off))
    )
    screen = report.layer_parts if by_layer else report.takeoff_parts
    return Result(
        output=output,
        document=lambda: as_json(take_off),
        header=table.header,
        rows=table.cells,
        system=system,
        blocks=lambda: screen(take_off, system),
        findings=take_off.findings,
        strict=strict,
    )
