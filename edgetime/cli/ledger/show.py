"""``edgetime ledger show`` and ``edgetime ledger history``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any

from edgetime.cli.ask import argument, ask, switch
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import THE_SHOPS_BOOKS, BookOptions, read_period
from edgetime.cli.options import UnitsOption
from edgetime.cli.output import Result
from edgetime.records import as_json

if TYPE_CHECKING:
    from edgetime.ledger import Entry, LifeRecord, PieceBalance
    from edgetime.life import FittedLeft


@takes(books=BookOptions)
def show_command(
    piece: Annotated[str | None, argument("SERIAL|TOOL", "Only this serial, or this tool.")] = None,
    everything: Annotated[  # noqa: FBT002
        bool, switch("--all", "Include retired tools.")
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
        lives = ledger.lives() if any(b.ended_a_life for b in found) else ()
        if piece is not None and piece in {b.serial for b in found}:
            found = tuple(b for b in found if b.serial == piece)
            everything = True
        elif piece is not None:
            same = tuple(b for b in found if piece in {b.tool, b.model})
            # Nothing of that name: the ledger's own refusal says what there is.
            found = same or ledger.balances(piece)
    chosen = tuple(b for b in found if everything or b.state != "retired")
    single = piece is not None and len(chosen) == 1 and chosen[0].serial == piece
    fitted = _fitted(found, lives)

    def blocks() -> list[Any]:
        if single:
            return report.piece_parts(chosen[0], system, fitted.get(chosen[0].serial))
        return report.stock_parts(
            found, name=name, retired=everything, last_hash=last_hash, fitted=fitted
        )

    return Result(
        answer={
            "schema": "edgetime.balances/1",
            "ledger": name,
            "last_hash": last_hash,
            "pieces": [{**as_json(b), "fitted_left": fitted.get(b.serial)} for b in chosen],
        },
        table=lambda: Table(report.pieces_sheet(fitted=fitted), chosen),
        system=system,
        blocks=blocks,
    )


def _fitted(balances: Sequence[PieceBalance], lives: Sequence[LifeRecord]) -> dict[str, FittedLeft]:
    """Return what is left of pieces by fitted lives, by serial; nothing before one is worn out."""
    if not any(life.ended == "worn" for life in lives):
        return {}
    from edgetime.life import left_by_fit  # noqa: PLC0415  brings numpy

    return left_by_fit(balances, lives)


@takes(books=BookOptions)
def history_command(
    piece: Annotated[str | None, argument("SERIAL", "Only this serial.")] = None,
    load: Annotated[str | None, ask("NAME", "Only this load.")] = None,
    last: Annotated[int | None, ask("N", "Only the latest N.", min=1)] = None,
    since: Annotated[str | None, ask("DATE", "Only from this day on.", flag="--from")] = None,
    until: Annotated[str | None, ask("DATE", "Only up to this day, with it.", flag="--to")] = None,
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
    from edgetime.report import ledger_entries as report  # noqa: PLC0415  of no use to --help
    from edgetime.report.document import Table  # noqa: PLC0415  as above

    first, end = read_period(since, until)
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
        answer={"schema": "edgetime.history/1", "ledger": name, "entries": found},
        table=Table(report.ENTRIES, found),
        system=system,
        blocks=lambda: report.entry_parts(found, title=title),
    )
