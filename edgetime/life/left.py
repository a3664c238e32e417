"""What is left of each piece by the life that the shop's own worn-out pieces have shown."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from edgetime.life.distribution import Interval, Trust
from edgetime.life.fit import fit_life
from edgetime.life.pieces import life_used
from edgetime.records import written

if TYPE_CHECKING:
    from edgetime.ledger import LifeRecord, PieceBalance
    from edgetime.life.posterior import LifeFit


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedLeft:
    """The further use of a piece until it wears out or breaks, given that it lasted so far.

    Attributes
    ----------
    lives : Interval
        Median and 90 % interval [catalogue lives].
    amount : Interval or None
        The same by the limiting measure, in the stones worked so far; None without a run.
    unit : str or None
        Unit of ``amount``.
    trust : Trust
        Whether it rests on the tool's file too, or on the shop's own pieces.
    worn, pieces : int
        Worn-out lives of this tool that it rests on, of so many with any use.
    """

    lives: Interval
    amount: Interval | None
    unit: str | None
    trust: Trust = field(metadata=written(key="life_rests_on"))
    worn: int
    pieces: int


def left_by_fit(
    balances: Iterable[PieceBalance], records: Iterable[LifeRecord]
) -> dict[str, FittedLeft]:
    """Return what is left of pieces by the fitted life of their tool, by serial.

    Left out are retired pieces, and those of a tool of which none is worn out yet.

    The fit is that of ``survive`` and ``forecast``, so all three say the same of a piece.

    Parameters
    ----------
    balances : iterable of PieceBalance
        The pieces.
    records : iterable of LifeRecord
        Every life in the ledger, with shares by the same files.
    """
    by_tool: dict[str, list[LifeRecord]] = {}
    for record in records:
        by_tool.setdefault(record.tool, []).append(record)
    fits = {
        tool: (fit_life(lives, tool=tool), sum(bool(r.share) for r in lives))
        for tool, lives in by_tool.items()
        if any(r.ended == "worn" and r.share for r in lives)
    }
    return {
        one.serial: _left(one, *fits[one.tool])
        for one in balances
        if one.tool in fits and one.state != "retired" and one.share is not None
    }


def _left(piece: PieceBalance, fit: LifeFit, pieces: int) -> FittedLeft:
    lives = fit.remaining_interval(life_used(piece))
    whole = piece.whole_life
    return FittedLeft(
        lives=lives,
        amount=None
        if whole is None
        else Interval(*(x * whole.amount for x in (lives.value, lives.low, lives.high))),
        unit=None if whole is None else whole.unit,
        trust=fit.trust,
        worn=fit.counts.worn,
        pieces=pieces,
    )
