"""What the ledger knows that a forecast needs: the stock, and how long such pieces last."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from edgetime.findings import Finding
from edgetime.forecast.records import Stock
from edgetime.life import LifeDistribution, fit_lives
from edgetime.life.pieces import life_used, pieces_on_hand

if TYPE_CHECKING:
    from collections.abc import Iterable

    from edgetime.ledger import Ledger, PieceBalance


@dataclass(frozen=True, kw_only=True)
class Books:
    """Stock and tool lives, from a ledger or assumed.

    Attributes
    ----------
    name : str or None
        The ledger; None without one.
    stock : mapping of str to Stock
        By article; nothing for those missing.
    lives : mapping of str to LifeDistribution
        By tool; for those missing, what is assumed before any retirement.
    findings : tuple of Finding
        Of how they were found.
    """

    name: str | None = None
    stock: Mapping[str, Stock] = field(default_factory=dict)
    lives: Mapping[str, LifeDistribution] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def read_books(ledger: Ledger, tools: Collection[str]) -> Books:
    """Read the stock, and fit the lives of some tools to the pieces that ended.

    Parameters
    ----------
    ledger : Ledger
        Open.
    tools : collection of str
        Names of the tools to fit.
    """
    return Books(
        name=ledger.name,
        stock=stock_on_hand(ledger.balances()),
        lives=fit_lives(record for record in ledger.lives() if record.tool in tools),
    )


def stock_on_hand(balances: Iterable[PieceBalance]) -> dict[str, Stock]:
    """Count the pieces on hand by article.

    Parameters
    ----------
    balances : iterable of PieceBalance
        As the ledger gives them.

    Returns
    -------
    dict
        Article (``tool`` or ``tool/profile``) → stock. A part-used piece counts with what is
        left of it, in the rack or on the shelf, mounted before or not.
    """
    stock = {}
    for article, alike in sorted(pieces_on_hand(balances).items()):
        used = sorted(life_used(piece) for piece in (*alike.mounted, *alike.spare))
        stock[article] = Stock(
            new=sum(share <= 0.0 for share in used),
            used=tuple(share for share in used if share > 0.0),
        )
    return stock
