"""Curves drawn as chords: contours that follow the lines and arcs meant."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from edgetime.geometry.chords import Chords, follow_chords
from edgetime.geometry.path import Path
from edgetime.geometry.segments import Segments
from edgetime.takeoff import codes
from edgetime.takeoff.notes import Notes
from edgetime.takeoff.parts import Contour
from edgetime.tolerances import COINCIDENT_MM


@dataclass(frozen=True, eq=False)
class Followed:
    """A contour whose runs of chords were taken for the curves they follow.

    Attributes
    ----------
    contour : Contour
        The same edges with the same lengths, on the new path.
    found : tuple of Chords
        What was recognised.
    """

    contour: Contour
    found: tuple[Chords, ...]

    def note(self, what: str, notes: Notes) -> None:
        """Note what was recognised on it, if anything, at its longest run of chords."""
        if self.found:
            _note(self.contour, self.found, what, notes)


def follow_contour(contour: Contour, tolerance_mm: float) -> Followed:
    """Return a contour with its runs of chords taken for the curve they follow.

    Parameters
    ----------
    contour : Contour
        As drawn; its path's tags count its edges.
    tolerance_mm : float
        As :func:`edgetime.geometry.chords.follow_chords`; 0 for none.
    """
    path, found = follow_chords(contour.path, tolerance_mm)
    if not found:
        return Followed(contour, ())
    marks = np.searchsorted(path.tags, np.arange(len(contour.edges) + 1)).tolist()
    edges = tuple(
        replace(e, first=marks[k], stop=marks[k + 1]) for k, e in enumerate(contour.edges)
    )
    return Followed(replace(contour, path=path, edges=edges), found)


def circle_of(path: Path) -> tuple[float, float, float] | None:
    """Return centre and diameter of a closed path that is one circle [mm], None for others."""
    table = Segments.of(path)
    if bool(table.straight.any()):
        return None
    own = np.column_stack([table.centre, 2.0 * np.abs(table.radius)])
    low, high = own.min(axis=0), own.max(axis=0)
    if bool((high - low > COINCIDENT_MM).any()):
        return None
    x, y, diameter = (0.5 * (low + high)).tolist()
    return x, y, diameter


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'s' if number != 1 else ''}"


def _note(contour: Contour, found: tuple[Chords, ...], what: str, notes: Notes) -> None:
    most = max(found, key=lambda f: f.chords)
    circle = circle_of(contour.path)
    made = [
        _count(number, word)
        for number, word in (
            (sum(f.arcs for f in found), "arc"),
            (sum(f.straights for f in found), "straight"),
        )
        if number
    ]
    meant = " and ".join(made) if circle is None else f"a circle of {circle[2]:.2f} mm"
    notes.add(
        codes.CHORDS_FOLLOWED,
        f"{sum(f.chords for f in found)} chords of {what} count as {meant} for the "
        f"tools: vertices are up to {max(f.vertex_off_mm for f in found):.3f} mm off, middles of "
        f"chords {max(f.chord_off_mm for f in found):.3f} mm. Lengths stay as drawn.",
        of=contour,
        at=(most.x_mm, most.y_mm),
    )
