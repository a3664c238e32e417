"""Array types of the stage, and work in blocks that fit the cache."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

_BLOCK: Final = 8192
"""Rows a block: its dozen temporaries stay within the cache and are not fetched anew from the
system, which makes work row by row two to five times faster from 1e5 rows."""


_MakesTwo = Callable[..., tuple[FloatArray, FloatArray]]


def in_blocks(function: _MakesTwo) -> _MakesTwo:
    """Make a function that turns columns into two others, row by row, do so block after block."""

    @wraps(function)
    def blockwise(*columns: FloatArray) -> tuple[FloatArray, FloatArray]:
        n = len(columns[0])
        if n <= _BLOCK:
            return function(*columns)
        first, second = np.empty(n), np.empty(n)
        for start in range(0, n, _BLOCK):
            rows = slice(start, start + _BLOCK)
            first[rows], second[rows] = function(*(column[rows] for column in columns))
        return first, second

    return blockwise
