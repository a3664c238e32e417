"""From a table of moves to what is planned: stretches, joins, and the blends in corners.

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
from edgetime.motion.corners import blends_of
from edgetime.motion.limits import MotionLimits
from edgetime.motion.lookahead import window_sums
from edgetime.motion.segments import Chain, laid_out
from edgetime.motion.shape import Shape, deflections, shape_of
from edgetime.moves import Moves
from edgetime.tolerances import COINCIDENT_MM, TANGENT_RAD, ZERO_LENGTH_MM

_SAME_RADIUS: Final = 1e-6
"""Arcs whose radii differ by a smaller share lie on one circle: the rounding of a drawing."""


@dataclass(frozen=True, eq=False)
class _Joins:
    """What happens between each of r moves with length and the next: r - 1 rows.

    Attributes
    ----------
    rest : bool array
        The tool stands still, whatever the directions.
    turn : array
        Change of direction [rad].
    corner : bool array
        Both moves meet at an angle, without a rest.
    """

    rest: BoolArray
    turn: FloatArray
    corner: BoolArray


@dataclass(frozen=True, eq=False)
class _Stretches:
    """Moves that continue each other, as one: r moves in s stretches.

    Attributes
    ----------
    rows : (r,) integer array
        Rows of the table with a length.
    length : (r,) array
        Their lengths [mm].
    of : (r,) integer array
        Stretch of each of them, ascending.
    first : (s,) integer array
        First move of each stretch.
    """

    rows: IntArray
    length: FloatArray
    of: IntArray
    first: IntArray


def chain_of(moves: Moves, limits: MotionLimits) -> Chain:
    """Return the segments of a table with everything that bounds their speeds.

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
    if not len(rows):
        return laid_out(rows, length, rows, _joined(caps, length, rows), rows)
    ends = _program_ends(moves, rows)
    rest = _rests(moves, rows, limits)
    turn = deflections(shape.exit[:-1], shape.entry[1:])
    joins = _Joins(rest, turn, ~rest & (turn >= TANGENT_RAD))
    caps, merge = _merged(shape, joins, feed, caps, length, limits)

    first = np.flatnonzero(np.concatenate([[True], ~merge]))
    stretches = _Stretches(rows, length, np.cumsum(np.concatenate([[0], ~merge])), first)
    return _chain(shape, stretches, caps, joins, ends, limits)


def _chain(
    shape: Shape,
    stretches: _Stretches,
    caps: Caps,
    joins: _Joins,
    ends: BoolArray,
    limits: MotionLimits,
) -> Chain:
    """Blend or stop at the corners, and lay the segments out."""
    rows, length, stretch = stretches.rows, stretches.length, stretches.of
    caps, long = _joined(caps, length, stretches.first)
    # The joins that remain: each after the last move of a stretch.
    joint = stretches.first[1:] - 1
    corner = np.flatnonzero(joins.corner[joint])
    stops = joins.rest[joint].copy()
    blends = None
    if limits.path_mode == "continuous" and len(corner):
        at = joint[corner]
        blends = blends_of(
            shape.exit[at],
            shape.entry[at + 1],
            joins.turn[at],
            limits.blend_share * np.minimum(long[corner], long[corner + 1]),
            np.minimum(caps.speed[corner], caps.speed[corner + 1]),
            limits,
        )
        corner, halted = corner[blends.radius > 0.0], corner[blends.radius == 0.0]
    else:
        corner, halted = corner[:0], corner
    stops[halted] = True
    caps = _slackened(caps, halted, stretch[ends], limits)
    inner = np.where(stops, 0.0, np.inf)
    chain = laid_out(
        rows, length, stretch, (caps, long), corner, inner=inner,
        blends=None if blends is None else blends.take(blends.radius > 0.0),
    )  # fmt: skip
    if limits.look_ahead_moves is not None:
        chain = _foreseen(chain, len(rows), limits.look_ahead_moves)
    return chain


def _slackened(caps: Caps, halted: IntArray, last: IntArray, limits: MotionLimits) -> Caps:
    """Return the caps with the shares of stretches beside a stopped corner and of last ones."""
    share = np.ones(len(caps.speed))
    share[halted] = share[halted + 1] = limits.corner_share
    if limits.path_mode == "continuous":
        share[last] *= limits.last_move_share
    return Caps(caps.speed, share * caps.acceleration, caps.jerk)


def _foreseen(chain: Chain, rows: int, ahead: int) -> Chain:
    """Return the chain with speeds from which the tool can stop within the moves it knows.

    Where a move begins, v² is at most the sum of 2aL over it and the next ones, as many as
    the controller knows.
    """
    # Braking over the moves known in advance takes v² ≤ Σ 2 a s of them.
    rise = 2.0 * chain.caps.acceleration[chain.segment] * chain.length
    each = np.bincount(chain.row, weights=rise, minlength=rows).astype(np.float64)
    bound = np.sqrt(window_sums(each, ahead)[1:])
    # The first piece of each move: it begins at a join, or within a blend.
    begins = np.flatnonzero(chain.row[1:] != chain.row[:-1]) + 1
    before, behind = chain.segment[begins - 1], chain.segment[begins]
    vertex, speed = chain.vertex_speed.copy(), chain.caps.speed.copy()
    apart = before != behind
    np.minimum.at(vertex, behind[apart], bound[apart])
    np.minimum.at(speed, behind[~apart], bound[~apart])
    return chain.bounded(speed, vertex)


def _merged(
    shape: Shape,
    joins: _Joins,
    feed: FloatArray,
    caps: Caps,
    length: FloatArray,
    limits: MotionLimits,
) -> tuple[Caps, BoolArray]:
    """Return the caps under block time, and which moves go on from the one before."""
    merge = ~joins.rest & _same_course(shape, joins.turn) & (feed[:-1] == feed[1:])
    if limits.block_time_s > 0.0:
        # A controller that takes so long for a block runs a short move no faster than a block each.
        slow = length / limits.block_time_s
        free = slow >= caps.speed
        merge &= free[:-1] & free[1:]
        caps = Caps(np.minimum(caps.speed, slow), caps.acceleration, caps.jerk)
    if limits.look_ahead_moves is not None and merge.any():
        # Joins at which the look-ahead may bind stay joins; the least that the shares of
        # arcs, corners and last moves leave of the acceleration is allowed for.
        least = min(limits.corner_share * limits.last_move_share, *(limits.arc_shares or (0.5,)))
        rise = 2.0 * least * caps.acceleration * length
        known = window_sums(rise, limits.look_ahead_moves)[1:]
        merge &= known >= np.square(np.maximum(caps.speed[:-1], caps.speed[1:]))
    return caps, merge


def _infeasible(moves: Moves, row: int, what: str, remedy: str) -> MotionInfeasible:
    x, y = (float(v) for v in moves.start[row, :2])
    known = bool(np.isfinite([x, y]).all())
    where = Where(x_mm=x, y_mm=y) if known else Where()
    return MotionInfeasible(f"move {row} {what}.", where=where, remedy=remedy)


def _check(moves: Moves) -> None:
    """Refuse numbers that are none."""
    finite = np.isfinite(moves.start).all(axis=1) & np.isfinite(moves.end).all(axis=1)
    finite &= np.isfinite(moves.bulge)
    sized = np.isfinite(moves.length) & (moves.length >= 0.0)
    for good, what in (
        (finite, "has a coordinate or bulge that is not a finite number"),
        (sized, "has a length that is not 0 or a finite value above"),
    ):
        if not good.all():
            raise _infeasible(moves, int(np.argmin(good)), what, "Check the tool path.")


def _check_moving(moves: Moves, rows: IntArray) -> None:
    """Refuse moves with a length but without direction or speed."""
    feed = moves.feed[rows]
    runs = feed > 0.0
    if not runs.all():
        k = int(np.argmin(runs))
        what = f"has the feed {feed[k]:g} mm/s; allowed is any value above 0"
        raise _infeasible(moves, int(rows[k]), what, "Give the step a positive feed.")
    still = (moves.start[rows] == moves.end[rows]).all(axis=1)
    if still.any():
        row = int(rows[np.argmax(still)])
        what = f"has the length {moves.length[row]:g} mm but ends where it starts"
        raise _infeasible(moves, row, what, "Divide a full turn into two arcs.")


def _rests(moves: Moves, rows: IntArray, limits: MotionLimits) -> BoolArray:
    """Return whether the tool stands still between each row with length and the next."""
    if len(rows) < 2:
        return np.zeros(0, dtype=np.bool_)
    if limits.path_mode == "exact-stop":
        return np.ones(len(rows) - 1, dtype=np.bool_)
    stop = moves.exact_stop | (moves.dwell > 0.0)
    gap = np.abs(moves.end[:-1] - moves.start[1:]).max(axis=1) > COINCIDENT_MM
    stop[:-1] |= gap
    # Rows without length in between may carry the stop.
    rest: BoolArray = np.logical_or.reduceat(stop, rows)[:-1]
    if limits.stop_at_rapids:
        rapid = np.isinf(moves.feed[rows])
        rest |= rapid[:-1] != rapid[1:]
    return rest


def _program_ends(moves: Moves, rows: IntArray) -> BoolArray:
    """Return which rows with length are the last before the program ends or waits.

    The stay of each tool ends a program, since the exchange waits for the axes.
    """
    wait = moves.dwell > 0.0
    wait[:-1] |= moves.visit[:-1] != moves.visit[1:]
    wait[-1] = True
    return np.asarray(np.logical_or.reduceat(wait, rows))


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


def _joined(caps: Caps, length: FloatArray, first: IntArray) -> tuple[Caps, FloatArray]:
    """Return the bounds and lengths of the stretches that begin at the rows."""
    if len(first) == len(length):
        return caps, length
    least = np.minimum.reduceat
    return (
        Caps(least(caps.speed, first), least(caps.acceleration, first), least(caps.jerk, first)),
        np.add.reduceat(length, first),
    )
