"""Two revisions of a drawing in one picture.

Old and new are told apart by line and by colour: what is new is a heavy solid line, what is no
longer there a dashed one, another profile a heavy line with dots, what stays thin and grey. The
colours are those of :mod:`edgetime.picture.styles`, safe for all kinds of colour vision.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from edgetime.geometry.measure import bounds
from edgetime.geometry.path import Path
from edgetime.picture.canvas import TEXT, WIDE, Pen, clean, document, group
from edgetime.picture.curves import edge_data, extent
from edgetime.picture.labels import Labels
from edgetime.picture.legend import notes, swatches
from edgetime.picture.styles import Stroke


class Fate(StrEnum):
    """What became of a line."""

    SAME = "same"
    OLD = "old"
    NEW = "new"
    PROFILE = "profile"


STYLES: Final = {
    Fate.SAME: (Stroke("#767676", (), 0.9), "unchanged"),
    Fate.OLD: (Stroke("#D55E00", (5, 3), 2.0), "old, no longer there"),
    Fate.NEW: (Stroke("#0072B2", (), 2.8), "new"),
    Fate.PROFILE: (Stroke("#000000", (4, 1.5, 1, 1.5), 2.8), "new profile"),
}
"""How lines are drawn, from the lowest to the uppermost, and what the legend calls them."""

_ARROW: Final = Stroke("#D55E00", (), 1.0)
_LISTED: Final = 40
"""Changes that are written out below a picture."""


@dataclass(frozen=True, eq=False, slots=True)
class ChangedLine:
    """A line of either revision.

    Attributes
    ----------
    path : Path
        Where it is drawn [mm].
    fate : Fate
        What became of it.
    title : str
        What a reader is told about it.
    """

    path: Path
    fate: Fate
    title: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A number on the picture.

    Attributes
    ----------
    number : int
        Of the change.
    at_mm : (float, float)
        What it marks [mm].
    from_mm : (float, float) or None
        Where it was, for an arrow [mm].
    beside : bool
        Put beside its place, which it would cover.
    """

    number: int
    at_mm: tuple[float, float]
    from_mm: tuple[float, float] | None = None
    beside: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class ChangeScene:
    """What a picture of two revisions shows.

    Attributes
    ----------
    title : str
        Both drawings.
    lines : tuple of ChangedLine
        Of both.
    names : tuple of (str, (float, float))
        Names of parts and their places [mm].
    marks : tuple of Mark
        Numbers of the changes.
    notes : tuple of str
        What each number is.
    """

    title: str
    lines: tuple[ChangedLine, ...]
    names: tuple[tuple[str, tuple[float, float]], ...]
    marks: tuple[Mark, ...]
    notes: tuple[str, ...]


def draw_change(scene: ChangeScene) -> str:
    """Draw two revisions, seen from above.

    Parameters
    ----------
    scene : ChangeScene
        What there is to show.

    Returns
    -------
    str
        A self-contained SVG document, in millimetres. Lines and arcs are exact; each is a path in
        a group of the class ``same``, ``old``, ``new`` or ``profile``.
    """
    boxes = [bounds(line.path) for line in scene.lines if len(line.path)]
    x0, y0, x1, y1 = extent(boxes) if boxes else (0.0, 0.0, 1000.0, 600.0)
    pen = Pen(max(x1 - x0, y1 - y0, 1.0) / WIDE)
    body: list[str] = []
    for fate, (style, _) in STYLES.items():
        rows = [
            f'<path d="{edge_data(line.path)}{"Z" if line.path.closed else ""}">'
            f"<title>{clean(line.title)}</title></path>"
            for line in scene.lines
            if line.fate is fate and len(line.path)
        ]
        body += group(str(fate), rows, f" {pen.stroke(style)}")
    labels = Labels(pen)
    spots = _spread(scene.marks, pen)
    for x, y in spots:
        labels.keep_free(x, y)
    body += group("moves", _arrows(pen, scene.marks))
    for said, (x, y) in scene.names:
        size = TEXT * pen.unit
        labels.write([(x, y), (x, y + 1.5 * size), (x, y - 1.5 * size)], said)
    body += group("labels", labels.rows, ' pointer-events="none"')
    body += group(
        "marks",
        (
            _leader(pen, mark.at_mm, at) + pen.sign(*at, str(mark.number))
            for mark, at in zip(scene.marks, spots, strict=True)
        ),
    )
    margin = 28.0 * pen.unit
    shown = {line.fate for line in scene.lines}
    lines = [(style, said) for fate, (style, said) in STYLES.items() if fate in shown]
    rows, low = swatches(pen, lines, x0, y0 - margin - 6.0 * pen.unit, x1 - x0)
    told = list(scene.notes[:_LISTED])
    if len(scene.notes) > _LISTED:
        told.append(f"and {len(scene.notes) - _LISTED} more; edgetime takeoff lists all.")
    more, low = notes(pen, told or ["No change."], x0, low, x1 - x0)
    body += group("legend", [*rows, *more])
    box = (x0 - margin, -(y1 + margin), x1 - x0 + 2.0 * margin, y1 + margin - low)
    what = f"Seen from above, in millimetres, old and new: {len(scene.notes)} changes."
    return document(pen, box, f"Changes: {scene.title}", what, body)


def _spread(marks: Sequence[Mark], pen: Pen) -> list[tuple[float, float]]:
    """Return where marks are put so that none lies on another [mm]."""
    step = 1.6 * TEXT * pen.unit
    out: list[tuple[float, float]] = []
    for mark in marks:
        x, y = mark.at_mm
        ring = [
            (x + k * step * math.sin(turn), y + k * step * math.cos(turn))
            for k in (1, 2, 3)
            for turn in (0.25 * math.pi * n for n in range(8))
        ]
        ring = ring if mark.beside else [(x, y), *ring]
        free = (at for at in ring if all(math.dist(at, other) >= step for other in out))
        out.append(next(free, ring[0]))
    return out


def _leader(pen: Pen, place: tuple[float, float], at: tuple[float, float]) -> str:
    if place == at:
        return ""
    n = pen.n
    return (
        f'<path d="M{n(place[0])} {n(-place[1])}L{n(at[0])} {n(-at[1])}" '
        f"{pen.stroke(Stroke('#1a1a1a', (), 0.8))}/>"
    )


def _arrows(pen: Pen, marks: Sequence[Mark]) -> Iterator[str]:
    """Draw an arrow from where something was to where it is."""
    for mark in marks:
        if mark.from_mm is None:
            continue
        a, b = complex(*mark.from_mm), complex(*mark.at_mm)
        if abs(b - a) < TEXT * pen.unit:
            continue
        way = (b - a) / abs(b - a)
        tips = [b - way * 8.0 * pen.unit * (1.0 + 0.5j * side) for side in (1, -1)]
        n = pen.n
        bits = " ".join(f"{n(z.real)} {n(-z.imag)}" for z in (tips[0], b, tips[1]))
        yield (
            f'<path d="M{n(a.real)} {n(-a.imag)}L{n(b.real)} {n(-b.imag)}M{bits}" '
            f"{pen.stroke(_ARROW)}/>"
        )
