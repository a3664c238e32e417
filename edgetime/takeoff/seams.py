"""Seams drawn across a part divide it."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from edgetime.geometry.path import FloatArray
from edgetime.takeoff.joining import node_numbers
from edgetime.takeoff.pieces import Pieces, between_marks, enclosed_area
from edgetime.takeoff.walks import enclosed, follow
from edgetime.tolerances import COINCIDENT_MM


def divide(
    outline: Pieces, openings: list[Pieces], seams: list[Pieces], *, gap_mm: float
) -> tuple[list[Pieces], list[int], list[int]]:
    """Divide a part along the seams that run from edge to edge.

    The stone lies on the left of the outline and of the reversed openings, and on both
    sides of a seam; the parts are the areas these directed lines enclose on their left.

    Parameters
    ----------
    outline : Pieces
        Counter-clockwise.
    openings : list of Pieces
        Counter-clockwise, inside the outline. A seam may end on them.
    seams : list of Pieces
        Open chains inside the outline.
    gap_mm : float
        A seam's end this near to a line ends on it; the gap is bridged [mm].

    Returns
    -------
    faces : list of Pieces
        Outlines of the new parts, counter-clockwise; empty when nothing is divided.
    used_openings : list of int
        Openings that became part of an outline.
    used_seams : list of int
        Seams that divide.
    """
    using = list(range(len(seams)))
    while using:
        using = [k for k in using if _ends_held(k, using, outline, openings, seams, gap_mm)]
        if not using:
            break
        faces, touched, idle = _faces(outline, openings, [seams[k] for k in using], gap_mm)
        if not idle:
            return faces, touched, using
        # A seam with the same face on both sides divides nothing; without it the others are tried
        # again.
        using = [k for n, k in enumerate(using) if n not in idle]
    return [], [], []


def _ends_held(
    own: int,
    using: list[int],
    outline: Pieces,
    openings: list[Pieces],
    seams: list[Pieces],
    gap_mm: float,
) -> bool:
    """Return whether both ends of a seam end on a line or at another seam's end."""
    lines = Pieces.stack([outline, *openings])
    others = [p for k in using if k != own for p in (seams[k].start[0], seams[k].end[-1])]
    for end in (seams[own].start[0], seams[own].end[-1]):
        _, distance = lines.shape.nearest(end[0], end[1])
        meets = any(float(np.hypot(*(end - p))) <= COINCIDENT_MM for p in others)
        if float(distance.min()) > gap_mm and not meets:
            return False
    return True


def _faces(
    outline: Pieces, openings: list[Pieces], seams: list[Pieces], gap_mm: float
) -> tuple[list[Pieces], list[int], set[int]]:
    rings = [outline, *(o.reversed() for o in openings)]
    ring_of = np.repeat(np.arange(len(rings)), [len(r) for r in rings])
    lines = Pieces.stack(rings)
    cuts: dict[int, set[float]] = defaultdict(set)
    bridges: list[Pieces] = []
    bridge_of: list[int] = []
    touched: set[int] = {0}
    for k, seam in enumerate(seams):
        for at_start in (True, False):
            end = seam.start[0] if at_start else seam.end[-1]
            t, distance = lines.shape.nearest(end[0], end[1])
            row = int(distance.argmin())
            if float(distance[row]) > gap_mm:
                continue
            touched.add(int(ring_of[row]))
            length = float(lines.length[row])
            at = float(t[row])
            if min(at, 1.0 - at) * length <= COINCIDENT_MM:
                at = float(round(at))
            else:
                cuts[row].add(at)
            if float(distance[row]) > COINCIDENT_MM:
                foot = lines.part(np.array([row]), np.array([at]), np.array([1.0])).start
                tie = seam.take(np.s_[:1] if at_start else np.s_[-1:])
                bridges.append(_bridge(end[None], foot, tie))
                bridge_of.append(k)
    keep = np.isin(ring_of, sorted(touched))
    border = lines.part(*between_marks(np.nonzero(keep)[0].tolist(), cuts))
    pieces = Pieces.stack([border, *seams, *bridges])
    node = node_numbers(pieces, np.zeros(len(pieces), dtype=np.int64))
    forward = 2 * np.arange(len(pieces))
    steps = np.concatenate([forward, forward[len(border) :] + 1])
    seam_of = np.concatenate(
        [
            np.full(len(border), -1),
            *(np.full(len(s), k) for k, s in enumerate(seams)),
            np.array(bridge_of, dtype=np.int64),
        ]
    )
    faces = []
    idle: set[int] = set()
    for walk in enclosed(pieces, node, steps):
        seen = set(walk)
        idle |= {int(seam_of[w // 2]) for w in walk if w ^ 1 in seen}
        face = follow(pieces, walk)
        if enclosed_area(face) > 0.0:
            faces.append(face)
    return faces, [r - 1 for r in sorted(touched - {0})], idle


def _bridge(start: FloatArray, end: FloatArray, beside: Pieces) -> Pieces:
    return Pieces(start, end, np.zeros(1), np.hypot(*(end - start).T), beside.entity, beside.label)
