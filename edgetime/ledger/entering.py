"""What every verb that writes begins with: the database, and who enters it when."""

from __future__ import annotations

import getpass
from datetime import datetime
from typing import TypedDict

from edgetime.ledger.amounts import as_utc
from edgetime.ledger.doubts import doubt_time
from edgetime.ledger.rows import Stamp, clean
from edgetime.ledger.store import Store


class StampArgs(TypedDict, total=False):
    """What every entry may be given: time, name, note, and that doubts do not count."""

    at: datetime | None
    who: str | None
    note: str
    anyway: bool


class Entering:
    """Part of the writing half of :class:`edgetime.ledger.Ledger`.

    Parameters
    ----------
    store : Store
        The database.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def _stamp(
        self,
        at: datetime | None = None,
        who: str | None = None,
        note: str = "",
        anyway: bool = False,  # noqa: FBT001, FBT002  by name, as StampArgs has it
    ) -> Stamp:
        stamp = Stamp(
            at=as_utc(at),
            late=at is not None,
            anyway=anyway,
            who=clean(who if who is not None else _somebody(), "name of the person entering it"),
            note=clean(note, "note", empty=True, longest=2000),
        )
        doubt_time(stamp)
        return stamp


def _somebody() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"
