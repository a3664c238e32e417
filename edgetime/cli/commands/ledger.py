"""``edgetime ledger``: its group, and the commands that read."""

from __future__ import annotations

import os
from datetime import time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli import ledger_entries, ledger_report
from edgetime.cli.blocks import takes
from edgetime.cli.help import help_text
from edgetime.cli.ledger_options import THE_SHOPS_BOOKS, BookOptions, machine_of, read_at
from edgetime.cli.options import UnitsOption, complete_from
from edgetime.cli.output import Format, Result, csv_text
from edgetime.errors import LedgerError, UsageError, Where

if TYPE_CHECKING:
    from edgetime.ledger import Entry


def _ledger_help() -> None:
    r"""Keep the ledger of tool pieces: received, mounted, used, remaining.

    Every wheel, pad and bit is a piece with a serial. Nothing is ever changed or deleted;
    mistakes are reversed. The life left in a piece is calculated from its entries.

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


takes_book_options = takes(books=BookOptions)

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


@takes_book_options
def show_command(
    piece: Annotated[
        str | None,
        typer.Argument(metavar="PIECE|TOOL", help="Only this serial, or this tool."),
    ] = None,
    everything: Annotated[  # noqa: FBT002
        bool, typer.Option("--all", help="Include retired pieces.")
    ] = False,
    books: BookOptions = THE_SHOPS_BOOKS,
    units: UnitsOption = None,
) -> Result:
    r"""Show what is mounted, what is left of it, and what is new on the shelf.

    \b
    Examples:
      edgetime ledger show
      edgetime ledger show polish-1-001
      edgetime ledger show polish-1 --all --format csv

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be read.
    """
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    system = books.system(units)
    with books.open() as ledger:
        name, last_hash = ledger.name, ledger.last_hash()
        found = ledger.balances()
        if piece is not None and piece in {b.serial for b in found}:
            found = tuple(b for b in found if b.serial == piece)
            everything = True
        elif piece is not None:
            same = tuple(b for b in found if piece in {b.tool, b.model})
            # Nothing of that name: the ledger's own refusal says what there is.
            found = same or ledger.balances(piece)
    chosen = tuple(b for b in found if everything or b.state != "retired")
    single = piece is not None and len(chosen) == 1 and chosen[0].serial == piece

    def blocks() -> list[Any]:
        if single:
            return report.piece_parts(chosen[0], system)
        return report.stock_parts(found, name=name, retired=everything, last_hash=last_hash)

    return Result(
        output=books.output,
        answer={
            "schema": "edgetime.balances/1",
            "ledger": name,
            "last_hash": last_hash,
            "pieces": chosen,
        },
        table=lambda: Table(report.pieces_sheet(), chosen),
        system=system,
        blocks=blocks,
    )


@takes_book_options
def rack_command(
    file: Annotated[
        str | None, typer.Argument(metavar="FILE", help="New CSV file for the plan.")
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
        _write_new(file, csv_text(table.header, table.cells()).encode())
    return Result(
        output=books.output,
        answer=rack,
        table=table,
        blocks=lambda: (
            report.rack_parts(rack)
            if file is None
            else [Line(f"Wrote the rack of {whose or rack.ledger} to {file}.")]
        ),
    )


@takes_book_options
def history_command(
    piece: Annotated[str | None, typer.Argument(metavar="PIECE", help="Only this serial.")] = None,
    load: Annotated[
        str | None, typer.Option("--load", metavar="NAME", help="Only this load.")
    ] = None,
    last: Annotated[
        int | None, typer.Option("--last", metavar="N", min=1, help="Only the latest N.")
    ] = None,
    since: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="Only from this day on.")
    ] = None,
    until: Annotated[
        str | None, typer.Option("--to", metavar="DATE", help="Only up to this day, with it.")
    ] = None,
    books: BookOptions = THE_SHOPS_BOOKS,
    units: UnitsOption = None,
) -> Result:
    r"""List entries in order: what happened, to which piece, who entered it.

    \b
    Examples:
      edgetime ledger history --last 20
      edgetime ledger history polish-1-001
      edgetime ledger history --from 2026-03-01 --to 2026-03-31
      edgetime ledger history --load "kitchen 12" --format csv

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be read.
    """
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    first, end = read_at(since, "--from"), read_at(until, "--to")
    if end is not None and end.time() == time():
        end += timedelta(days=1)
    system = books.system(units)
    with books.open(shares=False) as ledger:
        name = ledger.name
        found: tuple[Entry, ...] = ledger.history(
            piece, load=load, since=first, until=end, last=last
        )
    title = " ".join(
        bit for bit in ("History of", piece or name, f"in {load!r}" if load else "") if bit
    )
    return Result(
        output=books.output,
        answer={"schema": "edgetime.history/1", "ledger": name, "entries": found},
        table=Table(report.ENTRIES, found),
        system=system,
        blocks=lambda: report.entry_parts(found, title=title),
    )


@takes_book_options
def audit_command(
    expect: Annotated[
        str | None,
        typer.Option(
            "--expect",
            metavar="HASH",
            help="A hash noted earlier: the books must still contain all it covers.",
        ),
    ] = None,
    books: BookOptions = THE_SHOPS_BOOKS,
) -> Result:
    r"""Audit the books: recalculate every balance from the entries, find gaps and changes.

    Each entry's hash covers all entries before it. Whoever computes all hashes anew, or cuts
    off the last entries, is found only against a hash noted elsewhere: --expect.

    \b
    Examples:
      edgetime ledger audit
      edgetime ledger audit --expect 5d1c4e...

    Exit codes: 0 the books add up; 2 wrong use; 5 they do not, or cannot be read.
    """
    from edgetime.report import ledger as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    if expect is not None:
        expect = expect.strip().lower()
        if len(expect) != 64 or not set(expect) <= set("0123456789abcdef"):
            raise UsageError(
                "A hash has 64 hexadecimal digits.",
                where=Where(key="--expect"),
                remedy="Give the last hash as show, export, backup or audit printed it.",
            )
    with books.open(shares=False) as ledger:
        name = ledger.name
        found = ledger.audit(expect)
    if found.problems:
        problems = [LedgerError(problem, where=Where(path=name)) for problem in found.problems]
        raise LedgerError(
            f"The books do not add up: {found.problems[0]}",
            where=Where(path=name),
            remedy="Keep this file as evidence, and continue from the last backup.",
            others=problems[1:],
        )
    return Result(
        output=books.output,
        answer=found,
        beside={"ledger": name},
        table=Table(report.CHECKS, found.checks),
        blocks=lambda: report.audit_parts(found, name=name),
    )


def _done(what: str, output: Format, schema: str, **facts: Any) -> Result:
    from edgetime.report.document import Line, one_row  # noqa: PLC0415  of no use to --help

    return Result(
        output=output,
        answer={"schema": schema, **facts},
        table=one_row(facts),
        blocks=lambda: [Line(what)],
    )


def _write_new(file: str, content: bytes) -> None:
    """Write a file that is not there yet.

    It is whole under another name first: a failure leaves nothing, and nothing is ever replaced.
    """
    from edgetime.ledger.schema import give_name  # noqa: PLC0415  brings the database

    target = Path(file)
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(content)
        fresh = give_name(beside, target)
    finally:
        beside.unlink(missing_ok=True)
    if not fresh:
        raise UsageError(
            f"{file} already exists.",
            where=Where(path=file),
            remedy="Name a file that does not exist yet.",
        )


@takes_book_options
def export_command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="New file, .csv or .json.")],
    books: BookOptions = THE_SHOPS_BOOKS,
) -> Result:
    r"""Write all entries to a new file, exact to the last digit; 'import' reads it back.

    \b
    Examples:
      edgetime ledger export books-2026.csv
      edgetime ledger export books-2026.json

    Exit codes: 0 done; 2 wrong use; 3 the file cannot be written; 5 the ledger cannot be read.
    """
    from edgetime.ledger.export import end_of  # noqa: PLC0415  brings the database

    target = Path(file)
    form = target.suffix.lower().removeprefix(".")
    if form not in {"csv", "json"}:
        raise UsageError(
            f"{file!r} ends in neither .csv nor .json.",
            where=Where(key="FILE"),
            remedy="Name the file books.csv or books.json.",
        )
    with books.open(shares=False) as ledger:
        name, text = ledger.name, ledger.export(form)
    entries, last_hash = end_of(text)
    _write_new(file, text.encode())
    return _done(
        f"Exported {entries} entries of {name} to {file}.\nLast hash: {last_hash}",
        books.output,
        "edgetime.export/1",
        ledger=name,
        file=file,
        entries=entries,
        last_hash=last_hash,
    )


@takes_book_options
def import_command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="What 'export' wrote.")],
    books: BookOptions = THE_SHOPS_BOOKS,
) -> Result:
    r"""Read an export into an empty ledger; the books are audited before they count.

    \b
    Examples:
      edgetime ledger import books.csv --ledger postgresql://shop@server/tools

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
    with books.open(create=True, shares=False) as ledger:
        name, entries = ledger.name, ledger.import_(content, file)
    return _done(
        f"Imported {entries} entries from {file} into {name}; the books add up.",
        books.output,
        "edgetime.import/1",
        ledger=name,
        file=file,
        entries=entries,
    )


@takes_book_options
def backup_command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="New file.")],
    books: BookOptions = THE_SHOPS_BOOKS,
) -> Result:
    r"""Copy the ledger's file to a new one, consistently, also while others write.

    A backup is a ledger itself: --ledger opens it. A ledger on a server is backed up with
    pg_dump, or with 'edgetime ledger export'.

    \b
    Examples:
      edgetime ledger backup D:/backup/ledger-2026-03-06.sqlite

    Exit codes: 0 done; 2 wrong use; 5 the ledger cannot be copied.
    """
    with books.open(shares=False) as ledger:
        name = ledger.name
        last_hash = ledger.backup(Path(file))
    return _done(
        f"Copied {name} to {file}.\nLast hash: {last_hash}",
        books.output,
        "edgetime.backup/1",
        ledger=name,
        file=file,
        last_hash=last_hash,
    )


for _name, _short, _function in (
    ("show", "Show what is mounted, left and new.", show_command),
    ("receive", "Enter new pieces.", ledger_entries.receive_command),
    ("mount", "Put a piece in a pocket, or take it out.", ledger_entries.mount_command),
    ("rack", "Show what is in the pockets, or write it to a file.", rack_command),
    ("post", "Enter a run of a load.", ledger_entries.post_command),
    ("measure", "Enter a measured diameter.", ledger_entries.measure_command),
    ("dress", "Enter a dressing.", ledger_entries.dress_command),
    ("reprofile", "Enter a reprofiling: the life begins again.", ledger_entries.reprofile_command),
    ("retire", "Take a piece out of service for good.", ledger_entries.retire_command),
    ("adjust", "Correct the life used.", ledger_entries.adjust_command),
    ("move", "Move a run charged to the wrong piece.", ledger_entries.move_command),
    ("reverse", "Undo entries, or a whole run.", ledger_entries.reverse_command),
    ("history", "List entries.", history_command),
    ("report", "Report use, cost and stock by month, job or tool.", ledger_report.report_command),
    ("audit", "Recalculate all balances and check the books.", audit_command),
    ("export", "Write all entries to a CSV or JSON file.", export_command),
    ("import", "Read an export into an empty ledger.", import_command),
    ("backup", "Copy the ledger, also while others write.", backup_command),
):
    ledger_app.command(
        _name,
        help=help_text(_function),
        short_help=_short,
        context_settings={"help_option_names": ["--help", "-h"]},
    )(_function)
