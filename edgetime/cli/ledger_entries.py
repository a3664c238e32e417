"""The commands of ``edgetime ledger`` that enter something."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from edgetime.cli.blocks import takes
from edgetime.cli.ledger_files import delivery, read_deliveries, read_rack
from edgetime.cli.ledger_options import (
    ENTERED_NOW,
    EntryOptions,
    PieceArgument,
    PriceOption,
    SizeOption,
    machine_of,
    read_price,
)
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions
from edgetime.cli.options import (
    Drawings,
    StrictOption,
    UnitsOption,
    complete_from,
    factor_option,
    length_option,
    load_shop,
)
from edgetime.cli.output import Result, table_units
from edgetime.errors import UsageError, Where

takes_entry_options = takes(entry=EntryOptions)


class Ended(StrEnum):
    """Why a piece is taken out of service."""

    WORN = "worn"
    BROKEN = "broken"
    LOST = "lost"


@takes_entry_options
def receive_command(
    tool: Annotated[
        str | None,
        typer.Argument(metavar="TOOL", help="Tool.", autocompletion=complete_from("tools")),
    ] = None,
    count: Annotated[int, typer.Option("--count", help="How many pieces.")] = 1,
    profile: Annotated[
        str | None,
        typer.Option(
            "--profile",
            metavar="NAME",
            help="Profile that a profiled wheel is ground to.",
            autocompletion=complete_from("profiles"),
        ),
    ] = None,
    serial: Annotated[
        list[str] | None,
        typer.Option("--serial", metavar="TEXT", help="Your own serial; repeat for several."),
    ] = None,
    diameter: SizeOption = None,
    price: PriceOption = None,
    supplier: Annotated[
        str | None, typer.Option("--supplier", metavar="NAME", help="Who delivered them.")
    ] = None,
    batch: Annotated[
        str | None, typer.Option("--batch", metavar="TEXT", help="Batch, as marked on the box.")
    ] = None,
    file: Annotated[
        str | None,
        typer.Option("--file", metavar="CSV", help="A whole delivery, a line for each tool."),
    ] = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter new pieces; each gets its own serial.

    Price and diameter default to the catalogue's. The columns of a delivery's CSV file are
    named as the options: tool, profile, count, serial (several parted by blanks), diameter,
    price, currency, supplier, batch. All of it is entered, or nothing.

    \b
    Examples:
      edgetime ledger receive polish-1 --count 6 --price 58.50EUR
      edgetime ledger receive metal-1 --profile ogee --serial A7 --serial A8
      edgetime ledger receive --file delivery.csv

    Exit codes: 0 done; 2 wrong use; 3 a shop file cannot be used; 5 the ledger is unchanged.
    """
    catalogue = load_shop(entry.shop, None)
    if file is not None:
        if (
            tool
            or serial
            or any(v is not None for v in (profile, diameter, price, supplier, batch))
        ):
            raise UsageError(
                "Give either --file or a tool with its options.",
                where=Where(key="--file"),
                remedy="Put tool, serial, price, supplier and batch into the file's columns.",
            )
        came = read_deliveries(file, catalogue)
        with entry.begin() as books:
            posted = books.receive_all(came, **entry.stamp)
            return entry.answer(posted, books, first=f"Entered in {books.name}.")
    if tool is None:
        raise UsageError(
            "There is no tool to receive.",
            where=Where(key="TOOL"),
            remedy="Write: edgetime ledger receive TOOL, or edgetime ledger receive --file FILE",
        )
    if serial and count not in {1, len(serial)}:
        raise UsageError(
            f"--count {count} does not agree with {len(serial)} serials.",
            where=Where(key="--count"),
            remedy="Give one --serial for each piece, or leave --count out.",
        )
    came = [
        delivery(
            catalogue,
            tool,
            profile=profile,
            diameter=diameter,
            price=price,
            count=count,
            serials=serial or None,
            supplier=supplier,
            batch=batch,
        )
    ]
    with entry.begin() as books:
        posted = books.receive_all(came, **entry.stamp)
        named = tool if profile is None else f"{tool}/{profile}"
        return entry.answer(
            posted,
            books,
            first=f"Entered in {books.name}.",
            hints=(f"Next: edgetime ledger mount {named} --pocket N{entry.given}",),
        )


@takes_entry_options
def mount_command(
    piece: Annotated[
        str | None,
        typer.Argument(
            metavar="PIECE|TOOL",
            help="Serial; or TOOL or TOOL/PROFILE for the oldest piece not yet used.",
        ),
    ] = None,
    pocket: Annotated[
        int | None, typer.Option("--pocket", metavar="N", help="Pocket of the rack, from 1.")
    ] = None,
    machine: Annotated[
        str | None,
        typer.Option(
            "--machine",
            metavar="NAME",
            help="Whose rack; otherwise the shop's default machine.",
            autocompletion=complete_from("machines"),
        ),
    ] = None,
    out: Annotated[bool, typer.Option("--out", help="Take the piece out of the rack.")] = False,  # noqa: FBT002
    rack: Annotated[
        str | None,
        typer.Option(
            "--rack", metavar="CSV", help="A whole rack as planned; 'ledger rack' writes one out."
        ),
    ] = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Put a piece in a pocket; what was there goes to the shelf. Runs are charged to it.

    A plan of the rack is CSV with the columns pocket, serial, tool. A line with a tool alone
    takes the oldest piece not yet used, one with neither empties the pocket. All of it is
    entered, or nothing; pockets without a line stay as they are.

    \b
    Examples:
      edgetime ledger mount polish-1 --pocket 5
      edgetime ledger mount A7 --pocket 2 --at "2026-03-02 06:30"
      edgetime ledger mount A7 --out
      edgetime ledger mount --rack rack.csv

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    if rack is not None:
        if piece is not None or pocket is not None or out:
            raise UsageError(
                "Give either --rack or a piece with its pocket.",
                where=Where(key="--rack"),
                remedy="Put pieces and pockets into the plan.",
            )
        whose = machine_of(entry, machine, 1)
        found = None if whose is None else entry.catalogue and entry.catalogue.machines.get(whose)
        plan = read_rack(rack, found.pockets if found else None)
        with entry.open() as books:
            posted = books.mount_rack(plan, machine=whose, **entry.stamp)
            first = "Entered." if posted.new else "The rack is as planned; nothing was changed."
            return entry.answer(posted, books, first=first)
    if piece is None:
        raise UsageError(
            "There is no piece to mount.",
            where=Where(key="PIECE"),
            remedy="Write: edgetime ledger mount PIECE --pocket N, or --rack FILE",
        )
    if (pocket is None) != out:
        raise UsageError(
            "Give either --pocket or --out.",
            where=Where(key="--pocket"),
            remedy=f"Write: edgetime ledger mount {piece} --pocket N",
        )
    with entry.open() as books:
        posted = books.mount(
            piece, pocket=pocket, machine=machine_of(entry, machine, pocket), **entry.stamp
        )
        return entry.answer(posted, books)


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


@takes(choices=LoadOptions, entry=EntryOptions)
def post_command(
    drawings: Drawings,
    load: Annotated[
        str | None,
        typer.Option("--load", metavar="NAME", help="The load; otherwise the drawings' names."),
    ] = None,
    run: Annotated[
        int, typer.Option("--run", metavar="N", help="Number of this run of the load.")
    ] = 1,
    actual: Annotated[
        list[str] | None,
        typer.Option(
            "--actual",
            metavar="[PIECE=]FACTOR",
            help="Actual over predicted use, such as 50% for a run stopped half way or "
            "polish-1=1.2; may be repeated by piece.",
        ),
    ] = None,
    replace: Annotated[  # noqa: FBT002
        bool,
        typer.Option(
            "--replace",
            help="Reverse this run as it was posted with other figures, and post it with these.",
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
    est = choices.estimate(drawings)
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
        when = f"{posted.entries[0].at.astimezone():%Y-%m-%d %H:%M %Z}"
        return entry.answer(
            posted,
            books,
            first=f"Posted: {name}, run {run}, to {len(posted.entries)} pieces."
            if posted.new
            else f"{name}, run {run}, was already posted on {when}; nothing was changed.",
            system=table_units(units, est.load.catalogue.shop.units),
            findings=(*est.findings, *est.wear.findings),
            strict=strict,
            hints=() if posted.new else (f"If it ran again, post it with --run {run + 1}.",),
        )


@takes_entry_options
def measure_command(
    piece: PieceArgument,
    diameter: Annotated[str, typer.Argument(metavar="DIAMETER", help="79.4 (millimetres), 3.1in.")],
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter a measured diameter.

    \b
    Examples:
      edgetime ledger measure A7 79.4

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    size = length_option(diameter, "DIAMETER")
    assert size is not None  # noqa: S101  a text is given
    with entry.open() as books:
        posted = books.measure(piece, diameter_mm=size, **entry.stamp)
        return entry.answer(posted, books)


@takes_entry_options
def dress_command(
    piece: PieceArgument,
    diameter: SizeOption = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter a dressing, with the diameter after it if measured.

    \b
    Examples:
      edgetime ledger dress A7
      edgetime ledger dress A7 --diameter 79.1

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    size = length_option(diameter, "--diameter")
    with entry.open() as books:
        posted = books.dress(piece, diameter_mm=size, **entry.stamp)
        return entry.answer(posted, books)


@takes_entry_options
def reprofile_command(
    piece: PieceArgument,
    diameter: SizeOption = None,
    life: Annotated[
        str, typer.Option("--life", metavar="SHARE", help="Life it begins with, e.g. 90%.")
    ] = "100%",
    early: Annotated[  # noqa: FBT002
        bool, typer.Option("--early", help="The wheel was not yet worn out.")
    ] = False,
    price: PriceOption = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter a reprofiling: the wheel's life begins again.

    \b
    Examples:
      edgetime ledger reprofile A7 --diameter 78.4 --price 45.00EUR

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    paid, currency = read_price(price)
    size = length_option(diameter, "--diameter")
    begins = factor_option(life, "--life")
    with entry.open() as books:
        posted = books.reprofile(
            piece,
            diameter_mm=size,
            life=begins,
            reason="early" if early else "worn",
            price=paid,
            currency=currency,
            **entry.stamp,
        )
        return entry.answer(posted, books)


@takes_entry_options
def retire_command(
    piece: PieceArgument,
    reason: Annotated[Ended, typer.Option("--reason", help="Why it is retired.")],
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Take a piece out of service: worn, broken or lost.

    The reason matters: tool life is estimated from the pieces that wore out.

    \b
    Examples:
      edgetime ledger retire polish-1-001 --reason worn
      edgetime ledger retire A7 --reason broken --note "chipped at a seam"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    with entry.open() as books:
        posted = books.retire(piece, reason=reason.value, **entry.stamp)
        return entry.answer(posted, books)


@takes_entry_options
def adjust_command(
    piece: PieceArgument,
    share: Annotated[
        str,
        typer.Option(
            "--share", metavar="SHARE", help="Share of life to add: 50%, or --share=-10%."
        ),
    ],
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Correct the share of life used, by the difference.

    \b
    Examples:
      edgetime ledger adjust A7 --share 50% --note "came half used"
      edgetime ledger adjust A7 --share=-10% --note "looks better"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    text = share.strip()
    size = factor_option(text.removeprefix("-"), "--share")
    value = -size if text.startswith("-") else size
    with entry.open() as books:
        posted = books.adjust(piece, share=value, **entry.stamp)
        return entry.answer(posted, books)


@takes_entry_options
def move_command(
    piece: Annotated[
        str, typer.Argument(metavar="FROM", help="Serial of the piece that was charged.")
    ],
    to: Annotated[str, typer.Argument(metavar="TO", help="Serial of the piece that did the work.")],
    load: Annotated[str, typer.Option("--load", metavar="NAME", help="The load.")],
    run: Annotated[int, typer.Option("--run", metavar="N", help="Number of the run.")] = 1,
    machine: Annotated[
        str | None,
        typer.Option("--machine", metavar="NAME", help="Machine it ran on, if it ran on several."),
    ] = None,
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


@takes_entry_options
def reverse_command(
    numbers: Annotated[
        list[str] | None,
        typer.Argument(metavar="ENTRY", help="Numbers of entries: 17, or 17-22."),
    ] = None,
    load: Annotated[
        str | None, typer.Option("--load", metavar="NAME", help="Reverse a run of this load.")
    ] = None,
    run: Annotated[int, typer.Option("--run", metavar="N", help="Number of the run.")] = 1,
    machine: Annotated[
        str | None,
        typer.Option("--machine", metavar="NAME", help="Machine it ran on, if it ran on several."),
    ] = None,
    digest: Annotated[
        str | None,
        typer.Option(
            "--digest", metavar="HEX", help="Digest of its estimate, where several match."
        ),
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
