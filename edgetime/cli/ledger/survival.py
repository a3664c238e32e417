"""The mounted tools of a ledger beside a load: do they finish it, and what is left of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.cli.options import find_shop_folder

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.ledger import LifeRecord, PieceBalance
    from edgetime.life import Survival
    from edgetime.tooling import Catalogue

Books = tuple[str | None, "tuple[PieceBalance, ...] | None", "tuple[LifeRecord, ...]"]


def is_there(ledger: str | None, shop: str | None) -> bool:
    """Return whether a ledger is named, or the shop has one of its own."""
    folder = find_shop_folder(shop)
    return ledger is not None or (folder is not None and (folder / "ledger.sqlite").exists())


def _books(ledger: str | None, shop: str | None, catalogue: Catalogue) -> Books:
    if not is_there(ledger, shop):
        return None, None, ()
    from edgetime.ledger import open_ledger  # noqa: PLC0415  brings the database library

    folder = find_shop_folder(shop)
    with open_ledger(ledger, shop=folder, create=False, catalogue=catalogue) as books:
        return books.name, books.balances(), books.lives()


def survival_of(
    est: Estimate, ledger: str | None, shop: str | None, *, least_chance: float
) -> tuple[str | None, Survival]:
    """Return the ledger's name, and whether the tools mounted by it finish a load.

    Parameters
    ----------
    est : Estimate
        Of the load.
    ledger, shop : str or None
        As given with ``--ledger`` and ``--shop``; without any ledger new tools are assumed.
    least_chance : float
        Minimum chance to finish [-].
    """
    name, balances, lives = _books(ledger, shop, est.load.catalogue)
    from edgetime.life import fit_lives, survive  # noqa: PLC0415  of no use to --help

    used = {t.tool for t in est.wear.tools}
    fits = fit_lives(r for r in lives if r.tool in used)
    return name, survive(est.wear, balances, fits, least_chance=least_chance)
