"""The same loads with other stacks, machines or feeds."""

from __future__ import annotations

import decimal
from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Final

from edgetime.comparison import codes
from edgetime.comparison.figures import cost_figures, time_figures, yield_figures
from edgetime.comparison.limits import findings_of_limits
from edgetime.comparison.lives import SetupLives, follow_feeds
from edgetime.comparison.model import AlternativeFigures, BreakEven, Comparison, NewPiece, Refused
from edgetime.comparison.setups import Setup, estimates_with, read_setup
from edgetime.comparison.telling import findings_of_lives, wear_that_saves
from edgetime.comparison.yields import ShiftYield, shift_yield
from edgetime.errors import PlanError, UsageError, Where
from edgetime.estimating import Estimate
from edgetime.explained import Explained, Source, source_in
from edgetime.findings import Code, Finding, Severity
from edgetime.price import Quote, price_loads
from edgetime.price.formulas import Exact, figure
from edgetime.price.money import EXACT, decimal_of, minor_unit, rounded

MOST_SETUPS: Final = 5
"""Set-ups that stand side by side beside the loads as they are."""


def break_even(
    purchase: Decimal | None, saving: Decimal | None, metres_per_load: Decimal, loads_per_day: int
) -> BreakEven:
    """Say when a purchase is earned back.

    The first set stays in the rack as capital: what wears off it is paid with each load, in
    ``saving`` already, so ``purchase / saving`` loads earn it back. No interest is reckoned.

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
    """Compares set-ups with the loads as they are."""

    def __init__(self, base: Sequence[Estimate]) -> None:
        self.base = base
        self.found: dict[tuple[str, str], Finding] = {}
        lives = [follow_feeds(est, est) for est in base]
        self.quote = self._priced([own.estimate for own in lives])
        self.currency = self.quote.currency
        self.pieces = {t.piece for est in base for t in est.wear.tools}
        self.uncosted = _uncosted(base)
        self.as_is = self.figures(Setup(text=""), lives, None)

    def tell(self, code: Code, message: str, where: Where) -> None:
        self.add([Finding(code, message, where)])

    def add(self, findings: Iterable[Finding]) -> None:
        for finding in findings:
            self.found.setdefault((finding.code, finding.message), finding)

    def _priced(self, estimates: Sequence[Estimate]) -> Quote:
        quote = price_loads(estimates)
        for finding in quote.own_findings:
            if finding.code not in {"minimum-charged", "several-loads"}:
                self.add([finding])
        return quote

    def _fact(self, name: str, value: Decimal, unit: str, note: str) -> Exact:
        return Explained(name, value, unit, note)

    def _purchase(self, setup: Setup, estimates: Sequence[Estimate]) -> tuple[
        tuple[NewPiece, ...], Exact | None
    ]:  # fmt: skip
        catalogue = estimates[0].load.catalogue
        worn = {t.piece: t for est in estimates for t in est.wear.tools}
        new = [t for piece, t in worn.items() if piece not in self.pieces]
        pieces = tuple(NewPiece(t.piece, t.price) for t in new)
        name = f"{setup.text}: purchase"
        if setup.purchase is not None:
            fact = Explained("purchase", setup.purchase, self.currency, source=Source("", "--with", setup.text))  # fmt: skip
            return pieces, figure(name, self.currency, "purchase", [fact])
        if self._unknown_machine(setup, estimates):
            return pieces, None
        facts: list[Exact] = []
        for t in new:
            file = catalogue.tools[t.tool].file
            if t.price is None:
                self.tell(
                    codes.SET_PRICE_UNKNOWN,
                    f"{t.piece} must be bought for {setup.text!r} and states no price.",
                    Where(path=file or None, key="price"),
                )
                return pieces, None
            facts.append(
                Explained(
                    f"price_{len(facts) + 1}",
                    t.price,
                    self.currency,
                    f"{t.piece}, not in the set as it is",
                    source_in(catalogue.raw, file, "price"),
                )
            )
        formula = " + ".join(f.name for f in facts) or "0"
        return pieces, figure(name, self.currency, formula, facts)

    def figures(
        self, setup: Setup, lives: Sequence[SetupLives], as_is: AlternativeFigures | None
    ) -> AlternativeFigures:
        """Return one set-up's figures."""
        estimates = [own.estimate for own in lives]
        count = len(estimates)
        label = setup.text or "as it is"
        quote = self.quote if as_is is None else self._priced(estimates)
        figures = {**cost_figures(quote, count, label), **time_figures(estimates, label)}
        told = f"{setup.text!r}" if setup.text else "The set-up as it is"
        self.add(findings_of_lives(told, lives))
        for est, own in zip(estimates, self.base, strict=True):
            self.add(findings_of_limits(told, est, own))
        known = not any(own.untried for own in lives)
        same = as_is is None or self._comparable(told, estimates)
        if as_is is not None and same:
            self._margin(told, lives, quote)
        cost = figures["cost"].value if known else None
        edge_mm = sum(sum(est.plan.treated_mm.values()) for est in estimates) / count
        metres = decimal_of(edge_mm) / 1000
        if not known:
            del figures["tools"], figures["cost"]
        per_m = None
        cost_fact = None
        if cost is not None:
            cost_fact = self._fact("cost", cost, self.currency, f"figure {label}: cost, per load")
        if cost_fact is not None and edge_mm > 0.0:
            edge = Explained("edge_m", metres, "m", "worked, per load", Source("", "drawing"))
            per_m = figures["per-m"] = figure(
                f"{label}: per-m", f"{self.currency}/m", "cost / edge_m", [cost_fact, edge]
            )
        made = self._yield(estimates, label)
        if made is not None:
            figures |= yield_figures(made, label)
        pieces: tuple[NewPiece, ...] = ()
        purchase = saving = pays = None
        if as_is is not None:
            pieces, bought = self._purchase(setup, estimates)
            if bought is not None:
                figures["purchase"] = bought
                purchase = bought.value
            if same and cost_fact is not None and as_is.cost is not None:
                before = self._fact(
                    "cost_as_is", as_is.cost, self.currency, "figure as it is: cost, per load"
                )
                less = figures["saving"] = figure(
                    f"{label}: saving", self.currency, "cost_as_is - cost", [before, cost_fact],
                    "per load",
                )  # fmt: skip
                saving = less.value
                if bought is not None and saving > 0:
                    figures["break-even"] = self._loads_until(label, bought, less)
            pays = break_even(purchase, saving, metres, 0 if made is None else made.loads)
        findings = [f for est in estimates for f in est.findings]
        load = estimates[0].load
        return AlternativeFigures(
            text=setup.text,
            machine=load.machine.name,
            stack=load.stack.name,
            feed_override=load.feed_override,
            machine_s=sum(est.cycle.total_s for est in estimates) / count,
            attended_s=sum(est.labour.total_s for est in estimates) / count,
            hand_mm=sum(est.cycle.hand_mm for est in estimates) / count,
            edge_mm=edge_mm,
            tools=figures["tools"].value if known else None,
            cost=cost,
            per_m=None if per_m is None else per_m.value,
            shift=made,
            pieces=pieces,
            purchase=purchase,
            saving=saving,
            break_even=pays,
            errors=sum(f.severity is Severity.ERROR for f in findings),
            warnings=sum(f.severity is Severity.WARNING for f in findings),
            figures=figures,
        )

    def _loads_until(self, label: str, bought: Exact, less: Exact) -> Exact:
        return figure(
            f"{label}: break-even", "loads", "purchase / saving",
            [
                self._fact("purchase", bought.value, self.currency, f"figure {bought.name}"),
                self._fact("saving", less.value, self.currency, f"figure {less.name}"),
            ],
            "rounded up to whole loads; days at loads per shift, one shift a day",
        )  # fmt: skip

    def _margin(self, told: str, lives: Sequence[SetupLives], quote: Quote) -> None:
        """Tell how much more the tools of unknown life may wear."""
        if self.as_is.cost is None:
            return
        with decimal.localcontext(EXACT):
            saving = self.as_is.cost - quote.figures["cost"].value / len(lives)
        made = wear_that_saves(told, lives, saving)
        self.add([] if made is None else [made])

    def _comparable(self, told: str, estimates: Sequence[Estimate]) -> bool:
        """Return whether the same work is done as it is, and the same tools are priced."""
        apart = _uncosted(estimates) ^ self.uncosted
        catalogue = estimates[0].load.catalogue
        for name in sorted(apart):
            tool = catalogue.tools[name]
            missing = "price" if tool.price is None else "life for this stone and thickness"
            self.tell(
                codes.WEAR_UNKNOWN,
                f"{name} states no {missing}, and not all set-ups use it: what changes by it is "
                "unknown.",
                Where(path=tool.file or None, key="price" if tool.price is None else "life"),
            )
        before, after = _undone(self.base), _undone(estimates)
        for who, more in ((told, after - before), ("The set-up as it is", before - after)):
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

    def _unknown_machine(self, setup: Setup, estimates: Sequence[Estimate]) -> bool:
        """Return whether it is another machine of which no price is told."""
        other = estimates[0].load.machine.name != self.base[0].load.machine.name
        return other and setup.purchase is None

    def compared(self, setup: Setup) -> AlternativeFigures:
        """Return a set-up against the loads as they are."""
        if setup.currency and setup.currency != self.currency:
            raise UsageError(
                f"{setup.text!r} is in {setup.currency}, the shop reckons in {self.currency}.",
                where=Where(key="--with"),
                remedy=f"Write the amount in {self.currency}.",
            )
        estimates = estimates_with(self.base, setup)
        before, after = self.base[0].load, estimates[0].load
        if self._unknown_machine(setup, estimates):
            how = (
                f"runs at the rate of {before.machine.name}, and"
                if setup.rate is None
                else "has a rate, but"
            )
            self.tell(
                codes.MACHINE_PRICE_NOT_COUNTED,
                f"{setup.text!r}: {after.machine.name} {how} nothing says what it costs more to "
                "buy.",
                Where(key="--with"),
            )
        lives = [follow_feeds(est, own) for est, own in zip(estimates, self.base, strict=True)]
        made = self.figures(setup, lives, self.as_is)
        if setup.rate is None:
            self._freed_hours(made)
        return made

    def _freed_hours(self, made: AlternativeFigures) -> None:
        """Tell how much of a saving is hours that no further load fills."""
        before = self.as_is
        if made.saving is None or made.saving <= 0 or None in {before.shift, made.shift}:
            return
        assert before.shift is not None  # noqa: S101 - asked for above
        assert made.shift is not None  # noqa: S101 - likewise
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


def _undone(estimates: Sequence[Estimate]) -> Counter[str]:
    """Return how often each error leaves something of the loads undone."""
    findings = (f for est in estimates for f in est.findings)
    return Counter(f.code for f in findings if f.severity is Severity.ERROR)


def _uncosted(estimates: Sequence[Estimate]) -> frozenset[str]:
    """Return the tools whose wear costs nobody knows what."""
    return frozenset(t.tool for est in estimates for t in est.wear.tools if t.cost is None)


def compare_setups(estimates: Sequence[Estimate], setups: Sequence[str]) -> Comparison:
    """Set stacks, machines and feeds side by side on the same loads.

    Parameters
    ----------
    estimates : sequence of Estimate
        The loads as they are, all of one catalogue.
    setups : sequence of str
        As :func:`edgetime.comparison.setups.read_setup` takes them, from 1 to 5.

    Returns
    -------
    Comparison
        Time, cost, yield per shift of each, and when what must be bought for it pays.

    Raises
    ------
    UsageError
        No set-up, too many, or one that cannot be read.
    PlanError
        None of the set-ups can run these loads.
    CatalogueInvalid
        Money of two currencies.
    """
    if not 1 <= len(setups) <= MOST_SETUPS:
        raise UsageError(
            f"{len(setups) or 'No'} set-ups to compare with; there may be from 1 to {MOST_SETUPS}.",
            where=Where(key="--with"),
            remedy="Write what to compare with, such as --with stack=NAME.",
        )
    wanted = [read_setup(text) for text in setups]
    comparer = _Comparer(estimates)
    rows, refused = [comparer.as_is], []
    for setup in wanted:
        try:
            rows.append(comparer.compared(setup))
        except PlanError as error:
            refused.append((setup.text, error))
    if len(rows) == 1:
        first = refused[0][1]
        raise PlanError(
            f"Nothing is left to compare with. {refused[0][0]!r}: {first.what}",
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
