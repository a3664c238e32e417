"""Parting and joining of paths, with their exact lengths kept."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from edgetime.errors import InternalError, Where
from edgetime.geometry.measure import corner_turns, locate, vertex_positions
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import Segments
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM

_MOST_TURN = 1.9 * np.pi
"""A merged arc turns by no more [rad]: a full circle has no chord, and near it no digits."""


def split_at(path: Path, positions: object) -> Path:
    """Return the path with further vertices at positions along it.

    Parameters
    ----------
    path : Path
        At least one segment.
    positions : (m,) array_like
        Positions [mm]; wrapped on a closed path. Those within 1e-6 mm of a vertex add none.

    Returns
    -------
    Path
        The same curve; a segment's exact length is shared out in proportion.
    """
    at = np.atleast_1d(np.asarray(positions, dtype=np.float64)).ravel()
    if not len(at):
        return path
    segment, fraction = locate(path, at)
    length = path.lengths[segment]
    inner = (fraction * length > ZERO_LENGTH_MM) & ((1.0 - fraction) * length > ZERO_LENGTH_MM)
    n = len(path)
    row = np.concatenate([np.arange(n), segment[inner]])
    low = np.concatenate([np.zeros(n), fraction[inner]])
    order = np.lexsort((low, row))
    row, low = row[order], low[order]
    apart = np.ones(len(row), dtype=np.bool_)
    apart[1:] = (np.diff(row) > 0) | (np.diff(low) * path.lengths[row[1:]] > ZERO_LENGTH_MM)
    row, low = row[apart], low[apart]
    if len(row) == n:
        return path
    high = np.append(low[1:], 1.0)
    high[np.append(row[1:] != row[:-1], True)] = 1.0
    pieces = Segments.of(path).take(row).between(low, high)
    return Path(
        np.vstack([pieces.start, path.points[-1:]]),
        pieces.bulge,
        path.lengths[row] * (high - low),
        path.closed,
        path.tags[row],
    )


def _vertex_near(path: Path, s: float) -> int:
    """Return the index of the vertex nearest to a position."""
    return int(np.argmin(np.abs(vertex_positions(path) - s)))


def start_at(path: Path, s: float) -> Path:
    """Return a closed path that starts at another place of itself.

    Parameters
    ----------
    path : Path
        Closed.
    s : float
        Position of the new start [mm], wrapped; a vertex is inserted if there is none.

    Returns
    -------
    Path
        The same closed curve.
    """
    total = path.length_mm
    place = float(np.mod(s, total))
    cut = split_at(path, [place])
    first = _vertex_near(cut, place) % len(cut)
    if first == 0:
        return cut
    order = np.roll(np.arange(len(cut)), -first)
    points = cut.points[:-1][order]
    return Path(
        np.vstack([points, points[:1]]),
        cut.bulges[order],
        cut.lengths[order],
        True,
        cut.tags[order],
    )


def sub_path(path: Path, s0: float, s1: float) -> Path:
    """Return the open stretch between two positions.

    Parameters
    ----------
    path : Path
        At least one segment.
    s0, s1 : float
        Positions [mm]. On a closed path ``s1`` may be smaller than ``s0`` or exceed the
        length; the stretch then runs on over the start. It is never longer than one round,
        and a whole round is given when the two are one place apart by the length.

    Returns
    -------
    Path
        Open.

    Raises
    ------
    InternalError
        If the stretch has no length.
    """
    total = path.length_mm
    if path.closed:
        span = s1 - s0
        if span < 0.0:
            span = float(np.mod(span, total))
        span = min(span, total)
        start = float(np.mod(s0, total))
        if total - start <= ZERO_LENGTH_MM:
            start = 0.0
        if start > 0.0 and start + span > total + ZERO_LENGTH_MM:
            path = start_at(path, start)
            start = 0.0
        low, high = start, min(start + span, total)
    else:
        low, high = max(s0, 0.0), min(s1, total)
    if high - low <= ZERO_LENGTH_MM:
        raise InternalError(
            f"A stretch from {s0:.6f} to {s1:.6f} mm of a path of {total:.6f} mm has no length."
        )
    cut = split_at(path, [low, high])
    first, stop = _vertex_near(cut, low), _vertex_near(cut, high)
    if stop == 0:
        stop = len(cut)
    return Path(
        cut.points[first : stop + 1],
        cut.bulges[first:stop],
        cut.lengths[first:stop],
        False,
        cut.tags[first:stop],
    )


def concatenate(paths: Sequence[Path], *, closed: bool = False) -> Path:
    """Return one path that runs through all of the paths.

    Parameters
    ----------
    paths : sequence of Path
        At least one; each begins where the one before ends, within 1e-3 mm.
    closed : bool
        Whether the last ends where the first begins; the end is then set onto the start.

    Returns
    -------
    Path

    Raises
    ------
    InternalError
        If two of them do not meet.
    """
    ends = [p.points[-1] for p in paths]
    starts = [p.points[0] for p in paths]
    pairs = list(zip(ends[:-1], starts[1:], strict=True))
    if closed:
        pairs.append((ends[-1], starts[0]))
    for end, start in pairs:
        gap = float(np.hypot(*(start - end)))
        if gap > COINCIDENT_MM:
            raise InternalError(
                f"Paths to be joined are {gap:.6f} mm apart; {COINCIDENT_MM} mm is allowed.",
                where=Where(x_mm=float(end[0]), y_mm=float(end[1])),
            )
    last = starts[0] if closed else ends[-1]
    return Path(
        np.vstack([*(p.points[:-1] for p in paths), last[None, :]]),
        np.concatenate([p.bulges for p in paths]),
        np.concatenate([p.lengths for p in paths]),
        closed,
        np.concatenate([p.tags for p in paths]),
    )


def _merged(path: Path, first: int, stop: int) -> tuple[float, float]:
    """Return the bulge and length of segments ``first`` to ``stop - 1`` taken as one."""
    turn = float(4.0 * np.arctan(path.bulges[first:stop]).sum())
    return float(np.tan(0.25 * turn)), float(path.lengths[first:stop].sum())


def merge_collinear(path: Path, *, tolerance_mm: float = ZERO_LENGTH_MM) -> Path:
    """Return the path with runs of segments on one line or circle made one segment.

    Parameters
    ----------
    path : Path
        Open or closed; the start of a closed path stays.
    tolerance_mm : float
        No vertex that goes may lie further from the merged segment [mm].

    Returns
    -------
    Path
        The same curve and the same total of exact lengths. Only segments of equal tag, whose
        own length is that of their line or arc are merged.
    """
    n = len(path)
    if n < 2:
        return path
    table = Segments.of(path)
    geometric = table.lengths
    excess = np.abs(path.lengths - geometric) <= 1e-12 * np.maximum(geometric, 1.0)
    # The corner and the step in curvature, as the deviations they cause over a segment.
    shorter = np.minimum(geometric[:-1], geometric[1:])
    longer = np.maximum(geometric[:-1], geometric[1:])
    joins = (
        (np.abs(corner_turns(path)[:-1]) * shorter <= tolerance_mm)
        & (np.abs(np.diff(table.curvature)) * longer * longer <= 8.0 * tolerance_mm)
        & (path.tags[:-1] == path.tags[1:])
        & excess[:-1]
        & excess[1:]
    )
    groups: list[tuple[int, int]] = []
    first = 0
    angle = abs(float(table.turn[0]))
    for i in range(1, n):
        step = abs(float(table.turn[i]))
        if joins[i - 1] and angle + step < _MOST_TURN and _holds(path, first, i + 1, tolerance_mm):
            angle += step
            continue
        groups.append((first, i))
        first, angle = i, step
    groups.append((first, n))
    if len(groups) == n:
        return path
    begins = np.array([g[0] for g in groups])
    merged = np.array(
        [_merged(path, a, b) if b - a > 1 else (path.bulges[a], path.lengths[a]) for a, b in groups]
    )
    points: FloatArray = np.vstack([path.points[begins], path.points[-1:]])
    return Path(points, merged[:, 0], merged[:, 1], path.closed, path.tags[begins])


def _holds(path: Path, first: int, stop: int, tolerance_mm: float) -> bool:
    """Return whether the merged segment passes all vertices it replaces."""
    ends = path.points[[first, stop]]
    if float(np.hypot(*(ends[1] - ends[0]))) <= tolerance_mm:
        return False
    bulge, length = _merged(path, first, stop)
    one = Segments(ends[:1], ends[1:], np.array([bulge]))
    inner = path.points[first + 1 : stop]
    off = one.distance(inner[:, :1], inner[:, 1:]).max()
    return bool(off <= tolerance_mm and abs(one.lengths[0] - length) <= 1e-9 * max(length, 1.0))
