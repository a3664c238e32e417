"""``edgetime ledger`` and its commands."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli.commands.estimate import (
    ActualThicknessOption,
    CutoutsOption,
    DiameterOption,
    FeedOverrideOption,
    MachineOption,
    OrderOption,
    PlaceOption,
    StackOption,
    StoneOption,
    ThicknessOption,
    run_estimate,
)
from edgetime.cli.help import help_text
from edgetime.cli.options import (
    Drawings,
    DrawingUnitsOption,
    FormatOption,
    LayersOption,
    ShopOption,
    StrictOption,
    UnitsOption,
    complete_from,
    factor_option,
    find_shop_folder,
    length_option,
    load_shop,
)
from edgetime.cli.output import Format, Result, table_units
from edgetime.errors import EdgetimeError, LedgerError, UsageError, Where
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.ledger import Entry, Ledger, Posted

__all__ = ["ledger_app"]

LedgerOption = Annotated[
    str | None,
    typer.Option(
        "--ledger",
        metavar="FILE|URL",
        envvar="EDGETIME_LEDGER",
        show_envvar=False,
        help="The ledger; otherwise ledger.sqlite in the shop folder. "
        "postgresql://USER@HOST/DATABASE for several seats; also read from EDGETIME_LEDGER.",
    ),
]
WhoOption = Annotated[
    str | None, typer.Option("--who", metavar="NAME", help="Who enters it; otherwise your login.")
]
AtOption = Annotated[
    str | None,
    typer.Option(
        "--at",
        metavar="TIME",
        help="When it happened: 2026-03-02, '2026-03-02 14:00'; otherwise now.",
    ),
]
NoteOption = Annotated[str, typer.Option("--note", metavar="TEXT", help="A note.")]
PieceArgument = Annotated[str, typer.Argument(metavar="PIECE", help="Serial of the piece.")]
SizeOption = Annotated[
    str | None,
    typer.Option("--diameter", metavar="LENGTH", help="Diameter as measured: 79.4 (mm), 3.1in."),
]
PriceOption = Annotated[
    str | None, typer.Option("--price", metavar="MONEY", help="Paid, such as 60.00EUR.")
]


class Ended(StrEnum):
    """Why a piece is taken out of service."""

    WORN = "worn"
    BROKEN = "broken"
    LOST = "lost"


def _ledger_help() -> None:
    r"""Keep the books of tool pieces: received, mounted, used, left.

    Every wheel, pad and bit is a piece with a serial. Nothing is ever changed or deleted;
    mistakes are reversed. What is left of a piece is added up from its entries.

    \b
    Examples:
      edgetime ledger receive polish-1 --count 6 --shop edgetime-demo
      edgetime ledger mount polish-1 --pocket 5 --shop edgetime-demo
      edgetime ledger show --shop edgetime-demo
      edgetime ledger post LOAD.dxf
      edgetime ledger history polish-1-001 --shop edgetime-demo
      edgetime ledger audit --shop edgetime-demo

    Exit codes: 0 done; 2 wrong use; 3 a drawing or a shop file cannot be used; 4 nothing to
    cut, or no stack for it; 5 the ledger cannot do what was asked, and is unchanged.
    """


ledger_app = typer.Typer(
    name="ledger",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help", "-h"]},
)


@ledger_app.callback(help=help_text(_ledger_help))
def _root(ctx: typer.Context) -> None:
    if ctx.invoked_subcommand is None:
        typer.echo(ctx.get_help())


def _command(name: str, short: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    def register(function: Callable[..., Any]) -> Callable[..., Any]:
        ledger_app.command(
            name,
            help=help_text(function),
            short_help=short,
            context_settings={"help_option_names": ["--help", "-h"]},
        )(function)
        return function

    return register


def _open(ledger: str | None, shop: str | None, *, create: bool = False) -> Ledger:
    from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database

    return open_ledger(ledger, shop=find_shop_folder(shop), create=create)


def _system(units: UnitSystem | None, shop: str | None) -> UnitSystem:
    if units is not None or find_shop_folder(shop) is None:
        return units or UnitSystem.METRIC
    try:
        return table_units(None, load_shop(shop, None).shop.units)
    except EdgetimeError:
        # The books are read whatever state the shop's files are in; figures bear their units.
        return UnitSystem.METRIC


def _time(text: str | None) -> datetime | None:
    if text is None:
        return None
    try:
        # Without a zone it is the time on this computer's clock.
        return datetime.fromisoformat(text).astimezone()
    except (ValueError, OverflowError) as error:
        raise UsageError(
            f"{text!r} is no time.",
            where=Where(key="--at"),
            remedy="Write 2026-03-02, '2026-03-02 14:00' or 2026-03-02T13:00Z.",
        ) from error


def _price(text: str | None) -> tuple[Decimal | None, str | None]:
    if text is None:
        return None, None
    found = re.fullmatch(r"\s*(\d{1,9}(?:\.\d{1,6})?)\s*([A-Z]{3})\s*", text)
    if found is None:
        raise UsageError(
            f"{text!r} is no price.",
            where=Where(key="--price"),
            remedy="Write an amount and the currency's code, such as 60.00EUR.",
        )
    return Decimal(found[1]), found[2]


def _stamp(at: str | None, who: str | None, note: str) -> dict[str, Any]:
    return {"at": _time(at), "who": who, "note": note}


def _told(
    posted: Posted,
    ledger: Ledger,
    *,
    first: str,
    output: Format,
    system: UnitSystem,
    hints: tuple[str, ...] = (),
) -> Result:
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help

    serials = {e.serial for e in posted.entries}
    balances = [b for serial in sorted(serials) for b in _balance(ledger, serial)]

    def document() -> dict[str, Any]:
        return {
            "schema": "edgetime.posted/1",
            "ledger": ledger.name,
            "new": posted.new,
            "entries": [report.entry_dict(e) for e in posted.entries],
            "balances": [b.as_dict() for b in balances],
        }

    return Result(
        output=output,
        document=document,
        header=report.ENTRY_HEADER,
        rows=lambda: report.entry_rows(posted.entries),
        screen=lambda: report.posted_parts(posted.entries, balances, system, first=first),
        hints=hints,
    )


def _balance(ledger: Ledger, serial: str) -> Iterable[Any]:
    try:
        return ledger.balances(serial)
    except LedgerError:
        # Its receipt was reversed just now: it has no account any more.
        return ()


@_command("show", "Say what is mounted, what is left, what is new.")
def show_command(
    piece: Annotated[
        str | None,
        typer.Argument(metavar="[PIECE|TOOL]", help="Only this serial, or this tool."),
    ] = None,
    everything: Annotated[  # noqa: FBT002
        bool, typer.Option("--all", help="Retired pieces too.")
    ] = False,
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
) -> Result:
    r"""Say what is mounted, what is left of it, and what is new in the cupboard.

    \b
    Examples:
      edgetime ledger show
      edgetime ledger show polish-1-001
      edgetime ledger show polish-1 --all --format csv

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be read.
    """
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help

    system = _system(units, shop)
    with _open(ledger, shop) as books:
        name = books.name
        found = books.balances()
        if piece is not None and piece in {b.serial for b in found}:
            found = tuple(b for b in found if b.serial == piece)
            everything = True
        elif piece is not None:
            same = tuple(b for b in found if piece in {b.tool, b.model})
            # Nothing of that name: the ledger's own refusal says what there is.
            found = same or books.balances(piece)
    chosen = tuple(b for b in found if everything or b.state != "retired")
    single = piece is not None and len(chosen) == 1 and chosen[0].serial == piece

    def screen() -> list[Any]:
        if single:
            return report.piece_parts(chosen[0], system)
        return report.stock_parts(found, system, name=name, retired=everything)

    return Result(
        output=output,
        document=lambda: {
            "schema": "edgetime.balances/1",
            "ledger": name,
            "pieces": [b.as_dict() for b in chosen],
        },
        header=report.BALANCE_HEADER,
        rows=lambda: report.balance_rows(chosen),
        screen=screen,
    )


@_command("receive", "Enter new pieces.")
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
    paid, currency = _price(price)
    if paid is None and model.price is not None and model.currency:
        paid, currency = model.price, model.currency
    size = length_option(diameter, "--diameter")
    with _open(ledger, shop, create=True) as books:
        posted = books.receive(
            tool,
            profile=profile,
            count=count,
            serials=serial or None,
            diameter_mm=model.diameter_mm if size is None else size,
            price=paid,
            currency=currency,
            **_stamp(at, who, note),
        )
        told = tool if profile is None else f"{tool}/{profile}"
        return _told(
            posted,
            books,
            first=f"Entered in {books.name}.",
            output=output,
            system=UnitSystem.METRIC,
            hints=(f"Next: edgetime ledger mount {told} --pocket N",),
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


@_command("mount", "Put a piece in a pocket, or take it out.")
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
    with _open(ledger, shop) as books:
        posted = books.mount(piece, pocket=pocket, **_stamp(at, who, note))
        return _told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


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


@_command("post", "Enter a run of a load.")
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
    machine: MachineOption = None,
    stone: StoneOption = None,
    thickness: ThicknessOption = None,
    actual_thickness: ActualThicknessOption = None,
    stack: StackOption = None,
    cutouts: CutoutsOption = None,
    feed_override: FeedOverrideOption = "1",
    order: OrderOption = None,
    place: PlaceOption = None,
    diameter: DiameterOption = None,
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    layers: LayersOption = None,
    drawing_units: DrawingUnitsOption = None,
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
    stamp = _stamp(at, who, note)
    est = run_estimate(
        drawings,
        shop=shop,
        layers=layers,
        drawing_units=drawing_units,
        machine=machine,
        stone=stone,
        stack=stack,
        thickness=thickness,
        actual_thickness=actual_thickness,
        cutouts=cutouts,
        feed_override=feed_override,
        order=order,
        place=place,
        diameter=diameter,
    )
    name = load if load is not None else " + ".join(Path(d).stem for d in drawings)
    with _open(ledger, shop, create=True) as books:
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
        result = _told(
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
        screen=result.screen,
        findings=(*est.findings, *est.wear.findings),
        strict=strict,
        hints=result.hints,
    )


@_command("measure", "Enter a measured diameter.")
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
    with _open(ledger, shop) as books:
        posted = books.measure(piece, diameter_mm=size, **_stamp(at, who, note))
        return _told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


@_command("dress", "Enter a dressing.")
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
    with _open(ledger, shop) as books:
        posted = books.dress(piece, diameter_mm=size, **_stamp(at, who, note))
        return _told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


@_command("reprofile", "Enter a reprofiling: the life begins again.")
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
    paid, currency = _price(price)
    size = length_option(diameter, "--diameter")
    begins = factor_option(life, "--life")
    with _open(ledger, shop) as books:
        posted = books.reprofile(
            piece,
            diameter_mm=size,
            life=begins,
            reason="early" if early else "worn",
            price=paid,
            currency=currency,
            **_stamp(at, who, note),
        )
        return _told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


@_command("retire", "Take a piece out of service for good.")
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
    with _open(ledger, shop) as books:
        posted = books.retire(piece, reason=reason.value, **_stamp(at, who, note))
        return _told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


@_command("adjust", "Correct what a piece has used.")
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
      edgetime ledger adjust A7 --share=-10% --note "looks better than the books say"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    text = share.strip()
    size = factor_option(text.removeprefix("-"), "--share")
    value = -size if text.startswith("-") else size
    with _open(ledger, shop) as books:
        posted = books.adjust(piece, share=value, **_stamp(at, who, note))
        return _told(posted, books, first="Entered.", output=output, system=UnitSystem.METRIC)


@_command("reverse", "Undo entries, or a whole run.")
def reverse_command(
    entry: Annotated[
        list[int] | None, typer.Argument(metavar="[ENTRY]...", help="Numbers of entries.")
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
    stamp = _stamp(at, who, note)
    with _open(ledger, shop) as books:
        posted = (
            books.reverse(*entry, **stamp)
            if entry
            else books.reverse_run(load or "", run=run, digest=digest, **stamp)
        )
        return _told(posted, books, first="Reversed.", output=output, system=UnitSystem.METRIC)


@_command("history", "List entries.")
def history_command(
    piece: Annotated[
        str | None, typer.Argument(metavar="[PIECE]", help="Only of this serial.")
    ] = None,
    load: Annotated[
        str | None, typer.Option("--load", metavar="NAME", help="Only of this load.")
    ] = None,
    last: Annotated[
        int | None, typer.Option("--last", metavar="N", min=1, help="Only the latest N.")
    ] = None,
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    output: FormatOption = Format.TABLE,
    units: UnitsOption = None,
) -> Result:
    r"""List entries in their order: what happened, to which piece, who entered it.

    \b
    Examples:
      edgetime ledger history --last 20
      edgetime ledger history polish-1-001
      edgetime ledger history --load "kitchen 12" --format csv

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be read.
    """
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help

    system = _system(units, shop)
    with _open(ledger, shop) as books:
        name = books.name
        found: tuple[Entry, ...] = books.history(piece, load=load, last=last)
    title = " ".join(
        bit for bit in ("History of", piece or name, f"in {load!r}" if load else "") if bit
    )
    return Result(
        output=output,
        document=lambda: {
            "schema": "edgetime.history/1",
            "ledger": name,
            "entries": [report.entry_dict(e) for e in found],
        },
        header=report.ENTRY_HEADER,
        rows=lambda: report.entry_rows(found),
        screen=lambda: report.entry_parts(found, system, title=title),
    )


@_command("audit", "Prove that the books add up.")
def audit_command(
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Prove the books: every balance added up again, no gap, no orphan.

    \b
    Examples:
      edgetime ledger audit

    Exit codes: 0 the books add up; 2 wrong use; 5 they do not, or cannot be read.
    """
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help

    with _open(ledger, shop) as books:
        name = books.name
        found = books.audit()
    if found.problems:
        told = [LedgerError(problem, where=Where(path=name)) for problem in found.problems]
        raise LedgerError(
            f"The books do not add up: {found.problems[0]}",
            where=Where(path=name),
            remedy="Keep this file for whoever looks into it, and go on with the last backup.",
            others=told[1:],
        )
    return Result(
        output=output,
        document=lambda: {
            "schema": "edgetime.audit/1",
            "ledger": name,
            "entries": found.entries,
            "pieces": found.pieces,
            "runs": found.runs,
            "checks": [{"what": what, "items": items} for what, items in found.checks],
            "problems": [],
        },
        header=("what", "items"),
        rows=lambda: found.checks,
        screen=lambda: report.audit_parts(found, name=name),
    )


def _done(what: str, output: Format, schema: str, **facts: Any) -> Result:
    from edgetime.report.screen import line  # noqa: PLC0415  of no use to --help

    return Result(
        output=output,
        document=lambda: {"schema": schema, **facts},
        header=tuple(facts),
        rows=lambda: [list(facts.values())],
        screen=lambda: [line(what)],
    )


@_command("export", "Write all entries to a CSV or JSON file.")
def export_command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="New file, .csv or .json.")],
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Write all entries to a new file, exact to the last digit; 'import' reads it again.

    \b
    Examples:
      edgetime ledger export books-2026.csv
      edgetime ledger export books-2026.json

    Exit codes: 0 done; 2 wrong use; 3 the file cannot be written; 5 the ledger cannot be read.
    """
    target = Path(file)
    form = target.suffix.lower().removeprefix(".")
    if form not in {"csv", "json"}:
        raise UsageError(
            f"{file!r} ends in neither .csv nor .json.",
            where=Where(key="FILE"),
            remedy="Name the file books.csv or books.json.",
        )
    with _open(ledger, shop) as books:
        name, content = books.name, books.export(form).encode()
        entries = books.count()
    # "x" refuses a file that is there: an export never replaces another.
    try:
        with target.open("xb") as stream:
            stream.write(content)
    except FileExistsError as error:
        raise UsageError(
            f"{file} is there already.",
            where=Where(path=file),
            remedy="Name a file that does not exist yet.",
        ) from error
    return _done(
        f"Exported {entries} entries of {name} to {file}.",
        output,
        "edgetime.export/1",
        ledger=name,
        file=file,
        entries=entries,
    )


@_command("import", "Read an export into an empty ledger.")
def import_command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="What 'export' wrote.")],
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Read an export into an empty ledger; the books are audited before they count.

    \b
    Examples:
      edgetime ledger import books-2026.csv --ledger postgresql://shop@server/tools

    Exit codes: 0 done; 2 wrong use; 3 the file cannot be read; 5 the ledger is unchanged.
    """
    try:
        content = Path(file).read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise LedgerError(
            "The export cannot be read: it is not UTF-8 text.",
            where=Where(path=file),
            remedy="Use a file that 'edgetime ledger export' wrote, unchanged.",
        ) from error
    with _open(ledger, shop, create=True) as books:
        name, entries = books.name, books.import_(content)
    return _done(
        f"Imported {entries} entries from {file} into {name}; the books add up.",
        output,
        "edgetime.import/1",
        ledger=name,
        file=file,
        entries=entries,
    )


@_command("backup", "Copy the ledger, also while others write.")
def backup_command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="New file.")],
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    output: FormatOption = Format.TABLE,
) -> Result:
    r"""Copy the ledger's file to a new one, consistently, also while others write.

    A backup is a ledger itself: --ledger opens it. A ledger on a server is backed up with
    pg_dump, or with 'edgetime ledger export'.

    \b
    Examples:
      edgetime ledger backup D:/backup/ledger-2026-03-06.sqlite

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be copied.
    """
    with _open(ledger, shop) as books:
        name = books.name
        books.backup(Path(file))
    return _done(f"Copied {name} to {file}.", output, "edgetime.backup/1", ledger=name, file=file)
