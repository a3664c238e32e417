"""Placing drawings on the table: exact rotation and translation of parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from edgetime.errors import UsageError, Where
from edgetime.geometry.measure import bounds
from edgetime.geometry.path import FloatArray
from edgetime.geometry.segments import box_around
from edgetime.load.moved import moved_part, moved_path
from edgetime.takeoff.parts import Part, TakeOff
from edgetime.tooling.keep_out import KeepOut

_QUARTER = math.pi / 2.0

MAX_PLACE_MM: Final = 100_000.0
"""No table is a hundred metres long; what is further out is a slip of the keyboard."""


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one drawing lies on the table.

    Attributes
    ----------
    drawing : str or int
        The drawing's path as given, or its number in the order given, from 0.
    x_mm, y_mm : float
        Where the lower left corner of its parts' bounds comes to lie, after turning [mm].
    rotation_rad : float
        Turn, positive counter-clockwise [rad].
    """

    drawing: str | int
    x_mm: float
    y_mm: float
    rotation_rad: float = 0.0


def rotation_matrix(angle_rad: float) -> FloatArray:
    """Return the 2 × 2 matrix of a turn; quarter turns are exact."""
    quarters = angle_rad / _QUARTER
    # The cosine of 90° is 6e-17 in floating point; straight lines must stay straight.
    if abs(quarters - round(quarters)) < 1e-12:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
    else:
        c, s = math.cos(angle_rad), math.sin(angle_rad)
    return np.array([[c, -s], [s, c]])


def bounds_of_parts(parts: Sequence[Part]) -> tuple[float, float, float, float]:
    """Return the exact bounds of the parts' outlines: x min, y min, x max, y max [mm]."""
    return box_around(np.array([bounds(part.outline.path) for part in parts]))


def drawing_index(take_off: TakeOff, drawing: str | int, key: str, what: str) -> int:
    """Return the number of a drawing of the load, from 0.

    Parameters
    ----------
    take_off : TakeOff
        The drawings.
    drawing : str or int
        Its path as given, a file name that only one of them bears, or its number.
    key, what : str
        The option that names it, and what that wants of it, for the error.

    Raises
    ------
    UsageError
        No drawing of the load, or several.
    """
    names = [d.path for d in take_off.drawings]
    where = Where(key=key)
    if isinstance(drawing, int):
        if 0 <= drawing < len(names):
            return drawing
        raise UsageError(
            f"Drawing {drawing} is to be {what}, but the load has {len(names)}, numbered from 0.",
            where=where,
            remedy=f"Give a number from 0 to {len(names) - 1}, or the drawing's path.",
        )
    hits = [i for i, name in enumerate(names) if name == drawing]
    if not hits:
        # A bare file name will do when only one drawing bears it.
        tail = drawing.replace("\\", "/").rsplit("/", 1)[-1]
        hits = [
            i
            for i, name in enumerate(names)
            if tail == drawing and name.replace("\\", "/").rsplit("/", 1)[-1] == tail
        ]
    if len(hits) != 1:
        known = ", ".join(names)
        state = "is in the load more than once" if hits else "is not in the load"
        raise UsageError(
            f"The drawing to be {what}, {drawing!r}, {state}.",
            where=where,
            remedy=f"Name one of: {known}.",
        )
    return hits[0]


_Motion = tuple[FloatArray, FloatArray]
"""Turn about the origin (2, 2), then shift (2,) [mm]."""


def _motions(
    take_off: TakeOff, place: Sequence[Placement], drawn: Sequence[Sequence[Part]]
) -> dict[int, _Motion]:
    """Return how each drawing is moved that does not lie as drawn, by its number."""
    by_drawing: dict[int, Placement] = {}
    for placement in place:
        index = drawing_index(take_off, placement.drawing, "--place", "placed")
        numbers = (placement.x_mm, placement.y_mm, placement.rotation_rad)
        # The comparison is false for NaN.
        near = all(abs(v) <= MAX_PLACE_MM for v in numbers[:2])
        if not (near and math.isfinite(placement.rotation_rad)):
            raise UsageError(
                f"The place {numbers} of drawing {take_off.drawings[index].path} is not finite, "
                f"or exceeds {MAX_PLACE_MM:g} mm.",
                where=Where(key="--place"),
                remedy="Give x and y in millimetres and the rotation in degrees, as plain numbers.",
            )
        if index in by_drawing:
            raise UsageError(
                f"Drawing {take_off.drawings[index].path} is placed twice.",
                where=Where(key="--place"),
                remedy="Place each drawing once; name a copy of the file to cut its parts twice.",
            )
        by_drawing[index] = placement

    out: dict[int, _Motion] = {}
    for index, chosen in by_drawing.items():
        if not drawn[index]:
            continue
        turn = rotation_matrix(chosen.rotation_rad)
        turned = [moved_part(p, turn, np.zeros(2)) for p in drawn[index]]
        x0, y0, _, _ = bounds_of_parts(turned)
        out[index] = (turn, np.array([chosen.x_mm - x0, chosen.y_mm - y0]))
    return out


def placed_parts(
    take_off: TakeOff, place: Sequence[Placement], drawn: Sequence[Sequence[Part]] | None = None
) -> tuple[tuple[Part, ...], ...]:
    """Return the parts of each drawing in table coordinates, in take-off order.

    Parameters
    ----------
    take_off : TakeOff
        Parts in drawing coordinates.
    place : sequence of Placement
        Drawings to be moved; the others lie where they are drawn.
    drawn : sequence of sequence of Part, optional
        The parts of each drawing, where they are not the take-off's own.

    Raises
    ------
    UsageError
        A placement names no drawing of the load, one drawing twice, or a place that is not
        finite or beyond :data:`MAX_PLACE_MM`.
    """
    parts_of = drawn or [d.parts for d in take_off.drawings]
    moved = _motions(take_off, place, parts_of)
    return tuple(
        tuple(moved_part(p, *moved[index]) for p in parts) if index in moved else tuple(parts)
        for index, parts in enumerate(parts_of)
    )


def placed_keep_outs(take_off: TakeOff, place: Sequence[Placement]) -> tuple[KeepOut, ...]:
    """Return all drawn keep-out areas in table coordinates; they move with their drawing."""
    moved = _motions(take_off, place, [d.parts for d in take_off.drawings])
    return tuple(
        replace(k, paths=tuple(moved_path(p, *moved[index]) for p in k.paths))
        if index in moved
        else k
        for index, drawing in enumerate(take_off.drawings)
        for k in drawing.keep_outs
    )
