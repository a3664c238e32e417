"""Parting and joining of paths, with their exact lengths kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from edgetime.errors import InternalError, Where
from edgetime.geometry.measure import locate, vertex_positions
from edgetime.geometry.path import FloatArray, IntArray, Path
from edgetime.geometry.segments import Segments
from edgetime.tolerances import COINCIDENT_MM, ZERO_LENGTH_MM

"""A merged arc turns by no more [rad]: a full circle has no chord, and near it no digits."""


def cut_rows(
    lengths: FloatArray, row: IntArray, at: FloatArray, slack_mm: float
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Cut the rows of a table at fractions of them.

    Parameters
    ----------
    lengths : (n,) array
        Of the rows [mm].
    row, at : (m,) array
        Row and fraction of each cut, in any order.
    slack_mm : float
        A cut no further than this from an end, or from the cut before, makes no piece [mm].

    Returns
    -------
    row, low, high : (k,) array
        Of each piece, in order: its row and the fractions between which it lies. With ``k = n``
        nothing is cut.
    """
    n, length = len(lengths), lengths[row]
    inner = (at * length > slack_mm) & ((1.0 - at) * length > slack_mm)
    row = np.concatenate([np.arange(n), row[inner]])
    low = np.concatenate([np.zeros(n), at[inner]])
    order = np.lexsort((low, row))
    row, low = row[order], low[order]
    # Cuts that all but coincide, such as a crossing found from both sides, are one.
    apart = np.ones(len(row), dtype=np.bool_)
    apart[1:] = (np.diff(row) > 0) | (np.diff(low) * lengths[row[1:]] > slack_mm)
    row, low = row[apart], low[apart]
    high = np.append(low[1:], 1.0)
    high[np.append(row[1:] != row[:-1], True)] = 1.0
    return row, low, high


def over_start(stretches: list[tuple[float, float]], total: float) -> list[tuple[float, float]]:
    """Return stretches of a closed path [mm], first and last joined if they meet at its start.

    A stretch over the start ends beyond the path's length, ``total``.
    """
    out = list(stretches)
    if len(out) > 1 and out[0][0] <= COINCIDENT_MM and out[-1][1] >= total - COINCIDENT_MM:
        _, high = out.pop(0)
        out[-1] = (out[-1][0], total + high)
    return out


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
    row, low, high = cut_rows(path.lengths, segment, fraction, ZERO_LENGTH_MM)
    if len(row) == len(path):
        return path
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
    return concatenate([cut.slice(first, len(cut)), cut.slice(0, first)], closed=True)


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
    return replace(cut.slice(first, stop), closed=False)


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
