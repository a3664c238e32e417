"""The quote and the price list on the screen, numbers written as the shop's locale does."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from edgetime.report.findings import finding_parts, tally
from edgetime.report.screen import heading, line, table
from edgetime.report.text import NONE
from edgetime.units import UnitSystem, format_length, format_time

if TYPE_CHECKING:
    from rich.console import RenderableType

    from edgetime.estimating import Estimate
    from edgetime.price import Figure, PriceList, Quote, WhatIf

__all__ = [
    "LIST_HEADER",
    "QUOTE_HEADER",
    "Numbers",
    "explain_figure_parts",
    "list_csv_rows",
    "list_screen",
    "quote_csv_rows",
    "quote_screen",
]

QUOTE_HEADER = (
    "what_if", "view", "item", "name", "quantity", "unit", "per_unit", "per_ft", "amount",
    "currency",
)  # fmt: skip
"""Columns of a quote's CSV form; ``view`` is line, part, cost or total."""

LIST_HEADER = (
    "stone", "thickness_mm", "profile", "stack", "per_m", "per_ft", "currency",
    "machine_s_per_m", "machine", "labour", "tools", "hand", "overhead", "margin", "why_not",
)  # fmt: skip
"""Columns of the price list's CSV form; the kinds of cost are shares of the net price."""

_FOOT: Final = Decimal("0.3048")
_MM_PER_IN = 25.4

_NAMES: Final = {
    "holes": "holes",
    "corners": "radius corners",
    "handling": "handling of unworked parts",
    "set-up": "set-up",
}


class Numbers:
    """Writes numbers and money as a locale does.

    Parameters
    ----------
    locale : str
        Such as ``de_DE``.
    currency : str
        ISO 4217 code.
    """

    def __init__(self, locale: str, currency: str) -> None:
        from babel import Locale  # noqa: PLC0415  loaded when a price is printed
        from babel.numbers import get_currency_precision  # noqa: PLC0415

        self.locale = Locale.parse(locale.replace("-", "_"))
        self.currency = currency
        self.digits = get_currency_precision(currency)

    def number(self, value: Decimal, digits: int) -> str:
        """Write a number with so many decimals.

        Parameters
        ----------
        value : Decimal
            Any.
        digits : int
            Decimals.
        """
        from babel.numbers import format_decimal  # noqa: PLC0415  as above

        decimals = f".{'0' * digits}" if digits else ""
        text: str = format_decimal(value, format=f"#,##0{decimals}", locale=self.locale)
        # Some locales part thousands by blanks that terminals and ASCII do not know.
        return text.replace("\u202f", " ").replace("\u00a0", " ")

    def amount(self, value: Decimal) -> str:
        """Write an amount without its currency, for a column headed by it."""
        return self.number(value, self.digits)

    def money(self, value: Decimal) -> str:
        """Write an amount with the code of its currency."""
        return f"{self.amount(value)} {self.currency}"

    def change(self, value: Decimal) -> str:
        """Write a difference of amounts with its sign."""
        return f"+{self.amount(value)}" if value > 0 else self.amount(value)

    def percent(self, value: Decimal, digits: int = 0) -> str:
        """Write a share in per cent, without the sign."""
        return self.number(100 * value, digits)


def _title(item: str) -> str:
    kind, _, profile = item.partition(":")
    if kind == "cutout":
        return f"cutouts, {profile}"
    return profile or _NAMES[item]


def quote_csv_rows(quote: Quote, what_ifs: Sequence[WhatIf] = ()) -> list[list[object]]:
    """Return the rows of a quote's CSV form: plain numbers, the currency in its column.

    Parameters
    ----------
    quote : Quote
        As it is.
    what_ifs : sequence of WhatIf
        Told after it.
    """
    rows: list[list[object]] = []
    for name, one in (("", quote), *((w.text, w.quote) for w in what_ifs)):
        if one is None:
            rows.append([name, "refused", None, None, None, None, None, None, None, None])
            continue
        code = one.currency
        rows += [
            [
                name, "line", own.item, None, own.quantity, own.unit,
                None if own.each is None else round(own.each, 4),
                round(own.each * _FOOT, 4) if own.each is not None and own.unit == "m" else None,
                own.amount, code,
            ]
            for own in one.lines
        ]  # fmt: skip
        rows += [
            [name, "part", p.part_id, p.name, None, None, None, None, p.amount, code]
            for p in one.parts
        ]
        rows += [
            [name, "cost", k.kind, None, None, None, None, None, k.amount, code] for k in one.kinds
        ]
        rows += [
            [name, "total", key, None, None, None, None, None, value, code]
            for key, value in (("net", one.net), ("tax", one.tax), ("gross", one.gross))
        ]
    return rows


def _line_table(quote: Quote, numbers: Numbers) -> RenderableType:
    rows = []
    for own in quote.lines:
        quantity, unit, per, per_ft = "", "", "", ""
        if own.unit != "load":
            quantity = numbers.number(own.quantity, 2 if own.unit == "m" else 0)
            unit = own.unit
        if own.each is not None:
            per = numbers.amount(own.each)
            per_ft = numbers.amount(own.each * _FOOT) if own.unit == "m" else ""
        rows.append([_title(own.item), quantity, unit, per, per_ft, numbers.amount(own.amount)])
    return table(
        [("Item", "<"), ("", ">"), ("", "<"), ("Per unit", ">"), ("Per ft", ">"),
         (quote.currency, ">")],
        rows,
        total=["Total", "", "", "", "", numbers.amount(quote.shown)],
    )  # fmt: skip


def _cost_table(quote: Quote, numbers: Numbers) -> RenderableType:
    rows = [
        [kind.kind, numbers.amount(kind.amount), numbers.percent(kind.share, 1)]
        for kind in quote.kinds
        if kind.amount
    ]
    return table(
        [("Cost", "<"), (quote.currency, ">"), ("%", ">")],
        rows,
        total=["Net", numbers.amount(quote.net), numbers.number(Decimal(100), 1)],
    )


def _totals(quote: Quote, numbers: Numbers) -> list[RenderableType]:
    if not quote.tax_rate:
        return [line(f"\nTotal {numbers.money(quote.net)}, no tax in it or on it", style="bold")]
    rate = numbers.percent(quote.tax_rate, 2)
    return [
        line(
            f"\nNet {numbers.money(quote.net)} + tax {rate} % {numbers.money(quote.tax)} "
            f"= total {numbers.money(quote.gross)}",
            style="bold",
        )
    ]


def _what_if_parts(
    quote: Quote, what_ifs: Sequence[WhatIf], numbers: Numbers
) -> list[RenderableType]:
    shown = [w for w in what_ifs if w.quote is not None]
    quotes = [quote, *(w.quote for w in shown if w.quote is not None)]
    kinds = [k.kind for k in quote.kinds if any(q.figures[k.kind].value for q in quotes)]
    parts: list[RenderableType] = [heading(f"What if ({quote.currency})")]
    for number, w in enumerate(shown, 1):
        made = w.quote
        where = "" if made is None else f": {made.stone} {made.thickness_mm:g} mm, {made.stack}"
        parts.append(line(f"{number}  {w.text}{where}", indent=2, hang=5))
    rows: list[list[object]] = [
        [kind, *(numbers.amount(next(k.amount for k in q.kinds if k.kind == kind)) for q in quotes)]
        for kind in kinds
    ]
    rows.append(["net", *(numbers.amount(q.net) for q in quotes)])
    if quote.tax_rate:
        rows.append(["tax", *(numbers.amount(q.tax) for q in quotes)])
        rows.append(["gross", *(numbers.amount(q.gross) for q in quotes)])
    rows.append(["difference", "", *(numbers.change(q.shown - quote.shown) for q in quotes[1:])])
    rows.append(["cycle, min", *(numbers.number(q.machine_s / 60, 1) for q in quotes)])
    columns = [("", "<"), ("As it is", ">"), *((str(i), ">") for i in range(1, len(quotes)))]
    parts.append(table(columns, rows))
    parts += [
        line(f"{w.text}: cannot be made. {w.refused}", indent=2, hang=4)
        for w in what_ifs
        if w.quote is None
    ]
    return parts


def explain_figure_parts(figures: Sequence[Figure], numbers: Numbers) -> list[RenderableType]:
    """Return how figures come about: formula, factors, and where each of them stands.

    Parameters
    ----------
    figures : sequence of Figure
        As asked for.
    numbers : Numbers
        Writes them.
    """
    parts: list[RenderableType] = []
    for made in figures:
        value = numbers.number(made.value, 4).rstrip("0").rstrip(".,")
        parts.append(heading(f"{made.name} = {value} {made.unit}"))
        parts.append(line(f"= {made.formula}", indent=2, hang=4))
        if made.note:
            parts.append(line(made.note, indent=2))
        rows = []
        for fact in made.facts:
            where = ", ".join(bit for bit in (fact.file, fact.key) if bit)
            written = f' = "{fact.written}"' if fact.written else ""
            source = "; ".join(bit for bit in (f"{where}{written}", fact.note) if bit)
            shown = numbers.number(fact.value, 6).rstrip("0").rstrip(".,")
            rows.append([fact.name, f"{shown} {fact.unit}".removesuffix(" -"), source])
        parts.append(table([("Factor", "<"), ("Value", ">"), ("From", "<")], rows))
    return parts


def quote_screen(
    quote: Quote,
    estimates: Sequence[Estimate],
    system: UnitSystem,
    *,
    what_ifs: Sequence[WhatIf] = (),
    figures: Sequence[Figure] = (),
) -> list[RenderableType]:
    """Return the screen of the command ``price``.

    Parameters
    ----------
    quote : Quote
        The price.
    estimates : sequence of Estimate
        The loads behind it.
    system : UnitSystem
        Units of the head; prices are told per metre and per foot always.
    what_ifs : sequence of WhatIf
        Told side by side with it.
    figures : sequence of Figure
        To be explained.
    """
    numbers = Numbers(quote.locale, quote.currency)
    load = estimates[0].load
    findings = [f for est in estimates for f in est.findings]
    parts: list[RenderableType] = [
        line(
            f"{load.stone.title}, {format_length(load.nominal_mm, system)} nominal; stack "
            f"{load.stack.name}; machine {load.machine.name}; "
            f"{'one load' if quote.loads == 1 else f'{quote.loads} loads'}, machine cycle "
            f"{format_time(float(quote.machine_s))}."
        ),
    ]
    if quote.error is not None:
        parts.append(
            line(
                f"No drawing: parts are imagined from the lengths. The price may be "
                f"{numbers.percent(quote.error)} % off that from the drawing, on top of the "
                f"estimate's own error: from {numbers.money(quote.shown * (1 - quote.error))} to "
                f"{numbers.money(quote.shown * (1 + quote.error))}."
            )
        )
    else:
        parts.append(
            line(f"Findings of the estimate: {tally(findings)} (edgetime estimate tells them).")
        )
    with_tax = ", tax included" if quote.tax_included and quote.tax_rate else ""
    parts += [
        *_totals(quote, numbers),
        heading(f"Quote{with_tax} (each item with its share of changes, loading and set-up)"),
        _line_table(quote, numbers),
    ]
    if quote.error is None:
        rows = [[p.part_id or NONE, p.name, numbers.amount(p.amount)] for p in quote.parts]
        parts += [
            heading(f"By part{with_tax}"),
            table(
                [("Part", "<"), ("Name", "<"), (quote.currency, ">")],
                rows,
                total=["Total", "", numbers.amount(quote.shown)],
            ),
        ]
    parts += [heading("What the net price is made of"), _cost_table(quote, numbers)]
    if what_ifs:
        parts += _what_if_parts(quote, what_ifs, numbers)
    parts += explain_figure_parts(figures, numbers)
    if quote.findings:
        parts += finding_parts(quote.findings)
    return parts


def list_csv_rows(prices: PriceList) -> list[list[object]]:
    """Return the rows of the price list's CSV form.

    Parameters
    ----------
    prices : PriceList
        The list.
    """
    kinds = ("machine", "labour", "tools", "hand", "overhead", "margin")
    return [
        [
            row.stone, row.thickness_mm, row.profile, row.stack, row.per_m, row.per_ft,
            prices.currency,
            None if row.seconds_per_m is None else round(row.seconds_per_m, 3),
            *(round(row.shares[k], 6) if row.shares else None for k in kinds),
            row.why_not,
        ]
        for row in prices.rows
    ]  # fmt: skip


def _thickness(thickness_mm: float, system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        return f"{thickness_mm:g} mm"
    return f"{thickness_mm / _MM_PER_IN:.2f} in"


def list_screen(
    prices: PriceList, system: UnitSystem, *, figures: Sequence[Figure] = ()
) -> list[RenderableType]:
    """Return the screen of the command ``price-list``.

    Parameters
    ----------
    prices : PriceList
        The list.
    system : UnitSystem
        Units of the thickness.
    figures : sequence of Figure
        To be explained.
    """
    numbers = Numbers(prices.locale, prices.currency)
    kinds = ("machine", "labour", "tools", "hand", "overhead", "margin")
    tax = "tax included" if prices.tax_included else "net"
    parts: list[RenderableType] = [
        line(
            f"Edges in {prices.currency}, {tax}, machine {prices.machine}. Each line is reckoned "
            f"by itself: {prices.edges} straight edges of "
            f"{format_length(prices.edge_mm, system)} on {prices.loads} "
            f"{'table' if prices.loads == 1 else 'tables'}, each a load with its tool changes, "
            f"loading and set-up. Shares of the net price in per cent; power and water are with "
            f"the machine."
        )
    ]
    groups: dict[tuple[str, float], list[list[object]]] = {}
    for row in prices.rows:
        cells: list[object] = [row.profile]
        if row.per_m is None or row.per_ft is None:
            cells += [row.why_not, *[""] * 7]
        else:
            cells += [numbers.amount(row.per_m), numbers.amount(row.per_ft)]
            cells += [numbers.percent(row.shares[k]) for k in kinds]
        groups.setdefault((row.stone, row.thickness_mm), []).append(cells)
    stacks = {(r.stone, r.thickness_mm): r.stack for r in prices.rows}
    for (stone, thickness), rows in groups.items():
        stack = stacks[stone, thickness]
        with_stack = f"stack {stack}" if stack else "no stack"
        parts += [
            heading(f"{stone}, {_thickness(thickness, system)}, {with_stack}"),
            table(
                [("Profile", "<"), ("Per m", ">"), ("Per ft", ">"),
                 *((name.capitalize(), ">") for name in kinds)],
                rows,
            ),
        ]  # fmt: skip
    parts += explain_figure_parts(figures, numbers)
    if prices.findings:
        parts += finding_parts(prices.findings)
    return parts
