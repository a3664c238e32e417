"""Parts moved rigidly: turned about the origin, then shifted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from edgetime.geometry.path import FloatArray, Path
from edgetime.takeoff.parts import Contour, Part


def moved_path(path: Path, turn: FloatArray, shift: FloatArray) -> Path:
    """Return a path turned about the origin, then shifted; as :func:`moved_part`."""
    # A rigid motion keeps bulges and lengths, so only the vertices change.
    return replace(path, points=path.points @ turn.T + shift)


def _moved_contour(contour: Contour, turn: FloatArray, shift: FloatArray) -> Contour:
    return replace(contour, path=moved_path(contour.path, turn, shift))


def moved_part(part: Part, turn: FloatArray, shift: FloatArray) -> Part:
    """Return a part turned about the origin, then shifted.

    Parameters
    ----------
    part : Part
        As drawn.
    turn : (2, 2) array
        Rotation matrix.
    shift : (2,) array
        Translation [mm].
    """
    holes = []
    for hole in part.holes:
        x, y = turn @ np.array([hole.x_mm, hole.y_mm]) + shift
        holes.append(replace(hole, x_mm=float(x), y_mm=float(y)))
    return replace(
        part,
        outline=_moved_contour(part.outline, turn, shift),
        cutouts=tuple(
            replace(c, contour=_moved_contour(c.contour, turn, shift)) for c in part.cutouts
        ),
        holes=tuple(holes),
    )
