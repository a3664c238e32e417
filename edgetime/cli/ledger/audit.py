"""``edgetime ledger audit``."""

from __future__ import annotations

from typing import Annotated

from edgetime.cli.ask import ask
from edgetime.cli.blocks import takes
from edgetime.cli.ledger.options import THE_SHOPS_BOOKS, BookOptions
from edgetime.cli.output import Result
from edgetime.errors import LedgerError, UsageError, Where


@takes(books=BookOptions)
def audit_command(
    expect: Annotated[
        str | None, ask("HASH", "A hash noted earlier: the books must still contain all it covers.")
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
        answer=found,
        beside={"ledger": name},
        table=Table(report.CHECKS, found.checks),
        blocks=lambda: report.audit_parts(found, name=name),
    )
