"""The append-only record of what every tool piece did, and what is left of it."""

from __future__ import annotations

from edgetime.ledger.open import Ledger, open_ledger
from edgetime.ledger.orders import OrderBalance, OrderRequest, OrderState
from edgetime.ledger.rack import Delivery, RackPocket
from edgetime.ledger.records import (
    AuditReport,
    Entry,
    Kind,
    LifeRecord,
    PieceBalance,
    Posted,
    Reason,
    State,
    Used,
)

__all__ = [
    "AuditReport",
    "Delivery",
    "Entry",
    "Kind",
    "Ledger",
    "LifeRecord",
    "OrderBalance",
    "OrderRequest",
    "OrderState",
    "PieceBalance",
    "Posted",
    "RackPocket",
    "Reason",
    "State",
    "Used",
    "open_ledger",
]
