"""What is hardly meant as it is entered: a question first, and a mark when it is entered anyway."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from difflib import get_close_matches
from typing import Any, Final

from sqlalchemy import Connection, Row, text

from edgetime.errors import LedgerError, Where
from edgetime.ledger.amounts import local_text, read_time, time_text
from edgetime.ledger.currencies import CURRENCIES
from edgetime.ledger.queries import NOT_REVERSED
from edgetime.ledger.rows import Stamp

_EARLIEST: Final = datetime(2000, 1, 1, tzinfo=UTC)
_AHEAD: Final = timedelta(days=1)
"""Seats' clocks and zones differ by less."""

_GROWN: Final = 1.02
_SHRUNK: Final = 0.7
"""Wheels do not grow, but for how they are measured, and are retired long before a third of the
diameter is gone (common practice, no source): more is a slip of a digit or of the unit."""


def doubt(stamp: Stamp, what: str, key: str, remedy: str) -> None:
    """Refuse what is hardly meant, unless it is to be entered anyway.

    Raises
    ------
    LedgerError
        ``stamp`` does not say that it is to be entered anyway.
    """
    if not stamp.anyway:
        raise LedgerError(
            what, where=Where(key=key), remedy=f"{remedy} If it is right, add --anyway."
        )


def doubt_time(stamp: Stamp) -> None:
    """Question a time that is still to come, or long past."""
    if not stamp.late:
        return
    when = local_text(stamp.at)
    if stamp.at > datetime.now(UTC) + _AHEAD:
        doubt(stamp, f"{when} is still to come.", "--at", "Check the date.")
    if stamp.at < _EARLIEST:
        doubt(stamp, f"{when} is long past.", "--at", "Check the year.")


def doubt_before_receipt(stamp: Stamp, piece: Row[Any]) -> None:
    """Question an entry for a time before the piece was received."""
    if stamp.late and time_text(stamp.at) < piece.received_at:
        doubt(
            stamp,
            f"{piece.serial} was received on {local_text(read_time(piece.received_at))}, "
            f"after {local_text(stamp.at)}.",
            "--at",
            "Check the time, or the receipt's.",
        )


def doubt_diameter(
    link: Connection, stamp: Stamp, piece: Row[Any], diameter_mm: float | None
) -> None:
    """Question a diameter that no wheel of the last one can have."""
    if diameter_mm is None:
        return
    last = link.execute(
        text(
            "SELECT d.diameter_nm FROM entries d WHERE d.piece = :piece "
            f"AND d.diameter_nm IS NOT NULL AND {NOT_REVERSED.format('d')} "
            "ORDER BY d.at DESC, d.id DESC LIMIT 1"
        ),
        {"piece": piece.piece},
    ).scalar()
    if last is None:
        return
    before = int(last) / 1e6
    if not _SHRUNK * before <= diameter_mm <= _GROWN * before:
        doubt(
            stamp,
            f"{piece.serial} measured {before:g} mm; {diameter_mm:g} mm is hardly the same wheel.",
            "--diameter",
            "Check the decimal point and the unit.",
        )


def doubt_currency(stamp: Stamp, currency: str | None) -> None:
    """Question a code that is no country's currency today."""
    if currency is not None and currency not in CURRENCIES:
        close = get_close_matches(currency, sorted(CURRENCIES), n=3)
        doubt(
            stamp,
            f"{currency} is the code of no currency in use today.",
            "--price",
            (f"Did you mean {' or '.join(close)}? " if close else "")
            + "Give its code, such as EUR or USD.",
        )


def doubt_share(stamp: Stamp, share: float) -> None:
    """Question an adjustment by more than a whole life."""
    if abs(share) > 1.0:
        doubt(
            stamp,
            f"{share:g} is {100 * share:.0f} % of a life.",
            "--share",
            f"For {share:g} per cent write --share={share:g}%.",
        )


def doubt_reprofiling(stamp: Stamp, piece: Row[Any]) -> None:
    """Question the reprofiling of a piece that is ground to no profile."""
    if piece.profile is None:
        doubt(
            stamp,
            f"{piece.serial} ({piece.tool}) is not ground to a profile, so there is none to renew.",
            "SERIAL",
            "A pad or bit that is used up is retired: 'edgetime ledger retire'.",
        )
