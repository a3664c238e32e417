"""Build drawings for take-off tests, curve by curve, without a DXF file."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from edgetime.drawing.drawing import Drawing, Entity, LayerState, Text
from edgetime.geometry.path import segment_lengths
from edgetime.tooling.layers import LayerRule, LayerRules, Meaning

QUARTER = math.tan(math.pi / 8.0)

RULES = LayerRules(
    (
        LayerRule("OUTLINE*", Meaning.OUTLINE),
        LayerRule("CUTOUT*", Meaning.CUTOUT),
        LayerRule("SINK*", Meaning.CUTOUT, profile="flat-polish", method="milled"),
        LayerRule("TAP*", Meaning.HOLE),
        LayerRule("EASED", Meaning.EDGE, profile="eased"),
        LayerRule("BULLNOSE", Meaning.EDGE, profile="half-bullnose"),
        LayerRule("SEAM", Meaning.SEAM),
        LayerRule("WALL", Meaning.UNFINISHED),
        LayerRule("DRAINER", Meaning.RECESS),
        LayerRule("NOTES", Meaning.IGNORE),
    ),
    source="layers.toml",
)


@dataclass
class Curve:
    """One entity to be: vertices, bulges and where it came from."""

    layer: str
    points: list[tuple[float, float]]
    bulges: list[float]
    kind: str
    closed: bool = False
    insert: int = -1
    blocks: tuple[str, ...] = ()
    visible: bool = True
    circle_diameter_mm: float | None = None
    handle: str = ""


@dataclass
class Builder:
    """Collects curves and texts; every call returns the builder."""

    curves: list[Curve] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    layers: dict[str, LayerState] = field(default_factory=dict)

    def add(self, curve: Curve) -> Builder:
        curve.handle = f"{0x20 + len(self.curves):X}"
        self.curves.append(curve)
        return self

    def line(self, layer, a, b, **more) -> Builder:
        return self.add(Curve(layer, [a, b], [0.0], "LINE", **more))

    def arc(self, layer, a, b, bulge, **more) -> Builder:
        return self.add(Curve(layer, [a, b], [bulge], "ARC", **more))

    def circle(self, layer, x, y, diameter, **more) -> Builder:
        r = 0.5 * diameter
        points = [(x + r, y), (x - r, y), (x + r, y)]
        return self.add(
            Curve(
                layer,
                points,
                [1.0, 1.0],
                "CIRCLE",
                closed=True,
                circle_diameter_mm=diameter,
                **more,
            )
        )

    def closed(self, layer, points, bulges=None, **more) -> Builder:
        bulges = [0.0] * len(points) if bulges is None else list(bulges)
        return self.add(
            Curve(layer, [*points, points[0]], bulges, "LWPOLYLINE", closed=True, **more)
        )

    def chain(self, layer, points, bulges=None, **more) -> Builder:
        bulges = [0.0] * (len(points) - 1) if bulges is None else list(bulges)
        return self.add(Curve(layer, list(points), bulges, "LWPOLYLINE", **more))

    def rectangle(self, layer, x, y, w, h, **more) -> Builder:
        return self.closed(layer, [(x, y), (x + w, y), (x + w, y + h), (x, y + h)], **more)

    def text(self, text, x, y, *, layer="TEXT", insert=-1, visible=True, height=0.0) -> Builder:
        handle = f"{0x900 + len(self.texts):X}"
        self.texts.append(Text(text, x, y, layer, handle, insert, visible, height))
        return self

    def drawing(self, *, path="kitchen.dxf", units="mm", mm_per_unit=1.0) -> Drawing:
        entities = tuple(
            Entity(
                c.kind,
                c.layer,
                c.handle,
                c.blocks,
                c.insert,
                c.visible,
                c.closed,
                c.circle_diameter_mm,
            )
            for c in self.curves
        )
        start, end, bulge, length, entity = [], [], [], [], []
        for k, c in enumerate(self.curves):
            p = np.array(c.points, dtype=float) * mm_per_unit
            b = np.array(c.bulges, dtype=float)
            start.append(p[:-1])
            end.append(p[1:])
            bulge.append(b)
            length.append(segment_lengths(p, b))
            entity.append(np.full(len(b), k, dtype=np.int64))
        if not self.curves:
            start = end = [np.zeros((0, 2))]
            bulge = length = [np.zeros(0)]
            entity = [np.zeros(0, dtype=np.int64)]
        states = dict.fromkeys((c.layer for c in self.curves), LayerState.SHOWN) | self.layers
        return Drawing(
            path,
            units,
            mm_per_unit,
            entities,
            np.concatenate(start),
            np.concatenate(end),
            np.concatenate(bulge),
            np.concatenate(length),
            np.concatenate(entity),
            tuple(self.texts),
            states,
            (),
            "0" * 64,
        )


def summary(part) -> tuple:
    """Return what must not depend on how a part is drawn: its numbers, rounded to 1e-6."""
    edges: dict[tuple[str, str], float] = {}
    for contour in part.contours():
        for edge in contour.edges:
            key = (str(contour.place), edge.profile)
            edges[key] = edges.get(key, 0.0) + edge.length_mm
    return (
        round(part.area_mm2, 3),
        round(part.area_gross_mm2, 3),
        tuple(sorted((*k, round(v, 6)) for k, v in edges.items())),
        tuple(sorted(round(h.diameter_mm, 6) for h in part.holes)),
    )


def found(result) -> dict[str, int]:
    """Return how often each kind of finding occurs."""
    out: dict[str, int] = {}
    for finding in result.findings:
        out[finding.code] = out.get(finding.code, 0) + 1
    return out
