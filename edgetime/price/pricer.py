"""The arithmetic of a quote: formulas over the amounts of a job, roundings, the tax."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from decimal import Decimal

from edgetime.explained import Explained, Source
from edgetime.price.costs import AMOUNTS, COST, MACHINE_KEYS, MARGIN, REMAKES
from edgetime.price.formulas import Exact, figure, names_of, used
from edgetime.price.money import EXACT, apportion, rounded
from edgetime.price.rates import Rates
from edgetime.price.work import Amounts, Work


class Pricer:
    """Prices one job: makes its figures, rounds, shares out.

    Parameters
    ----------
    work : Work
        Of all loads of the job.
    rates : Rates
        What the shop charges.
    machine_file : str
        File of its times and powers.
    """

    def __init__(self, work: Work, rates: Rates, machine_file: str) -> None:
        self.work, self.rates, self.own = work, rates, rates.own
        self.machine_file = machine_file
        self.currency = rates.currency
        self.figures: dict[str, Exact] = {"machine-rate": rates.machine}
        self.rule = rates.own.rounding
        self.lift = Decimal(0)
        self.facts = rates.by_name

    def put(self, name: str, formula: str, facts: Sequence[Exact], note: str = "") -> Decimal:
        """Make a figure of money and return its value."""
        made = figure(name, self.currency, formula, facts, note)
        self.figures[name] = made
        return made.value

    def put_rate(self, name: str, per: str, formula: str, inputs: Sequence[Exact]) -> Exact:
        """Make a figure of money per unit."""
        made = figure(name, f"{self.currency}/{per}", formula, inputs)
        self.figures[name] = made
        return made

    def ref(self, name: str) -> Exact:
        """Return a figure made before as a factor."""
        return used(self.figures[name])

    def needed(self, formula: str, amounts: Amounts) -> list[Exact]:
        """Return the factors a formula over amounts names."""
        named = names_of(formula)
        out = [fact for name, fact in self.facts.items() if name in named]
        for name, (unit, note) in AMOUNTS.items():
            if name not in named:
                continue
            value = getattr(amounts, name)
            if name == "setup_h":
                out.append(self.rates.fact(name, "setup", value, unit, note))
                continue
            file, key = ("", "")
            if name in MACHINE_KEYS:
                file, key = self.machine_file, MACHINE_KEYS[name]
            out.append(Explained(name, value, unit or self.currency, note, Source(file, key)))
        return out

    def load(self) -> None:
        """Price the whole job before rounding."""
        total = self.work.total()
        for kind, formula in COST.items():
            if kind != "tools":
                self.put(kind, formula, self.needed(formula, total))
        self.put(
            "remakes",
            f"{REMAKES} * ({' + '.join(COST)})",
            [self.rates.scrap_fact, *(self.ref(kind) for kind in COST)],
            "scrap: spoiled parts are made again",
        )
        parts = (*COST, "remakes")
        self.put("cost", " + ".join(parts), [self.ref(kind) for kind in parts])
        share = self.rates.fact("overhead_rate", "overhead", self.own.overhead, "-")
        self.put("overhead", "overhead_rate * cost", [share, self.ref("cost")])
        self.put(
            "margin",
            MARGIN[self.own.margin_on],
            [
                self.rates.fact("margin", "margin", self.own.margin, "-"),
                self.ref("cost"),
                self.ref("overhead"),
            ],
            f"margin_on = {self.own.margin_on}",
        )
        self.put(
            "price",
            "cost + overhead + margin",
            [self.ref(n) for n in ("cost", "overhead", "margin")],
        )
        self.put("minimum", "max(least - price, 0 * least)", [self.least, self.ref("price")])

    @property
    def round_by_line(self) -> bool:
        """Whether each line is rounded; a job of no cost has only its minimum to share out."""
        return self.own.round_at == "line" and bool(self.figures["price"].value)

    def tax_factor(self) -> Decimal:
        """Return what turns a net price into the one that is shown."""
        return 1 + self.own.tax if self.own.tax_included else Decimal(1)

    def exact(self, amounts: Amounts) -> tuple[str, list[Exact]]:
        """Return the formula of a line's price before rounding, and its factors."""
        body = " + ".join(COST.values())
        facts = self.needed(body, amounts)
        facts += [
            self.rates.scrap_fact,
            self.rates.fact("overhead_rate", "overhead", self.own.overhead, "-"),
            self.rates.fact("margin", "margin", self.own.margin, "-"),
        ]
        on = "* (1 + margin)" if self.own.margin_on == "cost" else "/ (1 - margin)"
        formula = f"({body}) * (1 + {REMAKES}) * (1 + overhead_rate) {on}"
        if self.figures["minimum"].value and self.figures["price"].value:
            formula += " * (1 + minimum / price)"
            facts += [self.ref("minimum"), self.ref("price")]
        if self.own.tax_included:
            formula += " * (1 + tax_rate)"
            facts.append(self.tax_fact())
        return formula, facts

    def tax_fact(self) -> Exact:
        """Return the rate of the tax as a factor."""
        return self.rates.fact("tax_rate", "tax", self.own.tax, "-")

    def tax_of(self, base: str) -> str:
        """Return the formula of the tax on, or in, an amount: half up, whatever prices obey."""
        inside = f"{base} - {base} / (1 + tax_rate)"
        return f"round_half_up({inside if self.own.tax_included else f'{base} * tax_rate'}, cent)"

    @property
    def step(self) -> Exact:
        """Step that prices are rounded to."""
        return self.rates.money("step", "round_to")

    @property
    def least(self) -> Exact:
        """The minimum charge."""
        return self.rates.money("least", "minimum")

    @property
    def cent(self) -> Exact:
        """Smallest amount of the currency."""
        return Explained("cent", self.rates.unit, self.currency, "smallest amount")

    def coins(self, amount: Decimal) -> Decimal:
        """Write an amount with the digits of its currency, whatever step it was rounded to."""
        return amount.quantize(self.rates.unit, context=EXACT)

    def tax_on(self, amount: Decimal) -> Decimal:
        """Return the rounded tax on, or in, an amount."""
        facts = [Explained("line", amount, self.currency), self.tax_fact(), self.cent]
        return figure("", "", self.tax_of("line"), facts).value

    def net_of(self, amounts: Sequence[Decimal]) -> Decimal:
        """Return the net price of rounded lines."""
        whole = sum(amounts, Decimal(0))
        if not self.own.tax_included:
            return whole
        by_line = self.own.tax_at == "line"
        return whole - sum(map(self.tax_on, amounts if by_line else [whole]), Decimal(0))

    def charged(self, price: Decimal) -> Decimal:
        """Return a price as charged: the minimum, the tax where it is shown, rounded."""
        with decimal.localcontext(EXACT):
            whole = max(price, self.own.minimum) * self.tax_factor()
            made = rounded(whole, self.own.round_to, self.rule)
            if self.net_of([made]) < self.own.minimum:
                made = rounded(whole, self.own.round_to, "up")
            return self.coins(made)

    def lines(self) -> tuple[list[tuple[str, Amounts]], list[Decimal]]:
        """Return the items with their prices, rounded so that they add up.

        Where rounding leaves less than the minimum, the total is rounded up, and on by single
        steps where the tax of the lines takes more than its share out of it.
        """
        items = list(self.work.by_item().items())
        exact = [figure("", "", *self.exact(a)).value for _, a in items]
        step, least = self.own.round_to, self.own.minimum
        with decimal.localcontext(EXACT):
            whole = max(self.figures["price"].value, least) * self.tax_factor()
            if self.round_by_line:
                amounts = [rounded(x, step, self.rule) for x in exact]
            else:
                amounts = list(apportion(rounded(whole, step, self.rule), exact, self.rates.unit))
            if self.net_of(amounts) < least:
                self.rule = "up"
                share = step if self.round_by_line else self.rates.unit
                total = rounded(whole, step, "up")
                amounts = list(apportion(total, exact, share))
                while self.net_of(amounts) < least:
                    self.lift += step
                    amounts = list(apportion(total + self.lift, exact, share))
        return items, [self.coins(a) for a in amounts]

    def totals(
        self, items: Sequence[str], amounts: Sequence[Decimal]
    ) -> tuple[Decimal, Decimal, Decimal, list[Decimal]]:
        """Return net, tax, gross and the tax of each line; make their figures."""
        own = self.own
        base = "gross" if own.tax_included else "net"
        lines = [
            Explained(f"line_{i}", a, self.currency, f"figure {item}")
            for i, (item, a) in enumerate(zip(items, amounts, strict=True), 1)
        ]
        rule = f"round_at = {own.round_at}"
        if self.rule != own.rounding:
            rule += "; rounded up: it would be below the minimum"
        if self.round_by_line:
            self.put(base, " + ".join(f.name for f in lines), lines, rule)
        else:
            whole, facts = "max(price, least)", [self.ref("price"), self.least]
            if own.tax_included:
                whole, facts = f"{whole} * (1 + tax_rate)", [*facts, self.tax_fact()]
            formula = f"round_{self.rule.replace('-', '_')}({whole}, step)"
            if self.lift:
                formula += " + lift"
                note = "steps up, until the tax of the lines leaves the minimum"
                facts.append(Explained("lift", self.lift, self.currency, note))
            self.put(base, formula, [*facts, self.step], rule)
        taxes = [self.tax_on(a) for a in amounts]
        rate = self.tax_fact()
        if own.tax_at == "line" and lines:
            terms = " + ".join(self.tax_of(f.name) for f in lines)
            self.put("tax", terms, [*lines, rate, self.cent], "tax_at = line")
        else:
            self.put("tax", self.tax_of(base), [self.ref(base), rate, self.cent], "tax_at = total")
        if own.tax_included:
            self.put("net", "gross - tax", [self.ref("gross"), self.ref("tax")])
        else:
            self.put("gross", "net + tax", [self.ref("net"), self.ref("tax")])
        net, tax, gross = (self.coins(self.figures[n].value) for n in ("net", "tax", "gross"))
        return net, tax, gross, [self.coins(t) for t in taxes]

    def explain(self, name: str, amounts: Amounts, amount: Decimal) -> None:
        """Make the figure of a line or part: its exact price and what rounding did."""
        formula, facts = self.exact(amounts)
        with decimal.localcontext(EXACT):
            gap = amount - figure("", "", formula, facts).value
        note = "to the cent, by the largest remainder"
        if self.round_by_line:
            note = "rounding of the line, or its share of the rounded total"
        facts.append(Explained("to_the_cent", gap, self.currency, note))
        self.put(name, f"{formula} + to_the_cent", facts)
