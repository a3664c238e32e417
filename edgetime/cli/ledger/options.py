"""What the ledger's commands share: options, how their values are read, the answer to an entry."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any, Final

from edgetime.amounts import separator_fault
from edgetime.cli.ask import argument, ask, switch
from edgetime.cli.options import FormatOption, ShopOption, find_shop_folder, load_shop
from edgetime.cli.output import Format, Result, table_units
from edgetime.errors import EdgetimeError, UsageError, Where
from edgetime.safe_text import without_secrets
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable

    from edgetime.ledger import Ledger, Posted
    from edgetime.tooling import Catalogue

LedgerIfThereOption = Annotated[
    str | None,
    ask(
        "FILE|URL",
        "The ledger; otherwise ledger.sqlite in the shop folder, if there; also read "
        "from EDGETIME_LEDGER.",
        envvar="EDGETIME_LEDGER",
        show_envvar=False,
    ),
]
PieceArgument = Annotated[str, argument("SERIAL", "Serial of the tool.")]
SizeOption = Annotated[str | None, ask("LENGTH", "Diameter as measured: 79.4 (mm), 3.1in.")]
PriceOption = Annotated[str | None, ask("MONEY", "Purchase price, e.g. 60.00EUR.")]


@dataclass(frozen=True, kw_only=True)
class BookOptions:
    """Which ledger a command reads, and the form of its answer."""

    shop: ShopOption = None
    ledger: Annotated[
        str | None,
        ask(
            "FILE|URL",
            "The ledger; otherwise ledger.sqlite in the shop folder. "
            "postgresql://USER@HOST/DATABASE for several seats; also read from EDGETIME_LEDGER.",
            envvar="EDGETIME_LEDGER",
            show_envvar=False,
        ),
    ] = None
    output: FormatOption = Format.TABLE

    def open(self, *, create: bool = False, shares: bool = True) -> Ledger:
        """Open the ledger that ``--ledger`` or ``--shop`` names.

        ``create`` begins a new one; without ``shares`` the lives that the shop states today are
        not read.
        """
        from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database

        return open_ledger(
            self.ledger,
            shop=find_shop_folder(self.shop),
            create=create,
            catalogue=self.catalogue if shares else None,
        )

    @cached_property
    def catalogue(self) -> Catalogue | None:
        """The shop's catalogue; None for one with faults: the ledger is read all the same."""
        try:
            return load_shop(self.shop, None)
        except EdgetimeError:
            return None

    def system(self, units: UnitSystem | None) -> UnitSystem:
        """Return the units of tables: the option's, else the shop's."""
        if units is not None or find_shop_folder(self.shop) is None or self.catalogue is None:
            return units or UnitSystem.METRIC
        return table_units(None, self.catalogue.shop.units)


@dataclass(frozen=True, kw_only=True)
class EntryOptions(BookOptions):
    """What every command that enters something takes."""

    who: Annotated[str | None, ask("NAME", "Who enters it; otherwise your login.")] = None
    at: Annotated[
        str | None, ask("TIME", "When it happened: 2026-03-02, '2026-03-02 14:00'; otherwise now.")
    ] = None
    note: Annotated[str, ask("TEXT", "Free-text note.")] = ""
    anyway: Annotated[
        bool, switch("--anyway", "Enter it although it looks wrong; it is marked.")
    ] = False

    @property
    def given(self) -> str:
        """The shop and the ledger as they were given, to end a suggested command with."""
        pairs = (("--shop", self.shop), ("--ledger", self.ledger))
        words = [word for name, value in pairs if value is not None for word in (name, value)]
        return without_secrets(f" {shlex.join(words)}") if words else ""

    def begin(self) -> Ledger:
        """Open the ledger, or begin the shop's own; one that is named begins with ``--anyway``.

        A name that was mistyped begins nothing.
        """
        return self.open(create=self.ledger is None or self.anyway)

    @property
    def stamp(self) -> dict[str, Any]:
        """What every entry bears: when, who, a note."""
        return {
            "at": read_at(self.at),
            "who": self.who,
            "note": self.note,
            "anyway": self.anyway,
        }

    def enter(self, act: Callable[[Ledger, dict[str, Any]], Posted]) -> Result:
        """Enter something, given the stamp, and return what a command says after it."""
        with self.open() as books:
            return self.answer(act(books, self.stamp), books)

    def answer(
        self,
        posted: Posted,
        books: Ledger,
        *,
        first: str = "Entered.",
        system: UnitSystem = UnitSystem.METRIC,
        undo: str | None = None,
        hints: tuple[str, ...] = (),
        **more: Any,
    ) -> Result:
        """Return what a command says after an entry: what was written, and what is left now.

        ``undo`` is the command that takes it back, where that is not to reverse the entries;
        ``more`` goes to :class:`Result`.
        """
        from edgetime.ledger.records import undo_words  # noqa: PLC0415  brings the database
        from edgetime.report import ledger_entries as report  # noqa: PLC0415  of no use to --help
        from edgetime.report.document import Table  # noqa: PLC0415  as above

        balances = books.balances_of(
            {e.serial for e in posted.entries if e.serial} | {*posted.taken_out}
        )
        words = undo or undo_words(posted)
        if words:
            hints = (*hints, f"To undo: edgetime ledger {words}{self.given}")
        return Result(
            answer={
                "schema": "edgetime.posted/1",
                "ledger": books.name,
                "new": posted.new,
                "entries": posted.entries,
                "balances": balances,
                "taken_out": posted.taken_out,
            },
            table=Table(report.ENTRIES, posted.entries),
            blocks=lambda: report.posted_parts(posted, balances, first=first),
            system=system,
            hints=hints,
            **more,
        )


THE_SHOPS_BOOKS: Final = BookOptions()
"""No option given."""
ENTERED_NOW: Final = EntryOptions()
"""No option given."""


def machine_of(books: BookOptions, name: str | None, pocket: int | None = 1) -> str | None:
    """Return the machine that is meant; refuse one, or a pocket, that the shop does not have."""
    catalogue = books.catalogue
    if catalogue is None or pocket is None:
        return name
    named = name or catalogue.shop.machine
    machine = catalogue.machines.get(named or "")
    if machine is None:
        if name is None:
            return None
        raise UsageError(
            f"There is no machine {name!r} in the catalogue.",
            where=Where(key="--machine"),
            remedy="'edgetime catalogue machines' lists them.",
        )
    if pocket > machine.pockets:
        raise UsageError(
            f"Machine {machine.name} has {machine.pockets} pockets, not {pocket}.",
            where=Where(key="--pocket"),
            remedy="Give the number that the machine's rack shows, or name another --machine.",
        )
    return machine.name


def read_at(text: str | None, option: str = "--at") -> datetime | None:
    """Read a date or a time of day; without a zone it is this computer's."""
    if text is None:
        return None
    try:
        # Without a zone it is the time on this computer's clock.
        return datetime.fromisoformat(text).astimezone()
    except (ValueError, OverflowError) as error:
        raise UsageError(
            f"{text!r} is not a time.",
            where=Where(key=option),
            remedy="Write 2026-03-02, '2026-03-02 14:00' or 2026-03-02T13:00Z.",
        ) from error


def read_period(since: str | None, until: str | None) -> tuple[datetime | None, datetime | None]:
    """Read ``--from`` and ``--to``; a day at the end belongs to the period."""
    first, end = read_at(since, "--from"), read_at(until, "--to")
    if end is not None and end.time() == time():
        end += timedelta(days=1)
    return first, end


def read_day(text: str, option: str) -> date:
    """Read a day, 2027-01-25."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise UsageError(
            f"{text!r} is not a date.",
            where=Where(key=option),
            remedy="Write it as year-month-day, such as 2027-01-25.",
        ) from None


def read_price(text: str | None) -> tuple[Decimal | None, str | None]:
    """Read ``60.00EUR`` into an amount and a currency."""
    if text is None:
        return None, None
    found = re.fullmatch(r"\s*(\d{1,9}(?:\.\d{1,6})?)\s*([A-Z]{3})\s*", text)
    if found is None:
        why, remedy = separator_fault(text) or ("", "")
        raise UsageError(
            f"{text!r} is not a price{f': {why}' if why else ''}.",
            where=Where(key="--price"),
            remedy=f"{remedy} Write an amount and the currency's code, such as 60.00EUR.".strip(),
        )
    return Decimal(found[1]), found[2]
