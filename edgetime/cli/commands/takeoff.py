"""``edgetime takeoff``."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any

from edgetime.cli.ask import choose
from edgetime.cli.blocks import takes
from edgetime.cli.dxf_out import DxfOutOption, dxf_target, write_dxf
from edgetime.cli.load_options import AS_DRAWN, DrawnOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions
from edgetime.cli.output import Result
from edgetime.cli.revision_options import ALONE, RevisionOptions
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.takeoff import TakeOff
    from edgetime.tooling import Catalogue


class Show(StrEnum):
    """The table of a take-off to show."""

    EDGES = "edges"
    LAYERS = "layers"


@takes(drawn=DrawnOptions, revised=RevisionOptions, form=OutputOptions)
def takeoff_command(
    drawings: Drawings,
    show: Annotated[
        Show,
        choose(
            "edges: parts and their edges. layers: only the meaning of each layer, and its rule.",
            show_default=True,
        ),
    ] = Show.EDGES,
    dxf_out: DxfOutOption = None,
    drawn: DrawnOptions = AS_DRAWN,
    revised: RevisionOptions = ALONE,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""List what is in a drawing: parts, areas, edge lengths by profile and layer.

    Lengths are exact, not those of chords. Start here with a new drawing: findings show layers
    without a rule, open chains and duplicates. Nothing is planned or timed, except with --against,
    which lists what changed since an earlier revision: parts, edges, openings, lengths and times.
    A drawing saved again, in other units or in another order, has not changed.

    \b
    Examples:
      edgetime takeoff edgetime-demo/cafe-counters.dxf
      edgetime takeoff LOAD.dxf --drawing-units in --units imperial
      edgetime takeoff LOAD.dxf --layers my-shop/layers.toml --format json
      edgetime takeoff LOAD.dxf --layer "0=outline" --profile eased
      edgetime takeoff LOAD.dxf --show layers
      edgetime takeoff NEW.dxf --against OLD.dxf
      edgetime takeoff NEW.dxf --against OLD.dxf --price --stone granite
      edgetime takeoff LOAD.dxf --dxf-out edges.dxf

    Exit codes: 0 1 2 3
    """
    dxf_target(dxf_out, drawings)
    revised.check()
    catalogue = drawn.catalogue()
    take_off = drawn.take_off(drawings, catalogue)
    system = form.system(catalogue)
    if dxf_out is not None:
        write_dxf(dxf_out, take_off)
    if revised.against:
        return _revision(revised, take_off, catalogue, drawn, form, show)

    from edgetime.report import takeoff as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.assumptions import layer_assumptions  # noqa: PLC0415  as above
    from edgetime.report.document import Table  # noqa: PLC0415  as above
    from edgetime.report.layers import LAYERS  # noqa: PLC0415  as above

    by_layer = show is Show.LAYERS
    screen = report.layer_parts if by_layer else report.takeoff_parts

    def table() -> Table[Any]:
        if by_layer:
            return Table(LAYERS, report.layer_rows(take_off))
        return Table(report.EDGES, report.edge_rows(take_off))

    return Result(
        answer=take_off,
        table=table,
        system=system,
        blocks=lambda: screen(take_off, system),
        assumptions=lambda: layer_assumptions(
            catalogue, (use for drawing in take_off.drawings for use in drawing.layers)
        ),
        findings=take_off.findings,
    )


def _revision(
    revised: RevisionOptions, take_off: TakeOff, catalogue: Catalogue, drawn: DrawnOptions,
    form: OutputOptions, show: Show,
) -> Result:  # fmt: skip
    """Return what changed since another revision."""
    if show is Show.LAYERS:
        raise UsageError(
            "--show layers is not for --against.",
            where=Where(key="--show"),
            remedy="Leave --show out, or compare the layers of both drawings one by one.",
        )
    revision = revised.revision(take_off, catalogue, drawn)
    system = form.system(catalogue)

    from edgetime.report import revisions as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    return Result(
        answer=revision,
        table=lambda: Table(report.CHANGES, report.change_rows(revision)),
        system=system,
        blocks=lambda: report.revision_screen(revision, system),
        findings=revision.findings,
    )
