"""``edgetime takeoff``."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Any

from edgetime.cli.ask import choose
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_DRAWN, DrawnOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions
from edgetime.cli.output import Result


class Show(StrEnum):
    """The table of a take-off to show."""

    EDGES = "edges"
    LAYERS = "layers"


@takes(drawn=DrawnOptions, form=OutputOptions)
def takeoff_command(
    drawings: Drawings,
    show: Annotated[
        Show,
        choose(
            "edges: parts and their edges. layers: only the meaning of each layer, and its rule.",
            show_default=True,
        ),
    ] = Show.EDGES,
    drawn: DrawnOptions = AS_DRAWN,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""List what is in a drawing: parts, areas, edge lengths by profile and layer.

    Nothing is planned or timed. Lengths are exact, not those of chords. Start here with a new
    drawing: findings show layers without a rule, open chains and duplicates.

    \b
    Examples:
      edgetime takeoff edgetime-demo/cafe-counters.dxf
      edgetime takeoff LOAD.dxf --drawing-units in --units imperial
      edgetime takeoff LOAD.dxf --layers my-shop/layers.toml --format json
      edgetime takeoff LOAD.dxf --layer "0=outline" --profile eased
      edgetime takeoff LOAD.dxf --show layers

    Exit codes: 0 1 2 3
    """
    catalogue = drawn.catalogue()
    take_off = drawn.take_off(drawings, catalogue)
    system = form.system(catalogue)

    from edgetime.report import takeoff as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above
    from edgetime.report.layers import LAYERS  # noqa: PLC0415  as above

    by_layer = show is Show.LAYERS
    screen = report.layer_parts if by_layer else report.takeoff_parts

    def table() -> Table[Any]:
        if by_layer:
            return Table(LAYERS, report.layer_rows(take_off))
        return Table(report.EDGES, report.edge_rows(take_off))

    return Result(
        output=form.output,
        answer=take_off,
        table=table,
        system=system,
        blocks=lambda: screen(take_off, system),
        findings=take_off.findings,
        strict=form.strict,
    )
