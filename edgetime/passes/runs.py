"""Edge runs: the unbroken stretches of a contour that one tool follows."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from edgetime.geometry.measure import bounds, corner_turns
from edgetime.geometry.path import IntArray, Path
from edgetime.geometry.split import concatenate
from edgetime.load.load import Load
from edgetime.moves import NO_INDEX
from edgetime.passes.pass_plan import EdgeRun
from edgetime.places import Place
from edgetime.takeoff.parts import Contour

FREE_CORNER_RAD: Final = math.radians(30.0)
"""A run's end is free when the contour turns away from the tool there by at least this
[rad]. A wheel of 50 mm radius that runs straight on past a corner of 30° by its own radius
is 6.7 mm clear of the next edge; past a flatter one it would touch it."""

HOLE_CONTOUR: Final = -1
"""Contour number of a run around a hole."""


@dataclass(frozen=True, eq=False)
class ProfiledContour:
    """A contour of a placed part with its edges as columns.

    Attributes
    ----------
    part : int
        Index into the load's parts.
    number : int
        0 for the outline, k for cutout k - 1.
    place : Place
        Outline or cutout.
    path : Path
        Tags are indices into the plan's profile names.
    profile : (m,) integer array
        Profile of each edge.
    labels : tuple of int
        The profiles that occur, ascending.
    first, stop : (m,) integer arrays
        Segments of each edge.
    length_mm : (m,) array
        Exact length of each edge [mm].
    notch : (m,) boolean array
        Edges of an outline that the router mills, as the walls of a notch.
    free : (n,) boolean array
        Whether the contour turns away from the tool at the end of each segment.
    """

    part: int
    number: int
    place: Place
    path: Path
    profile: IntArray
    labels: tuple[int, ...]
    first: IntArray
    stop: IntArray
    length_mm: np.ndarray[tuple[int], np.dtype[np.float64]]
    notch: np.ndarray[tuple[int], np.dtype[np.bool_]]
    free: np.ndarray[tuple[int], np.dtype[np.bool_]]
    _runs: dict[bytes, tuple[EdgeRun, ...]] = field(default_factory=dict, repr=False)

    def runs(self, label: IntArray) -> tuple[EdgeRun, ...]:
        """Return the maximal stretches of edges with one label.

        Parameters
        ----------
        label : (m,) integer array
            Per edge; ``NO_INDEX`` for edges the tool leaves out.

        Returns
        -------
        tuple of EdgeRun
            In the order drawn. The same labels give the same objects, so that steps which
            follow the same stretch share its run.
        """
        key = label.tobytes()
        known = self._runs.get(key)
        if known is None:
            known = self._runs[key] = tuple(self._stretches(label))
        return known

    def _stretches(self, label: IntArray) -> list[EdgeRun]:
        # An edge begins a stretch when its label differs from that of the edge before it,
        # around the contour's start too.
        begins = np.flatnonzero(label != np.roll(label, 1))
        if not len(begins):
            if label[0] == NO_INDEX:
                return []
            return [EdgeRun(self.part, self.number, self.path, self.place, False, False)]
        ends = np.append(begins[1:], begins[0] + len(label))
        return [
            self._stretch(int(a), int(b))
            for a, b in zip(begins, ends, strict=True)
            if label[a] != NO_INDEX
        ]

    def _stretch(self, begin: int, end: int) -> EdgeRun:
        """Return the run over edges ``begin`` to ``end - 1``, which may run over the start."""
        count = len(self.profile)
        head = int(self.first[begin])
        tail = int(self.stop[(end - 1) % count])
        if end <= count:
            path = self.path.slice(head, tail)
        else:
            path = concatenate([self.path.slice(head, len(self.path)), self.path.slice(0, tail)])
        return EdgeRun(
            self.part,
            self.number,
            path,
            self.place,
            free_start=bool(self.free[head - 1]),
            free_end=bool(self.free[tail - 1]),
        )


def _profiled(
    part: int, number: int, contour: Contour, index: dict[str, int], notch_method: str
) -> ProfiledContour:
    profile = np.array([index[e.profile] for e in contour.edges], dtype=np.int64)
    first = np.array([e.first for e in contour.edges], dtype=np.int64)
    stop = np.array([e.stop for e in contour.edges], dtype=np.int64)
    path = replace(contour.path, tags=np.repeat(profile, stop - first))
    return ProfiledContour(
        part=part,
        number=number,
        place=contour.place,
        path=path,
        profile=profile,
        labels=tuple(sorted(set(profile.tolist()))),
        first=first,
        stop=stop,
        length_mm=np.array([e.length_mm for e in contour.edges]),
        notch=np.array(
            [(notch_method if e.notch == "shop" else e.notch) == "milled" for e in contour.edges],
            dtype=np.bool_,
        ),
        free=corner_turns(path) >= FREE_CORNER_RAD,
    )


def profiled_contours(load: Load) -> tuple[tuple[str, ...], tuple[ProfiledContour, ...]]:
    """Return the profile names of a load, by name, and all its contours.

    Returns
    -------
    names : tuple of str
        Profile names, as the tags of all paths index them.
    contours : tuple of ProfiledContour
        Part by part, the outline first.
    """
    names = tuple(
        sorted({e.profile for p in load.parts for c in p.part.contours() for e in c.edges})
    )
    index = {name: i for i, name in enumerate(names)}
    contours = tuple(
        _profiled(i, k, contour, index, load.catalogue.shop.notch_method)
        for i, placed in enumerate(load.parts)
        for k, contour in enumerate(placed.part.contours())
    )
    return names, contours


def circle_run(
    part: int, contour: int, place: Place, centre: tuple[float, float], diameter_mm: float
) -> EdgeRun:
    """Return the run of a core bit: a circle with the stone outside, on the left.

    Parameters
    ----------
    part, contour : int
        As in :class:`EdgeRun`.
    place : Place
        Hole, or cutout for an entry hole.
    centre : (float, float)
        Centre [mm].
    diameter_mm : float
        Diameter [mm].
    """
    x, y = centre
    r = 0.5 * diameter_mm
    # Two half circles, clockwise; a hole has no profile.
    path = Path.from_bulges(
        [(x + r, y), (x - r, y)], [-1.0, -1.0], closed=True, tags=[NO_INDEX, NO_INDEX]
    )
    return EdgeRun(part, contour, path, place, free_start=False, free_end=False)


def mirror_axis_mm(load: Load, part: int) -> float:
    """Return x of the vertical line a part is turned over about: through its bounds' middle."""
    x0, _, x1, _ = bounds(load.parts[part].part.outline.path)
    return 0.5 * (x0 + x1)


def turned_over(path: Path, axis_mm: float) -> Path:
    """Return a path as it lies after its part was turned over about a vertical line.

    A reflection puts the stone on the right, so the path is run the other way; reflection
    and reversal each change the sign of a bulge, together they keep it.

    Parameters
    ----------
    path : Path
        As it lay before.
    axis_mm : float
        x of the line [mm].
    """
    # Mirrored, a contour would run clockwise: read backwards it has the stone on its left again,
    # and bulges keep their sign.
    points = path.points[::-1] * np.array([-1.0, 1.0]) + np.array([2.0 * axis_mm, 0.0])
    return Path(
        points,
        path.bulges[::-1].copy(),
        path.lengths[::-1].copy(),
        path.closed,
        path.tags[::-1].copy(),
    )


def mirrored(run: EdgeRun, axis_mm: float) -> EdgeRun:
    """Return a run as it lies after its part was turned over about a vertical line [mm]."""
    return replace(
        run,
        path=turned_over(run.path, axis_mm),
        free_start=run.free_end,
        free_end=run.free_start,
    )
