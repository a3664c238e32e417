"""Changes to a drawing: other profiles, rounder corners, wider openings."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from edgetime.geometry.intersect import intersections
from edgetime.geometry.measure import contains, distance, signed_area, vertex_positions
from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import Path
from edgetime.geometry.rounding import just_tight_stretches, rounded, tight_stretches
from edgetime.geometry.segments import Segments
from edgetime.geometry.split import start_at
from edgetime.takeoff import Contour, Cutout, Edge, Part, TakeOff
from edgetime.tolerances import RIB_MM
from edgetime.tooling import Catalogue
from edgetime.toolpath.narrow import Opening


def edit_parts(take_off: TakeOff, edit: Callable[[Part], Part | None]) -> TakeOff | None:
    """Return a take-off with every part edited, None if any edit fails."""
    drawings = []
    for drawing in take_off.drawings:
        parts = []
        for part in drawing.parts:
            edited = edit(part)
            if edited is None:
                return None
            parts.append(edited)
        drawings.append(replace(drawing, parts=tuple(parts)))
    return TakeOff(tuple(drawings))


def drawn_id(take_off: TakeOff, part_id: str) -> str:
    """Return the id in the drawing of a part on the table; a copy has a number after it."""
    known = {p.part_id for p in take_off.parts}
    return part_id if part_id in known else part_id.rpartition("-")[0]


def profile_changed(part: Part, change: Mapping[str, str], *, cutouts: bool = True) -> Part:
    """Return a part with some profiles replaced by others.

    Parameters
    ----------
    part : Part
        As drawn.
    change : mapping
        Profile → the new one.
    cutouts : bool
        Whether edges of cutouts change too.
    """

    def edit(contour: Contour) -> Contour:
        edges = tuple(replace(e, profile=change.get(e.profile, e.profile)) for e in contour.edges)
        return replace(contour, edges=edges)

    return replace(
        part,
        outline=edit(part.outline),
        cutouts=tuple(replace(c, contour=edit(c.contour)) if cutouts else c for c in part.cutouts),
    )


def _tagged(contour: Contour) -> Path:
    """Return the path of a contour with the number of its edge as tag of each segment."""
    tags = np.concatenate(
        [np.full(e.stop - e.first, k, dtype=np.int64) for k, e in enumerate(contour.edges)]
    )
    return replace(contour.path, tags=tags)


def _with_path(contour: Contour, path: Path) -> Contour:
    """Return a contour on another path, whose tags are the numbers of its edges today."""
    turned = np.flatnonzero(path.tags != np.roll(path.tags, 1))
    if len(turned) and turned[0] != 0:
        path = start_at(path, float(vertex_positions(path)[turned[0]]))
    edges: list[Edge] = []
    begin = 0
    for k in range(1, len(path) + 1):
        if k < len(path) and path.tags[k] == path.tags[begin]:
            continue
        length = float(path.lengths[begin:k].sum())
        edge = contour.edges[int(path.tags[begin])]
        edges.append(replace(edge, first=begin, stop=k, length_mm=length))
        begin = k
    return replace(contour, path=path, edges=tuple(edges))


def _with_contour(part: Part, index: int, contour: Contour) -> Part:
    """Return a part with another outline (0) or cutout (from 1), and its areas."""
    if index == 0:
        outline, cutouts = contour, part.cutouts
    else:
        outline = part.outline
        new: list[Cutout] = list(part.cutouts)
        new[index - 1] = replace(new[index - 1], contour=contour)
        cutouts = tuple(new)
    before = part.contours()[index].path
    grown = signed_area(contour.path) - signed_area(before)
    return replace(
        part,
        outline=outline,
        cutouts=cutouts,
        area_gross_mm2=part.area_gross_mm2 + (grown if index == 0 else 0.0),
        area_mm2=part.area_mm2 + grown,
    )


def _worked(contour: Contour, catalogue: Catalogue) -> set[int]:
    """Return the numbers of the edges that are finished on this machine."""
    here = {p.name for p in catalogue.profiles.values() if p.finished and p.made_here}
    return {k for k, e in enumerate(contour.edges) if e.profile in here}


def _touched(path: Path, low: float, high: float) -> set[int]:
    """Return the tags of the segments that a stretch of a closed path covers."""
    marks, total = vertex_positions(path), path.length_mm
    found: set[int] = set()
    for shift in (0.0, total):
        inner = (marks[1:] + shift > low) & (marks[:-1] + shift < high)
        found |= set(path.tags[inner].tolist())
    return found


def _rounded(path: Path, radius_mm: float, edges: set[int]) -> Path | None:
    """Return a path with those tight corners rounded that can be, on some edges."""
    opening = Opening(path)
    tight = [
        (low, high)
        for low, high in tight_stretches(path, radius_mm)
        if _touched(path, low, high) & edges and opening.can_be_rounded(low, high, radius_mm)
    ]
    return rounded(path, radius_mm, tight)


def rounder(part: Part, index: int, radius_mm: float, catalogue: Catalogue) -> Part | None:
    """Return a part with the tight corners of one contour rounded where a wheel finishes it.

    Parameters
    ----------
    part : Part
        As drawn.
    index : int
        0 for the outline, k for cutout k - 1.
    radius_mm : float
        Of the new corners [mm].
    catalogue : Catalogue
        Says which profiles are finished here.

    Returns
    -------
    Part or None
        None where no arc of that radius fits.
    """
    contour = part.contours()[index]
    path = _rounded(_tagged(contour), radius_mm, _worked(contour, catalogue))
    return None if path is None else _with_contour(part, index, _with_path(contour, path))


def _clear(part: Part, index: int, path: Path) -> bool:
    """Return whether an opening's new line stays in the part and clear of its other openings."""
    points = path.points[:-1]
    if not contains(part.outline.path, points).all():
        return False
    for k, other in enumerate(part.contours()):
        if k == index:
            continue
        if len(intersections(*_pairs(path, other.path))[0]):
            return False
        if (
            min(distance(other.path, points).min(), distance(path, other.path.points).min())
            < RIB_MM
        ):
            return False
    for hole in part.holes:
        centre = np.array([[hole.x_mm, hole.y_mm]])
        if (
            contains(path, centre).any()
            or distance(path, centre)[0] < 0.5 * hole.diameter_mm + RIB_MM
        ):
            return False
    return True


def _pairs(a: Path, b: Path) -> tuple[Segments, Segments]:
    """Return every segment of one path beside every segment of another."""
    one, other = Segments.of(a), Segments.of(b)
    i = np.repeat(np.arange(len(one)), len(other))
    j = np.tile(np.arange(len(other)), len(one))
    return one.take(i), other.take(j)


def wider(part: Part, index: int, by_mm: float, radius_mm: float) -> Part | None:
    """Return a part with an opening whose sides are moved out, and its tight corners rounded.

    Parameters
    ----------
    part : Part
        As drawn.
    index : int
        k for cutout k - 1.
    by_mm : float
        How far every side moves into the stone [mm].
    radius_mm : float
        Of its tight corners then [mm].

    Returns
    -------
    Part or None
        None where it would meet an edge or another opening, or still has a narrow place.
    """
    cutout = part.cutouts[index - 1]
    old = _tagged(cutout.contour)
    chains = offset_path(old, -by_mm).chains
    if len(chains) != 1 or not chains[0].closed:
        return None
    moved = replace(chains[0], tags=old.tags[chains[0].tags])
    path = rounded(moved, radius_mm, just_tight_stretches(moved, radius_mm))
    if path is None or not _clear(part, index, path):
        return None
    grown = _with_contour(part, index, _with_path(cutout.contour, path))
    if cutout.diameter_mm is None:
        return grown
    cutouts = list(grown.cutouts)
    cutouts[index - 1] = replace(cutouts[index - 1], diameter_mm=cutout.diameter_mm + 2.0 * by_mm)
    return replace(grown, cutouts=tuple(cutouts))


def up_to_tenth(length_mm: float) -> float:
    """Return a length rounded up to a tenth of a millimetre [mm]."""
    return math.ceil(length_mm * 10.0 - 1e-6) / 10.0
