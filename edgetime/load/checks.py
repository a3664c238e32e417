"""What is wrong with the parts on the table: off it, on top of one another, too narrow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.geometry.intersect import candidate_pairs
from edgetime.geometry.measure import bounds
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments
from edgetime.load import codes
from edgetime.takeoff.parts import Part
from edgetime.tooling import Machine

if TYPE_CHECKING:
    from shapely import Polygon

OVERLAP_DEPTH_MM: Final = 1.0
"""Parts overlap when they do so by more than this [mm]: parts drawn edge to edge, and the
chords that replace arcs in this check, do not."""

SAG_MM: Final = 0.05
"""Chords that replace arcs in these checks lie no further from them [mm]."""

TABLE_SLACK_MM: Final = 0.01
"""A part may reach over the table's rim by this without a finding [mm]: rounding."""

NAMED_MOST: Final = 6
"""A finding on several parts names this many of them."""


def sampled(path: Path) -> FloatArray:
    """Return points of a path whose chords lie within ``SAG_MM`` of its arcs.

    A chord over an angle t of a circle of radius r sags by ``r (1 - cos(t / 2))``, that is
    ``2 r sin²(t / 4)``: in this form the angle keeps its digits on the flattest arc.

    Returns
    -------
    (m, 2) array
        Vertices of the path and points on its arcs [mm].
    """
    table = Segments.of(path)
    turn = np.abs(table.turn)
    radius = np.abs(table.radius)
    # A chord over a turn θ leaves its arc by 2 R sin²(θ/4).
    step = 4.0 * np.arcsin(np.sqrt(0.5 * SAG_MM / np.maximum(radius, SAG_MM)))
    bent = ~table.straight
    count = np.ones(len(path), dtype=np.int64)
    count[bent] = np.ceil(turn[bent] / step[bent]).astype(np.int64).clip(1)
    row = np.repeat(np.arange(len(path)), count)
    within = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    return np.vstack([table.take(row).point(within / count[row]), path.points[-1:]])


def _polygon(part: Part) -> Polygon:
    from shapely import Polygon  # noqa: PLC0415 - loaded only when parts may overlap

    shell = Polygon(sampled(part.outline.path), [sampled(c.contour.path) for c in part.cutouts])
    # A cutout that touches the outline makes rings touch, which shapely calls invalid.
    return shell if shell.is_valid else shell.buffer(0.0)


def _where(part: Part, box: FloatArray) -> Where:
    return part.where(0.5 * (box[:2] + box[2:]), part.outline)


def _table_findings(
    parts: Sequence[Part], boxes: FloatArray, machine: Machine
) -> Iterator[Finding]:
    length, width = machine.table_mm
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    size = high - low
    if size[0] > length + TABLE_SLACK_MM or size[1] > width + TABLE_SLACK_MM:
        yield Finding(
            codes.LOAD_LARGER_THAN_TABLE,
            f"The load measures {size[0]:.0f} × {size[1]:.0f} mm; the table of "
            f"{machine.name} measures {length:.0f} × {width:.0f} mm.",
            Where(x_mm=float(low[0]), y_mm=float(low[1])),
        )
    over = np.maximum(
        np.maximum(-boxes[:, :2], boxes[:, 2:] - np.array([length, width])).max(axis=1), 0.0
    )
    off = np.flatnonzero(over > TABLE_SLACK_MM)
    if len(off):
        first = int(off[0])
        names = ", ".join(parts[i].part_id for i in off[:NAMED_MOST])
        more = f" and {len(off) - NAMED_MOST} more" if len(off) > NAMED_MOST else ""
        yield Finding(
            codes.PART_OFF_TABLE,
            f"{len(off)} of {len(parts)} parts reach beyond the table of {machine.name}, "
            f"0 to {length:.0f} by 0 to {width:.0f} mm, by up to {over.max():.0f} mm: "
            f"{names}{more}. The load lies from ({low[0]:.0f}, {low[1]:.0f}) to "
            f"({high[0]:.0f}, {high[1]:.0f}) mm.",
            _where(parts[first], boxes[first]),
        )


def _overlap_findings(parts: Sequence[Part], boxes: FloatArray) -> Iterator[Finding]:
    polygons: dict[int, Polygon] = {}
    inner = boxes + 0.5 * OVERLAP_DEPTH_MM * np.array([1.0, 1.0, -1.0, -1.0])
    for i, j in zip(*(side.tolist() for side in candidate_pairs(inner)), strict=True):
        for k in (i, j):
            if k not in polygons:
                polygons[k] = _polygon(parts[k])
        common = polygons[i].intersection(polygons[j])
        # An overlap everywhere thinner than the depth vanishes when shrunk by half of it.
        if common.area == 0.0 or common.buffer(-0.5 * OVERLAP_DEPTH_MM).is_empty:
            continue
        spot = common.representative_point()
        yield Finding(
            codes.PARTS_OVERLAP,
            f"Parts {parts[i].part_id} and {parts[j].part_id} overlap by "
            f"{common.area / 100.0:.1f} cm².",
            parts[j].where((spot.x, spot.y), parts[j].outline),
        )


def _smallest_width_mm(part: Part) -> float:
    """Return the shorter side of the smallest rectangle around a part [mm]."""
    from shapely import MultiPoint  # noqa: PLC0415 - loaded only for slender parts

    box = MultiPoint(sampled(part.outline.path)).minimum_rotated_rectangle
    if box.geom_type != "Polygon":
        return 0.0
    corners = np.asarray(box.exterior.coords)
    sides = np.hypot(*np.diff(corners, axis=0)[:2].T)
    return float(sides.min())


def _narrow_findings(
    parts: Sequence[Part], boxes: FloatArray, machine: Machine
) -> Iterator[Finding]:
    need = machine.min_hold_mm
    for part, box in zip(parts, boxes, strict=True):
        # A figure lies in a strip as wide as its smallest width and no longer than its
        # diagonal, so area ÷ diagonal is a floor under the width: most parts end here.
        diagonal = float(np.hypot(box[2] - box[0], box[3] - box[1]))
        if part.area_gross_mm2 >= need * diagonal:
            continue
        width = _smallest_width_mm(part)
        if width < need - TABLE_SLACK_MM:
            yield Finding(
                codes.PART_TOO_NARROW,
                f"Part {part.part_id} is {width:.1f} mm wide at its narrowest; "
                f"{machine.name} holds parts from {need:.1f} mm.",
                _where(part, box),
            )


def load_findings(parts: Sequence[Part], machine: Machine) -> tuple[Finding, ...]:
    """Return what is wrong with parts on a machine's table.

    Parameters
    ----------
    parts : sequence of Part
        In table coordinates, at least one.
    machine : Machine
        Table and hold.

    Returns
    -------
    tuple of Finding
        Keys of the machine under older names; larger than the table, off it, overlapping, too
        narrow to hold.
    """
    boxes = np.array([bounds(part.outline.path) for part in parts])
    return (
        *machine.notes(),
        *_table_findings(parts, boxes, machine),
        *_overlap_findings(parts, boxes),
        *_narrow_findings(parts, boxes, machine),
    )
