"""From a table of moves to what is planned: stretches between vertices.

Moves without length drop out (their stops stay). Moves that continue each other, a straight
one in the same direction or an arc on the same circle or helix at the same feed, become one
stretch, because cutting a line in two does not change what a machine has to do. A stretch
obeys the tightest limits of its moves; on one circle that is exactly the worst over its
whole sweep.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.errors import MotionInfeasible, Where
from edgetime.motion._arrays import BoolArray, FloatArray, IntArray
from edgetime.motion.caps import Caps, caps_of
from edgetime.motion.corners import corner_speeds
from edgetime.motion.limits import MotionLimits
from edgetime.motion.shape import Shape, deflections, shape_of
from edgetime.moves import Moves
from edgetime.tolerances import COINCIDENT_MM, TANGENT_RAD, ZERO_LENGTH_MM

__all__ = ["Chain", "chain_of"]

_SAME_RADIUS: Final = 1e-6
"""Arcs whose radii differ by a smaller share lie on one circle: the rounding of a drawing."""


@dataclass(frozen=True, eq=False)
class Chain:
    """m stretches with their m + 1 vertices, made of the r rows that have length.

    Attributes
    ----------
    rows : (r,) integer array
        Rows of the table with a length.
    stretch : (r,) integer array
        Stretch of each of them.
    speed, acceleration, jerk, length : (m,) array
        Bounds along the stretches [mm/s, mm/s², mm/s³] and their lengths [mm].
    vertex_speed : (m + 1,) array
        Bounds at the vertices [mm/s]; 0 where the tool stands still.
    """

    rows: IntArray
    stretch: IntArray
    speed: FloatArray
    acceleration: FloatArray
    jerk: FloatArray
    length: FloatArray
    vertex_speed: FloatArray


def chain_of(moves: Moves, limits: MotionLimits) -> Chain:
    """Return the stretches of a table with everything that bounds their speeds.

    Parameters
    ----------
    moves : Moves
        n moves in running order.
    limits : MotionLimits
        What the machine allows.

    Returns
    -------
    Chain

    Raises
    ------
    MotionInfeasible
        If a move has a coordinate, length or feed that admits no motion.
    """
    _check(moves)
    rows = np.flatnonzero(moves.length >= ZERO_LENGTH_MM)
    _check_moving(moves, rows)
    length, feed = moves.length[rows], moves.feed[rows]
    shape = shape_of(moves.start[rows], moves.end[rows], moves.bulge[rows])
    caps = caps_of(shape, feed, limits)
    unbounded = np.flatnonzero(~np.isfinite(caps.speed))
    if len(unbounded):
        raise _infeasible(
            moves,
            int(rows[unbounded[0]]),
            "has no speed limit: its feed is inf and so is the speed of every axis it moves",
            "Give the machine finite axis speeds.",
        )
    rest = _rests(moves, rows)
    turn = deflections(shape.exit[:-1], shape.entry[1:])
    speed, merge = caps.speed, ~rest & _same_course(shape, turn) & (feed[:-1] == feed[1:])
    if limits.block_time_s > 0.0:
        slow = length / limits.block_time_s
        free = slow >= speed
        merge &= free[:-1] & free[1:]
        speed = np.minimum(speed, slow)

    first = np.flatnonzero(np.concatenate([np.ones(min(len(rows), 1), dtype=np.bool_), ~merge]))
    stretch = np.cumsum(np.concatenate([np.zeros(min(len(rows), 1), dtype=np.int64), ~merge]))
    whole = _joined(Caps(speed, caps.acceleration, caps.jerk), length, first)
    joint = first[1:] - 1
    return Chain(
        rows=rows,
        stretch=stretch,
        speed=whole[0],
        acceleration=whole[1],
        jerk=whole[2],
        length=whole[3],
        vertex_speed=_vertex_speeds(
            shape, joint, rest=rest[joint], turn=turn[joint], length=whole[3], limits=limits
        ),
    )


def _infeasible(moves: Moves, row: int, what: str, remedy: str) -> MotionInfeasible:
    x, y = (float(v) for v in moves.start[row, :2])
    known = bool(np.isfinite([x, y]).all())
    where = Where(x_mm=x, y_mm=y) if known else Where()
    return MotionInfeasible(f"move {row} {what}.", where=where, remedy=remedy)


def _check(moves: Moves) -> None:
    """Refuse numbers that are none."""
    finite = np.isfinite(moves.start).all(axis=1) & np.isfinite(moves.end).all(axis=1)
    finite &= np.isfinite(moves.bulge)
    tests: tuple[tuple[BoolArray, str], ...] = (
        (~finite, "has a coordinate or bulge that is no finite number"),
        (
            ~(np.isfinite(moves.length) & (moves.length >= 0.0)),
            "has a length that is not 0 or a finite value above",
        ),
    )
    for bad, what in tests:
        if bad.any():
            raise _infeasible(moves, int(np.argmax(bad)), what, "Check the tool path.")


def _check_moving(moves: Moves, rows: IntArray) -> None:
    """Refuse moves with a length but without direction or speed."""
    feed = moves.feed[rows]
    bad = ~(feed > 0.0)
    if bad.any():
        k = int(np.argmax(bad))
        raise _infeasible(
            moves,
            int(rows[k]),
            f"has the feed {feed[k]:g} mm/s; allowed is any value above 0",
            "Give the step a positive feed.",
        )
    still = (moves.start[rows] == moves.end[rows]).all(axis=1)
    if still.any():
        k = int(np.argmax(still))
        raise _infeasible(
            moves,
            int(rows[k]),
            f"has the length {moves.length[rows[k]]:g} mm but ends where it starts",
            "Divide a full turn into two arcs.",
        )


def _rests(moves: Moves, rows: IntArray) -> BoolArray:
    """Return whether the tool stands still between each row with length and the next."""
    if len(rows) < 2:
        return np.zeros(0, dtype=np.bool_)
    stop = moves.exact_stop | (moves.dwell > 0.0)
    gap = np.abs(moves.end[:-1] - moves.start[1:]).max(axis=1) > COINCIDENT_MM
    stop[:-1] |= gap
    # Rows without length in between may carry the stop.
    return np.logical_or.reduceat(stop, rows)[:-1]


def _same_course(shape: Shape, turn: FloatArray) -> BoolArray:
    """Return whether each move goes on along the line, circle or helix of the one before."""
    smooth = turn < TANGENT_RAD
    arc = shape.arc
    k = np.flatnonzero(smooth & (arc[:-1] | arc[1:]))
    if len(k):
        r0, r1 = shape.radius[k], shape.radius[k + 1]
        both = arc[k] & arc[k + 1] & (shape.sweep[k] * shape.sweep[k + 1] > 0.0)
        near = np.zeros(len(k), dtype=np.bool_)
        np.less_equal(
            np.abs(np.where(both, r0, 0.0) - np.where(both, r1, 0.0)),
            _SAME_RADIUS * np.where(both, r0, 0.0),
            out=near,
            where=both,
        )
        smooth[k] = near
    return smooth


def _joined(
    caps: Caps, length: FloatArray, first: IntArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return speed, acceleration, jerk and length of the stretches that begin at the rows."""
    if len(first) == len(length):
        return caps.speed, caps.acceleration, caps.jerk, length
    least = np.minimum.reduceat
    return (
        least(caps.speed, first),
        least(caps.acceleration, first),
        least(caps.jerk, first),
        np.add.reduceat(length, first),
    )


def _vertex_speeds(
    shape: Shape,
    joint: IntArray,
    *,
    rest: BoolArray,
    turn: FloatArray,
    length: FloatArray,
    limits: MotionLimits,
) -> FloatArray:
    """Return the bounds at the vertices: 0 at rests, the blend's speed in corners, else none."""
    inner = np.full(len(joint), np.inf)
    inner[rest] = 0.0
    k = np.flatnonzero(~rest & (turn >= TANGENT_RAD))
    if len(k):
        room = 0.5 * np.minimum(length[k], length[k + 1])
        inner[k] = corner_speeds(
            shape.exit[joint[k]], shape.entry[joint[k] + 1], turn[k], room, limits
        )
    return np.concatenate([[0.0], inner, [0.0]])[: len(length) + 1]
