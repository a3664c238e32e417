"""The take-off: drawings, parts, edges by profile and by layer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from edgetime.places import Place
from edgetime.report.columns import COUNT, EDGE, Column, Sheet, Unit
from edgetime.report.cycle import drawing_parts
from edgetime.report.document import Block, Heading, Line, Table, Tone
from edgetime.report.findings import finding_parts
from edgetime.report.layers import LAYERS
from edgetime.report.text import length_column, length_header
from edgetime.takeoff.parts import Contour
from edgetime.unit_table import FT_MM
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.takeoff import DrawingTakeOff, Part, TakeOff
    from edgetime.takeoff.layer_use import LayerUse


class EdgeRow(NamedTuple):
    """An edge or a hole of a part."""

    part: Part
    place: Place
    opening: int | None
    profile: str | None
    layer: str
    length_mm: float
    diameter_mm: float | None = None


EDGES: Final[Sheet[EdgeRow]] = Sheet(
    (
        Column(key="drawing", get=lambda row: row.part.drawing),
        Column(key="part_id", get=lambda row: row.part.part_id),
        Column(key="part_name", get=lambda row: row.part.name),
        Column(key="place"),
        Column(key="opening", unit=COUNT),
        Column(key="profile"),
        Column(key="layer"),
        Column(key="length_mm", unit=EDGE),
        Column(key="diameter_mm", unit=EDGE),
    )
)
"""One row per edge, and one per hole; ``opening`` counts the cutouts and the holes of a part."""


def edge_rows(take_off: TakeOff) -> list[EdgeRow]:
    """Return the edges and holes of all parts."""
    rows: list[EdgeRow] = []
    for part in take_off.parts:
        openings: list[tuple[int | None, Contour, float | None]] = [(None, part.outline, None)]
        openings += [(k, c.contour, c.diameter_mm) for k, c in enumerate(part.cutouts, 1)]
        rows += [
            EdgeRow(part, contour.place, k, e.profile, e.layer, e.length_mm, diameter_mm)
            for k, contour, diameter_mm in openings
            for e in contour.edges
        ]
        rows += [
            EdgeRow(part, Place.HOLE, k, None, h.layer, h.perimeter_mm, h.diameter_mm)
            for k, h in enumerate(part.holes, 1)
        ]
    return rows


def _gross_lines(parts: Sequence[Part], system: UnitSystem) -> list[Block]:
    """Say why a shift has more area, where there is an opening at all."""
    gross = sum(p.area_gross_mm2 for p in parts)
    if gross - sum(p.area_mm2 for p in parts) <= 1.0:
        return []
    return [
        Line(
            f"Openings included: {_area(gross, system)} {_square(system)}, the area that shift and "
            "compare count.",
            indent=2,
        )
    ]


def _area(area_mm2: float, system: UnitSystem) -> str:
    return f"{area_mm2 / 1e6:.3f}" if system is UnitSystem.METRIC else f"{area_mm2 / FT_MM**2:.2f}"


def _square(system: UnitSystem) -> str:
    return "m2" if system is UnitSystem.METRIC else "sq ft"


_AREA: Final = Unit("_mm2", _area, _square)


def _parts_sheet(parts: Sequence[Part]) -> Sheet[Part]:
    """Return the columns of parts; with totals where there are several."""

    def column(key: str, heading: str, unit: Unit, get: Callable[[Part], Any]) -> Column[Part]:
        total = (lambda rows: sum(get(p) or 0 for p in rows) or None) if len(parts) > 1 else None
        return Column(key=key, heading=heading, unit=unit, get=get, total=total)

    return Sheet(
        (
            Column(key="part_id", heading="Part"),
            Column(key="name", heading="Name",
                   total=(lambda _: "Total") if len(parts) > 1 else None),
            column("area_mm2", "Area", _AREA, lambda p: p.area_mm2),
            column("outline_mm", "Outline", EDGE, lambda p: p.outline_mm),
            column("cutout_edge_mm", "Cutout edge", EDGE, lambda p: p.cutout_edge_mm),
            column("cutouts", "Cutouts", COUNT, lambda p: len(p.cutouts) or None),
            column("holes", "Holes", COUNT, lambda p: len(p.holes) or None),
        )
    )  # fmt: skip


_PROFILES: Final[Sheet[tuple[str, float]]] = Sheet(
    (
        Column(key="profile", heading="Profile", get=lambda row: row[0]),
        Column(key="length_mm", heading="Edge", unit=EDGE, get=lambda row: row[1]),
    )
)


def takeoff_parts(take_off: TakeOff, system: UnitSystem) -> list[Block]:
    """Return the screen of a take-off."""
    parts: list[Block] = drawing_parts(take_off.drawings, system)
    for drawing in take_off.drawings:
        if len(take_off.drawings) > 1:
            parts.append(Line(f"\n{drawing.path}", tone=Tone.STRONG))
        if drawing.parts:
            parts += [
                *size_parts(drawing.parts, system),
                Heading("Edges by profile, outlines and cutouts"),
                Table(_PROFILES, list(drawing.lengths_by_profile_mm.items()), name="profiles"),
            ]
            parts += _recesses(drawing.parts, system)
        parts += _layers(drawing)
    return [*parts, *finding_parts(take_off.findings, system)]


def size_parts(parts: Sequence[Part], system: UnitSystem) -> list[Block]:
    """Return the areas and lengths of parts."""
    return [
        Heading("Parts (area without openings; edges of outline and cutouts)"),
        Table(_parts_sheet(parts), parts, name="parts"),
        *_gross_lines(parts, system),
    ]


def layer_parts(take_off: TakeOff, system: UnitSystem) -> list[Block]:
    """Return the screen of the layers alone."""
    parts: list[Block] = drawing_parts(take_off.drawings, system)
    for drawing in take_off.drawings:
        if len(take_off.drawings) > 1:
            parts.append(Line(f"\n{drawing.path}", tone=Tone.STRONG))
        parts += _layers(drawing)
    return [*parts, *finding_parts(take_off.findings, system)]


def layer_rows(take_off: TakeOff) -> list[tuple[str, LayerUse]]:
    """Return the layers of all drawings, as :data:`edgetime.report.layers.LAYERS` takes them."""
    return [(d.path, use) for d in take_off.drawings for use in d.layers]


def _layers(drawing: DrawingTakeOff) -> list[Block]:
    if not drawing.layers:
        return []
    parts: list[Block] = [
        Heading("Drawn length by layer"),
        Table(LAYERS, [(drawing.path, use) for use in drawing.layers]),
    ]
    unknown = [use.layer for use in drawing.layers if use.rule is None]
    if unknown:
        parts.append(Line(f"No rule for: {', '.join(unknown)}", hang=2))
    return parts


def _recesses(parts: Sequence[Part], system: UnitSystem) -> list[Block]:
    total = sum(r.length_mm for p in parts for r in p.recesses)
    if not total:
        return []
    unit = length_header(system)
    return [Line(f"\nRecesses {length_column(total, system)} {unit}: listed, not timed")]
