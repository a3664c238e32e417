"""Tools in a plan: paths of their centres, where they start, and what they leave to the hand."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from edgetime.geometry.measure import point_at
from edgetime.geometry.path import Path
from edgetime.moves import MoveKind
from edgetime.picture.canvas import Canvas, attribute, clean, group
from edgetime.picture.curves import moves_data, number
from edgetime.picture.scene import Show
from edgetime.picture.styles import CUT, HAND, LEAD, RAPID


def hand(canvas: Canvas) -> Iterator[str]:
    """Underlay the edges that no finishing tool reaches."""
    est = canvas.scene.est
    if est is None or Show.HAND not in canvas.show:
        return
    rows = []
    for work in est.paths.hand:
        part = canvas.scene.parts[work.part]
        contours = part.contours()
        if work.contour >= len(contours):
            continue
        path = contours[work.contour].path
        told = f"By hand: {work.profile}, {work.length_mm:.1f} mm, {part.part_id}"
        rows.append(
            f'<path d="{_stretch(path, work.begin_mm, work.end_mm)}">'
            f"<title>{clean(told)}</title></path>"
        )
    yield from group(
        "hand", rows, f' {canvas.pen.stroke(HAND)} stroke-opacity="0.45" stroke-linecap="round"'
    )


def _stretch(path: Path, begin_mm: float, end_mm: float) -> str:
    """Return the path data of a stretch of a contour, by places along it; straight bits of 2 mm."""
    whole = path.length_mm
    count = max(int((end_mm - begin_mm) / 2.0), 1) + 1
    along = np.linspace(begin_mm, end_mm, count) % whole
    points = point_at(path, along)
    bits = " ".join(f"{number(px, 2)} {number(-py, 2)}" for px, py in points.tolist())
    return f"M{bits}"


def paths(canvas: Canvas) -> Iterator[str]:
    """Draw the paths of tool centres, one group for each visit."""
    est = canvas.scene.est
    if est is None or Show.PATHS not in canvas.show:
        return
    moves = est.paths.moves
    styles = ((MoveKind.RAPID, RAPID), (MoveKind.LEAD, LEAD), (MoveKind.CUT, CUT))
    for v in canvas.visits:
        visit = est.cycle.visits[v]
        rows = []
        for kind, style in styles:
            mine = (moves.visit == v) & (moves.kind == kind)
            data = moves_data(moves.start[mine], moves.end[mine], moves.bulge[mine])
            if data:
                rows.append(
                    f'<path class="{kind.name.lower()}" d="{data}" {canvas.pen.stroke(style)}/>'
                )
        more = f' data-visit="{v + 1}" data-tool={attribute(visit.piece)}'
        yield from group("tool", rows, more)


def starts(canvas: Canvas) -> Iterator[str]:
    """Draw numbers where tools start, in the order of work."""
    est = canvas.scene.est
    if est is None:
        return
    for v in canvas.numbered:
        more = f' data-visit="{v + 1}" data-tool={attribute(est.cycle.visits[v].piece)}'
        spots = start_spots(canvas, v).items()
        yield from group(
            "starts", (canvas.pen.sign(x, y, ranges(own)) for (x, y), own in spots), more
        )


def start_spots(canvas: Canvas, v: int) -> dict[tuple[int, int], list[int]]:
    """Return the places where a visit starts, to a millimetre, with its numbers there."""
    est = canvas.scene.est
    spots: dict[tuple[int, int], list[int]] = {}
    rows = () if est is None else est.order
    places = [(r.x_mm, r.y_mm) for r in rows if r.visit == v + 1]
    known = [(x, y) for x, y in places if x is not None and y is not None]
    for k, (x, y) in enumerate(known, 1):
        spots.setdefault((round(x), round(y)), []).append(k)
    return spots


def ranges(numbers: list[int]) -> str:
    """Write ascending numbers, runs of them as one: ``1-3, 7``."""
    runs: list[list[int]] = []
    for n in numbers:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    return ", ".join(f"{r[0]}" if len(r) == 1 else f"{r[0]}-{r[-1]}" for r in runs)
