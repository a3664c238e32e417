"""``edgetime ledger``: its group, and the commands that read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from edgetime.cli import ledger_entries
from edgetime.cli.help import help_text
from edgetime.cli.ledger_options import LedgerOption, open_books, system_of
from edgetime.cli.options import FormatOption, ShopOption, UnitsOption
from edgetime.cli.output import Format, Result
from edgetime.errors import LedgerError, UsageError, Where

if TYPE_CHECKING:
    from edgetime.ledger import Entry


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


def show_command(
    piece: Annotated[
        str | None,
        typer.Argument(metavar="PIECE|TOOL", help="Only this serial, or this tool."),
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

    system = system_of(units, shop)
    with open_books(ledger, shop) as books:
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

    def blocks() -> list[Any]:
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
        system=system,
        blocks=blocks,
    )


def history_command(
    piece: Annotated[
        str | None, typer.Argument(metavar="PIECE", help="Only of this serial.")
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

    system = system_of(units, shop)
    with open_books(ledger, shop) as books:
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
        system=system,
        blocks=lambda: report.entry_parts(found, system, title=title),
    )


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

    with open_books(ledger, shop) as books:
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
        blocks=lambda: report.audit_parts(found, name=name),
    )


def _done(what: str, output: Format, schema: str, **facts: Any) -> Result:
    from edgetime.report.document import Line  # noqa: PLC0415  of no use to --help

    return Result(
        output=output,
        document=lambda: {"schema": schema, **facts},
        header=tuple(facts),
        rows=lambda: [list(facts.values())],
        blocks=lambda: [Line(what)],
    )


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
    with open_books(ledger, shop) as books:
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


def import_command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="What 'export' wrote.")],
    shop: ShopOption = None,
    ledger: LedgerOption = None,
    output: FormatOption = Format.TABLE,
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
    with open_books(ledger, shop, create=True) as books:
        name, entries = books.name, books.import_(content, file)
    return _done(
        f"Imported {entries} entries from {file} into {name}; the books add up.",
        output,
        "edgetime.import/1",
        ledger=name,
        file=file,
        entries=entries,
    )


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
    with open_books(ledger, shop) as books:
        name = books.name
        books.backup(Path(file))
    return _done(f"Copied {name} to {file}.", output, "edgetime.backup/1", ledger=name, file=file)


for _name, _short, _function in (
    ("show", "Say what is mounted, what is left, what is new.", show_command),
    ("receive", "Enter new pieces.", ledger_entries.receive_command),
    ("mount", "Put a piece in a pocket, or take it out.", ledger_entries.mount_command),
    ("post", "Enter a run of a load.", ledger_entries.post_command),
    ("measure", "Enter a measured diameter.", ledger_entries.measure_command),
    ("dress", "Enter a dressing.", ledger_entries.dress_command),
    ("reprofile", "Enter a reprofiling: the life begins again.", ledger_entries.reprofile_command),
    ("retire", "Take a piece out of service for good.", ledger_entries.retire_command),
    ("adjust", "Correct what a piece has used.", ledger_entries.adjust_command),
    ("reverse", "Undo entries, or a whole run.", ledger_entries.reverse_command),
    ("history", "List entries.", history_command),
    ("audit", "Prove that the books add up.", audit_command),
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
