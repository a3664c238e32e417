"""Rapids have traverse speeds of their own."""

import numpy as np
import pytest

from edgetime.errors import UsageError
from edgetime.motion import MotionLimits, compute_motion
from edgetime.moves import MoveKind, Moves

_AXES = {
    "axis_speed_mm_per_s": (100.0, 100.0, 50.0),
    "axis_acceleration_mm_per_s2": (1000.0, 1000.0, 1000.0),
}


def _trapezoid_s(length: float, speed: float, acceleration: float) -> float:
    """From rest to rest: T = L/v + v/a."""
    return length / speed + speed / acceleration


def test_rapid_runs_at_traverse_speed_and_feed_does_not():
    """A rapid takes the traverse speed, a feed move the lower axis speed."""
    limits = MotionLimits(**_AXES, rapid_speed_mm_per_s=(400.0, 400.0, 200.0))
    rapid = Moves.simple([[0, 0, 0], [1000, 0, 0]], feed=np.inf, kind=MoveKind.RAPID)
    feed = Moves.simple([[0, 0, 0], [1000, 0, 0]], feed=350.0)
    assert compute_motion(rapid, limits).seconds[0] == pytest.approx(
        _trapezoid_s(1000.0, 400.0, 1000.0), rel=1e-12
    )
    assert compute_motion(feed, limits).seconds[0] == pytest.approx(
        _trapezoid_s(1000.0, 100.0, 1000.0), rel=1e-12
    )


def test_without_traverse_speed_rapids_take_the_axis_speed():
    """None stands for the axis speeds."""
    rapid = Moves.simple([[0, 0, 0], [0, 0, 100]], feed=np.inf, kind=MoveKind.RAPID)
    assert compute_motion(rapid, MotionLimits(**_AXES)).seconds[0] == pytest.approx(
        _trapezoid_s(100.0, 50.0, 1000.0), rel=1e-12
    )


def test_traverse_speed_is_checked():
    """A speed of zero is refused with its key."""
    with pytest.raises(UsageError) as error:
        MotionLimits(**_AXES, rapid_speed_mm_per_s=(400.0, 0.0, 200.0))
    assert error.value.where.key == "rapid_speed_mm_per_s[Y]"
