"""``edgetime ledger post``."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

from edgetime.cli.ask import ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import ENTERED_NOW, EntryOptions
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import Drawings, StrictOption, UnitsOption, factor_option
from edgetime.cli.output import Result, table_units
from edgetime.errors import UsageError, Where


@takes(choices=LoadOptions, entry=EntryOptions)
def post_command(
    drawings: Drawings,
    load: Annotated[str | None, ask("NAME", "The load; otherwise the drawings' names.")] = None,
    run: Annotated[int, ask("N", "Number of this run of the load.")] = 1,
    actual: Annotated[
        list[str] | None,
        ask(
            "[PIECE=]FACTOR",
            "Actual over predicted use, such as 50% for a run stopped half way or "
            "polish-1=1.2; may be repeated by tool.",
        ),
    ] = None,
    replace: Annotated[  # noqa: FBT002
        bool,
        switch(
            "--replace",
            "Reverse this run as it was posted with other figures, and post it with these.",
        ),
    ] = False,
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    entry: EntryOptions = ENTERED_NOW,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Enter a run of a load: its wear is charged to the mounted pieces.

    The load is estimated as by 'edgetime estimate'. A run is known by its machine, the load's
    name and its number: posted twice it changes nothing, and with other figures it is refused
    until --run or --replace says what is meant. All pieces of a run are entered, or none.

    \b
    Examples:
      edgetime ledger post LOAD.dxf
      edgetime ledger post LOAD.dxf --load "kitchen 12" --run 2
      edgetime ledger post LOAD.dxf --actual 50% --note "stopped: hose off"

    Exit codes: 0 done; 1 findings of warning or worse, with --strict; 2 wrong use; 3 a drawing
    or a shop file cannot be used; 4 nothing to cut, or no stack for it; 5 nothing is mounted
    for a tool, or the ledger cannot be written; it is unchanged.
    """
    factors = _actual(actual or ())
    est = choices.estimate(drawings, entry.ledger)
    name = load if load is not None else " + ".join(Path(d).stem for d in drawings)
    with entry.begin() as books:
        posted = books.post_run(
            est.wear,
            digest=est.digest,
            work_digest=est.work_digest,
            load_name=name,
            run=run,
            actual=factors,
            replace=replace,
            **entry.stamp,
        )
        charged = {e.serial for e in posted.entries if e.kind == "used"}
        when = f"{posted.entries[0].at.astimezone():%Y-%m-%d %H:%M %Z}"
        return entry.answer(
            posted,
            books,
            first=f"Posted: {name}, run {run}, to {len(charged)} tools."
            if posted.new
            else f"{name}, run {run}, was already posted on {when}; nothing was changed.",
            system=table_units(units, est.load.catalogue.shop.units),
            findings=(*est.findings, *est.wear.findings),
            strict=strict,
            hints=() if posted.new else (f"If it ran again, post it with --run {run + 1}.",),
        )


def _actual(texts: Iterable[str]) -> float | dict[str, float] | None:
    found: dict[str, float] = {}
    whole: float | None = None
    for text in texts:
        name, sign, value = text.rpartition("=")
        if sign and name.strip():
            found[name.strip()] = factor_option(value, "--actual")
        else:
            whole = factor_option(text, "--actual")
    if whole is not None and found:
        raise UsageError(
            "Give --actual for all tools or tool by tool, not both.",
            where=Where(key="--actual"),
            remedy="Write --actual 50% or --actual polish-1=50%.",
        )
    return found or whole
