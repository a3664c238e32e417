"""Orders to suppliers: placing, putting off, cancelling and closing them; what arrives of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from difflib import get_close_matches
from typing import Any, Final, NamedTuple, Unpack

from sqlalchemy import Connection, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.doubts import doubt, doubt_currency
from edgetime.ledger.entering import Entering, StampArgs
from edgetime.ledger.orders import OrderBalance, OrderRequest, by_expected, read_orders
from edgetime.ledger.rack import Delivery, naming
from edgetime.ledger.records import Kind, Posted, model_name
from edgetime.ledger.rows import Stamp, add, clean, price_columns

_MOST: Final = 100_000
_AHEAD: Final = timedelta(days=3 * 365)
"""Nobody orders wheels to be delivered later than this: a slip of the year."""


class Ordering(Entering):
    """Entering orders."""

    def place(self, lines: Sequence[OrderRequest], **stamp: Unpack[StampArgs]) -> Posted:
        """Enter an order, all its lines or none.

        Parameters
        ----------
        lines : sequence of OrderRequest
            What is ordered. Lines without a number get the next free one, those of one supplier
            the same.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Raises
        ------
        LedgerError
            A count, price or day cannot be entered; or the number belongs to another supplier.
        """
        marked = self._stamp(**stamp)
        with self._store.write() as link:
            free: dict[str | None, str] = {}
            rows: list[dict[str, Any]] = []
            for line in lines:
                with naming(line.where):
                    number = line.number
                    if number is None:
                        number = free.setdefault(line.supplier, _next_number(link, len(free)))
                    rows.append(_placed(link, line, clean(number, "order number"), marked, rows))
            return Posted(new=True, entries=add(link, rows))

    def reschedule(
        self, number: str, expected: date, *, article: str | None = None, **stamp: Unpack[StampArgs]
    ) -> Posted:
        """Enter another day on which what is outstanding of an order is expected.

        Parameters
        ----------
        number : str
            Order number.
        expected : date
            The new day.
        article : str, optional
            Only the lines of this ``tool`` or ``tool/profile``.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Raises
        ------
        LedgerError
            There is no such order, or nothing of it is outstanding.
        """
        marked = self._stamp(**stamp)
        _doubt_day(marked, expected)
        with self._store.write() as link:
            rows = [
                marked.row(Kind.RESCHEDULED, piece=o.line, expected=expected.isoformat())
                for o in _outstanding(link, number, article)
            ]
            return Posted(new=True, entries=add(link, rows))

    def cancel(
        self,
        number: str,
        *,
        article: str | None = None,
        count: int | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Cancel what is outstanding of an order, or part of it.

        Parameters
        ----------
        number : str
            Order number.
        article : str, optional
            Only the lines of this ``tool`` or ``tool/profile``.
        count : int, optional
            Pieces, of a single article; otherwise all that are outstanding.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Raises
        ------
        LedgerError
            There is no such order, or less than that is outstanding.
        """
        marked = self._stamp(**stamp)
        with self._store.write() as link:
            lines = _outstanding(link, number, article)
            if count is None:
                parts = [(o, o.outstanding) for o in lines]
            else:
                # What is expected last is missed least.
                parts = _spread(number, lines[::-1], count)
            rows = [marked.row(Kind.CANCELLED, piece=o.line, pieces=pieces) for o, pieces in parts]
            return Posted(new=True, entries=add(link, rows))

    def close_order(
        self, number: str, *, article: str | None = None, **stamp: Unpack[StampArgs]
    ) -> Posted:
        """Close an order that was delivered short: what is outstanding is not expected any more.

        Parameters
        ----------
        number : str
            Order number.
        article : str, optional
            Only the lines of this ``tool`` or ``tool/profile``.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Raises
        ------
        LedgerError
            There is no such order, or nothing of it is outstanding.
        """
        marked = self._stamp(**stamp)
        with self._store.write() as link:
            rows = [
                marked.row(Kind.CLOSED, piece=o.line, pieces=o.outstanding)
                for o in _outstanding(link, number, article)
            ]
            return Posted(new=True, entries=add(link, rows))


def _next_number(link: Connection, given: int) -> str:
    """Return the number after the greatest whole one that was ever used, and after those given."""
    used = link.execute(text("SELECT DISTINCT order_no FROM entries WHERE kind = 'ordered'"))
    whole = [int(n) for n in used.scalars() if n.isascii() and n.isdigit() and len(n) < 16]
    return str(max(whole, default=0) + 1 + given)


def _placed(
    link: Connection,
    line: OrderRequest,
    number: str,
    marked: Stamp,
    before: Sequence[dict[str, Any]],
) -> dict[str, Any]:
    """Return the row of a line; ``before`` are those of the same order that are not entered yet."""
    supplier = None if line.supplier is None else clean(line.supplier, "supplier")
    if not 1 <= line.count <= _MOST:
        raise LedgerError(
            f"The count is {line.count}; 1 to {_MOST} is allowed.",
            where=Where(key="--count"),
            remedy="State how many tools are ordered.",
        )
    doubt_currency(marked, line.currency)
    _doubt_day(marked, line.expected)
    others = {o.supplier for o in _of_number(link, number)}
    others |= {row["supplier"] for row in before if row["order_no"] == number}
    others -= {supplier, None}
    if others and supplier is not None:
        doubt(
            marked,
            f"Order {number} was placed with {', '.join(sorted(map(str, others)))}, not {supplier}.",
            "--number",
            "Give it a number of its own.",
        )
    return marked.row(
        Kind.ORDERED,
        tool=clean(line.tool, "tool"),
        profile=None if line.profile is None else clean(line.profile, "profile"),
        order_no=number,
        pieces=line.count,
        expected=line.expected.isoformat(),
        supplier=supplier,
        **price_columns(line.price, line.currency),
    )


def _doubt_day(marked: Stamp, expected: date) -> None:
    """Question a day before the order, or years ahead."""
    day = marked.at.astimezone().date()
    if expected < day:
        doubt(marked, f"{expected} is before {day}.", "--expected", "Check the date.")
    if expected > day + _AHEAD:
        doubt(marked, f"{expected} is years ahead.", "--expected", "Check the year.")


def _of_number(link: Connection, number: str) -> tuple[OrderBalance, ...]:
    return read_orders(link, "AND o.order_no = :number", number=number)


def _outstanding(link: Connection, number: str, article: str | None) -> list[OrderBalance]:
    """Return the lines of an order with something outstanding, the earliest expected first.

    Raises
    ------
    LedgerError
        There is no such order, none of the article, or nothing is outstanding.
    """
    lines = _of_number(link, number)
    if not lines:
        known = {o.number for o in read_orders(link)}
        close = get_close_matches(number, sorted(known), n=3)
        raise LedgerError(
            f"There is no order {number!r}.",
            where=Where(key="--order"),
            remedy=(f"Did you mean {' or '.join(close)}? " if close else "")
            + "'edgetime ledger orders' lists those that are open.",
        )
    same = [o for o in lines if article in {None, o.model}]
    if not same:
        raise LedgerError(
            f"Order {number} has no {article}.",
            where=Where(key="--order"),
            remedy=f"It has {', '.join(dict.fromkeys(o.model for o in lines))}.",
        )
    open_lines = by_expected(same)
    if not open_lines:
        raise LedgerError(
            f"Order {number} has nothing {f'of {article} ' if article else ''}outstanding.",
            where=Where(key="--order"),
            remedy=f"'edgetime ledger orders {number}' shows what became of it.",
        )
    return open_lines


def _spread(
    number: str, lines: Sequence[OrderBalance], count: int
) -> list[tuple[OrderBalance, int]]:
    """Divide a number of pieces over lines of one article, in their order."""
    if len({o.model for o in lines}) > 1:
        raise LedgerError(
            f"Order {number} has several articles.",
            where=Where(key="--count"),
            remedy=f"Name one: {', '.join(dict.fromkeys(o.model for o in lines))}.",
        )
    outstanding = sum(o.outstanding for o in lines)
    if not 1 <= count <= outstanding:
        raise LedgerError(
            f"Order {number} has {outstanding} {lines[0].model} outstanding, not {count}.",
            where=Where(key="--count"),
            remedy=f"Give 1 to {outstanding}.",
        )
    parts = []
    for line in lines:
        own = min(count, line.outstanding)
        if own:
            parts.append((line, own))
        count -= own
    return parts


class Arrived(NamedTuple):
    """The order that a received piece belongs to, and what was agreed for it."""

    line: int
    price: dict[str, Any]
    supplier: str | None


def arrivals(link: Connection, came: Delivery, count: int) -> list[Arrived]:
    """Return the line of its order for each piece of a delivery, those expected first served first.

    Parameters
    ----------
    link : Connection
        In a write transaction.
    came : Delivery
        With its order.
    count : int
        Pieces that came.

    Raises
    ------
    LedgerError
        There is no such order, or fewer pieces of the article are outstanding.
    """
    article = model_name(came.tool, came.profile)
    number = clean(came.order or "", "order number")
    lines = _outstanding(link, number, article)
    outstanding = sum(o.outstanding for o in lines)
    if count > outstanding:
        raise LedgerError(
            f"Order {number} has {outstanding} {article} outstanding; {count} came.",
            where=Where(key="--count"),
            remedy=f"Receive {outstanding} against the order and the others without --order.",
        )
    return [
        Arrived(o.line, price_columns(o.price, o.currency), o.supplier)
        for o, pieces in _spread(number, lines, count)
        for _ in range(pieces)
    ]
