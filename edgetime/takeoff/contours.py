"""Loops to contours with edges: which profile each stretch gets."""

from __future__ import annotations

import numpy as np

from edgetime.geometry.path import IntArray, Path
from edgetime.geometry.segments import BoolArray
from edgetime.places import Place
from edgetime.takeoff.by_layer import Sheet
from edgetime.takeoff.loops import Loops
from edgetime.takeoff.parts import Contour, Edge
from edgetime.tooling.layers import Meaning


def contours_of(
    sheet: Sheet, loops: Loops, outer: BoolArray, fallback: list[str]
) -> list[tuple[Contour, float, tuple[float, float]]]:
    """Build contours with the stone on their left.

    Parameters
    ----------
    sheet : Sheet
        The drawing's curves.
    loops : Loops
        Counter-clockwise.
    outer : (k,) bool array
        Outlines, which stay counter-clockwise; openings are turned.
    fallback : list of str
        One profile per loop, for stretches that no layer gives one.

    Returns
    -------
    list of (Contour, float, (float, float))
        Each with the length that got the fallback [mm] and the place where the longest
        piece of that begins [mm].
    """
    if not len(loops):
        return []
    # The stone is on the left of every contour, so openings run clockwise.
    loops = loops.turned(~outer)
    given = loops.segments.claim
    entities, where = np.unique(given, return_inverse=True)
    own = [sheet.profile(e) for e in entities.tolist()]
    layers = [sheet.entities[e].layer for e in entities.tolist()]
    claims = np.array(own, dtype=object)[where], np.array(layers, dtype=object)[where]
    notch = _notches(sheet, loops, outer)
    triples = list(zip(*claims, notch, strict=True))
    kinds = {triple: k for k, triple in enumerate(dict.fromkeys(triples))}
    kind = np.array([kinds[triple] for triple in triples])
    names = list(kinds)
    bare = np.array([profile is None for profile, _, _ in names])[kind]

    order = _from_edge_starts(loops, kind)
    rows, kind, given, bare = loops.segments.take(order), kind[order], given[order], bare[order]
    change = np.diff(kind, prepend=-1) != 0
    change[loops.first[:-1]] = True
    start = np.flatnonzero(change)
    length = np.add.reduceat(rows.length, start).tolist()
    edge_first = np.searchsorted(start, loops.first).tolist()
    tags = np.cumsum(change) - 1 - np.array(edge_first)[:-1][loops.owner]
    edge_kind, edge_given = kind[start].tolist(), given[start].tolist()
    edge_at = [*start.tolist(), len(rows)]
    lacking = np.where(bare, rows.length, 0.0)
    missing = np.add.reduceat(lacking, loops.first[:-1]).tolist()
    first, lead = loops.first.tolist(), loops.lead.tolist()
    out = []
    for k, is_outer in enumerate(outer.tolist()):
        a, b = first[k], first[k + 1]
        points = np.empty((b - a + 1, 2))
        points[:-1] = rows.start[a:b]
        points[-1] = points[0]
        path = Path(points, rows.bulge[a:b], rows.length[a:b], closed=True, tags=tags[a:b])
        edges = []
        for e in range(edge_first[k], edge_first[k + 1]):
            profile, layer, made = names[edge_kind[e]]
            handle = sheet.entities[edge_given[e]].handle
            low, high = edge_at[e] - a, edge_at[e + 1] - a
            name = profile or fallback[k]
            edges.append(Edge(name, layer, handle, low, high, length[e], made))
        info = sheet.entities[lead[k]]
        place = Place.OUTER if is_outer else Place.CUTOUT
        contour = Contour(path, tuple(edges), place, info.layer, info.handle)
        x, y = points[int(lacking[a:b].argmax())].tolist() if missing[k] else (0.0, 0.0)
        out.append((contour, missing[k], (x, y)))
    return out


def _notches(sheet: Sheet, loops: Loops, outer: BoolArray) -> list[str]:
    """Return what makes each piece of an outline that was drawn as a cutout; else empty."""
    drawn, where = np.unique(loops.segments.entity, return_inverse=True)
    made = []
    for entity in drawn.tolist():
        rule = sheet.rules[entity] if sheet.meaning(entity) is Meaning.CUTOUT else None
        made.append("" if rule is None else rule.notch or "shop")
    own = np.where(outer[loops.owner], np.array(made, dtype=object)[where], "")
    return [str(m) for m in own.tolist()]


def _from_edge_starts(loops: Loops, kind: IntArray) -> IntArray:
    """Return the rows so that each loop begins at its lowest, then leftmost, start of an edge."""
    rows = np.arange(len(kind))
    before = np.empty_like(rows)
    before[loops.following] = rows
    change = kind != kind[before]
    uniform = ~np.logical_or.reduceat(change, loops.first[:-1])
    x, y = np.round(loops.segments.start, 6).T
    ranked = np.lexsort((x, y, ~(change | uniform[loops.owner]), loops.owner))
    begin = ranked[loops.first[:-1]][loops.owner]
    first, count = loops.first[:-1][loops.owner], np.diff(loops.first)[loops.owner]
    return np.asarray(first + (rows - first + begin - first) % count)
