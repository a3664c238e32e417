"""The take-off: drawings, parts, edges by profile and by layer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgetime.report.cycle import drawing_parts
from edgetime.report.document import Grid, Heading, Line, Table, Tone
from edgetime.report.findings import finding_parts
from edgetime.report.layers import LAYERS
from edgetime.report.text import length_column, length_header
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.report.document import Block
    from edgetime.takeoff import DrawingTakeOff, Part, TakeOff

EDGE_HEADER = (
    "drawing",
    "part_id",
    "part_name",
    "place",
    "opening",
    "profile",
    "layer",
    "length_mm",
    "diameter_mm",
)
"""Columns of the CSV form: one row per edge, and one per hole."""

_MM2_PER_M2 = 1e6
_MM2_PER_FT2 = 304.8**2


def edge_rows(take_off: TakeOff) -> list[list[object]]:
    """Return the rows of the CSV form.

    Parameters
    ----------
    take_off : TakeOff
        What was read.

    Returns
    -------
    list of list
        As :data:`EDGE_HEADER`; ``opening`` counts the cutouts and the holes of a part from 1.
    """
    rows: list[list[object]] = []
    for part in take_off.parts:
        head = [part.drawing, part.part_id, part.name]
        rows += [
            [*head, "outer", None, e.profile, e.layer, e.length_mm, None]
            for e in part.outline.edges
        ]
        for number, cutout in enumerate(part.cutouts, 1):
            rows += [
                [*head, "cutout", number, e.profile, e.layer, e.length_mm, cutout.diameter_mm]
                for e in cutout.contour.edges
            ]
        rows += [
            [*head, "hole", number, None, h.layer, h.perimeter_mm, h.diameter_mm]
            for number, h in enumerate(part.holes, 1)
        ]
    return rows


def _gross_lines(parts: tuple[Part, ...], system: UnitSystem) -> list[Block]:
    """Say why a shift has more area, where there is an opening at all."""
    gross = sum(p.area_gross_mm2 for p in parts)
    if gross - sum(p.area_mm2 for p in parts) <= 1.0:
        return []
    square = "m2" if system is UnitSystem.METRIC else "sq ft"
    return [
        Line(
            f"With the openings in it {_area(gross, system)} {square}: shift and compare count that.",
            indent=2,
        )
    ]


def _area(area_mm2: float, system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        return f"{area_mm2 / _MM2_PER_M2:.3f}"
    return f"{area_mm2 / _MM2_PER_FT2:.2f}"


def _part_row(part: Part, system: UnitSystem) -> list[object]:
    outer = sum(e.length_mm for e in part.outline.edges)
    inner = sum(e.length_mm for c in part.cutouts for e in c.contour.edges)
    return [
        part.part_id,
        part.name,
        _area(part.area_mm2, system),
        length_column(outer, system),
        length_column(inner, system),
        len(part.cutouts) or None,
        len(part.holes) or None,
    ]


def takeoff_parts(take_off: TakeOff, system: UnitSystem) -> list[Block]:
    """Return the screen of a take-off.

    Parameters
    ----------
    take_off : TakeOff
        What was read.
    system : UnitSystem
        Units of lengths and areas.
    """
    metric = system is UnitSystem.METRIC
    unit, square = length_header(system), "m2" if metric else "sq ft"
    parts: list[Block] = drawing_parts(take_off.drawings, system)
    for drawing in take_off.drawings:
        if len(take_off.drawings) > 1:
            parts.append(Line(f"\n{drawing.path}", tone=Tone.STRONG))
        if drawing.parts:
            parts += [
                Heading("Parts (area net of openings; inside: edges of cutouts)"),
                Grid(
                    [
                        ("Part", "<"),
                        ("Name", "<"),
                        (f"Area {square}", ">"),
                        (f"Outline {unit}", ">"),
                        (f"Inside {unit}", ">"),
                        ("Cutouts", ">"),
                        ("Holes", ">"),
                    ],
                    [_part_row(p, system) for p in drawing.parts],
                    total=_part_total(drawing.parts, system),
                ),
                *_gross_lines(drawing.parts, system),
                Heading("Edges by profile, outlines and cutouts"),
                Grid(
                    [("Profile", "<"), (f"Edge {unit}", ">")],
                    [
                        [name, length_column(length, system)]
                        for name, length in drawing.lengths_by_profile_mm.items()
                    ],
                ),
            ]
            parts += _recesses(drawing.parts, system)
        parts += _layers(drawing)
    return [*parts, *finding_parts(take_off.findings, system)]


def layer_parts(take_off: TakeOff, system: UnitSystem) -> list[Block]:
    """Return the screen of the layers alone.

    Parameters
    ----------
    take_off : TakeOff
        What was read.
    system : UnitSystem
        Units of lengths.
    """
    parts: list[Block] = drawing_parts(take_off.drawings, system)
    for drawing in take_off.drawings:
        if len(take_off.drawings) > 1:
            parts.append(Line(f"\n{drawing.path}", tone=Tone.STRONG))
        parts += _layers(drawing)
    return [*parts, *finding_parts(take_off.findings, system)]


def layer_rows(take_off: TakeOff) -> list[list[object]]:
    """Return the rows of the CSV form of the layers."""
    return LAYERS.csv_rows([(d.path, use) for d in take_off.drawings for use in d.layers])


def _layers(drawing: DrawingTakeOff) -> list[Block]:
    if not drawing.layers:
        return []
    parts: list[Block] = [
        Heading("Everything drawn, by layer, as drawn"),
        Table(LAYERS, [(drawing.path, use) for use in drawing.layers]),
    ]
    unknown = [use.layer for use in drawing.layers if use.rule is None]
    if unknown:
        parts.append(Line(f"No rule knows: {', '.join(unknown)}", hang=2))
    return parts


def _part_total(parts: tuple[Part, ...], system: UnitSystem) -> list[object] | None:
    if len(parts) < 2:
        return None
    outer = sum(e.length_mm for p in parts for e in p.outline.edges)
    inner = sum(e.length_mm for p in parts for c in p.cutouts for e in c.contour.edges)
    return [
        "",
        "Total",
        _area(sum(p.area_mm2 for p in parts), system),
        length_column(outer, system),
        length_column(inner, system),
        sum(len(p.cutouts) for p in parts) or None,
        sum(len(p.holes) for p in parts) or None,
    ]


def _recesses(parts: tuple[Part, ...], system: UnitSystem) -> list[Block]:
    total = sum(r.length_mm for p in parts for r in p.recesses)
    if not total:
        return []
    unit = length_header(system)
    return [Line(f"\nRecesses {length_column(total, system)} {unit}: listed, not timed")]
