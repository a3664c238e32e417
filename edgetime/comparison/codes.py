"""Every kind of finding that comparing can make."""

from __future__ import annotations

from typing import Final

from edgetime.findings import Code, Severity

__all__ = ["CODES"]

SET_PRICE_UNKNOWN: Final = Code(
    "set-price-unknown",
    Severity.WARNING,
    "A tool that must be bought for a set-up states no price: when it pays cannot be told.",
    "Add price to the tool's file, or write purchase= in --with.",
)
MACHINE_PRICE_NOT_COUNTED: Final = Code(
    "machine-price-not-counted",
    Severity.NOTE,
    "Another machine is compared at the same rate, and what it costs more to buy is not known, so "
    "when it pays cannot be told.",
    "Write rate= for its hour, or purchase= for what it costs more, in --with.",
)
NO_YIELD: Final = Code(
    "yield-unknown",
    Severity.NOTE,
    "A load does not fit into the shop's shift, so there is no yield and no days.",
    "Make the shift longer in [shift], or split the load.",
)

FEED_WEAR_NOT_COUNTED: Final = Code(
    "feed-wear-not-counted",
    Severity.NOTE,
    "At another feed tools wear otherwise; here they wear by their lives as stated.",
    "edgetime feed reckons with the life by the feed, where a tool's file states it.",
)

CODES: tuple[Code, ...] = (
    SET_PRICE_UNKNOWN,
    MACHINE_PRICE_NOT_COUNTED,
    NO_YIELD,
    FEED_WEAR_NOT_COUNTED,
)
