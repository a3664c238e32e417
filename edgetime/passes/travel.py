"""Seconds of a rapid from one place to another, at which a tour is measured.

A rapid runs straight and from rest to rest, under the least of what its axes allow: the closed
forms of the double-S profile (Biagiotti & Melchiorri, *Trajectory Planning for Automatic
Machines and Robots*, 2008, section 3.4).
"""

from __future__ import annotations

import numpy as np

from edgetime.geometry.path import FloatArray
from edgetime.tooling import Machine


class RapidClock:
    """The rapids of a machine at safe height.

    Parameters
    ----------
    machine : Machine
        With its limits in X and Y.
    """

    def __init__(self, machine: Machine) -> None:
        self._speed = np.array(machine.rapid_mm_per_s[:2])
        self._acceleration = np.array(machine.axis_acceleration_mm_per_s2[:2])
        self._jerk = np.array(machine.axis_jerk_mm_per_s3[:2])
        self._path = machine.path_acceleration_mm_per_s2

    def __call__(self, start: FloatArray, end: FloatArray) -> FloatArray:
        """Return the time of each rapid.

        Parameters
        ----------
        start, end : (..., 2) arrays
            Places [mm]; shapes that broadcast.

        Returns
        -------
        (...) array
            [s].
        """
        dx, dy = np.moveaxis(np.abs(end - start), -1, 0)
        way = np.hypot(dx, dy)
        far = np.where(way > 0.0, way, 1.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            # An axis that takes the share u of the way allows limit / u along it.
            ux, uy = far / dx, far / dy
            v, a, j = (
                np.minimum(limit[0] * ux, limit[1] * uy)
                for limit in (self._speed, self._acceleration, self._jerk)
            )
            a = np.minimum(a, self._path)
            lag = a / j
            full = way / v + v / a + lag
            sharp = way / v + 2.0 * np.sqrt(v / j)
            short = 4.0 * np.cbrt(0.5 * way / j)
            middle = lag + np.sqrt(lag * lag + 4.0 * way / a)
            whole = v * j >= a * a
            # From long ways to short: at full speed, at full acceleration, or limited by the jerk
            # alone.
            quick = np.where(way >= 2.0 * a * lag * lag, middle, short)
            quick = np.where(whole, quick, short)
            out = np.where(
                whole,
                np.where(way >= v * (v / a + lag), full, quick),
                np.where(way >= 2.0 * v * np.sqrt(v / j), sharp, short),
            )
        return np.asarray(np.where(way > 0.0, out, 0.0))
