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

    def put(
        self, name: str, formula: str, facts: Sequence[Exact] | None = None, note: str = ""
    ) -> None:
        """Make a figure of money, of the rates and figures that its formula names or of others."""
        inputs = self.named(formula) if facts is None else facts
        self.figures[name] = figure(name, self.currency, formula, inputs, note)

    def named(self, formula: str) -> list[Exact]:
        """Return what a formula names: rates of the shop, else figures made before."""
        rates = self.rates.by_name
        return [
            rates[name] if name in rates else self.ref(name)
            for name in names_of(formula)
            if name in rates or name in self.figures
        ]

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
        out = [fact for name, fact in self.rates.by_name.items() if name in named]
        for name, (unit, note) in AMOUNTS.items():
            if name not in named:
                continue
            value = getattr(amounts, name)
            if name == "setup_h":
                out.append(self.rates.fact(name, "price.setup", value, unit, note))
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
        note = "scrap: spoiled parts are made again"
        self.put("remakes", f"{REMAKES} * ({' + '.join(COST)})", note=note)
        self.put("cost", " + ".join((*COST, "remakes")))
        self.put("overhead", "overhead_rate * cost")
        self.put("margin", MARGIN[self.own.margin_on], note=f"margin_on = {self.own.margin_on}")
        # The figure of the margin, not its rate, which has the same name in formulas.
        parts = ("cost", "overhead", "margin")
        self.put("price", " + ".join(parts), [self.ref(name) for name in parts])
        self.put("minimum", "max(least - price, 0 * least)")

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
        on = "* (1 + margin)" if self.own.margin_on == "cost" else "/ (1 - margin)"
        formula = f"({body}) * (1 + {REMAKES}) * (1 + overhead_rate) {on}"
        facts = self.needed(body, amounts) + self.named(f"{REMAKES} * overhead_rate * margin")
        if self.figures["minimum"].value and self.figures["price"].value:
            formula += " * (1 + minimum / price)"
            facts += [self.ref("minimum"), self.ref("price")]
        if self.own.tax_included:
            formula += " * (1 + tax_rate)"
            facts.append(self.rates.by_name["tax_rate"])
        return formula, facts

    def tax_of(self, base: str) -> str:
        """Return the formula of the tax on, or in, an amount: half up, whatever prices obey."""
        inside = f"{base} - {base} / (1 + tax_rate)"
        return f"round_half_up({inside if self.own.tax_included else f'{base} * tax_rate'}, cent)"

    def coins(self, amount: Decimal) -> Decimal:
        """Write an amount with the digits of its currency, whatever step it was rounded to."""
        return amount.quantize(self.rates.unit, context=EXACT)

    def tax_on(self, amount: Decimal) -> Decimal:
        """Return the rounded tax on, or in, an amount."""
        formula = self.tax_of("line")
        facts = [Explained("line", amount, self.currency), *self.named(formula)]
        return figure("", "", formula, facts).value

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
            whole = "max(price, least)"
            if own.tax_included:
                whole += " * (1 + tax_rate)"
            formula = f"round_{self.rule.replace('-', '_')}({whole}, step)"
            facts = self.named(formula)
            if self.lift:
                formula += " + lift"
                note = "steps up, until the tax of the lines leaves the minimum"
                facts.append(Explained("lift", self.lift, self.currency, note))
            self.put(base, formula, facts, rule)
        taxes = [self.tax_on(a) for a in amounts]
        if own.tax_at == "line" and lines:
            terms = " + ".join(self.tax_of(f.name) for f in lines)
            self.put("tax", terms, [*lines, *self.named(terms)], "tax_at = line")
        else:
            self.put("tax", self.tax_of(base), note="tax_at = total")
        if own.tax_included:
            self.put("net", "gross - tax")
        else:
            self.put("gross", "net + tax")
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
