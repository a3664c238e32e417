"""``edgetime report``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from edgetime.cli.ask import ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import AS_A_TABLE, Drawings, OutputOptions
from edgetime.cli.output import Result, write_whole
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.report.document import Block


@takes(choices=LoadOptions, form=OutputOptions)
def report_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    file: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="File to write: .html, for a sheet also .pdf; otherwise the first drawing's name "
            "with -load.html or -set-up.html, here.",
        ),
    ] = None,
    sheet: Annotated[  # noqa: FBT002
        bool,
        switch(
            "--sheet",
            "Write the set-up sheet for the machine instead: tools by pocket with speeds and "
            "feeds, attended stops, checks before cycle start.",
        ),
    ] = False,
    start: Annotated[
        str | None,
        ask(
            "[DATE ]TIME",
            "Time of cycle start, such as 9:10 or '2027-01-18 9:10', to show times of day.",
        ),
    ] = None,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Write a load as one page: plan, replay, timeline, tables, wear, findings.

    The page is a single file that needs no network: send it by e-mail, open it in a browser,
    print it. Pointing at an edge shows its length and the time of each tool there; a row of a
    table lights up its edges in the plan, and the replay shows where the tool is at any moment.

    \b
    Examples:
      edgetime report edgetime-demo/cafe-counters.dxf -o load.html
      edgetime report LOAD.dxf --start 9:10
      edgetime report LOAD.dxf --sheet --start 9:10 -o set-up.pdf

    Exit codes: 0 1 2 3 4 5
    """
    target = file or Path(f"{Path(drawings[0]).stem}-{'set-up' if sheet else 'load'}.html")
    _check_form(target, sheet=sheet)
    if start is not None:
        from edgetime.cycle.clock import parse_start  # noqa: PLC0415  brings numpy

        parse_start(start)  # a slip is found before the drawings are read
    est = choices.estimate(drawings)
    from edgetime.drawing import read_drawing  # noqa: PLC0415  of no use to --help
    from edgetime.page import load_page  # noqa: PLC0415  as above
    from edgetime.report.wear import wear_parts  # noqa: PLC0415  as above

    system = form.system(est.load.catalogue)
    wall = None if start is None else est.wall_clock(start)
    if sheet:
        from edgetime.page.sheets import setup_sheet  # noqa: PLC0415  as above

        content = setup_sheet(est, system=system, wall=wall)
    else:
        content = load_page(
            est,
            system=system,
            wall=wall,
            extra=wear_parts(est.wear, system),
            drawings=[read_drawing(d, drawing_units=choices.drawing_units) for d in drawings],
        )
    if target.suffix.lower() == ".pdf":
        from edgetime.picture.convert import page_pdf  # noqa: PLC0415  an extra

        write_whole(target, page_pdf(content))
    else:
        write_whole(target, content.encode())
    findings = (*est.findings, *est.wear.findings)

    from edgetime.report.document import Line, one_row  # noqa: PLC0415  of no use to --help

    def blocks() -> list[Block]:
        from edgetime.report.findings import kinds_text  # noqa: PLC0415  of no use to --help

        return [
            Line(f"Wrote {target}; open it in a browser."),
            Line(f"Findings: {kinds_text(findings)}."),
        ]

    return Result(
        output=form.output,
        answer={
            "schema": "edgetime.report/1",
            "file": str(target),
            "digest": est.digest,
            "total_s": est.cycle.total_s,
            "findings": findings,
        },
        table=lambda: one_row({"file": str(target)}),
        blocks=blocks,
        findings=findings,
        strict=form.strict,
    )


def _check_form(target: Path, *, sheet: bool) -> None:
    forms = {".html", ".htm", ".pdf"} if sheet else {".html", ".htm"}
    if target.suffix.lower() in forms:
        return
    if sheet:
        raise UsageError(
            f"{target} ends neither with .html nor with .pdf.",
            where=Where(key="--output"),
            remedy="End the file name with one of these.",
        )
    raise UsageError(
        f"{target} does not end with .html.",
        where=Where(key="--output"),
        remedy="The page is HTML. For .svg, .png or .pdf see edgetime picture; a set-up sheet as "
        ".pdf needs --sheet.",
    )
