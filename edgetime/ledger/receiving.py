"""New pieces: what a delivery enters."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Unpack

from sqlalchemy import Connection

from edgetime.errors import LedgerError, Where
from edgetime.ledger.doubts import doubt_currency
from edgetime.ledger.entering import Entering, StampArgs
from edgetime.ledger.ordering import arrivals
from edgetime.ledger.pieces import check_serials, next_serials
from edgetime.ledger.rack import Delivery, naming
from edgetime.ledger.records import Entry, Kind, Posted, model_name
from edgetime.ledger.rows import Stamp, add, clean, diameter_columns, price_columns


class Receiving(Entering):
    """Entering deliveries."""

    def receive(
        self,
        tool: str,
        *,
        profile: str | None = None,
        count: int = 1,
        serials: Sequence[str] | None = None,
        diameter_mm: float | None = None,
        price: Decimal | None = None,
        currency: str | None = None,
        supplier: str | None = None,
        batch: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Enter new pieces.

        Parameters
        ----------
        tool, profile : str
            The tool's name, and the profile a profiled wheel is ground to.
        count : int
            How many; they are given serials ``tool-001`` onward.
        serials : sequence of str, optional
            The shop's own serials, instead of ``count``.
        diameter_mm : float, optional
            Diameter [mm].
        price : Decimal, optional
            Of one piece, in ``currency``.
        currency : str, optional
            ISO 4217 code.
        supplier, batch : str, optional
            Who delivered them, and the batch they are of.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.
        """
        return self.receive_all(
            [
                Delivery(
                    tool=tool,
                    profile=profile,
                    count=count,
                    serials=serials,
                    diameter_mm=diameter_mm,
                    price=price,
                    currency=currency,
                    supplier=supplier,
                    batch=batch,
                )
            ],
            **stamp,
        )

    def receive_all(self, deliveries: Sequence[Delivery], **stamp: Unpack[StampArgs]) -> Posted:
        """Enter new pieces of several tools, all of them or none.

        Parameters
        ----------
        deliveries : sequence of Delivery
            What came.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.

        Raises
        ------
        LedgerError
            With the line of the delivery that cannot be entered, where it has one.
        """
        marked = self._stamp(**stamp)
        posted: list[Entry] = []
        with self._store.write() as link:
            for came in deliveries:
                with naming(came.where):
                    posted += _receive(link, came, marked)
        return Posted(new=True, entries=tuple(posted))


def _receive(link: Connection, came: Delivery, marked: Stamp) -> tuple[Entry, ...]:
    tool = clean(came.tool, "tool")
    profile = None if came.profile is None else clean(came.profile, "profile")
    wanted = (
        None if came.serials is None else [clean(s, "serial", longest=60) for s in came.serials]
    )
    if wanted is None and not 1 <= came.count <= 10_000:
        raise LedgerError(
            f"The count is {came.count}; 1 to 10000 is allowed.",
            where=Where(key="--count"),
            remedy="State how many tools arrived.",
        )
    doubt_currency(marked, came.currency)
    values = {
        "tool": tool,
        "profile": profile,
        "restored_e12": 10**12,
        "batch": None if came.batch is None else clean(came.batch, "batch"),
        **diameter_columns(came.diameter_mm),
    }
    given = price_columns(came.price, came.currency)
    if came.supplier is not None:
        given["supplier"] = clean(came.supplier, "supplier")
    if wanted is None:
        wanted = next_serials(link, model_name(tool, profile), came.count)
    check_serials(link, wanted)
    own: list[dict[str, Any]] = [given] * len(wanted)
    if came.order is not None:
        own = [
            # What is written on the delivery counts, else what was agreed in the order.
            {"of_order": of.line, "supplier": of.supplier, **of.price, **given}
            for of in arrivals(link, came, len(wanted))
        ]
    rows = [
        marked.row(Kind.RECEIVED, serial=serial, **values, **one)
        for serial, one in zip(wanted, own, strict=True)
    ]
    return add(link, rows)
