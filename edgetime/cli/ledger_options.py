"""What the ledger's commands share: options, how their values are read, the answer to an entry."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.amounts import separator_fault
from edgetime.cli.options import find_shop_folder, load_shop
from edgetime.cli.output import Format, Result, table_units
from edgetime.errors import EdgetimeError, LedgerError, UsageError, Where
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.ledger import Ledger, Posted

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
LedgerIfThereOption = Annotated[
    str | None,
    typer.Option(
        "--ledger",
        metavar="FILE|URL",
        envvar="EDGETIME_LEDGER",
        show_envvar=False,
        help="The ledger; otherwise ledger.sqlite in the shop folder, if there; also read "
        "from EDGETIME_LEDGER.",
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


def open_books(ledger: str | None, shop: str | None, *, create: bool = False) -> Ledger:
    """Open the ledger that ``--ledger`` or ``--shop`` names; entries begin a new one."""
    from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database

    return open_ledger(ledger, shop=find_shop_folder(shop), create=create)


def system_of(units: UnitSystem | None, shop: str | None) -> UnitSystem:
    """Return the units of tables, without minding faults in the shop's files."""
    if units is not None or find_shop_folder(shop) is None:
        return units or UnitSystem.METRIC
    try:
        return table_units(None, load_shop(shop, None).shop.units)
    except EdgetimeError:
        # The books are read whatever state the shop's files are in; figures bear their units.
        return UnitSystem.METRIC


def read_at(text: str | None) -> datetime | None:
    """Read a date or a time of day; without a zone it is this computer's."""
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


def read_price(text: str | None) -> tuple[Decimal | None, str | None]:
    """Read ``60.00EUR`` into an amount and a currency."""
    if text is None:
        return None, None
    found = re.fullmatch(r"\s*(\d{1,9}(?:\.\d{1,6})?)\s*([A-Z]{3})\s*", text)
    if found is None:
        why, remedy = separator_fault(text) or ("", "")
        raise UsageError(
            f"{text!r} is no price{f': {why}' if why else ''}.",
            where=Where(key="--price"),
            remedy=f"{remedy} Write an amount and the currency's code, such as 60.00EUR.".strip(),
        )
    return Decimal(found[1]), found[2]


def read_stamp(at: str | None, who: str | None, note: str) -> dict[str, Any]:
    """Read what every entry bears: when, who, a note."""
    return {"at": read_at(at), "who": who, "note": note}


def told(
    posted: Posted,
    ledger: Ledger,
    *,
    first: str,
    output: Format,
    system: UnitSystem,
    hints: tuple[str, ...] = (),
) -> Result:
    """Return what a command says after an entry: what was written, and what is left now."""
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
        blocks=lambda: report.posted_parts(posted.entries, balances, system, first=first),
        hints=hints,
    )


def _balance(ledger: Ledger, serial: str) -> Iterable[Any]:
    try:
        return ledger.balances(serial)
    except LedgerError:
        # Its receipt was reversed just now: it has no account any more.
        return ()
