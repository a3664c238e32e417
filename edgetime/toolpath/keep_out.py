"""Whether a swept wheel keeps clear of clamps, stops and cups."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from edgetime.errors import Where
from edgetime.findings import Finding, Severity
from edgetime.geometry.measure import contains
from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.passes.pass_plan import PassPlan
from edgetime.tooling.keep_out import KeepOut, KeepOutKind
from edgetime.toolpath.codes import KEEP_OUT
from edgetime.toolpath.distance import nearest_within

if TYPE_CHECKING:
    from edgetime.toolpath.checks import Sweep

UNDERSIDE_MM: Final = 1.0
"""A tool that comes this near to the underside of the slab, or below it, meets the cups [mm]."""

_TRIED: Final = 65
"""Places along a move tried for the one a message names."""


def keep_out_findings(
    plan: PassPlan, sweeps: Sequence[Sweep], radii: FloatArray
) -> tuple[Finding, ...]:
    """Return where a wheel comes too near to a clamp, stop or cup.

    Parameters
    ----------
    plan : PassPlan
        For the areas, the machine's spacing, and names.
    sweeps : sequence of Sweep
        All that is swept at depth, leads, plunges and the ways between passes included.
    radii : (n,) array
        Greatest radius of the tool of each sweep [mm].

    Returns
    -------
    tuple of Finding
        One per area and part, with the tool that comes nearest to cutting into it.
    """
    areas = plan.load.keep_outs
    if not areas:
        return ()
    owner = np.repeat(np.arange(len(sweeps)), [len(s.centre) for s in sweeps])
    lines = Segments.stack([s.centre for s in sweeps])
    deep = np.array([_meets_cups(plan, s) for s in sweeps], dtype=np.bool_)
    out: list[Finding] = []
    for area in areas:
        counts = deep if area.kind is KeepOutKind.CUP else np.ones(len(sweeps), dtype=np.bool_)
        away, place = _clearance(area, lines, owner, radii + plan.load.machine.spacing_mm, counts)
        out += _findings(plan, area, sweeps, radii, away, place)
    return tuple(out)


def _meets_cups(plan: PassPlan, sweep: Sweep) -> bool:
    """Return whether a tool comes down to the underside of its part, where the cups are."""
    actual = plan.load.parts[sweep.source.run.part].actual_mm
    return sweep.bottom_z_mm <= UNDERSIDE_MM - actual


def _clearance(
    area: KeepOut, lines: Segments, owner: np.ndarray, need: FloatArray, counts: BoolArray
) -> tuple[FloatArray, FloatArray]:
    """Return how near each sweep's centre comes to an area, 0 inside it, and where.

    Returns
    -------
    away : (n,) array
        Per sweep, infinite where it is not nearer than it needs to be [mm].
    place : (n, 2) array
        About where it comes nearest [mm].
    """
    n = len(counts)
    walls = Segments.stack([Segments.of(p) for p in area.paths])
    per_line, _ = nearest_within(lines, need[owner], walls, lambda a, _: counts[owner[a]])
    for path in area.paths:
        # Wholly inside an area a line is far from its walls.
        if path.closed:
            inside = contains(path, lines.start) | contains(path, lines.end)
            per_line[inside & counts[owner]] = 0.0
    away = np.full(n, np.inf)
    np.minimum.at(away, owner, per_line)
    place = np.zeros((n, 2))
    for row in np.flatnonzero((per_line == away[owner]) & np.isfinite(per_line))[::-1].tolist():
        place[owner[row]] = _nearest_point(lines.take(np.array([row])), walls)
    return away, place


def _nearest_point(line: Segments, walls: Segments) -> FloatArray:
    """Return about where on a move it comes nearest to the lines of an area (2,) [mm]."""
    points = line.take(np.zeros(_TRIED, dtype=np.int64)).point(np.linspace(0.0, 1.0, _TRIED))
    away = walls.distance(points[:, :1], points[:, 1:]).min(axis=1)
    return np.asarray(points[int(np.argmin(away))])


def _findings(
    plan: PassPlan,
    area: KeepOut,
    sweeps: Sequence[Sweep],
    radii: FloatArray,
    away: FloatArray,
    place: FloatArray,
) -> Iterator[Finding]:
    """Return the findings of one area, the worst tool of each part and how many more."""
    spacing = plan.load.machine.spacing_mm
    by_part: dict[int, list[int]] = {}
    for k in np.flatnonzero(np.isfinite(away)).tolist():
        by_part.setdefault(sweeps[k].source.run.part, []).append(k)
    for part, rows in by_part.items():
        k = min(rows, key=lambda row: away[row] - radii[row])
        more = len({sweeps[row].source.step.tool for row in rows}) - 1
        also = f" (and {more} more tool{'s' if more > 1 else ''})" if more else ""
        own = plan.load.parts[part].part
        x, y = place[k].tolist()
        yield Finding(
            KEEP_OUT,
            f"While {sweeps[k].source.step.tool}{also} works on {own.name}, its centre comes "
            f"within {away[k]:.1f} mm of {area.name}; it needs {radii[k] + spacing:.1f} mm "
            f"(radius {radii[k]:.1f} + spacing {spacing:.1f}).",
            Where(
                path=area.source,
                layer=area.layer or None,
                handle=area.handle or None,
                part=own.part_id,
                x_mm=x,
                y_mm=y,
            ),
            Severity.ERROR if away[k] < radii[k] else None,
        )
