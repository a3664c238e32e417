"""The same loads with other stacks, machines or feeds."""

from __future__ import annotations

import decimal
from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Final

from edgetime.comparison import codes
from edgetime.comparison.alternatives import (
    AlternativeFigures,
    BreakEven,
    Comparison,
    NewPiece,
    Refused,
)
from edgetime.comparison.changes import Change, estimates_with, read_change
from edgetime.comparison.explain import cost_figures, time_figures, yield_figures
from edgetime.comparison.feed_findings import findings_of_lives, wear_that_saves
from edgetime.comparison.feed_limits import findings_of_limits
from edgetime.comparison.feed_lives import FeedLives, follow_feeds
from edgetime.comparison.yields import ShiftYield, shift_yield
from edgetime.errors import PlanError, UsageError, Where
from edgetime.estimating import Estimate
from edgetime.explained import Explained, Source, source_in
from edgetime.findings import Code, Finding, Severity
from edgetime.price import Quote, price_loads
from edgetime.price.codes import MINIMUM_CHARGED, SEVERAL_LOADS
from edgetime.price.formulas import Exact, figure, used
from edgetime.price.money import EXACT, decimal_of, minor_unit, rounded
from edgetime.progress import track

MOST_ALTERNATIVES: Final = 5
"""Alternatives beside the loads as they are: more columns no screen holds."""


def break_even(
    purchase: Decimal | None, saving: Decimal | None, metres_per_load: Decimal, loads_per_day: int
) -> BreakEven:
    """Find when a purchase breaks even.

    The first set stays in the rack as capital: what wears off it is paid with each load, in
    ``saving`` already, so it breaks even after ``purchase / saving`` loads. No interest is charged.

    Parameters
    ----------
    purchase : Decimal or None
        What must be bought, 0 or more; None when it is not known.
    saving : Decimal or None
        What a load costs less; None when it is not known.
    metres_per_load : Decimal
        Edge worked per load [m].
    loads_per_day : int
        In a day; 0 when not known.

    Returns
    -------
    BreakEven
        ``never`` where a load costs no less; whole loads and days, rounded up.
    """
    if saving is not None and saving <= 0:
        return BreakEven(pays="never")
    if purchase is None or saving is None:
        return BreakEven(pays="unknown")
    if purchase == 0:
        return BreakEven(pays="at-once", loads=0, metres=Decimal(0), days=0)
    with decimal.localcontext(EXACT):
        exact = purchase / saving
        loads = int(exact.to_integral_value(decimal.ROUND_CEILING))
        days = -(-loads // loads_per_day) if loads_per_day > 0 else None
        return BreakEven(pays="after", loads=loads, metres=exact * metres_per_load, days=days)


class _Comparer:
    """Compares alternatives with the loads as they are."""

    def __init__(self, base: Sequence[Estimate]) -> None:
        self.base = base
        self.found: dict[tuple[str, str], Finding] = {}
        lives = [follow_feeds(est, est) for est in base]
        self.quote = self._priced([own.estimate for own in lives])
        self.currency = self.quote.currency
        self.pieces = {t.piece for est in base for t in est.wear.tools}
        self.uncosted = _uncosted(base)
        self.as_is = self.figures(Change(text=""), lives, None)

    def tell(self, code: Code, message: str, where: Where) -> None:
        self.add([Finding(code, message, where)])

    def add(self, findings: Iterable[Finding]) -> None:
        for finding in findings:
            self.found.setdefault((finding.code, finding.message), finding)

    def _priced(self, estimates: Sequence[Estimate]) -> Quote:
        quote = price_loads(estimates)
        of_one_job = {MINIMUM_CHARGED.name, SEVERAL_LOADS.name}
        self.add(f for f in quote.own_findings if f.code not in of_one_job)
        return quote

    def _purchase(
        self, change: Change, estimates: Sequence[Estimate]
    ) -> tuple[tuple[NewPiece, ...], Exact | None]:
        """Return the tools to buy, and what is paid for them or for the machine, if known."""
        catalogue = estimates[0].load.catalogue
        worn = {t.piece: t for est in estimates for t in est.wear.tools}
        new = [t for piece, t in worn.items() if piece not in self.pieces]
        pieces = tuple(NewPiece(t.piece, t.price) for t in new)
        name = f"{change.text}: purchase"
        if change.purchase is not None:
            source = Source("", change.option, change.text)
            paid = Explained("purchase", change.purchase, self.currency, source=source)
            return pieces, figure(name, self.currency, "purchase", [paid])
        if self._unknown_machine(change, estimates):
            return pieces, None
        inputs: list[Exact] = []
        for number, t in enumerate(new, 1):
            file = catalogue.tools[t.tool].file
            if t.price is None:
                self.tell(
                    codes.SET_PRICE_UNKNOWN,
                    f"{t.piece} must be bought for {change.text!r} and states no price.",
                    Where(path=file or None, key="price"),
                )
                return pieces, None
            note = f"{t.piece}, not in the set as it is"
            source = source_in(catalogue.raw, file, "price")
            inputs.append(Explained(f"price_{number}", t.price, self.currency, note, source))
        formula = " + ".join(f.name for f in inputs) or "0"
        return pieces, figure(name, self.currency, formula, inputs)

    def figures(
        self, change: Change, lives: Sequence[FeedLives], as_is: AlternativeFigures | None
    ) -> AlternativeFigures:
        """Return the figures of an alternative, or of the loads as they are."""
        estimates = [own.estimate for own in lives]
        count = len(estimates)
        label = change.text or "as it is"
        shown = f"{change.text!r}" if change.text else "As it is, the load"
        quote = self.quote if as_is is None else self._priced(estimates)
        figures = {**cost_figures(quote, count, label), **time_figures(estimates, label)}
        self.add(findings_of_lives(shown, lives))
        for est, own in zip(estimates, self.base, strict=True):
            self.add(findings_of_limits(shown, est, own))
        edge_mm = sum(sum(est.plan.treated_mm.values()) for est in estimates) / count
        metres = decimal_of(edge_mm) / 1000
        if any(own.untried for own in lives):
            # No life is claimed outside the tested feeds, and so no cost.
            del figures["tools"], figures["cost"]
        elif edge_mm > 0.0:
            edge = Explained("edge_m", metres, "m", "worked, per load", Source("", "drawing"))
            figures["per-m"] = figure(
                f"{label}: per-m",
                f"{self.currency}/m",
                "cost / edge_m",
                [_per_load("cost", figures["cost"]), edge],
            )
        made = self._yield(estimates, label)
        if made is not None:
            figures |= yield_figures(made, label)
        pieces: tuple[NewPiece, ...] = ()
        pays = None
        if as_is is not None:
            pieces, bought = self._purchase(change, estimates)
            if bought is not None:
                figures["purchase"] = bought
            if self._comparable(change, shown, estimates):
                self._margin(shown, lives, quote)
                self._save(figures, label)
            paid, saved = (
                None if (f := figures.get(key)) is None else f.value
                for key in ("purchase", "saving")
            )
            pays = break_even(paid, saved, metres, 0 if made is None else made.loads)
        return self._made(change, estimates, quote, figures, made, pieces, pays, edge_mm)

    def _save(self, figures: dict[str, Exact], label: str) -> None:
        """Make the figures of what is saved, and of when that has paid what was bought."""
        before = self.as_is.figures.get("cost")
        if before is None or "cost" not in figures:
            return
        saving = figures["saving"] = figure(
            f"{label}: saving",
            self.currency,
            "cost_as_is - cost",
            [_per_load("cost_as_is", before), _per_load("cost", figures["cost"])],
            "per load",
        )
        bought = figures.get("purchase")
        if bought is not None and saving.value > 0:
            figures["break-even"] = figure(
                f"{label}: break-even",
                "loads",
                "purchase / saving",
                [used(bought, "purchase"), used(saving, "saving")],
                "rounded up to whole loads; days at loads per shift, one shift a day",
            )

    def _made(
        self, change: Change, estimates: Sequence[Estimate], quote: Quote, figures: dict[str, Exact],
        made: ShiftYield | None, pieces: tuple[NewPiece, ...], pays: BreakEven | None,
        edge_mm: float,
    ) -> AlternativeFigures:  # fmt: skip
        """Write the figures down."""
        findings = [f for est in estimates for f in est.findings]
        load, count = estimates[0].load, len(estimates)

        def value(key: str) -> Decimal | None:
            return figures[key].value if key in figures else None

        return AlternativeFigures(
            text=change.text,
            machine=load.machine.name,
            stack=load.stack.name,
            feed_override=load.feed_override,
            machine_s=sum(est.cycle.total_s for est in estimates) / count,
            attended_s=sum(est.labour.total_s for est in estimates) / count,
            hand_mm=sum(est.cycle.hand_mm for est in estimates) / count,
            edge_mm=edge_mm,
            tools=value("tools"),
            cost=value("cost"),
            per_m=value("per-m"),
            shift=made,
            pieces=pieces,
            purchase=value("purchase"),
            saving=value("saving"),
            break_even=pays,
            errors=sum(f.severity is Severity.ERROR for f in findings),
            warnings=sum(f.severity is Severity.WARNING for f in findings),
            figures=figures,
            quote=quote,
        )

    def _margin(self, shown: str, lives: Sequence[FeedLives], quote: Quote) -> None:
        """Find how much faster the tools of unknown life may wear."""
        if self.as_is.cost is None:
            return
        with decimal.localcontext(EXACT):
            saving = self.as_is.cost - quote.figures["cost"].value / len(lives)
        made = wear_that_saves(shown, lives, saving)
        self.add([] if made is None else [made])

    def _comparable(self, change: Change, shown: str, estimates: Sequence[Estimate]) -> bool:
        """Return whether the same work is done as it is, and the same tools are priced."""
        if change.other_product:
            self.tell(
                codes.OTHER_WORK,
                f"{shown} makes another product: its lower cost is not a saving.",
                Where(key=change.option),
            )
            return False
        apart = _uncosted(estimates) ^ self.uncosted
        catalogue = estimates[0].load.catalogue
        for name in sorted(apart):
            tool = catalogue.tools[name]
            missing = "price" if tool.price is None else "life for this stone and thickness"
            self.tell(
                codes.WEAR_UNKNOWN,
                f"{name} states no {missing}, and not all alternatives use it: the "
                "difference is unknown.",
                Where(path=tool.file or None, key="price" if tool.price is None else "life"),
            )
        before, after = _undone(self.base), _undone(estimates)
        for who, more in ((shown, after - before), ("As it is, the load", before - after)):
            if more:
                self.tell(
                    codes.OTHER_WORK,
                    f"{who} leaves undone: "
                    + ", ".join(f"{code} {n}x" if n > 1 else code for code, n in more.items())
                    + ".",
                    Where(key="--with"),
                )
        return not apart and before == after

    def _yield(self, estimates: Sequence[Estimate], label: str) -> ShiftYield | None:
        made = shift_yield(estimates)
        if isinstance(made, ShiftYield):
            return made
        self.tell(codes.NO_YIELD, f"{label}: {made}", Where(key="shift.hours"))
        return None

    def _unknown_machine(self, change: Change, estimates: Sequence[Estimate]) -> bool:
        """Return whether it is another machine without a purchase price."""
        other = estimates[0].load.machine.name != self.base[0].load.machine.name
        return other and change.purchase is None

    def compared(self, change: Change) -> AlternativeFigures:
        """Return an alternative against the loads as they are."""
        change.check_currency(self.currency)
        estimates = estimates_with(self.base, change)
        before, after = self.base[0].load, estimates[0].load
        if self._unknown_machine(change, estimates):
            how = (
                f"runs at the rate of {before.machine.name}, and"
                if change.rate is None
                else "has a rate, but"
            )
            self.tell(
                codes.MACHINE_PRICE_NOT_COUNTED,
                f"{change.text!r}: {after.machine.name} {how} its extra purchase price is unknown.",
                Where(key="--with"),
            )
        lives = [follow_feeds(est, own) for est, own in zip(estimates, self.base, strict=True)]
        made = self.figures(change, lives, self.as_is)
        if change.rate is None:
            self._freed_hours(made)
        return made

    def _freed_hours(self, made: AlternativeFigures) -> None:
        """Find how much of a saving is freed hours that no further load fills."""
        before = self.as_is
        if made.saving is None or made.saving <= 0 or before.shift is None or made.shift is None:
            return
        if made.shift.loads > before.shift.loads:
            return
        hours = sum(
            (before.figures[k].value - made.figures[k].value for k in ("machine", "labour")),
            Decimal(0),
        )
        if hours <= 0:
            return
        rest = made.saving - hours
        unit = minor_unit(self.currency)
        left = "nothing else is saved"
        if rest > 0:
            left = f"the rest is {rounded(rest, unit)} {self.currency} a load"
        if made.purchase and rest > 0:
            loads = break_even(made.purchase, rest, Decimal(0), 0).loads
            left += f", and by that alone it pays after {loads} loads"
        self.tell(
            codes.FREED_HOURS,
            f"{made.text!r} makes {made.shift.loads} loads in a shift; as it is there are "
            f"{before.shift.loads}. Of the "
            f"{rounded(made.saving, unit)} {self.currency} it saves a load, "
            f"{rounded(min(hours, made.saving), unit)} are freed hours; {left}.",
            Where(key="--with"),
        )


def _per_load(name: str, made: Exact) -> Exact:
    """Return a cost as the input of another figure."""
    return Explained(name, made.value, made.unit, f"figure {made.name}, per load")


def _undone(estimates: Sequence[Estimate]) -> Counter[str]:
    """Return how often each error leaves something of the loads undone."""
    findings = (f for est in estimates for f in est.findings)
    return Counter(f.code for f in findings if f.severity is Severity.ERROR)


def _uncosted(estimates: Sequence[Estimate]) -> frozenset[str]:
    """Return the tools whose wear costs nobody knows what."""
    return frozenset(t.tool for est in estimates for t in est.wear.tools if t.cost is None)


def compare_alternatives(estimates: Sequence[Estimate], alternatives: Sequence[str]) -> Comparison:
    """Compare stacks, machines and feeds on the same loads.

    Parameters
    ----------
    estimates : sequence of Estimate
        The loads as they are, all of one catalogue.
    alternatives : sequence of str
        As :func:`edgetime.comparison.changes.read_change` takes them, from 1 to 5.

    Returns
    -------
    Comparison
        Time, cost, yield per shift of each, and when what must be bought for it pays.

    Raises
    ------
    UsageError
        No alternative, too many, or one that cannot be read.
    PlanError
        None of the alternatives can run these loads.
    CatalogueInvalid
        Money of two currencies.
    """
    if not 1 <= len(alternatives) <= MOST_ALTERNATIVES:
        raise UsageError(
            f"{len(alternatives) or 'No'} alternatives; allowed are 1 to {MOST_ALTERNATIVES}.",
            where=Where(key="--with"),
            remedy="Name an alternative, such as --with stack=NAME.",
        )
    wanted = [read_change(text) for text in alternatives]
    comparer = _Comparer(estimates)
    rows, refused = [comparer.as_is], []
    for change in track(wanted, "comparing alternatives"):
        try:
            rows.append(comparer.compared(change))
        except PlanError as error:
            refused.append((change.text, error))
    if len(rows) == 1:
        first = refused[0][1]
        raise PlanError(
            f"No alternative can be made. {refused[0][0]!r}: {first.what}",
            where=first.where,
            remedy=first.remedy,
        )
    load = estimates[0].load
    return Comparison(
        currency=comparer.currency,
        locale=comparer.quote.locale,
        stone=load.stone.name,
        thickness_mm=load.nominal_mm,
        loads=len(estimates),
        alternatives=tuple(rows),
        refused=tuple(Refused(text, error.what) for text, error in refused),
        findings=tuple(comparer.found.values()),
    )
