"""A forecast as a document: what to order by when and why, week by week, per supplier."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from edgetime.forecast.records import sums
from edgetime.report.assumptions import assumption_blocks
from edgetime.report.columns import COUNT, Column, Sheet, Unit
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.findings import finding_parts
from edgetime.report.survive import BASIS, BASIS_NOTE
from edgetime.report.text import NONE, percent_number

if TYPE_CHECKING:
    from edgetime.forecast import (
        Cost,
        Forecast,
        OrderLine,
        Stock,
        SupplierOrder,
        ToolForecast,
        Use,
        WeekUse,
    )
    from edgetime.jobs import Job
    from edgetime.tooling import Catalogue
    from edgetime.units import UnitSystem


def _pieces(value: float) -> str:
    """Write a number of pieces: two digits below ten, so that little is not nothing."""
    if value <= 0.0:
        return "0"
    if value < 0.005:
        return "<0.01"
    return f"{value:.2f}" if value < 10.0 else f"{value:.1f}"


PIECES = Unit("_pieces", lambda value, _: _pieces(value))
"""Numbers of pieces, whole or not."""

CHANCE = Unit("", lambda value, _: f"{percent_number(value, digits=0, uncertain=True)} %")
"""Probabilities, shown in per cent."""

DAYS = Unit("_d", lambda value, _: f"{value:g} d")
"""Days."""

_PIECE = Column["ToolForecast"](key="piece", heading="Tool")
_LEAD_TIME = Column["ToolForecast"](key="lead_time_d", heading="Lead", unit=DAYS)
_LIKELY_OUT = Column["ToolForecast"](
    key="likely_run_out", heading="Likely out", get=lambda t: t.likely_out
)
_BASIS = Column["ToolForecast"](
    key="life_rests_on",
    heading="Basis",
    get=lambda t: t.trust.value,
    show=lambda value, _: BASIS[value],
)
_REORDER_POINT = Column["ToolForecast"](
    key="reorder_point_pieces", heading="Reorder point", unit=PIECES,
    get=lambda t: t.reorder_point,
)  # fmt: skip
_SAFETY_STOCK = Column["ToolForecast"](
    key="safety_stock_pieces", heading="Safety stock", unit=PIECES, get=lambda t: t.safety_stock
)
_ORDER_UP_TO = Column["ToolForecast"](
    key="order_up_to_pieces", heading="Order up to", unit=PIECES, get=lambda t: t.order_up_to
)
_PER_WEEK = (
    Column["ToolForecast"](key="mean_pieces_per_week", heading="A week",
                           get=lambda t: t.per_week.mean, unit=Unit("", PIECES.show)),
    Column["ToolForecast"](key="sd_pieces_per_week", heading="±",
                           get=lambda t: t.per_week.sd, unit=Unit("", PIECES.show)),
)  # fmt: skip

TOOLS: Sheet[ToolForecast] = Sheet(
    (
        _PIECE,
        Column(key="tool"),
        Column(key="supplier"),
        Column(key="set", get=lambda t: t.set_name),
        Column(key="on_hand_new", get=lambda t: t.stock.new),
        Column(key="in_service", get=lambda t: len(t.stock.used)),
        Column(key="in_service_left_lives", get=lambda t: t.stock.used_left),
        Column(key="mean_pieces", get=lambda t: t.total.mean),
        Column(key="sd_demand_pieces", get=lambda t: t.total.sd_demand),
        Column(key="sd_life_pieces", get=lambda t: t.total.sd_life),
        Column(key="sd_mean_pieces", get=lambda t: t.total.sd_mean),
        *_PER_WEEK,
        Column(key="probability_short", get=lambda t: t.short),
        _LIKELY_OUT,
        Column(key="run_out_at_service", get=lambda t: t.out),
        _LEAD_TIME,
        Column(key="lead_time_spread_d"),
        _REORDER_POINT,
        _ORDER_UP_TO,
        _SAFETY_STOCK,
        Column(key="expected_short_pieces", get=lambda t: t.expected_short),
        Column(key="order_by"),
        Column(key="late_d"),
        Column(key="needed_pieces", get=lambda t: t.needed),
        Column(key="order_pieces", get=lambda t: t.quantity),
        Column(key="price"),
        Column(key="cost"),
        Column(key="currency"),
        _BASIS,
        Column(key="on_order_pieces", get=lambda t: t.stock.coming),
    )
)
"""All figures by tool, a row for each article."""

USE: Sheet[ToolForecast] = Sheet(
    (
        _PIECE,
        Column(heading="On hand", unit=PIECES, get=lambda t: t.stock.lives),
        Column(heading="Due", unit=COUNT, get=lambda t: t.stock.coming or None),
        Column(heading="Used", unit=PIECES, get=lambda t: t.total.mean),
        Column(heading="± jobs", unit=PIECES, get=lambda t: t.total.sd_demand),
        Column(heading="± lives", unit=PIECES, get=lambda t: t.total.sd_of_lives),
        Column(heading="Lasts", unit=CHANCE, get=lambda t: t.lasts),
        _LIKELY_OUT,
        _BASIS,
    )
)
"""Use over the pipeline, on the screen."""

REORDER: Sheet[ToolForecast] = Sheet(
    (_PIECE, *_PER_WEEK, _LEAD_TIME, _REORDER_POINT, _SAFETY_STOCK, _ORDER_UP_TO)
)
"""Levels for standing orders, on the screen."""

WeekRow = tuple[str, "WeekUse"]
"""An article and its use in a week."""


def week_sheet(total: Use | None = None) -> Sheet[WeekRow]:
    """Return the columns of use by week."""

    def column(heading: str, get: str, key: str = "") -> Column[WeekRow]:
        return Column(
            key=key,
            heading=heading,
            unit=PIECES,
            get=lambda r: getattr(r[1].use, get),
            total=None if total is None else lambda _: getattr(total, get),
        )

    return Sheet(
        (
            Column(key="piece", get=lambda r: r[0]),
            Column(key="monday", heading="Week of", get=lambda r: r[1].monday,
                   total=None if total is None else lambda _: "Total"),
            column("Used", "mean", "mean_pieces"),
            column("± jobs", "sd_demand", "sd_demand_pieces"),
            column("± lives", "sd_of_lives"),
            column("", "sd_life", "sd_life_pieces"),
            column("", "sd_mean", "sd_mean_pieces"),
            column("", "sd", "sd_pieces"),
        )
    )  # fmt: skip


def _two_places(amount: Decimal, _: UnitSystem) -> str:
    return f"{amount:.2f}"


def _total(lines: Sequence[OrderLine]) -> Callable[[Sequence[OrderLine]], Decimal | None] | None:
    """Return what adds up the costs of lines, None for lines in several currencies."""
    if len(lines) < 2 or len({line.currency for line in lines}) > 1:
        return None
    return lambda rows: next((c.amount for c in sums((o.currency, o.cost) for o in rows)), None)


def _packs(line: OrderLine) -> str:
    """Return how packs follow from pieces: they are whole."""
    return f"round_up(order_pieces / {line.quantity // line.packs}, 1)" if line.packs else ""


def _order_sheet(lines: Sequence[OrderLine], *, supplier: bool) -> Sheet[OrderLine]:
    """Return the columns of an order; on the screen with the supplier, or with packs and set."""
    total = _total(lines)
    return Sheet(
        (
            Column(heading="Order by", get=_order_day,
                   total=None if total is None else lambda _: "Total"),
            Column(key="supplier"),
            Column(key="order_by"),
            Column(key="late_d"),
            Column(key="piece", heading="Tool"),
            Column(key="title"),
            Column(key="order_pieces", heading="Qty", unit=COUNT, get=lambda o: o.quantity,
                   entry=True),
            Column(key="packs", heading="" if supplier else "Packs", unit=COUNT,
                   formula=_packs),
            Column(key="price", heading="Price", unit=COUNT, show=_two_places, entry=True),
            Column(key="cost", heading="Cost", unit=COUNT, show=_two_places, total=total,
                   formula="order_pieces * price"),
            Column(key="currency", heading="Currency"),
            Column(heading="Supplier" if supplier else "", get=lambda o: o.supplier or NONE),
            Column(key="set", heading="" if supplier else "Set", get=lambda o: o.set_name,
                   show=lambda value, _: value or NONE),
            Column(key="needed_pieces", get=lambda o: o.needed),
            Column(key="wanted_on", get=lambda o: o.wanted),
            Column(key="life_rests_on", get=lambda o: o.trust and o.trust.value),
        )
    )  # fmt: skip


def _order_day(row: OrderLine) -> str:
    return "today (late)" if row.late_d else row.order_by.isoformat()


def purchase_sheet(order: SupplierOrder) -> Sheet[OrderLine]:
    """Return the columns of a supplier's order on paper: what, how many, for how much, by when."""
    return Sheet(
        (
            Column(key="piece", heading="Article"),
            Column(key="title", heading="Description"),
            Column(key="order_pieces", heading="Quantity", unit=COUNT, get=lambda o: o.quantity),
            Column(key="packs", heading="Packs", unit=COUNT),
            Column(key="price", heading="Price", unit=COUNT, show=_two_places),
            Column(key="cost", heading="Amount", unit=COUNT, show=_two_places,
                   total=_total(order.lines)),
            Column(key="currency", heading="Currency"),
            Column(key="wanted_on", heading="Needed on", get=lambda o: o.wanted),
            Column(key="order_by", heading="Order by", get=_order_day),
            Column(heading="Basis", get=lambda o: o.trust and o.trust.value,
                   show=lambda value, _: BASIS[value]),
        )
    )  # fmt: skip


def order_basis(order: SupplierOrder) -> list[str]:
    """Return what an order rests on, in whole sentences."""
    only_sets = [line.piece for line in order.lines if line.trust is None]
    said = [BASIS_NOTE] if any(line.trust is not None for line in order.lines) else []
    if only_sets:
        said.append(f"Ordered only because they are of a set: {', '.join(only_sets)}.")
    return said


def tool_table(forecast: Forecast) -> Table[Any]:
    """Return all figures by tool."""
    return Table(TOOLS, forecast.tools)


def week_table(forecast: Forecast) -> Table[Any]:
    """Return every week of every article."""
    rows = [(t.piece, week) for t in forecast.tools for week in t.weeks]
    return Table(week_sheet(), rows)


def order_table(orders: Sequence[SupplierOrder]) -> Table[Any]:
    """Return the lines of orders, supplier by supplier."""
    lines = [line for order in orders for line in order.lines]
    return Table(_order_sheet(lines, supplier=True), lines, "Orders")


def sum_text(cost: Sequence[Cost]) -> str:
    """Write amounts of money, one per currency."""
    return ", ".join(f"{c.amount:.2f} {c.currency}" for c in cost) or "unknown"


def _on_hand(stock: Stock) -> str:
    parts = [f"{stock.new} new"] if stock.new or not stock.used else []
    parts += [f"{len(stock.used)} part-used"] if stock.used else []
    there = f"{' + '.join(parts)} on hand"
    return f"{there}, {stock.coming} on order" if stock.on_order else there


def _service(forecast: Forecast) -> str:
    return f"{100.0 * forecast.service:g} %"


def _head(forecast: Forecast) -> Block:
    jobs = "job" if forecast.jobs == 1 else "jobs"
    return Line(
        f"{forecast.pipeline}: {forecast.jobs} {jobs} from {forecast.first} to {forecast.last}, "
        f"{forecast.expected_jobs:.1f} expected to come. Orders are for a service level of "
        f"{_service(forecast)}: the probability that a tool does not run out."
    )


def _posted(forecast: Forecast) -> list[Block]:
    """Return the jobs that are struck off."""
    if not forecast.posted:
        return []
    jobs = ", ".join(
        job.name if job.posted == job.quantity else f"{job.name} ({job.posted} of {job.quantity})"
        for job in forecast.posted
    )
    return [Line(f"Struck off, already posted in the ledger: {jobs}.")]


def _delivery(t: ToolForecast) -> str:
    spread = f" ± {t.lead_time_spread_d:g} d" if t.lead_time_spread_d else ""
    return f"lead time {t.lead_time_d:g} d{spread}"


def _missing(t: ToolForecast) -> str:
    """Return how many are missing, and why another number is ordered."""
    if t.quantity == t.needed:
        return str(t.needed)
    reasons = [f"packs of {t.pack}"] if t.pack > 1 else []
    reasons += [f"at least {t.minimum_order}"] if t.minimum_order > 1 else []
    reasons += [f"set {t.set_name}"] if t.set_name else []
    return f"{t.needed}, ordered {t.quantity}: {', '.join(reasons)}"


def _why(ordered: Sequence[ToolForecast], forecast: Forecast) -> list[str]:
    """Return the reasons for the orders: one for each tool on hand, alike ones together."""
    reasons: dict[str, list[str]] = {}
    for t in ordered:
        late = f"; the order was due {t.order_by}" if t.late_d else ""
        if not (t.stock.new or t.stock.used or t.stock.on_order):
            reason = f"None on hand, needed from {t.out}, {_delivery(t)}{late}. Missing: "
            reasons.setdefault(reason, []).append(f"{t.piece} ({_missing(t)})")
            continue
        use = f"{_pieces(t.total.mean)} ± {_pieces(t.total.sd)}"
        if t.needed:
            reason = (
                f"{t.piece}: {_on_hand(t.stock)}, {use} used by {forecast.last}. They "
                f"last with a probability of {percent_number(t.lasts, digits=0, uncertain=True)} %, below {_service(forecast)} "
                f"from {t.out}; {_delivery(t)}{late}. Missing: "
            )
            reasons[reason] = [_missing(t)]
        else:
            reasons[
                f"{t.piece}: enough on hand{' and on order' if t.stock.on_order else ''}, ordered with its set {t.set_name}"
            ] = [""]
    return [f"{reason}{', '.join(rows)}." for reason, rows in reasons.items()]


def forecast_parts(forecast: Forecast, system: UnitSystem) -> list[Block]:
    """Return the document of a forecast.

    Returns
    -------
    list of blocks
        What to order by when, why, the figures of all tools, how sure they are.
    """
    parts: list[Block] = [_head(forecast), *_posted(forecast)]
    ordered = [t for t in forecast.tools if t.quantity]
    if forecast.orders:
        parts += [
            Heading(f"What to order by when: {sum_text(forecast.cost)}"),
            order_table(forecast.orders),
            Heading("Why"),
            *(Line(text, hang=2) for text in _why(ordered, forecast)),
        ]
    else:
        parts.append(Heading("Nothing to order: the stock lasts."))
    if forecast.tools:
        parts += [
            Heading(f"Use from {forecast.first} to {forecast.last}, in tools"),
            Table(USE, forecast.tools, name="use"),
            Heading("Reorder levels at this rate of use, in tools"),
            Table(REORDER, forecast.tools, name="reorder"),
            Line(f"\n{_lives(forecast)}"),
        ]
    if forecast.findings:
        parts += finding_parts(forecast.findings, system)
    return parts


def _lives(forecast: Forecast) -> str:
    if all(t.trust == "catalogue" for t in forecast.tools):
        return (
            "No tool in the ledger has been worn out yet: lives are those of the tools' files, "
            "taken as uncertain, so more is ordered than is used on average. Each retirement "
            "entered makes them more certain."
        )
    return f"Lives are fitted to the ledger's retirements. {BASIS_NOTE}"


def week_parts(forecast: Forecast) -> list[Block]:
    """Return use week by week, tool by tool."""
    parts = [_head(forecast), *_posted(forecast)]
    for t in forecast.tools:
        used = [(t.piece, week) for week in t.weeks if week.use.mean > 0.0]
        parts += [Heading(f"{t.piece}, in tools"), Table(week_sheet(t.total), used, name=t.piece)]
    return parts


HOW: Final = (
    "Change a framed number of pieces or price: packs, cost and sum of its sheet follow. Sentences, "
    "and sheets without formulas, keep the figures of the forecast."
)
"""What a person must know of a workbook with orders."""


def order_workbook(blocks: Sequence[Block], orders: Sequence[SupplierOrder]) -> list[Block]:
    """Return the document of a workbook, which says what may be changed."""
    return [*blocks[:1], *([Line(HOW)] if orders else []), *blocks[1:]]


def forecast_assumptions(
    jobs: Iterable[Job], forecast: Forecast, catalogue: Catalogue, machine: str | None
) -> list[Block]:
    """Return the figures of the files that a forecast rests on.

    Parameters
    ----------
    jobs : iterable of Job
        The pipeline.
    forecast : Forecast
        Made of it.
    catalogue : Catalogue
        Everything the shop has.
    machine : str or None
        Machine the jobs run on; None for the shop's.
    """
    shop = catalogue.shop
    named = [(job.stack or shop.stack, job.stone or shop.stone) for job in jobs]
    stacks, stones = map(dict.fromkeys, zip(*named, strict=True))
    tools = dict.fromkeys(t.piece.partition("/")[0] for t in forecast.tools)
    used: list[tuple[str, Any]] = [
        ("machine", catalogue.machines[machine or shop.machine]),
        *(("stack", catalogue.stacks[name]) for name in stacks if name in catalogue.stacks),
        *(("stone", catalogue.stones[name]) for name in stones if name in catalogue.stones),
        *(("tool", catalogue.tools[name]) for name in tools),
    ]
    return assumption_blocks(catalogue, used, ("ordering", "calendar"))


def order_parts(forecast: Forecast, orders: Sequence[SupplierOrder]) -> list[Block]:
    """Return the order lists, one per supplier."""
    parts = [_head(forecast), *_posted(forecast)]
    for order in orders:
        title = f"Order from {order.supplier}" if order.supplier else "Order, supplier not set"
        parts += [
            Heading(f"{title}: {sum_text(order.cost)}"),
            Table(_order_sheet(order.lines, supplier=False), order.lines),
        ]
    if not orders:
        parts.append(Heading("Nothing to order."))
    return parts
