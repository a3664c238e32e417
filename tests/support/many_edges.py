"""A load of two thousand edges: more than a table ever holds, to see what a page makes of it."""

from __future__ import annotations

from pathlib import Path

from support.pen import Pen

COLUMNS, ROWS = 20, 13
WIDE_MM, DEEP_MM = 130.0, 100.0
SIDES = ("EASED", "EDGE-HALF-BULLNOSE", "WALL", "EDGE-BEVEL")
EDGES = 8 * COLUMNS * ROWS


def write_many_edges(path: Path) -> Path:
    """Draw 260 samples on a large table, each side half of one profile and half of the next."""
    pen = Pen()
    for k in range(COLUMNS * ROWS):
        x, y = 120.0 + 240.0 * (k % COLUMNS), 90.0 + 185.0 * (k // COLUMNS)
        x1, y1, xm, ym = x + WIDE_MM, y + DEEP_MM, x + 0.5 * WIDE_MM, y + 0.5 * DEEP_MM
        around = [(x, y), (xm, y), (x1, y), (x1, ym), (x1, y1), (xm, y1), (x, y1), (x, ym)]
        for n, start in enumerate(around):
            pen.line(SIDES[n % 4], start, around[(n + 1) % 8])
    return pen.save(path)
