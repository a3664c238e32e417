"""The moves of a load put together row by row.

Travel rows are few and of many kinds, so they are kept as tuples; the moves along the edges
are many and alike, so they stay arrays. Both carry their place in the running order and are
sorted together once at the end. Every move starts where the one before it ended, so only
the ends are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgetime.geometry.path import FloatArray, IntArray
from edgetime.moves import NO_INDEX, MoveKind, Moves, move_lengths


@dataclass(frozen=True, eq=False)
class Block:
    """The moves of one engagement at one depth, n rows.

    Attributes
    ----------
    end : (n, 2) array
        End of each move [mm].
    bulge, length, feed, treated, volume : (n,) arrays
        As in :class:`edgetime.moves.Moves`.
    kind : (n,) int8 array
        Kind of each move.
    profile : (n,) integer array
        Profile of each move.
    z : float
        Height of the tool tip [mm].
    pass_index, part, visit : int
        Of all moves.
    """

    end: FloatArray
    bulge: FloatArray
    length: FloatArray
    feed: FloatArray
    treated: FloatArray
    volume: FloatArray
    kind: NDArray[np.int8]
    profile: IntArray
    z: float
    pass_index: int
    part: int
    visit: int

    def __len__(self) -> int:
        return len(self.bulge)


class Owner(NamedTuple):
    """What a move belongs to: its time and wear are counted there."""

    visit: int
    pass_index: int = NO_INDEX
    part: int = NO_INDEX
    profile: int = NO_INDEX


class RowBook:
    """Collects rows in running order.

    Parameters
    ----------
    rack : (float, float, float)
        Where every visit begins and ends [mm].
    """

    def __init__(self, rack: tuple[float, float, float]) -> None:
        self._rack = rack
        self._travel: list[tuple[float, ...]] = []
        self._travel_at: list[int] = []
        self._blocks: list[Block] = []
        self._block_at: list[int] = []
        self._count = 0

    def travel(
        self,
        to: tuple[float, float, float],
        kind: MoveKind,
        feed: float,
        owner: Owner,
        *,
        stop: bool = False,
        dwell: float = 0.0,
        change: bool = False,
    ) -> None:
        """Add one straight move to a place [mm] that removes no stone.

        One without length is left out, unless something waits there or it is travel to or
        from the rack (``change``), whose rows are counted.
        """
        stands = stop or dwell > 0.0
        self._add((*to, feed, dwell, 0.0, 0.0, kind, stands, *owner, change))

    def peck(
        self,
        to: tuple[float, float, float],
        feed: float,
        owner: Owner,
        *,
        stop: bool,
        treated: float,
        volume: float,
    ) -> None:
        """Add one move down or up in a cored hole: edge treated [mm], stone removed [mm³]."""
        self._add((*to, feed, 0.0, treated, volume, MoveKind.PLUNGE, stop, *owner, False))

    def _add(self, row: tuple[float, ...]) -> None:
        self._travel_at.append(self._count)
        self._count += 1
        self._travel.append(row)

    def block(self, block: Block) -> None:
        """Add the moves of an engagement; the tool stands still at its end."""
        self._block_at.append(self._count)
        self._count += 1
        self._blocks.append(block)

    def moves(self) -> Moves:
        """Return the table of all rows."""
        n, blocks = len(self._travel), self._blocks
        sizes = np.array([len(b) for b in blocks], dtype=np.int64)
        at = np.concatenate([np.array(self._travel_at), np.repeat(np.array(self._block_at), sizes)])
        if not len(at):
            return Moves.empty()
        # Rows of travel and blocks were numbered as they were booked: one stable sort joins them.
        order = np.argsort(at, kind="stable")
        rows = np.array(self._travel, dtype=np.float64).reshape(n, 14)
        body = np.concatenate(
            [
                np.concatenate([b.end for b in blocks] or [np.zeros((0, 2))]),
                np.repeat(np.array([b.z for b in blocks]), sizes)[:, None],
            ],
            axis=1,
        )
        end = np.concatenate([rows[:, :3], body])[order]

        def column(travel: FloatArray, name: str) -> FloatArray:
            parts = [getattr(b, name) for b in blocks]
            return np.concatenate([travel, *parts])[order]

        def index(travel: FloatArray, name: str) -> IntArray:
            each = np.array([getattr(b, name) for b in blocks], dtype=np.int64)
            return np.concatenate([travel.astype(np.int64), np.repeat(each, sizes)])[order]

        last = np.zeros(int(sizes.sum()), dtype=np.bool_)
        last[np.cumsum(sizes) - 1] = True
        start = np.vstack([np.array(self._rack)[None, :], end[:-1]])
        bulge = column(np.zeros(n), "bulge")
        # Blocks know their lengths themselves; travel rows are straight.
        straight = move_lengths(start, end, np.zeros(len(end)))
        own = column(np.full(n, np.nan), "length")
        length = np.where(np.isnan(own), straight, own)
        stop = np.concatenate([rows[:, 8] > 0.0, last])[order]
        dwell = np.concatenate([rows[:, 4], np.zeros(len(last))])[order]
        change = np.concatenate([rows[:, 13] > 0.0, np.zeros(len(last), dtype=np.bool_)])[order]
        keep = (length > 0.0) | (dwell > 0.0) | change
        columns = Moves(
            start=start,
            end=end,
            bulge=bulge,
            length=length,
            kind=column(rows[:, 7], "kind").astype(np.int8),
            feed=column(rows[:, 3], "feed"),
            exact_stop=stop,
            dwell=dwell,
            visit=index(rows[:, 9], "visit"),
            pass_index=index(rows[:, 10], "pass_index"),
            part=index(rows[:, 11], "part"),
            profile=column(rows[:, 12], "profile").astype(np.int64),
            treated=column(rows[:, 5], "treated"),
            volume=column(rows[:, 6], "volume"),
        )
        return columns if keep.all() else columns.take(keep)
