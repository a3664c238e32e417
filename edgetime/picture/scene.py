"""What a plan shows, gathered from a take-off or an estimate, before anything is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from edgetime.findings import Finding
from edgetime.geometry.measure import bounds, point_at
from edgetime.geometry.near import any_nearer
from edgetime.geometry.path import FloatArray, Path
from edgetime.geometry.segments import BoolArray, Segments
from edgetime.picture.curves import extent

if TYPE_CHECKING:
    from edgetime.drawing import Drawing
    from edgetime.estimating import Estimate
    from edgetime.takeoff import Contour, Part, TakeOff


class Show(StrEnum):
    """What may be shown in a plan."""

    LABELS = "labels"
    FINDINGS = "findings"
    HAND = "hand"
    STARTS = "starts"
    PATHS = "paths"
    TABLE = "table"
    LEGEND = "legend"


USUAL: Final = frozenset(
    {Show.LABELS, Show.FINDINGS, Show.HAND, Show.STARTS, Show.TABLE, Show.LEGEND}
)
"""What is shown where nothing else is asked for; tool paths hide the edges they run along."""

BETWEEN_MM: Final = 200.0
"""Space between drawings that are shown side by side [mm]."""


@dataclass(frozen=True, eq=False, slots=True)
class EdgeShape:
    """One edge.

    Attributes
    ----------
    part : int
        Index into the scene's parts.
    contour, number : int
        Contour (0 for the outline, k for cutout k) and edge along it, from 1.
    profile, layer, place : str
        As the take-off has them.
    path : Path
        Its line.
    length_mm : float
        Exact length of what was drawn [mm].
    """

    part: int
    contour: int
    number: int
    profile: str
    layer: str
    place: str
    path: Path
    length_mm: float


@dataclass(frozen=True, eq=False, slots=True)
class Drawn:
    """Curves of one layer that are in no part, as they were drawn.

    Attributes
    ----------
    layer, means : str
        The layer and what its rule makes of it; ``unknown`` where no rule matches.
    start, end : (n, 2) array
        Ends of the segments, where they lie in the picture [mm].
    bulge : (n,) array
        As :class:`edgetime.geometry.path.Path` [-].
    """

    layer: str
    means: str
    start: FloatArray
    end: FloatArray
    bulge: FloatArray


@dataclass(frozen=True, eq=False, slots=True)
class Scene:
    """Everything a plan shows.

    Attributes
    ----------
    title : str
        Drawings, or the load.
    parts : tuple of Part
        Where they lie in the picture.
    edges : tuple of EdgeShape
        Of all parts.
    lengths_mm : dict
        Edge by profile [mm].
    seams : frozenset of str
        Profiles that are joints.
    findings : tuple of (Finding, (x, y) or None)
        With their places in the picture.
    box_mm : 4 floats
        Around everything [mm].
    drawn : tuple of Drawn
        Layers whose curves are in no part.
    est : Estimate or None
        Where there is one: tool paths, table, hand work.
    """

    title: str
    parts: tuple[Part, ...]
    edges: tuple[EdgeShape, ...]
    lengths_mm: dict[str, float]
    seams: frozenset[str]
    findings: tuple[tuple[Finding, tuple[float, float] | None], ...]
    box_mm: tuple[float, float, float, float]
    drawn: tuple[Drawn, ...] = ()
    est: Estimate | None = None


_SHOWN_AS_DRAWN: Final = frozenset({"unknown", "recess"})
"""Layers of these meanings are shown as drawn: what a rule is missing for, what is listed only."""

_IN_PARTS: Final = frozenset({"outline", "edge", "cutout", "hole", "seam", "unfinished"})
"""What is in no part although its layer is meant for parts is shown as drawn: open lines, edges
that have found no outline."""

_ON_PART_MM: Final = 1.0
"""A curve whose middle is this near to a part is in it [mm]: above the widest gap that joins ends
and far below any part."""


def _drawn(
    take_off: TakeOff, drawings: Sequence[Drawing], motions: dict[str, _Motion]
) -> tuple[Drawn, ...]:
    """Gather the layers that are not parts by themselves, and what is left over of the others."""
    out = []
    for drawing in drawings:
        parts = [p for d in take_off.drawings if d.path == drawing.path for p in d.parts]
        left = _left_over(drawing, parts)
        turn, shift = motions.get(drawing.path, (np.eye(2), np.zeros(2)))
        layer_of = np.array([e.layer for e in drawing.entities], dtype=object)[drawing.entity]
        uses = {u.layer: u for d in take_off.drawings if d.path == drawing.path for u in d.layers}
        for name, use in uses.items():
            if use.means not in _SHOWN_AS_DRAWN | _IN_PARTS or use.state != "shown":
                continue
            mine = layer_of == name
            if use.means in _IN_PARTS:
                mine &= left
            if not mine.any():
                continue
            out.append(
                Drawn(
                    name,
                    use.means,
                    drawing.start[mine] @ turn.T + shift,
                    drawing.end[mine] @ turn.T + shift,
                    drawing.bulge[mine],
                )
            )
    return tuple(out)


def _left_over(drawing: Drawing, parts: Sequence[Part]) -> BoolArray:
    """Return which segments of a drawing are on no part (n,)."""
    middle = Segments(drawing.start, drawing.end, drawing.bulge).point(
        np.full(len(drawing.bulge), 0.5)
    )
    contours = [Segments.of(c.path) for p in parts for c in p.contours()]
    on = np.zeros(len(middle), dtype=np.bool_)
    if contours and len(middle):
        on = any_nearer(middle, np.full(len(middle), _ON_PART_MM), Segments.stack(contours))
    for part in parts:
        for hole in part.holes:
            off = np.hypot(middle[:, 0] - hole.x_mm, middle[:, 1] - hole.y_mm)
            on |= np.abs(off - 0.5 * hole.diameter_mm) < _ON_PART_MM
    return np.asarray(~on)


def _boxes_of(drawn: Iterable[Drawn]) -> list[tuple[float, float, float, float]]:
    """Return boxes around the ends of segments; the bulge of an arc may reach beyond [mm]."""
    out = []
    for layer in drawn:
        ends = np.vstack([layer.start, layer.end])
        if len(ends):
            (x0, y0), (x1, y1) = ends.min(axis=0), ends.max(axis=0)
            out.append((float(x0), float(y0), float(x1), float(y1)))
    return out


def _edges(parts: Iterable[Part]) -> tuple[EdgeShape, ...]:
    out = []
    for index, part in enumerate(parts):
        contours: tuple[Contour, ...] = part.contours()
        for c, contour in enumerate(contours):
            for k, edge in enumerate(contour.edges, 1):
                out.append(
                    EdgeShape(
                        part=index,
                        contour=c,
                        number=k,
                        profile=edge.profile,
                        layer=edge.layer,
                        place=str(contour.place),
                        path=contour.path.slice(edge.first, edge.stop),
                        length_mm=edge.length_mm,
                    )
                )
    return tuple(out)


def _sums(edges: Iterable[EdgeShape]) -> dict[str, float]:
    out: dict[str, float] = {}
    for edge in edges:
        out[edge.profile] = out.get(edge.profile, 0.0) + edge.length_mm
    return out


_Motion = tuple[FloatArray, FloatArray]


def _motion(drawn: Part, placed: Part) -> _Motion:
    """Return the turn (2, 2) and shift (2,) that carry a part from its drawing to the table.

    Parts are moved without any change of size, so two points of the outline settle it.
    """
    a, b = drawn.outline.path.points, placed.outline.path.points
    far = int(np.argmax(np.hypot(*(a - a[0]).T)))
    v, w = complex(*(a[far] - a[0])), complex(*(b[far] - b[0]))
    turn = w / v
    matrix = np.array([[turn.real, -turn.imag], [turn.imag, turn.real]])
    return matrix, b[0] - matrix @ a[0]


def _place(finding: Finding, motions: dict[str, _Motion]) -> tuple[float, float] | None:
    where = finding.where
    if where.x_mm is None or where.y_mm is None:
        return None
    at = np.array([where.x_mm, where.y_mm])
    if where.path in motions:
        turn, shift = motions[where.path]
        at = turn @ at + shift
    return float(at[0]), float(at[1])


def scene_of_take_off(
    take_off: TakeOff, drawings: Sequence[Drawing] = (), seams: Iterable[str] = ("seam",)
) -> Scene:
    """Gather what a take-off shows; several drawings lie side by side."""
    from edgetime.load.moved import moved_part  # noqa: PLC0415  numpy is loaded by now

    parts: list[Part] = []
    found: list[tuple[Finding, tuple[float, float] | None]] = []
    motions: dict[str, _Motion] = {}
    right = 0.0
    for number, drawing in enumerate(take_off.drawings):
        shift = np.zeros(2)
        boxes = [bounds(p.outline.path) for p in drawing.parts]
        if boxes and len(take_off.drawings) > 1:
            x0, y0, x1, _ = extent(boxes)
            if number:
                shift = np.array([right + BETWEEN_MM - x0, -y0])
            right = x1 + float(shift[0])
        moved = [moved_part(p, np.eye(2), shift) for p in drawing.parts] if shift.any() else None
        parts += moved or drawing.parts
        motions[drawing.path] = (np.eye(2), shift)
        found += [(f, _place(f, motions)) for f in drawing.findings]
    edges = _edges(parts)
    drawn = _drawn(take_off, drawings, motions)
    boxes = [bounds(p.outline.path) for p in parts] + _boxes_of(drawn)
    boxes += [(x, y, x, y) for _, at in found if at is not None for x, y in [at]]
    return Scene(
        title=", ".join(d.path for d in take_off.drawings),
        drawn=drawn,
        parts=tuple(parts),
        edges=edges,
        lengths_mm=_sums(edges),
        seams=frozenset(seams),
        findings=tuple(found),
        box_mm=extent(boxes) if boxes else (0.0, 0.0, 1000.0, 600.0),
    )


def scene_of_estimate(est: Estimate, drawings: Sequence[Drawing] = ()) -> Scene:
    """Gather what an estimate shows: the table as it is loaded."""
    load = est.load
    parts = tuple(p.part for p in load.parts)
    placed = {(p.drawing, p.part_id): p for p in reversed(parts)}
    motions: dict[str, _Motion] = {}
    for drawing in est.take_off.drawings:
        for part in drawing.parts:
            mate = placed.get((part.drawing, part.part_id))
            if mate is not None:
                motions[drawing.path] = _motion(part, mate)
                break
    of_drawing = set(map(id, est.take_off.findings))
    found = [
        # Later stages speak of places on the table already.
        (f, _place(f, motions if id(f) in of_drawing else {}))
        for f in est.findings
    ]
    edges = _edges(parts)
    families = load.catalogue.profiles
    seams = {name for name in _sums(edges) if name == "seam" or (
        name in families and families[name].family == "seam"
    )}  # fmt: skip
    drawn = _drawn(est.take_off, drawings, motions)
    boxes = [bounds(p.outline.path) for p in parts] + _boxes_of(drawn)
    boxes.append((0.0, 0.0, *load.machine.table_mm))
    boxes += [(x, y, x, y) for _, at in found if at is not None for x, y in [at]]
    return Scene(
        title=", ".join(d.path for d in est.take_off.drawings),
        drawn=drawn,
        parts=parts,
        edges=edges,
        lengths_mm=_sums(edges),
        seams=frozenset(seams),
        findings=tuple(found),
        box_mm=extent(boxes),
        est=est,
    )


@dataclass(frozen=True, eq=False, slots=True)
class Group:
    """Findings of one kind.

    Attributes
    ----------
    number : int
        What marks them in the picture, from 1, the worst first.
    findings : tuple of Finding
        In the order they were made.
    places : tuple of (x, y)
        Of those that have one, each once [mm].
    """

    number: int
    findings: tuple[Finding, ...]
    places: tuple[tuple[float, float], ...]


def groups_of(scene: Scene) -> tuple[Group, ...]:
    """Return the findings of a scene by kind, the worst first."""
    kinds: dict[tuple[int, str], list[tuple[Finding, tuple[float, float] | None]]] = {}
    for finding, at in scene.findings:
        kinds.setdefault((-finding.severity.rank, finding.code), []).append((finding, at))
    ordered = sorted(kinds, key=lambda key: key[0])
    return tuple(
        Group(
            number,
            tuple(f for f, _ in kinds[key]),
            tuple(dict.fromkeys(at for _, at in kinds[key] if at is not None)),
        )
        for number, key in enumerate(ordered, 1)
    )


def label_places(
    path: Path, shares: Iterable[float] = (0.5,)
) -> list[tuple[FloatArray, FloatArray]]:
    """Return where an edge may be labelled, and the unit vectors away from the stone [mm].

    The places are on its longest segment: the middle of the whole may be a corner.

    Parameters
    ----------
    path : Path
        The edge.
    shares : iterable of float
        How far along that segment [-].
    """
    ends = np.concatenate([[0.0], np.cumsum(path.lengths)])
    longest = int(np.argmax(path.lengths))
    low, high = float(ends[longest]), float(ends[longest + 1])
    out = []
    for share in shares:
        along_mm = low + share * (high - low)
        step = max(0.1 * (high - low), 1e-6)
        a, at, b = point_at(path, [max(along_mm - step, low), along_mm, min(along_mm + step, high)])
        along = b - a
        size = float(np.hypot(*along)) or 1.0
        out.append((at, np.array([along[1], -along[0]]) / size))
    return out
