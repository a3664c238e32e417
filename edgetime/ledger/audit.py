"""Proof of the books: everything added up again, away from the database's own sums.

Nothing here uses the views the balances come from: the raw entries are read once, in order,
and each piece's account is kept by hand; then both must agree to the last digit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, select, text

from edgetime.ledger.amounts import ADDED, read_time
from edgetime.ledger.chain import GENESIS, RUN, content_of, next_hash
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
    valid: bool = True
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
    diameters: dict[int, tuple[str, int, int]] = field(default_factory=dict)
    mounts: dict[int, tuple[int | None, str | None]] = field(default_factory=dict)

    def life(self, entry: int | None) -> _Life | None:
        """Return the life that an entry began."""
        return next((life for life in self.lives if life.entry == entry), None)


def _merge(into: dict[str, int | None], more: Mapping[str, int | None]) -> None:
    for name, value in more.items():
        if value is not None:
            into[name] = (into[name] or 0) + value


class _Books:
    """The books as read so far."""

    def __init__(self, known_runs: set[int], expect: str | None = None) -> None:
        self.known_runs = known_runs
        self.expect = expect
        self.expected_at: int | None = None
        self.last_hash = GENESIS
        self.broken = False
        self.accounts: dict[int, _Account] = {}
        self.brief: dict[int, tuple[str, int]] = {}
        self.amounts: dict[int, tuple[int | None, ...]] = {}
        self.life_of: dict[int, int | None] = {}
        self.reversed: set[int] = set()
        self.run_entries: Counter[int] = Counter()
        self.run_of: dict[int, int] = {}
        self.open_of_run: Counter[int] = Counter()
        self.twice: list[str] = []
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
        self.last_hash = next_hash(self.last_hash, content_of(row))
        if row["hash"] != self.last_hash and not self.broken:
            # All hashes behind a change differ: one is told.
            self.broken = True
            self.tell(
                f"Entry {number} or one before it was changed, removed or put in: "
                "the chain of hashes breaks there."
            )
        if self.last_hash == self.expect:
            self.expected_at = number
        self.brief[number] = (kind, piece)
        self.amounts[number] = own
        self.life_of[number] = row["life"]
        if kind == "received":
            if piece != number:
                self.tell(f"Entry {number} receives piece {piece}, not itself.")
            self.accounts[number] = _Account(row["serial"], row["tool"], row["profile"])
        account = self.accounts.get(piece)
        if account is None:
            self.tell(f"Entry {number} is an orphan: no piece was received as {piece}.")
            return
        if kind == "reversed":
            self._reverse(row, piece, own)
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
            life = account.life(row["life"])
            if life is None:
                self.tell(f"Entry {number} belongs to no life of its piece.")
                return
            _merge(life.sums, dict(zip(_SUMS, own, strict=True)))
            life.kinds[kind] += 1
        if row["run"] is not None:
            self.run_entries[row["run"]] += 1
            self.open_of_run[row["run"]] += 1
            self.run_of[number] = row["run"]
            if row["run"] not in self.known_runs:
                self.tell(f"Entry {number} is an orphan: there is no run {row['run']}.")
        if kind == "retired":
            account.retired[number] = row["reason"]
        if row["diameter_nm"] is not None:
            account.diameters[number] = (row["at"], number, row["diameter_nm"])
        if kind == "mounted":
            account.mounts[number] = (row["pocket"], row["machine"])

    def _reverse(self, row: Mapping[Any, Any], piece: int, own: tuple[int | None, ...]) -> None:
        number, target, row_life = row["id"], row["reverses"], row["life"]
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
        if target in self.run_of:
            self.open_of_run[self.run_of[target]] -= 1
        account = self.accounts[piece]
        account.open_entries -= 1
        for kept in (account.retired, account.diameters, account.mounts):
            kept.pop(target, None)
        began = account.life(target)
        if began is not None:
            began.valid = False
            return
        life = account.life(self.life_of[target])
        if life is None or row_life != life.entry:
            self.tell(f"Entry {number} counts in another life than entry {target}.")
            return
        _merge(life.sums, dict(zip(_SUMS, own, strict=True)))
        life.kinds[kind] -= 1


def _in_pockets(books: _Books) -> dict[int, tuple[int, str | None]]:
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
        life = [one for one in account.lives if one.valid][-1]
        # What was used in a life whose beginning was reversed counts in the one before it.
        sums: dict[str, int | None] = dict.fromkeys(_SUMS)
        kinds: Counter[str] = Counter()
        for one in account.lives:
            if one.entry >= life.entry:
                _merge(sums, one.sums)
                kinds.update(one.kinds)
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
            "runs": kinds["used"],
            "dressings": kinds["dressed"],
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
            books.tell(f"The serial {serial} is that of {times} pieces.")
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


def _runs_once(books: _Books, run_rows: Sequence[Any]) -> None:
    """Tell the runs that are in the books more than once without being reversed."""
    posted: dict[tuple[str, int], list[str | None]] = {}
    for row in run_rows:
        if not books.open_of_run[row.id]:
            continue
        others = posted.setdefault((row.load_name, row.run_no), [])
        if (None in {*others, row.machine} and others) or row.machine in others:
            books.twice.append(
                f"Run {row.run_no} of {row.load_name} was posted more than once: "
                "reverse those that did not take place."
            )
        others.append(row.machine)


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
    books = _Books({row.id for row in run_rows}, expect)
    _database(link, books.tell)
    for expected, row in enumerate(run_rows, 1):
        if row.id != expected:
            books.tell(f"Run {expected} is missing.")
            break
    query = (
        select(
            entries,
            *(runs.c[name] for name, _ in RUN if name != "run_machine"),
            runs.c.machine.label("run_machine"),
        )
        .outerjoin(runs, runs.c.id == entries.c.run)
        .order_by(entries.c.id)
        .execution_options(yield_per=5000)
    )
    for entry in link.execute(query).mappings():
        try:
            books.read(entry)
        except (TypeError, ValueError) as error:
            # A damaged file gives bytes where text or a number belongs.
            books.tell(f"Entry {entry['id']} is damaged: {error}.")
    for row in run_rows:
        if not books.run_entries[row.id]:
            books.tell(f"Run {row.id} ({row.load_name}) is an orphan: it has no entries.")
    _runs_once(books, run_rows)
    if expect is not None and books.expected_at is None:
        books.tell(
            "The hash that was noted is not in these books: entries it covers were changed or "
            "cut off, or it is of another ledger."
        )
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
            Check("hashes that chain each entry to all before it", books.count),
            *(
                ()
                if books.expected_at is None
                else (Check("entries unchanged since the hash was noted", books.expected_at),)
            ),
            Check("guards of the database against changes", len(_GUARDS[link.dialect.name][1])),
        ),
        last_hash=books.last_hash,
        warnings=tuple(books.twice),
        problems=tuple(books.problems),
    )
