"""Proof of the books: everything added up again, away from the database's own sums.

Nothing here uses the views the balances come from: the raw entries are read once, in order,
and each piece's account is kept by hand; then both must agree to the last digit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any, Final

from sqlalchemy import Connection, func, select, text

from edgetime.ledger.accounts import READ, Accounts
from edgetime.ledger.chain import run_part
from edgetime.ledger.records import AuditReport, Check
from edgetime.ledger.tables import balances, entries, runs
from edgetime.progress import track

_BATCH: Final = 5000

_GUARDS: Final = {
    "sqlite": (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        {
            "runs_no_update",
            "runs_no_delete",
            "entries_no_update",
            "entries_no_delete",
            "runs_next",
            "entries_next",
            "entries_reversed_once",
            "runs_once",
        },
    ),
    "postgresql": (
        (
            "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D' "
            "AND tgrelid IN ('runs'::regclass, 'entries'::regclass)"
        ),
        {"runs_append_only", "entries_append_only", "runs_next", "entries_next"},
    ),
}


def _in_pockets(books: Accounts) -> dict[int, tuple[int, str | None]]:
    """Return the pocket and machine of each mounted piece, from the mounts that were not reversed."""
    order = sorted(
        (number, piece, *place)
        for piece, account in books.accounts.items()
        for number, place in account.mounts.items()
    )
    held: dict[int, tuple[int, str | None]] = {}
    for _, piece, pocket, machine in order:
        held.pop(piece, None)
        if pocket is None:
            continue
        # A machine that was not stated may be any.
        for other, (taken, whose) in list(held.items()):
            if taken == pocket and (whose == machine or None in {whose, machine}):
                del held[other]
        held[piece] = (pocket, machine)
    return {piece: place for piece, place in held.items() if not books.accounts[piece].retired}


def _compare(link: Connection, books: Accounts) -> int:
    """Hold the database's balances against the accounts kept by hand."""
    pockets = _in_pockets(books)
    open_accounts = {
        piece: account for piece, account in books.accounts.items() if piece not in books.reversed
    }
    shown: set[int] = set()
    for row in link.execute(select(balances)).mappings():
        piece = row["piece"]
        account = open_accounts.get(piece)
        if account is None:
            books.tell(f"A balance is shown for {row['serial']}, which is not in the books.")
            continue
        shown.add(piece)
        life, sums, used, dressed = account.balance()
        pocket, machine = pockets.get(piece, (None, None))
        again: dict[str, Any] = {
            "serial": account.serial,
            "tool": account.tool,
            "profile": account.profile,
            "restored_entry": life.entry,
            "pocket": pocket,
            "machine": machine,
            "reason": next(iter(account.retired.values()), None),
            "diameter_nm": max(account.diameters.values(), default=("", 0, None))[2],
            "runs": used,
            "dressings": dressed,
            **sums,
        }
        for name, expected in again.items():
            found = row[name] if isinstance(expected, str) or row[name] is None else int(row[name])
            if found != expected:
                books.tell(
                    f"The balance of {account.serial} shows {name} = {found}; "
                    f"added up again it is {expected}."
                )
    for piece in open_accounts.keys() - shown:
        books.tell(f"No balance is shown for {open_accounts[piece].serial}.")
    serials = Counter(account.serial for account in open_accounts.values())
    for serial, times in serials.items():
        if times > 1:
            books.tell(f"The serial {serial} is that of {times} tools.")
    for number in books.reversed & books.accounts.keys():
        if books.accounts[number].open_entries:
            books.tell(f"Tool {number} was un-received while other entries rest on it.")
    return len(open_accounts)


def _database(link: Connection, tell: Callable[[str], None]) -> None:
    query, wanted = _GUARDS[link.dialect.name]
    for name in sorted(wanted - set(link.execute(text(query)).scalars())):
        tell(f"The database's guard {name} is gone: entries could be changed or deleted.")
    if link.dialect.name == "sqlite":
        for said in link.execute(text("PRAGMA integrity_check(10)")).scalars():
            if said != "ok":
                tell(f"The file is damaged: {said}.")
        for row in link.execute(text("PRAGMA foreign_key_check")):
            tell(f"Row {row[1]} of {row[0]} refers to nothing in {row[2]}.")


def _runs_twice(books: Accounts, run_rows: Sequence[Any]) -> list[str]:
    """Return the runs that are in the books more than once without being reversed."""
    twice: list[str] = []
    posted: dict[tuple[str, int], list[str | None]] = {}
    for row in run_rows:
        if not books.open_of_run[row.id]:
            continue
        others = posted.setdefault((row.load_name, row.run_no), [])
        if (None in {*others, row.machine} and others) or row.machine in others:
            twice.append(
                f"Run {row.run_no} of {row.load_name} was posted more than once: "
                "reverse those that did not take place."
            )
        others.append(row.machine)
    return twice


def _batches(link: Connection) -> int:
    """Return in how many batches the entries are read, numbered without a gap as they are."""
    return -(-(link.execute(select(func.max(entries.c.id))).scalar() or 0) // _BATCH)


def audit_books(link: Connection, expect: str | None = None) -> AuditReport:
    """Add everything up again.

    Parameters
    ----------
    link : Connection
        In a transaction; it sees one state throughout.
    expect : str, optional
        A hash that was noted earlier: the books must still begin with what it covers.

    Returns
    -------
    AuditReport
        What was proved, or what does not add up.
    """
    run_rows = link.execute(select(runs).order_by(runs.c.id)).all()
    targets = select(entries.c.reverses).where(entries.c.reverses.is_not(None))
    books = Accounts(
        {row.id: run_part(row._mapping) for row in run_rows},  # noqa: SLF001  SQLAlchemy's own name
        set(link.execute(targets).scalars()),
        expect,
    )
    _database(link, books.tell)
    for expected, row in enumerate(run_rows, 1):
        if row.id != expected:
            books.tell(f"Run {expected} is missing.")
            break
    query = select(*(entries.c[name] for name in READ)).order_by(entries.c.id)
    batches = link.execute(query.execution_options(yield_per=_BATCH)).partitions()
    for rows in track(batches, "adding up entries", lambda: _batches(link)):
        books.read_all(rows)
    for row in run_rows:
        if not books.run_entries[row.id]:
            books.tell(f"Run {row.id} ({row.load_name}) is an orphan: it has no entries.")
    if expect is not None and books.expected_at is None:
        books.tell(
            "The hash that was noted is not in these books: entries it covers were changed or "
            "cut off, or it is of another ledger."
        )
    pieces = 0 if books.problems else _compare(link, books)
    orders = 0 if books.problems else books.orders.compare(link)
    return AuditReport(
        entries=books.entries,
        pieces=pieces,
        runs=len(run_rows),
        checks=(
            Check("entries numbered without a gap", books.entries),
            Check("entries that belong to a tool and, if used, to a run", books.entries),
            Check("runs posted once, each with its entries", len(run_rows)),
            Check("reversals that are the exact opposite of what they undo", len(books.reversed)),
            Check("balances added up again, every figure", pieces),
            *((Check("orders added up again", orders),) if orders else ()),
            Check("hashes that chain each entry to all before it", books.entries),
            *(
                ()
                if books.expected_at is None
                else (Check("entries unchanged since the hash was noted", books.expected_at),)
            ),
            Check("guards of the database against changes", len(_GUARDS[link.dialect.name][1])),
        ),
        last_hash=books.last_hash,
        warnings=tuple(_runs_twice(books, run_rows)),
        problems=tuple(books.problems),
    )
