"""Directions, curvature and what follows from them for speed and acceleration."""

from math import cos, inf, pi, radians, sin, sqrt, tan

import numpy as np
import pytest

from edgetime.motion import MotionLimits
from edgetime.motion.caps import caps_of, turning_load
from edgetime.motion.corners import blend_radius, blends_of
from edgetime.motion.shape import deflections, max_abs_sinusoid, shape_of

QUARTER = tan(pi / 8)


def one(start, end, bulge=0.0):
    return shape_of(np.array([start], float), np.array([end], float), np.array([bulge]))


def limits(**changes):
    free = {
        "axis_speed_mm_per_s": (inf, inf, inf),
        "axis_acceleration_mm_per_s2": (1e9, 1e9, 1e9),
    }
    return MotionLimits(**(free | changes))


def test_shape_of_a_quarter_circle():
    """A left quarter from (10, 0) to (0, 10) leaves along +Y, arrives along -X, radius 10."""
    shape = one((10, 0, 0), (0, 10, 0), QUARTER)
    assert shape.entry[0] == pytest.approx([0, 1, 0], abs=1e-15)
    assert shape.exit[0] == pytest.approx([-1, 0, 0], abs=1e-15)
    assert shape.radius[0] == pytest.approx(10.0, rel=1e-14)
    assert shape.sweep[0] == pytest.approx(pi / 2, rel=1e-14)


def test_shape_of_a_clockwise_half_circle():
    """A right half circle along X leaves along +Y and arrives along -Y."""
    shape = one((0, 0, 0), (20, 0, 0), -1.0)
    assert shape.entry[0] == pytest.approx([0, 1, 0], abs=1e-15)
    assert shape.exit[0] == pytest.approx([0, -1, 0], abs=1e-15)
    assert shape.radius[0] == pytest.approx(10.0)


def test_shape_of_a_helix_has_its_slope_everywhere():
    """On a helix both end directions carry the same share of Z: pitch over length."""
    flat, climb = 10.0 * pi / 2, 3.0
    shape = one((10, 0, 0), (0, 10, climb), QUARTER)
    length = sqrt(flat**2 + climb**2)
    assert shape.entry[0, 2] == pytest.approx(climb / length, rel=1e-14)
    assert shape.exit[0, 2] == pytest.approx(climb / length, rel=1e-14)
    assert shape.level[0] == pytest.approx(flat / length, rel=1e-14)


def test_a_vertical_move_with_a_bulge_is_straight():
    """Without a chord in XY there is no arc, whatever the bulge says."""
    shape = one((0, 0, 0), (0, 0, -5), 1.0)
    assert not shape.arc[0]
    assert shape.entry[0] == pytest.approx([0, 0, -1])


@pytest.mark.parametrize("angle", [0.0, 1e-9, 1e-4, 0.3, pi / 2, pi - 1e-9, pi])
def test_deflections_keep_small_and_flat_angles(angle):
    """The angle comes back to 1e-15 absolute, also next to 0 and π."""
    a, b = np.array([[1.0, 0.0, 0.0]]), np.array([[cos(angle), sin(angle), 0.0]])
    assert deflections(a, b)[0] == pytest.approx(angle, abs=1e-15)


def test_max_abs_sinusoid_against_a_dense_search():
    """The maximum agrees with 20,001 samples within their spacing squared."""
    rng = np.random.default_rng(7)
    p, q = rng.normal(size=200), rng.normal(size=200)
    sweep = rng.uniform(0.0, 7.0, 200)
    phi = sweep[:, None] * np.linspace(0.0, 1.0, 20001)
    dense = np.abs(p[:, None] * np.cos(phi) + q[:, None] * np.sin(phi)).max(axis=1)
    got = max_abs_sinusoid(p, q, sweep)
    assert (got >= dense - 1e-14).all()
    assert got == pytest.approx(dense, rel=1e-6)


def test_turning_load_against_a_dense_search():
    """The worst |t| + |n| agrees with 20,001 samples within their spacing."""
    rng = np.random.default_rng(8)
    p, q = rng.normal(size=200), rng.normal(size=200)
    sweep = rng.uniform(0.0, 7.0, 200)
    phi = sweep[:, None] * np.linspace(0.0, 1.0, 20001)
    along = p[:, None] * np.cos(phi) + q[:, None] * np.sin(phi)
    across = q[:, None] * np.cos(phi) - p[:, None] * np.sin(phi)
    dense = (np.abs(along) + np.abs(across)).max(axis=1)
    got = turning_load(p, q, sweep)
    assert (got >= dense - 1e-14).all()
    assert got == pytest.approx(dense, rel=1e-3)


def test_straight_speed_is_the_weakest_axis():
    """On a 3-4-0 direction X may go 500, Y 200: the path 200 / 0.8 = 250 mm/s."""
    shape = one((0, 0, 0), (30, 40, 0))
    caps = caps_of(shape, np.array([inf]), limits(axis_speed_mm_per_s=(500.0, 200.0, 10.0)))
    assert caps.speed[0] == pytest.approx(250.0, rel=1e-15)


def test_arc_speed_looks_only_at_the_angles_swept():
    """From 0° to 30° off +Y the X share is at most sin 30°, so a slow X axis allows double."""
    sweep = radians(30)
    start, end = (10.0, 0.0, 0.0), (10 * cos(sweep), 10 * sin(sweep), 0.0)
    shape = one(start, end, tan(sweep / 4))
    caps = caps_of(shape, np.array([inf]), limits(axis_speed_mm_per_s=(50.0, 1000.0, 1.0)))
    assert caps.speed[0] == pytest.approx(100.0, rel=1e-12)


def test_arc_speed_crosses_a_crest_inside():
    """An arc through the direction of a slow axis is held to that axis' full speed."""
    shape = one((-10, 0, 0), (10, 0, 0), 0.2)
    caps = caps_of(shape, np.array([inf]), limits(axis_speed_mm_per_s=(70.0, 1000.0, 1.0)))
    assert caps.speed[0] == pytest.approx(70.0, rel=1e-15)


def test_centripetal_speed_of_a_helix_uses_its_curvature():
    """A helix curves level²/R, so the speed is sqrt(a R) / level (differential geometry)."""
    shape = one((10, 0, 0), (0, 10, 8), QUARTER)
    level = (5 * pi) / sqrt((5 * pi) ** 2 + 64)
    caps = caps_of(shape, np.array([inf]), limits(centripetal_acceleration_mm_per_s2=500.0))
    assert caps.speed[0] == pytest.approx(sqrt(500 * 10) / level, rel=1e-13)


def test_axis_speed_on_a_helix_by_its_slope():
    """A slow X takes level × speed, a slow Z climb × speed, whichever comes first."""
    shape = one((10, 0, 0), (-10, 0, 10 * pi), 1.0)
    slow_x = limits(axis_speed_mm_per_s=(50.0, 1e4, 1e4))
    slow_z = limits(axis_speed_mm_per_s=(1e4, 1e4, 40.0))
    assert caps_of(shape, np.array([inf]), slow_x).speed[0] == pytest.approx(50 * sqrt(2))
    assert caps_of(shape, np.array([inf]), slow_z).speed[0] == pytest.approx(40 * sqrt(2))


def test_jerk_of_turning_bounds_the_speed():
    """On a half circle K = √2: the speed is (J R² / 2√2)^(1/3), the jerk along it J / 2√2."""
    shape = one((50, 0, 0), (-50, 0, 0), 1.0)
    jerky = limits(axis_jerk_mm_per_s3=(1000.0, 1500.0, 1.0))
    caps = caps_of(shape, np.array([inf]), jerky)
    assert caps.speed[0] == pytest.approx((1000 * 2500 / (2 * sqrt(2))) ** (1 / 3), rel=1e-13)
    assert caps.jerk[0] == pytest.approx(1000 / (2 * sqrt(2)), rel=1e-13)


def test_arc_shares_its_acceleration():
    """Over a quarter turn each of along and across gets a/√2: together a, in the 45° axis."""
    shape = one((10, 0, 0), (0, 10, 0), QUARTER)
    caps = caps_of(shape, np.array([inf]), limits(axis_acceleration_mm_per_s2=(900.0, 1000.0, 1.0)))
    assert caps.acceleration[0] == pytest.approx(900 / sqrt(2), rel=1e-13)
    assert caps.speed[0] == pytest.approx(sqrt(900 / sqrt(2) * 10), rel=1e-13)


def test_blend_must_fit_into_half_of_the_moves():
    """With 1 mm of room at a right angle the radius is 1 mm, however large the tolerance."""
    radius = blend_radius(np.array([pi / 2]), tolerance=50.0, room=np.array([1.0]))
    assert radius[0] == pytest.approx(1.0, rel=1e-14)


def corner(leave, entry, turn, room, allowed, *, speed=inf):
    """One blend between two directions."""
    return blends_of(
        np.array([leave], float),
        np.array([entry], float),
        np.array([turn]),
        np.array([room]),
        np.array([speed]),
        allowed,
    )


def continuous(tolerance, **changes):
    return limits(path_mode="continuous", corner_tolerance_mm=tolerance, **changes)


def test_a_turn_back_stops():
    """A path that turns back on itself has no blend."""
    allowed = continuous(0.5, centripetal_acceleration_mm_per_s2=1000.0)
    got = corner((1, 0, 0), (-1, 0, 0), pi, 5.0, allowed)
    assert got.radius[0] == got.caps.speed[0] == got.length[0] == 0.0


def test_blend_replaces_two_cuts_by_an_arc():
    """At a right angle with d = 0.1: R = 0.2414, each side gives R, the arc is R π/2."""
    got = corner((1, 0, 0), (0, 1, 0), pi / 2, 50.0, continuous(0.1))
    radius = 0.1 * sqrt(0.5) / (1 - sqrt(0.5))
    assert got.radius[0] == pytest.approx(radius, rel=1e-12)
    assert got.cut[0] == pytest.approx(radius, rel=1e-12)
    assert got.length[0] == pytest.approx(radius * pi / 2, rel=1e-12)


def test_blend_obeys_the_weaker_axis():
    """From X to Z with a weak Z axis, along and across each get 100/√2, as on any arc."""
    weak = continuous(
        0.1,
        axis_acceleration_mm_per_s2=(1e9, 1e9, 100.0),
        centripetal_acceleration_mm_per_s2=1000.0,
    )
    got = corner((1, 0, 0), (0, 0, 1), pi / 2, 50.0, weak)
    s = sqrt(0.5)
    assert got.caps.acceleration[0] == pytest.approx(100.0 * s, rel=1e-12)
    assert got.caps.speed[0] == pytest.approx(sqrt(100.0 * s * 0.1 * s / (1 - s)), rel=1e-12)


def test_blend_obeys_the_speed_of_an_axis_it_turns_through():
    """From 45° left of X to 45° right of it, the blend points along a slow X in its middle."""
    s = sqrt(0.5)
    slow = continuous(
        0.1, axis_speed_mm_per_s=(10.0, 1e4, 1e4), centripetal_acceleration_mm_per_s2=1000.0
    )
    got = corner((s, s, 0), (s, -s, 0), pi / 2, 50.0, slow)
    assert got.caps.speed[0] == pytest.approx(10.0, rel=1e-12)


@pytest.mark.parametrize("path", ["arc", "blend"])
def test_shares_of_arcs_are_of_the_weakest_axis(path):
    """Shares 0.5 and 0.8 with 900 and 1000 mm/s²: 450 along, 720 across, whatever the angles."""
    shared = continuous(
        0.1, axis_acceleration_mm_per_s2=(900.0, 1000.0, 1.0), arc_shares=(0.5, 0.8)
    )
    if path == "arc":
        radius = 10.0
        caps = caps_of(one((10, 0, 0), (0, 10, 0), QUARTER), np.array([inf]), shared)
    else:
        radius = 0.1 * sqrt(0.5) / (1 - sqrt(0.5))
        caps = corner((1, 0, 0), (0, 1, 0), pi / 2, 50.0, shared).caps
    assert caps.acceleration[0] == pytest.approx(450.0, rel=1e-12)
    assert caps.speed[0] == pytest.approx(sqrt(720.0 * radius), rel=1e-12)


def test_an_axis_that_a_blend_does_not_move_does_not_bind():
    """In XZ the weakest axis is that of X and Z; Y may be as weak as it likes."""
    shared = continuous(
        0.1, axis_acceleration_mm_per_s2=(900.0, 1.0, 1000.0), arc_shares=(0.5, 0.8)
    )
    got = corner((1, 0, 0), (0, 0, -1), pi / 2, 50.0, shared)
    assert got.caps.acceleration[0] == pytest.approx(450.0, rel=1e-12)
