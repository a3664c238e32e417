"""The price list: every profile in every stone and thickness, per metre and per foot."""

from __future__ import annotations

import decimal
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches
from typing import Any, Final

from edgetime.errors import NothingToCut, PlanError, UsageError, Where
from edgetime.estimating import Options, estimate_take_off
from edgetime.findings import Finding
from edgetime.price import codes
from edgetime.price.imagined import straight_edges
from edgetime.price.model import Quote
from edgetime.price.money import EXACT, rounded
from edgetime.price.offers import serving_stack
from edgetime.price.quote import price_load
from edgetime.price.sheet import Figure
from edgetime.tooling.model import Catalogue, Profile, Stone

__all__ = ["EDGES", "EDGE_MM", "PriceList", "Row", "price_list"]

EDGE_MM: Final = 2500.0
EDGES: Final = 4
"""The reference load: so many straight edges of this length [mm], each on a part of its own."""

FOOT: Final = Decimal("0.3048")

_GROUPS: Final = {
    "machine": ("machine", "power", "water"),
    "labour": ("labour",),
    "tools": ("tools",),
    "hand": ("hand",),
    "overhead": ("overhead",),
    "margin": ("margin",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One combination.

    Attributes
    ----------
    profile, stone, stack : str
        Names; stack ``""`` where none serves.
    thickness_mm : float
        Nominal [mm].
    per_m, per_ft : Decimal or None
        Price, rounded as the shop rounds; None where it cannot be made.
    seconds_per_m : Decimal or None
        Machine cycle [s/m].
    shares : dict
        ``machine`` (with power and water), ``labour``, ``tools``, ``hand``, ``overhead``,
        ``margin`` [-]; they add up to 1.
    why_not : str
        Why there is no price.
    quote : Quote or None
        Of the reference load, for ``--explain``.
    """

    profile: str
    stone: str
    thickness_mm: float
    stack: str
    per_m: Decimal | None = None
    per_ft: Decimal | None = None
    seconds_per_m: Decimal | None = None
    shares: dict[str, Decimal]
    why_not: str = ""
    quote: Quote | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "profile": self.profile,
            "stone": self.stone,
            "thickness_mm": self.thickness_mm,
            "stack": self.stack or None,
            "per_m": None if self.per_m is None else f"{self.per_m:f}",
            "per_ft": None if self.per_ft is None else f"{self.per_ft:f}",
            "machine_s_per_m": None if self.seconds_per_m is None else float(self.seconds_per_m),
            "shares": {name: float(share) for name, share in self.shares.items()},
            "why_not": self.why_not or None,
        }


@dataclass(frozen=True, eq=False, kw_only=True)
class PriceList:
    """All combinations of a shop.

    Attributes
    ----------
    currency, locale : str
        As of :class:`edgetime.price.Quote`.
    machine : str
        Name.
    tax_included : bool
        Prices hold the tax.
    edge_mm : float
        Length of a reference edge [mm].
    edges : int
        Edges of the reference load.
    rows : tuple of Row
        By stone, thickness, profile.
    findings : tuple of Finding
        What is assumed and what is not in the prices.
    """

    currency: str
    locale: str
    machine: str
    tax_included: bool
    edge_mm: float
    edges: int
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]

    def explain(self, name: str) -> tuple[Figure, ...]:
        """Return a figure of the reference load of the only line; all of them for ``all``.

        Parameters
        ----------
        name : str
            As :meth:`edgetime.price.Quote.explain` takes it.

        Raises
        ------
        UsageError
            The list has several lines with a price, or none, or no figure of that name.
        """
        quotes = [row.quote for row in self.rows if row.quote is not None]
        if len(quotes) != 1:
            raise UsageError(
                f"The list has {len(quotes)} prices; one at a time can be explained.",
                where=Where(key="--explain"),
                remedy="Choose it with --stone, --profile and --thickness.",
            )
        return quotes[0].explain(name)

    def as_dict(self) -> dict[str, Any]:
        """Return the ``edgetime.price-list/1`` document."""
        return {
            "schema": "edgetime.price-list/1",
            "currency": self.currency,
            "machine": self.machine,
            "tax_included": self.tax_included,
            "reference": {"edge_mm": self.edge_mm, "edges": self.edges},
            "rows": [row.as_dict() for row in self.rows],
            "findings": [f.as_dict() for f in self.findings],
        }


def _shares(quote: Quote) -> dict[str, Decimal]:
    price = quote.figures["price"].value
    with decimal.localcontext(EXACT):
        return {
            name: sum((quote.figures[kind].value for kind in kinds), Decimal(0)) / price
            if price
            else Decimal(0)
            for name, kinds in _GROUPS.items()
        }


def _row(
    catalogue: Catalogue, options: Options, profile: Profile, stone: Stone, thickness_mm: float,
    edge_mm: float, edges: int,
) -> Row:  # fmt: skip
    preferred = options.stack or catalogue.shop.stack
    stack = serving_stack(catalogue, stone, thickness_mm, preferred)

    def without(why: str) -> Row:
        return Row(
            profile=profile.name,
            stone=stone.name,
            thickness_mm=thickness_mm,
            stack="" if stack is None else stack.name,
            shares={},
            why_not=why,
        )

    if stack is None:
        return without("no stack")
    if not profile.made_here:
        return without("made elsewhere")
    if profile.sections and not any(abs(t - thickness_mm) < 1.0 for t in profile.sections):
        return without("no section")
    own = replace(options, stone=stone.name, stack=stack.name, thickness_mm=thickness_mm)
    try:
        est = estimate_take_off(straight_edges(profile.name, edge_mm, edges), catalogue, own)
        quote = price_load(est)
    except NothingToCut:
        return without("no step")
    except PlanError as error:
        return without(error.code)
    rates = catalogue.shop.price
    with decimal.localcontext(EXACT):
        metres = Decimal(repr(edge_mm)) * edges / 1000
        per_m = quote.figures["price"].value / metres
        if rates.tax_included:
            per_m *= 1 + rates.tax
        unit = rates.round_to
        return Row(
            profile=profile.name,
            stone=stone.name,
            thickness_mm=thickness_mm,
            stack=stack.name,
            per_m=rounded(per_m, unit, rates.rounding),
            per_ft=rounded(per_m * FOOT, unit, rates.rounding),
            seconds_per_m=quote.machine_s / metres,
            shares=_shares(quote),
            quote=quote,
        )


def _known(what: str, name: str | None, records: Iterable[str]) -> None:
    known = sorted(records)
    if name is not None and name not in known:
        near = get_close_matches(name, known, n=1)
        hint = f"Did you mean {near[0]!r}? " if near else ""
        raise UsageError(
            f"No {what} {name!r}.",
            where=Where(key=f"--{what}"),
            remedy=f"{hint}Known: {', '.join(known)}.",
        )


def price_list(
    catalogue: Catalogue,
    options: Options | None = None,
    *,
    edge_mm: float = EDGE_MM,
    edges: int = EDGES,
    stone: str | None = None,
    profile: str | None = None,
    thickness_mm: float | None = None,
) -> PriceList:
    """Price every profile in every stone and thickness of a shop.

    Each combination is a load of its own: straight edges on parts of 600 mm depth, with all
    that a load takes: tool changes, leads, loading and unloading, set-up. It is planned, timed
    and worn as any other load. The minimum charge is left out; the tax
    is in it where the shop shows prices with it.

    Parameters
    ----------
    catalogue : Catalogue
        The shop.
    options : Options, optional
        Machine, preferred stack, feed override.
    edge_mm : float
        Length of one edge [mm].
    edges : int
        Edges of a load.
    stone, profile : str, optional
        Only these.
    thickness_mm : float, optional
        Only this nominal thickness [mm].

    Returns
    -------
    PriceList
        Combinations that cannot be made stand in it and say why.

    Raises
    ------
    UsageError
        A name is not known.
    CatalogueInvalid
        Prices stand in two currencies.
    """
    options = options or Options()
    shop = catalogue.shop
    name = options.machine or shop.machine
    _known("machine", name, catalogue.machines)
    _known("stack", options.stack, catalogue.stacks)
    _known("stone", stone, catalogue.stones)
    profiles = {n: p for n, p in catalogue.profiles.items() if p.family != "none"}
    _known("profile", profile, profiles)
    thicknesses = {t for s in catalogue.stacks.values() for t in s.thicknesses_mm}
    chosen = {shop.thickness_mm, *thicknesses} if thickness_mm is None else {thickness_mm}
    rows = [
        _row(catalogue, options, one, rock, thickness, edge_mm, edges)
        for rock in catalogue.stones.values()
        if stone in {None, rock.name}
        for thickness in sorted(chosen)
        for one in profiles.values()
        if profile in {None, one.name}
    ]
    priced = [row.quote for row in rows if row.quote is not None]
    return PriceList(
        currency=priced[0].currency if priced else shop.price.currency,
        locale=shop.price.locale,
        machine=name,
        tax_included=shop.price.tax_included,
        edge_mm=edge_mm,
        edges=edges,
        rows=tuple(rows),
        findings=tuple(
            dict.fromkeys(
                f for q in priced for f in q.findings if f.kind is not codes.MINIMUM_CHARGED
            )
        ),
    )
