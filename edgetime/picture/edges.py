"""Edges and holes of a plan."""

from __future__ import annotations

from collections.abc import Iterator

from edgetime.picture.canvas import Canvas, attribute, clean, group
from edgetime.picture.curves import edge_data, number
from edgetime.picture.scene import EdgeShape


def edges(canvas: Canvas) -> Iterator[str]:
    """Draw every edge in the line of its profile, then the holes."""
    by_profile: dict[str, list[EdgeShape]] = {name: [] for name in canvas.strokes}
    for edge in canvas.scene.edges:
        by_profile[edge.profile].append(edge)
    for name, own in by_profile.items():
        more = f" data-profile={attribute(name)} {canvas.pen.stroke(canvas.strokes[name])}"
        yield from group("edges", (_edge(canvas, edge) for edge in own), more)
    yield from group("holes", _holes(canvas))


def _edge(canvas: Canvas, edge: EdgeShape) -> str:
    part = canvas.scene.parts[edge.part]
    closed = "Z" if edge.path.closed else ""
    told = (
        f"{canvas.letters[edge.profile]} {edge.profile}, {canvas.length(edge.length_mm)}, "
        f"{part.part_id} {part.name}, {edge.place}, layer {edge.layer}"
    )
    return (
        f'<path d="{edge_data(edge.path)}{closed}" data-part={attribute(part.part_id)} '
        f'data-contour="{edge.contour}" data-edge="{edge.number}" '
        f'data-length-mm="{edge.length_mm:.6f}"><title>{clean(told)}</title></path>'
    )


def _holes(canvas: Canvas) -> Iterator[str]:
    n, width = canvas.pen.n, canvas.pen.n(0.9 * canvas.unit)
    for part in canvas.scene.parts:
        for k, hole in enumerate(part.holes, 1):
            r = 0.5 * hole.diameter_mm
            yield (
                f'<circle cx="{number(hole.x_mm, 4)}" cy="{number(-hole.y_mm, 4)}" '
                f'r="{number(r, 4)}" fill="#ffffff" stroke="#1a1a1a" stroke-width="{width}">'
                f"<title>{clean(f'Hole {k} of {part.part_id}, {2 * r:g} mm')}</title></circle>"
                f'<path d="M{n(hole.x_mm - 0.4 * r)} {n(-hole.y_mm)}h{n(0.8 * r)}'
                f'm{n(-0.4 * r)} {n(-0.4 * r)}v{n(0.8 * r)}" stroke="#1a1a1a" '
                f'stroke-width="{canvas.pen.n(0.5 * canvas.unit)}"/>'
            )
