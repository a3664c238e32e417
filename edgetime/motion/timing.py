"""Seconds of each move, as a controller runs the table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from edgetime.errors import UsageError
from edgetime.motion import lookahead, scurve
from edgetime.motion._arrays import FloatArray, IntArray
from edgetime.motion.chains import chain_of
from edgetime.motion.limits import MotionLimits
from edgetime.motion.segments import Chain
from edgetime.motion.stretches import Parts, Stretches, running_sums
from edgetime.moves import Moves


@dataclass(frozen=True, eq=False)
class MotionSamples:
    """State of the tool at m moments.

    Attributes
    ----------
    time : (m,) array
        Moments; of a whole table from its start, of one move from the start of the move [s].
    row : (m,) integer array
        Move under way.
    place : (m,) array
        How far along that move as programmed [mm]; a blend counts as the length it rounds off.
    speed, acceleration, jerk : (m,) array
        Along the path [mm/s, mm/s², mm/s³]. Without a jerk limit the acceleration jumps and
        the jerk is given as 0.
    """

    time: FloatArray
    row: IntArray
    place: FloatArray
    speed: FloatArray
    acceleration: FloatArray
    jerk: FloatArray


@dataclass(frozen=True, eq=False)
class _Pieces:
    """p pieces of moves on segments.

    Attributes
    ----------
    row, segment : (p,) integer array
        Move and segment of each piece, both ascending.
    time : (p,) array
        [s].
    begin_s, begin_mm : (p,) array
        Where in its segment it begins [s, mm].
    place, scale : (p,) array
        Where along its move it begins [mm], and the programmed length of a mm run [-].
    """

    row: IntArray
    segment: IntArray
    time: FloatArray
    begin_s: FloatArray
    begin_mm: FloatArray
    place: FloatArray
    scale: FloatArray


@dataclass(frozen=True, eq=False)
class MotionTimes:
    """Times and speeds of n moves, without dwells.

    Attributes
    ----------
    seconds : (n,) array
        Time in motion [s]; 0 for a move without length.
    entry_speed, peak_speed, exit_speed : (n,) array
        Speed at the start, the highest and that at the end of each move [mm/s].
    rounded_mm : (n,) array
        What blends take off the length of each move [mm].
    """

    seconds: FloatArray
    entry_speed: FloatArray
    peak_speed: FloatArray
    exit_speed: FloatArray
    rounded_mm: FloatArray
    _stretches: Stretches
    _pieces: _Pieces

    @property
    def total_s(self) -> float:
        """Time in motion of the whole table [s]."""
        return float(self.seconds.sum())

    @cached_property
    def _clock(self) -> FloatArray:
        return np.concatenate([[0.0], np.cumsum(self._pieces.time)])

    def sample(self, times_s: object) -> MotionSamples:
        """Return the state of the tool at moments after the start of the table.

        Parameters
        ----------
        times_s : (m,) array_like
            Moments in the time in motion, dwells left out, from 0 to ``total_s`` [s].

        Returns
        -------
        MotionSamples

        Raises
        ------
        UsageError
            If a moment lies outside the table or nothing moves.
        """
        time = np.atleast_1d(np.asarray(times_s, dtype=np.float64))
        end = self._clock[-1]
        if not len(self._pieces.time) or not ((time >= 0.0) & (time <= end)).all():
            raise UsageError(
                f"moments from {time.min():g} to {time.max():g} s were asked for; "
                f"the motion runs from 0 to {end:g} s.",
                remedy="Ask for moments within it.",
            )
        piece = np.clip(np.searchsorted(self._clock[:-1], time, side="right") - 1, 0, None)
        return self._at(piece, time - self._clock[piece], time)

    def profile(self, row: int, *, points: int = 101) -> MotionSamples:
        """Return the state of the tool along one move, evenly in time with its bends.

        Parameters
        ----------
        row : int
            The move.
        points : int
            Number of even moments; those where the jerk changes are added.

        Returns
        -------
        MotionSamples
            Without rows for a move without length.

        Raises
        ------
        UsageError
            If there is no such move or fewer than two points are asked for.
        """
        n = len(self.seconds)
        if not 0 <= row < n or points < 2:
            raise UsageError(
                f"move {row} with {points} points was asked for; there are moves 0 to {n - 1}, "
                "and at least 2 points are needed.",
                remedy="Ask for one of them.",
            )
        first, last = np.searchsorted(self._pieces.row, [row, row + 1])
        if first == last:
            none = np.zeros(0)
            return MotionSamples(none, np.zeros(0, dtype=np.int64), none, none, none, none)
        begins = self._clock[first : last + 1] - self._clock[first]
        moments = [np.linspace(0.0, begins[-1], points), begins]
        for piece, begin, end in zip(range(first, last), begins[:-1], begins[1:], strict=True):
            bends = self._stretches.bends(int(self._pieces.segment[piece]))
            bends += begin - self._pieces.begin_s[piece]
            moments.append(bends[(bends > begin) & (bends < end)])
        time = np.unique(np.concatenate(moments))
        which = np.clip(np.searchsorted(begins, time, side="right") - 1, 0, last - first - 1)
        return self._at(first + which, time - begins[which], time)

    def _at(self, piece: IntArray, since: FloatArray, time: FloatArray) -> MotionSamples:
        own = self._pieces
        state = self._stretches.state(own.segment[piece], own.begin_s[piece] + since)
        into = np.maximum(state.place - own.begin_mm[piece], 0.0)
        place = own.place[piece] + own.scale[piece] * into
        return MotionSamples(
            time, own.row[piece], place, state.speed, state.acceleration, state.jerk
        )


def compute_motion(moves: Moves, limits: MotionLimits) -> MotionTimes:
    """Compute the seconds of each move as a controller with look-ahead runs them.

    The tool rests at both ends of the table, at exact stops and dwells, where a move does not
    start at the end of the one before, and where the path mode has it rest. In between the
    speed is the highest that every limit allows. Dwells are not in the times. The model is
    explained in ``docs/explanation/motion.md``.

    Parameters
    ----------
    moves : Moves
        n moves in running order.
    limits : MotionLimits
        What the machine allows.

    Returns
    -------
    MotionTimes

    Raises
    ------
    MotionInfeasible
        If a move has a coordinate, length or feed that admits no motion.
    """
    chain = chain_of(moves, limits)
    stretches = _planned(chain)
    n = len(moves)
    seconds, entry, peak, leave, rounded = (np.zeros(n) for _ in range(5))
    parts = stretches.divide(chain.segment, chain.length)
    rows, pieces = chain.rows, _pieces_of(chain, parts)
    if len(rows):
        first = np.flatnonzero(np.diff(chain.row, prepend=-1))
        if len(first) == len(chain.row):
            seconds[rows], peak[rows] = parts.time, parts.peak
        else:
            seconds[rows] = np.add.reduceat(parts.time, first)
            peak[rows] = np.maximum.reduceat(parts.peak, first)
            rounded[rows] = np.add.reduceat(chain.programmed - chain.length, first)
        entry[rows], leave[rows] = parts.entry[first], parts.leave[np.append(first[1:], 0) - 1]
        if len(rows) < n:
            _pass_through(rows, entry, peak, leave)
    return MotionTimes(
        seconds=seconds,
        entry_speed=entry,
        peak_speed=peak,
        exit_speed=leave,
        rounded_mm=rounded,
        _stretches=stretches,
        _pieces=pieces,
    )


def _pieces_of(chain: Chain, parts: Parts) -> _Pieces:
    """Say where each piece lies in its segment and in its move."""
    if chain.programmed is chain.length:
        place, scale = np.zeros(len(chain.row)), np.ones(len(chain.row))
    else:
        place = running_sums(chain.row, chain.programmed) - chain.programmed
        scale = chain.programmed / chain.length
    return _Pieces(
        row=chain.rows[chain.row],
        segment=chain.segment,
        time=parts.time,
        begin_s=parts.begin_s,
        begin_mm=parts.begin_mm,
        place=place,
        scale=scale,
    )


def _planned(chain: Chain) -> Stretches:
    """Plan the speeds at the vertices and the times of the stretches."""
    jerk, span = chain.caps.jerk, chain.span
    caps = (chain.caps.speed, chain.caps.acceleration)
    # Without a jerk limit the scans are exact in v², and several times quicker.
    if np.isinf(jerk).all():
        u = lookahead.vertex_squares(chain.vertex_speed, *caps, span)
        time, peak = lookahead.segment_times(u[:-1], u[1:], *caps, span)
        v = np.sqrt(u)
    else:
        v = scurve.vertex_speeds(chain.vertex_speed, *caps, jerk, span)
        time, peak = scurve.segment_times(v[:-1], v[1:], *caps, jerk, span)
    return Stretches(
        v0=v[:-1],
        v1=v[1:],
        peak=peak,
        acceleration=chain.caps.acceleration,
        jerk=jerk,
        length=span,
        time=time,
    )


def _pass_through(rows: IntArray, entry: FloatArray, peak: FloatArray, leave: FloatArray) -> None:
    """Give moves without length the speed at which their place is passed."""
    still = np.ones(len(entry), dtype=np.bool_)
    still[rows] = False
    k = np.flatnonzero(still)
    before = np.searchsorted(rows, k) - 1
    speed = np.where(before >= 0, leave[rows[np.maximum(before, 0)]], 0.0)
    entry[k] = peak[k] = leave[k] = speed
