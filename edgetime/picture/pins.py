"""Findings pinned on a plan."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from edgetime.findings import Finding
from edgetime.picture.canvas import TEXT, Canvas, clean, group
from edgetime.picture.scene import Show
from edgetime.picture.styles import SEVERITY, Stroke

_RING: Final = 2.3
"""Distance of a mark from what it marks, in its radii: it must not cover it."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A mark of a finding.

    Attributes
    ----------
    number : int
        Of its kind.
    finding : Finding
        The first of its kind.
    x_mm, y_mm : float
        What it marks [mm].
    at_mm : (float, float)
        Where the mark is [mm].
    """

    number: int
    finding: Finding
    x_mm: float
    y_mm: float
    at_mm: tuple[float, float]


def placed(canvas: Canvas) -> list[Pin]:
    """Return the marks of all findings that have a place, the worst first.

    Marks of one kind that would hide one another are one. A mark is above its place; where
    another is there already, beside it.
    """
    if Show.FINDINGS not in canvas.show:
        return []
    cell = 1.2 * TEXT * canvas.unit
    r = radius(canvas)
    apart = 2.2 * r
    out: list[Pin] = []
    # Marks by squares of that distance: only those of nine squares can be too near, and a large load
    # has a thousand of them.
    taken: dict[tuple[int, int], list[tuple[float, float]]] = {}

    def free(at: tuple[float, float]) -> bool:
        column, row = math.floor(at[0] / apart), math.floor(at[1] / apart)
        return all(
            math.dist(at, other) > apart
            for i in (column - 1, column, column + 1)
            for k in (row - 1, row, row + 1)
            for other in taken.get((i, k), ())
        )

    for kind in canvas.groups:
        spots = {(round(x / cell), round(y / cell)): (x, y) for x, y in reversed(kind.places)}
        for x, y in spots.values():
            rings = [
                (x + k * _RING * r * math.sin(turn), y + k * _RING * r * math.cos(turn))
                for k in (1, 2)
                for turn in (0.25 * math.pi * n for n in (0, 1, -1, 2, -2, 3, -3, 4))
            ]
            at = next(filter(free, rings), rings[0])
            square = (math.floor(at[0] / apart), math.floor(at[1] / apart))
            taken.setdefault(square, []).append(at)
            out.append(Pin(kind.number, kind.findings[0], x, y, at))
    return out


def radius(canvas: Canvas) -> float:
    """Return the radius of a mark [mm]."""
    return 0.75 * TEXT * canvas.unit


def pins(canvas: Canvas) -> Iterator[str]:
    """Mark each finding that has a place, the worst last and so above the others."""
    yield from group("findings", (_pin(canvas, pin) for pin in reversed(placed(canvas))))


def _pin(canvas: Canvas, pin: Pin) -> str:
    finding = pin.finding
    colour, shape = SEVERITY[finding.severity]
    x, y = pin.at_mm
    r = radius(canvas)
    told = f"{finding.severity} {finding.code}: {finding.message}"
    n = canvas.pen.n
    outline = {
        "triangle": f'<path d="M{n(x)} {n(-y - 1.3 * r)}L{n(x + 1.3 * r)} {n(-y + r)}'
        f'H{n(x - 1.3 * r)}Z"',
        "diamond": f'<path d="M{n(x)} {n(-y - 1.2 * r)}L{n(x + 1.2 * r)} {n(-y)}'
        f'L{n(x)} {n(-y + 1.2 * r)}L{n(x - 1.2 * r)} {n(-y)}Z"',
        "circle": f'<circle cx="{n(x)}" cy="{n(-y)}" r="{n(r)}"',
    }[shape]
    width = n(0.8 * canvas.unit)
    label = canvas.pen.text(
        x, y - 0.38 * r, str(pin.number), size=0.75, anchor="middle", more=' fill="#ffffff"'
    )
    leader = (
        f'<path d="M{n(pin.x_mm)} {n(-pin.y_mm)}L{n(x)} {n(-y)}" '
        f"{canvas.pen.stroke(Stroke(colour, (), 1.0))}/>"
    )
    return (
        f'<g data-finding="{pin.number}"><title>{clean(told)}</title>{leader}{outline} '
        f'fill="{colour}" stroke="#ffffff" stroke-width="{width}"/>{label}</g>'
    )
