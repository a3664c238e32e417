"""The path of the tool's centre along one edge run.

It is the exact parallel of the edge (:mod:`edgetime.geometry.offset`), together with what the
feed needs to know: how fast the place of contact moves when the centre moves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from edgetime.geometry.offset import offset_path
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.tolerances import ZERO_LENGTH_MM
from edgetime.tooling import Step
from edgetime.toolpath.tolerated import Followed, tolerate


@dataclass(frozen=True, eq=False)
class CentreLine:
    """One unbroken stretch of a tool's centre path: n segments.

    Attributes
    ----------
    segments : Segments
        Lines and arcs of the centre.
    length : (n,) array
        Exact length of each [mm].
    treated : (n,) array
        Edge length each represents [mm].
    tags : (n,) integer array
        Segment of the run's path.
    contact_ratio : (n,) array
        Speed of the contact along the edge over speed of the centre, ``r / ρ`` with the
        radius r of the edge and ρ of the centre path: 1 on straights, below 1 on outer arcs,
        0 on rolled corners, above 1 on inside arcs [-].
    closed : bool
        Whether it returns to its start.
    first_mm, last_mm : float
        Where along the run its edge begins and ends [mm].
    """

    segments: Segments
    length: FloatArray
    treated: FloatArray
    tags: IntArray
    contact_ratio: FloatArray
    closed: bool
    first_mm: float
    last_mm: float

    def __len__(self) -> int:
        return len(self.length)

    def begun_at(self, row: int, fraction: float) -> CentreLine:
        """Return a closed line begun at a place of a segment, as an open line of one round."""
        n = len(self)
        rows = np.arange(row, row + n, dtype=np.int64) % n
        if fraction > 0.0:
            rows = np.append(rows, row)
        share = np.ones(len(rows))
        own = self.segments.take(rows)
        if fraction > 0.0:
            share[0], share[-1] = 1.0 - fraction, fraction
            own.start[0] = own.end[-1] = self._place(row, fraction)
            quarter = np.arctan(self.segments.bulge[row])
            own.bulge[0], own.bulge[-1] = np.tan(share[[0, -1]] * quarter)
        return self._opened(own, rows, share)

    def _place(self, row: int, fraction: float) -> FloatArray:
        """Return a place of a segment (2,) [mm]; as :meth:`Segments.point`, for one of many."""
        start = self.segments.start[row]
        step = self.segments.end[row] - start
        half = 2.0 * math.atan(self.segments.bulge[row])
        if half == 0.0:
            return np.asarray(start + fraction * step)
        reach = math.sin(fraction * half) / math.sin(half)
        angle = half * (fraction - 1.0)
        cos, sin = reach * math.cos(angle), reach * math.sin(angle)
        turned = (cos * step[0] - sin * step[1], sin * step[0] + cos * step[1])
        return np.asarray(start + turned)

    def _opened(self, segments: Segments, rows: IntArray, share: FloatArray) -> CentreLine:
        """Return shares of the given rows as an open line."""
        return CentreLine(
            segments,
            self.length[rows] * share,
            self.treated[rows] * share,
            self.tags[rows],
            self.contact_ratio[rows],
            closed=False,
            first_mm=self.first_mm,
            last_mm=self.last_mm,
        )

    def begun_on_straight(self, least_mm: float) -> CentreLine:
        """Return a closed line begun in the middle of a segment, as an open line of one round.

        There a lead has room on both sides and leaves its mark away from corners. It is the
        first straight segment in the cut that is at least so long, counted from where the run
        begins, so that the order of runs stays as planned; the longest if there is none.
        """
        reached = np.where(self.treated > 0.0, self.length, 0.0)
        straight = np.where(self.segments.straight, reached, 0.0)
        long = np.flatnonzero(straight >= max(least_mm, ZERO_LENGTH_MM))
        if len(long):
            return self.begun_at(int(long[0]), 0.5)
        # A lead on a straight marks least; with none that is long enough, the longest stretch.
        best = straight if straight.max() > 0.0 else reached
        return self.begun_at(int(np.argmax(best)), 0.5)

    def begun_nearest(self, x: float, y: float) -> CentreLine:
        """Return a closed line begun at its place nearest to a point."""
        at, away = self.segments.nearest(np.array([[x]]), np.array([[y]]))
        row = int(np.argmin(away[0]))
        return self.begun_at(row, float(at[0, row]))

    def overlap(self, edge_mm: float) -> CentreLine | None:
        """Return the first stretch of this line that treats so much edge, None for none."""
        if edge_mm <= 0.0:
            return None
        gone = np.cumsum(self.treated)
        stop = int(np.searchsorted(gone, edge_mm))
        rows = np.arange(min(stop + 1, len(self)), dtype=np.int64)
        share = np.ones(len(rows))
        own = self.segments.take(rows)
        if stop < len(self):
            fraction = 1.0 - float((gone[stop] - edge_mm) / self.treated[stop])
            share[-1] = fraction
            own.end[-1] = self._place(stop, fraction)
            own.bulge[-1] = np.tan(fraction * np.arctan(own.bulge[-1]))
        return self._opened(own, rows, share)


def centre_lines(
    path: Path,
    offset_mm: float,
    clearance_mm: float,
    against: Sequence[Path],
    tolerance_mm: float = 0.0,
) -> tuple[tuple[CentreLine, ...], FloatArray]:
    """Return the centre lines along a run and the stretches they miss.

    Parameters
    ----------
    path : Path
        The run, stone on the left.
    offset_mm : float
        Distance of the centre from the edge, positive into the air [mm].
    clearance_mm : float
        By how much an inside arc's radius must exceed the offset [mm].
    against : sequence of Path
        The rest of the contour, which the tool must keep the same distance from.
    tolerance_mm : float
        Stone that may be left where the tool does not quite reach [mm].

    Returns
    -------
    lines : tuple of CentreLine
        In order along the run.
    unreached : (k, 2) array
        Stretches of the run [mm].
    """
    found = offset_path(path, offset_mm, clearance_mm=clearance_mm, against=against)
    edge_radius = np.abs(Segments.of(path).radius)
    lines: list[CentreLine] = []
    if not found.chains:
        return (), found.unreached
    done, missed = tolerate(
        path,
        Followed(
            Segments.stack([Segments.of(c) for c in found.chains]),
            np.concatenate(found.spans),
            np.concatenate(found.treated),
            np.concatenate([c.tags for c in found.chains]),
        ),
        found.unreached,
        offset_mm=offset_mm,
        clearance_mm=clearance_mm,
        tolerance_mm=tolerance_mm,
    )
    stop = 0
    for chain, rolled in zip(found.chains, found.rolled, strict=True):
        segments = Segments.of(chain)
        first, stop = stop, stop + len(chain)
        treated, spans = done.treated[first:stop], done.span[first:stop]
        lines.append(
            CentreLine(
                segments,
                chain.lengths,
                treated,
                chain.tags,
                _contact_ratio(segments, edge_radius[chain.tags], rolled, treated),
                chain.closed,
                float(spans[0, 0]),
                float(spans[-1, 1]),
            )
        )
    return tuple(lines), missed


def _contact_ratio(
    segments: Segments, edge_radius: FloatArray, rolled: BoolArray, treated: FloatArray
) -> FloatArray:
    """Return the contact's speed over the centre's; the straight cut across an arc counts 1."""
    centre_radius = np.abs(segments.radius)
    arc = np.isfinite(centre_radius) & np.isfinite(edge_radius) & (treated > 0.0)
    ratio = np.divide(edge_radius, centre_radius, out=np.ones(len(segments)), where=arc)
    ratio[rolled] = 0.0
    return ratio


def centre_feeds(contact_ratio: FloatArray, feed_mm_per_s: float, step: Step) -> FloatArray:
    """Return the feed of the centre on each segment.

    With the contact ratio ``q = r / ρ`` the contact moves along the edge at q times the
    centre's feed F. On outer arcs (q < 1) the step may cap it: ``F' = min(F, cap / q)``. On
    inside arcs (q > 1) a step that holds the contact feed slows the centre to
    ``F' = F / q = F (r - d) / r``, but never below its floor. On a rolled corner the contact
    stands still (q = 0) and nothing is capped.

    Parameters
    ----------
    contact_ratio : (n,) array
        As :attr:`CentreLine.contact_ratio`.
    feed_mm_per_s : float
        Programmed feed with all factors applied [mm/s].
    step : Step
        Holds the cap, whether the contact feed is held, and the floor.

    Returns
    -------
    (n,) array
        [mm/s].
    """
    q = contact_ratio
    feed = np.full(len(q), feed_mm_per_s)
    cap = step.edge_feed_cap_mm_per_s
    outer = (q < 1.0) & (q > 0.0)
    if np.isfinite(cap) and outer.any():
        feed[outer] = np.minimum(feed_mm_per_s, cap / q[outer])
    # On an inside arc the edge runs past the wheel faster than its centre moves.
    if step.hold_contact_feed:
        inside = q > 1.0
        feed[inside] = feed_mm_per_s * np.maximum(1.0 / q[inside], step.feed_floor)
    return feed
