"""From the work of a job to its price."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final

from edgetime.estimating import Estimate
from edgetime.findings import Severity
from edgetime.price.findings import price_findings
from edgetime.price.inquiry import Inquiry
from edgetime.price.model import KINDS, CostShare, Line, PartPrice, Quote
from edgetime.price.money import EXACT, apportion, decimal_of, rounded
from edgetime.price.rates import Rates
from edgetime.price.sheet import Fact, Figure, figure, names_of
from edgetime.price.work import HANDLING, SETUP, Amounts, Work, collect, merged

__all__ = ["price_load", "price_loads", "price_work"]

_COST: Final = {
    "machine": "machine_rate * (machine_s + waiting_s) / 3600",
    "power": "electricity * energy_kwh",
    "water": "water_rate * water_m3",
    "labour": "labour_rate * ((attended_s + attendance * machine_s) / 3600 + setup_h)",
    "hand": "hand_rate * hand_m",
    "tools": "tools",
}
"""Kind of cost → formula over the amounts of a load, an item or a part."""

_MARGIN: Final = {
    "cost": "margin * (cost + overhead)",
    "price": "margin / (1 - margin) * (cost + overhead)",
}

_ATTENDED_KEYS: Final = "load_part, unload_part, flip, cup_move, slug, stop"

_AMOUNTS: Final = {
    "machine_s": ("s", "machine cycle; edgetime estimate --explain TOOL says how it comes about"),
    "waiting_s": ("s", "attended while the machine stands; none with machine_waits = false"),
    "attended_s": ("s", "loading, stops and unloading, by the load's parts"),
    "setup_h": ("h", "once per load, shared by setup_share"),
    "energy_kwh": ("kWh", "as edgetime wear reckons it; an item's share by its machine time"),
    "water_m3": ("m3", "as edgetime wear reckons it; an item's share by its machine time"),
    "hand_m": ("m", "edge of the drawing that no finishing tool reaches"),
    "tools": ("", "as worn, price times share of life used: figure tools"),
}
"""Name of an amount → unit, money without one, and where it comes from."""

_MACHINE_KEYS: Final = {
    "waiting_s": _ATTENDED_KEYS,
    "attended_s": _ATTENDED_KEYS,
    "energy_kwh": "spindle_power, base_power",
    "water_m3": "water_flow",
}
"""Name of an amount → keys of the machine's file it is reckoned with."""


class _Pricer:
    """Prices one job."""

    def __init__(self, work: Work, rates: Rates, machine_file: str) -> None:
        self.work, self.rates, self.own = work, rates, rates.own
        self.machine_file = machine_file
        self.currency = rates.currency
        self.figures: dict[str, Figure] = {"machine-rate": rates.machine}
        r = rates
        own = rates.own
        self.facts = {
            "machine_rate": r.machine_fact,
            "electricity": r.money("electricity", "electricity", "kWh"),
            "water_rate": r.money("water_rate", "water", "m3"),
            "labour_rate": r.money("labour_rate", "labour_rate", "h"),
            "attendance": r.fact("attendance", "attendance", own.attendance, "-"),
            "hand_rate": r.money("hand_rate", "hand_rate", "m"),
        }

    def put(self, name: str, formula: str, facts: Sequence[Fact], note: str = "") -> Decimal:
        made = figure(name, self.currency, formula, facts, note)
        self.figures[name] = made
        return made.value

    def ref(self, name: str) -> Fact:
        """Return a figure made before as a factor."""
        made = self.figures[name]
        return Fact(name=name, value=made.value, unit=made.unit, note=f"figure {name}")

    def needed(self, formula: str, amounts: Amounts) -> list[Fact]:
        """Return the factors a formula over amounts names."""
        named = names_of(formula)
        out = [fact for name, fact in self.facts.items() if name in named]
        for name, (unit, note) in _AMOUNTS.items():
            if name not in named:
                continue
            value = getattr(amounts, name)
            if name == "setup_h":
                out.append(self.rates.fact(name, "setup", value, unit, note))
                continue
            file, key = ("", "")
            if name in _MACHINE_KEYS:
                file, key = self.machine_file, _MACHINE_KEYS[name]
            out.append(
                Fact(
                    name=name,
                    value=value,
                    unit=unit or self.currency,
                    file=file,
                    key=key,
                    note=note,
                )
            )
        return out

    def load(self) -> None:
        """Price the whole job before rounding."""
        total = self.work.total()
        for kind, formula in _COST.items():
            if kind != "tools":
                self.put(kind, formula, self.needed(formula, total))
        self.put("cost", " + ".join(_COST), [self.ref(kind) for kind in _COST])
        share = self.rates.fact("overhead_rate", "overhead", self.own.overhead, "-")
        self.put("overhead", "overhead_rate * cost", [share, self.ref("cost")])
        self.put(
            "margin",
            _MARGIN[self.own.margin_on],
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
        least = self.rates.money("least", "minimum")
        self.put("minimum", "max(least - price, 0 * least)", [least, self.ref("price")])

    @property
    def round_by_line(self) -> bool:
        """Whether each line is rounded; a job of no cost has only its minimum to share out."""
        return self.own.round_at == "line" and bool(self.figures["price"].value)

    def tax_factor(self) -> Decimal:
        return 1 + self.own.tax if self.own.tax_included else Decimal(1)

    def exact(self, amounts: Amounts) -> tuple[str, list[Fact]]:
        """Return the formula of a line's price before rounding, and its factors."""
        body = " + ".join(_COST.values())
        facts = self.needed(body, amounts)
        facts += [
            self.rates.fact("overhead_rate", "overhead", self.own.overhead, "-"),
            self.rates.fact("margin", "margin", self.own.margin, "-"),
        ]
        on = "* (1 + margin)" if self.own.margin_on == "cost" else "/ (1 - margin)"
        formula = f"({body}) * (1 + overhead_rate) {on}"
        if self.figures["minimum"].value and self.figures["price"].value:
            formula += " * (1 + minimum / price)"
            facts += [self.ref("minimum"), self.ref("price")]
        if self.own.tax_included:
            formula += " * (1 + tax_rate)"
            facts.append(self.tax_fact())
        return formula, facts

    def tax_fact(self) -> Fact:
        return self.rates.fact("tax_rate", "tax", self.own.tax, "-")

    def round_call(self, inner: str, step: str = "step") -> str:
        return f"round_{self.own.rounding.replace('-', '_')}({inner}, {step})"

    def tax_of(self, base: str) -> str:
        """Return the formula of the tax on, or in, an amount."""
        inside = f"{base} - {base} / (1 + tax_rate)"
        return self.round_call(inside if self.own.tax_included else f"{base} * tax_rate", "cent")

    @property
    def step(self) -> Fact:
        return self.rates.money("step", "round_to")

    @property
    def cent(self) -> Fact:
        return Fact(name="cent", value=self.rates.unit, unit=self.currency, note="smallest amount")

    def lines(self) -> tuple[list[tuple[str, Amounts]], list[Decimal]]:
        """Return the items with their prices, rounded so that they add up."""
        items = list(self.work.by_item().items())
        exact = [figure("", "", *self.exact(a)).value for _, a in items]
        if self.round_by_line:
            return items, [rounded(x, self.own.round_to, self.own.rounding) for x in exact]
        with decimal.localcontext(EXACT):
            whole = (
                self.figures["price"].value + self.figures["minimum"].value
            ) * self.tax_factor()
        total = rounded(whole, self.own.round_to, self.own.rounding)
        return items, list(apportion(total, exact, self.rates.unit))

    def totals(self, amounts: list[Decimal]) -> tuple[Decimal, Decimal, Decimal, list[Decimal]]:
        """Return net, tax, gross and the tax of each line; make their figures."""
        own = self.own
        base = "gross" if own.tax_included else "net"
        if self.round_by_line:
            facts = [
                Fact(name=f"line_{i}", value=a, unit=self.currency, note="rounded line")
                for i, a in enumerate(amounts, 1)
            ]
            self.put(base, " + ".join(f.name for f in facts) or "0", facts, "round_at = line")
        else:
            inner = "(price + minimum)" + (" * (1 + tax_rate)" if own.tax_included else "")
            facts = [self.ref("price"), self.ref("minimum"), self.step]
            facts += [self.tax_fact()] if own.tax_included else []
            self.put(base, self.round_call(inner), facts, "round_at = total")
        rate = self.tax_fact()
        taxes = []
        for amount in amounts:
            line = Fact(name="line", value=amount, unit=self.currency)
            taxes.append(figure("", "", self.tax_of("line"), [line, rate, self.cent]).value)
        if own.tax_at == "line":
            facts = [
                Fact(name=f"tax_{i}", value=t, unit=self.currency, note=self.tax_of(f"line_{i}"))
                for i, t in enumerate(taxes, 1)
            ]
            self.put("tax", " + ".join(f.name for f in facts) or "0", facts, "tax_at = line")
        else:
            facts = [self.ref(base), rate, self.cent]
            self.put("tax", self.tax_of(base), facts, "tax_at = total")
        if own.tax_included:
            self.put("net", "gross - tax", [self.ref("gross"), self.ref("tax")])
        else:
            self.put("gross", "net + tax", [self.ref("net"), self.ref("tax")])
        net, tax, gross = (self.figures[n].value for n in ("net", "tax", "gross"))
        return net, tax, gross, taxes

    def tell(self, name: str, amounts: Amounts, amount: Decimal) -> None:
        """Make the figure of a line or part: its exact price and what rounding did."""
        formula, facts = self.exact(amounts)
        with decimal.localcontext(EXACT):
            gap = amount - figure("", "", formula, facts).value
        note = "to the cent, by the largest remainder"
        if self.round_by_line:
            note = "rounding of the line, or its share of the rounded total"
        facts.append(Fact(name="to_the_cent", value=gap, unit=self.currency, note=note))
        self.put(name, f"{formula} + to_the_cent", facts)


def _tools_of_load(pricer: _Pricer, est: Estimate) -> tuple[str, list[Fact]]:
    """Return the formula of a load's tools, price times share of life by piece, and its factors."""
    facts: list[Fact] = []
    terms: list[str] = []
    raw = pricer.rates.catalogue.raw
    for t in est.wear.tools:
        if t.cost is None or t.price is None or t.share is None:
            continue
        n = len(terms) + 1
        file = est.load.catalogue.tools[t.tool].file
        measure = t.measure
        facts.append(
            Fact(
                name=f"price_{n}",
                value=t.price,
                unit=pricer.currency,
                file=file,
                key="price",
                written=raw.get((file, "price"), ""),
                note=t.piece,
            )
        )
        facts.append(
            Fact(
                name=f"share_{n}",
                value=decimal_of(t.share),
                unit="-",
                file="" if measure is None else measure.file,
                key="" if measure is None else measure.key,
                written="" if measure is None else raw.get((measure.file, measure.key), ""),
                note=f"of the life of {t.piece} used, by {t.governing}",
            )
        )
        terms.append(f"price_{n} * share_{n}")
    return " + ".join(terms) or "0", facts


def _tools_figure(pricer: _Pricer, estimates: Sequence[Estimate]) -> None:
    """Make the figure of the tools; of several loads one for each, and their sum."""
    if len(estimates) == 1:
        pricer.put("tools", *_tools_of_load(pricer, estimates[0]))
        return
    facts = []
    for number, est in enumerate(estimates, 1):
        name = f"tools:load-{number}"
        pricer.put(name, *_tools_of_load(pricer, est))
        facts.append(replace(pricer.ref(name), name=f"load_{number}"))
    pricer.put("tools", " + ".join(f.name for f in facts), facts)


def _quantity(item: str, count: dict[str, Decimal]) -> tuple[Decimal, str]:
    if item in {HANDLING, SETUP}:
        return Decimal(1), "load"
    unit = "m" if item.startswith("profile:") else "each"
    return count.get(item, Decimal(0)), unit


def price_work(
    work: Work, rates: Rates, estimates: Sequence[Estimate], *, error: Decimal | None = None,
    inquiry: Inquiry | None = None,
) -> Quote:  # fmt: skip
    """Price the work of a job.

    Parameters
    ----------
    work : Work
        Of all its loads.
    rates : Rates
        What the shop charges.
    estimates : sequence of Estimate
        The loads, in order.
    error : Decimal, optional
        How far the price of an inquiry without a drawing may be off.
    inquiry : Inquiry, optional
        What was told of it.

    Returns
    -------
    Quote
        Lines, parts and kinds of cost each add up exactly.
    """
    load = estimates[0].load
    pricer = _Pricer(work, rates, load.machine.file)
    _tools_figure(pricer, estimates)
    pricer.load()
    items, amounts = pricer.lines()
    net, tax, gross, taxes = pricer.totals(amounts)
    shown = gross if rates.own.tax_included else net
    for (item, own), amount in zip(items, amounts, strict=True):
        pricer.tell(item, own, amount)
    lines = []
    for (item, own), amount, line_tax in zip(items, amounts, taxes, strict=True):
        quantity, unit = _quantity(item, work.count)
        each = None
        if quantity > 0 and unit != "load":
            facts = [
                Fact(name="amount", value=amount, unit=rates.currency, note=f"figure {item}"),
                Fact(name="quantity", value=quantity, unit=unit, key="drawing"),
            ]
            per = "m" if unit == "m" else "each"
            made = figure(f"{item}/{per}", f"{rates.currency}/{per}", "amount / quantity", facts)
            pricer.figures[made.name] = made
            each = made.value
        by_line = rates.own.tax_at == "line"
        lines.append(
            Line(
                item=item,
                quantity=quantity,
                unit=unit,
                amount=amount,
                each=each,
                tax=line_tax if by_line else None,
                amounts=own,
            )
        )
    by_part = work.by_part()
    part_exact = [figure("", "", *pricer.exact(a)).value for a in by_part.values()]
    part_amounts = apportion(shown, part_exact, rates.unit)
    parts = []
    for (index, own), amount in zip(by_part.items(), part_amounts, strict=True):
        part_id, name = ("", SETUP) if index < 0 else work.parts[index]
        pricer.tell(f"part:{part_id or SETUP}", own, amount)
        parts.append(PartPrice(part_id=part_id, name=name, amount=amount))
    exact = [pricer.figures[kind].value for kind in KINDS]
    whole = sum(exact, Decimal(0))
    with decimal.localcontext(EXACT):
        kinds = tuple(
            CostShare(kind=kind, amount=amount, share=x / whole if whole else Decimal(0))
            for kind, amount, x in zip(KINDS, apportion(net, exact, rates.unit), exact, strict=True)
        )
    return Quote(
        currency=rates.currency,
        locale=rates.own.locale,
        lines=tuple(lines),
        parts=tuple(parts),
        kinds=kinds,
        net=net,
        tax=tax,
        gross=gross,
        tax_rate=rates.own.tax,
        tax_included=rates.own.tax_included,
        machine=load.machine.name,
        stone=load.stone.name,
        stack=load.stack.name,
        thickness_mm=load.nominal_mm,
        loads=len(estimates),
        machine_s=work.total().machine_s,
        figures=pricer.figures,
        error=error,
        inquiry=inquiry,
        errors=tuple(
            dict.fromkeys(f for e in estimates for f in e.findings if f.severity is Severity.ERROR)
        ),
        findings=price_findings(estimates, rates, pricer.figures, inquiry),
    )


def price_loads(
    estimates: Sequence[Estimate], *, error: Decimal | None = None, inquiry: Inquiry | None = None
) -> Quote:
    """Price a job of one or several loads with the rates of its shop.

    Parameters
    ----------
    estimates : sequence of Estimate
        At least one, all of one catalogue.
    error, inquiry : optional
        As of :func:`price_work`.

    Raises
    ------
    CatalogueInvalid
        Prices stand in two currencies.
    """
    rates = Rates(estimates[0].load.catalogue, estimates)
    work = merged([collect(est, rates.own) for est in estimates])
    return price_work(work, rates, estimates, error=error, inquiry=inquiry)


def price_load(est: Estimate) -> Quote:
    """Price a load with the rates of its shop.

    Parameters
    ----------
    est : Estimate
        What is made.

    Returns
    -------
    Quote
        By line, part and kind of cost; each adds up to the total to the cent.

    Raises
    ------
    CatalogueInvalid
        Tools and rates are priced in two currencies.
    """
    return price_loads([est])
