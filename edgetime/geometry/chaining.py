"""Pieces in order put together into continuous chains."""

from __future__ import annotations

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray
from edgetime.tolerances import COINCIDENT_MM


def link_chains(start: FloatArray, end: FloatArray, *, closed: bool) -> list[tuple[IntArray, bool]]:
    """Return the continuous chains among directed pieces.

    Parameters
    ----------
    start, end : (n, 2) array
        Ends of the pieces in order along their source [mm].
    closed : bool
        Whether the source is closed, so that a chain may run on over its start.

    Returns
    -------
    list of (rows, closed)
        Rows of each chain in running order; the chains in order of their first row. A piece
        runs on into the next of the order if they meet, else into whichever begins where it
        ends: so a tool that passes the mouth of a slot runs on along the far side.
    """
    n = len(start)
    if n == 0:
        return []
    gap = np.hypot(*(start[1:] - end[:-1]).T)
    breaks = np.flatnonzero(gap > COINCIDENT_MM) + 1
    first = np.concatenate([[0], breaks]).astype(np.int64)
    stop = np.concatenate([breaks, [n]]).astype(np.int64)
    count = len(first)
    heads, tails = start[first], end[stop - 1]
    follows = np.full(count, -1, dtype=np.int64)
    led = np.zeros(count, dtype=np.bool_)
    for k in range(count):
        away = np.hypot(*(heads - tails[k]).T)
        meets = np.flatnonzero((away <= COINCIDENT_MM) & ~led)
        if not closed and k == count - 1:
            # The ends of an open source may lie at one place and still are two ends.
            meets = meets[meets != 0]
        if not len(meets):
            continue
        # Of several pieces that begin here the next along the source goes on: a chain keeps to the
        # order of the edge it follows.
        ahead = (meets - k - 1) % count
        follows[k] = meets[np.argmin(ahead)]
        led[follows[k]] = True
    chains: list[tuple[IntArray, bool]] = []
    seen = np.zeros(count, dtype=np.bool_)
    openings = [int(k) for k in np.flatnonzero(~led)]
    for k in [*openings, *range(count)]:
        if seen[k]:
            continue
        order: list[int] = []
        at = k
        while at >= 0 and not seen[at]:
            seen[at] = True
            order.append(at)
            at = int(follows[at])
        rows = np.concatenate([np.arange(first[r], stop[r]) for r in order])
        chains.append((rows, at == k))
    chains.sort(key=lambda chain: int(chain[0][0]))
    return chains
