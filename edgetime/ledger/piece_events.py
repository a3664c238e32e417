"""What happens to one piece: measured, dressed, reprofiled, retired, its use corrected."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any, Unpack

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import BY_NAME
from edgetime.ledger.days import refuse_late
from edgetime.ledger.doubts import (
    doubt_before_receipt,
    doubt_currency,
    doubt_diameter,
    doubt_reprofiling,
    doubt_share,
)
from edgetime.ledger.entering import Entering, StampArgs
from edgetime.ledger.pieces import find_piece, one_currency
from edgetime.ledger.records import Kind, Posted, Reason
from edgetime.ledger.reversals import refuse_negative
from edgetime.ledger.rows import add, clean, diameter_columns, price_columns


class PieceEvents(Entering):
    """Entering what happens to one piece."""

    def measure(self, piece: str, *, diameter_mm: float, **stamp: Unpack[StampArgs]) -> Posted:
        """Enter a measured diameter [mm]."""
        return self._enter(Kind.MEASURED, piece, diameter_columns(diameter_mm), **stamp)

    def dress(
        self, piece: str, *, diameter_mm: float | None = None, **stamp: Unpack[StampArgs]
    ) -> Posted:
        """Enter a dressing, with the diameter after it [mm] where it was measured."""
        return self._enter(Kind.DRESSED, piece, diameter_columns(diameter_mm), **stamp)

    def reprofile(
        self,
        piece: str,
        *,
        diameter_mm: float | None = None,
        life: float = 1.0,
        reason: Reason | str = Reason.WORN,
        price: Decimal | None = None,
        currency: str | None = None,
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        """Enter a reprofiling: the wheel's life begins again.

        Parameters
        ----------
        piece : str
            Serial.
        diameter_mm : float, optional
            Diameter after it [mm].
        life : float
            Life it begins with, 1 for that of a new one [-].
        reason : Reason
            ``worn``, or ``early`` when the old life had not ended: a life that did not end
            says less about how long such wheels last.
        price, currency
            Paid for it.
        **stamp
            ``at``, ``who``, ``note``.
        """
        why = _reason(reason, (Reason.WORN, Reason.EARLY))
        if not 0.0 < life <= 1.0:
            raise LedgerError(
                f"The life restored is {life}; above 0 to 1 is allowed.",
                where=Where(key="--life"),
                remedy="Give the share of a new tool's life, such as 0.9.",
            )
        values = {
            "restored_e12": BY_NAME["restored"].store(life),
            "reason": why.value,
            **diameter_columns(diameter_mm),
            **price_columns(price, currency),
        }
        return self._enter(Kind.REPROFILED, piece, values, **stamp)

    def retire(self, piece: str, *, reason: Reason | str, **stamp: Unpack[StampArgs]) -> Posted:
        """Enter the end of a piece: ``worn``, ``broken`` or ``lost``."""
        why = _reason(reason, (Reason.WORN, Reason.BROKEN, Reason.LOST))
        return self._enter(Kind.RETIRED, piece, {"reason": why.value}, **stamp)

    def adjust(
        self,
        piece: str,
        *,
        share: float | Decimal | None = None,
        currency: str | None = None,
        at: datetime | None = None,
        who: str | None = None,
        note: str = "",
        anyway: bool = False,
        **amounts: float | Decimal,
    ) -> Posted:
        """Correct what a piece has used, by a difference.

        Parameters
        ----------
        piece : str
            Serial.
        share : float, optional
            Share of life to add, negative to take off [-].
        currency : str, optional
            Of ``cost``.
        **stamp
            ``at``, ``who``, ``note``, as for all entries.
        **amounts
            Further differences: ``contact_mm``, ``path_mm``, ``volume_mm3``, ``cut_s``,
            ``holes``, ``area_mm2``, ``cost``.

        Raises
        ------
        LedgerError
            Nothing to adjust, or less than nothing would be left as used.
        """
        named = dict(amounts) if share is None else {"share_any": share, **amounts}
        free = {"share_any", "contact_mm", "path_mm", "volume_mm3", "cut_s", "holes", "area_mm2"}
        if not named or not named.keys() <= free | {"cost"} or ("cost" in named) != bool(currency):
            raise LedgerError(
                "An adjustment needs a difference, and a cost its currency.",
                where=Where(key="--share"),
                remedy="Give what to add or take off, such as --share=-10%.",
            )
        values: dict[str, Any] = {
            BY_NAME[name].column: BY_NAME[name].store(value) for name, value in named.items()
        }
        if currency:
            values["currency"] = clean(currency, "currency")
        marked = self._stamp(at, who, note, anyway)
        if share is not None:
            doubt_share(marked, float(share))
        doubt_currency(marked, currency)
        with self._store.write() as link:
            found = find_piece(link, piece)
            doubt_before_receipt(marked, found)
            one_currency(link, found, currency)
            row = marked.row(Kind.ADJUSTED, piece=found.piece, **values)
            added = add(link, [row])
            refuse_negative(link, [found.piece])
            return Posted(new=True, entries=added)

    def _enter(
        self,
        kind: Kind,
        piece: str,
        values: dict[str, Any],
        **stamp: Unpack[StampArgs],
    ) -> Posted:
        marked = self._stamp(**stamp)
        doubt_currency(marked, values.get("currency"))
        with self._store.write() as link:
            found = find_piece(link, piece)
            doubt_before_receipt(marked, found)
            nm = values.get("diameter_nm")
            doubt_diameter(link, marked, found, None if nm is None else nm / 1e6)
            if kind is Kind.REPROFILED:
                doubt_reprofiling(marked, found)
            if kind in {Kind.REPROFILED, Kind.RETIRED}:
                refuse_late(link, marked, found.piece)
            one_currency(link, found, values.get("currency"))
            row = marked.row(kind, piece=found.piece, **values)
            return Posted(new=True, entries=add(link, [row]))


def _reason(reason: Reason | str, allowed: tuple[Reason, ...]) -> Reason:
    if reason not in allowed:
        raise LedgerError(
            f"The reason is {reason!s}.",
            where=Where(key="--reason"),
            remedy=f"Allowed are: {', '.join(allowed)}.",
        )
    return Reason(reason)
