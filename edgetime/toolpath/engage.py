"""Engagements: a tool comes to an edge, follows it and leaves it, in XY.

Equal engagements (the same run, offset, clearance, leads and tool) are computed once, however
many passes use them. Leads and overruns of a whole load are fitted together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from edgetime.geometry.path import FloatArray, IntArray
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.moves import MoveKind
from edgetime.tolerances import ZERO_LENGTH_MM
from edgetime.toolpath.centre import CentreLine
from edgetime.toolpath.leads import LEAST_LEAD_MM, Ground, Spots, fit, lead, overrun


@dataclass(frozen=True, eq=False)
class Wish:
    """What one engagement asks for, before it is known what fits.

    Attributes
    ----------
    line : CentreLine
        The centre line in the cut, as an open line (one round of a closed run).
    overlap : CentreLine or None
        What a closed run goes on for beyond its start.
    owner : int
        Number of the ground: part and side.
    need_mm : float
        Distance the centre keeps from the stone [mm].
    lead : str
        ``arc``, ``straight`` or ``plunge``.
    lead_mm : float
        Radius or length [mm].
    overrun_in_mm, overrun_out_mm : float
        Overrun at the start and at the end, 0 where the run is not free [mm].
    clear_mm : float
        Distance from the stone at which the tool may go up and down [mm]; 0 where it may do
        so on the edge line.
    """

    line: CentreLine
    overlap: CentreLine | None
    owner: int
    need_mm: float
    lead: str
    lead_mm: float
    overrun_in_mm: float
    overrun_out_mm: float
    clear_mm: float


@dataclass(frozen=True, eq=False)
class Engagement:
    """One engagement in XY: n moves one after the other.

    Attributes
    ----------
    start : (2,) array
        Where the tool goes down [mm].
    end : (n, 2) array
        End of each move [mm].
    bulge, length : (n,) array
        Shape [-] and exact length [mm].
    kind : (n,) int8 array
        ``LEAD`` or ``CUT``.
    treated, contact_ratio : (n,) array
        As :class:`CentreLine`; 0 and 1 on leads.
    tags : (n,) integer array
        Segment of the run's path; of the nearest cut for leads.
    clear : bool
        Whether the tool goes down and up where it must: clear of the stone if the wish says so.
    """

    start: FloatArray
    end: FloatArray
    bulge: FloatArray
    length: FloatArray
    kind: NDArray[np.int8]
    treated: FloatArray
    contact_ratio: FloatArray
    tags: IntArray
    clear: bool

    def segments(self) -> Segments:
        """Return the moves as planar segments."""
        return Segments(np.vstack([self.start[None, :], self.end[:-1]]), self.end, self.bulge)


def _last(wish: Wish) -> CentreLine:
    return wish.line if wish.overlap is None else wish.overlap


def _spots(wishes: list[Wish], *, out: bool) -> Spots:
    """Return the places where the centre lines begin or, with ``out``, end."""
    lines = [_last(w) if out else w.line for w in wishes]
    row = -1 if out else 0
    ends = Segments(
        np.array([c.segments.start[row] for c in lines]).reshape(-1, 2),
        np.array([c.segments.end[row] for c in lines]).reshape(-1, 2),
        np.array([c.segments.bulge[row] for c in lines]),
    )
    angle = ends.direction(np.full(len(ends), 1.0 if out else 0.0))
    tangent = np.column_stack([np.cos(angle), np.sin(angle)])
    air = np.column_stack([tangent[:, 1], -tangent[:, 0]])
    return Spots(
        ends.end if out else ends.start,
        tangent if out else -tangent,
        air,
        np.array([w.owner for w in wishes], dtype=np.int64),
        np.array([w.need_mm for w in wishes]),
    )


def _approaches(
    wishes: list[Wish], ground: Ground, *, out: bool
) -> tuple[FloatArray, FloatArray, Segments, Segments, BoolArray]:
    """Fit the overruns and leads at one end of all engagements.

    Returns
    -------
    over, size : (n,) array
        Overrun and lead that fit [mm].
    overruns, leads : Segments
        Outward, n rows.
    clear : (n,) boolean array
        Whether the outer end is where the tool may go down.
    """
    spots = _spots(wishes, out=out)
    asked = np.array([w.overrun_out_mm if out else w.overrun_in_mm for w in wishes])
    over = fit(spots, asked, ZERO_LENGTH_MM, ground, lambda s, size, _: overrun(s, size))
    overruns = overrun(spots, over)
    arc = np.array([w.lead == "arc" for w in wishes], dtype=np.bool_)
    plunge = np.array([w.lead == "plunge" for w in wishes], dtype=np.bool_)
    asked = np.where(plunge, 0.0, np.array([w.lead_mm for w in wishes]))
    moved = spots.moved(over)
    size = fit(moved, asked, LEAST_LEAD_MM, ground, lambda s, size, rows: lead(s, size, arc[rows]))
    leads = lead(moved, size, arc)
    # A disc that works on the back goes down beside the stone: a whole radius must be free there.
    off = np.array([w.clear_mm for w in wishes])
    spot = Segments(leads.end, leads.end, np.zeros(len(leads)))
    clear = (off <= 0.0) | ground.clear(spot, spots.owner, off)
    return over, size, overruns, leads, clear


def engagements(wishes: list[Wish], ground: Ground) -> list[Engagement]:
    """Return the engagements, each wish with the leads and overruns that fit."""
    if not wishes:
        return []
    come = _approaches(wishes, ground, out=False)
    leave = _approaches(wishes, ground, out=True)
    return [
        _engagement(
            w,
            _approach(come, k, out=False),
            _approach(leave, k, out=True),
            clear=bool(come[4][k] and leave[4][k]),
        )
        for k, w in enumerate(wishes)
    ]


def _approach(
    fitted: tuple[FloatArray, FloatArray, Segments, Segments, BoolArray], k: int, *, out: bool
) -> list[tuple[FloatArray, FloatArray, float]]:
    """Return (start, end, bulge) of the moves at one end of one engagement, in running order."""
    over, size, overruns, leads, _ = fitted
    moves = []
    if over[k] > 0.0:
        moves.append((overruns.start[k], overruns.end[k], 0.0))
    if size[k] > 0.0:
        moves.append((leads.start[k], leads.end[k], float(leads.bulge[k])))
    if out:
        return moves
    return [(end, start, -bulge) for start, end, bulge in reversed(moves)]


def _engagement(
    wish: Wish,
    come: list[tuple[FloatArray, FloatArray, float]],
    leave: list[tuple[FloatArray, FloatArray, float]],
    *,
    clear: bool,
) -> Engagement:
    """Put one engagement together."""
    cut, lap = wish.line, wish.overlap
    tail = _last(wish)
    ends = [np.array([m[1] for m in come]).reshape(-1, 2), cut.segments.end]
    bulges = [np.array([m[2] for m in come]), cut.segments.bulge]
    if lap is not None:
        ends.append(lap.segments.end)
        bulges.append(lap.segments.bulge)
    ends.append(np.array([m[1] for m in leave]).reshape(-1, 2))
    bulges.append(np.array([m[2] for m in leave]))
    end, bulge = np.concatenate(ends), np.concatenate(bulges)
    start = come[0][0] if come else cut.segments.start[0]
    length = Segments(np.vstack([start[None, :], end[:-1]]), end, bulge).lengths.copy()
    a = len(come)
    b = a + len(cut)
    n = len(end)
    # The centre line knows its lengths more exactly: those of spline pieces are their own.
    length[a:b] = cut.length
    kind = np.full(n, MoveKind.LEAD, dtype=np.int8)
    kind[a:b] = MoveKind.CUT
    treated, ratio = np.zeros(n), np.ones(n)
    treated[a:b], ratio[a:b] = cut.treated, cut.contact_ratio
    tags = np.concatenate(
        [
            np.full(a, cut.tags[0]),
            cut.tags,
            np.zeros(0, dtype=np.int64) if lap is None else lap.tags,
            np.full(len(leave), tail.tags[-1]),
        ]
    )
    if lap is not None:
        stop = b + len(lap)
        length[b:stop], ratio[b:stop] = lap.length, lap.contact_ratio
    return Engagement(start, end, bulge, length, kind, treated, ratio, tags, clear)
