"""Orders as documents: what is outstanding, what is late, what became of one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from edgetime.ledger.orders import OrderBalance, OrderState
from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Heading, Line, Table, Tone
from edgetime.report.ledger_entries import ENTRIES
from edgetime.report.text import NONE

if TYPE_CHECKING:
    from edgetime.ledger import Entry
    from edgetime.report.document import Block


def _expected(order: OrderBalance) -> str:
    return str(order.expected) if order.outstanding else NONE


def _state(order: OrderBalance) -> str:
    if order.late_d:
        return f"late {order.late_d} d"
    return "part in" if order.state is OrderState.PART else order.state.value


def _price(order: OrderBalance) -> str | None:
    return None if order.price is None else f"{order.price:.2f} {order.currency}"


ORDERS: Final[Sheet[OrderBalance]] = Sheet(
    (
        Column(key="number", heading="Order"),
        Column(heading="Tool", get=lambda o: o.model),
        Column(key="tool"),
        Column(key="profile"),
        Column(key="supplier", heading="Supplier"),
        Column(key="placed_on"),
        Column(key="placed", heading="Qty", unit=COUNT),
        Column(key="arrived", heading="In", unit=COUNT),
        Column(key="cancelled", unit=COUNT),
        Column(key="outstanding", heading="Due", unit=COUNT),
        Column(heading="Expected", get=_expected),
        Column(key="expected"),
        Column(key="late_d"),
        Column(heading="State", get=_state),
        Column(key="state", get=lambda o: o.state.value),
        Column(heading="Each", unit=COUNT, get=_price),
        Column(key="price"),
        Column(key="currency"),
        Column(key="note"),
    )
)
"""Lines of orders, one row each."""


def order_list_parts(orders: Sequence[OrderBalance], *, name: str, whole: bool) -> list[Block]:
    """Return the orders with something outstanding, or all of them.

    Parameters
    ----------
    orders : sequence of OrderBalance
        Those listed.
    name : str
        The ledger.
    whole : bool
        Whether those with nothing outstanding are among them.
    """
    if not orders:
        return [Line(f"{name}: {'no orders yet' if whole else 'no open orders'}.")]
    late = [o for o in orders if o.late_d]
    due = sum(o.outstanding for o in orders)
    parts: list[Block] = [
        Line(f"Orders in {name}: {due} {'tool' if due == 1 else 'tools'} outstanding."),
        *_late(late),
        Line(""),
        Table(ORDERS, orders),
    ]
    return parts


def _late(late: Sequence[OrderBalance]) -> list[Block]:
    if not late:
        return []
    numbers = ", ".join(dict.fromkeys(o.number for o in late))
    return [
        Line(
            f"Late: order {numbers}. Ask the supplier and enter the new day with "
            "'edgetime ledger expect'.",
            tone=Tone.WARNING,
        )
    ]


def order_parts(orders: Sequence[OrderBalance], entries: Sequence[Entry]) -> list[Block]:
    """Return one order number: its lines, and every entry of them."""
    return [
        Line(f"Order {orders[0].number}, placed {orders[0].placed_on}."),
        *_late([o for o in orders if o.late_d]),
        Line(""),
        Table(ORDERS, orders),
        Heading("Entries"),
        Table(ENTRIES, entries),
    ]


def changed_parts(orders: Sequence[OrderBalance], *, first: str) -> list[Block]:
    """Return what an entry made of an order."""
    done = [o for o in orders if o.state is not OrderState.OPEN and not o.outstanding]
    closing = [Line("\nNothing of it is outstanding now.")] if len(done) == len(orders) else []
    return [Line(first), Line(""), Table(ORDERS, orders), *closing]
