"""Parts for a job that has no drawing: rectangles as kitchens have them.

From here on everything is calculated as from a drawing: the same passes, paths, motion, wear.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from edgetime.geometry.measure import signed_area
from edgetime.geometry.path import Path
from edgetime.geometry.split import split_at, start_at
from edgetime.places import Place
from edgetime.price.inquiry import Inquiry
from edgetime.takeoff.parts import (
    Contour,
    Cutout,
    DrawingTakeOff,
    Edge,
    Hole,
    Part,
    TakeOff,
)
from edgetime.tooling import Catalogue, Machine

WORKED_MM: Final = 3000.0
"""Worked edge of one part where the number of parts is not given: a front of 2.4 m and one end
[mm]. Common practice, no source: a piece that two people carry."""

DEPTH_MM: Final = 600.0
"""Depth of a part [mm]: a base unit's."""

CUTOUT_MM: Final = (600.0, 400.0, 60.0)
"""Width, depth and corner radius of a cutout [mm]: an ordinary undermount sink."""

HOLE_MM: Final = 35.0
"""A tap hole [mm]; the shop's core bit nearest to it is taken."""

CORNER_MM: Final = 50.0
"""Radius of a radius corner [mm]."""

GAP_MM: Final = 150.0
"""Room between parts and to the table's edges: the widest wheel passes [mm]."""

SHORTEST_MM: Final = 300.0
"""Length of the shortest part [mm]."""

_QUARTER: Final = math.tan(math.pi / 8.0)
_NAME: Final = "(lengths)"

Stretch = tuple[str, float]


def _rounded(x: float, y: float, w: float, d: float, radii: tuple[float, ...]) -> Path:
    """Return a rectangle with rounded corners, counter-clockwise from the front's left one."""
    corners = ((x, y), (x + w, y), (x + w, y + d), (x, y + d))
    ways = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
    points: list[tuple[float, float]] = []
    bulges: list[float] = []
    for k, ((cx, cy), r) in enumerate(zip(corners, radii, strict=True)):
        before, after = ways[k - 1], ways[k]
        if r:
            points.append((cx - r * before[0], cy - r * before[1]))
            bulges.append(_QUARTER)
        points.append((cx + r * after[0], cy + r * after[1]))
        bulges.append(0.0)
    return Path.from_bulges(points, bulges, closed=True)


def _contour(path: Path, stretches: list[Stretch], place: Place) -> Contour:
    """Give a closed path its profiles, from its start on; the rest stays unfinished."""
    rest = path.length_mm - sum(length for _, length in stretches)
    named = [*stretches, ("unfinished", rest)] if rest > 1e-6 else stretches
    ends = np.cumsum([length for _, length in named])
    path = split_at(path, ends[:-1])
    at = np.cumsum(path.lengths)
    edges: list[Edge] = []
    first = 0
    for (name, _), end in zip(named, ends, strict=True):
        stop = int(np.argmin(np.abs(at - end))) + 1
        length = float(path.lengths[first:stop].sum())
        edges.append(Edge(name, name, "", first, stop, length))
        first = stop
    return Contour(path, tuple(edges), place, _NAME, "")


def _room_of_cutouts(count: int) -> float:
    """Return the length a part needs for cutouts beside one another [mm]."""
    return count * (CUTOUT_MM[0] + GAP_MM) + GAP_MM if count else 0.0


@dataclass(frozen=True)
class _Sketch:
    """One part before it is placed."""

    stretches: list[Stretch]
    cutouts: list[str]
    holes: int
    corners: int

    @property
    def worked_mm(self) -> float:
        return sum(length for _, length in self.stretches)

    @property
    def sides(self) -> int:
        """Sides that the worked stretch runs along: enough for its radius corners."""
        least = 2 if self.worked_mm > 2.0 * DEPTH_MM else 1
        return max(least, 2 if self.corners else 1, min(self.corners, 4))

    @property
    def depth_mm(self) -> float:
        """Depth, less for an end that would be longer than the front [mm]."""
        if self.cutouts or self.holes or self.sides < 2:
            return DEPTH_MM
        return min(DEPTH_MM, self.worked_mm / self.sides)

    @property
    def width_mm(self) -> float:
        """Width: of long stretches one or more ends are worked too; room for cutouts [mm]."""
        ends, fronts = {1: (0, 1), 2: (1, 1), 3: (1, 2), 4: (2, 2)}[self.sides]
        # Rounding a corner takes this from the contour; a part worked all round makes up for it.
        taken = (2.0 - 0.5 * math.pi) * CORNER_MM * min(self.corners, 4)
        front = (self.worked_mm + taken - ends * self.depth_mm) / fronts
        room = _room_of_cutouts(len(self.cutouts))
        return max(front, room, 120.0 * (self.holes + 1) if self.holes else 0.0, SHORTEST_MM)

    def outline(self, x: float, y: float) -> Contour:
        """Return the outline; the worked stretch ends with the last of its sides.

        The radius corners are those on the stretch: between front and right end, where the
        stretch begins, and on round the part.
        """
        w, d, n = self.width_mm, self.depth_mm, self.corners
        radii = [CORNER_MM if n > k else 0.0 for k in (1, 0, 2, 3)]
        path = _rounded(x, y, w, d, tuple(radii))
        whole = path.length_mm
        to_end = {1: w, 2: w + d, 3: 2.0 * w + d, 4: whole}[self.sides]
        # With a second corner the path begins with its arc, and the stretch with the path.
        begin = 0.0 if n > 1 else max(0.0, to_end - self.worked_mm)
        return _contour(start_at(path, begin), self.stretches, Place.OUTER)

    def part(self, number: int, x: float, y: float, bit_mm: float) -> Part:
        """Return the part at a place on the table."""
        w, depth, r = CUTOUT_MM
        cutouts = []
        for k, profile in enumerate(self.cutouts):
            left = x + GAP_MM + k * (w + GAP_MM)
            low = y + 0.5 * (self.depth_mm - depth) - 20.0
            path = _rounded(left, low, w, depth, (r, r, r, r)).reversed()
            contour = _contour(path, [(profile, path.length_mm)], Place.CUTOUT)
            cutouts.append(Cutout(contour))
        step = self.width_mm / (self.holes + 1)
        holes = tuple(
            Hole(x + k * step, y + self.depth_mm - 45.0, bit_mm, _NAME, "")
            for k in range(1, self.holes + 1)
        )
        outline = self.outline(x, y)
        gross = signed_area(outline.path)
        openings = sum(signed_area(c.contour.path) for c in cutouts)
        return Part(
            part_id=f"p{number:02d}",
            name=f"PART {number}",
            drawing=_NAME,
            outline=outline,
            cutouts=tuple(cutouts),
            holes=holes,
            recesses=(),
            area_gross_mm2=gross,
            area_mm2=gross + openings - len(holes) * math.pi * bit_mm**2 / 4.0,
            size_mm=(self.width_mm, self.depth_mm),
        )


def _dealt(number: int, parts: int) -> list[int]:
    """Deal things out one by one."""
    return [number // parts + (1 if i < number % parts else 0) for i in range(parts)]


def _cut_up(lengths_mm: dict[str, float], parts: int) -> list[list[Stretch]]:
    """Lay the profiles end to end and cut them into as many equal stretches as parts."""
    each = sum(lengths_mm.values()) / parts
    out: list[list[Stretch]] = [[] for _ in range(parts)]
    at = 0.0
    for profile, length in lengths_mm.items():
        for i in range(parts):
            low, high = max(at, i * each), min(at + length, (i + 1) * each)
            if high - low > 1e-3:
                out[i].append((profile, high - low))
        at += length
    return out


def _places(
    sizes_mm: Sequence[tuple[float, float]], machine: Machine
) -> list[list[tuple[int, float, float]]]:
    """Lay parts in rows on as many tables as they take: index and corner, table by table.

    One too long lies alone in its row.
    """
    length, width = machine.table_mm
    tables: list[list[tuple[int, float, float]]] = [[]]
    x = y = GAP_MM
    row = 0.0
    for index, (w, d) in enumerate(sizes_mm):
        if x > GAP_MM and x + w + GAP_MM > length:
            x, y, row = GAP_MM, y + row + GAP_MM, 0.0
        if tables[-1] and y + d + GAP_MM > width:
            tables.append([])
            x, y, row = GAP_MM, GAP_MM, 0.0
        tables[-1].append((index, x, y))
        x += w + GAP_MM
        row = max(row, d)
    return tables


def _take_off(parts: Sequence[Part], machine: Machine, text: str) -> TakeOff:
    """Return the take-off of one table; the text makes it differ from every other."""
    by_profile: dict[str, float] = {}
    for contour in (c for p in parts for c in p.contours()):
        for edge in contour.edges:
            by_profile[edge.profile] = by_profile.get(edge.profile, 0.0) + edge.length_mm
    digest = hashlib.sha256(text.encode()).hexdigest()
    drawing = DrawingTakeOff(
        _NAME, "mm", 1.0, digest, machine.table_mm, {}, by_profile, tuple(parts), ()
    )
    return TakeOff((drawing,))


def _cutout_profile(catalogue: Catalogue) -> str:
    """Return the profile of a cutout with a worked edge: that of the options or of the shop's layer rules."""
    if catalogue.layers.cutout_profile is not None:
        return catalogue.layers.cutout_profile
    for rule in catalogue.layers.rules:
        profile = catalogue.profiles.get(rule.profile or "")
        if rule.means == "cutout" and profile is not None and profile.finished:
            return profile.name
    return "flat-polish"


def room_mm(machine: Machine) -> float:
    """Return the length of the longest part that a machine's table takes [mm]."""
    return machine.table_mm[0] - 2.0 * GAP_MM


def _sketches(inquiry: Inquiry, catalogue: Catalogue, parts: int) -> list[_Sketch]:
    kinds = [_cutout_profile(catalogue)] * inquiry.cutouts
    kinds += ["unfinished"] * inquiry.plain_cutouts
    holes, corners = _dealt(inquiry.holes, parts), _dealt(inquiry.corners, parts)
    return [
        _Sketch(stretches, kinds[i::parts], holes[i], corners[i])
        for i, stretches in enumerate(_cut_up(inquiry.lengths_mm, parts))
    ]


def imagined_take_offs(
    inquiry: Inquiry, catalogue: Catalogue, machine: Machine
) -> tuple[TakeOff, ...]:
    """Assume parts for an inquiry, one take-off per table.

    The profiles are laid end to end and cut into equal stretches, one per part; a stretch
    runs along the part's front and up its right end. Cutouts, holes and corners are dealt out
    one by one. The number of parts is as given, else one for each 3 m of worked edge; more
    where a part would be longer than the table, for its edge, its cutouts or its holes, or has
    more than four radius corners.
    """
    whole = sum(inquiry.lengths_mm.values())
    room = room_mm(machine)
    openings = inquiry.cutouts + inquiry.plain_cutouts
    least = _room_of_cutouts(1) if openings else SHORTEST_MM
    parts = max(inquiry.parts or max(1, round(whole / WORKED_MM)), math.ceil(inquiry.corners / 4))
    sketches = _sketches(inquiry, catalogue, parts)
    if room >= least:
        parts = max(parts, math.ceil(whole / (room + DEPTH_MM)))
        # With one of each kind on a part and nearly no edge, none can become narrower.
        most = max(parts, openings, inquiry.holes, math.ceil(whole / SHORTEST_MM))
        sketches = _sketches(inquiry, catalogue, parts)
        while parts < most and any(s.width_mm > room for s in sketches):
            parts += 1
            sketches = _sketches(inquiry, catalogue, parts)
    bits = catalogue.core_diameters_mm() or (HOLE_MM,)
    bit = min(bits, key=lambda d: abs(d - HOLE_MM))
    tables = _places([(s.width_mm, s.depth_mm) for s in sketches], machine)
    return tuple(
        _take_off(
            [sketches[i].part(i + 1, x, y, bit) for i, x, y in table],
            machine,
            f"{inquiry.text}\0{number}",
        )
        for number, table in enumerate(tables)
    )


def straight_edges(
    profile: str, length_mm: float, count: int, machine: Machine
) -> tuple[TakeOff, ...]:
    """Return parts whose front alone is worked, one take-off per table.

    Parameters
    ----------
    profile : str
        Of every front.
    length_mm : float
        Of one front [mm].
    count : int
        Number of parts.
    machine : Machine
        Gives the table.
    """
    area = length_mm * DEPTH_MM

    def part(index: int, x: float, y: float) -> Part:
        path = _rounded(x, y, length_mm, DEPTH_MM, (0.0,) * 4)
        return Part(
            part_id=f"p{index + 1:02d}",
            name=f"EDGE {index + 1}",
            drawing=_NAME,
            outline=_contour(path, [(profile, length_mm)], Place.OUTER),
            cutouts=(),
            holes=(),
            recesses=(),
            area_gross_mm2=area,
            area_mm2=area,
            size_mm=(length_mm, DEPTH_MM),
        )

    tables = _places([(length_mm, DEPTH_MM)] * count, machine)
    return tuple(
        _take_off(
            [part(*place) for place in table],
            machine,
            f"{profile} {count} x {length_mm!r}\0{number}",
        )
        for number, table in enumerate(tables)
    )
