"""Proof of the books: everything added up again, away from the database's own sums.

Nothing here uses the views the balances come from: the raw entries are read once, in order,
and each piece's account is kept by hand; then both must agree to the last digit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, select, text

from edgetime.ledger.amounts import ADDED, read_time
from edgetime.ledger.records import AuditReport, Check
from edgetime.ledger.tables import balances, entries, runs

_SUMS = tuple(a.column for a in ADDED)
_MOST = 50
"""Problems told; books that are wrong in more places are not read on."""

_GUARDS = {
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


@dataclass(slots=True)
class _Life:
    """One life of a piece, as the entries tell it."""

    entry: int
    stands: bool = True
    sums: dict[str, int | None] = field(default_factory=lambda: dict.fromkeys(_SUMS))
    kinds: Counter[str] = field(default_factory=Counter)


@dataclass(slots=True)
class _Account:
    """A piece's account: its lives in order, reversed ones merged into the one before."""

    serial: str
    tool: str
    profile: str | None
    lives: list[_Life] = field(default_factory=list)
    open_entries: int = 0
    retired: dict[int, str] = field(default_factory=dict)
    diameters: dict[int, int] = field(default_factory=dict)
    mounts: dict[int, int | None] = field(default_factory=dict)


def _merge(into: dict[str, int | None], more: Mapping[str, int | None]) -> None:
    for name, value in more.items():
        if value is not None:
            into[name] = (into[name] or 0) + value


class _Books:
    """The books as read so far."""

    def __init__(self, known_runs: set[int]) -> None:
        self.known_runs = known_runs
        self.accounts: dict[int, _Account] = {}
        self.brief: dict[int, tuple[str, int]] = {}
        self.amounts: dict[int, tuple[int | None, ...]] = {}
        self.reversed: set[int] = set()
        self.run_entries: Counter[int] = Counter()
        self.count = 0
        self.problems: list[str] = []

    def tell(self, problem: str) -> None:
        if len(self.problems) < _MOST:
            self.problems.append(problem)

    def read(self, row: Mapping[Any, Any]) -> None:
        """Take in the next entry."""
        number = row["id"]
        self.count += 1
        if number != self.count:
            self.tell(f"Entry {self.count} is missing: entry {number} follows {self.count - 1}.")
            self.count = number
        try:
            read_time(row["at"])
        except ValueError as error:
            self.tell(f"Entry {number}: {error}.")
        kind, piece = row["kind"], row["piece"]
        own = tuple(row[name] for name in _SUMS)
        self.brief[number] = (kind, piece)
        self.amounts[number] = own
        if kind == "received":
            if piece != number:
                self.tell(f"Entry {number} receives piece {piece}, not itself.")
            self.accounts[number] = _Account(row["serial"], row["tool"], row["profile"])
        account = self.accounts.get(piece)
        if account is None:
            self.tell(f"Entry {number} is an orphan: no piece was received as {piece}.")
            return
        if kind == "reversed":
            self._reverse(number, row["reverses"], piece, own)
            return
        if (kind == "used") != (row["run"] is not None):
            self.tell(f"Entry {number} is {kind} and its run is {row['run']}.")
        self._enter(number, row, account, own)

    def _enter(
        self, number: int, row: Mapping[Any, Any], account: _Account, own: tuple[int | None, ...]
    ) -> None:
        kind = row["kind"]
        account.open_entries += 1
        if row["restored_e12"] is not None:
            account.lives.append(_Life(number))
        elif not account.lives:
            self.tell(f"Entry {number} comes before its piece was received.")
            return
        else:
            # A life that was reversed is over: what follows belongs to the one before it.
            standing = [past for past in account.lives if past.stands]
            life = (standing or account.lives)[-1]
            _merge(life.sums, dict(zip(_SUMS, own, strict=True)))
            life.kinds[kind] += 1
        if row["run"] is not None:
            self.run_entries[row["run"]] += 1
            if row["run"] not in self.known_runs:
                self.tell(f"Entry {number} is an orphan: there is no run {row['run']}.")
        if kind == "retired":
            account.retired[number] = row["reason"]
        if row["diameter_nm"] is not None:
            account.diameters[number] = row["diameter_nm"]
        if kind == "mounted":
            account.mounts[number] = row["pocket"]

    def _reverse(
        self, number: int, target: int | None, piece: int, own: tuple[int | None, ...]
    ) -> None:
        if target is None or target not in self.brief or target == number:
            self.tell(f"Entry {number} is an orphan: it reverses {target}, which is not before it.")
            return
        kind, charged = self.brief[target]
        if charged != piece or kind == "reversed" or target in self.reversed:
            self.tell(f"Entry {number} cannot reverse entry {target}.")
            return
        opposite = tuple(None if value is None else -value for value in self.amounts[target])
        if own != opposite:
            self.tell(f"Entry {number} is not the exact opposite of entry {target}.")
        self.reversed.add(target)
        account = self.accounts[piece]
        account.open_entries -= 1
        for kept in (account.retired, account.diameters, account.mounts):
            kept.pop(target, None)
        index = max(i for i, life in enumerate(account.lives) if life.entry <= target)
        life = account.lives[index]
        if life.entry != target:
            # The counter-entry counts in the life of what it undoes.
            while not account.lives[index].stands:
                index -= 1
            _merge(account.lives[index].sums, dict(zip(_SUMS, own, strict=True)))
            account.lives[index].kinds[kind] -= 1
        else:
            life.stands = False
            before = [past for past in account.lives[:index] if past.stands]
            if before:
                _merge(before[-1].sums, life.sums)
                before[-1].kinds.update(life.kinds)


def _in_pockets(books: _Books) -> dict[int, int]:
    """Return the pocket of each mounted piece, from the mounts that stand."""
    order = sorted(
        (number, piece, pocket)
        for piece, account in books.accounts.items()
        for number, pocket in account.mounts.items()
    )
    last_of_piece = {piece: number for number, piece, _ in order}
    last_of_pocket = {pocket: number for number, _, pocket in order}
    return {
        piece: pocket
        for number, piece, pocket in order
        if pocket is not None
        and last_of_piece[piece] == number
        and last_of_pocket[pocket] == number
        and not books.accounts[piece].retired
    }


def _compare(link: Connection, books: _Books) -> int:
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
        life = [one for one in account.lives if one.stands][-1]
        told: dict[str, Any] = {
            "serial": account.serial,
            "tool": account.tool,
            "profile": account.profile,
            "restored_entry": life.entry,
            "pocket": pockets.get(piece),
            "reason": next(iter(account.retired.values()), None),
            "diameter_nm": account.diameters[max(account.diameters)] if account.diameters else None,
            "runs": life.kinds["used"],
            "dressings": life.kinds["dressed"],
            **life.sums,
        }
        for name, expected in told.items():
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
            books.tell(f"The serial {serial} stands for {times} pieces.")
    for number in books.reversed & books.accounts.keys():
        if books.accounts[number].open_entries:
            books.tell(f"Piece {number} was un-received while other entries rest on it.")
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


def audit_books(link: Connection) -> AuditReport:
    """Add everything up again.

    Parameters
    ----------
    link : Connection
        In a transaction; it sees one state throughout.

    Returns
    -------
    AuditReport
        What was proved, or what does not add up.
    """
    run_rows = link.execute(select(runs).order_by(runs.c.id)).all()
    books = _Books({row.id for row in run_rows})
    _database(link, books.tell)
    for expected, row in enumerate(run_rows, 1):
        if row.id != expected:
            books.tell(f"Run {expected} is missing.")
            break
    query = select(entries).order_by(entries.c.id).execution_options(yield_per=5000)
    for entry in link.execute(query).mappings():
        books.read(entry)
    for row in run_rows:
        if not books.run_entries[row.id]:
            books.tell(f"Run {row.id} ({row.load_name}) is an orphan: it has no entries.")
    keys = Counter((row.digest, row.load_name, row.run_no) for row in run_rows)
    for (_, name, number), times in keys.items():
        if times > 1:
            books.tell(f"Run {number} of {name} was posted {times} times.")
    pieces = 0 if books.problems else _compare(link, books)
    return AuditReport(
        entries=len(books.brief),
        pieces=pieces,
        runs=len(run_rows),
        checks=(
            Check("entries numbered without a gap", len(books.brief)),
            Check("entries that belong to a piece and, if used, to a run", len(books.brief)),
            Check("runs posted once, each with its entries", len(run_rows)),
            Check("reversals that are the exact opposite of what they undo", len(books.reversed)),
            Check("balances added up again, every figure", pieces),
            Check("guards of the database against changes", len(_GUARDS[link.dialect.name][1])),
        ),
        problems=tuple(books.problems),
    )
