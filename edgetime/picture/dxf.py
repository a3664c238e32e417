"""A plan as DXF: what was taken off and where the tools run, on layers of their own.

Whoever draws can lay it over the original. Lines and arcs are exact, so the lengths of a layer are
those of the take-off.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING, Final

import numpy as np

from edgetime.drawing.write import BLACK_OR_WHITE, Line, Note, dxf_bytes
from edgetime.moves import MoveKind
from edgetime.picture.scene import Scene, groups_of, scene_of_estimate, scene_of_take_off

if TYPE_CHECKING:
    from edgetime.estimating import Estimate
    from edgetime.takeoff import TakeOff

TEXT_MM: Final = 12.0
"""Height of texts [mm]: legible beside a part of a metre."""

_FORBIDDEN: Final = re.compile(r'[<>/\\":;?*|=,`\x00-\x1f]')
"""What the DXF reference does not allow in the name of a layer."""

_COLOURS: Final = (5, 30, 3, 6, 40, 4, 1)
"""Colour numbers of the profiles in turn, as near as the table comes to those of the plan."""


def layer_name(*bits: str) -> str:
    """Join the bits of a layer's name with hyphens, without characters DXF forbids."""
    return _FORBIDDEN.sub("_", "-".join(bits)).upper()


def plan_dxf(source: TakeOff | Estimate, tools: Collection[str] = ()) -> bytes:
    """Return a plan as a DXF file in millimetres.

    Parameters
    ----------
    source : TakeOff or Estimate
        A take-off gives edges, holes and findings; an estimate also tool-centre paths and the
        numbered starts of every tool.
    tools : collection of str
        Tools or pieces whose paths and starts are written; all when empty.

    Returns
    -------
    bytes
        Layers ``EDGE-PROFILE``, ``HOLE``, ``FINDINGS``; per visit ``PATH-01-TOOL`` in the cut,
        ``LEAD-01-TOOL`` for leads, ``START-01-TOOL``. Rapids are left out.
    """
    from edgetime.estimating.pipeline import Estimate as Whole  # noqa: PLC0415  loaded by now

    scene = scene_of_estimate(source) if isinstance(source, Whole) else scene_of_take_off(source)
    lines = [*_edges(scene), *_holes(scene)]
    notes = list(_findings(scene))
    if scene.est is not None:
        lines += _paths(scene.est, tools)
        notes += _starts(scene.est, tools)
    colours = {
        layer_name("edge", name): _COLOURS[k % len(_COLOURS)]
        for k, name in enumerate(scene.lengths_mm)
    }
    names = dict.fromkeys([*(line.layer for line in lines), *(note.layer for note in notes)])
    return dxf_bytes([(name, colours.get(name, BLACK_OR_WHITE)) for name in names], lines, notes)


def _edges(scene: Scene) -> Iterator[Line]:
    for edge in scene.edges:
        path = edge.path
        yield Line(layer_name("edge", edge.profile), path.points, path.bulges, path.closed)


def _holes(scene: Scene) -> Iterator[Line]:
    for part in scene.parts:
        for hole in part.holes:
            r = 0.5 * hole.diameter_mm
            left, right = (hole.x_mm - r, hole.y_mm), (hole.x_mm + r, hole.y_mm)
            yield Line("HOLE", np.array([left, right, left]), np.ones(2), closed=True)


def _findings(scene: Scene) -> Iterator[Note]:
    for group in groups_of(scene):
        first = group.findings[0]
        for x, y in group.places:
            text = f"{first.severity} {first.code}: {first.message}"
            yield Note("FINDINGS", " ".join(text.split()), x, y, TEXT_MM)


def _paths(est: Estimate, tools: Collection[str]) -> Iterator[Line]:
    moves = est.paths.moves
    level = np.any(moves.start[:, :2] != moves.end[:, :2], axis=1)
    for v, visit in enumerate(est.cycle.visits):
        if tools and not {visit.tool, visit.piece} & set(tools):
            continue
        for kind, word in ((MoveKind.CUT, "path"), (MoveKind.LEAD, "lead")):
            mine = np.flatnonzero((moves.visit == v) & (moves.kind == kind) & level)
            name = layer_name(word, f"{v + 1:02d}", visit.piece)
            if not len(mine):
                continue
            apart = np.any(
                np.abs(moves.start[mine[1:], :2] - moves.end[mine[:-1], :2]) > 1e-6, axis=1
            )
            for chain in np.split(mine, np.flatnonzero(apart) + 1):
                points = np.vstack([moves.start[chain[:1], :2], moves.end[chain, :2]])
                yield Line(name, points, moves.bulge[chain])


def _starts(est: Estimate, tools: Collection[str]) -> Iterator[Note]:
    count: dict[int, int] = {}
    for row in est.order:
        if (
            row.x_mm is None
            or row.y_mm is None
            or (tools and not {row.tool, row.piece} & set(tools))
        ):
            continue
        count[row.visit] = count.get(row.visit, 0) + 1
        name = layer_name("start", f"{row.visit:02d}", row.piece)
        yield Note(name, str(count[row.visit]), row.x_mm, row.y_mm, TEXT_MM)
