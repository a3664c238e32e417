"""``edgetime picture``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from edgetime.cli.ask import ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.dxf_out import refuse_overwriting, write_dxf
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions, load_shop
from edgetime.cli.output import Result, write_whole
from edgetime.cli.revision_options import UNREVISED, AgainstOptions, compare
from edgetime.errors import PlanError, UsageError, Where

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.picture import Show
    from edgetime.report.document import Block
    from edgetime.takeoff import TakeOff
    from edgetime.tooling import Catalogue

FORMS = (".svg", ".png", ".pdf", ".dxf")


@takes(choices=LoadOptions, revised=AgainstOptions, form=OutputOptions)
def picture_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    file: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="File to write: .svg, .png, .pdf or .dxf; otherwise the first drawing's name with "
            "-plan.svg or -change.svg, here.",
        ),
    ] = None,
    take_off: Annotated[  # noqa: FBT002
        bool,
        switch(
            "--take-off", "Only parts and edges, without table and tools: to check the layer rules."
        ),
    ] = False,
    show: Annotated[
        str | None,
        ask(
            "NAMES",
            "What to show, separated by commas: labels, findings, hand (edges finished by "
            "hand), starts (order of work), paths (tool centres), table, legend; or all. "
            "Otherwise all but paths; with --tool, paths too.",
        ),
    ] = None,
    tool: Annotated[
        list[str] | None,
        ask(
            "TOOL",
            "Show the starts and the path of this tool only; may be given more than once.",
            "tools",
        ),
    ] = None,
    revised: AgainstOptions = UNREVISED,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Draw the plan of a load: parts, edges by profile, openings, findings, tool paths.

    Each profile has its own letter, dash pattern and colour. Findings are marked where they
    are. Curves on layers that no rule matches are shown in red dashes. A load that cannot be
    timed is drawn without table and tools. A .dxf has edges by profile, tool paths by tool,
    starts and findings on separate layers, to lay over the drawing. With --against old and new
    are drawn over one another, and every change has a number.

    \b
    Examples:
      edgetime picture edgetime-demo/cafe-counters.dxf -o plan.svg
      edgetime picture LOAD.dxf --take-off
      edgetime picture LOAD.dxf --tool polish-1 -o polish-1.pdf
      edgetime picture LOAD.dxf -o paths.dxf
      edgetime picture NEW.dxf --against OLD.dxf -o change.svg

    Exit codes: 0 1 2 3 5
    """
    target = file or Path(f"{Path(drawings[0]).stem}-{'change' if revised.against else 'plan'}.svg")
    _check_form(target)
    if target.suffix.lower() == ".dxf" and show is not None:
        raise UsageError(
            "--show is not for .dxf: everything is on layers that can be switched off.",
            where=Where(key="--show"),
            remedy="Leave --show out.",
        )
    revised.check()
    if revised.against:
        _check_change(target, {"--tool": tool, "--show": show, "--take-off": take_off})
        return _change(target, drawings, revised, choices, form)
    shown = _shown(show, bool(tool))
    catalogue = load_shop(choices.shop, choices.layers, choices.layer, choices.profile,
                          choices.cutout_profile)  # fmt: skip
    source, why = _source(drawings, choices, catalogue, take_off=take_off)

    from edgetime.drawing import read_drawing  # noqa: PLC0415  of no use to --help
    from edgetime.picture import draw_plan  # noqa: PLC0415  as above
    from edgetime.report.quantities import format_edge  # noqa: PLC0415  as above

    system = form.system(catalogue)
    chosen = _known_tools(tool or [], source)
    if target.suffix.lower() == ".dxf":
        refuse_overwriting(target, drawings, "--output")
        write_dxf(target, source, chosen)
    else:
        svg = draw_plan(
            source,
            show=shown,
            tools=chosen,
            drawings=[read_drawing(d, drawing_units=choices.drawing_units) for d in drawings],
            length_text=lambda length: format_edge(length, system),
        )
        _write(target, svg)
    findings = source.findings
    what = "take-off" if take_off or why else "load"

    from edgetime.report.document import Line, one_row  # noqa: PLC0415  of no use to --help

    def blocks() -> list[Block]:
        from edgetime.report.findings import kinds_text  # noqa: PLC0415  as above

        said = [Line(f"Wrote the plan of the {what} to {target}.")]
        if why:
            said.append(Line(f"The load cannot be timed: {why}"))
        return [*said, Line(f"Findings: {kinds_text(findings)}.")]

    return Result(
        answer={
            "schema": "edgetime.picture/1",
            "file": str(target),
            "shows": what,
            "why_not_load": why or None,
            "findings": findings,
        },
        table=lambda: one_row({"file": str(target), "shows": what}),
        blocks=blocks,
        findings=findings,
    )


def _check_form(target: Path) -> None:
    if target.suffix.lower() not in FORMS:
        raise UsageError(
            f"{target} does not end with any of {', '.join(FORMS)}.",
            where=Where(key="--output"),
            remedy="End the file name with one of these.",
        )


def _check_change(target: Path, others: dict[str, object]) -> None:
    """Refuse options and forms that the plan of a change does not have."""
    for name, given in others.items():
        if given:
            raise UsageError(
                f"{name} is not for the plan of a change.",
                where=Where(key=name),
                remedy=f"Leave {name} or --against out.",
            )
    if target.suffix.lower() == ".dxf":
        raise UsageError(
            "The plan of a change is not written as .dxf.",
            where=Where(key="--output"),
            remedy="End the file name with .svg, .png or .pdf.",
        )


def _change(
    target: Path, drawings: list[str], revised: AgainstOptions, choices: LoadOptions,
    form: OutputOptions,
) -> Result:  # fmt: skip
    """Draw two revisions in one picture."""
    from edgetime.comparison.revisions_picture import (  # noqa: PLC0415  of no use to --help
        scene_of_revision,
    )
    from edgetime.picture.change import draw_change  # noqa: PLC0415  as above
    from edgetime.report.document import Line, one_row  # noqa: PLC0415  as above
    from edgetime.report.quantities import format_edge  # noqa: PLC0415  as above

    against = revised.against or []
    refuse_overwriting(target, [*drawings, *against], "--output")
    catalogue = choices.catalogue()
    system = form.system(catalogue)
    new, old = (choices.take_off(own, catalogue) for own in (drawings, against))
    revision = compare(new, old, revised.tolerance)
    _write(target, draw_change(scene_of_revision(revision, lambda mm: format_edge(mm, system))))
    what = "changes" if revision.changed or revision.moved else "drawing, without any change,"
    return Result(
        answer={
            "schema": "edgetime.picture/1",
            "file": str(target),
            "shows": "change",
            "changed": revision.changed,
            "why_not_load": None,
            "findings": revision.findings,
        },
        table=lambda: one_row({"file": str(target), "shows": "change"}),
        blocks=lambda: [Line(f"Wrote the plan of the {what} to {target}.")],
        findings=revision.findings,
    )


def _shown(names: str | None, tools: bool) -> frozenset[Show]:  # noqa: FBT001
    from edgetime.picture import Show  # noqa: PLC0415  of no use to --help
    from edgetime.picture.scene import USUAL  # noqa: PLC0415  as above

    if names is None:
        return USUAL | {Show.PATHS} if tools else USUAL
    words = [word.strip() for word in names.split(",") if word.strip()]
    if words == ["all"]:
        return frozenset(Show)
    known = [str(s) for s in Show]
    wrong = [word for word in words if word not in known]
    if wrong:
        raise UsageError(
            f"{wrong[0]!r} cannot be shown.",
            where=Where(key="--show"),
            remedy=f"Name any of {', '.join(known)}, separated by commas; or all.",
        )
    return frozenset(Show(word) for word in words)


def _source(
    drawings: list[str], choices: LoadOptions, catalogue: Catalogue, *, take_off: bool
) -> tuple[TakeOff | Estimate, str]:
    """Return the scene, and why the load could not be timed if that was intended."""
    from edgetime.estimating import read_take_off  # noqa: PLC0415  of no use to --help

    why = ""
    if not take_off:
        try:
            return choices.estimate(drawings), ""
        except PlanError as error:
            why = error.what
    return read_take_off(drawings, catalogue, drawing_units=choices.drawing_units), why


def _known_tools(tools: list[str], source: TakeOff | Estimate) -> list[str]:
    from edgetime.estimating import Estimate  # noqa: PLC0415  of no use to --help

    if not tools or not isinstance(source, Estimate):
        return tools
    visits = source.cycle.visits
    known = list(dict.fromkeys(name for v in visits for name in (v.tool, v.piece)))
    wrong = [name for name in tools if name not in known]
    if wrong:
        raise UsageError(
            f"Tool {wrong[0]!r} is not used in this load.",
            where=Where(key="--tool"),
            remedy=f"Name one of: {', '.join(known)}.",
        )
    return tools


def _write(target: Path, svg: str) -> None:
    """Write the picture whole or not at all."""
    form = target.suffix.lower()
    if form == ".svg":
        content = svg.encode()
    else:
        from edgetime.picture.convert import as_pdf, as_png  # noqa: PLC0415  an extra

        content = as_png(svg) if form == ".png" else as_pdf(svg)
    write_whole(target, content)
