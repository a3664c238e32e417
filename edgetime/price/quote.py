"""A quote: what a job costs, by part, by item, by kind of cost, to the cent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar, Final

from edgetime.errors import UsageError, Where
from edgetime.findings import Finding
from edgetime.price.formulas import FOOT, Exact
from edgetime.price.inquiry import Inquiry
from edgetime.price.money import AMOUNT, NUMBER, plain
from edgetime.price.work import Amounts, Work
from edgetime.records import HIDDEN, figure, figure_named, written

KINDS: Final = (
    "machine", "power", "water", "labour", "hand", "tools", "material", "remakes", "overhead",
    "margin",
)  # fmt: skip
"""What a price is made of before the minimum charge and rounding."""

ADDED: Final = ("minimum", "rounding")
"""What the minimum charge and rounding add to it, or rounding takes away."""


_FINE: Final = Decimal("0.0001")
"""Step of unit prices as they are listed: finer than a coin, for they are multiplied."""


def chosen(figures: Mapping[str, Exact], name: str, what: str) -> tuple[Exact, ...]:
    """Return a figure by its name; all of them for ``all``.

    Raises
    ------
    UsageError
        There is none of that name.
    """
    if name == "all":
        return tuple(figures.values())
    if name not in figures:
        raise UsageError(
            f"The {what} has no figure {name!r}.",
            where=Where(key="--explain"),
            remedy=f"Name all, or one of: {', '.join(figures)}.",
        )
    return (figures[name],)


@dataclass(frozen=True, slots=True, kw_only=True)
class CostShare:
    """One kind of cost.

    Attributes
    ----------
    kind : str
        Of :data:`KINDS` or :data:`ADDED`.
    amount : Decimal
        In the quote's currency; rounding may take away.
    share : Decimal
        Of the net price [-].
    """

    kind: str
    amount: Decimal = field(metadata=AMOUNT)
    share: Decimal = field(metadata=NUMBER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the quote.

    Attributes
    ----------
    item : str
        ``profile:eased``, ``cutout:flat-polish``, ``holes``, ``corners``, ``handling``,
        ``set-up``.
    quantity : Decimal
        Metres, or number.
    unit : str
        ``m``, ``each`` or ``load``.
    amount : Decimal
        Price of the line.
    unit_price : Decimal or None
        Amount by quantity, not rounded; None where there is no quantity.
    tax : Decimal or None
        Of this line where tax is rounded line by line.
    amounts : Amounts
        The quantities behind it.
    """

    item: str
    quantity: Decimal
    unit: str
    amount: Decimal = field(metadata=AMOUNT)
    unit_price: Decimal | None = field(metadata=HIDDEN)
    tax: Decimal | None = field(metadata=written(write=plain, optional=True))
    amounts: Amounts = field(metadata=HIDDEN)

    @property
    def per_unit(self) -> Decimal | None:
        """Price by metre or by piece, to four decimals."""
        return None if self.unit_price is None else self.unit_price.quantize(_FINE)

    @property
    @figure_named(write=plain, optional=True)
    def per_m(self) -> Decimal | None:
        """Price per metre, to four decimals; None for what is sold by the piece."""
        return self.per_unit if self.unit == "m" else None

    @property
    @figure_named(write=plain, optional=True)
    def per_ft(self) -> Decimal | None:
        """Price per foot, to four decimals; None for what is sold by the piece."""
        if self.unit_price is None or self.unit != "m":
            return None
        return (self.unit_price * FOOT.value).quantize(_FINE)

    @property
    @figure_named(write=plain, optional=True)
    def each(self) -> Decimal | None:
        """Price of one piece, to four decimals; None for lengths."""
        return None if self.unit == "m" else self.per_unit


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPrice:
    """The price of one part; id ``""`` for what no part bears.

    Attributes
    ----------
    part_id, name : str
        The part.
    amount : Decimal
        Its price.
    """

    part_id: str
    name: str
    amount: Decimal = field(metadata=AMOUNT)


@dataclass(frozen=True, eq=False, kw_only=True)
class Quote:
    """What a job costs.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    locale : str
        Whose way of writing numbers tables use.
    lines : tuple of Line
        They add up to the shown total: net, or gross where prices include the tax.
    parts : tuple of PartPrice
        They add up to the same.
    costs : tuple of CostShare
        They add up to ``net``.
    net, tax, gross : Decimal
        ``net + tax = gross``.
    tax_rate : Decimal
        [-].
    tax_included : bool
        Lines and parts are shown with the tax in them.
    machine, stone, stack : str
        Names.
    thickness_mm : float
        Nominal [mm].
    loads : int
        Tables the job takes.
    machine_s : Decimal
        Machine cycle of all loads [s].
    figures : dict
        Name → figure, for ``--explain``.
    work : Work
        What is priced, by part and item.
    error : Decimal or None
        Of an inquiry without a drawing: how far its price may be off that from the drawing.
    band : (Decimal, Decimal) or None
        Least and most that :attr:`shown` may be for that error; never below the minimum.
    inquiry : Inquiry or None
        What is asked for without a drawing.
    errors : tuple of Finding
        Of the estimates, those for which the job cannot be made as it is.
    own_findings : tuple of Finding
        Of this stage only.
    """

    SCHEMA: ClassVar[str] = "edgetime.price/1"

    currency: str
    locale: str = field(metadata=HIDDEN)
    lines: tuple[Line, ...]
    parts: tuple[PartPrice, ...]
    costs: tuple[CostShare, ...]
    net: Decimal = field(metadata=AMOUNT)
    tax: Decimal = field(metadata=AMOUNT)
    gross: Decimal = field(metadata=AMOUNT)
    tax_rate: Decimal = field(metadata=NUMBER)
    tax_included: bool
    machine: str
    stone: str
    stack: str
    thickness_mm: float
    loads: int
    machine_s: Decimal = field(metadata=NUMBER)
    figures: dict[str, Exact] = field(metadata=HIDDEN)
    work: Work = field(metadata=HIDDEN)
    error: Decimal | None = field(metadata=NUMBER)
    band: tuple[Decimal, Decimal] | None = field(metadata=HIDDEN)
    inquiry: Inquiry | None = field(metadata=HIDDEN)
    errors: tuple[Finding, ...] = field(metadata=HIDDEN)
    own_findings: tuple[Finding, ...] = field(metadata=HIDDEN)

    @property
    @figure_named(write=plain)
    def low(self) -> Decimal | None:
        """Least that :attr:`shown` may be for the error of an inquiry."""
        return None if self.band is None else self.band[0]

    @property
    @figure_named(write=plain)
    def high(self) -> Decimal | None:
        """Most that :attr:`shown` may be for the error of an inquiry."""
        return None if self.band is None else self.band[1]

    @property
    @figure
    def findings(self) -> tuple[Finding, ...]:
        """Errors of the estimates, then the findings of this stage."""
        return (*self.errors, *self.own_findings)

    @property
    def shown(self) -> Decimal:
        """What lines and parts add up to."""
        return self.gross if self.tax_included else self.net

    def explain(self, name: str) -> tuple[Exact, ...]:
        """Return a figure; all of them for ``all``.

        Parameters
        ----------
        name : str
            As the figures are called.

        Raises
        ------
        UsageError
            There is none of that name.
        """
        return chosen(self.figures, name, "quote")
