"""The order sheet: what a forecast orders, by supplier, to print, sign and send."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from edgetime.choices import Paper
from edgetime.page.html import blocks_html
from edgetime.page.sheets import sheet_html
from edgetime.picture.plan import clean
from edgetime.report.document import Fact, Table
from edgetime.report.forecast import order_basis, purchase_sheet, sum_text
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.forecast import Forecast, SupplierOrder

_STYLE: Final = """
.order { break-before: page; } .order:first-of-type { break-before: auto; }
.order table { margin: 3mm 0; } tfoot th, tfoot td { font-weight: bold; border-bottom: 0; }
.fill { display: grid; grid-template-columns: 1fr 1fr 1fr; gap: 6mm; margin: 9mm 0 5mm; }
.fill div { border-top: .5pt solid #000; padding-top: 1mm; }
"""


def order_sheet(
    forecast: Forecast, orders: Sequence[SupplierOrder], *, paper: Paper = Paper.A4
) -> str:
    """Return the order sheet of a forecast: a page for each supplier, without script.

    Parameters
    ----------
    forecast : Forecast
        It gives the days and the service level.
    orders : sequence of SupplierOrder
        Those on the sheet.
    paper : Paper
        What it is printed on.
    """
    rows = [row for order in orders for row in _order(forecast, order)]
    if not orders:
        rows = ["<p>Nothing to order.</p>"]
    title = f"Tool order, {forecast.first}"
    return sheet_html(title, rows, paper=paper, style=_STYLE)


def _order(forecast: Forecast, order: SupplierOrder) -> Iterator[str]:
    supplier = order.supplier or "(supplier not set)"
    yield f'<section class="order"><h2>Order to {clean(supplier)}</h2>'
    yield '<div class="fill"><div>Order number</div><div>Date</div><div>Delivery confirmed for</div></div>'
    facts = [
        Fact("Order by", f"{order.order_by}{' (late: order today)' if order.late_d else ''}"),
        Fact("Amount", sum_text(order.cost)),
        Fact(
            "Covers",
            f"jobs of {forecast.pipeline} to {forecast.last}, service level "
            f"{100.0 * forecast.service:g} %",
        ),
    ]
    yield from blocks_html(facts, UnitSystem.METRIC)
    table = Table(purchase_sheet(order), order.lines)
    yield from blocks_html([table], UnitSystem.METRIC, caption=f"Order from {supplier}")
    yield from (f"<p>{clean(line)}</p>" for line in order_basis(order))
    yield (
        '<div class="sign"><div>Ordered by</div><div>Signature</div><div>Received, checked</div></div>'
        "</section>"
    )
