"""``edgetime ledger receive``."""

from __future__ import annotations

from typing import Annotated

from edgetime.cli.ask import argument, ask, choose
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.files import delivery, read_deliveries
from edgetime.cli.ledger.options import ENTERED_NOW, EntryOptions, PriceOption, SizeOption
from edgetime.cli.options import load_shop
from edgetime.cli.output import Result
from edgetime.errors import UsageError, Where


@takes(entry=EntryOptions)
def receive_command(
    tool: Annotated[str | None, argument("TOOL", "Tool.", "tools")] = None,
    count: Annotated[int, choose("How many tools.")] = 1,
    profile: Annotated[
        str | None, ask("NAME", "Profile that a profiled wheel is ground to.", "profiles")
    ] = None,
    serial: Annotated[list[str] | None, ask("TEXT", "Your own serial; repeat for several.")] = None,
    diameter: SizeOption = None,
    price: PriceOption = None,
    supplier: Annotated[str | None, ask("NAME", "Who delivered them.")] = None,
    batch: Annotated[str | None, ask("TEXT", "Batch, as marked on the box.")] = None,
    order: Annotated[str | None, ask("NUMBER", "Order they are delivered for.")] = None,
    file: Annotated[str | None, ask("CSV", "A whole delivery, a line for each tool.")] = None,
    entry: EntryOptions = ENTERED_NOW,
) -> Result:
    r"""Enter new pieces; each gets its own serial.

    Price and diameter default to the catalogue's; with --order, price and supplier to those of
    the order. The columns of a delivery's CSV file are named as the options: tool, profile,
    count, serial (several separated by spaces), diameter, price, currency, supplier, batch,
    order. All of it is entered, or nothing.

    \b
    Examples:
      edgetime ledger receive polish-1 --count 6 --price 58.50EUR
      edgetime ledger receive metal-1 --profile ogee --serial A7 --serial A8
      edgetime ledger receive polish-1 --count 6 --order 4711
      edgetime ledger receive --file delivery.csv

    Exit codes: 0 done; 2 wrong use; 3 a shop file cannot be used; 5 the ledger is unchanged.
    """
    catalogue = load_shop(entry.shop, None)
    if file is not None:
        if (
            tool
            or serial
            or any(v is not None for v in (profile, diameter, price, supplier, batch, order))
        ):
            raise UsageError(
                "Give either --file or a tool with its options.",
                where=Where(key="--file"),
                remedy="Put tool, serial, price, supplier, batch and order into the file's columns.",
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
            f"--count {count} does not agree with the number of serials, {len(serial)}.",
            where=Where(key="--count"),
            remedy="Give one --serial for each tool, or leave --count out.",
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
            order=order,
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
