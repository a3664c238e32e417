"""Walks over pieces that meet at nodes: chains, cycles, and the areas pieces enclose.

A step of a walk is a piece run in one direction, 2·row + (1 if reversed).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from edgetime.geometry.path import IntArray
from edgetime.takeoff.pieces import Pieces


def follow(pieces: Pieces, walk: Sequence[int]) -> Pieces:
    """Return the pieces of a walk head to tail; a step is 2·row + (1 if reversed)."""
    steps = np.array(walk, dtype=np.int64)
    return pieces.take(steps // 2).turned(steps % 2 == 1)


def chains(pieces: Pieces, node: IntArray, rows: IntArray) -> list[Pieces]:
    """Order pieces to chains between ends and branches."""
    at: dict[int, list[int]] = defaultdict(list)
    for r in rows.tolist():
        at[int(node[r, 0])].append(2 * r)
        at[int(node[r, 1])].append(2 * r + 1)
    done: set[int] = set()
    out = []
    starts = [h for n in sorted(at) if len(at[n]) != 2 for h in at[n]]
    for h in [*starts, *(2 * r for r in rows.tolist())]:
        walk = []
        step = h
        while step // 2 not in done:
            done.add(step // 2)
            walk.append(step)
            far = step ^ 1
            n = int(node[far // 2, far % 2])
            if len(at[n]) != 2:
                break
            step = at[n][0] if at[n][1] == far else at[n][1]
        if walk:
            out.append(follow(pieces, walk))
    return out


def cycles(node: IntArray, rows: IntArray) -> list[list[int]]:
    """Walk the cycles of pieces that meet two by two; a step is 2·row + (1 if reversed)."""
    if not len(rows):
        return []
    halves = np.concatenate([2 * rows, 2 * rows + 1])
    at = np.concatenate([node[rows, 0], node[rows, 1]])
    order = np.lexsort((halves, at))
    # Two ends meet at every node here: sorted by node they stand in pairs.
    pair = halves[order].reshape(-1, 2)
    partner_of = np.zeros(2 * len(node), dtype=np.int64)
    partner_of[pair] = pair[:, ::-1]
    partner = partner_of.tolist()
    done = bytearray(len(node))
    out = []
    for row in rows.tolist():
        if done[row]:
            continue
        walk = []
        step = 2 * row
        while not done[step >> 1]:
            done[step >> 1] = 1
            walk.append(step)
            step = partner[step ^ 1]
        out.append(walk)
    return out


def enclosed(pieces: Pieces, node: IntArray, steps: IntArray) -> list[list[int]]:
    """Walk the areas that directed pieces enclose on their left.

    Parameters
    ----------
    pieces : Pieces
        The pieces.
    node : (n, 2) integer array
        Their nodes.
    steps : (k,) integer array
        Directed pieces, 2·row + (1 if reversed); each borders one area.

    Returns
    -------
    list of list of int
        The steps of each closed walk. The walk around the outside has a negative area.
    """
    row, back = steps // 2, steps % 2 == 1
    run = pieces.take(row).turned(back)
    zero = np.zeros(len(steps))
    # Leaving directions, then the curvature: of two that leave alike the one bending left is
    # further to the left.
    leave = np.mod(np.round(run.shape.direction(zero), 6), round(2.0 * np.pi, 6))
    bend = run.shape.curvature
    arrive = np.mod(np.round(run.shape.direction(zero + 1.0) + np.pi, 6), round(2.0 * np.pi, 6))
    tail = np.where(back, node[row, 1], node[row, 0]).tolist()
    head = np.where(back, node[row, 0], node[row, 1]).tolist()
    at: dict[int, list[tuple[float, float, int]]] = defaultdict(list)
    for k, n in enumerate(tail):
        at[n].append((float(leave[k]), float(bend[k]), k))
    for fan in at.values():
        fan.sort()
    index = {step: k for k, step in enumerate(steps.tolist())}
    done = [False] * len(steps)
    out = []
    for first in range(len(steps)):
        walk: list[int] = []
        k = first
        while not done[k]:
            done[k] = True
            walk.append(k)
            fan = at[head[k]]
            # The next one clockwise from where we came from keeps the area on the left.
            twin = index.get(int(steps[k]) ^ 1)
            if twin is None:
                here = (float(arrive[k]), -float(bend[k]))
                turn = sum(f[:2] < here for f in fan)
            else:
                turn = next(i for i, f in enumerate(fan) if f[2] == twin)
            k = fan[turn - 1][2]
        if walk:
            out.append(steps[np.array(walk)].tolist())
    return out
