"""Seconds of each move under the limits of a machine and its controller."""

from __future__ import annotations

from edgetime.motion.limits import MotionLimits
from edgetime.motion.timing import MotionSamples, MotionTimes, compute_motion

__all__ = ["MotionLimits", "MotionSamples", "MotionTimes", "compute_motion"]
