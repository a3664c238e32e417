"""Loops to contours with edges: which profile each stretch gets."""

from __future__ import annotations

import numpy as np

from edgetime.geometry.path import IntArray, Path
from edgetime.takeoff.model import Contour, Edge, Place
from edgetime.takeoff.pieces import Pieces
from edgetime.takeoff.rules import Meaning
from edgetime.takeoff.sheet import Sheet
from edgetime.tolerances import COINCIDENT_MM

__all__ = ["circle_of", "contour_of"]


def contour_of(sheet: Sheet, loop: Pieces, place: Place, fallback: str) -> tuple[Contour, float, tuple[float, float]]:
    """Build a contour with the stone on its left.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves.
    loop : Pieces
        Counter-clockwise.
    place : Place
        Outlines stay counter-clockwise, openings are turned.
    fallback : str
        For stretches that no layer gives a profile.

    Returns
    -------
    contour : Contour
    missing_mm : float
        Length that got the fallback [mm].
    place : (float, float)
        Where the longest piece of it begins [mm].
    """
    if place is not Place.OUTER:
        loop = loop.reversed()
    given = np.where(loop.label >= 0, loop.label, loop.entity)
    names: dict[int, tuple[str, str]] = {}
    bare: set[int] = set()
    for e in np.unique(given).tolist():
        profile = sheet.profile(e)
        if profile is None or sheet.meaning(e) in {Meaning.OUTLINE, Meaning.HOLE}:
            profile = fallback
            bare.add(e)
        names[e] = (profile, sheet.entities[e].layer)
    kinds = {name: k for k, name in enumerate(sorted(set(names.values())))}
    kind = np.array([kinds[names[e]] for e in given.tolist()])
    start = _start(loop, kind)
    order = np.roll(np.arange(len(loop)), -start)
    loop, kind, given = loop.take(order), kind[order], given[order]
    first = np.nonzero(np.diff(kind, prepend=-1))[0]
    stop = np.append(first[1:], len(loop))
    sums = np.add.reduceat(loop.length, first).tolist()
    edges = []
    for a, b, length in zip(first.tolist(), stop.tolist(), sums, strict=True):
        e = int(given[a])
        profile, layer = names[e]
        edges.append(Edge(profile, layer, sheet.entities[e].handle, a, b, length))
    lacking = np.where(np.isin(given, sorted(bare)), loop.length, 0.0)
    worst = loop.start[int(lacking.argmax())].tolist()
    points = np.concatenate([loop.start, loop.start[:1]])
    tags = np.repeat(np.arange(len(first)), stop - first)
    path = Path(points, loop.bulge, loop.length, closed=True, tags=tags)
    lead = sheet.entities[int(loop.entity.min())]
    return Contour(path, tuple(edges), place, lead.layer, lead.handle), float(lacking.sum()), (worst[0], worst[1])


def _start(loop: Pieces, kind: IntArray) -> int:
    """Return where the contour starts: the lowest, then leftmost, start of an edge."""
    changes = np.nonzero(kind != np.roll(kind, 1))[0]
    if not len(changes):
        changes = np.arange(len(loop))
    x, y = np.round(loop.start[changes], 6).T
    return int(changes[np.lexsort((x, y))[0]])


def circle_of(sheet: Sheet, loop: Pieces) -> tuple[float, float, float] | None:
    """Return centre and diameter (x, y, d) [mm] of a loop that is one circle, else None."""
    if loop.shape.straight.any():
        return None
    centre, radius = loop.shape.centre, np.abs(loop.shape.radius)
    middle = centre.mean(axis=0)
    off = np.hypot(*(centre - middle).T).max()
    if off > COINCIDENT_MM or float(np.ptp(radius)) > COINCIDENT_MM:
        return None
    own = set(loop.entity.tolist())
    drawn = sheet.entities[own.pop()].circle_diameter_mm if len(own) == 1 else None
    diameter = 2.0 * float(radius.mean()) if drawn is None else drawn
    return float(middle[0]), float(middle[1]), diameter
