"""A small writer of DXF text, so that the tests control every tag of the drawings they read."""

from __future__ import annotations

import itertools

_HANDLES = itertools.count(0x100)


def tags(*pairs):
    """Return group codes and values as the lines of a DXF."""
    return "".join(f"{code:3d}\n{value}\n" for code, value in pairs)


def point(code, coordinates):
    """Return the tags of a point: codes 10, 20, 30 for code 10."""
    return [(code + 10 * i, repr(float(value))) for i, value in enumerate(coordinates)]


def entity(kind, marker, *pairs, layer="A", common=(), marked=True):
    """Return one entity, with its subclass markers unless told otherwise."""
    markers = [(100, "AcDbEntity")] if marked else []
    own = [(100, marker)] if marked else []
    head = [(0, kind), (5, f"{next(_HANDLES):X}"), *markers, (8, layer), *common]
    return tags(*head, *own, *pairs)


def _normal(extrusion):
    return [] if extrusion is None else point(210, extrusion)


def line(start, end, **kw):
    """Return a LINE."""
    return entity("LINE", "AcDbLine", *point(10, start), *point(11, end), **kw)


def circle(centre, radius, *, extrusion=None, **kw):
    """Return a CIRCLE."""
    pairs = [*point(10, centre), (40, repr(radius)), *_normal(extrusion)]
    return entity("CIRCLE", "AcDbCircle", *pairs, **kw)


def arc(centre, radius, start_deg, end_deg, *, extrusion=None, **kw):
    """Return an ARC."""
    pairs = [*point(10, centre), (40, repr(radius)), *_normal(extrusion)]
    sweep = [(100, "AcDbArc"), (50, repr(start_deg)), (51, repr(end_deg))]
    if not kw.get("marked", True):
        del sweep[0]
    return entity("ARC", "AcDbCircle", *pairs, *sweep, **kw)


def ellipse(centre, major, ratio, start=0.0, end=6.283185307179586, *, extrusion=None, **kw):
    """Return an ELLIPSE."""
    pairs = [
        *point(10, centre),
        *point(11, major),
        *_normal(extrusion),
        (40, repr(ratio)),
        (41, repr(start)),
        (42, repr(end)),
    ]
    return entity("ELLIPSE", "AcDbEllipse", *pairs, **kw)


def lwpolyline(vertices, *, closed=False, extrusion=None, elevation=None, **kw):
    """Return an LWPOLYLINE of (x, y) or (x, y, bulge) vertices."""
    pairs = [(90, len(vertices)), (70, int(closed))]
    if elevation is not None:
        pairs.append((38, repr(elevation)))
    for x, y, *bulge in vertices:
        pairs += point(10, (x, y))
        pairs += [(42, repr(bulge[0]))] if bulge else []
    return entity("LWPOLYLINE", "AcDbPolyline", *pairs, *_normal(extrusion), **kw)


def polyline(vertices, *, closed=False, space=False, extrusion=None, layer="A", flags=0, **kw):
    """Return a 2D or 3D POLYLINE of (x, y, z), (x, y, z, bulge) or (…, bulge, flags)."""
    flags |= int(closed) | (8 if space else 0)
    marker = "AcDb3dPolyline" if space else "AcDb2dPolyline"
    pairs = [(66, 1), *point(10, (0, 0, 0)), (70, flags), *_normal(extrusion)]
    text = entity("POLYLINE", marker, *pairs, layer=layer, **kw)
    for x, y, z, *more in vertices:
        own = [*point(10, (x, y, z))]
        own += [(42, repr(more[0]))] if more else []
        own += [(70, (more[1] if len(more) > 1 else 0) | (32 if space else 0))]
        text += entity("VERTEX", "AcDbVertex", *own, layer=layer, **kw)
    return text + tags((0, "SEQEND"), (5, f"{next(_HANDLES):X}"), (8, layer))


def spline(degree, points, knots=(), weights=(), *, fit=(), flags=0, **kw):
    """Return a SPLINE by control points, or by fit points."""
    pairs = [(70, flags), (71, degree), (72, len(knots)), (73, len(points)), (74, len(fit))]
    pairs += [(40, repr(float(k))) for k in knots]
    pairs += [(41, repr(float(w))) for w in weights]
    pairs += [tag for p in points for tag in point(10, p)]
    pairs += [tag for p in fit for tag in point(11, p)]
    return entity("SPLINE", "AcDbSpline", *pairs, **kw)


def insert(
    name,
    at=(0, 0, 0),
    *,
    scale=(1, 1, 1),
    rotation=0.0,
    array=None,
    spacing=(0.0, 0.0),
    extrusion=None,
    **kw,
):
    """Return an INSERT; ``array`` is (columns, rows)."""
    pairs = [(2, name), *point(10, at)]
    pairs += [(41 + i, repr(float(s))) for i, s in enumerate(scale)]
    pairs.append((50, repr(float(rotation))))
    if array is not None:
        pairs += [(70, array[0]), (71, array[1])]
        pairs += [(44, repr(float(spacing[0]))), (45, repr(float(spacing[1])))]
    return entity("INSERT", "AcDbBlockReference", *pairs, *_normal(extrusion), **kw)


def text(content, at, **kw):
    """Return a TEXT."""
    return entity("TEXT", "AcDbText", *point(10, at), (40, "10.0"), (1, content), **kw)


def block(name, *entities, base=(0, 0, 0), flags=0):
    """Return a block definition."""
    begin = entity(
        "BLOCK", "AcDbBlockBegin", (2, name), (70, flags), *point(10, base), (3, name), layer="0"
    )
    return begin + "".join(entities) + entity("ENDBLK", "AcDbBlockEnd", layer="0")


def layer(name, *, flags=0, colour=7):
    """Return a row of the layer table; flag 1 is frozen, a negative colour is off."""
    return tags(
        (0, "LAYER"),
        (5, f"{next(_HANDLES):X}"),
        (100, "AcDbSymbolTableRecord"),
        (100, "AcDbLayerTableRecord"),
        (2, name),
        (70, flags),
        (62, colour),
        (6, "CONTINUOUS"),
    )


def document(
    *entities, blocks=(), layers=(), insunits=4, version="AC1015", header=(), end="  0\nEOF\n"
):
    """Return the text of a whole DXF."""
    variables = [(9, "$ACADVER"), (1, version), *header] if version else [*header]
    if insunits is not None:
        variables += [(9, "$INSUNITS"), (70, insunits)]
    parts = [tags((0, "SECTION"), (2, "HEADER"), *variables, (0, "ENDSEC"))]
    if layers:
        parts.append(
            tags((0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LAYER"), (70, len(layers)))
            + "".join(layers)
            + tags((0, "ENDTAB"), (0, "ENDSEC"))
        )
    if blocks:
        parts.append(tags((0, "SECTION"), (2, "BLOCKS")) + "".join(blocks) + tags((0, "ENDSEC")))
    parts.append(tags((0, "SECTION"), (2, "ENTITIES")) + "".join(entities) + tags((0, "ENDSEC")))
    return "".join(parts) + end
