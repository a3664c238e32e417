"""Limits refuse what makes no sense, with the value found and the range allowed."""

import re
from dataclasses import FrozenInstanceError
from math import inf, nan

import pytest

from edgetime.errors import UsageError
from edgetime.motion import MotionLimits

GOOD = {
    "axis_speed_mm_per_s": (500.0, 500.0, 200.0),
    "axis_acceleration_mm_per_s2": (1000.0, 1000.0, 500.0),
}


def test_limits_keep_their_values_as_floats():
    """Whole numbers and lists are taken and kept as tuples of floats."""
    limits = MotionLimits(
        axis_speed_mm_per_s=[500, 400, 300],
        axis_acceleration_mm_per_s2=[1, 2, 3],
        centripetal_acceleration_mm_per_s2=7,
    )
    assert limits.axis_speed_mm_per_s == (500.0, 400.0, 300.0)
    assert limits.axis_jerk_mm_per_s3 == (inf, inf, inf)
    assert isinstance(limits.centripetal_acceleration_mm_per_s2, float)


def test_limits_are_frozen():
    """Limits do not change once made."""
    with pytest.raises(FrozenInstanceError):
        MotionLimits(**GOOD).block_time_s = 1.0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"axis_speed_mm_per_s": (500.0, -1.0, 1.0)}, r"axis_speed_mm_per_s\[Y\] is -1; .*above 0"),
        ({"axis_speed_mm_per_s": (500.0, 1.0)}, "three numbers are needed"),
        ({"axis_speed_mm_per_s": 500.0}, "three numbers are needed"),
        ({"axis_speed_mm_per_s": "123"}, "three numbers are needed"),
        ({"axis_jerk_mm_per_s3": (1.0, 1.0, nan)}, r"jerk_mm_per_s3\[Z\] is nan; a number"),
        ({"axis_acceleration_mm_per_s2": (1.0, "2", 1.0)}, "is '2'; a number"),
        ({"centripetal_acceleration_mm_per_s2": 0.0}, "is 0; allowed is any value above 0"),
        ({"path_acceleration_mm_per_s2": True}, "is True; a number"),
        ({"corner_tolerance_mm": -0.1}, "is -0.1; allowed is 0 or any finite value"),
        ({"block_time_s": inf}, "is inf; allowed is 0 or any finite value"),
        ({"path_mode": "G64"}, "is 'G64'; allowed are exact-path, exact-stop and continuous"),
        ({"corner": "round"}, "is 'round'; allowed are exact-stop and blend"),
        ({"blend_share": 0.6}, "is 0.6; allowed is any value above 0 and at most 0.5"),
        ({"corner_share": 0.0}, "is 0; allowed is any value above 0 and at most 1"),
        ({"last_move_share": 1.1}, "is 1.1; allowed is any value above 0 and at most 1"),
        ({"look_ahead_moves": 0}, "is 0; allowed is a whole number from 1"),
        ({"look_ahead_moves": 2.5}, "is 2.5; allowed is a whole number from 1"),
        ({"arc_shares": (0.8, 0.7)}, "sum of their squares is 1.13"),
        ({"arc_shares": (0.5,)}, "two shares are needed"),
        ({"axis_acceleration_mm_per_s2": (inf, 1.0, 1.0)}, "nothing limits the acceleration"),
    ],
)
def test_limits_refuse_nonsense(change, says):
    """Each wrong value is named with what is allowed and where it stands."""
    with pytest.raises(UsageError) as caught:
        MotionLimits(**(GOOD | change))
    assert re.search(says, caught.value.what)
    assert caught.value.where.key is not None
    assert caught.value.remedy


def test_axes_may_be_free_when_the_path_is_limited():
    """An infinite axis acceleration is allowed beside a finite path acceleration."""
    limits = MotionLimits(
        axis_speed_mm_per_s=(inf, inf, inf),
        axis_acceleration_mm_per_s2=(inf, inf, inf),
        path_acceleration_mm_per_s2=500.0,
    )
    assert limits.path_acceleration_mm_per_s2 == 500.0


@pytest.mark.parametrize(("old", "mode"), [("exact-stop", "exact-path"), ("blend", "continuous")])
def test_the_old_corner_is_taken_as_a_path_mode(old, mode):
    """The old word keeps its meaning, and does not stay to contradict a later change."""
    limits = MotionLimits(**GOOD, corner=old)
    assert (limits.path_mode, limits.corner) == (mode, None)
