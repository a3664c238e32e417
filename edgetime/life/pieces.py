"""Which of the pieces on hand works next, and how much of its life is gone."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from edgetime.ledger import PieceBalance


def life_used(piece: PieceBalance) -> float:
    """Return how much of a piece's life is gone [catalogue lives].

    What it was used for, and what was missing when its life was last restored: a wheel
    reprofiled to 70 % begins at 0.3.

    Parameters
    ----------
    piece : PieceBalance
        As the ledger gives it.
    """
    return (piece.share or 0.0) + max(0.0, 1.0 - piece.restored)


class Alike(NamedTuple):
    """The pieces of one article that a shop has.

    Attributes
    ----------
    mounted : list of PieceBalance
        By pocket, the lowest first: that is the one a program calls, and the one that
        posting a run charges.
    spare : list of PieceBalance
        Not mounted, the least used first.
    """

    mounted: list[PieceBalance]
    spare: list[PieceBalance]

    @property
    def working(self) -> PieceBalance | None:
        """The piece that does the next run."""
        return self.mounted[0] if self.mounted else None

    @property
    def unused(self) -> int:
        """Spare pieces with their whole life."""
        return sum(life_used(piece) <= 0.0 for piece in self.spare)


def pieces_on_hand(balances: Iterable[PieceBalance]) -> dict[str, Alike]:
    """Sort the pieces that are not retired by article: ``tool``, or ``tool/profile``.

    Parameters
    ----------
    balances : iterable of PieceBalance
        As the ledger gives them.
    """
    found: dict[str, Alike] = {}
    for piece in balances:
        if piece.state == "retired":
            continue
        alike = found.setdefault(piece.model, Alike([], []))
        (alike.spare if piece.pocket is None else alike.mounted).append(piece)
    for alike in found.values():
        alike.mounted.sort(key=lambda p: p.pocket or 0)
        alike.spare.sort(key=life_used)
    return found
