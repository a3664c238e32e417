"""Each curve entity to segments.

The entities come as the DXF library's objects; their attributes are read from the
namespace's dictionary, for the library's own access by name costs more than the geometry.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, Final, NamedTuple

import numpy as np

from edgetime.drawing.affine import Trace, trace
from edgetime.drawing.bspline import BSpline
from edgetime.drawing.codes import (
    ENTITY_DAMAGED,
    ENTITY_NOT_PLANAR,
    ENTITY_OUT_OF_RANGE,
    ENTITY_TILTED,
)
from edgetime.drawing.curves import sweep_of
from edgetime.drawing.drawing import Entity, LayerState
from edgetime.drawing.fitpoints import spline_through
from edgetime.drawing.place import Builder, Place
from edgetime.tolerances import COINCIDENT_MM, PLANAR_Z_MM

_ORIGIN: Final = (0.0, 0.0, 0.0)
_FRAME_VERTEX: Final = 16
"""Vertex flag of a spline-fit polyline's frame: not on the curve."""

_Diameter = float | None


class _DamagedError(ValueError):
    """The entity lacks or contradicts what its type needs."""


def _trace(place: Place, ns: dict[str, Any], elevation: float) -> Trace:
    extrusion = ns.get("extrusion")
    if extrusion is None and elevation == 0.0:
        return place.flat
    upright = extrusion is None or (extrusion[0] == 0.0 == extrusion[1] and extrusion[2] > 0.0)
    if upright and (elevation == 0.0 or place.map.xz == 0.0 == place.map.yz):
        return place.flat
    return trace(place.map, extrusion, elevation)


class _Found(NamedTuple):
    """An entity and where it is drawn."""

    builder: Builder
    kind: str
    entity: Any
    ns: dict[str, Any]
    place: Place
    layer: str
    handle: str

    def trace(self, elevation: float) -> Trace:
        """Return how its own plane is seen from above; note where that plane is tilted."""
        t = _trace(self.place, self.ns, elevation)
        if t.tilted:
            self.tilt()
        return t

    def tilt(self) -> None:
        said = f"{self.kind} lies in a plane not parallel to XY; its projection is measured."
        self.builder.find(ENTITY_TILTED, said, self.layer, self.handle)

    def spread(self, zs: Sequence[float]) -> None:
        """Note an entity whose points are not all equally high."""
        size = max(zs) - min(zs)
        if size > PLANAR_Z_MM:
            said = (
                f"{self.kind} varies in Z by {size:.3f} mm (allowed {PLANAR_Z_MM:g} mm); "
                "its projection is measured."
            )
            self.builder.find(ENTITY_NOT_PLANAR, said, self.layer, self.handle)


def _line(found: _Found) -> _Diameter:
    point = found.place.map.point
    x0, y0, z0 = point(found.ns.get("start", _ORIGIN))
    x1, y1, z1 = point(found.ns.get("end", _ORIGIN))
    if not -PLANAR_Z_MM <= z1 - z0 <= PLANAR_Z_MM:
        found.spread((z0, z1))
    found.builder.segments.line(x0, y0, x1, y1)
    return None


def _arc(found: _Found) -> _Diameter:
    ns = found.ns
    u, v, w = ns.get("center", _ORIGIN)
    radius = ns.get("radius", 1.0)
    if radius <= 0.0:
        return None
    t = found.trace(w)
    start, sweep = 0.0, math.tau
    if found.kind == "ARC":
        start = math.radians(ns.get("start_angle", 0.0))
        sweep = sweep_of(start, math.radians(ns.get("end_angle", 360.0)))
    found.builder.segments.arc(t, u, v, radius, start, sweep)
    return 2.0 * radius * t.scale if sweep == math.tau and t.scale is not None else None


def _ellipse(found: _Found) -> _Diameter:
    # Centre and major axis are in world coordinates whatever the normal (DXF reference).
    m, ns = found.place.map, found.ns
    major = tuple(ns.get("major_axis", (1.0, 0.0, 0.0)))
    nx, ny, nz = ns.get("extrusion", (0.0, 0.0, 1.0))
    size = math.hypot(nx, ny, nz)
    if not size > 0.0:
        nx, ny, nz, size = 0.0, 0.0, 1.0, 1.0
    ratio = ns.get("ratio", 1.0) / size
    mx, my, mz = major
    minor = (
        ratio * (ny * mz - nz * my),
        ratio * (nz * mx - nx * mz),
        ratio * (nx * my - ny * mx),
    )
    x0, y0, z0 = m.x0, m.y0, m.z0
    cx, cy, _ = m.point(ns.get("center", _ORIGIN))
    px, py, pz = (value - o for value, o in zip(m.point(major), (x0, y0, z0), strict=True))
    qx, qy, qz = (value - o for value, o in zip(m.point(minor), (x0, y0, z0), strict=True))
    if math.hypot(pz, qz) > PLANAR_Z_MM:
        found.tilt()
    start = ns.get("start_param", 0.0)
    sweep = sweep_of(start, ns.get("end_param", math.tau))
    found.builder.segments.ellipse((cx, cy), (px, py), (qx, qy), start, sweep)
    p, q = math.hypot(px, py), math.hypot(qx, qy)
    round_ = abs(p - q) <= 1e-9 * p and abs(px * qx + py * qy) <= 1e-9 * p * p
    return 2.0 * p if round_ and sweep == math.tau else None


def _polygon(
    found: _Found, t: Trace, us: list[float], vs: list[float], bulges: list[float]
) -> _Diameter:
    """Draw a polyline; return the diameter of one that is two half circles, None for others."""
    closed = bool(found.ns.get("flags", 0) & 1)
    found.builder.segments.polyline(t, us, vs, bulges, closed=closed)
    if not closed or len(us) != 2 or t.scale is None or abs(bulges[0] - bulges[1]) > 1e-9:
        return None
    if abs(abs(bulges[0]) - 1.0) > 1e-9:
        return None
    return t.scale * math.hypot(us[1] - us[0], vs[1] - vs[0])


def _lwpolyline(found: _Found) -> _Diameter:
    values = found.entity.lwpoints.values
    if len(values) < 2:
        return None
    us, vs, _, _, bulges = values.T.tolist()
    t = found.trace(found.ns.get("elevation", 0.0))
    return _polygon(found, t, us, vs, bulges)


def _polyline(found: _Found) -> _Diameter:
    flags = found.ns.get("flags", 0)
    vertices = [
        v for v in (vars(vertex.dxf) for vertex in found.entity.vertices)
        if not v.get("flags", 0) & _FRAME_VERTEX
    ]  # fmt: skip
    if len(vertices) < 2:
        return None
    points = [v.get("location", _ORIGIN) for v in vertices]
    if flags & 8:
        world = [found.place.map.point(p) for p in points]
        if flags & 1:
            world.append(world[0])
        xs, ys, zs = (list(column) for column in zip(*world, strict=True))
        found.spread(zs)
        found.builder.segments.chain(xs, ys, [0.0] * (len(world) - 1))
        return None
    t = found.trace(found.ns.get("elevation", _ORIGIN)[2])
    us, vs = [p[0] for p in points], [p[1] for p in points]
    bulges = [v.get("bulge", 0.0) for v in vertices]
    return _polygon(found, t, us, vs, bulges)


def _spline(found: _Found) -> _Diameter:
    degree, entity = found.ns.get("degree", 3), found.entity
    points = entity.control_points.values
    knots, weights = np.array(entity.knots), np.array(entity.weights)
    if len(points) == 0:
        fit = entity.fit_points.values
        if len(fit) < 2:
            raise _DamagedError("it has neither control points nor fit points")
        degree, points, knots = _through(fit, found.ns)
        weights = np.empty(0)
    m = found.place.map
    with np.errstate(over="ignore", invalid="ignore"):
        world = points @ np.array([[m.xx, m.yx, m.zx], [m.xy, m.yy, m.zy], [m.xz, m.yz, m.zz]])
        world += (m.x0, m.y0, m.z0)
    if not np.isfinite(world).all():
        raise OverflowError
    try:
        curve = BSpline.build(degree, world[:, :2], knots, weights)
    except ValueError as error:
        raise _DamagedError(str(error)) from error
    found.spread(world[:, 2].tolist())
    found.builder.segments.spline(curve)
    return None


def _through(fit: Any, ns: dict[str, Any]) -> tuple[int, Any, Any]:
    tangents = ends = None
    if "start_tangent" in ns and "end_tangent" in ns:
        tangents = [ns["start_tangent"], ns["end_tangent"]]
        ends = np.array(tuple(tangents[0])), np.array(tuple(tangents[1]))
    own = spline_through(np.array(fit.tolist(), dtype=np.float64).reshape(-1, 3), ends)
    if own is not None:
        return 3, *own
    # Points on top of one another: the library knows what drawing programs make of them.
    from ezdxf.math import fit_points_to_cad_cv  # noqa: PLC0415  heavy

    curve = fit_points_to_cad_cv(fit.tolist(), tangents=tangents)
    return (
        curve.degree,
        np.array([tuple(p) for p in curve.control_points]),
        np.array(curve.knots()),
    )


CURVES: Final[dict[str, Callable[[_Found], _Diameter]]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _arc,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
}
"""DXF name → reader of the entity's curve."""

_MESH: Final = 16 | 64


def add_curve(builder: Builder, kind: str, entity: Any, place: Place) -> None:
    """Read one curve entity.

    Parameters
    ----------
    builder : Builder
        Takes the segments, the entity's row and findings.
    kind : str
        A key of :data:`CURVES`.
    entity : object
        The DXF library's entity.
    place : Place
        Where it is.
    """
    ns = vars(entity.dxf)
    layer = builder.layer(ns.get("layer", "0"), place)
    own = ns.get("handle") or ""
    if kind == "POLYLINE" and ns.get("flags", 0) & _MESH:
        builder.ignored["POLYLINE mesh"] += 1
        return
    segments = builder.segments
    first = len(segments.x0)
    handle = place.handle or own
    try:
        diameter = CURVES[kind](_Found(builder, kind, entity, ns, place, layer, handle))
    except _DamagedError as error:
        segments.cut_back(first)
        builder.find(ENTITY_DAMAGED, f"{kind} {own}: {error}.", layer, handle)
        return
    except (OverflowError, ValueError, ZeroDivisionError, TypeError) as error:
        # Arithmetic on numbers that are no numbers; what else a broken file may hold.
        segments.cut_back(first)
        builder.find(
            ENTITY_OUT_OF_RANGE,
            f"{kind} {own} has numbers that cannot be used ({error or 'not finite'}).",
            layer,
            handle,
        )
        return
    if len(segments.x0) == first:
        builder.zero += 1
        return
    visible = (
        place.visible and not ns.get("invisible", 0) and builder.layers[layer] is LayerState.SHOWN
    )
    x0, y0, x1, y1 = segments.x0, segments.y0, segments.x1, segments.y1
    closed = (
        abs(x1[-1] - x0[first]) <= COINCIDENT_MM
        and abs(y1[-1] - y0[first]) <= COINCIDENT_MM
        and len(x0) > first + 1
    )
    builder.firsts.append(first)
    builder.entities.append(
        Entity(kind, layer, handle, place.blocks, place.insert, visible, closed, diameter)
    )
