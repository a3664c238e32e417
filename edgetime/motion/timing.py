"""Seconds of each move, as a controller runs the table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from edgetime.errors import UsageError
from edgetime.motion import lookahead, scurve
from edgetime.motion._arrays import FloatArray, IntArray
from edgetime.motion.chains import Chain, chain_of
from edgetime.motion.limits import MotionLimits
from edgetime.motion.stretches import Stretches
from edgetime.moves import NO_INDEX, Moves

__all__ = ["MotionSamples", "MotionTimes", "compute_motion"]


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
        Length run along that move [mm].
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
class MotionTimes:
    """Times and speeds of n moves, without dwells.

    Attributes
    ----------
    seconds : (n,) array
        Time in motion [s]; 0 for a move without length.
    entry_speed, peak_speed, exit_speed : (n,) array
        Speed at the start, the highest and that at the end of each move [mm/s].
    """

    seconds: FloatArray
    entry_speed: FloatArray
    peak_speed: FloatArray
    exit_speed: FloatArray
    _stretches: Stretches
    _stretch: IntArray
    _begin_s: FloatArray
    _begin_mm: FloatArray

    @property
    def total_s(self) -> float:
        """Time in motion of the whole table [s]."""
        return float(self.seconds.sum())

    @cached_property
    def _clock(self) -> FloatArray:
        return np.concatenate([[0.0], np.cumsum(self.seconds)])

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
        moving = np.flatnonzero(self._stretch != NO_INDEX)
        end = self._clock[-1]
        if not len(moving) or not ((time >= 0.0) & (time <= end)).all():
            raise UsageError(
                f"moments from {time.min():g} to {time.max():g} s were asked for; "
                f"the motion runs from 0 to {end:g} s.",
                remedy="Ask for moments within it.",
            )
        starts = self._clock[moving]
        row = moving[np.clip(np.searchsorted(starts, time, side="right") - 1, 0, None)]
        return self._at(row, time - self._clock[row], time)

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
        stretch = int(self._stretch[row])
        if stretch == NO_INDEX:
            none = np.zeros(0)
            return MotionSamples(none, np.zeros(0, dtype=np.int64), none, none, none, none)
        length = float(self.seconds[row])
        bends = self._stretches.bends(stretch) - self._begin_s[row]
        bends = bends[(bends > 0.0) & (bends < length)]
        time = np.unique(np.concatenate([np.linspace(0.0, length, points), bends]))
        return self._at(np.full(len(time), row), time, time)

    def _at(self, row: IntArray, since: FloatArray, time: FloatArray) -> MotionSamples:
        state = self._stretches.state(self._stretch[row], self._begin_s[row] + since)
        place = np.maximum(state.place - self._begin_mm[row], 0.0)
        return MotionSamples(time, row, place, state.speed, state.acceleration, state.jerk)


def compute_motion(moves: Moves, limits: MotionLimits) -> MotionTimes:
    """Compute the seconds of each move as a controller with look-ahead runs them.

    The tool rests at both ends of the table, at exact stops and dwells, where a move does not
    start at the end of the one before, and in corners that are not blended. In between the
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
    seconds, entry, peak, leave, begin_s, begin_mm = (np.zeros(n) for _ in range(6))
    stretch = np.full(n, NO_INDEX, dtype=np.int64)
    rows = chain.rows
    if len(rows):
        parts = stretches.divide(chain.stretch, moves.length[rows])
        stretch[rows] = chain.stretch
        seconds[rows], begin_s[rows], begin_mm[rows] = parts.time, parts.begin_s, parts.begin_mm
        entry[rows], peak[rows], leave[rows] = parts.entry, parts.peak, parts.leave
        if len(rows) < n:
            _pass_through(rows, entry, peak, leave)
    return MotionTimes(
        seconds=seconds,
        entry_speed=entry,
        peak_speed=peak,
        exit_speed=leave,
        _stretches=stretches,
        _stretch=stretch,
        _begin_s=begin_s,
        _begin_mm=begin_mm,
    )


def _planned(chain: Chain) -> Stretches:
    """Plan the speeds at the vertices and the times of the stretches."""
    caps = (chain.speed, chain.acceleration)
    if np.isinf(chain.jerk).all():
        u = lookahead.vertex_squares(chain.vertex_speed, *caps, chain.length)
        time, peak = lookahead.segment_times(u[:-1], u[1:], *caps, chain.length)
        v = np.sqrt(u)
    else:
        v = scurve.vertex_speeds(chain.vertex_speed, *caps, chain.jerk, chain.length)
        time, peak = scurve.segment_times(v[:-1], v[1:], *caps, chain.jerk, chain.length)
    return Stretches(
        v0=v[:-1],
        v1=v[1:],
        peak=peak,
        acceleration=chain.acceleration,
        jerk=chain.jerk,
        length=chain.length,
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
