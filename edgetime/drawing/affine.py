"""Maps from an entity's coordinates to the world's, and their trace in the XY plane.

Every curve of a drawing lies in its own plane or is given by points in space. Either
way the projection to XY is an affine map, so blocks need no exploding: their inserts are
multiplied into one map, and the curve goes through it once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

_Vector = tuple[float, float, float]

# DXF reference, "Arbitrary axis algorithm": the constant that decides "close to Z".
_CLOSE_TO_Z: Final = 1.0 / 64.0
_SIMILARITY: Final = 1e-11
"""Relative deviation from equal scales that still counts as equal: it moves a length by no
more than this, and rotations by cos and sin stay well below it."""
_TILT: Final = 1e-6
"""Slope above which a plane is tilted: one micrometre a metre; the length differs by 5e-13."""


class Affine(NamedTuple):
    """``X = xx·x + xy·y + xz·z + x0`` and so on."""

    xx: float
    xy: float
    xz: float
    yx: float
    yy: float
    yz: float
    zx: float
    zy: float
    zz: float
    x0: float
    y0: float
    z0: float

    def point(self, p: Sequence[float]) -> _Vector:
        """Return the image of a point."""
        x, y, z = p
        # Unpacked once: access by name costs more than the arithmetic.
        xx, xy, xz, yx, yy, yz, zx, zy, zz, x0, y0, z0 = self
        return (
            xx * x + xy * y + xz * z + x0,
            yx * x + yy * y + yz * z + y0,
            zx * x + zy * y + zz * z + z0,
        )


class Trace(NamedTuple):
    """Where a plane curve at (u, v) falls in world XY: ``x = a·u + b·v + e, y = c·u + d·v + f``.

    ``scale`` is the factor of a similarity, None when circles become ellipses; ``turn`` is -1
    when the map mirrors; ``tilted`` when the plane is not parallel to XY.
    """

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float
    scale: float | None
    turn: float
    tilted: bool


def scaling(factor: float) -> Affine:
    """Return the map that scales everything about the origin."""
    return Affine(factor, 0, 0, 0, factor, 0, 0, 0, factor, 0, 0, 0)


def compose(outer: Affine, inner: Affine) -> Affine:
    """Return the map that applies ``inner``, then ``outer``."""
    m, n = outer, inner
    return Affine(
        m.xx * n.xx + m.xy * n.yx + m.xz * n.zx,
        m.xx * n.xy + m.xy * n.yy + m.xz * n.zy,
        m.xx * n.xz + m.xy * n.yz + m.xz * n.zz,
        m.yx * n.xx + m.yy * n.yx + m.yz * n.zx,
        m.yx * n.xy + m.yy * n.yy + m.yz * n.zy,
        m.yx * n.xz + m.yy * n.yz + m.yz * n.zz,
        m.zx * n.xx + m.zy * n.yx + m.zz * n.zx,
        m.zx * n.xy + m.zy * n.yy + m.zz * n.zy,
        m.zx * n.xz + m.zy * n.yz + m.zz * n.zz,
        *m.point((n.x0, n.y0, n.z0)),
    )


def _unit(v: _Vector) -> _Vector:
    size = math.hypot(*v)
    return (v[0] / size, v[1] / size, v[2] / size)


def _cross(p: _Vector, q: _Vector) -> _Vector:
    return (
        p[1] * q[2] - p[2] * q[1],
        p[2] * q[0] - p[0] * q[2],
        p[0] * q[1] - p[1] * q[0],
    )


def ocs_axes(extrusion: Sequence[float]) -> tuple[_Vector, _Vector, _Vector] | None:
    """Return the axes of an entity's own coordinate system in the world's.

    Parameters
    ----------
    extrusion : (3,) sequence
        The entity's normal; need not be of unit length.

    Returns
    -------
    tuple of three (3,) tuples or None
        X, Y and Z axis; None for the world's own. A normal that is zero or not finite counts
        as (0, 0, 1), as if it were not given.

    Notes
    -----
    The arbitrary axis algorithm of the DXF reference.
    """
    nx, ny, nz = extrusion
    size = math.hypot(nx, ny, nz)
    if not (math.isfinite(size) and size > 0.0):
        return None
    if nx == 0.0 and ny == 0.0 and nz > 0.0:
        return None
    normal = _unit((nx, ny, nz))
    close = abs(normal[0]) < _CLOSE_TO_Z and abs(normal[1]) < _CLOSE_TO_Z
    ax = _unit(_cross((0.0, 1.0, 0.0) if close else (0.0, 0.0, 1.0), normal))
    return ax, _unit(_cross(normal, ax)), normal


def with_axes(outer: Affine, extrusion: Sequence[float] | None) -> Affine:
    """Return ``outer`` applied after an entity's own coordinate system."""
    axes = None if extrusion is None else ocs_axes(extrusion)
    if axes is None:
        return outer
    (ax, ay, az) = axes
    own = Affine(
        ax[0], ay[0], az[0], ax[1], ay[1], az[1], ax[2], ay[2], az[2], 0.0, 0.0, 0.0
    )  # fmt: skip
    return compose(outer, own)


def insert_map(
    outer: Affine,
    *,
    extrusion: Sequence[float] | None,
    insert: Sequence[float],
    rotation_deg: float,
    scale: Sequence[float],
    base: Sequence[float],
    offset: tuple[float, float] = (0.0, 0.0),
) -> Affine:
    """Return the map of a block's content under one INSERT.

    Parameters
    ----------
    outer : Affine
        Map of the layout or block of the INSERT.
    extrusion : (3,) sequence or None
        Normal of the INSERT; its point and angle are in that system.
    insert, base : (3,) sequence
        Insertion point, and the block's own base point.
    rotation_deg : float
        Angle about the INSERT's normal [deg].
    scale : (3,) sequence
        Factors; 0 counts as 1, as old exports write it for Z.
    offset : (2,) tuple
        Column and row offset of an array copy: turned with the insert, not scaled.
    """
    angle = math.radians(math.remainder(rotation_deg, 360.0))
    cos, sin = math.cos(angle), math.sin(angle)
    quarter = math.remainder(rotation_deg, 360.0) / 90.0
    if quarter == round(quarter):
        # cos(90°) in floating point is 6e-17: exact quarter turns keep straight lines straight.
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    sx, sy, sz = (s if s != 0.0 else 1.0 for s in scale)
    bx, by, bz = base
    dx, dy = offset
    own = Affine(
        cos * sx, -sin * sy, 0.0,
        sin * sx, cos * sy, 0.0,
        0.0, 0.0, sz,
        insert[0] + cos * (dx - sx * bx) - sin * (dy - sy * by),
        insert[1] + sin * (dx - sx * bx) + cos * (dy - sy * by),
        insert[2] - sz * bz,
    )  # fmt: skip
    return compose(with_axes(outer, extrusion), own)


def trace(outer: Affine, extrusion: Sequence[float] | None, elevation: float) -> Trace:
    """Return where a plane curve falls in world XY.

    Parameters
    ----------
    outer : Affine
        Map of the layout or block of the curve.
    extrusion : (3,) sequence or None
        Normal of the curve's plane.
    elevation : float
        Distance of the plane along the normal.

    Returns
    -------
    Trace
        The map of (u, v) in the plane.
    """
    m = with_axes(outer, extrusion)
    a, b, c, d = m.xx, m.xy, m.yx, m.yy
    size = max(abs(a), abs(b), abs(c), abs(d), abs(m.zx), abs(m.zy))
    limit = _SIMILARITY * size
    turn = 1.0 if a * d - b * c >= 0.0 else -1.0
    similar = abs(a - turn * d) <= limit and abs(b + turn * c) <= limit
    return Trace(
        a,
        b,
        c,
        d,
        m.xz * elevation + m.x0,
        m.yz * elevation + m.y0,
        math.hypot(a, c) if similar else None,
        turn,
        math.hypot(m.zx, m.zy) > _TILT * size,
    )
