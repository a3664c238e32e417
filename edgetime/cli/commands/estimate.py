"""``edgetime estimate``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Final

from edgetime.cli.ask import ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.dxf_out import DxfOutOption, dxf_target, write_dxf
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import (
    AS_A_TABLE,
    Drawings,
    OutputOptions,
    parse_resume,
    rests_on,
)
from edgetime.cli.output import Result, one_table
from edgetime.records import as_json

if TYPE_CHECKING:
    from edgetime.estimating import Questions


@dataclass(frozen=True, kw_only=True)
class AskedOptions:
    """Questions beside the estimate, as typed."""

    explain: Annotated[
        str | None, ask("TOOL", "Explain the time of one tool, term by term.", "tools")
    ] = None
    sensitivity: Annotated[
        bool,
        switch("--sensitivity", "Also the five assumptions with the largest effect on the cycle."),
    ] = False
    resume_at: Annotated[
        str | None,
        ask(
            "TOOL[,PART]|ROW",
            "Also the time left after a stop at this tool, this part, or this row of --runs.",
            "tools",
        ),
    ] = None
    wear: Annotated[
        bool, switch("--wear", "Also the share of each tool's life used, and its cost.")
    ] = False
    runs: Annotated[
        bool,
        switch("--runs", "Also the sequence: part and edge run of each tool, with start and end."),
    ] = False
    start: Annotated[
        str | None,
        ask(
            "[DATE ]TIME",
            "Time of cycle start, such as 9:10 or '2027-01-18 9:10', to show times of day, "
            "including attended stops.",
        ),
    ] = None

    def questions(self) -> Questions:
        """Read the texts of what is asked."""
        from edgetime.estimating import Questions  # noqa: PLC0415  of no use to --help

        at = None if self.resume_at is None else parse_resume(self.resume_at)
        return Questions(self.explain, self.sensitivity, at, self.wear, self.runs)

    def check_one_table(self) -> None:
        """Refuse a CSV table for more than one question."""
        one_table(
            {
                "--runs": self.runs,
                "--explain": self.explain is not None,
                "--sensitivity": self.sensitivity,
                "--resume-at": self.resume_at is not None,
                "--wear": self.wear,
            }
        )


NOTHING_ASKED: Final = AskedOptions()


@takes(choices=LoadOptions, asked=AskedOptions, form=OutputOptions)
def estimate_command(
    drawings: Drawings,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    asked: AskedOptions = NOTHING_ASKED,
    dxf_out: DxfOutOption = None,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Calculate the cycle time of a load, tool by tool.

    All drawings are one load: each tool works all parts before the next one. Drawing
    coordinates are table coordinates unless --place is given. The time of every tool is the sum
    of change, cut, lead, plunge, rapid and dwell. With --format csv one of --runs, --explain,
    --sensitivity, --resume-at and --wear gives its table instead of the tools.

    \b
    Examples:
      edgetime estimate edgetime-demo/cafe-counters.dxf
      edgetime estimate LOAD.dxf --thickness 20 --feed-override 0.8
      edgetime estimate A.dxf B.dxf --place "B.dxf=1800,50,90"
      edgetime estimate LOAD.dxf --explain metal-2
      edgetime estimate LOAD.dxf --sensitivity
      edgetime estimate LOAD.dxf --resume-at metal-2,p02
      edgetime estimate LOAD.dxf --runs --start 9:10
      edgetime estimate edgetime-demo/cafe-counters.dxf --wear
      edgetime estimate LOAD.dxf --dxf-out paths.dxf

    Exit codes: 0 1 2 3 4 5
    """
    if asked.start is not None:
        from edgetime.cycle.clock import parse_start  # noqa: PLC0415  brings numpy

        parse_start(asked.start)  # a slip is reported before the drawings are read
    if form.csv:
        asked.check_one_table()
    dxf_target(dxf_out, drawings)
    est = choices.estimate(drawings)
    wall = None if asked.start is None else est.wall_clock(asked.start)
    from edgetime.estimating import answer  # noqa: PLC0415  of no use to --help
    from edgetime.report.cycle import answer_parts, answer_table  # noqa: PLC0415  as above

    found = answer(est, asked.questions())
    system = form.system(est.load.catalogue)

    def document() -> dict[str, Any]:
        out: dict[str, Any] = as_json(found)
        if wall is not None:
            wall.mark(out)
        return out

    if dxf_out is not None:
        write_dxf(dxf_out, est)
    return Result(
        answer=document,
        table=lambda: answer_table(found, wall),
        system=system,
        blocks=lambda: answer_parts(found, system, wall),
        assumptions=rests_on([est]),
        findings=found.all_findings,
    )
