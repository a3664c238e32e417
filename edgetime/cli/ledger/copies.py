"""The whole ledger in a file: ``edgetime ledger export``, ``import``, ``backup``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from edgetime.cli.ask import argument
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import THE_SHOPS_BOOKS, BookOptions
from edgetime.cli.ledger.write_new import write_new
from edgetime.cli.output import Result
from edgetime.errors import LedgerError, UsageError, Where


@takes(books=BookOptions)
def export_command(
    file: Annotated[str, argument("FILE", "New file, .csv or .json.")],
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
    write_new(file, text.encode())
    return _done(
        f"Exported {entries} entries of {name} to {file}.\nLast hash: {last_hash}",
        "edgetime.export/1",
        ledger=name,
        file=file,
        entries=entries,
        last_hash=last_hash,
    )


@takes(books=BookOptions)
def import_command(
    file: Annotated[str, argument("FILE", "What 'export' wrote.")],
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
        "edgetime.import/1",
        ledger=name,
        file=file,
        entries=entries,
    )


@takes(books=BookOptions)
def backup_command(
    file: Annotated[str, argument("FILE", "New file.")],
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
        "edgetime.backup/1",
        ledger=name,
        file=file,
        last_hash=last_hash,
    )


def _done(what: str, schema: str, **facts: Any) -> Result:
    from edgetime.report.document import Line, one_row  # noqa: PLC0415  of no use to --help

    return Result(
        answer={"schema": schema, **facts},
        table=one_row(facts),
        blocks=lambda: [Line(what)],
    )
