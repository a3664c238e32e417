"""Orders to suppliers as the entries tell them: what was placed, arrived, and is outstanding.

Every line of an order is an account of its own, for one article: its number is that of the entry
that placed it. Several lines may have one order number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import Connection, text

from edgetime.errors import Where
from edgetime.ledger.amounts import BY_NAME, read_time
from edgetime.ledger.queries import NOT_REVERSED
from edgetime.ledger.records import model_name
from edgetime.records import HIDDEN, figure


class OrderState(StrEnum):
    """How far a line of an order has come."""

    OPEN = "open"
    PART = "part arrived"
    ARRIVED = "arrived"
    CANCELLED = "cancelled"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRequest:
    """One line of an order to place.

    Attributes
    ----------
    tool, profile : str
        The article.
    count : int
        Pieces.
    expected : date
        Day on which they are expected.
    price : Decimal or None
        Of one piece, in ``currency``.
    currency : str or None
        ISO 4217 code.
    supplier : str or None
        The shop's own name of the supplier.
    number : str or None
        Order number; the next free one where it is None.
    where : Where
        Where it is written, for messages.
    """

    tool: str
    profile: str | None = None
    count: int = 1
    expected: date
    price: Decimal | None = None
    currency: str | None = None
    supplier: str | None = None
    number: str | None = None
    where: Where = field(default_factory=Where, metadata=HIDDEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderBalance:
    """The account of one line of an order.

    Attributes
    ----------
    line : int
        Number of the entry that placed it.
    number : str
        Order number.
    tool, profile : str
        The article.
    supplier : str or None
        Who was asked to deliver.
    placed_on : date
        Day of the order, as this computer's clock has it.
    expected : date
        Day on which what is outstanding is expected.
    late_d : int
        Days by which that day is past while pieces are outstanding [d].
    placed, arrived : int
        Pieces ordered, and received so far.
    cancelled : int
        Pieces that will not come: cancelled, or written off by closing.
    closed : bool
        Whether it was closed with pieces outstanding.
    price : Decimal or None
        Of one piece, in ``currency``.
    currency : str or None
        ISO 4217 code.
    note : str
        Of the order.
    """

    line: int
    number: str
    tool: str
    profile: str | None
    supplier: str | None
    placed_on: date
    expected: date
    late_d: int
    placed: int
    arrived: int
    cancelled: int
    closed: bool
    price: Decimal | None
    currency: str | None
    note: str

    @property
    def model(self) -> str:
        """``tool``, or ``tool/profile``."""
        return model_name(self.tool, self.profile)

    @property
    @figure
    def outstanding(self) -> int:
        """Pieces still to come."""
        return self.placed - self.arrived - self.cancelled

    @property
    @figure
    def state(self) -> OrderState:
        """How far it has come."""
        if self.outstanding:
            return OrderState.PART if self.arrived else OrderState.OPEN
        if self.closed:
            return OrderState.CLOSED
        return OrderState.ARRIVED if self.arrived else OrderState.CANCELLED

    @property
    def value(self) -> Decimal | None:
        """Price of what is outstanding, in ``currency``."""
        return None if self.price is None else self.price * self.outstanding


_STANDS: Final = NOT_REVERSED.format("e")
_OF_LINE: Final = f"FROM entries e WHERE e.piece = o.id AND {_STANDS} AND e.kind"

_ORDERS: Final = f"""
SELECT o.id AS line, o.order_no, o.at, o.tool, o.profile, o.supplier, o.price_e6, o.currency,
  o.note, o.pieces AS placed,
  COALESCE((SELECT e.expected {_OF_LINE} = 'rescheduled' ORDER BY e.id DESC LIMIT 1), o.expected)
    AS expected,
  (SELECT COUNT(*) FROM entries e WHERE e.of_order = o.id AND {_STANDS}) AS arrived,
  (SELECT COALESCE(SUM(e.pieces), 0) {_OF_LINE} IN ('cancelled', 'closed')) AS cancelled,
  EXISTS (SELECT 1 {_OF_LINE} = 'closed') AS closed
FROM entries o
WHERE o.kind = 'ordered' AND {NOT_REVERSED.format("o")} {{where}}
ORDER BY o.id
"""


def read_orders(
    link: Connection, where: str = "", *, today: date | None = None, **values: Any
) -> tuple[OrderBalance, ...]:
    """Read the accounts of orders, in the order they were placed.

    Parameters
    ----------
    link : Connection
        In a transaction.
    where : str
        A further condition on the placing entry ``o``: ``AND o.order_no = :number``.
    today : date, optional
        The day by which an order is late; this computer's when omitted.
    **values
        What the condition names.
    """
    day = today or date.today()  # noqa: DTZ011  the shop's own day
    rows = link.execute(text(_ORDERS.format(where=where)), values).all()
    return tuple(_order_of(row, day) for row in rows)


def _order_of(row: Any, today: date) -> OrderBalance:
    placed, arrived, cancelled = int(row.placed), int(row.arrived), int(row.cancelled)
    expected = date.fromisoformat(row.expected)
    late = (today - expected).days if placed > arrived + cancelled else 0
    return OrderBalance(
        line=row.line,
        number=row.order_no,
        tool=row.tool,
        profile=row.profile,
        supplier=row.supplier,
        placed_on=read_time(row.at).astimezone().date(),
        expected=expected,
        late_d=max(0, late),
        placed=placed,
        arrived=arrived,
        cancelled=cancelled,
        closed=bool(row.closed),
        price=BY_NAME["price"].exact(row.price_e6),
        currency=row.currency,
        note=row.note,
    )


def by_expected(lines: Sequence[OrderBalance]) -> list[OrderBalance]:
    """Return lines with something outstanding, those expected first before the others."""
    return sorted((o for o in lines if o.outstanding), key=lambda o: (o.expected, o.line))
