"""Curves drawn as chords: contours that follow the lines and arcs meant."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from edgetime.geometry.chords import Chords, follow_chords
from edgetime.takeoff import codes
from edgetime.takeoff.model import Contour, Place
from edgetime.takeoff.notes import Notes

__all__ = ["follow_contour"]


def follow_contour(contour: Contour, tolerance_mm: float, notes: Notes) -> Contour:
    """Return a contour with its runs of chords taken for the curve they follow.

    Parameters
    ----------
    contour : Contour
        As drawn; its path's tags count its edges.
    tolerance_mm : float
        As :func:`edgetime.geometry.chords.follow_chords`; 0 for none.
    notes : Notes
        Gets one note a contour.

    Returns
    -------
    Contour
        The same edges with the same lengths, on the new path.
    """
    path, found = follow_chords(contour.path, tolerance_mm)
    if not found:
        return contour
    marks = np.searchsorted(path.tags, np.arange(len(contour.edges) + 1)).tolist()
    edges = tuple(
        replace(e, first=marks[k], stop=marks[k + 1]) for k, e in enumerate(contour.edges)
    )
    _note(contour, found, notes)
    return replace(contour, path=path, edges=edges)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'s' if number != 1 else ''}"


def _note(contour: Contour, found: tuple[Chords, ...], notes: Notes) -> None:
    """Note what was recognised on a contour, at its longest run of chords."""
    most = max(found, key=lambda f: f.chords)
    made = [
        _count(number, word)
        for number, word in (
            (sum(f.arcs for f in found), "arc"),
            (sum(f.straights for f in found), "straight"),
        )
        if number
    ]
    place = "an outline" if contour.place is Place.OUTER else "a cutout"
    notes.add(
        codes.CHORDS_FOLLOWED,
        f"{sum(f.chords for f in found)} chords of {place} count as {' and '.join(made)} for the "
        f"tools: vertices are up to {max(f.vertex_off_mm for f in found):.3f} mm off, middles of "
        f"chords {max(f.chord_off_mm for f in found):.3f} mm. Lengths stay as drawn.",
        layer=contour.layer,
        handle=contour.handle,
        at=(most.x_mm, most.y_mm),
    )
