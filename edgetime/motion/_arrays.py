"""Array types of the stage, and work in blocks that fit the cache."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

_BLOCK: Final = 8192
"""Rows a block: its dozen temporaries stay within the cache and are not fetched anew from the
system, which makes work row by row two to five times faster from 1e5 rows."""


def in_blocks(
    function: Callable[..., tuple[FloatArray, FloatArray]], *columns: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return two columns that a function makes of others row by row, block after block.

    Parameters
    ----------
    function : callable
        Takes the columns, returns two of the same length.
    columns : (n,) array
        What it works on.

    Returns
    -------
    first, second : (n,) array
    """
    n = len(columns[0])
    if n <= _BLOCK:
        return function(*columns)
    first, second = np.empty(n), np.empty(n)
    for start in range(0, n, _BLOCK):
        rows = slice(start, start + _BLOCK)
        first[rows], second[rows] = function(*(column[rows] for column in columns))
    return first, second
