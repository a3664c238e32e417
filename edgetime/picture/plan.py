"""The plan of a load as SVG."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np

from edgetime.picture.canvas import Canvas, LengthText, attribute, clean, document, metres
from edgetime.picture.curves import extent
from edgetime.picture.edges import edges
from edgetime.picture.ground import drawn, stones, table
from edgetime.picture.labels import labels
from edgetime.picture.legend import legend
from edgetime.picture.pins import pins, placed, radius
from edgetime.picture.scene import USUAL, Scene, Show, scene_of_estimate, scene_of_take_off
from edgetime.picture.tools import hand, paths, starts

if TYPE_CHECKING:
    from edgetime.drawing import Drawing
    from edgetime.estimating import Estimate
    from edgetime.takeoff import TakeOff

__all__ = ["attribute", "clean", "draw_plan", "draw_scene"]


def draw_plan(
    source: TakeOff | Estimate,
    *,
    show: Collection[Show] = USUAL,
    tools: Collection[str] = (),
    drawings: Sequence[Drawing] = (),
    length_text: LengthText = metres,
) -> str:
    """Draw what is on the table, or in drawings, seen from above.

    Parameters
    ----------
    source : TakeOff or Estimate
        A take-off shows parts and edges; an estimate also the table, hand work, where tools
        start and the paths of their centres.
    show : collection of Show
        What to show.
    tools : collection of str
        Tools or pieces whose starts and paths are shown; all paths, and the starts of the tool
        that takes longest, when empty.
    drawings : sequence of Drawing
        The drawings read; where given, layers that no rule matches and other curves that are in
        no part are shown as drawn.
    length_text : callable
        Writes lengths of edge.

    Returns
    -------
    str
        A self-contained SVG document, in millimetres. Lines and arcs are exact; each edge is one
        path with ``data-part``, ``data-contour``, ``data-edge``, ``data-profile`` and
        ``data-length-mm``.
    """
    from edgetime.estimating.pipeline import Estimate as Whole  # noqa: PLC0415  loaded by now

    scene = (
        scene_of_estimate(source, drawings)
        if isinstance(source, Whole)
        else scene_of_take_off(source, drawings)
    )
    return draw_scene(scene, show=show, tools=tools, length_text=length_text)


def draw_scene(
    scene: Scene,
    *,
    show: Collection[Show] = USUAL,
    tools: Collection[str] = (),
    length_text: LengthText = metres,
    listed: bool = True,
) -> str:
    """Draw a scene; as :func:`draw_plan`.

    Parameters
    ----------
    scene : Scene
        What there is to show.
    show, tools, length_text
        As :func:`draw_plan` takes them.
    listed : bool
        Whether the legend lists the findings; otherwise only their numbers are in the plan.
    """
    canvas = Canvas(scene, frozenset(show), tuple(tools), length_text, listed)
    layers = (table, stones, drawn, paths, hand, edges, labels, starts, pins)
    body = [row for draw in layers for row in draw(canvas)]
    x0, y0, x1, y1 = _view(canvas)
    margin = 24.0 * canvas.unit
    low = y0 - margin
    if Show.LEGEND in canvas.show:
        rows, low = legend(canvas, x0, low - 6.0 * canvas.unit, x1 - x0)
        body += rows
    box = (x0 - margin, -(y1 + margin), x1 - x0 + 2.0 * margin, y1 + margin - low)
    what = f"Seen from above, in millimetres: {len(scene.parts)} parts, {len(scene.edges)} edges."
    return document(canvas.pen, box, f"Plan of {scene.title}", what, body)


def _view(canvas: Canvas) -> tuple[float, float, float, float]:
    """Return the box around everything that is drawn, also marks and paths beside it [mm]."""
    air = 1.3 * radius(canvas)
    boxes = [canvas.scene.box_mm]
    boxes += [(x - air, y - air, x + air, y + air) for x, y in (p.at_mm for p in placed(canvas))]
    est = canvas.scene.est
    if est is not None and Show.PATHS in canvas.show:
        mine = np.isin(est.paths.moves.visit, canvas.visits)
        ends = np.vstack([est.paths.moves.start[mine], est.paths.moves.end[mine]])[:, :2]
        if len(ends):
            boxes.append((*ends.min(axis=0).tolist(), *ends.max(axis=0).tolist()))
    return extent(boxes)
