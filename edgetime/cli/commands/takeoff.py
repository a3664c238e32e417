"""``edgetime takeoff``."""

from __future__ import annotations

from typing import Any

from edgetime.cli.options import (
    Drawings,
    DrawingUnitsOption,
    FormatOption,
    LayersOption,
    ShopOption,
    StrictOption,
    UnitsOption,
    load_shop,
)
from edgetime.cli.output import Format, Result, table_units

__all__ = ["takeoff_command"]


def takeoff_command(
    drawings: Drawings,
    shop: ShopOption = None,
    layers: LayersOption = None,
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

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use;
    3 a drawing or a shop file cannot be used (no part at all is a finding).
    """
    from edgetime.estimating import read_take_off  # noqa: PLC0415  brings numpy and the reader

    catalogue = load_shop(shop, layers)
    take_off = read_take_off(
        drawings, catalogue, drawing_units=None if drawing_units is None else str(drawing_units)
    )
    system = table_units(units, catalogue.shop.units)

    def screen() -> list[Any]:
        from edgetime.report.takeoff import takeoff_parts  # noqa: PLC0415  brings rich

        return [*takeoff_parts(take_off, system)]

    def rows() -> list[list[object]]:
        from edgetime.report.takeoff import edge_rows  # noqa: PLC0415  only for this form

        return edge_rows(take_off)

    from edgetime.report.takeoff import EDGE_HEADER  # noqa: PLC0415  with the above

    return Result(
        output=output,
        document=take_off.as_dict,
        header=EDGE_HEADER,
        rows=rows,
        screen=screen,
        findings=take_off.findings,
        strict=strict,
    )
