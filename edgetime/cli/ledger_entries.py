"""The commands of ``edgetime ledger`` that enter something."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from edgetime.cli.ledger_options import (
    AtOption,
    LedgerOption,
    NoteOption,
    PieceArgument,
    PriceOption,
    SizeOption,
    WhoOption,
    open_books,
    read_price,
    read_stamp,
    told,
)
from edgetime.cli.load_options import AS_THE_SHOP_HAS_IT, LoadOptions, takes_load_options
from edgetime.cli.options import (
    Drawings,
    FormatOption,
    ShopOption,
    StrictOption,
    UnitsOption,
    complete_from,
    factor_option,
    length_option,
    load_shop,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.errors import UsageError, Where
from edgetime.units import UnitSystem


class Ended(StrEnum):
    """Why a piece is taken out of service."""

    WORN = "worn"
    BROKEN = "broken"
    LOST = "lost"


def receive_command(
    tool: Annotated[
        str,
        typer.Argument(
            metavar="TOOL", help="The tool's name.", autocompletion=complete_from("tools")
        ),
    ],
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
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Enter new pieces; each gets a serial of its own.

    Price and diameter are the catalogue's where they are not given.

    \b
    Examples:
      edgetime ledger receive polish-1 --count 6 --price 58.50EUR
      edgetime ledger receive metal-1 --profile ogee --serial A7 --serial A8

    Exit codes: 0 done; 2 wrong use; 3 a shop file cannot be used; 5 the ledger is unchanged.
    """
    model = _known_tool(tool, profile, shop)
    paid, currency = read_price(price)
    if paid is None and model.price is not None and model.currency:
        paid, currency = model.price, model.currency
    size = length_option(diameter, "--diameter")
    with open_books(ledger, shop, create=True) as books:
        posted = books.receive(
            tool,
            profile=profile,
            count=count,
            serials=serial or None,
            diameter_mm=model.diameter_mm if size is None else size,
            price=paid,
            currency=currency,
            **read_stamp(at, who, note),
        )
        named = tool if profile is None else f"{tool}/{profile}"
        return told(
            posted,
            books,
            first=f"Entered in {books.name}.",
            output=output,
            system=UnitSystem.METRIC,
            hints=(f"Next: edgetime ledger mount {named} --pocket N",),
        )


def _known_tool(tool: str, profile: str | None, shop: str | None) -> Any:
    from difflib import get_close_matches  # noqa: PLC0415  only for a slip

    catalogue = load_shop(shop, None)
    if tool not in catalogue.tools:
        close = get_close_matches(tool, catalogue.tools, n=3)
        raise UsageError(
            f"There is no tool {tool!r} in the catalogue.",
            where=Where(key="TOOL"),
            remedy=(f"Did you mean {' or '.join(close)}? " if close else "")
            + "'edgetime catalogue tools' lists them.",
        )
    model = catalogue.tools[tool]
    if model.profiled != (profile is not None):
        raise UsageError(
            f"{tool} is ground to one profile: say which."
            if model.profiled
            else f"{tool} is not ground to a profile.",
            where=Where(key="--profile"),
            remedy=f"Write: edgetime ledger receive {tool}"
            + (" --profile NAME" if model.profiled else ""),
        )
    if profile is not None and profile not in catalogue.profiles:
        close = get_close_matches(profile, catalogue.profiles, n=3)
        raise UsageError(
            f"There is no profile {profile!r} in the catalogue.",
            where=Where(key="--profile"),
            remedy=(f"Did you mean {' or '.join(close)}? " if close else "")
            + "'edgetime catalogue profiles' lists them.",
        )
    return model


def mount_command(
    piece: Annotated[
        str,
        typer.Argument(
            metavar="PIECE|TOOL",
            help="Serial; or TOOL or TOOL/PROFILE for the oldest piece not yet used.",
        ),
    ],
    pocket: Annotated[
        int | None, typer.Option("--pocket", metavar="N", help="Pocket of the rack, from 1.")
    ] = None,
    out: Annotated[bool, typer.Option("--out", help="Take it out of the rack.")] = False,  # noqa: FBT002
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Put a piece in a pocket; what was there goes to the shelf. Runs are charged to it.

    \b
    Examples:
      edgetime ledger mount polish-1 --pocket 5
      edgetime ledger mount A7 --pocket 2 --at "2026-03-02 06:30"
      edgetime ledger mount A7 --out

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    if (pocket is None) != out:
        raise UsageError(
            "Say either the pocket or --out.",
            where=Where(key="--pocket"),
            remedy=f"Write: edgetime ledger mount {piece} --pocket N",
        )
    with open_books(ledger, shop) as books:
        posted = books.mount(piece, pocket=pocket, **read_stamp(at, who, note))
        return told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


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


@takes_load_options
def post_command(
    drawings: Drawings,
    load: Annotated[
        str | None,
        typer.Option("--load", metavar="NAME", help="The load; otherwise the drawings' names."),
    ] = None,
    run: Annotated[
        int, typer.Option("--run", metavar="N", help="Which run of this load it is.")
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
    choices: LoadOptions = AS_THE_SHOP_HAS_IT,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
    strict: StrictOption = False,  # noqa: FBT002
) -> Result:
    r"""Enter a run of a load: its wear is charged to the pieces that are mounted.

    The load is estimated as 'edgetime estimate' does it. The same run posted twice changes
    nothing. All pieces of a run are entered, or none.

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
    stamp = read_stamp(at, who, note)
    est = choices.estimate(drawings)
    name = load if load is not None else " + ".join(Path(d).stem for d in drawings)
    with open_books(ledger, choices.shop, create=True) as books:
        posted = books.post_run(
            est.wear, digest=est.digest, load_name=name, run=run, actual=factors, **stamp
        )
        when = f"{posted.entries[0].at:%Y-%m-%d %H:%M} UTC"
        first = (
            f"Posted: {name}, run {run}, to {len(posted.entries)} pieces."
            if posted.new
            else f"{name}, run {run}, was posted on {when} already; nothing was changed."
        )
        hints = () if posted.new else (f"If it ran again, post it with --run {run + 1}.",)
        result = told(
            posted,
            books,
            first=first,
            output=output,
            system=table_units(units, est.load.catalogue.shop.units),
            hints=hints,
        )
    return Result(
        output=output,
        document=result.document,
        header=result.header,
        rows=result.rows,
        blocks=result.blocks,
        findings=(*est.findings, *est.wear.findings),
        strict=strict,
        hints=result.hints,
    )


def measure_command(
    piece: PieceArgument,
    diameter: Annotated[str, typer.Argument(metavar="DIAMETER", help="79.4 (millimetres), 3.1in.")],
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Enter a measured diameter.

    \b
    Examples:
      edgetime ledger measure A7 79.4

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    size = length_option(diameter, "DIAMETER")
    assert size is not None  # noqa: S101  a text is given
    with open_books(ledger, shop) as books:
        posted = books.measure(piece, diameter_mm=size, **read_stamp(at, who, note))
        return told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


def dress_command(
    piece: PieceArgument,
    diameter: SizeOption = None,
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Enter a dressing, and the diameter after it where it was measured.

    \b
    Examples:
      edgetime ledger dress A7
      edgetime ledger dress A7 --diameter 79.1

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    size = length_option(diameter, "--diameter")
    with open_books(ledger, shop) as books:
        posted = books.dress(piece, diameter_mm=size, **read_stamp(at, who, note))
        return told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


def reprofile_command(
    piece: PieceArgument,
    diameter: SizeOption = None,
    life: Annotated[
        str, typer.Option("--life", metavar="SHARE", help="Life it begins with: 90%.")
    ] = "100%",
    early: Annotated[  # noqa: FBT002
        bool, typer.Option("--early", help="The wheel was not worn yet.")
    ] = False,
    price: PriceOption = None,
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Enter that a wheel was ground to its profile anew: its life begins again.

    \b
    Examples:
      edgetime ledger reprofile A7 --diameter 78.4 --price 45.00EUR

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    paid, currency = read_price(price)
    size = length_option(diameter, "--diameter")
    begins = factor_option(life, "--life")
    with open_books(ledger, shop) as books:
        posted = books.reprofile(
            piece,
            diameter_mm=size,
            life=begins,
            reason="early" if early else "worn",
            price=paid,
            currency=currency,
            **read_stamp(at, who, note),
        )
        return told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


def retire_command(
    piece: PieceArgument,
    reason: Annotated[Ended, typer.Option("--reason", help="Why.")],
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Take a piece out of service: worn, broken or lost.

    The reason matters: how long tools last is learnt from those that wore out.

    \b
    Examples:
      edgetime ledger retire polish-1-001 --reason worn
      edgetime ledger retire A7 --reason broken --note "chipped at a seam"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    with open_books(ledger, shop) as books:
        posted = books.retire(piece, reason=reason.value, **read_stamp(at, who, note))
        return told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


def adjust_command(
    piece: PieceArgument,
    share: Annotated[
        str,
        typer.Option(
            "--share", metavar="SHARE", help="Share of life to add: 50%, or --share=-10%."
        ),
    ],
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Correct the share of life a piece has used, by a difference.

    \b
    Examples:
      edgetime ledger adjust A7 --share 50% --note "came half used"
      edgetime ledger adjust A7 --share=-10% --note "looks better"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    text = share.strip()
    size = factor_option(text.removeprefix("-"), "--share")
    value = -size if text.startswith("-") else size
    with open_books(ledger, shop) as books:
        posted = books.adjust(piece, share=value, **read_stamp(at, who, note))
        return told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


def reverse_command(
    entry: Annotated[
        list[int] | None, typer.Argument(metavar="ENTRY", help="Numbers of entries.")
    ] = None,
    load: Annotated[
        str | None, typer.Option("--load", metavar="NAME", help="Undo a run of this load.")
    ] = None,
    run: Annotated[int, typer.Option("--run", metavar="N", help="Which run of it.")] = 1,
    digest: Annotated[
        str | None,
        typer.Option("--digest", metavar="HEX", help="Of its estimate, where several match."),
    ] = None,
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    who: WhoOption = None,
    at: AtOption = None,
    note: NoteOption = "",
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Undo entries by counter-entries; nothing is ever deleted.

    \b
    Examples:
      edgetime ledger reverse 17 --note "wrong pocket"
      edgetime ledger reverse --load "kitchen 12" --run 2

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    if bool(entry) == (load is not None):
        raise UsageError(
            "Say either numbers of entries or a load.",
            where=Where(key="ENTRY"),
            remedy="'edgetime ledger history' shows the numbers.",
        )
    stamp = read_stamp(at, who, note)
    with open_books(ledger, shop) as books:
        posted = (
            books.reverse(*entry, **stamp)
            if entry
            else books.reverse_run(load or "", run=run, digest=digest, **stamp)
        )
        return told(posted, books, first="Reversed.", output=output, system=UnitSystem.METRIC)
