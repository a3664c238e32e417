"""Alternatives side by side, and when the dearer one breaks even."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar, Final, NamedTuple

from edgetime.comparison.yields import ShiftYield
from edgetime.errors import UsageError, Where
from edgetime.findings import Finding
from edgetime.price.formulas import FOOT, Exact
from edgetime.price.money import EXACT
from edgetime.price.quote import Quote
from edgetime.records import HIDDEN, figure, written

_OFTEN_UNKNOWN: Final = frozenset(
    {"tools", "cost", "per-m", "saving", "purchase", "break-even", "loads", "area"}
)
"""Figures that a comparison may be without."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEven:
    """When what must be bought is earned back by what each load costs less.

    Attributes
    ----------
    pays : str
        ``at-once`` (nothing must be bought), ``after``, ``never`` (no load costs less), or
        ``unknown`` (a price or a life is missing).
    loads : int or None
        Whole loads until it has paid.
    metres : Decimal or None
        Edge worked until then [m].
    days : int or None
        Whole shifts until then, of these loads and nothing else, one a day; None without a
        yield.
    """

    pays: str
    loads: int | None = None
    metres: Decimal | None = None
    days: int | None = None


class NewPiece(NamedTuple):
    """A tool piece that the loads as they are do not need.

    Attributes
    ----------
    piece : str
        Its name.
    price : Decimal or None
        None where the tool states none.
    """

    piece: str
    price: Decimal | None


def _or_none(text: str) -> str | None:
    return text or None


@dataclass(frozen=True, eq=False, kw_only=True)
class AlternativeFigures:
    """One alternative on the loads. Money is before overhead and margin.

    Attributes
    ----------
    text : str
        As asked for; ``""`` for the loads as they are.
    machine, stack : str
        Names.
    feed_override : float
        [-].
    machine_s, attended_s, hand_mm : float
        Per load, on average.
    edge_mm : float
        Edge worked per load, on average [mm].
    tools : Decimal or None
        Worn tools per load; None where a tool runs at a feed at which no life is known.
    cost : Decimal or None
        All cost per load; None likewise.
    per_m : Decimal or None
        Cost per metre of edge; None likewise, and where none is worked.
    shift : ShiftYield or None
        What a shift makes.
    pieces : tuple of NewPiece
        Tool pieces to buy.
    purchase : Decimal or None
        What must be bought; None when a price is missing.
    saving : Decimal or None
        What a load costs less than as it is, negative for more; None for the loads as they are
        and where one of both costs is not known.
    break_even : BreakEven or None
        None for the loads as they are.
    errors, warnings : int
        Findings of the estimates.
    figures : dict
        Name → figure, for ``--explain``.
    quote : Quote
        Of all its loads.
    """

    text: str = field(metadata=written(key="with", write=_or_none))
    machine: str
    stack: str
    feed_override: float
    machine_s: float
    attended_s: float
    hand_mm: float
    edge_mm: float
    tools: Decimal | None
    cost: Decimal | None
    per_m: Decimal | None
    shift: ShiftYield | None = field(metadata=HIDDEN)
    pieces: tuple[NewPiece, ...]
    purchase: Decimal | None
    saving: Decimal | None
    break_even: BreakEven | None
    errors: int
    warnings: int
    figures: dict[str, Exact] = field(metadata=HIDDEN)
    quote: Quote = field(metadata=HIDDEN)

    @property
    @figure
    def per_ft(self) -> Decimal | None:
        """Cost per foot of edge."""
        return None if self.per_m is None else EXACT.multiply(self.per_m, FOOT.value)

    @property
    @figure
    def loads_per_shift(self) -> int | None:
        """Loads done within a shift; None where there is no yield."""
        return None if self.shift is None else self.shift.loads

    @property
    @figure
    def area_mm2_per_shift(self) -> float | None:
        """Area of their parts, gross of cutouts [mm²]."""
        return None if self.shift is None else self.shift.area_mm2


@dataclass(frozen=True, slots=True)
class Refused:
    """An alternative that cannot be made.

    Attributes
    ----------
    text : str
        As asked for.
    why : str
        Why not.
    """

    text: str = field(metadata=written(key="with"))
    why: str


@dataclass(frozen=True, eq=False, kw_only=True)
class Comparison:
    """Alternatives side by side.

    Attributes
    ----------
    currency, locale : str
        Of its money, and whose way of writing numbers tables use.
    stone : str
        Name.
    thickness_mm : float
        Nominal [mm].
    loads : int
        How many are compared.
    alternatives : tuple of AlternativeFigures
        The loads as they are, then each alternative that can run.
    refused : tuple of Refused
        Alternatives that cannot, and why.
    findings : tuple of Finding
        Of this stage and of the prices.
    """

    SCHEMA: ClassVar[str] = "edgetime.compare/1"

    currency: str
    locale: str = field(metadata=HIDDEN)
    stone: str
    thickness_mm: float
    loads: int
    alternatives: tuple[AlternativeFigures, ...] = field(metadata=written(key="setups"))
    refused: tuple[Refused, ...]
    findings: tuple[Finding, ...]

    def explain(self, name: str) -> tuple[Exact, ...]:
        """Return a figure of every alternative; all figures for ``all``.

        Parameters
        ----------
        name : str
            ``cycle``, ``attended``, ``loads``, ``area``, ``cost``, ``per-m``, ``saving``,
            ``purchase``, ``break-even``, or a kind of cost.

        Raises
        ------
        UsageError
            There is none of that name, or no alternative has it.
        """
        made = [
            (key, f)
            for s in self.alternatives
            for key, f in s.figures.items()
            if name in {"all", key}
        ]
        if not made and name in _OFTEN_UNKNOWN:
            raise UsageError(
                f"No alternative has the figure {name!r}: it is unknown, or nothing is saved.",
                where=Where(key="--explain"),
                remedy="The table and its findings say why; name another figure, or all.",
            )
        if not made:
            known = dict.fromkeys(key for s in self.alternatives for key in s.figures)
            raise UsageError(
                f"The comparison has no figure {name!r}.",
                where=Where(key="--explain"),
                remedy=f"Name all, or one of: {', '.join(known)}.",
            )
        return tuple(f for _, f in made)
