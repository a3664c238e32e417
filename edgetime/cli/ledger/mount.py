"""``edgetime ledger mount`` and ``edgetime ledger rack``."""

from __future__ import annotations

from typing import Annotated

from edgetime.cli.ask import argument, ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.files import read_rack
from edgetime.cli.ledger.options import (
    ENTERED_NOW,
    THE_SHOPS_BOOKS,
    BookOptions,
    EntryOptions,
    machine_of,
)
from edgetime.cli.ledger.write_new import write_new
from edgetime.cli.output import Result, csv_text
from edgetime.errors import UsageError, Where


@takes(entry=EntryOptions)
def mount_command(
    piece: Annotated[
        str | None,
        argument("SERIAL|TOOL", "Serial; or TOOL or TOOL/PROFILE for its oldest unused one."),
    ] = None,
    pocket: Annotated[int | None, ask("N", "Pocket of the rack, from 1.")] = None,
    machine: Annotated[
        str | None, ask("NAME", "Whose rack; otherwise the shop's default machine.", "machines")
    ] = None,
    out: Annotated[bool, switch("--out", "Take the tool out of the rack.")] = False,  # noqa: FBT002
    rack: Annotated[
        str | None, ask("CSV", "A whole rack as planned; 'ledger rack' writes one out.")
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
                "Give either --rack or a tool with its pocket.",
                where=Where(key="--rack"),
                remedy="Put tools and pockets into the plan.",
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
            "No tool to mount is given.",
            where=Where(key="SERIAL"),
            remedy="Write: edgetime ledger mount SERIAL --pocket N, or --rack FILE",
        )
    if (pocket is None) != out:
        raise UsageError(
            "Give either --pocket or --out.",
            where=Where(key="--pocket"),
            remedy=f"Write: edgetime ledger mount {piece} --pocket N",
        )
    whose = machine_of(entry, machine, pocket)
    return entry.enter(
        lambda books, stamp: books.mount(piece, pocket=pocket, machine=whose, **stamp)
    )


@takes(books=BookOptions)
def rack_command(
    file: Annotated[str | None, argument("FILE", "New CSV file for the plan.")] = None,
    machine: Annotated[
        str | None, ask("NAME", "Whose rack; otherwise the shop's default machine.", "machines")
    ] = None,
    books: BookOptions = THE_SHOPS_BOOKS,
) -> Result:
    r"""Show what is in each pocket, or write it to a plan that 'mount --rack' reads in.

    \b
    Examples:
      edgetime ledger rack
      edgetime ledger rack rack.csv

    Exit codes: 0 done; 2 wrong use; 3 the file cannot be written; 5 the ledger cannot be read.
    """
    from edgetime.ledger.rack import rack_of  # noqa: PLC0415  brings the database
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Line, Table  # noqa: PLC0415  as above

    whose = machine_of(books, machine)
    known = books.catalogue.machines.get(whose or "") if books.catalogue else None
    with books.open() as ledger:
        rack = rack_of(ledger.balances(), ledger.name, whose, known.pockets if known else 0)
    table = Table(report.RACK, rack.pockets)
    if file is not None:
        write_new(file, csv_text(table.header, table.cells()).encode())
    return Result(
        answer=rack,
        table=table,
        blocks=lambda: (
            report.rack_parts(rack)
            if file is None
            else [Line(f"Wrote the rack of {whose or rack.ledger} to {file}.")]
        ),
    )
