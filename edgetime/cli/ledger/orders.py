"""The commands of ``edgetime ledger`` for orders to suppliers."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated

from edgetime.cli.ask import argument, ask, choose, switch
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.files import order_request, read_order
from edgetime.cli.ledger.options import (
    ENTERED_NOW,
    THE_SHOPS_BOOKS,
    BookOptions,
    EntryOptions,
    PriceOption,
    read_day,
)
from edgetime.cli.options import load_shop
from edgetime.cli.output import Result
from edgetime.errors import UsageError, Where

if TYPE_CHECKING:
    from edgetime.ledger import Ledger, Posted
    from edgetime.tooling import Catalogue, Tool

NumberArgument = Annotated[str, argument("NUMBER", "Order number.")]
ArticleOption = Annotated[
    str | None, ask("TOOL[/PROFILE]", "Only this article of the order.", "tools", flag="--tool")
]


def _delivery_day(tool: Tool, catalogue: Catalogue) -> date:
    """Return the day on which a tool ordered today is expected, by its lead time."""
    from edgetime.forecast.calendar import WorkCalendar  # noqa: PLC0415  of no use to --help

    day = date.today() + timedelta(days=math.ceil(tool.lead_time_d))  # noqa: DTZ011  the shop's own day
    return WorkCalendar.of_shop(catalogue.shop.calendar).on_or_after(day)


def _answer(entry: EntryOptions, books: Ledger, posted: Posted, first: str) -> Result:
    from edgetime.report import orders as report  # noqa: PLC0415  of no use to --help

    numbers = {e.order for e in posted.entries}
    changed = tuple(o for o in books.orders() if o.number in numbers)
    result = entry.answer(posted, books)
    return replace(
        result,
        beside={"orders": changed},
        blocks=lambda: report.changed_parts(changed, first=first),
    )


def _of_order(number: str, article: str | None) -> str:
    return f"Order {number}" if article is None else f"{article} of order {number}"


def _pieces(posted: Posted) -> str:
    count = sum(e.pieces or 0 for e in posted.entries)
    return f"{count} tool" if count == 1 else f"{count} tools"


@takes(entry=EntryOptions)
def order_command(
    tool: Annotated[str | None, argument("TOOL", "Tool.", "tools")] = None,
    count: Annotated[int, choose("How many tools.")] = 1,
    profile: Annotated[
        str | None, ask("NAME", "Profile that a profiled wheel is ground to.", "profiles")
    ] = None,
    number: Annotated[str | None, ask("TEXT", "Order number; otherwise the next free one.")] = None,
    expected: Annotated[
        str | None,
        ask("DATE", "Delivery expected on; otherwise the tool's lead time from today."),
    ] = None,
    price: PriceOption = None,
    supplier: Annotated[str | None, ask("NAME", "Supplier; otherwise the tool's.")] = None,
    file: Annotated[
        str | None,
        ask("CSV", "A whole order, a line for each tool; also the order list of a forecast."),
    ] = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter an order to a supplier; the forecast counts it from the day it is expected.

    Price and supplier default to the catalogue's. The columns of a CSV file are named as the
    options: tool, profile, count, number, expected, price, currency, supplier. The order list
    of a forecast (--show orders --format csv) is read too. All of it is entered, or nothing.

    \b
    Examples:
      edgetime ledger order polish-1 --count 6 --expected 2027-01-25
      edgetime ledger order metal-1 --profile ogee --number 4711 --price 185.00EUR
      edgetime ledger order --file orders.csv

    Exit codes: 0 done; 2 wrong use; 3 a file cannot be used; 5 the ledger is unchanged.
    """
    catalogue = load_shop(entry.shop, None)
    day = None if expected is None else read_day(expected, "--expected")

    def delivery(model: Tool) -> date:
        return day or _delivery_day(model, catalogue)

    if file is not None:
        if tool or any(v is not None for v in (profile, price, supplier)):
            raise UsageError(
                "Give either --file or a tool with its options.",
                where=Where(key="--file"),
                remedy="Put tool, price and supplier into the file's columns.",
            )
        lines = read_order(file, catalogue, number=number, expected=delivery)
    elif tool is None:
        raise UsageError(
            "There is no tool to order.",
            where=Where(key="TOOL"),
            remedy="Write: edgetime ledger order TOOL --count N, or "
            "edgetime ledger order --file FILE",
        )
    else:
        lines = [
            order_request(
                catalogue,
                tool,
                profile=profile,
                price=price,
                supplier=supplier,
                expected=delivery,
                count=count,
                number=number,
            )
        ]
    with entry.begin() as books:
        posted = books.place(lines, **entry.stamp)
        return _answer(entry, books, posted, f"Ordered in {books.name}.")


@takes(books=BookOptions)
def orders_command(
    number: Annotated[
        str | None,
        argument("NUMBER", "Only this order, with everything entered for it."),
    ] = None,
    everything: Annotated[  # noqa: FBT002
        bool, switch("--all", "Include those with nothing outstanding.")
    ] = False,
    books: BookOptions = THE_SHOPS_BOOKS,
) -> Result:
    r"""List open orders: what is outstanding, when it is expected, what is late.

    \b
    Examples:
      edgetime ledger orders
      edgetime ledger orders 4711
      edgetime ledger orders --all --format csv

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be read.
    """
    from edgetime.errors import LedgerError  # noqa: PLC0415  as below
    from edgetime.report import orders as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    with books.open(shares=False) as ledger:
        name = ledger.name
        found = ledger.orders(number)
        entries = () if number is None else ledger.history(order=number)
    if number is not None and not found:
        raise LedgerError(
            f"There is no order {number!r}.",
            where=Where(key="NUMBER"),
            remedy="'edgetime ledger orders --all' lists all orders.",
        )
    shown = tuple(o for o in found if everything or number is not None or o.outstanding)
    return Result(
        answer={"schema": "edgetime.orders/1", "ledger": name, "orders": shown},
        table=Table(report.ORDERS, shown),
        blocks=lambda: (
            report.order_list_parts(shown, name=name, whole=everything)
            if number is None
            else report.order_parts(shown, entries)
        ),
    )


@takes(entry=EntryOptions)
def expect_command(
    number: NumberArgument,
    expected: Annotated[str, argument("DATE", "The new day of delivery.")],
    article: ArticleOption = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter a new delivery date for what is outstanding of an order.

    \b
    Examples:
      edgetime ledger expect 4711 2027-02-05 --note "confirmed by phone"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    day = read_day(expected, "DATE")
    with entry.open() as books:
        posted = books.reschedule(number, day, article=article, **entry.stamp)
        return _answer(entry, books, posted, f"{_of_order(number, article)} is expected on {day}.")


@takes(entry=EntryOptions)
def cancel_command(
    number: NumberArgument,
    article: ArticleOption = None,
    count: Annotated[int | None, ask("N", "Number of tools; otherwise all outstanding.")] = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Cancel an order, or what is outstanding of it.

    \b
    Examples:
      edgetime ledger cancel 4711
      edgetime ledger cancel 4711 --tool polish-1 --count 3

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    with entry.open() as books:
        posted = books.cancel(number, article=article, count=count, **entry.stamp)
        return _answer(
            entry, books, posted, f"{_of_order(number, article)}: {_pieces(posted)} cancelled."
        )


@takes(entry=EntryOptions)
def close_command(
    number: NumberArgument,
    article: ArticleOption = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Close an order that was delivered short: the rest is no longer expected.

    \b
    Examples:
      edgetime ledger close 4711 --note "out of production"

    Exit codes: 0 done; 2 wrong use; 5 the ledger is unchanged.
    """
    with entry.open() as books:
        posted = books.close_order(number, article=article, **entry.stamp)
        return _answer(
            entry,
            books,
            posted,
            f"{_of_order(number, article)} is closed: {_pieces(posted)} not delivered.",
        )
