"""A forecast on paper: what to order by when and why, week by week, and per supplier."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from edgetime.report.document import Grid, Heading, Line
from edgetime.report.findings import finding_parts
from edgetime.report.text import NONE

if TYPE_CHECKING:
    from edgetime.forecast.model import Forecast, OrderLine, Stock, SupplierOrder, ToolForecast
    from edgetime.report.document import Block
    from edgetime.units import UnitSystem

TOOLS_HEADER = (
    "piece",
    "tool",
    "supplier",
    "set",
    "on_hand_new",
    "in_service",
    "in_service_left_lives",
    "mean_pieces",
    "sd_demand_pieces",
    "sd_life_pieces",
    "sd_mean_pieces",
    "mean_pieces_per_week",
    "sd_pieces_per_week",
    "probability_short",
    "likely_run_out",
    "run_out_at_service",
    "lead_time_d",
    "lead_time_spread_d",
    "reorder_point_pieces",
    "order_up_to_pieces",
    "safety_stock_pieces",
    "expected_short_pieces",
    "order_by",
    "late_d",
    "needed_pieces",
    "order_pieces",
    "price",
    "cost",
    "currency",
)
"""Columns of the CSV form by tool, one row per article."""

WEEKS_HEADER = (
    "piece",
    "monday",
    "mean_pieces",
    "sd_demand_pieces",
    "sd_life_pieces",
    "sd_mean_pieces",
    "sd_pieces",
)
"""Columns of the CSV form by week, one row per article and week."""

ORDERS_HEADER = (
    "supplier",
    "order_by",
    "late_d",
    "piece",
    "title",
    "order_pieces",
    "packs",
    "price",
    "cost",
    "currency",
    "set",
    "needed_pieces",
)
"""Columns of the order list, one row per line."""


def tool_rows(forecast: Forecast) -> list[list[object]]:
    """Return the rows of the CSV form by tool.

    Parameters
    ----------
    forecast : Forecast
        Any.

    Returns
    -------
    list of list
        As :data:`TOOLS_HEADER`.
    """
    return [
        [
            t.piece,
            t.tool,
            t.supplier,
            t.set_name,
            t.stock.new,
            len(t.stock.used),
            t.stock.lives - t.stock.new,
            t.total.mean,
            t.total.sd_demand,
            t.total.sd_life,
            t.total.sd_mean,
            t.per_week.mean,
            t.per_week.sd,
            t.short,
            t.likely_out,
            t.out,
            t.lead_time_d,
            t.lead_time_spread_d,
            t.reorder_point,
            t.order_up_to,
            t.safety_stock,
            t.expected_short,
            t.order_by,
            t.late_d,
            t.needed,
            t.quantity,
            t.price,
            t.cost,
            t.currency,
        ]
        for t in forecast.tools
    ]


def week_rows(forecast: Forecast) -> list[list[object]]:
    """Return the rows of the CSV form by week.

    Parameters
    ----------
    forecast : Forecast
        Any.

    Returns
    -------
    list of list
        As :data:`WEEKS_HEADER`.
    """
    return [
        [
            t.piece,
            week.monday,
            week.use.mean,
            week.use.sd_demand,
            week.use.sd_life,
            week.use.sd_mean,
            week.use.sd,
        ]
        for t in forecast.tools
        for week in t.weeks
    ]


def order_rows(orders: Iterable[SupplierOrder]) -> list[list[object]]:
    """Return the rows of the order list.

    Parameters
    ----------
    orders : iterable of SupplierOrder
        Those to list.

    Returns
    -------
    list of list
        As :data:`ORDERS_HEADER`.
    """
    return [
        [
            order.supplier,
            row.order_by,
            row.late_d,
            row.piece,
            row.title,
            row.quantity,
            row.packs,
            row.price,
            row.cost,
            row.currency,
            row.set_name,
            row.needed,
        ]
        for order in orders
        for row in order.lines
    ]


def _money(amount: Decimal | None, currency: str) -> str:
    return NONE if amount is None else f"{amount:f} {currency}"


def _sum(cost: Sequence[tuple[str, Decimal]]) -> str:
    return ", ".join(_money(amount, currency) for currency, amount in cost) or "unknown"


def _pieces(value: float) -> str:
    """Write a number of pieces: two digits below ten, so that little is not nothing."""
    if value <= 0.0:
        return "0"
    if value < 0.005:
        return "<0.01"
    return f"{value:.2f}" if value < 10.0 else f"{value:.1f}"


def _per_cent(probability: float) -> str:
    """Write a probability, never 0 or 100 % for what is not certain."""
    percent = 100.0 * probability
    if 0.0 < percent < 1.0:
        return "<1 %"
    if 99.0 < percent < 100.0:
        return ">99 %"
    return f"{percent:.0f} %"


def _at_hand(stock: Stock) -> str:
    parts = [f"{stock.new} new"] if stock.new or not stock.used else []
    parts += [f"{len(stock.used)} used"] if stock.used else []
    return " + ".join(parts)


def _service(forecast: Forecast) -> str:
    return f"{100.0 * forecast.service:g} %"


def _head(forecast: Forecast) -> Block:
    jobs = "job" if forecast.jobs == 1 else "jobs"
    return Line(
        f"{forecast.pipeline}: {forecast.jobs} {jobs} from {forecast.first} to {forecast.last}, "
        f"of which {forecast.expected_jobs:.1f} are expected to come. Orders are such that "
        f"each tool lasts with {_service(forecast)}."
    )


def _order_day(row: OrderLine) -> str:
    return "today (late)" if row.late_d else row.order_by.isoformat()


def _order_table(orders: Sequence[SupplierOrder], *, supplier: bool) -> Block:
    columns = [("Order by", "<"), ("Tool", "<"), ("Pieces", ">"), ("Cost", ">")]
    columns += [("From", "<")] if supplier else [("Packs", ">"), ("Set", "<")]
    rows = []
    for order in orders:
        for row in order.lines:
            end: list[object] = (
                [row.supplier or NONE] if supplier else [row.packs, row.set_name or NONE]
            )
            cost = _money(row.cost, row.currency)
            rows.append([_order_day(row), row.piece, row.quantity, cost, *end])
    return Grid(columns, rows)


def _delivery(t: ToolForecast) -> str:
    spread = f" ± {t.lead_time_spread_d:g} d" if t.lead_time_spread_d else ""
    return f"delivery takes {t.lead_time_d:g} d{spread}"


def _missing(t: ToolForecast) -> str:
    """Return how many are missing, and why another number is ordered."""
    if t.quantity == t.needed:
        return str(t.needed)
    reasons = [f"packs of {t.pack}"] if t.pack > 1 else []
    reasons += [f"at least {t.minimum_order}"] if t.minimum_order > 1 else []
    reasons += [f"set {t.set_name}"] if t.set_name else []
    return f"{t.needed}, ordered {t.quantity}: {', '.join(reasons)}"


def _why(ordered: Sequence[ToolForecast], forecast: Forecast) -> list[str]:
    """Return the reasons for the orders: one for each tool at hand, alike ones together."""
    reasons: dict[str, list[str]] = {}
    for t in ordered:
        late = f"; the order was due {t.order_by}" if t.late_d else ""
        if not (t.stock.new or t.stock.used):
            reason = f"None at hand, wanted from {t.out} on, {_delivery(t)}{late}. Missing: "
            reasons.setdefault(reason, []).append(f"{t.piece} ({_missing(t)})")
            continue
        use = f"{_pieces(t.total.mean)} ± {_pieces(t.total.sd)}"
        if t.needed:
            reason = (
                f"{t.piece}: {_at_hand(t.stock)} at hand, {use} used by {forecast.last}. They "
                f"last with {_per_cent(1.0 - t.short)}, and from {t.out} on with less than "
                f"{_service(forecast)}; {_delivery(t)}{late}. Missing: "
            )
            reasons[reason] = [_missing(t)]
        else:
            reasons[f"{t.piece}: enough at hand, ordered with its set {t.set_name}"] = [""]
    return [f"{reason}{', '.join(rows)}." for reason, rows in reasons.items()]


def forecast_parts(forecast: Forecast, system: UnitSystem) -> list[Block]:
    """Return the screen of a forecast.

    Parameters
    ----------
    forecast : Forecast
        Any.
    system : UnitSystem
        Units of findings.

    Returns
    -------
    list of blocks
        What to order by when, why, the figures of all tools, how sure they are.
    """
    parts: list[Block] = [_head(forecast)]
    ordered = [t for t in forecast.tools if t.quantity]
    if forecast.orders:
        parts += [
            Heading(f"What to order by when: {_sum(forecast.cost)}"),
            _order_table(forecast.orders, supplier=True),
            Heading("Why"),
            *(Line(text, hang=2) for text in _why(ordered, forecast)),
        ]
    else:
        parts.append(Heading("Nothing to order: what is at hand lasts."))
    if forecast.tools:
        parts += _figures(forecast)
    if forecast.findings:
        parts += finding_parts(forecast.findings, system)
    return parts


def _figures(forecast: Forecast) -> list[Block]:
    return [
        Heading(f"Use from {forecast.first} to {forecast.last}, in pieces"),
        Grid(
            [
                ("Tool", "<"),
                ("At hand", ">"),
                ("Used", ">"),
                ("± jobs", ">"),
                ("± lives", ">"),
                ("Lasts", ">"),
                ("Likely out", "<"),
            ],
            [
                [
                    t.piece,
                    _pieces(t.stock.lives),
                    _pieces(t.total.mean),
                    _pieces(t.total.sd_demand),
                    _pieces(math.hypot(t.total.sd_life, t.total.sd_mean)),
                    _per_cent(1.0 - t.short),
                    t.likely_out or NONE,
                ]
                for t in forecast.tools
            ],
        ),
        Heading("At this rate of use: order again when this many pieces are left"),
        Grid(
            [
                ("Tool", "<"),
                ("A week", ">"),
                ("±", ">"),
                ("Delivery", ">"),
                ("Order at", ">"),
                ("For safety", ">"),
                ("Fill up to", ">"),
            ],
            [
                [
                    t.piece,
                    _pieces(t.per_week.mean),
                    _pieces(t.per_week.sd),
                    f"{t.lead_time_d:g} d",
                    _pieces(t.reorder_point),
                    _pieces(t.safety_stock),
                    _pieces(t.order_up_to),
                ]
                for t in forecast.tools
            ],
        ),
        Line(f"\n{_lives(forecast)}"),
    ]


def _lives(forecast: Forecast) -> str:
    rests = [t.piece for t in forecast.tools if t.trust == "catalogue"]
    few = [t.piece for t in forecast.tools if t.trust == "few"]
    if len(rests) == len(forecast.tools):
        text = (
            "No piece was worn out in the ledger yet: lives are those of the tools' files, "
            "taken as uncertain, so that more is ordered than on average is used. Each retirement "
            "entered makes them more certain."
        )
    else:
        text = "Lives are fitted to the ledger's retirements"
        text += f"; for {len(rests)} tools there are none yet" if rests else ""
        text += f", for {len(few)} few" if few else ""
        text += "."
    return text


def week_parts(forecast: Forecast) -> list[Block]:
    """Return the screen of use week by week, for the tools used most.

    Parameters
    ----------
    forecast : Forecast
        Any.
    """
    parts = [_head(forecast)]
    for t in forecast.tools:
        parts += [
            Heading(f"{t.piece}, in pieces"),
            Grid(
                [("Week of", "<"), ("Used", ">"), ("± jobs", ">"), ("± lives", ">")],
                [
                    [
                        week.monday,
                        _pieces(week.use.mean),
                        _pieces(week.use.sd_demand),
                        _pieces(math.hypot(week.use.sd_life, week.use.sd_mean)),
                    ]
                    for week in t.weeks
                    if week.use.mean > 0.0
                ],
                total=[
                    "Total",
                    _pieces(t.total.mean),
                    _pieces(t.total.sd_demand),
                    _pieces(math.hypot(t.total.sd_life, t.total.sd_mean)),
                ],
            ),
        ]
    return parts


def order_parts(forecast: Forecast, orders: Sequence[SupplierOrder]) -> list[Block]:
    """Return the order lists, one per supplier.

    Parameters
    ----------
    forecast : Forecast
        What they come from.
    orders : sequence of SupplierOrder
        Those to list.
    """
    parts = [_head(forecast)]
    for order in orders:
        name = order.supplier or "a supplier the tools' files do not name"
        parts += [
            Heading(f"Order from {name}: {_sum(order.cost)}"),
            _order_table([order], supplier=False),
        ]
    if not orders:
        parts.append(Heading("Nothing to order."))
    return parts
