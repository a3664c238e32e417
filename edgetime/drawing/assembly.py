"""What was read, entity by entity, to the arrays of a :class:`Drawing`, with what to say of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from edgetime.drawing import codes
from edgetime.drawing.curves import MAX_COORDINATE_MM
from edgetime.drawing.drawing import Drawing, Entity, LayerState
from edgetime.drawing.place import Builder
from edgetime.errors import DrawingUnreadable, Where
from edgetime.findings import Code, Finding
from edgetime.geometry.segments import Segments, box_around
from edgetime.tolerances import ZERO_LENGTH_MM
from edgetime.units import DRAWING_UNIT_NAMES

HAND_MM: Final = 80.0
"""A drawing smaller than a hand's breadth is not a load of countertop parts."""

TABLE_MM: Final = 20_000.0
"""A drawing larger than any router table, with parts laid beside each other."""


def assemble(
    builder: Builder, *, digest: str, units: str, mm_per_unit: float, first: Sequence[Finding]
) -> Drawing:
    """Turn the lists of a builder into a drawing.

    Parameters
    ----------
    builder : Builder
        Segments in millimetres, entities, texts, layers, findings.
    digest : str
        SHA-256 of the file.
    units : str
        What a drawing unit is.
    mm_per_unit : float
        Millimetres in it.
    first : sequence of Finding
        Findings about the file as a whole.

    Raises
    ------
    DrawingUnreadable
        Curves there were, but none can be used.
    """
    strokes = builder.segments
    columns = [
        np.array(getattr(strokes, name), dtype=np.float64)
        for name in ("x0", "y0", "x1", "y1", "bulge", "length")
    ]
    entity = np.zeros(len(strokes), dtype=np.int64)
    entity[builder.firsts] = 1
    entity = np.cumsum(entity) - 1
    x0, y0, x1, y1, bulge, length = columns
    with np.errstate(all="ignore"):
        drawn = Segments(np.column_stack((x0, y0)), np.column_stack((x1, y1)), bulge)
        length = np.where(np.isnan(length), drawn.lengths, length)
        # Besides its ends, how far an arc rises from its chord: a bulge of 1e20 goes anywhere.
        out = np.abs(np.column_stack((x0, y0, x1, y1, 0.5 * drawn.chord * bulge)))
        # The comparison is false for NaN.
        good = (out <= MAX_COORDINATE_MM).all(axis=1) & np.isfinite(length) & np.isfinite(bulge)
    lost = np.unique(entity[~good])
    _lose(builder, [builder.entities[i] for i in lost.tolist()])
    keep = ~np.isin(entity, lost) & (length > ZERO_LENGTH_MM)
    left = np.unique(entity[keep])
    builder.zero += len(builder.entities) - len(left) - len(lost)
    entity = np.searchsorted(left, entity[keep])
    start, end = drawn.start[keep], drawn.end[keep]
    entities = tuple([builder.entities[i] for i in left.tolist()])
    if not entities:
        _refuse_if_spoilt(builder.findings)
    drawing = Drawing(
        path=builder.path,
        units=units,
        mm_per_unit=mm_per_unit,
        entities=entities,
        start=start,
        end=end,
        bulge=bulge[keep],
        length=length[keep],
        entity=entity,
        texts=tuple(builder.texts),
        layers=builder.layers,
        findings=(),
        digest=digest,
    )
    return replace(drawing, findings=(*first, *builder.findings, *_summary(builder, drawing)))


def _lose(builder: Builder, rows: list[Entity]) -> None:
    for row in rows:
        builder.find(
            codes.ENTITY_OUT_OF_RANGE,
            f"{row.kind} {row.handle} has coordinates that are not finite or beyond "
            f"{MAX_COORDINATE_MM / 1e6:g} km.",
            row.layer,
            row.handle,
        )


def _refuse_if_spoilt(findings: Sequence[Finding]) -> None:
    spoilt = [f for f in findings if f.kind in (codes.ENTITY_OUT_OF_RANGE, codes.ENTITY_DAMAGED)]
    if spoilt:
        raise DrawingUnreadable(
            f"No curve of the drawing can be used: {spoilt[0].message}",
            where=spoilt[0].where,
            remedy="Repair the drawing and export it again.",
        )


def size_of(drawing: Drawing) -> tuple[float, float]:
    """Return width and height of the visible curves, of all if none is visible [mm]."""
    box = drawing.bounds_mm()
    if box is None:
        if not len(drawing.bulge):
            return 0.0, 0.0
        box = box_around(Segments(drawing.start, drawing.end, drawing.bulge).boxes())
    return box[2] - box[0], box[3] - box[1]


def _summary(builder: Builder, drawing: Drawing) -> Iterator[Finding]:
    where = Where(path=drawing.path)
    if builder.ignored:
        counted = ", ".join(f"{n} {kind}" for kind, n in sorted(builder.ignored.items()))
        yield Finding(codes.ENTITIES_IGNORED, f"Not counted: {counted}.", where)
    if builder.zero:
        message = f"{builder.zero} curves have no length and were left out."
        yield Finding(codes.ZERO_LENGTH, message, where)
    yield from _hidden(drawing)
    if not drawing.entities:
        yield Finding(codes.NO_GEOMETRY, "The drawing's model space holds no curve.", where)
        return
    yield from _plausible(drawing)


def _hidden(drawing: Drawing) -> Iterator[Finding]:
    counted = Counter(e.layer for e in drawing.entities if not e.visible)
    for layer, n in sorted(counted.items()):
        state = drawing.layers.get(layer, LayerState.SHOWN)
        why = f"the layer is {state}" if state is not LayerState.SHOWN else "they are invisible"
        yield Finding(
            codes.HIDDEN_GEOMETRY,
            f"{n} curve{'s' if n != 1 else ''} on layer {layer!r} left out of the parts: {why}.",
            Where(path=drawing.path, layer=layer),
        )


def _surely_plausible(drawing: Drawing) -> bool:
    # The ends alone settle most drawings: no curve strays from its ends by more than its length.
    if not all(e.visible for e in drawing.entities):
        return False
    low = np.minimum(drawing.start.min(axis=0), drawing.end.min(axis=0))
    high = np.maximum(drawing.start.max(axis=0), drawing.end.max(axis=0))
    size = float((high - low).max())
    return size >= HAND_MM and size + 2.0 * float(drawing.length.max()) <= TABLE_MM


def _plausible(drawing: Drawing) -> Iterator[Finding]:
    if _surely_plausible(drawing):
        return
    width, height = size_of(drawing)
    largest = max(width, height)
    kind: Code
    if largest < HAND_MM:
        kind, limit = codes.DRAWING_SMALL, f"less than {HAND_MM:g} mm"
    elif largest > TABLE_MM:
        kind, limit = codes.DRAWING_LARGE, f"more than {TABLE_MM / 1e3:g} m"
    else:
        return
    drawn = largest / drawing.mm_per_unit
    other = [
        f"in {name} it would be {drawn * mm:.0f} mm"
        for name, mm in DRAWING_UNIT_NAMES.items()
        if HAND_MM <= drawn * mm <= TABLE_MM
    ]
    hint = f"; {', '.join(other)}" if other else ""
    yield Finding(
        kind,
        f"The drawing measures {width:.4g} x {height:.4g} mm in units of {drawing.units}, "
        f"{limit}{hint}.",
        Where(path=drawing.path),
    )
