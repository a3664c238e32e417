"""A quote: what a job costs, by part, by item, by kind of cost, to the cent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from edgetime.errors import UsageError, Where
from edgetime.findings import Finding
from edgetime.price.formulas import FOOT, Exact
from edgetime.price.inquiry import Inquiry
from edgetime.price.money import digits
from edgetime.price.work import Amounts
from edgetime.records import as_json

KINDS: Final = (
    "machine", "power", "water", "labour", "hand", "tools", "material", "remakes", "overhead",
    "margin",
)  # fmt: skip
"""What a price is made of before the minimum charge and rounding."""

ADDED: Final = ("minimum", "rounding")
"""What the minimum charge and rounding add to it, or rounding takes away."""


def chosen(figures: Mapping[str, Exact], name: str, what: str) -> tuple[Exact, ...]:
    """Return a figure by its name; all of them for ``all``.

    Parameters
    ----------
    figures : mapping
        Name → figure.
    name : str
        As asked.
    what : str
        What has them, for the error.

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
    amount: Decimal
    share: Decimal

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"kind": self.kind, "amount": f"{self.amount:f}", "share": float(self.share)}


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
    each : Decimal or None
        Amount by quantity, not rounded; None where there is no quantity.
    tax : Decimal or None
        Of this line where tax is rounded line by line.
    amounts : Amounts
        The quantities behind it.
    """

    item: str
    quantity: Decimal
    unit: str
    amount: Decimal
    each: Decimal | None
    tax: Decimal | None
    amounts: Amounts

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; per metre and per foot for lengths."""
        out: dict[str, Any] = {
            "item": self.item,
            "quantity": digits(self.quantity),
            "unit": self.unit,
            "amount": f"{self.amount:f}",
        }
        if self.each is not None:
            per = {"m": "per_m"}.get(self.unit, "each")
            out[per] = f"{self.each:.4f}"
            if self.unit == "m":
                out["per_ft"] = f"{self.each * FOOT.value:.4f}"
        if self.tax is not None:
            out["tax"] = f"{self.tax:f}"
        return out


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
    amount: Decimal

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"part_id": self.part_id, "name": self.name, "amount": f"{self.amount:f}"}


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
    kinds : tuple of CostShare
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
    error : Decimal or None
        Of an inquiry without a drawing: how far its price may be off that from the drawing.
    band : (Decimal, Decimal) or None
        Least and most that :attr:`shown` may be for that error; never below the minimum.
    inquiry : Inquiry or None
        What was told of a job without a drawing.
    errors : tuple of Finding
        Of the estimates, those for which the job cannot be made as it is.
    findings : tuple of Finding
        Of this stage only.
    """

    currency: str
    locale: str
    lines: tuple[Line, ...]
    parts: tuple[PartPrice, ...]
    kinds: tuple[CostShare, ...]
    net: Decimal
    tax: Decimal
    gross: Decimal
    tax_rate: Decimal
    tax_included: bool
    machine: str
    stone: str
    stack: str
    thickness_mm: float
    loads: int
    machine_s: Decimal
    figures: dict[str, Exact]
    error: Decimal | None
    band: tuple[Decimal, Decimal] | None
    inquiry: Inquiry | None
    errors: tuple[Finding, ...]
    findings: tuple[Finding, ...]

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

    def as_dict(self) -> dict[str, Any]:
        """Return the ``edgetime.price/1`` document; money is a decimal text."""
        return {
            "schema": "edgetime.price/1",
            "currency": self.currency,
            "machine": self.machine,
            "stack": self.stack,
            "stone": self.stone,
            "thickness_mm": self.thickness_mm,
            "loads": self.loads,
            "machine_s": float(self.machine_s),
            "lines": [line.as_dict() for line in self.lines],
            "parts": [part.as_dict() for part in self.parts],
            "costs": [kind.as_dict() for kind in self.kinds],
            "net": f"{self.net:f}",
            "tax": f"{self.tax:f}",
            "gross": f"{self.gross:f}",
            "tax_rate": float(self.tax_rate),
            "tax_included": self.tax_included,
            "error": None if self.error is None else float(self.error),
            "low": None if self.band is None else f"{self.band[0]:f}",
            "high": None if self.band is None else f"{self.band[1]:f}",
            "findings": as_json((*self.errors, *self.findings)),
        }
