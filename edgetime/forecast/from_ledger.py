"""What the ledger knows that a forecast needs: the stock, and how long such pieces last."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from edgetime.findings import Finding
from edgetime.forecast.records import Arrival, Stock
from edgetime.life import LifeDistribution, fit_lives
from edgetime.life.pieces import life_used, pieces_on_hand

if TYPE_CHECKING:
    from collections.abc import Iterable

    from edgetime.ledger import Entry, Ledger, OrderBalance, PieceBalance


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
    posted : mapping of str to sequence of date
        Days of the runs that were posted, by the load's name.
    findings : tuple of Finding
        Of how they were found.
    """

    name: str | None = None
    stock: Mapping[str, Stock] = field(default_factory=dict)
    lives: Mapping[str, LifeDistribution] = field(default_factory=dict)
    posted: Mapping[str, Sequence[date]] = field(default_factory=dict)
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
    stock = stock_on_hand(ledger.balances())
    return Books(
        name=ledger.name,
        stock=with_orders(stock, ledger.orders()),
        lives=fit_lives(record for record in ledger.lives() if record.tool in tools),
        posted=posted_runs(ledger.history()),
    )


def with_orders(stock: Mapping[str, Stock], orders: Iterable[OrderBalance]) -> dict[str, Stock]:
    """Add what is outstanding of orders to the stock, as on the way.

    Parameters
    ----------
    stock : mapping of str to Stock
        By article.
    orders : iterable of OrderBalance
        As the ledger gives them.
    """
    found = dict(stock)
    for order in orders:
        if order.outstanding:
            there = found.get(order.model, Stock())
            coming = Arrival(day=order.expected, pieces=order.outstanding, order=order.number)
            found[order.model] = replace(there, on_order=(*there.on_order, coming))
    return found


def posted_runs(entries: Iterable[Entry]) -> dict[str, list[date]]:
    """Return the days of the runs that were posted and not reversed, by the load's name.

    Parameters
    ----------
    entries : iterable of Entry
        As the ledger gives them; a run has one for each of its pieces.
    """
    days: dict[tuple[str, int | None], date] = {}
    for entry in entries:
        if entry.kind == "used" and entry.load and entry.reversed_by is None:
            days[entry.load, entry.run] = entry.at.date()
    found: dict[str, list[date]] = {}
    for (load, _), day in days.items():
        found.setdefault(load, []).append(day)
    return {load: sorted(own) for load, own in found.items()}


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
