"""From the work of a job to its price."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from decimal import Decimal

from edgetime.estimating import Estimate
from edgetime.explained import Explained, Source, source_in
from edgetime.findings import Severity
from edgetime.price.findings import price_findings
from edgetime.price.formulas import FOOT, Exact, figure, used
from edgetime.price.inquiry import Inquiry
from edgetime.price.money import EXACT, apportion, decimal_of, rounded
from edgetime.price.pricer import Pricer
from edgetime.price.quote import KINDS, CostShare, Line, PartPrice, Quote
from edgetime.price.rates import Rates
from edgetime.price.work import HANDLING, SETUP, Amounts, Work, collect, merged


def _tools_of_load(pricer: Pricer, est: Estimate) -> tuple[str, list[Exact]]:
    """Return the formula of a load's tools, price times share of life by piece, and its factors."""
    facts: list[Exact] = []
    terms: list[str] = []
    raw = pricer.rates.catalogue.raw
    for t in est.wear.tools:
        if t.cost is None or t.price is None or t.share is None:
            continue
        n = len(terms) + 1
        file = est.load.catalogue.tools[t.tool].file
        measure = t.measure
        facts.append(
            Explained(
                f"price_{n}", t.price, pricer.currency, t.piece, source_in(raw, file, "price")
            )
        )
        facts.append(
            Explained(
                f"share_{n}",
                decimal_of(t.share),
                "-",
                f"of the life of {t.piece} used, by {t.governing}",
                Source() if measure is None else source_in(raw, measure.file, measure.key),
            )
        )
        terms.append(f"price_{n} * share_{n}")
    return " + ".join(terms) or "0", facts


def _tools_figure(pricer: Pricer, estimates: Sequence[Estimate]) -> None:
    """Make the figure of the tools; of several loads one for each, and their sum."""
    if len(estimates) == 1:
        pricer.put("tools", *_tools_of_load(pricer, estimates[0]))
        return
    facts = []
    for number, est in enumerate(estimates, 1):
        name = f"tools:load-{number}"
        pricer.put(name, *_tools_of_load(pricer, est))
        facts.append(used(pricer.figures[name], f"load_{number}"))
    pricer.put("tools", " + ".join(f.name for f in facts), facts)


def _quantity(item: str, count: dict[str, Decimal]) -> tuple[Decimal, str]:
    if item in {HANDLING, SETUP}:
        return Decimal(1), "load"
    unit = "m" if item.startswith(("profile:", "preparation:")) else "each"
    return count.get(item, Decimal(0)), unit


def _kinds(pricer: Pricer, net: Decimal) -> tuple[CostShare, ...]:
    """Return what the net price is made of; the costs are as they came about, not rounded up.

    The minimum charge and the rounding are separate kinds and belong to the margin.
    """
    unit = pricer.rates.unit
    exact = [pricer.figures[kind].value for kind in KINDS]
    price, minimum = pricer.figures["price"], pricer.figures["minimum"]
    with decimal.localcontext(EXACT):
        before = rounded(price.value, unit)
        least = rounded(price.value + minimum.value, unit) - before
    amounts = dict(zip(KINDS, apportion(before, exact, unit), strict=True))
    amounts["minimum"] = least
    amounts["rounding"] = net - before - least
    facts = [
        Explained("net", net, pricer.currency, "figure net"),
        pricer.ref("price"),
        pricer.ref("minimum"),
    ]
    pricer.put("rounding", "net - price - minimum", facts, f"round_to, {pricer.rule}")
    true = [pricer.ref(name) for name in ("margin", "minimum", "rounding")]
    pricer.put("margin-in-all", "margin + minimum + rounding", true)
    if net:
        of = figure("margin-share", "-", "(margin + minimum + rounding) / net", [*true, facts[0]])
        pricer.figures[of.name] = of
    with decimal.localcontext(EXACT):
        return tuple(
            CostShare(kind=kind, amount=amount, share=amount / net if net else Decimal(0))
            for kind, amount in amounts.items()
        )


def _line(
    pricer: Pricer, item: str, own: Amounts, amount: Decimal, tax: Decimal | None, source: str
) -> Line:
    """Return a line of the quote; make the figures of its unit prices."""
    quantity, unit = _quantity(item, pricer.work.count)
    unit_price = None
    if quantity > 0 and unit != "load":
        inputs = [
            Explained("amount", amount, pricer.currency, f"figure {item}"),
            Explained("quantity", quantity, unit, source),
        ]
        per = "m" if unit == "m" else "each"
        made = pricer.put_rate(f"{item}/{per}", per, "amount / quantity", inputs)
        unit_price = made.value
        if unit == "m":
            pricer.put_rate(f"{item}/ft", "ft", "amount / quantity * foot", [*inputs, FOOT])
    return Line(
        item=item,
        quantity=quantity,
        unit=unit,
        amount=amount,
        unit_price=unit_price,
        tax=tax,
        amounts=own,
    )


def _parts(pricer: Pricer, shown: Decimal) -> tuple[PartPrice, ...]:
    """Share out the shown total over the parts."""
    work = pricer.work
    by_part = work.by_part()
    exact = [figure("", "", *pricer.exact(a)).value for a in by_part.values()]
    parts = []
    for (index, own), amount in zip(
        by_part.items(), apportion(shown, exact, pricer.rates.unit), strict=True
    ):
        part_id, name = ("", SETUP) if index < 0 else work.parts[index]
        pricer.explain(f"part:{part_id or SETUP}", own, amount)
        parts.append(PartPrice(part_id=part_id, name=name, amount=amount))
    return tuple(parts)


def _band(pricer: Pricer, error: Decimal) -> tuple[Decimal, Decimal]:
    """Return the least and the most that a price may be for the error of an inquiry."""
    price = pricer.figures["price"].value
    # The error is a share of the price d by drawing: price = d (1 ± error), d = price / (1 ± error).
    with decimal.localcontext(EXACT):
        low, high = price / (1 + error), price / (1 - error)
    return pricer.charged(low), pricer.charged(high)


def price_work(
    work: Work, rates: Rates, estimates: Sequence[Estimate], *, error: Decimal | None = None,
    inquiry: Inquiry | None = None,
) -> Quote:  # fmt: skip
    """Price the work of a job."""
    load = estimates[0].load
    pricer = Pricer(work, rates, load.machine.file)
    _tools_figure(pricer, estimates)
    pricer.load()
    items, amounts = pricer.lines()
    net, tax, gross, taxes = pricer.totals([item for item, _ in items], amounts)
    for (item, own), amount in zip(items, amounts, strict=True):
        pricer.explain(item, own, amount)
    source = "of the drawing" if inquiry is None else "as given with --lengths"
    lines = tuple(
        _line(pricer, item, own, amount, line_tax if rates.own.tax_at == "line" else None, source)
        for (item, own), amount, line_tax in zip(items, amounts, taxes, strict=True)
    )
    parts = _parts(pricer, gross if rates.own.tax_included else net)
    kinds = _kinds(pricer, net)
    return Quote(
        currency=rates.currency,
        locale=rates.own.locale,
        lines=lines,
        parts=parts,
        costs=kinds,
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
        work=work,
        error=error,
        band=None if error is None else _band(pricer, error),
        inquiry=inquiry,
        errors=tuple(
            dict.fromkeys(f for e in estimates for f in e.findings if f.severity is Severity.ERROR)
        ),
        own_findings=price_findings(estimates, rates, pricer.figures, inquiry),
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
        Prices are in two currencies.
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
