"""The contours of the parts, as the tools find them on either side."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import Final

import numpy as np

from edgetime.errors import LimitExceeded
from edgetime.geometry.measure import bounds, contains, nearest
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments
from edgetime.geometry.split import sub_path
from edgetime.load.load import Load
from edgetime.passes.runs import turned_over
from edgetime.takeoff.parts import Part
from edgetime.tolerances import COINCIDENT_MM

MOST_SEGMENTS: Final = 40_000
"""Lines and arcs of one contour. A digitiser's point every quarter of a millimetre round the
largest slab makes as many; more would take minutes."""


def refuse_endless(load: Load) -> None:
    """Raise where a contour has more segments than can be followed in bounded time."""
    for placed in load.parts:
        for contour in placed.part.contours():
            count = len(contour.path)
            if count > MOST_SEGMENTS:
                raise LimitExceeded(
                    f"A contour of {placed.part.name} has {count} lines and arcs; up to "
                    f"{MOST_SEGMENTS} are followed.",
                    where=placed.part.where(contour.path.points[0], contour),
                    remedy="Simplify the curve in the drawing (fewer points, or arcs), or raise "
                    "contour_tolerance in shop.toml, so that more of it counts as arcs.",
                )


def _closing(points: FloatArray) -> FloatArray:
    """Return vertices with the last one set onto the first."""
    out = points.copy()
    out[-1] = out[0]
    return out


class PartContours:
    """The outline and the cutouts of one part on one side.

    Parameters
    ----------
    part : Part
        The part.
    side : int
        0 as drawn, 1 turned over about the middle of its outline, parallel to Y.
    """

    def __init__(self, part: Part, side: int) -> None:
        paths = [c.path for c in part.contours()]
        if side:
            low, _, high, _ = bounds(paths[0])
            paths = [turned_over(p, 0.5 * (low + high)) for p in paths]
        self.paths: tuple[Path, ...] = tuple(paths)

    @cached_property
    def segments(self) -> Segments:
        """All segments of all contours."""
        return Segments.stack([Segments.of(p) for p in self.paths])

    @cached_property
    def box(self) -> FloatArray:
        """Bounds of the outline (4,): x min, y min, x max, y max [mm]."""
        return np.array(bounds(self.paths[0]))

    def position(self, contour: int, point: FloatArray) -> float | None:
        """Return where along a contour a point lies [mm], None when it is off it."""
        if not 0 <= contour < len(self.paths):
            return None
        path = self.paths[contour]
        # Runs begin and end at vertices, which are found at once.
        vertex = np.flatnonzero((path.points == point).all(axis=1))
        if len(vertex):
            return float(path.lengths[: vertex[0]].sum())
        at, away = nearest(path, point[None, :])
        return float(at[0]) if away[0] <= COINCIDENT_MM else None

    def around(self, contour: int, run: Path) -> Path | None:
        """Return the whole contour a run is part of, closed and begun with the run.

        Parameters
        ----------
        contour : int
            As :attr:`edgetime.passes.pass_plan.EdgeRun.contour`.
        run : Path
            On that contour, as it lies on this side.

        Returns
        -------
        Path or None
            The run itself when it is closed; None when it is not on the contour.
        """
        if run.closed:
            return run
        start = self.position(contour, run.points[0])
        end = self.position(contour, run.points[-1])
        if start is None or end is None:
            return None
        whole = self.paths[contour]
        # The rest of the contour closes the run, so that offsets see what is beside it.
        left = whole.length_mm - run.length_mm
        if left <= COINCIDENT_MM:
            return replace(run, points=_closing(run.points), closed=True)
        rest = sub_path(whole, end, end + left)
        return Path(
            _closing(np.vstack([run.points, rest.points[1:]])),
            np.concatenate([run.bulges, rest.bulges]),
            np.concatenate([run.lengths, rest.lengths]),
            True,
            np.concatenate([run.tags, rest.tags]),
        )

    def holds(self, points: FloatArray) -> FloatArray:
        """Return which points lie in the stone (m,)."""
        inside = contains(self.paths[0], points)
        for cutout in self.paths[1:]:
            inside &= ~contains(cutout, points)
        return np.asarray(inside)
