"""What the ledger tells a forecast: pieces at hand, and how long such pieces last."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.forecast.lives import LifeLaw
from edgetime.forecast.model import Stock
from edgetime.life import fit_lives

if TYPE_CHECKING:
    from collections.abc import Iterable

    from edgetime.ledger import LifeRecord, PieceBalance


def stock_at_hand(balances: Iterable[PieceBalance]) -> dict[str, Stock]:
    """Count the pieces at hand by article.

    Parameters
    ----------
    balances : iterable of PieceBalance
        As the ledger gives them.

    Returns
    -------
    dict
        Article (``tool`` or ``tool/profile``) → stock. Pieces that were used and lie on the
        shelf count as those in the rack do; a wheel restored to less than a new one's life
        counts as used by the difference.
    """
    new: dict[str, int] = {}
    used: dict[str, list[float]] = {}
    for balance in balances:
        if balance.state == "retired":
            continue
        so_far = (balance.share or 0.0) + 1.0 - balance.restored
        if balance.state == "new" or so_far <= 0.0:
            new[balance.model] = new.get(balance.model, 0) + 1
        else:
            used.setdefault(balance.model, []).append(so_far)
    return {
        model: Stock(new=new.get(model, 0), used=tuple(sorted(used.get(model, ()))))
        for model in sorted(new.keys() | used.keys())
    }


def life_laws(records: Iterable[LifeRecord]) -> dict[str, LifeLaw]:
    """Fit the life of every tool that has records.

    Parameters
    ----------
    records : iterable of LifeRecord
        As the ledger gives them.

    Returns
    -------
    dict
        Tool → law.
    """
    return {tool: LifeLaw.of_fit(fit) for tool, fit in fit_lives(records).items()}
