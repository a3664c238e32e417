"""The legend of a plan: lines and their meaning, scale, and what the numbers stand for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from edgetime.picture.canvas import GLYPH, TEXT, Canvas, Pen, group
from edgetime.picture.scene import Group, Show
from edgetime.picture.styles import DRAWN, HAND, LOOSE, UNMATCHED, Stroke

_LISTED: Final = 12
"""Kinds of findings that are written out below a plan."""


def legend(canvas: Canvas, x: float, y: float, width: float) -> tuple[list[str], float]:
    """Return the rows of the legend and the place below it [mm].

    Parameters
    ----------
    canvas : Canvas
        The picture.
    x, y, width : float
        Upper left corner, Y up, and width [mm].
    """
    rows, y = swatches(canvas.pen, list(_lines(canvas)), x, y, width)
    more, y = notes(canvas.pen, _notes(canvas), x, y, width)
    return list(group("legend", [*rows, *more])), y


def swatches(
    pen: Pen, items: Iterable[tuple[Stroke, str]], x: float, y: float, width: float
) -> tuple[list[str], float]:
    """Return lines beside what they mean, then the scale, and the place below them [mm]."""
    step = 1.6 * TEXT * pen.unit
    rows: list[str] = []
    at = x
    swatch = 40.0 * pen.unit
    for style, said in items:
        needs = swatch + (len(said) + 4) * TEXT * GLYPH * pen.unit
        if at + needs > x + width and at > x:
            at, y = x, y - step
        rows.append(
            f'<path d="M{pen.n(at)} {pen.n(-y - 0.3 * TEXT * pen.unit)}h{pen.n(swatch)}" '
            f"{pen.stroke(style)}/>"
        )
        rows.append(pen.text(at + 1.15 * swatch, y, said))
        at += needs
    return [*rows, _scale(pen, x, y - step)], y - 2.0 * step


def notes(
    pen: Pen, said: Iterable[str], x: float, y: float, width: float
) -> tuple[list[str], float]:
    """Return texts broken to a width, and the place below them [mm]."""
    step = 1.6 * TEXT * pen.unit
    rows = []
    for text in said:
        for k, line in enumerate(_wrapped(text, width / (pen.unit * TEXT * GLYPH))):
            rows.append(pen.text(x + (k > 0) * step, y, line))
            y -= 0.85 * step
    return rows, y


def _lines(canvas: Canvas) -> Iterator[tuple[Stroke, str]]:
    """Return the lines of the plan and what they mean."""
    lengths = canvas.scene.lengths_mm
    for name, style in canvas.strokes.items():
        yield style, f"{canvas.letters[name]}  {name}  {canvas.length(lengths[name])}"
    drawn = canvas.scene.drawn
    kinds = {
        UNMATCHED: ("no layer rule", [d.layer for d in drawn if d.means == "unknown"]),
        LOOSE: ("in no part", [d.layer for d in drawn if d.means not in {"unknown", "recess"}]),
        DRAWN: ("not timed", [d.layer for d in drawn if d.means == "recess"]),
    }
    for style, (what, layers) in kinds.items():
        if layers:
            yield style, f"{what}: {', '.join(dict.fromkeys(layers))}"
    est = canvas.scene.est
    if est is not None and est.paths.hand and Show.HAND in canvas.show:
        yield HAND, f"by hand  {canvas.length(est.cycle.hand_mm)}"


def _scale(pen: Pen, x: float, y: float) -> str:
    """Return a bar of a round length."""
    size = 10.0 ** math.floor(math.log10(200.0 * pen.unit))
    size *= max(k for k in (1, 2, 5) if k * size <= 200.0 * pen.unit)
    n, unit = pen.n, pen.unit
    bar = f"M{n(x)} {n(-y - 6 * unit)}v{n(6 * unit)}h{n(size)}v{n(-6 * unit)}"
    return f'<path d="{bar}" {pen.stroke(Stroke("#1a1a1a", (), 0.8))}/>' + pen.text(
        x + size + 6.0 * unit, y, f"{size:g} mm"
    )


def _notes(canvas: Canvas) -> Iterator[str]:
    est = canvas.scene.est
    if est is not None and canvas.numbered:
        names = ", ".join(est.cycle.visits[v].piece for v in canvas.numbered)
        yield f"Black numbers: where {names} starts, in the order of work."
    if Show.FINDINGS not in canvas.show or not canvas.listed:
        return
    for kind in canvas.groups[:_LISTED]:
        yield group_text(kind)
    if len(canvas.groups) > _LISTED:
        yield f"and {len(canvas.groups) - _LISTED} more kinds of findings."


def group_text(kind: Group) -> str:
    """Return what the number of a kind of findings stands for."""
    first = kind.findings[0]
    times = f", {len(kind.findings)} times" if len(kind.findings) > 1 else ""
    first_of = " The first:" if times else ""
    return f"{kind.number} {first.severity} {first.code}{times}:{first_of} {first.message}"


def _wrapped(text: str, columns: float) -> list[str]:
    import textwrap  # noqa: PLC0415  only for legends

    return textwrap.wrap(" ".join(text.split()), max(int(columns), 20)) or [""]
