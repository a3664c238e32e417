"""Which boxes overlap, which points are close: near-linear searches on plain arrays."""

from __future__ import annotations

import numpy as np

from edgetime.geometry.path import FloatArray, IntArray

_NONE = (np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64))


def expand(first: IntArray, stop: IntArray) -> tuple[IntArray, IntArray]:
    """Return (row, index) for every index in the half-open ranges ``first[row]:stop[row]``."""
    count = np.maximum(stop - first, 0)
    rows = np.repeat(np.arange(len(first)), count)
    offset = np.arange(len(rows)) - np.repeat(np.cumsum(count) - count, count)
    return rows, first[rows] + offset


def _cells(x: IntArray, y: IntArray) -> IntArray:
    # One number per cell; a collision only costs a candidate that the exact test drops.
    return np.asarray(x * np.int64(0x1F123BB5) + y)


def _matches(keys_a: IntArray, keys_b: IntArray) -> tuple[IntArray, IntArray]:
    order = np.argsort(keys_b, kind="stable")
    ordered = keys_b[order]
    rows, at = expand(
        np.searchsorted(ordered, keys_a, "left"), np.searchsorted(ordered, keys_a, "right")
    )
    return rows, order[at]


def box_pairs(a: FloatArray, b: FloatArray, *, margin_mm: float) -> tuple[IntArray, IntArray]:
    """Return all (i, j) for which box ``a[i]`` comes within a margin of box ``b[j]``.

    Boxes are sorted into grids by size, each grid's cells as large as its boxes, so a box
    lies in at most four cells and is compared with its neighbours only.

    Parameters
    ----------
    a, b : (n, 4), (m, 4) array
        x_min, y_min, x_max, y_max [mm].
    margin_mm : float
        Boxes further apart than this in x or in y are not a pair [mm].

    Returns
    -------
    i, j : (k,) integer arrays
        In order of i, then j.
    """
    if not len(a) or not len(b):
        return _NONE
    grow = np.array([-1.0, -1.0, 1.0, 1.0]) * margin_mm
    a = a + grow

    def levels(box: FloatArray) -> IntArray:
        size = np.maximum(box[:, 2] - box[:, 0], box[:, 3] - box[:, 1])
        return np.ceil(np.log2(np.maximum(size, 1.0))).astype(np.int64)

    # Boxes of like size share a grid, so that none covers more than four cells of its own, however
    # much the sizes of lines differ.
    level_a, level_b = levels(a), levels(b)
    found_i: list[IntArray] = []
    found_j: list[IntArray] = []
    for la in np.unique(level_a):
        rows_a = np.nonzero(level_a == la)[0]
        for lb in np.unique(level_b):
            rows_b = np.nonzero(level_b == lb)[0]
            cell = float(2.0 ** max(la, lb))
            key_a, own_a = _covered(a[rows_a], cell)
            key_b, own_b = _covered(b[rows_b], cell)
            i, j = _matches(key_a, key_b)
            i, j = rows_a[own_a[i]], rows_b[own_b[j]]
            near = ((a[i, :2] <= b[j, 2:]) & (b[j, :2] <= a[i, 2:])).all(axis=1)
            found_i.append(i[near])
            found_j.append(j[near])
    # Sorted here: np.unique hashes first, which is slow once the table outgrows the cache.
    pair = np.sort(np.concatenate(found_i) * len(b) + np.concatenate(found_j))
    pair = pair[np.diff(pair, prepend=-1) > 0]
    return pair // len(b), pair % len(b)


def _covered(box: FloatArray, cell: float) -> tuple[IntArray, IntArray]:
    low = np.floor(box[:, :2] / cell).astype(np.int64)
    high = np.floor(box[:, 2:] / cell).astype(np.int64)
    keys, owners = [], []
    rows = np.arange(len(box))
    for dx in (0, 1):
        for dy in (0, 1):
            use = (low[:, 0] + dx <= high[:, 0]) & (low[:, 1] + dy <= high[:, 1])
            keys.append(_cells(low[use, 0] + dx, low[use, 1] + dy))
            owners.append(rows[use])
    return np.concatenate(keys), np.concatenate(owners)


def close_pairs(
    points: FloatArray, groups: IntArray, *, within_mm: float
) -> tuple[IntArray, IntArray]:
    """Return all (i, j), i < j, of points of one group no further apart than a distance.

    Parameters
    ----------
    points : (n, 2) array
        Points [mm]; equal points should have been merged before.
    groups : (n,) integer array
        Points of different groups are not a pair.
    within_mm : float
        The distance [mm].
    """
    if len(points) < 2:
        return _NONE
    cell = np.floor(points / within_mm).astype(np.int64)
    salt = groups * np.int64(0x5851F42D4C957F2D)
    key = _cells(cell[:, 0], cell[:, 1]) + salt
    found_i, found_j = [], []
    for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1), (1, -1)):
        i, j = _matches(_cells(cell[:, 0] + dx, cell[:, 1] + dy) + salt, key)
        if (dx, dy) == (0, 0):
            i, j = i[i < j], j[i < j]
        d = points[i] - points[j]
        near = (np.hypot(d[:, 0], d[:, 1]) <= within_mm) & (groups[i] == groups[j])
        found_i.append(np.minimum(i, j)[near])
        found_j.append(np.maximum(i, j)[near])
    return np.concatenate(found_i), np.concatenate(found_j)


def components(count: int, i: IntArray, j: IntArray) -> IntArray:
    """Return for each of ``count`` items the smallest item it is linked with by (i, j)."""
    label = np.arange(count)
    while True:
        low = np.minimum(label[i], label[j])
        new = label.copy()
        np.minimum.at(new, label[i], low)
        np.minimum.at(new, label[j], low)
        # Pointer jumping: a chain of n links takes log n rounds.
        while not np.array_equal(new, new[new]):
            new = new[new]
        if np.array_equal(new, label):
            return label
        label = new
