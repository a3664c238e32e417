"""Names on a plan: parts, openings, letters of profiles, layers without a rule.

A name that would lie on another is tried at other places of what it names; where none is free it
is left out, as every shape has its title and the legend explains the lines.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

import numpy as np

from edgetime.geometry.measure import bounds, point_at
from edgetime.picture.canvas import GLYPH, TEXT, Canvas, Pen, group
from edgetime.picture.curves import extent
from edgetime.picture.pins import placed
from edgetime.picture.scene import Drawn, EdgeShape, Show, label_places
from edgetime.picture.styles import UNMATCHED
from edgetime.picture.tools import start_spots

if TYPE_CHECKING:
    from edgetime.takeoff import Part

_BOLD: Final = ' font-weight="bold"'
_TRIED: Final = (0.5, 0.3, 0.7, 0.15, 0.85)
"""Where along the longest stretch of an edge its letter may be, in the order tried."""


class Labels:
    """Writes names on a picture, none on another.

    Parameters
    ----------
    pen : Pen
        Of the picture.
    """

    def __init__(self, pen: Pen) -> None:
        self.pen, self.unit = pen, pen.unit
        self.rows: list[str] = []
        self._taken: list[tuple[float, float, float, float]] = []

    def keep_free(self, x: float, y: float, size: float = 1.5) -> None:
        """Keep a square around a place free of names; its side in heights of text [mm]."""
        half = 0.5 * size * TEXT * self.unit
        self._taken.append((x - half, y - half, x + half, y + half))

    def write(
        self, places: Iterable[tuple[float, float]], said: str, *, size: float = 1.0, more: str = ""
    ) -> bool:
        """Write a text centred on the first of the places that is free, if there is one [mm]."""
        high = size * TEXT * self.unit
        wide = 0.5 * len(said) * GLYPH * high
        for x, y in places:
            # The letters stand on the place; the box leaves air of a tenth around them.
            box = (x - 1.1 * wide, y - 0.15 * high, x + 1.1 * wide, y + 0.85 * high)
            if not any(_cross(box, other) for other in self._taken):
                self._taken.append(box)
                self.rows.append(self.pen.text(x, y, said, size=size, anchor="middle", more=more))
                return True
        return False


def _cross(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def labels(canvas: Canvas) -> Iterator[str]:
    """Name parts, openings, profiles of edges and layers without a rule."""
    if Show.LABELS not in canvas.show:
        return
    writer = Labels(canvas.pen)
    for pin in placed(canvas):
        writer.keep_free(*pin.at_mm)
    for v in canvas.numbered:
        for x, y in start_spots(canvas, v):
            writer.keep_free(x, y)
    curves = [
        bit
        for d in canvas.scene.drawn
        for bit in zip(d.start.tolist(), d.end.tolist(), strict=True)
    ]
    for part in canvas.scene.parts:
        _part(canvas, writer, part, curves)
    for layer in canvas.scene.drawn:
        if layer.means == "unknown" and len(layer.start):
            _layer(canvas, writer, layer)
    for edge in canvas.scene.edges:
        _edge(canvas, writer, edge)
    yield from group("labels", writer.rows, ' pointer-events="none"')


def _part(
    canvas: Canvas, writer: Labels, part: Part, curves: list[tuple[list[float], list[float]]]
) -> None:
    size = TEXT * canvas.unit
    wide, high = part.size_mm
    x, y = inside(part, curves, size)
    if high >= 2.0 * size and wide >= 3.0 * size:
        places = [(x, y), (x, y + 2.5 * size), (x, y - 2.5 * size)]
        if writer.write(places, part.part_id, size=1.15, more=_BOLD) and (
            part.name and len(part.name) * GLYPH * size < wide and high > 4.0 * size
        ):
            writer.write([(x, y - 1.25 * size)], part.name)
    else:
        # Its own name would cover it: beside it, if there is room.
        left, low, right, top = bounds(part.outline.path)
        beside = (right + 2.4 * size, left - 2.4 * size)
        level = 0.5 * (low + top) - 0.35 * size
        places = [(at, level) for at in beside] + [
            (0.5 * (left + right), at) for at in (low - 2.2 * size, top + 1.4 * size)
        ]
        writer.write(places, part.part_id, size=0.85, more=_BOLD)
    for k, cutout in enumerate(part.cutouts, 1):
        left, low, right, high = bounds(cutout.contour.path)
        middle = (0.5 * (left + right), 0.5 * (low + high) - 0.35 * size)
        for said in (f"cutout {k}", f"{k}"):
            fits = len(said) * GLYPH * 0.85 * size < right - left and high - low > size
            if fits and writer.write([middle], said, size=0.85):
                break


def _edge(canvas: Canvas, writer: Labels, edge: EdgeShape) -> None:
    size = TEXT * canvas.unit
    # The letter of a short edge would cover it; its title and the legend name it.
    if edge.profile == "unfinished" or edge.path.length_mm < 3.0 * size:
        return
    places = [
        (float(x), float(y) - 0.35 * size)
        for x, y in (at + out * 0.95 * size for at, out in label_places(edge.path, _TRIED))
    ]
    writer.write(places, canvas.letters[edge.profile], size=0.95, more=_BOLD)


def _layer(canvas: Canvas, writer: Labels, layer: Drawn) -> None:
    """Name a layer beside its longest curves."""
    size = np.hypot(*(layer.end - layer.start).T)
    middle = 0.5 * (layer.start + layer.end)
    # An arc rises from its chord by half the chord times the bulge.
    clear = 0.5 * size * np.abs(layer.bulge) + 3.0 * canvas.unit
    places = [
        (float(middle[k, 0]), float(middle[k, 1] + rise))
        for k in np.argsort(-size, kind="stable")[:6]
        for rise in (clear[k], -clear[k] - 0.85 * TEXT * canvas.unit)
    ]
    writer.write(places, layer.layer, size=0.85, more=f' fill="{UNMATCHED.colour}"')


def inside(
    part: Part, curves: list[tuple[list[float], list[float]]], air_mm: float
) -> tuple[float, float]:
    """Return a place on the stone of a part, for its name [mm].

    Parameters
    ----------
    part : Part
        The part.
    curves : list of (start, end)
        Curves drawn on it, by their chords [mm].
    air_mm : float
        How far from these it should be [mm].
    """
    from shapely import MultiLineString, Point, Polygon, maximum_inscribed_circle  # noqa: PLC0415

    loops = [point_at(c.path, np.linspace(0.0, c.path.length_mm, 120)) for c in part.contours()]
    shape = Polygon(loops[0], loops[1:])
    if not shape.is_valid or shape.is_empty:
        left, low, right, high = extent([bounds(part.outline.path)])
        return 0.5 * (left + right), 0.5 * (low + high)
    for hole in part.holes:
        shape = shape.difference(Point(hole.x_mm, hole.y_mm).buffer(0.5 * hole.diameter_mm))
    if curves:
        free = shape.difference(MultiLineString(curves).buffer(air_mm))
        bits = getattr(free, "geoms", [free])
        shape = max((b for b in bits if not b.is_empty), key=lambda b: b.area, default=shape)
    # The middle of the part if there is room, else that of the largest circle that fits.
    circle = maximum_inscribed_circle(shape, 5.0)
    middle = shape.centroid
    if shape.contains(middle) and shape.boundary.distance(middle) > 0.7 * circle.length:
        return float(middle.x), float(middle.y)
    x, y = circle.coords[0]
    return float(x), float(y)
