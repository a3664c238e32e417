"""``edgetime demo``."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING, Annotated, Any

from edgetime.cli.ask import ask
from edgetime.cli.blocks import takes
from edgetime.cli.options import AS_A_TABLE, OutputOptions
from edgetime.cli.output import Result, write_whole

if TYPE_CHECKING:
    from edgetime.demo import Written
    from edgetime.estimating import Estimate


@takes(form=OutputOptions)
def demo_command(
    into: Annotated[
        str, ask("FOLDER", "Folder to write into.", show_default=True)
    ] = "edgetime-demo",
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Write an invented load and a shop folder, estimate it and write its page: start here.

    The load is an invented café by a lake: a service counter with a radius end, two island
    tables, two washroom vanity tops with undermount basins and tap holes, and a window bench in
    two parts that meet in a seam. You can run it again: edited files are kept and listed.

    \b
    Examples:
      edgetime demo
      edgetime demo --into somewhere-else
      edgetime demo --format json

    Exit codes: 0 1 2 3
    """
    from pathlib import Path  # noqa: PLC0415  with the rest

    from edgetime.demo import write_demo  # noqa: PLC0415  of no use to --help
    from edgetime.estimating import Answer, estimate  # noqa: PLC0415  brings numpy

    written = write_demo(Path(into))
    est = estimate([str(path) for path in written.drawings], shop=written.folder)
    system = form.system(est.load.catalogue)
    from edgetime.page import load_page  # noqa: PLC0415  of no use to --help
    from edgetime.report.wear import wear_tables  # noqa: PLC0415  as above

    page = load_page(
        est,
        system=system,
        chapters=[("Wear", wear_tables(est.wear, system))],
        findings=(*est.findings, *est.wear.findings),
        title="The café by the lake, an invented load",
    )
    write_whole(written.report, page.encode())

    from edgetime.report.cycle import answer_table, estimate_parts  # noqa: PLC0415  as above
    from edgetime.report.document import Line  # noqa: PLC0415  as above

    def blocks() -> list[Any]:
        return [*(Line(text) for text in _written(written)), *estimate_parts(est, system)]

    return Result(
        answer=est,
        beside={"demo": written},
        table=lambda: answer_table(Answer(estimate=est)),
        system=system,
        blocks=blocks,
        findings=est.findings,
        hints=_next_steps(written, est),
    )


def _written(written: Written) -> list[str]:
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
        f"\nThe report of this load, with plan and replay: {written.report}",
        "  To open it, double-click the file, or give your browser this address:",
        f"  {written.report.resolve().as_uri()}",
    )
