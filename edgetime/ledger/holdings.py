"""What a shop holds on a day: entries taken in one by one, in the order of their days."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from typing import Any, Final, NamedTuple

from edgetime.ledger.amounts import ADDED, BY_NAME, MEASURES
from edgetime.ledger.records import ORDER_KINDS, Kind, model_name

Row = Mapping[Any, Any]

SHARES: Final = tuple(BY_NAME[m.share].column for m in MEASURES)
ANY: Final = BY_NAME["share_any"].column
USE: Final = frozenset({Kind.USED.value, Kind.ADJUSTED.value})
"""Kinds of entries that add to what a piece has used."""
_NO_PIECES: Final = ORDER_KINDS | {Kind.REVERSED}

_E12: Final = 10**12
_MICRO: Final = Decimal("1e-6")


def greatest_share(columns: Mapping[Any, Any]) -> int | None:
    """Return the share of life by the measure that ends first [10⁻¹²]; None where none is held."""
    own = [int(columns[name]) for name in SHARES if columns[name] is not None]
    common = columns[ANY]
    if not own:
        return None if common is None else int(common)
    return max(own) + int(common or 0)


@dataclass(slots=True)
class Life:
    """One life of a piece, from new or reprofiled, and what was used of it.

    Attributes
    ----------
    began : Row
        The entry that began it.
    price : Decimal or None
        Paid for it: for the reprofiling, otherwise for the piece.
    currency : str or None
        Of the price.
    sums : dict of str to int or None
        What was used, by column of the database.
    uses : int
        Entries that add to it.
    """

    began: Row
    price: Decimal | None
    currency: str | None
    sums: dict[str, int | None] = field(
        default_factory=lambda: dict.fromkeys(a.column for a in ADDED)
    )
    uses: int = 0

    @property
    def left(self) -> Decimal | None:
        """Life left [-], at least 0; None where it was used and no life is stated."""
        share = greatest_share(self.sums)
        if share is None and self.uses:
            return None
        return Decimal(max(0, int(self.began["restored_e12"]) - (share or 0))) / _E12

    @property
    def value(self) -> Decimal | None:
        """What is left of the price paid; None without a price or a stated life."""
        left = self.left
        if self.price is None or left is None:
            return None
        with localcontext() as context:
            context.prec = 60
            return (self.price * left).quantize(_MICRO, ROUND_HALF_EVEN)

    @property
    def written_off(self) -> Decimal | None:
        """What was paid for it less what was charged from it, once it has ended.

        Negative where more was charged: it outlived the life stated, or nothing was paid for a
        reprofiling. None where what was paid is not known.
        """
        new = self.began["kind"] == Kind.RECEIVED.value
        if self.currency is None or (new and self.price is None):
            return None
        paid = int(self.began["price_e6"] or 0)
        return Decimal(paid - int(self.sums[BY_NAME["cost"].column] or 0)).scaleb(-6)


@dataclass(slots=True)
class Piece:
    """A piece, its lives so far, and where it is.

    Attributes
    ----------
    received : Row
        The entry of its receipt.
    restorings : list of int
        Numbers of the entries that begin its lives, of all its days.
    lives : dict of int to Life
        By the number of the entry that began it.
    current : int
        The life it is in.
    """

    received: Row
    restorings: list[int]
    lives: dict[int, Life] = field(default_factory=dict)
    current: int = 0

    @property
    def model(self) -> str:
        """``tool``, or ``tool/profile``."""
        return model_name(self.received["tool"], self.received["profile"])

    def life_of(self, row: Row) -> int:
        """Return the life that an entry counts in: a reprofiling that was reversed began none."""
        at = bisect_right(self.restorings, row["life"])
        return self.restorings[max(0, at - 1)]


class Ended(NamedTuple):
    """A life that has ended: the piece, the life, and the entry that ended it."""

    piece: Piece
    life: Life
    end: Row


class Holdings:
    """What a shop holds, as far as the entries taken in tell.

    Parameters
    ----------
    rows : sequence of Row
        All entries that were not reversed, by day.
    """

    def __init__(self, rows: Sequence[Row]) -> None:
        self.pieces: dict[int, Piece] = {}
        self.ended: list[Ended] = []
        self._held: set[int] = set()
        self._mounts: dict[int, tuple[str | None, int]] = {}
        restorings: dict[int, list[int]] = {}
        for row in rows:
            if row["restored_e12"] is not None:
                restorings.setdefault(row["piece"], []).append(row["id"])
        for row in rows:
            if row["kind"] == Kind.RECEIVED.value:
                self.pieces[row["piece"]] = Piece(row, sorted(restorings[row["piece"]]))
                self._begin(self.pieces[row["piece"]], row)

    def _begin(self, piece: Piece, row: Row) -> None:
        # A reprofiling's price is that of the life it begins; otherwise the piece's own counts.
        paid = piece.received if row["price_e6"] is None else row
        price = BY_NAME["price"].exact(paid["price_e6"])
        piece.current = row["id"]
        piece.lives.setdefault(row["id"], Life(row, price, paid["currency"]))

    def take(self, row: Row) -> None:
        """Take in the next entry."""
        number, kind = row["piece"], row["kind"]
        piece = self.pieces[number]
        if kind == Kind.RECEIVED.value:
            self._held.add(number)
        elif kind == Kind.MOUNTED.value:
            self._mount(number, row)
        elif kind == Kind.REPROFILED.value:
            self.ended.append(Ended(piece, piece.lives[piece.current], row))
            self._begin(piece, row)
        elif kind == Kind.RETIRED.value:
            self.ended.append(Ended(piece, piece.lives[piece.current], row))
            self._held.discard(number)
            self._mounts.pop(number, None)
        elif kind in USE:
            life = piece.lives.get(piece.life_of(row)) or piece.lives[piece.current]
            life.uses += 1
            for name in life.sums:
                if row[name] is not None:
                    life.sums[name] = (life.sums[name] or 0) + int(row[name])

    def _mount(self, number: int, row: Row) -> None:
        pocket, machine = row["pocket"], row["machine"]
        self._mounts.pop(number, None)
        if pocket is None:
            return
        # A machine that was not stated may be any, so its pocket is every machine's.
        for other, (on, place) in list(self._mounts.items()):
            if place == pocket and (on == machine or on is None or machine is None):
                del self._mounts[other]
        self._mounts[number] = (machine, pocket)

    def machine_of(self, number: int) -> str | None:
        """Return the machine in whose rack a piece is; None for no rack, or none stated."""
        return self._mounts.get(number, (None, 0))[0]

    def stock(self) -> Iterator[tuple[int, Piece]]:
        """Yield the pieces that are not retired, with the numbers of their receipts."""
        for number in sorted(self._held):
            yield number, self.pieces[number]


def not_reversed(rows: Iterable[Row]) -> list[Row]:
    """Return the entries of pieces that stand, in the order of their days."""
    rows = list(rows)
    undone = {row["reverses"] for row in rows if row["reverses"] is not None}
    left = (r for r in rows if r["id"] not in undone and r["kind"] not in _NO_PIECES)
    return sorted(left, key=lambda r: (r["at"], r["id"]))
