"""A quote taken apart for recalculation: rates, prices of tools, and costs by part and item.

A spreadsheet that follows a changed rate needs what the sums of a quote are made of. All formulas
are those the quote was calculated with; the totals say how the parts make the price again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from typing import Final, NamedTuple

from edgetime.price.costs import AMOUNTS, COST, MARGIN, REMAKES
from edgetime.price.formulas import Exact, evaluate
from edgetime.price.money import minor_unit, rounded
from edgetime.price.quote import KINDS, Quote
from edgetime.price.work import Amounts
from edgetime.tooling.price_rates import PriceRates

ROUNDED_LIMIT: Final = 100
"""A total is below the minimum if it is so by more than the coin divided by this: spreadsheets
calculate in binary fractions."""

_MONEY: Final = re.compile(r"(?:price|share)_\d+")


class RateRow(NamedTuple):
    """A figure of the shop that a price is calculated with.

    Attributes
    ----------
    name : str
        As formulas call it.
    value : Decimal
        In ``unit``.
    unit, note, source : str
        ``-`` for a share; the meaning; file and key.
    formula : str
        For what follows from other rows.
    """

    name: str
    value: Decimal
    unit: str
    note: str
    source: str
    formula: str = ""


class ToolRow(NamedTuple):
    """A tool that a job wears.

    Attributes
    ----------
    piece : str
        The tool, with its profile.
    price : Decimal
        Of a new one.
    share : Decimal
        Of its life used by the job [-].
    cost : Decimal
        Price times share.
    source : str
        Of the price.
    """

    piece: str
    price: Decimal
    share: Decimal
    cost: Decimal
    source: str


class CostRow(NamedTuple):
    """What one part has of one item.

    Attributes
    ----------
    part_number, item_number : int
        Rows of the part and of the item in their tables, from 1.
    part_id, item : str
        Names; the part is empty for what no part bears.
    amounts : Amounts
        What is priced.
    lives : mapping
        Piece → share of life used [-].
    costs : mapping
        Name of a column of :func:`cost_formulas` → amount.
    renamed : mapping
        Name of a rate → name of the one of this row, where that is another.
    """

    part_number: int
    item_number: int
    part_id: str
    item: str
    amounts: Amounts
    lives: Mapping[str, Decimal]
    costs: Mapping[str, Decimal]
    renamed: Mapping[str, str] = {}


class TotalRow(NamedTuple):
    """A sum of the whole job.

    Attributes
    ----------
    name, title : str
        As formulas call it, and as people do.
    value : Decimal
        In the quote's currency.
    formula : str
        Over the tables ``costing`` and ``items``, rates and other totals.
    """

    name: str
    title: str
    value: Decimal
    formula: str


def cost_formulas(margin_on: str) -> dict[str, str]:
    """Return the columns of a cost sheet: name → formula over amounts, rates and earlier columns."""
    kinds = [f"{kind}_cost" for kind in COST]
    return {
        **{f"{kind}_cost": formula for kind, formula in COST.items()},
        "remakes_cost": f"{REMAKES} * ({' + '.join(kinds)})",
        "cost": " + ".join([*kinds, "remakes_cost"]),
        "overhead_cost": "overhead_rate * cost",
        # The share and the amount have one name in the formula of the quote; a sheet needs two.
        "margin_cost": MARGIN[margin_on].replace("overhead", "overhead_cost"),
        "price": "cost + overhead_cost + margin_cost",
    }


@dataclass(frozen=True, kw_only=True, eq=False)
class Costing:
    """A quote as tables that can be calculated again.

    Attributes
    ----------
    quote : Quote
        The quote.
    own : PriceRates
        Rules of rounding and tax.
    cent : Decimal
        Smallest amount of the currency.
    scaled : bool
        Whether items are sold by a quantity that may be changed.
    rates, tools, rows, totals : tuple
        The tables.
    """

    quote: Quote
    own: PriceRates
    cent: Decimal
    scaled: bool = True
    rates: tuple[RateRow, ...]
    tools: tuple[ToolRow, ...]
    rows: tuple[CostRow, ...]
    totals: tuple[TotalRow, ...]

    @property
    def formulas(self) -> dict[str, str]:
        """The columns of costs, each with its formula."""
        return cost_formulas(self.own.margin_on)

    @property
    def used(self) -> tuple[str, ...]:
        """The amounts that any row has."""
        names = [f.name for f in fields(Amounts)]
        return tuple(n for n in names if any(getattr(r.amounts, n) for r in self.rows))

    @property
    def by_line(self) -> bool:
        """Whether each line is rounded by itself."""
        return self.own.round_at == "line" and bool(self.quote.figures["price"].value)

    @property
    def charge(self) -> str:
        """Formula of what turns an item's price into its share of what is charged."""
        least = "((price_all + minimum_all) / price_all if price_all > 0 else 1)"
        return f"{least} * (1 + tax_rate)" if self.own.tax_included else least

    @property
    def rounded(self) -> str:
        """Formula of an item's rounded price, where lines are rounded."""
        return f"round_{self.own.rounding.replace('-', '_')}(exact, step)"

    @property
    def amount(self) -> str:
        """Formula of an item's price as it is listed."""
        if not self.by_line:
            return f"apportion({self.shown}, items.exact, {self.cent})"
        low = f"{self._net_of('sum(items.rounded)')} < least - {self.cent} / {ROUNDED_LIMIT}"
        return f"apportion(round_up({_whole(self.own)}, step), items.exact, step) if {low} else rounded"

    def per_length(self, metres: Decimal, times: str = "") -> str:
        """Return the formula of a price by length, of lines that are priced each by itself."""
        tax = " * (1 + tax_rate)" if self.own.tax_included else ""
        price = f"sum_if(costing.item_number, number, costing.price) / {metres}{tax}{times}"
        return f"round_{self.own.rounding.replace('-', '_')}({price}, step)"

    @property
    def shown(self) -> str:
        """Name of the total that items and parts add up to."""
        return "gross" if self.own.tax_included else "net"

    def exact_of(self, number: str) -> str:
        """Return the formula of what is charged for an item or a part before rounding."""
        return f"sum_if(costing.{number}, number, costing.price) * {self.charge}"

    def _charged(self, prices: Iterable[Decimal]) -> Decimal:
        figures = self.quote.figures
        names = {
            "own_price": sum(prices, Decimal(0)),
            "price_all": figures["price"].value,
            "minimum_all": figures["minimum"].value,
            "tax_rate": self.own.tax,
        }
        return evaluate(f"own_price * {self.charge}", names)

    def exact(self, item: str) -> Decimal:
        """Return what is charged for an item before rounding."""
        return self._charged(r.costs["price"] for r in self.rows if r.item == item)

    def exact_part(self, number: int) -> Decimal:
        """Return what is charged for a part before rounding."""
        return self._charged(r.costs["price"] for r in self.rows if r.part_number == number)

    def rounded_to(self, item: str) -> Decimal:
        """Return the rounded price of an item."""
        return rounded(self.exact(item), self.own.round_to, self.own.rounding)

    def exact_kind(self, kind: str) -> Decimal:
        """Return the amount of a kind of cost before rounding; nothing for what is added."""
        return self.quote.figures[kind].value if kind in KINDS else Decimal(0)

    def kind_formula(self, kind: str) -> str:
        """Return the formula of :meth:`exact_kind`."""
        return f"sum(costing.{kind}_cost)" if kind in KINDS else ""

    def kind_amount(self, kind: str) -> str:
        """Return the formula of a kind of cost to the coin."""
        before = f"round_half_up(price_all, {self.cent})"
        least = f"round_half_up(price_all + minimum_all, {self.cent})"
        if kind in KINDS:
            return f"apportion({before}, costs.exact, {self.cent})"
        return f"{least} - {before}" if kind == "minimum" else f"net - {least}"

    def tax_of(self, base: str) -> str:
        """Return the formula of the tax on, or in, an amount."""
        inside = f"{base} - {base} / (1 + tax_rate)"
        return f"round_half_up({inside if self.own.tax_included else f'{base} * tax_rate'}, {self.cent})"

    def _net_of(self, base: str) -> str:
        return f"{base} - {self.tax_of(base)}" if self.own.tax_included else base

    def total_formulas(self) -> dict[str, str]:
        """Return how net, tax and gross follow."""
        base, other, sign = (
            ("gross", "net", "-") if self.own.tax_included else ("net", "gross", "+")
        )
        if self.by_line:
            whole = "sum(items.amount)"
        else:
            exact = _whole(self.own)
            rule = f"round_{self.own.rounding.replace('-', '_')}({exact}, step)"
            low = f"{self._net_of(rule)} < least - {self.cent} / {ROUNDED_LIMIT}"
            # Rounded to nothing below the minimum; a quote of which line taxes took more was
            # lifted by steps, which stay.
            whole = f"(round_up({exact}, step) if {low} else {rule})"
            lift = next((f for f in self.quote.figures[base].inputs if f.name == "lift"), None)
            whole += "" if lift is None else f" + {lift.value}"
        tax = "sum(items.tax)" if self.own.tax_at == "line" else self.tax_of(base)
        return {base: whole, "tax": tax, other: f"{base} {sign} tax"}


def _whole(own: PriceRates) -> str:
    return f"max(price_all, least){' * (1 + tax_rate)' if own.tax_included else ''}"


def _rates(quote: Quote, own: PriceRates) -> tuple[RateRow, ...]:
    """Return the figures of the shop's files in a quote, each once, and the machine's rate."""
    rows: dict[str, RateRow] = {}
    hour = quote.figures["machine-rate"]
    for made in (hour, *quote.figures.values()):
        for f in made.inputs:
            if f.name == "setup_h":
                each = f.value / quote.loads
                rows.setdefault("setup", _rate(f, "setup", each, "once per load"))
            elif f.source.file and f.name not in AMOUNTS and not _MONEY.fullmatch(f.name):
                rows.setdefault(f.name, _rate(f, f.name, f.value, f.note))
    if "machine_rate" not in rows:
        rows["machine_rate"] = RateRow(
            "machine_rate", hour.value, hour.unit, hour.note, "", hour.formula
        )
    # Where lines are rounded, no figure of the whole names the step.
    rows.setdefault("step", RateRow("step", own.round_to, quote.currency, "", ""))
    return tuple(rows.values())


def _rate(made: Exact, name: str, value: Decimal, note: str) -> RateRow:
    return RateRow(name, value, made.unit, note, made.source.text)


def _tools(quote: Quote) -> tuple[ToolRow, ...]:
    rows: dict[str, ToolRow] = {}
    lives: dict[str, Decimal] = {}
    for cell in quote.work.worn.values():
        for piece, share in cell.items():
            lives[piece] = lives.get(piece, Decimal(0)) + share
    for name, made in quote.figures.items():
        if name.partition(":")[0] != "tools":
            continue
        for f in made.inputs:
            if f.name.startswith("price_"):
                share = lives.get(f.note, Decimal(0))
                cost = evaluate("price * share", {"price": f.value, "share": share})
                rows.setdefault(f.note, ToolRow(f.note, f.value, share, cost, f.source.text))
    return tuple(rows.values())


def _costs(amounts: Amounts, rates: tuple[RateRow, ...], own: PriceRates) -> dict[str, Decimal]:
    """Evaluate the columns of costs for some amounts."""
    values = {row.name: row.value for row in rates}
    values |= {f.name: getattr(amounts, f.name) for f in fields(amounts)}
    costs: dict[str, Decimal] = {}
    for name, formula in cost_formulas(own.margin_on).items():
        costs[name] = evaluate(formula, values | costs)
    return costs


def lines_costing(lines: Sequence[tuple[str, str, Quote]], own: PriceRates) -> Costing:
    """Take quotes apart of which each is one line, such as those of a price list.

    Parameters
    ----------
    lines : sequence of (str, str, Quote)
        What a line is of, in two words, and its quote; at least one.
    own : PriceRates
        The table ``[price]`` they were made with.
    """
    rates: dict[str, RateRow] = {}
    tools: dict[str, ToolRow] = {}
    rows = []
    for number, (of, item, quote) in enumerate(lines, 1):
        own_rates = _rates(quote, own)
        renamed = {}
        for rate in own_rates:
            if rates.setdefault(rate.name, rate).value != rate.value:
                # An alternative may have a rate of its own.
                name = renamed[rate.name] = f"{rate.name}_{number}"
                rates[name] = rate._replace(name=name, note=f"{rate.note} of {item}".strip())
        lives: dict[str, Decimal] = {}
        for row in _tools(quote):
            lives[row.piece] = row.share
            known = tools.get(row.piece, row._replace(share=Decimal(0), cost=Decimal(0)))
            tools[row.piece] = row._replace(
                share=known.share + row.share, cost=known.cost + row.cost
            )
        amounts = quote.work.total()
        costs = _costs(amounts, own_rates, own)
        rows.append(CostRow(number, number, of, item, amounts, lives, costs, renamed))
    quote = lines[0][2]
    return Costing(
        quote=quote,
        own=own,
        cent=minor_unit(quote.currency),
        scaled=False,
        rates=tuple(rates.values()),
        tools=tuple(tools.values()),
        rows=tuple(rows),
        totals=(),
    )


def costing(quote: Quote, own: PriceRates) -> Costing:
    """Take a quote apart.

    Parameters
    ----------
    quote : Quote
        The quote.
    own : PriceRates
        The table ``[price]`` it was made with.
    """
    rates = _rates(quote, own)
    items = {line.item: n for n, line in enumerate(quote.lines, 1)}
    rows = []
    for (part, item), amounts in quote.work.cells.items():
        rows.append(
            CostRow(
                # What no part bears is the last row of the parts.
                part + 1 if part >= 0 else len(quote.parts),
                items[item],
                quote.work.parts[part][0] if part >= 0 else "",
                item,
                amounts,
                quote.work.worn.get((part, item), {}),
                _costs(amounts, rates, own),
            )
        )
    figures = quote.figures
    table = Costing(
        quote=quote,
        own=own,
        cent=minor_unit(quote.currency),
        rates=rates,
        tools=_tools(quote),
        rows=tuple(rows),
        totals=(),
    )
    names = {"net": "Net price", "tax": "Tax", "gross": "Total"}
    sums = (
        TotalRow("cost_all", "Cost", figures["cost"].value, "sum(costing.cost)"),
        TotalRow(
            "overhead_all", "Overhead", figures["overhead"].value, "sum(costing.overhead_cost)"
        ),
        TotalRow("margin_all", "Margin", figures["margin"].value, "sum(costing.margin_cost)"),
        TotalRow(
            "price_all", "Price before rounding", figures["price"].value, "sum(costing.price)"
        ),
        TotalRow(
            "minimum_all",
            "Up to the minimum charge",
            figures["minimum"].value,
            "max(least - price_all, 0)",
        ),
        *(
            TotalRow(name, names[name], getattr(quote, name), table.total_formulas()[name])
            for name in names
        ),
    )
    return replace(table, totals=sums)
