"""Putting right what was entered: ``edgetime ledger reverse`` and ``move``."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterable
from typing import Annotated

from edgetime.cli.ask import argument, ask
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import ENTERED_NOW, EntryOptions
from edgetime.cli.output import Result
from edgetime.errors import UsageError, Where


@takes(entry=EntryOptions)
def move_command(
    piece: Annotated[str, argument("FROM", "Serial of the tool that was charged.")],
    to: Annotated[str, argument("TO", "Serial of the tool that did the work.")],
    load: Annotated[str, ask("NAME", "The load.")],
    run: Annotated[int, ask("N", "Number of the run.")] = 1,
    machine: Annotated[str | None, ask("NAME", "Machine it ran on, if it ran on several.")] = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Move a run that was charged to the wrong piece, with its measures and cost.

    \b
    Examples:
      edgetime ledger move polish-1-001 polish-1-002 --load "kitchen 12" --run 2

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    with entry.open() as books:
        posted = books.move(piece, to, load_name=load, run=run, machine=machine, **entry.stamp)
        back = ["move", to, piece, "--load", load, "--run", str(run)]
        back += ["--machine", machine] if machine else []
        return entry.answer(posted, books, first="Moved.", undo=shlex.join(back))


@takes(entry=EntryOptions)
def reverse_command(
    numbers: Annotated[
        list[str] | None, argument("ENTRY", "Numbers of entries: 17, or 17-22.")
    ] = None,
    load: Annotated[str | None, ask("NAME", "Reverse a run of this load.")] = None,
    run: Annotated[int, ask("N", "Number of the run.")] = 1,
    machine: Annotated[str | None, ask("NAME", "Machine it ran on, if it ran on several.")] = None,
    digest: Annotated[
        str | None, ask("HEX", "Digest of its estimate, where several match.")
    ] = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Undo entries by counter-entries; nothing is ever deleted.

    \b
    Examples:
      edgetime ledger reverse 17 --note "wrong pocket"
      edgetime ledger reverse 17-22
      edgetime ledger reverse --load "kitchen 12" --run 2

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    ids = _numbers(numbers or ())
    if bool(ids) == (load is not None):
        raise UsageError(
            "Give either entry numbers or --load.",
            where=Where(key="ENTRY"),
            remedy="'edgetime ledger history' shows the numbers.",
        )
    with entry.open() as books:
        posted = (
            books.reverse(*ids, **entry.stamp)
            if ids
            else books.reverse_run(
                load or "", run=run, machine=machine, digest=digest, **entry.stamp
            )
        )
        return entry.answer(posted, books, first="Reversed.")


def _numbers(texts: Iterable[str]) -> tuple[int, ...]:
    """Read numbers of entries and spans of them."""
    found: list[int] = []
    for text in texts:
        span = re.fullmatch(r"(\d{1,9})(?:-(\d{1,9}))?", text.strip())
        first, last = (int(span[1]), int(span[2] or span[1])) if span else (1, 0)
        if not first <= last < first + 10_000:
            raise UsageError(
                f"{text!r} is neither the number of an entry nor a span of such numbers.",
                where=Where(key="ENTRY"),
                remedy="Write 17, or 17-22; 'edgetime ledger history' shows the numbers.",
            )
        found += range(first, last + 1)
    return tuple(found)
