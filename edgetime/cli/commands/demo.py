"""``edgetime demo``."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli.options import FormatOption, StrictOption, UnitsOption
from edgetime.cli.output import Format, Result, table_units
from edgetime.records import as_json

if TYPE_CHECKING:
    from edgetime.demo import Written
    from edgetime.estimating import Estimate


def demo_command(
    into: Annotated[
        str,
        typer.Option("--into", metavar="FOLDER", help="Folder to write into.", show_default=True),
    ] = "edgetime-demo",
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Write an invented load and a shop folder, and estimate it: start here.

    The load is a café by a lake that exists nowhere: a service counter with a radius end,
    two island tables, two washroom vanity tops with undermount basins and tap holes, and a
    window bench in two pieces that meet in a seam. Running it again is safe: files that
    were edited are kept as they are, and named.

    \b
    Examples:
      edgetime demo
      edgetime demo --into somewhere-else
      edgetime demo --format json

    Exit codes: 0 1 2 3
    """
    from pathlib import Path  # noqa: PLC0415  with the rest

    from edgetime.demo import write_demo  # noqa: PLC0415  of no use to --help
    from edgetime.estimating import estimate  # noqa: PLC0415  brings numpy and the reader

    written = write_demo(Path(into))
    est = estimate([str(path) for path in written.drawings], shop=written.folder)
    system = table_units(units, est.load.catalogue.shop.units)

    def document() -> dict[str, Any]:
        # The estimate's own document, with what was written beside it.
        return {
            **as_json(est),
            "demo": {
                "folder": str(written.folder),
                "new": list(written.new),
                "same": list(written.same),
                "kept": list(written.kept),
            },
        }

    def blocks() -> list[Any]:
        from edgetime.report.cycle import estimate_parts  # noqa: PLC0415  brings rich
        from edgetime.report.document import Line  # noqa: PLC0415

        head = [Line(text) for text in _told(written)]
        return [*head, *estimate_parts(est, system)]

    from edgetime.report.visits import numbered, visit_sheet  # noqa: PLC0415  of no use to --help

    sheet = visit_sheet(est.cycle.total_s)
    return Result(
        output=output,
        document=document,
        header=sheet.header,
        rows=lambda: sheet.csv_rows(numbered(est.cycle)),
        system=system,
        blocks=blocks,
        findings=est.findings,
        strict=strict,
        hints=_next_steps(written, est),
    )


def _told(written: Written) -> list[str]:
    lines = []
    if written.new:
        lines.append(f"Wrote {len(written.new)} files into {written.folder}.")
    if written.same:
        lines.append(f"{len(written.same)} files were there already, unchanged.")
    if written.kept:
        lines.append(f"Kept as you edited them: {', '.join(written.kept)}.")
    lines.append("The load is invented: a café by a lake, with a washroom and a window bench.\n")
    return lines


def _next_steps(written: Written, est: Estimate) -> tuple[str, ...]:
    drawings = " ".join(shlex.quote(str(path)) for path in written.drawings)
    shop = shlex.quote(str(written.folder))
    longest = max(est.cycle.visits, key=lambda visit: visit.time.total_s)
    return (
        "\nTry next:",
        f"  edgetime estimate {drawings} --shop {shop} --explain {longest.tool}",
        f"  edgetime advise {drawings} --shop {shop}",
        f"  edgetime takeoff {shlex.quote(str(written.drawings[-1]))} --shop {shop}",
    )
