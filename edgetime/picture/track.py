"""Where the tool is at every moment of a cycle, for a replay.

The motion model knows the place of the tool at any moment exactly. A page cannot carry the model,
so it carries moments and places close enough together that a straight line between two of them is
right within a tolerance. They are found by halving: an interval in which the true place is off the
straight line is divided, until none is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from edgetime.moves import Moves

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.motion import MotionTimes

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

OFF_MM: Final = 0.3
"""Greatest distance from the true place at the moments that are looked at [mm]."""

_ASKED: Final = np.array([0.25, 0.5, 0.75])
"""Where in an interval the true place is compared. One moment would not do: half way through a
move from rest to rest the tool is where even motion would have it."""

_ROUNDS: Final = 24
"""Halvings at most: the longest move of a day becomes intervals of milliseconds."""


@dataclass(frozen=True, eq=False, slots=True)
class Track:
    """The tool's way through a cycle, k keyframes.

    Attributes
    ----------
    time_s : (k,) array
        On the machine's clock, from cycle start, attended stops left out; ascending [s].
    place_mm : (k, 3) array
        Tool centre, table coordinates [mm].
    kind : (k,) integer array
        :class:`edgetime.moves.MoveKind` of the move that leads to it.
    visit : (k,) integer array
        Visit it belongs to, from 0.
    """

    time_s: FloatArray
    place_mm: FloatArray
    kind: IntArray
    visit: IntArray


def places(moves: Moves, row: IntArray, along_mm: FloatArray) -> FloatArray:
    """Return places along moves (m, 3) [mm].

    Parameters
    ----------
    moves : Moves
        The table.
    row : (m,) integer array
        Which move.
    along_mm : (m,) array
        How far along it [mm].
    """
    start, end, bulge = moves.start[row], moves.end[row], moves.bulge[row]
    length = moves.length[row]
    share = np.divide(along_mm, length, out=np.zeros_like(along_mm), where=length > 0.0)
    share = np.clip(share, 0.0, 1.0)[:, None]
    out = np.asarray(start + share * (end - start))
    turns = np.flatnonzero(bulge != 0.0)
    if len(turns):
        b = bulge[turns]
        chord = (end[turns] - start[turns])[:, :2]
        # The centre lies on the chord's normal at c (1 - b²) / (4 b) from its middle.
        normal = np.column_stack([-chord[:, 1], chord[:, 0]])
        middle = 0.5 * (start[turns] + end[turns])[:, :2]
        centre = middle + normal * ((1.0 - b * b) / (4.0 * b))[:, None]
        angle = 4.0 * np.arctan(b) * share[turns, 0]
        arm = start[turns][:, :2] - centre
        c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
        out[turns, :2] = centre + c * arm + s * np.column_stack([-arm[:, 1], arm[:, 0]])
    return out


def begins(est: Estimate) -> FloatArray:
    """Return when each move begins on the machine's clock (n,) [s].

    What a row of the order of work has beside its moves and their dwells, such as the exchange
    of a tool, passes at its beginning.
    """
    from edgetime.cycle.order import moves_of_rows  # noqa: PLC0415  loaded by now

    moves = est.paths.moves
    spent = est.motion.seconds + moves.dwell
    out = np.zeros(len(moves))
    for row, mine in zip(est.order, moves_of_rows(est.paths), strict=True):
        own = spent[mine]
        beside = row.total_s - float(own.sum())
        out[mine] = row.starts_s + beside + np.concatenate([[0.0], np.cumsum(own)[:-1]])
    return out


def tool_track(est: Estimate, *, off_mm: float = OFF_MM) -> Track:
    """Return keyframes of the tool's way through a whole cycle.

    Parameters
    ----------
    est : Estimate
        Any.
    off_mm : float
        How far even motion between two keyframes may be from the motion model's place [mm].

    Returns
    -------
    Track
        It begins at 0 and ends with the cycle. While the machine waits, two keyframes have the
        same place.
    """
    moves, motion = est.paths.moves, est.motion
    row, since = _moments(moves, motion, off_mm)
    start = begins(est)
    run = np.concatenate([[0.0], np.cumsum(motion.seconds)])
    at = _sampled(moves, motion, row, since)
    # Each move is framed by its ends, so standing before or after it is two frames in one place.
    time = start[row] + (since - run[row])
    total = est.cycle.total_s
    first, last = at[:1], at[-1:]
    return Track(
        time_s=np.concatenate([[0.0], time, [total]]),
        place_mm=np.vstack([first, at, last]),
        kind=np.concatenate([moves.kind[row[:1]], moves.kind[row], moves.kind[row[-1:]]]).astype(
            np.int64
        ),
        visit=np.concatenate([moves.visit[row[:1]], moves.visit[row], moves.visit[row[-1:]]]),
    )


def _moments(moves: Moves, motion: MotionTimes, off_mm: float) -> tuple[IntArray, FloatArray]:
    """Return the move and the time in motion of every keyframe, in order."""
    run = np.concatenate([[0.0], np.cumsum(motion.seconds)])
    rows = np.flatnonzero(motion.seconds > 0.0)
    row, low, high = rows, run[rows], run[rows + 1]
    found = [(rows, low), (rows, high)]
    for _ in range(_ROUNDS):
        if not len(row):
            break
        a, b = (_sampled(moves, motion, row, t) for t in (low, high))
        off = np.zeros(len(row))
        for share in _ASKED:
            true = _sampled(moves, motion, row, low + share * (high - low))
            off = np.maximum(off, np.linalg.norm(true - (a + share * (b - a)), axis=1))
        split = off > off_mm
        row, low, high = row[split], low[split], high[split]
        half = 0.5 * (low + high)
        found.append((row, half))
        row, low, high = (
            np.concatenate([row, row]),
            np.concatenate([low, half]),
            np.concatenate([half, high]),
        )
    all_rows = np.concatenate([r for r, _ in found])
    all_times = np.concatenate([t for _, t in found])
    order = np.lexsort((all_times, all_rows))
    return all_rows[order], all_times[order]


def _sampled(moves: Moves, motion: MotionTimes, row: IntArray, time: FloatArray) -> FloatArray:
    """Return the true places at moments of known moves (m, 3) [mm]."""
    # The last digits of two sums of the same times may differ.
    state = motion.sample(np.clip(time, 0.0, motion.total_s * (1.0 - 1e-12)))
    # At the seam of two moves the model may name either: then it is the end of the known one.
    along = np.where(
        state.row == row, state.place, np.where(state.row > row, moves.length[row], 0.0)
    )
    return places(moves, row, along)
