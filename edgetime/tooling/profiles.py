"""Profiles: what an edge becomes, with its cross-section at each thickness."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from typing import Literal

from edgetime.errors import CatalogueInvalid
from edgetime.records import HIDDEN, figure, figure_named, written
from edgetime.tooling.declare import Entry, Record, key, own
from edgetime.tooling.kinds import Choice, Count, Quantity, Tables
from edgetime.tooling.money_kinds import Rate
from edgetime.tooling.sections import arc_bulge, arc_extent, contour_length_mm, removed_area_mm2
from edgetime.tooling.shared_kinds import FLAG, LENGTH, ROOM, SMALL, TEXT
from edgetime.tooling.toml_file import Spot

_ON_FACE_MM = 1e-6
"""A vertex this close to a face lies on it [mm]; inch figures are rounded when written."""

_DEPTH = Quantity("length", at_least="0 mm", at_most="200 mm")

Family = Literal["flat", "arris", "round", "shaped", "mitred", "laminated", "seam", "none"]


class FaceUp(StrEnum):
    """Which face of the stone must lie up while the profile is made."""

    UP = "up"
    DOWN = "down"
    EITHER = "either"


@dataclass(frozen=True, kw_only=True)
class Vertex(Record):
    """A vertex of a cross-section."""

    u_mm: float = key(_DEPTH, "Distance from the sawn edge into the stone.")
    v_mm: float = key(_DEPTH, "Depth below the top face.")
    arc: Literal["convex", "concave"] | None = key(
        Choice(Literal["convex", "concave"]),
        "Reaches this vertex by an arc instead of a straight line: convex where "
        "the stone bulges out, concave for a hollow. Needs radius.",
        default=None,
    )
    radius_mm: float | None = key(
        Quantity("length", above="0 mm", at_most="2 m"),
        "Radius of the arc, at least half the distance of its ends.",
        default=None,
    )

    @property
    def at(self) -> tuple[float, float]:
        """Its u and v [mm]."""
        return self.u_mm, self.v_mm

    def bulge_from(self, start: Vertex) -> float | None:
        """Return the bulge of the segment that ends here [-], None where no arc spans it."""
        if self.arc is None or self.radius_mm is None:
            return 0.0
        convex = self.arc == "convex"
        return arc_bulge(start.at, self.at, radius_mm=self.radius_mm, convex=convex)


@dataclass(frozen=True, kw_only=True)
class Section(Record):
    """The finished cross-section at one nominal thickness.

    The contour runs from the top face to the bottom face. ``u`` is the distance from the
    sawn edge plane into the stone, ``v`` the depth below the top face. What lies between the
    contour and the plane ``u = 0`` is removed.
    """

    thickness_mm: float = key(LENGTH, "Nominal thickness of the slab.")
    height_mm: float = key(
        SMALL,
        "Height of the edge where an apron is glued under the slab; the thickness otherwise.",
        fill=lambda section: section.thickness_mm,
    )
    points: tuple[Vertex, ...] = key(
        Tables(Vertex),
        "Vertices from the top face (v = 0) to the bottom face (v = height).",
        json=HIDDEN,
    )
    removed_mm2: float = own(
        "Exact area removed.",
        None,
        fill=lambda s: removed_area_mm2(s.points_mm, s.bulges, s.height_mm),
    )
    contour_mm: float = own(
        "Length of the finished contour.",
        None,
        fill=lambda s: contour_length_mm(s.points_mm, s.bulges),
    )

    @cached_property
    @figure
    def points_mm(self) -> tuple[tuple[float, float], ...]:
        """The vertices (u, v) [mm]."""
        return tuple(point.at for point in self.points)

    @cached_property
    @figure
    def bulges(self) -> tuple[float, ...]:
        """Of each segment [-], as in :mod:`edgetime.geometry.path`."""
        return tuple(b.bulge_from(a) or 0.0 for a, b in pairwise(self.points))

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield why the contour is none from face to face."""
        points = self.points
        if len(points) < 2:
            yield spot.error(
                f"A contour of {len(points)} point does not reach from face to face.",
                key="points",
                remedy="Give at least two points.",
            )
            return
        if points[0].arc is not None or points[0].radius_mm is not None:
            yield spot.error(
                "The first point is where the contour begins; no arc leads to it.",
                key="points[1]",
                remedy="Write arc and radius at the point where the arc ends.",
            )
        for number, what, face, v in (
            (1, "begin", "top", 0.0),
            (len(points), "end", "bottom", self.height_mm),
        ):
            found = points[number - 1].v_mm
            if abs(found - v) > _ON_FACE_MM:
                yield spot.error(
                    f"The contour must {what} on the {face} face, v = {v:g} mm, but has "
                    f"v = {found:g} mm.",
                    key=f"points[{number}].v",
                    remedy="Run from the top face to the bottom face.",
                )
        for number, (a, b) in enumerate(pairwise(points), 2):
            yield from self._check_segment(a, b, f"points[{number}]", spot)

    def _check_segment(
        self, a: Vertex, b: Vertex, key: str, spot: Spot
    ) -> Iterator[CatalogueInvalid]:
        bulge = b.bulge_from(a)
        if (b.arc is None) != (b.radius_mm is None):
            missing = "radius" if b.radius_mm is None else "arc"
            yield spot.error(
                f"An arc needs both arc and radius; {missing} is missing.",
                key=key,
                remedy=f"Add {missing}, or leave both out for a straight line.",
            )
        if a.at == b.at:
            yield spot.error(
                "The point lies on the one before it.", key=key, remedy="Correct the point."
            )
            return
        if bulge is None:
            chord = math.dist(a.at, b.at)
            yield spot.error(
                f"A radius of {b.radius_mm:g} mm does not span the {chord:.6g} mm from the "
                f"point before; it must be at least {chord / 2:.6g} mm.",
                key=key,
                remedy="Correct radius or points.",
            )
        # An arc may bulge out of the slab between points that lie in it.
        u_min, _, v_min, v_max = arc_extent(a.at, b.at, bulge or 0.0)
        height = self.height_mm
        if u_min < -_ON_FACE_MM or v_min < -_ON_FACE_MM or v_max > height + _ON_FACE_MM:
            yield spot.error(
                f"The contour leaves the slab here: it reaches u = {u_min:.4g} mm and "
                f"v from {v_min:.4g} to {v_max:.4g} mm; the slab has u ≥ 0 and "
                f"v from 0 to {height:g} mm.",
                key=key,
                remedy="Correct the points, the radius, or the side of the arc.",
            )


@dataclass(frozen=True, kw_only=True)
class PreparationStep(Record):
    """A step of work on an edge at the bench, before the part comes to the router."""

    name: str = key(TEXT, "What is done, such as glue-up.")
    s_per_mm: float = key(
        Quantity("time per length", at_least="0 min/m", at_most="4 h/m"),
        "A person's time per length of edge.",
        name="time",
        default="0 min/m",
    )
    material_per_m: Decimal = key(
        Rate("m"),
        "What is used up per length of edge; nothing if absent.",
        name="material",
        value=Decimal(0),
        currency="currency",
        json=written(write=str),
    )
    currency: str = own("ISO 4217 code of the material's price, empty where none is stated.", "")


@dataclass(frozen=True, kw_only=True)
class Profile(Entry):
    """What an edge becomes."""

    family: str = key(Choice(Family), "Family that the steps of a stack refer to.")
    face_up: FaceUp = key(
        Choice(FaceUp),
        "Which face of the stone lies up while it is made: the polished one (up), the back "
        "(down), or either.",
        default="up",
    )
    made_here: bool = key(
        FLAG,
        "false when it is made elsewhere, such as sawn mitres: listed, not timed.",
        default=True,
    )
    sides: int = key(
        Count(1, 2),
        "2 if the part is flipped half way, each side with its own pass.",
        default=1,
    )
    gauge_strip_mm: float = key(
        ROOM,
        "Width of the strip on the back that is ground to gauge thickness first; 0 mm for none.",
        default="0 mm",
    )
    section: tuple[Section, ...] = key(
        Tables(Section), "One table per nominal thickness, the thinnest first.", json=HIDDEN
    )
    preparation: tuple[PreparationStep, ...] = key(
        Tables(PreparationStep),
        "Work before the router: strip, glue-up and clamping of a laminated edge. "
        "Priced and counted as labour, not as machine time.",
        value=(),
    )

    @property
    def finished(self) -> bool:
        """Whether any finishing is done on this edge (not a seam, not left as sawn)."""
        return self.family not in {"none", "seam"}

    @cached_property
    @figure_named("sections", write=lambda sections: {f"{t:g}": s for t, s in sections.items()})
    def sections(self) -> dict[float, Section]:
        """The section of each nominal thickness [mm]."""
        return {section.thickness_mm: section for section in self.section}

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield sections that are missing or not in order."""
        if not self.section:
            yield spot.error("No section is given.", key="section", remedy="Add one per thickness.")
        for number, (a, b) in enumerate(pairwise(s.thickness_mm for s in self.section), 2):
            if b <= a:
                yield spot.error(
                    f"The section for {b:g} mm comes after the one for {a:g} mm."
                    if b < a
                    else f"There are two sections for {a:g} mm.",
                    key=f"section[{number}].thickness",
                    remedy="Give each thickness once, the thinnest first.",
                )
