"""Moves of a tool centre in space, whoever makes them.

The table form is what :mod:`edgetime.motion` times and what :mod:`edgetime.cycle` sums:
one row a move, columns of equal length, rows in the order they run.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from edgetime.columns import Columns

NO_INDEX: Final = -1
"""A move that belongs to no part, run or profile (a travel between parts) carries this."""

PathMode = Literal["exact-path", "exact-stop", "continuous"]
"""How a controller joins moves: the modes G61, G61.1 and G64 of RS-274/NGC."""

PATH_MODES: Final[tuple[PathMode, ...]] = get_args(PathMode)

MODE_OF_CORNER: Final[dict[str, PathMode]] = {"exact-stop": "exact-path", "blend": "continuous"}
"""What the values of the old key ``corner`` mean. Its exact-stop ran through tangent joins."""


class MoveKind(IntEnum):
    """What a move does; the kinds are the time columns of a cycle.

    Attributes
    ----------
    RAPID : 0
        In the air at the machine's traverse speed.
    PLUNGE : 1
        Any vertical move at a feed, down or up.
    LEAD : 2
        Leads, overruns and the overlap of a closed run.
    CUT : 3
        In the cut along the edge, at depth.
    """

    RAPID = 0
    PLUNGE = 1
    LEAD = 2
    CUT = 3


@dataclass(frozen=True, eq=False)
class Moves(Columns):
    """n moves. All arrays have n rows.

    Attributes
    ----------
    start, end : (n, 3) array
        Tool-centre ends in table coordinates, Z up [mm].
    bulge : (n,) array
        Tangent of a quarter of the turn in XY, 0 for a straight move [-]. With a change of
        Z the move is a helix.
    length : (n,) array
        Exact length along the move [mm].
    kind : (n,) int8 array
        :class:`MoveKind`.
    feed : (n,) array
        Programmed speed of the tool centre [mm/s]; ``inf`` for a rapid.
    exact_stop : (n,) bool array
        The tool stands still at the end of the move.
    dwell : (n,) array
        Time standing at the end of the move [s]; a dwell implies an exact stop.
    visit : (n,) integer array
        Row of the tool visit the move belongs to.
    pass_index : (n,) integer array
        Pass in the plan, or ``NO_INDEX``.
    part : (n,) integer array
        Part in the load, or ``NO_INDEX``.
    profile : (n,) integer array
        Index into the plan's profile names, or ``NO_INDEX``.
    treated : (n,) array
        Length of finished edge this move treats [mm]; 0 off the edge. Summed over the CUT
        moves of one pass it is the edge length of that pass.
    volume : (n,) array
        Stone removed on this move [mm³].
    """

    start: NDArray[np.float64]
    end: NDArray[np.float64]
    bulge: NDArray[np.float64]
    length: NDArray[np.float64]
    kind: NDArray[np.int8]
    feed: NDArray[np.float64]
    exact_stop: NDArray[np.bool_]
    dwell: NDArray[np.float64]
    visit: NDArray[np.int64]
    pass_index: NDArray[np.int64]
    part: NDArray[np.int64]
    profile: NDArray[np.int64]
    treated: NDArray[np.float64]
    volume: NDArray[np.float64]

    @classmethod
    def empty(cls) -> Moves:
        """Return a table without rows."""
        return cls.simple(np.zeros((0, 3)), feed=1.0)

    @classmethod
    def simple(
        cls,
        points: object,
        *,
        feed: object,
        bulge: object = 0.0,
        kind: object = MoveKind.CUT,
        exact_stop: object = False,
        dwell: object = 0.0,
    ) -> Moves:
        """Build a connected chain of moves through points, for tests and small programs.

        Parameters
        ----------
        points : (n + 1, 3) or (n + 1, 2) array_like
            Tool-centre places [mm]; Z is 0 when missing.
        feed : float or (n,) array_like
            Speed [mm/s].
        bulge, kind, exact_stop, dwell : scalar or (n,) array_like
            As the attributes.
        """
        pts = np.array(points, dtype=np.float64)
        if pts.ndim == 2 and pts.shape[1] == 2:
            pts = np.column_stack([pts, np.zeros(len(pts))])
        n = max(len(pts) - 1, 0)
        start, end = (pts[:-1], pts[1:]) if n else (np.zeros((0, 3)), np.zeros((0, 3)))
        bul = np.broadcast_to(np.asarray(bulge, dtype=np.float64), (n,)).copy()
        none = np.full(n, NO_INDEX, dtype=np.int64)
        return cls(
            start=start.copy(),
            end=end.copy(),
            bulge=bul,
            length=move_lengths(start, end, bul),
            kind=np.broadcast_to(np.asarray(kind, dtype=np.int8), (n,)).copy(),
            feed=np.broadcast_to(np.asarray(feed, dtype=np.float64), (n,)).copy(),
            exact_stop=np.broadcast_to(np.asarray(exact_stop, dtype=np.bool_), (n,)).copy(),
            dwell=np.broadcast_to(np.asarray(dwell, dtype=np.float64), (n,)).copy(),
            visit=np.zeros(n, dtype=np.int64),
            pass_index=none.copy(),
            part=none.copy(),
            profile=none.copy(),
            treated=np.zeros(n),
            volume=np.zeros(n),
        )


def move_lengths(
    start: NDArray[np.float64], end: NDArray[np.float64], bulge: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the exact length of straight, circular and helical moves [mm]."""
    step = end - start
    chord = np.hypot(step[:, 0], step[:, 1])
    b = np.abs(bulge)
    ratio = np.divide(np.arctan(b), b, out=np.ones_like(b), where=b > 0.0)
    return np.asarray(np.hypot(chord * (1.0 + b * b) * ratio, step[:, 2]))
