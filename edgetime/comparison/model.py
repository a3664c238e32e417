"""Set-ups side by side, and when the dearer one pays."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from edgetime.comparison.yields import ShiftYield
from edgetime.errors import UsageError, Where
from edgetime.findings import Finding
from edgetime.price.formulas import Exact
from edgetime.price.money import EXACT, digits
from edgetime.records import as_json

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

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "pays": self.pays,
            "loads": self.loads,
            "metres": None if self.metres is None else digits(self.metres),
            "days": self.days,
        }


@dataclass(frozen=True, eq=False, kw_only=True)
class SetupFigures:
    """One set-up on the loads. Money is before overhead and margin.

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
    pieces : tuple of (str, Decimal or None)
        Tool pieces that the loads as they are do not need, with their prices.
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
    """

    text: str
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
    shift: ShiftYield | None
    pieces: tuple[tuple[str, Decimal | None], ...]
    purchase: Decimal | None
    saving: Decimal | None
    break_even: BreakEven | None
    errors: int
    warnings: int
    figures: dict[str, Exact]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form; money as decimal texts."""

        def money(amount: Decimal | None) -> str | None:
            return None if amount is None else digits(amount)

        shift = self.shift
        return {
            "with": self.text or None,
            "machine": self.machine,
            "stack": self.stack,
            "feed_override": self.feed_override,
            "machine_s": self.machine_s,
            "attended_s": self.attended_s,
            "hand_mm": self.hand_mm,
            "edge_mm": self.edge_mm,
            "tools": money(self.tools),
            "cost": money(self.cost),
            "per_m": money(self.per_m),
            "per_ft": None
            if self.per_m is None
            else digits(EXACT.multiply(self.per_m, Decimal("0.3048"))),
            "loads_per_shift": None if shift is None else shift.loads,
            "area_mm2_per_shift": None if shift is None else shift.area_mm2,
            "pieces": [{"piece": name, "price": money(price)} for name, price in self.pieces],
            "purchase": money(self.purchase),
            "saving": money(self.saving),
            "break_even": None if self.break_even is None else self.break_even.as_dict(),
            "errors": self.errors,
            "warnings": self.warnings,
        }


@dataclass(frozen=True, eq=False, kw_only=True)
class Comparison:
    """Set-ups side by side.

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
    setups : tuple of SetupFigures
        The loads as they are, then each set-up that can run.
    refused : tuple of (str, str)
        Set-ups that cannot, and why.
    findings : tuple of Finding
        Of this stage and of the prices.
    """

    currency: str
    locale: str
    stone: str
    thickness_mm: float
    loads: int
    setups: tuple[SetupFigures, ...]
    refused: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]

    def explain(self, name: str) -> tuple[Exact, ...]:
        """Return a figure of every set-up; all figures for ``all``.

        Parameters
        ----------
        name : str
            ``cycle``, ``attended``, ``loads``, ``area``, ``cost``, ``per-m``, ``saving``,
            ``purchase``, ``break-even``, or a kind of cost.

        Raises
        ------
        UsageError
            There is none of that name, or it is known in no set-up.
        """
        made = [
            (key, f) for s in self.setups for key, f in s.figures.items() if name in {"all", key}
        ]
        if not made and name in _OFTEN_UNKNOWN:
            raise UsageError(
                f"The figure {name!r} is there in no set-up: it is not known, or nothing is saved.",
                where=Where(key="--explain"),
                remedy="The table and its findings say why; name another figure, or all.",
            )
        if not made:
            known = dict.fromkeys(key for s in self.setups for key in s.figures)
            raise UsageError(
                f"The comparison has no figure {name!r}.",
                where=Where(key="--explain"),
                remedy=f"Name all, or one of: {', '.join(known)}.",
            )
        return tuple(f for _, f in made)

    def as_dict(self) -> dict[str, Any]:
        """Return the ``edgetime.compare/1`` document."""
        return {
            "schema": "edgetime.compare/1",
            "currency": self.currency,
            "stone": self.stone,
            "thickness_mm": self.thickness_mm,
            "loads": self.loads,
            "setups": [s.as_dict() for s in self.setups],
            "refused": [{"with": text, "why": why} for text, why in self.refused],
            "findings": as_json(self.findings),
        }
