"""The accounts of all pieces kept by hand, entry by entry: what an audit holds balances against."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any, Final, NamedTuple

from edgetime.ledger.amounts import ADDED, read_time
from edgetime.ledger.chain import COLUMNS, GENESIS, contents_of, next_hash
from edgetime.ledger.order_audit import OrderBooks
from edgetime.ledger.records import ORDER_KINDS, model_name

SUMS: Final = tuple(a.column for a in ADDED)
READ: Final = (*COLUMNS, "hash")
"""Columns of an entry in the order in which :meth:`Accounts.read` takes them."""

MOST: Final = 50
"""Problems told; books that are wrong in more places are not read on."""

_FACTS: Final = itemgetter(
    *map(READ.index, ("id", "at", "kind", "piece", "run", "life", "restored_e12", "hash"))
)
_AMOUNTS: Final = itemgetter(*map(READ.index, SUMS))
_NONE: Final = (None,) * len(SUMS)

Amounts = Sequence[int | None]


@dataclass(slots=True)
class Life:
    """One life of a piece, as the entries tell it."""

    entry: int
    valid: bool = True
    sums: list[int | None] = field(default_factory=lambda: list(_NONE))
    kinds: dict[str, int] = field(default_factory=dict)

    def add(self, kind: str, amounts: Amounts, count: int = 1) -> None:
        """Take in an entry, or with ``count`` -1 what undoes it."""
        sums = self.sums
        for at, value in enumerate(amounts):
            if value is not None:
                sums[at] = (sums[at] or 0) + value
        self.kinds[kind] = self.kinds.get(kind, 0) + count


@dataclass(slots=True)
class Account:
    """A piece's account: its lives by the entries that began them."""

    serial: str
    tool: str
    profile: str | None
    lives: dict[int, Life] = field(default_factory=dict)
    open_entries: int = 0
    retired: dict[int, str] = field(default_factory=dict)
    diameters: dict[int, tuple[str, int, int]] = field(default_factory=dict)
    mounts: dict[int, tuple[int | None, str | None]] = field(default_factory=dict)

    def balance(self) -> tuple[Life, dict[str, int | None], int, int]:
        """Return the life it is in, the sums of that life, its runs and its dressings.

        What was used in a life whose beginning was reversed counts in the one before it.
        """
        life = [one for one in self.lives.values() if one.valid][-1]
        total = Life(life.entry)
        counts: Counter[str] = Counter()
        for one in self.lives.values():
            if one.entry >= life.entry:
                total.add("", one.sums)
                counts.update(one.kinds)
        return life, dict(zip(SUMS, total.sums, strict=True)), counts["used"], counts["dressed"]


class _Undone(NamedTuple):
    """What is kept of an entry that a later one reverses."""

    kind: str
    piece: int
    life: int | None
    run: int | None
    amounts: Amounts


class Accounts:
    """The books as read so far.

    Parameters
    ----------
    run_parts : mapping of int to mapping
        By number, what is hashed of each run.
    targets : set of int
        The entries that others reverse: only of these anything is kept.
    expect : str or None
        A hash that was noted earlier.
    """

    def __init__(
        self,
        run_parts: Mapping[int, Mapping[str, Any]],
        targets: set[int],
        expect: str | None = None,
    ) -> None:
        self._run_parts, self._targets, self._expect = run_parts, targets, expect
        self.expected_at: int | None = None
        self.last_hash = GENESIS
        self.broken = False
        self.accounts: dict[int, Account] = {}
        self._undone: dict[int, _Undone] = {}
        self._last_at: str | None = None
        self.reversed: set[int] = set()
        self.run_entries: Counter[int] = Counter()
        self.open_of_run: Counter[int] = Counter()
        self.last = 0
        self.entries = 0
        self.problems: list[str] = []
        self.orders = OrderBooks(self.tell)

    def tell(self, problem: str) -> None:
        """Note what does not add up."""
        if len(self.problems) < MOST:
            self.problems.append(problem)

    def read_all(self, rows: Sequence[Any]) -> None:
        """Take in the next entries."""
        parts = self._run_parts
        run_at = READ.index("run")
        of_runs = [None if row[run_at] is None else parts.get(row[run_at]) for row in rows]
        contents: Sequence[str | None]
        try:
            contents = contents_of(rows, of_runs)
        except (TypeError, ValueError):
            # One of them holds what is no text: taken one by one, the others are read.
            contents = [None] * len(rows)
        for row, of_run, content in zip(rows, of_runs, contents, strict=True):
            try:
                self._read(row, content or contents_of([row], [of_run])[0])
            except (TypeError, ValueError) as error:
                # A damaged file gives bytes where text or a number belongs.
                self.tell(f"Entry {row[READ.index('id')]} is damaged: {error}.")

    def _read(self, row: Any, content: str) -> None:
        number, at, kind, piece, run, life, restored, noted = _FACTS(row)
        self.last += 1
        if number != self.last:
            self.tell(f"Entry {self.last} is missing: entry {number} follows {self.last - 1}.")
            self.last = number
        if at != self._last_at:
            # The entries of a run have one time.
            self._last_at = at
            try:
                read_time(at)
            except ValueError as error:
                self.tell(f"Entry {number}: {error}.")
        self.last_hash = next_hash(self.last_hash, content)
        if noted != self.last_hash and not self.broken:
            # All hashes behind a change differ: one is told.
            self.broken = True
            self.tell(
                f"Entry {number} or one before it was changed, removed or put in: "
                "the chain of hashes breaks there."
            )
        if self.last_hash == self._expect:
            self.expected_at = number
        self.entries += 1
        amounts = _AMOUNTS(row)
        if number in self._targets:
            self._undone[number] = _Undone(kind, piece, life, run, amounts)
        if kind in ORDER_KINDS:
            self.orders.read(dict(zip(READ, row, strict=False)))
            return
        if kind == "received":
            named = dict(zip(READ, row, strict=False))
            if piece != number:
                self.tell(f"Entry {number} receives tool {piece}, not itself.")
            self.accounts[number] = Account(named["serial"], named["tool"], named["profile"])
        account = self.accounts.get(piece)
        if kind == "reversed" and (account is not None or piece in self.orders.lines):
            self._reverse(number, row, piece, life, amounts)
            return
        if account is None:
            self.tell(f"Entry {number} is an orphan: no tool was received as {piece}.")
            return
        if (kind == "used") != (run is not None):
            self.tell(f"Entry {number} is {kind} and its run is {run}.")
        account.open_entries += 1
        if restored is not None:
            account.lives[number] = Life(number)
        elif not account.lives:
            self.tell(f"Entry {number} comes before its tool was received.")
            return
        else:
            counted = account.lives.get(life)
            if counted is None:
                self.tell(f"Entry {number} belongs to no life of its tool.")
                return
            counted.add(kind, amounts)
        if run is not None:
            self.run_entries[run] += 1
            self.open_of_run[run] += 1
            if run not in self._run_parts:
                self.tell(f"Entry {number} is an orphan: there is no run {run}.")
        if kind != "used":
            named = dict(zip(READ, row, strict=False))
            _note(account, number, named)
            if named["of_order"] is not None:
                article = model_name(account.tool, account.profile)
                self.orders.arrive(number, named["of_order"], article)

    def _reverse(
        self, number: int, row: Any, piece: int, row_life: int | None, amounts: Amounts
    ) -> None:
        target = row[READ.index("reverses")]
        undone = self._undone.get(target)
        if undone is None or target == number:
            self.tell(f"Entry {number} is an orphan: it reverses {target}, which is not before it.")
            return
        if undone.piece != piece or undone.kind == "reversed" or target in self.reversed:
            self.tell(f"Entry {number} cannot reverse entry {target}.")
            return
        if amounts != tuple(None if v is None else -v for v in undone.amounts):
            self.tell(f"Entry {number} is not the exact opposite of entry {target}.")
        self.reversed.add(target)
        if undone.run is not None:
            self.open_of_run[undone.run] -= 1
        self.orders.undo(number, target)
        if piece not in self.accounts:
            return
        account = self.accounts[piece]
        account.open_entries -= 1
        for kept in (account.retired, account.diameters, account.mounts):
            kept.pop(target, None)
        began = account.lives.get(target)
        if began is not None:
            began.valid = False
            return
        life = None if undone.life is None else account.lives.get(undone.life)
        if life is None or row_life != life.entry:
            self.tell(f"Entry {number} counts in another life than entry {target}.")
            return
        life.add(undone.kind, amounts, -1)


def _note(account: Account, number: int, row: Mapping[str, Any]) -> None:
    """Note what an entry other than use says of its piece."""
    if row["kind"] == "retired":
        account.retired[number] = row["reason"]
    if row["diameter_nm"] is not None:
        account.diameters[number] = (row["at"], number, row["diameter_nm"])
    if row["kind"] == "mounted":
        account.mounts[number] = (row["pocket"], row["machine"])
