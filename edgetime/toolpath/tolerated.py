"""What a tool leaves in a place it does not quite reach, judged against the shop's tolerance.

The stone left at a place of the edge is its distance from the nearest place of the centre line
less the offset. At a sharp inside corner that turns by t a wheel of radius R leaves
``R (1 / cos(t/2) - 1)``, in an inside arc of radius r < R ``(R - r)(1 / cos(t/2) - 1)``. The
tool's clearance counts as radius there: it adds ``clearance (1 / cos(t/2) - 1)``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.measure import corner_turns, vertex_positions
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import Segments
from edgetime.tolerances import COINCIDENT_MM

_AROUND: Final = (-1, 0, 1, 2)
"""Rows of the centre line tried for a place of the edge, from the last that begins before it:
a rolled corner may stand between the place and the piece that passes it nearest."""

_SAMPLES: Final = np.array([0.0, 0.5, 1.0])
"""Where on each piece of edge the stone left is measured; it is greatest at a vertex."""


@dataclass(frozen=True, eq=False)
class Followed:
    """A centre line, or all of them along one run, with the edge each segment treats.

    Attributes
    ----------
    segments : Segments
        n lines and arcs of the centre.
    span : (n, 2) array
        Where along the run the edge of each begins and ends [mm].
    treated : (n,) array
        Edge length each represents [mm].
    tags : (n,) integer array
        Segment of the run's path.
    """

    segments: Segments
    span: FloatArray
    treated: FloatArray
    tags: IntArray


@dataclass(frozen=True, eq=False)
class _Bits:
    """The missed stretches, parted at the vertices of the edge."""

    gap: IntArray
    segment: IntArray
    low: FloatArray
    high: FloatArray

    @classmethod
    def of(cls, gaps: FloatArray, marks: FloatArray) -> _Bits:
        first = np.searchsorted(marks, gaps[:, 0] + COINCIDENT_MM, side="right") - 1
        stop = np.searchsorted(marks, gaps[:, 1] - COINCIDENT_MM, side="left")
        count = np.maximum(stop - first, 1)
        gap = np.repeat(np.arange(len(gaps)), count)
        step = np.arange(len(gap)) - np.repeat(np.cumsum(count) - count, count)
        segment = first[gap] + step
        low = np.maximum(gaps[gap, 0], marks[segment])
        return cls(gap, segment, low, np.maximum(np.minimum(gaps[gap, 1], marks[segment + 1]), low))


def tolerate(
    contour: Path,
    followed: Followed,
    gaps: FloatArray,
    *,
    offset_mm: float,
    clearance_mm: float,
    tolerance_mm: float,
) -> tuple[Followed, FloatArray]:
    """Return what is treated, and the stretches missed, when a little stone may be left.

    Parameters
    ----------
    contour : Path
        Begins with the run.
    followed : Followed
        The centre lines along the run.
    gaps : (k, 2) array
        Stretches of the run that they miss [mm].
    offset_mm, clearance_mm : float
        Distance of the centre from the edge; the tool's clearance in inside corners [mm].
    tolerance_mm : float
        A stretch counts as reached when nowhere more stone is left [mm].

    Returns
    -------
    Followed
        With the stretches that count as reached added to the segments next to them.
    (j, 2) array
        The stretches still missed [mm].
    """
    if not (len(gaps) and len(followed.treated)) or min(offset_mm, tolerance_mm) <= 0.0:
        return followed, gaps
    marks = vertex_positions(contour)
    bits = _Bits.of(gaps, marks)
    left = _stone_left(contour, followed, bits, marks, len(gaps)) - offset_mm
    turn = _inward_turn(contour, bits, gaps, marks)
    # Tangents of more than a half turn never meet: the corner goes on without end.
    reach = np.where(turn < np.pi - 1e-6, np.cos(0.5 * np.minimum(turn, np.pi - 1e-6)), 1e-9)
    fine = left + clearance_mm * (1.0 / reach - 1.0) <= tolerance_mm
    if not fine.any():
        return followed, gaps
    return _added(followed, bits, np.flatnonzero(fine[bits.gap])), gaps[~fine]


def _stone_left(
    contour: Path, followed: Followed, bits: _Bits, marks: FloatArray, count: int
) -> FloatArray:
    """Return the greatest distance of each gap's edge from the centre line (k,) [mm]."""
    # The centre line beside a place of the edge is among the few pieces next to it in order:
    # searching those replaces measuring against all.
    order = np.argsort(followed.span[:, 0], kind="stable")
    begins = followed.span[order, 0]
    n = len(order)
    own = Segments.of(contour).take(bits.segment)
    length = contour.lengths[bits.segment]
    out = np.zeros(count)
    for at in _SAMPLES:
        s = bits.low + at * (bits.high - bits.low)
        share = (s - marks[bits.segment]) / np.where(length > 0.0, length, 1.0)
        x, y = own.point(np.clip(share, 0.0, 1.0)).T
        last = np.searchsorted(begins, s, side="right") - 1
        away = np.full(len(s), np.inf)
        for step in _AROUND:
            rows = order[(last + step) % n if contour.closed else np.clip(last + step, 0, n - 1)]
            away = np.minimum(away, followed.segments.take(rows).distance(x, y))
        np.maximum.at(out, bits.gap, away)
    return out


def _inward_turn(contour: Path, bits: _Bits, gaps: FloatArray, marks: FloatArray) -> FloatArray:
    """Return by how much the edge turns towards the tool over each gap, corners included [rad]."""
    length = contour.lengths[bits.segment]
    share = (bits.high - bits.low) / np.where(length > 0.0, length, 1.0)
    arcs = Segments.of(contour).turn[bits.segment] * share
    turn = np.bincount(bits.gap, weights=arcs, minlength=len(gaps))
    corner = corner_turns(contour)
    # The corner at the start of a closed contour is both its first and its last vertex.
    at_vertex = np.concatenate([corner[-1:], corner])
    before = np.concatenate([[0.0], np.cumsum(at_vertex)])
    first = np.searchsorted(marks, gaps[:, 0] - COINCIDENT_MM)
    stop = np.searchsorted(marks, gaps[:, 1] + COINCIDENT_MM)
    return np.asarray(np.maximum(-(turn + before[stop] - before[first]), 0.0))


def _added(followed: Followed, bits: _Bits, which: IntArray) -> Followed:
    """Return the centre lines with bits of edge given to segments that treat their neighbours."""
    treats = np.flatnonzero(followed.treated > 0.0)
    if not len(treats):
        return followed
    treats = treats[np.argsort(followed.span[treats, 0], kind="stable")]
    low, high, segment = bits.low[which], bits.high[which], bits.segment[which]
    last = np.searchsorted(followed.span[treats, 0], low + COINCIDENT_MM, side="right") - 1
    before = treats[np.maximum(last, 0)]
    after = treats[np.minimum(last + 1, len(treats) - 1)]
    # The same segment of the edge has the same profile.
    on = (last >= 0) & ((followed.tags[before] == segment) | (followed.tags[after] != segment))
    row = np.where(on, before, after)
    treated, span = followed.treated.copy(), followed.span.copy()
    np.add.at(treated, row, high - low)
    np.minimum.at(span[:, 0], row, low)
    np.maximum.at(span[:, 1], row, high)
    return Followed(followed.segments, span, treated, followed.tags)
