"""From a profile's checked table to its record, with the checks of its cross-sections."""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import pairwise

from edgetime.errors import CatalogueInvalid
from edgetime.tooling.model import FaceUp, PreparationStep, Profile, Section
from edgetime.tooling.schema import ProfileFile, SectionTable
from edgetime.tooling.sections import arc_bulge, arc_extent, build_section
from edgetime.tooling.toml_file import TomlFile

Errors = list[CatalogueInvalid]

_ON_FACE_MM = 1e-6
"""A vertex this close to a face lies on it [mm]; inch figures are rounded when written."""


def _section(file: TomlFile, table: SectionTable, at: str, errors: Errors) -> Section | None:
    height = table.thickness if table.height is None else table.height
    before = len(errors)
    points = table.points
    if len(points) < 2:
        errors.append(
            file.error(
                f"A contour of {len(points)} point does not reach from face to face.",
                key=f"{at}.points",
                remedy="Give at least two points.",
            )
        )
        return None
    if points[0].arc is not None or points[0].radius is not None:
        errors.append(
            file.error(
                "The first point is where the contour begins; no arc leads to it.",
                key=f"{at}.points[1]",
                remedy="Write arc and radius at the point where the arc ends.",
            )
        )
    for point, number, face, v in (
        (points[0], 1, "top", 0.0),
        (points[-1], len(points), "bottom", height),
    ):
        if abs(point.v - v) > _ON_FACE_MM:
            errors.append(
                file.error(
                    f"The contour must {'begin' if number == 1 else 'end'} on the {face} face, "
                    f"v = {v:g} mm, but has v = {point.v:g} mm.",
                    key=f"{at}.points[{number}].v",
                    remedy="Run from the top face to the bottom face.",
                )
            )
    bulges = []
    for number, (a, b) in enumerate(pairwise(points), 2):
        key = f"{at}.points[{number}]"
        start, end = (a.u, a.v), (b.u, b.v)
        bulge: float | None = 0.0
        if (b.arc is None) != (b.radius is None):
            missing = "radius" if b.radius is None else "arc"
            errors.append(
                file.error(
                    f"An arc needs both arc and radius; {missing} is missing.",
                    key=key,
                    remedy=f"Add {missing}, or leave both out for a straight line.",
                )
            )
        elif b.radius is not None:
            bulge = arc_bulge(start, end, radius_mm=b.radius, convex=b.arc == "convex")
        if start == end or bulge is None:
            chord = math.dist(start, end)
            errors.append(
                file.error(
                    "The point lies on the one before it."
                    if start == end
                    else f"A radius of {b.radius:g} mm does not span the {chord:.6g} mm from the "
                    f"point before; it must be at least {chord / 2:.6g} mm.",
                    key=key,
                    remedy="Correct the point." if start == end else "Correct radius or points.",
                )
            )
            bulge = 0.0
        u_min, _, v_min, v_max = arc_extent(start, end, bulge)
        if u_min < -_ON_FACE_MM or v_min < -_ON_FACE_MM or v_max > height + _ON_FACE_MM:
            errors.append(
                file.error(
                    f"The contour leaves the slab here: it reaches u = {u_min:.4g} mm and "
                    f"v from {v_min:.4g} to {v_max:.4g} mm; the slab has u ≥ 0 and "
                    f"v from 0 to {height:g} mm.",
                    key=key,
                    remedy="Correct the points, the radius, or the side of the arc.",
                )
            )
        bulges.append(bulge)
    if len(errors) > before:
        return None
    return build_section(
        thickness_mm=table.thickness,
        height_mm=height,
        points_mm=[(p.u, p.v) for p in points],
        bulges=bulges,
    )


def build_profile(name: str, table: ProfileFile, file: TomlFile, errors: Errors) -> Profile:
    """Make a profile; append what is wrong with its sections to ``errors``."""
    sections: dict[float, Section] = {}
    if not table.section:
        errors.append(
            file.error("No section is given.", key="section", remedy="Add one per thickness.")
        )
    last = 0.0
    for number, entry in enumerate(table.section, 1):
        at = f"section[{number}]"
        if entry.thickness <= last:
            errors.append(
                file.error(
                    f"The section for {entry.thickness:g} mm comes after the one for {last:g} mm."
                    if entry.thickness < last
                    else f"There are two sections for {last:g} mm.",
                    key=f"{at}.thickness",
                    remedy="Give each thickness once, the thinnest first.",
                )
            )
        last = entry.thickness
        section = _section(file, entry, at, errors)
        if section is not None:
            sections[entry.thickness] = section
    return Profile(
        name=name,
        title=table.title,
        family=table.family,
        face_up=FaceUp(table.face_up),
        made_here=table.made_here,
        sides=table.sides,
        gauge_strip_mm=table.gauge_strip,
        sections=sections,
        source=table.source[""],
        file=file.name,
        preparation=tuple(
            PreparationStep(
                name=step.name,
                s_per_mm=step.time,
                material_per_m=Decimal(0) if step.material is None else step.material[0],
                currency="" if step.material is None else step.material[1],
            )
            for step in table.preparation
        ),
    )
