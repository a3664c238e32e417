"""The price list: every profile in every stone and thickness, per metre and per foot."""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import partial
from typing import ClassVar, Final, NamedTuple

from edgetime.errors import NothingToCut, PlanError, UsageError, Where
from edgetime.estimating import estimate_take_off
from edgetime.explained import Explained
from edgetime.findings import Finding
from edgetime.load import Options
from edgetime.load.make_load import stack_serves
from edgetime.price import codes
from edgetime.price.formulas import FOOT, Exact, figure, used
from edgetime.price.money import AMOUNT, EXACT, NUMBER
from edgetime.price.price_load import price_loads
from edgetime.price.quote import KINDS, Quote, chosen
from edgetime.price.rates import Rates
from edgetime.price.reference_parts import GAP_MM, room_mm, straight_edges
from edgetime.records import HIDDEN, written
from edgetime.tooling import Catalogue, Machine, Profile, Stack, Stone
from edgetime.tooling.suggest import suggest

EDGE_MM: Final = 2500.0
EDGES: Final = 4
"""What a line is priced on: straight edges of this length [mm], each on a separate part, on as
many tables as they take."""

_NOT_OF_A_LIST: Final = (codes.MINIMUM_CHARGED, codes.SEVERAL_LOADS)
"""Findings about one job: a list has no minimum, and says how many loads its edges take."""

LIST_GROUPS: Final = {
    "machine": ("machine", "power", "water"),
    "labour": ("labour",),
    "tools": ("tools",),
    "hand": ("hand",),
    "other": ("material", "remakes"),
    "overhead": ("overhead",),
    "margin": ("margin",),
}
"""Column of the list → kinds of cost of a quote that it holds."""


def _numbers(shares: Mapping[str, Decimal]) -> dict[str, float]:
    return {name: float(share) for name, share in shares.items()}


class Reference(NamedTuple):
    """What every line of a list is priced on.

    Attributes
    ----------
    edge_mm : float
        Length of a reference edge [mm].
    edges : int
        Reference edges.
    loads : int
        Tables they take, each a separate load.
    """

    edge_mm: float
    edges: int
    loads: int

    @property
    def metres(self) -> Decimal:
        """Edge in all [m]."""
        return Decimal(repr(self.edge_mm)) * self.edges / 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One combination.

    Attributes
    ----------
    profile, stone, stack : str
        Names; no stack where none suits.
    thickness_mm : float
        Nominal [mm].
    per_m, per_ft : Decimal or None
        Price, rounded as the shop rounds; None where it cannot be made.
    machine_s_per_m : Decimal or None
        Machine cycle [s/m].
    shares : dict
        ``machine`` (with power and water), ``labour``, ``tools``, ``hand``, ``other`` (material
        of the bench, remakes), ``overhead``, ``margin`` [-]; they add up to 1.
    why_not : str or None
        Why there is no price.
    quote : Quote or None
        Of the reference loads.
    figures : dict
        Name → figure, for ``--explain``: the line's own, and those they come of.
    """

    profile: str
    stone: str
    thickness_mm: float
    stack: str | None
    per_m: Decimal | None = field(default=None, metadata=AMOUNT)
    per_ft: Decimal | None = field(default=None, metadata=AMOUNT)
    machine_s_per_m: Decimal | None = field(default=None, metadata=NUMBER)
    shares: dict[str, Decimal] = field(metadata=written(write=_numbers))
    why_not: str | None = None
    quote: Quote | None = field(default=None, metadata=HIDDEN)
    figures: dict[str, Exact] = field(default_factory=dict, metadata=HIDDEN)


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
    reference : Reference
        The edges each line is priced on.
    rows : tuple of Row
        By stone, thickness, profile.
    findings : tuple of Finding
        What is assumed and what is not in the prices.
    """

    SCHEMA: ClassVar[str] = "edgetime.price-list/1"

    currency: str
    locale: str = field(metadata=HIDDEN)
    machine: str
    tax_included: bool
    reference: Reference
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]

    @property
    def priced(self) -> tuple[Row, ...]:
        """The combinations that can be made."""
        return tuple(row for row in self.rows if row.quote is not None)

    def explain(self, name: str) -> tuple[Exact, ...]:
        """Return a figure of the only line; all of them for ``all``.

        Parameters
        ----------
        name : str
            ``profile:eased/m``, ``profile:eased/ft``, ``share:machine``, or what they come of:
            ``price``, ``machine``, ``tools`` and others of the reference loads.

        Raises
        ------
        UsageError
            The list has several lines with a price, or none, or no figure of that name.
        """
        rows = self.priced
        if len(rows) != 1:
            raise UsageError(
                f"The list has {len(rows)} prices; one at a time can be explained.",
                where=Where(key="--explain"),
                remedy="Choose it with --stone, --profile and --thickness.",
            )
        return chosen(rows[0].figures, name, "line")


_OF_A_LOAD: Final = ("machine-rate", *KINDS, "cost", "price")
"""Figures of a quote that a line comes of; a list has no minimum, and no total to round."""


def _figures(quote: Quote, profile: str, metres: Decimal, rates: Rates) -> dict[str, Exact]:
    """Make the figures of a line: its prices, its shares, and those they come of."""
    out = {
        name: made
        for name, made in quote.figures.items()
        if name in _OF_A_LOAD or name.startswith("tools:")
    }

    def ref(name: str) -> Exact:
        return used(out[name])

    exact = "price / metres"
    facts = [ref("price"), Explained("metres", metres, "m", "edge of the reference loads")]
    if rates.own.tax_included:
        exact += " * (1 + tax_rate)"
        facts.append(rates.by_name["tax_rate"])
    step = rates.by_name["step"]
    rule = f"round_{rates.own.rounding.replace('-', '_')}"
    lines = (("m", exact, facts), ("ft", f"{exact} * foot", [*facts, FOOT]))
    for per, formula, factors in lines:
        name = f"profile:{profile}/{per}"
        unit = f"{rates.currency}/{per}"
        out[name] = figure(
            name, unit, f"{rule}({formula}, step)", [*factors, step], "without the minimum charge"
        )
    for group, kinds in LIST_GROUPS.items():
        formula, factors = "0", []
        if out["price"].value:
            whole = " + ".join(kinds)
            formula = f"({whole}) / price" if len(kinds) > 1 else f"{whole} / price"
            factors = [ref(kind) for kind in (*kinds, "price")]
        out[f"share:{group}"] = figure(f"share:{group}", "-", formula, factors)
    return out


def serving_stack(
    catalogue: Catalogue, stone: Stone, thickness_mm: float, preferred: str
) -> Stack | None:
    """Return a stack that serves a stone in a thickness: the preferred one, else by name.

    Parameters
    ----------
    catalogue : Catalogue
        With its stacks.
    stone : Stone
        What is cut.
    thickness_mm : float
        Nominal [mm].
    preferred : str
        Name of the stack to use if it suits.
    """
    names = sorted(catalogue.stacks, key=lambda name: (name != preferred, name))
    stacks = (catalogue.stacks[name] for name in names)
    return next((s for s in stacks if stack_serves(s, stone, thickness_mm)), None)


def _row(
    catalogue: Catalogue, options: Options, profile: Profile, stone: Stone, thickness_mm: float,
    edge_mm: float, edges: int, machine: Machine,
) -> Row:  # fmt: skip
    preferred = options.stack or catalogue.shop.stack
    stack = serving_stack(catalogue, stone, thickness_mm, preferred)

    row = partial(
        Row,
        profile=profile.name,
        stone=stone.name,
        thickness_mm=thickness_mm,
        stack=None if stack is None else stack.name,
    )
    tables = straight_edges(profile.name, edge_mm, edges, machine)
    if stack is None:
        return row(shares={}, why_not="no stack")
    if not profile.made_here:
        return row(shares={}, why_not="made elsewhere")
    if profile.sections and not any(abs(t - thickness_mm) < 1.0 for t in profile.sections):
        return row(shares={}, why_not="no section")
    own = replace(options, stone=stone.name, stack=stack.name, thickness_mm=thickness_mm)
    try:
        estimates = [estimate_take_off(t, catalogue, own) for t in tables]
        quote = price_loads(estimates)
    except PlanError as error:
        why = "no step" if isinstance(error, NothingToCut) else error.code
        return row(shares={}, why_not=why)
    with decimal.localcontext(EXACT):
        metres = Decimal(repr(edge_mm)) * edges / 1000
        rates = Rates(catalogue, estimates)
        figures = _figures(quote, profile.name, metres, rates)
        per_m, per_ft = (
            figures[f"profile:{profile.name}/{per}"].value.quantize(rates.unit)
            for per in ("m", "ft")
        )
        return row(
            per_m=per_m,
            per_ft=per_ft,
            machine_s_per_m=quote.machine_s / metres,
            shares={name: figures[f"share:{name}"].value for name in LIST_GROUPS},
            quote=quote,
            figures=figures,
        )


def _check_edge(edge_mm: float, machine: Machine) -> None:
    room = room_mm(machine)
    if edge_mm > room:
        raise UsageError(
            f"A reference edge of {edge_mm / 1000.0:g} m does not fit machine {machine.name}: "
            f"its table is {machine.table_mm[0] / 1000.0:g} m long, and {GAP_MM / 1000.0:g} m are "
            f"left at each end for the tools.",
            where=Where(key="--edge"),
            remedy=f"Give a length of at most {room / 1000.0:g} m, or name a larger machine.",
        )


def _known(what: str, name: str | None, records: Iterable[str]) -> None:
    known = sorted(records)
    if name is not None and name not in known:
        where = Where(key=f"--{what}")
        raise UsageError(f"No {what} {name!r}.", where=where, remedy=suggest(name, known))


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

    Each combination is priced by itself: straight edges on parts of 600 mm depth, on as many
    tables as they take, each a load with all that it takes: tool changes, leads, loading and
    unloading, set-up. It is planned, timed and worn as any other load. The minimum charge is
    left out; the tax is in it where the shop shows prices with it.

    Parameters
    ----------
    catalogue : Catalogue
        The shop.
    options : Options, optional
        Machine, preferred stack, feed override.
    edge_mm : float
        Length of one edge [mm].
    edges : int
        Edges in all.
    stone, profile : str, optional
        Only these.
    thickness_mm : float, optional
        Only this nominal thickness [mm].

    Returns
    -------
    PriceList
        Combinations that cannot be made are in it with the reason.

    Raises
    ------
    UsageError
        A name is not known, or an edge is longer than the table takes.
    CatalogueInvalid
        Prices are in two currencies.
    """
    options = options or Options()
    shop = catalogue.shop
    name = options.machine or shop.machine
    _known("machine", name, catalogue.machines)
    machine = catalogue.machines[name]
    _known("stack", options.stack, catalogue.stacks)
    _known("stone", stone, catalogue.stones)
    _check_edge(edge_mm, machine)
    profiles = {n: p for n, p in catalogue.profiles.items() if p.family != "none"}
    _known("profile", profile, profiles)
    thicknesses = {t for s in catalogue.stacks.values() for t in s.thicknesses_mm}
    listed = {shop.thickness_mm, *thicknesses} if thickness_mm is None else {thickness_mm}
    rows = [
        _row(catalogue, options, one, rock, thickness, edge_mm, edges, machine)
        for rock in catalogue.stones.values()
        if stone in {None, rock.name}
        for thickness in sorted(listed)
        for one in profiles.values()
        if profile in {None, one.name}
    ]
    priced = [row.quote for row in rows if row.quote is not None]
    return PriceList(
        currency=priced[0].currency if priced else shop.price.currency,
        locale=shop.price.locale,
        machine=name,
        tax_included=shop.price.tax_included,
        reference=Reference(
            edge_mm, edges, len(straight_edges(next(iter(profiles)), edge_mm, edges, machine))
        ),
        rows=tuple(rows),
        findings=tuple(
            dict.fromkeys(f for q in priced for f in q.findings if f.kind not in _NOT_OF_A_LIST)
        ),
    )
