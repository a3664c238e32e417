"""``edgetime feed``."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from edgetime.cli.ask import ask
from edgetime.cli.blocks import takes
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import (
    AS_A_TABLE,
    Drawings,
    OutputOptions,
    rests_on,
    speed_option,
)
from edgetime.cli.output import Result
from edgetime.cli.priced import priced


@takes(choices=LoadOptions, form=OutputOptions)
def feed_command(
    drawings: Drawings,
    tool: Annotated[
        str | None,
        ask("NAME", "One tool or step, with its curve; otherwise all of the load.", "tools"),
    ] = None,
    trial: Annotated[
        list[str] | None,
        ask(
            "FEED=LIFE",
            "A feed at which a tool was worn out, and its pass length or cutting time: '1.5 "
            "m/min=3000 m'. Give at least two, with --tool; replaces [taylor].",
        ),
    ] = None,
    at: Annotated[str | None, ask("FEED", "Also evaluate this feed; needs --tool.")] = None,
    explain: Annotated[
        str | None,
        ask("STEP", "Explain the costs of a step, today and at its best feeds; or 'all'."),
    ] = None,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    form: OutputOptions = AS_A_TABLE,
) -> Result:
    r"""Find the feed of least cost and of greatest output for each tool.

    A higher feed saves machine time and wears tools faster, by the tool-life equation in
    [taylor] of the tool's file or from two trials. The time at each feed is that of the real
    paths, with their corners and short moves. Only feeds within the tested range, and within
    the limits of tool, machine and finish, are evaluated.

    \b
    Examples:
      edgetime feed edgetime-demo/cafe-counters.dxf --shop edgetime-demo
      edgetime feed LOAD.dxf --shop edgetime-demo --tool metal-1 --at "2.5 m/min"
      edgetime feed LOAD.dxf --tool drum-75 --trial 2m/min=3km --trial 4m/min=1km

    Exit codes: 0 1 2 3 4 5
    """
    at_mm_per_s = speed_option(at, "--at")
    from edgetime.economics import economic_feed, read_trial  # noqa: PLC0415  not for --help
    from edgetime.load.codes import DIAMETERS_MEASURED  # noqa: PLC0415  as above

    trials = [read_trial(text) for text in trial or ()]
    est = choices.estimate(drawings)
    study = economic_feed(est, tool=tool, trials=trials, at_mm_per_s=at_mm_per_s)
    # The load's findings are those of 'estimate'; which sizes the ledger gave belongs here too.
    note = (f for f in est.findings if f.code == DIAMETERS_MEASURED.name)
    study = replace(study, findings=(*note, *study.findings))
    from edgetime.report import feed as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    system = form.system(est.load.catalogue)
    result = priced(
        study,
        system,
        explain=explain,
        beside={"digest": est.digest, "drawings": list(drawings)},
        table=lambda: Table(report.feed_sheet(study), report.feed_rows(study)),
        screen=lambda figures, _: report.feed_screen(study, system, figures=figures),
    )
    return replace(result, assumptions=rests_on([est], "price", "shift"))
