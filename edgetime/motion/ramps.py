"""Place, speed, acceleration and jerk inside one change of speed, by time or by place.

A ramp rises from v0 to v1 ≥ v0 in up to three phases of constant jerk +J, 0, -J. All
inverses are closed forms: a quadratic for the middle phase and depressed cubics for the
outer ones (Cardano, in its hyperbolic and its trigonometric form).
A slowing is the same ramp run backward: time and place count from its end, the acceleration
changes its sign and the jerk keeps it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from edgetime.columns import Columns
from edgetime.motion._arrays import FloatArray
from edgetime.motion.scurve import cubic_root


@dataclass(frozen=True, eq=False)
class State:
    """Place [mm], speed [mm/s], acceleration [mm/s²] and jerk [mm/s³] at m moments."""

    place: FloatArray
    speed: FloatArray
    acceleration: FloatArray
    jerk: FloatArray


@dataclass(frozen=True, eq=False)
class Ramp(Columns):
    """n changes of speed.

    Attributes
    ----------
    v0, v1 : (n,) array
        Speed before and after, v1 ≥ v0 [mm/s].
    peak : (n,) array
        Highest acceleration reached [mm/s²].
    jerk : (n,) array
        Jerk of the outer phases [mm/s³]; ``inf`` for none.
    outer, middle : (n,) array
        Durations of each outer phase and of the middle one [s].
    length : (n,) array
        Length of the whole ramp [mm].
    """

    v0: FloatArray
    v1: FloatArray
    peak: FloatArray
    jerk: FloatArray
    outer: FloatArray
    middle: FloatArray
    length: FloatArray

    @property
    def time(self) -> FloatArray:
        """Duration of the whole ramp [s]."""
        return np.asarray(2.0 * self.outer + self.middle)

    def state(self, time: FloatArray) -> State:
        """Return the state at one time after the start of each ramp.

        Parameters
        ----------
        time : (n,) array
            Within the duration of each ramp [s].
        """
        jerk = np.where(self.outer > 0.0, np.where(np.isfinite(self.jerk), self.jerk, 0.0), 0.0)
        first, last = time < self.outer, time > self.outer + self.middle
        late = np.maximum(self.time - time, 0.0)
        mid = time - self.outer
        v_mid = self.v0 + 0.5 * self.peak * self.outer
        s_mid = (self.v0 + self.peak * self.outer / 6.0) * self.outer
        return State(
            np.where(
                first,
                (self.v0 + jerk * time * time / 6.0) * time,
                np.where(
                    last,
                    self.length - (self.v1 - jerk * late * late / 6.0) * late,
                    s_mid + (v_mid + 0.5 * self.peak * mid) * mid,
                ),
            ),
            np.where(
                first,
                self.v0 + 0.5 * jerk * time * time,
                np.where(last, self.v1 - 0.5 * jerk * late * late, v_mid + self.peak * mid),
            ),
            np.where(first, jerk * time, np.where(last, jerk * late, self.peak)),
            np.where(first, jerk, np.where(last, -jerk, 0.0)),
        )

    def time_at(self, place: FloatArray) -> FloatArray:
        """Return the time after the start of each ramp at which a place is passed [s].

        Parameters
        ----------
        place : (n,) array
            Length from the start of each ramp, within it [mm].
        """
        v_mid = self.v0 + 0.5 * self.peak * self.outer
        s_mid = (self.v0 + self.peak * self.outer / 6.0) * self.outer
        s_late = s_mid + (v_mid + 0.5 * self.peak * self.middle) * self.middle
        into = np.maximum(place - s_mid, 0.0)
        root = np.sqrt(v_mid * v_mid + 2.0 * self.peak * into)
        time = self.outer + np.divide(
            2.0 * into, v_mid + root, out=np.zeros_like(into), where=into > 0.0
        )
        k = np.flatnonzero(place < s_mid)
        time[k] = _rising(self.v0[k], self.jerk[k], place[k])
        k = np.flatnonzero((place >= s_late) & (self.outer > 0.0))
        left = np.maximum(self.length[k] - place[k], 0.0)
        time[k] = self.time[k] - _falling(self.v1[k], self.jerk[k], left)
        return time


def ramp_between(
    v0: FloatArray, v1: FloatArray, acceleration: FloatArray, jerk: FloatArray
) -> Ramp:
    """Return the quickest ramps from v0 up to v1 ≥ v0.

    Parameters
    ----------
    v0, v1 : (n,) array
        [mm/s].
    acceleration, jerk : (n,) array
        Limits [mm/s², mm/s³].
    """
    change = np.maximum(v1 - v0, 0.0)
    lag = acceleration / jerk
    whole = change >= acceleration * lag
    outer = np.where(whole, lag, np.sqrt(change / jerk))
    middle = np.where(whole, change / acceleration - lag, 0.0)
    peak = np.where(whole, acceleration, np.sqrt(change * np.where(whole, 0.0, jerk)))
    length = 0.5 * (v0 + v1) * (2.0 * outer + middle)
    return Ramp(v0, v1, peak, jerk, outer, middle, length)


def _rising(v: FloatArray, jerk: FloatArray, place: FloatArray) -> FloatArray:
    """Solve v t + J t³/6 = place for the one real t."""
    p, q = 6.0 * v / jerk, 6.0 * place / jerk
    with np.errstate(over="ignore", invalid="ignore"):
        return cubic_root(p, q, 1e-12)


def _falling(v: FloatArray, jerk: FloatArray, left: FloatArray) -> FloatArray:
    """Solve v t - J t³/6 = left for the least t ≥ 0; v is the speed at the end of the ramp."""
    p, q = 6.0 * v / jerk, 6.0 * left / jerk
    third = np.sqrt(p / 3.0)
    sine = np.minimum(0.5 * q / third**3, 1.0)
    return np.asarray(2.0 * third * np.sin(np.arcsin(sine) / 3.0))
