"""Planned stretches: their state at any time, and their time divided among their moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgetime.motion._arrays import FloatArray, IntArray
from edgetime.motion.ramps import Ramp, State, ramp_between


@dataclass(frozen=True, eq=False)
class Parts:
    """The r moves of the stretches.

    Attributes
    ----------
    time : (r,) array
        [s].
    begin_s, begin_mm : (r,) array
        Where in its stretch each move begins [s, mm].
    entry, peak, leave : (r,) array
        Speed at the start, the highest and that at the end [mm/s].
    """

    time: FloatArray
    begin_s: FloatArray
    begin_mm: FloatArray
    entry: FloatArray
    peak: FloatArray
    leave: FloatArray


@dataclass(frozen=True, eq=False)
class Stretches:
    """m planned segments: a ramp from v0 up to the peak, a cruise, a ramp down to v1.

    Attributes
    ----------
    v0, v1, peak : (m,) array
        Speed at the start, at the end and between [mm/s].
    acceleration, jerk : (m,) array
        Along the path [mm/s², mm/s³].
    length, time : (m,) array
        [mm, s].
    """

    v0: FloatArray
    v1: FloatArray
    peak: FloatArray
    acceleration: FloatArray
    jerk: FloatArray
    length: FloatArray
    time: FloatArray

    def ramps(self, rows: IntArray) -> tuple[Ramp, Ramp]:
        """Return the ramps up of some stretches, and those down, run backward."""
        top, a, j = self.peak[rows], self.acceleration[rows], self.jerk[rows]
        return ramp_between(self.v0[rows], top, a, j), ramp_between(self.v1[rows], top, a, j)

    def bends(self, stretch: int) -> FloatArray:
        """Return the moments at which the jerk or acceleration of a stretch jumps [s]."""
        up, down = self.ramps(np.array([stretch]))
        rising = np.cumsum([up.outer[0], up.middle[0], up.outer[0]])
        falling = np.cumsum([down.outer[0], down.middle[0], down.outer[0]])
        return np.concatenate([rising, self.time[stretch] - falling])

    def state(self, rows: IntArray, time: FloatArray) -> State:
        """Return the state at one time after the start of each of some stretches.

        Parameters
        ----------
        rows : (k,) integer array
            Stretches.
        time : (k,) array
            [s].
        """
        up, down = self.ramps(rows)
        total = self.time[rows]
        time = np.clip(time, 0.0, total)
        left = total - time
        rising = time < up.time
        falling = ~rising & (left < down.time)
        one = up.state(np.minimum(time, up.time))
        two = down.state(np.minimum(left, down.time))
        peak = self.peak[rows]
        return State(
            np.where(
                rising,
                one.place,
                np.where(
                    falling,
                    self.length[rows] - two.place,
                    np.minimum(up.length + peak * (time - up.time), self.length[rows]),
                ),
            ),
            np.where(rising, one.speed, np.where(falling, two.speed, peak)),
            np.where(rising, one.acceleration, np.where(falling, -two.acceleration, 0.0)),
            np.where(rising, one.jerk, np.where(falling, two.jerk, 0.0)),
        )

    def divide(self, stretch: IntArray, length: FloatArray) -> Parts:
        """Divide the times of the stretches among their moves, by the profile itself.

        Parameters
        ----------
        stretch : (r,) integer array
            Stretch of each move, ascending.
        length : (r,) array
            Lengths of the moves [mm].
        """
        zero = np.zeros(len(stretch))
        parts = Parts(
            self.time[stretch],
            zero,
            zero.copy(),
            self.v0[stretch],
            self.peak[stretch],
            self.v1[stretch],
        )
        inner = np.flatnonzero(stretch[:-1] == stretch[1:])
        if len(inner):
            self._divide(stretch, length, inner, parts)
        return parts

    def _divide(self, stretch: IntArray, length: FloatArray, inner: IntArray, parts: Parts) -> None:
        """Fill in the moves of stretches that have several; ``inner`` are followed by another.

        Places and times are kept from both ends of a stretch and the nearer end is used, so
        that tiny moves behind a huge one keep their digits.
        """
        several = np.zeros(len(stretch), dtype=np.bool_)
        several[inner] = several[inner + 1] = True
        many = np.flatnonzero(several)
        which, size = stretch[many], length[many]
        before = running_sums(which, size) - size
        after = (running_sums(which[::-1], size[::-1]) - size[::-1])[::-1]
        up, down = self.ramps(which)
        top, total = self.peak[which], self.time[which]

        def moments(fore: FloatArray, aft: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
            """Return time from the start, time to the end and speed at places."""
            since = up.time + np.maximum(fore - up.length, 0.0) / top
            until = down.time + np.maximum(aft - down.length, 0.0) / top
            speed = top.copy()
            k = np.flatnonzero(fore < up.length)
            part = up.take(k)
            since[k] = part.time_at(fore[k])
            until[k] = total[k] - since[k]
            speed[k] = part.state(since[k]).speed
            k = np.flatnonzero((aft < down.length) & ~(fore < up.length))
            part = down.take(k)
            until[k] = part.time_at(aft[k])
            since[k] = total[k] - until[k]
            speed[k] = part.state(until[k]).speed
            return since, until, speed

        begin_since, begin_until, entry = moments(before, after + size)
        end_since, end_until, leave = moments(before + size, after)
        # Moments near an end are exact when counted from that end: the difference is taken on the
        # side where fewer digits cancel.
        early = end_since <= begin_until
        spent = np.where(early, end_since - begin_since, begin_until - end_until)
        parts.time[many] = np.maximum(spent, 0.0)
        parts.begin_s[many] = begin_since
        parts.begin_mm[many] = before
        parts.entry[many] = entry
        parts.leave[many] = leave
        crest = (before + size >= up.length) & (after + size >= down.length)
        parts.peak[many] = np.where(crest, top, np.maximum(entry, leave))


def running_sums(group: IntArray, value: FloatArray) -> FloatArray:
    """Return running sums within runs of equal group, by doubling steps.

    No sum reaches beyond its run, so a huge run does not blur the next.

    Parameters
    ----------
    group : (n,) integer array
        Equal within a run.
    value : (n,) array
        What is summed.

    Returns
    -------
    (n,) array
        Each with the values of its run up to and including its own.
    """
    total = value.copy()
    width = 1
    while width < len(value):
        same = group[width:] == group[:-width]
        if not same.any():
            break
        total[width:] += np.where(same, total[:-width], 0.0)
        width *= 2
    return total
