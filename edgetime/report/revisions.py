"""Two revisions of a drawing: what changed, on the screen and in files."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from edgetime.comparison.revisions_costs import ToolChange
from edgetime.comparison.revisions_motion import same_method
from edgetime.comparison.revisions_records import (
    EdgeChange,
    OpeningChange,
    PartChange,
    PartStatus,
    ProfileChange,
    Revision,
)
from edgetime.places import Place
from edgetime.report.columns import AREA, CLOCK, COUNT, EDGE, PLACE, Column, Sheet
from edgetime.report.document import Fact, Heading, Line, Table
from edgetime.report.findings import finding_parts, tally
from edgetime.report.numbers import Numbers
from edgetime.report.quantities import format_length
from edgetime.report.text import (
    length_column,
    length_header,
    signed_clock,
)
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.comparison.revisions_records import Counted, Displacement, RevisedDrawing
    from edgetime.report.document import Block

_WHAT: Final = {
    "profile": "profile",
    "length": "length",
    "profile-and-length": "profile, length",
    "moved": "moved",
    "added": "new",
    "removed": "gone",
    "resized": "size",
    "method": "method",
    "changed": "changed",
    "same": "same",
}
_LEAST_MM: Final = 0.5
"""Differences of lengths below this are none at three decimals of a metre [mm]."""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A change of a part, an edge or an opening, as files list them.

    Attributes
    ----------
    part : PartChange
        The part it belongs to.
    edge, opening : EdgeChange, OpeningChange or None
        None for what became of the part as a whole.
    """

    part: PartChange
    edge: EdgeChange | None = None
    opening: OpeningChange | None = None

    @property
    def change(self) -> PartChange | EdgeChange | OpeningChange:
        """What changed."""
        return self.edge or self.opening or self.part

    @property
    def item(self) -> str:
        """``part``, ``edge``, ``cutout`` or ``hole``."""
        if self.edge is not None:
            return "edge"
        if self.opening is not None:
            return self.opening.kind or self.opening.old_kind or ""
        return "part"

    @property
    def what(self) -> str:
        """What became of it."""
        own = self.change
        return str(own.status if isinstance(own, PartChange) else own.change)

    def get(self, name: str) -> Any:
        """Return a figure of the change, None where it has none of that name."""
        return getattr(self.change, name, None)

    def shift(self, name: str) -> float | None:
        """Return a figure of its displacement."""
        moved = self.get("moved")
        return None if moved is None else float(getattr(moved, name))


def change_rows(revision: Revision) -> list[ChangeRow]:
    """Return all changes, part by part."""
    rows = []
    for part in revision.parts:
        if part.status is not PartStatus.SAME or part.renamed:
            rows.append(ChangeRow(part))
        rows += [ChangeRow(part, edge=e) for e in part.edges]
        rows += [ChangeRow(part, opening=o) for o in part.openings]
    return rows


CHANGES: Final = Sheet[ChangeRow](
    (
        Column(key="number", unit=COUNT, get=lambda r: r.get("number")),
        Column(key="item"),
        Column(key="change", get=lambda r: r.what),
        Column(key="part_id", get=lambda r: r.part.part_id),
        Column(key="part_name", get=lambda r: r.part.name),
        Column(key="old_part_id", get=lambda r: r.part.old_part_id),
        Column(key="old_part_name", get=lambda r: r.part.old_name),
        Column(key="place", get=lambda r: r.get("place")),
        Column(key="opening", unit=COUNT, get=lambda r: r.edge and r.edge.opening),
        Column(key="profile", get=lambda r: r.get("profile")),
        Column(key="old_profile", get=lambda r: r.get("old_profile")),
        Column(key="length_mm", unit=EDGE, get=lambda r: _length(r, "")),
        Column(key="old_length_mm", unit=EDGE, get=lambda r: _length(r, "old_")),
        Column(key="area_mm2", unit=AREA, get=lambda r: r.get("area_mm2")),
        Column(key="old_area_mm2", unit=AREA, get=lambda r: r.get("old_area_mm2")),
        Column(key="diameter_mm", unit=EDGE, get=lambda r: r.get("diameter_mm")),
        Column(key="old_diameter_mm", unit=EDGE, get=lambda r: r.get("old_diameter_mm")),
        Column(key="moved_x_mm", unit=PLACE, get=lambda r: r.shift("x_mm")),
        Column(key="moved_y_mm", unit=PLACE, get=lambda r: r.shift("y_mm")),
        Column(key="rotation_rad", unit=COUNT, get=lambda r: r.shift("rotation_rad")),
        Column(key="x_mm", unit=PLACE, get=lambda r: r.get("x_mm")),
        Column(key="y_mm", unit=PLACE, get=lambda r: r.get("y_mm")),
    )
)
"""One row per change, for files; ``length_mm`` is that of an edge, around a part or an opening."""


def _length(row: ChangeRow, prefix: str) -> float | None:
    name = {"edge": "length_mm", "part": "outline_mm"}.get(row.item, "perimeter_mm")
    found: float | None = row.get(f"{prefix}{name}")
    return found


def _signed(length_mm: float, system: UnitSystem) -> str:
    if abs(length_mm) < _LEAST_MM:
        return "0"
    return ("-" if length_mm < 0.0 else "+") + length_column(abs(length_mm), system)


def _shift_text(moved: Displacement, system: UnitSystem, tolerance_mm: float) -> str:
    """Write how something moved: ``40 mm right, 30 mm down, turned 90°``."""
    bits = []
    for value, plus, minus in ((moved.x_mm, "right", "left"), (moved.y_mm, "up", "down")):
        if abs(value) > tolerance_mm:
            bits.append(f"{format_length(abs(value), system)} {plus if value > 0 else minus}")
    degrees = math.degrees(moved.rotation_rad)
    if abs(degrees) >= 0.005:
        bits.append(f"turned {abs(degrees):.2f}".rstrip("0").rstrip(".") + "°"
                    + (" clockwise" if degrees < 0.0 else ""))  # fmt: skip
    return ", ".join(bits)


def _part_text(part: PartChange, system: UnitSystem, tolerance_mm: float) -> str:
    """Write what became of a part."""
    bits = [_WHAT[str(part.status)]]
    if part.moved is not None:
        shift = _shift_text(part.moved, system, tolerance_mm)
        bits = [f"moved {shift}"] if part.status is PartStatus.MOVED else [*bits, f"moved {shift}"]
    if part.renamed:
        bits.append(f"was {part.old_name}")
    if part.mirror_of is not None:
        which = "old" if part.status is PartStatus.ADDED else "new"
        bits.append(f"mirror image of {which} {part.mirror_of}")
    if part.recesses_changed:
        change = _signed(part.recess_mm - part.old_recess_mm, system)
        bits.append(
            "recesses " + ("moved" if change == "0" else f"{change} {length_header(system)}")
        )
    return ", ".join(bits)


def _parts_sheet(system: UnitSystem, tolerance_mm: float) -> Sheet[PartChange]:
    return Sheet(
        (
            Column(heading="#", unit=COUNT, get=lambda p: p.number),
            Column(heading="Part", get=lambda p: p.part_id or p.old_part_id),
            Column(heading="Name", get=lambda p: p.name or p.old_name),
            Column(heading="Change", get=lambda p: _part_text(p, system, tolerance_mm)),
            Column(heading="Old area", unit=AREA, get=lambda p: p.old_area_mm2),
            Column(heading="New area", unit=AREA, get=lambda p: p.area_mm2),
        )
    )


def _change(row: ChangeRow, name: str) -> str:
    """Write a text that may have changed: ``eased to ogee``."""
    new, old = row.get(name), row.get(f"old_{name}")
    return str(new or old) if None in {new, old} or new == old else f"{old} to {new}"


def _where(row: ChangeRow) -> str:
    edge = row.edge
    if edge is None or edge.place is Place.OUTER:
        return "outline"
    return f"cutout {edge.opening}"


def _difference(row: ChangeRow) -> float | None:
    new, old = _length(row, ""), _length(row, "old_")
    return None if new is None and old is None else (new or 0.0) - (old or 0.0)


_EDGES: Final = Sheet[ChangeRow](
    (
        Column(heading="#", unit=COUNT, get=lambda r: r.get("number")),
        Column(heading="Part", get=lambda r: r.part.part_id or r.part.old_part_id),
        Column(heading="Place", get=_where),
        Column(heading="Change", get=lambda r: _WHAT[r.what]),
        Column(heading="Profile", get=lambda r: _change(r, "profile")),
        Column(heading="Old", unit=EDGE, get=lambda r: _length(r, "old_")),
        Column(heading="New", unit=EDGE, get=lambda r: _length(r, "")),
        Column(heading="Difference", unit=EDGE, show=_signed, get=_difference),
    )
)


def _openings_sheet(system: UnitSystem, tolerance_mm: float) -> Sheet[ChangeRow]:
    def moved(row: ChangeRow) -> str | None:
        shift = row.get("moved")
        return None if shift is None else _shift_text(shift, system, tolerance_mm)

    def size(row: ChangeRow, prefix: str) -> str | None:
        diameter = row.get(f"{prefix}diameter_mm")
        around = row.get(f"{prefix}perimeter_mm")
        if diameter is not None:
            said = f"dia. {format_length(diameter, system)}"
        elif around is not None:
            said = f"{format_length(around, system)} around"
        else:
            return None
        if same_method(row.get("method"), row.get("old_method")):
            return said
        return f"{said}, {row.get(f'{prefix}method')}"

    return Sheet(
        (
            Column(heading="#", unit=COUNT, get=lambda r: r.get("number")),
            Column(heading="Part", get=lambda r: r.part.part_id or r.part.old_part_id),
            Column(heading="Opening", get=lambda r: _change(r, "kind")),
            Column(heading="Change", get=lambda r: _WHAT[r.what]),
            Column(heading="Old", get=lambda r: size(r, "old_")),
            Column(heading="New", get=lambda r: size(r, "")),
            Column(heading="Moved", get=moved),
        )
    )


_PROFILES: Final = Sheet[ProfileChange](
    (
        Column(heading="Profile", get=lambda p: p.profile),
        Column(heading="Old", unit=EDGE, get=lambda p: p.old_length_mm),
        Column(heading="New", unit=EDGE, get=lambda p: p.length_mm),
        Column(heading="Difference", unit=EDGE, get=lambda p: p.change_mm, show=_signed),
    )
)


def _tool_column(heading: str, key: str, whole: float) -> Column[ToolChange]:
    return Column(heading=heading, unit=CLOCK, get=lambda t: getattr(t, key), total=lambda _: whole)


def revision_screen(revision: Revision, system: UnitSystem) -> Iterator[Block]:
    """Return the screen of two revisions."""
    yield from _drawings("New", revision.drawings, revision.findings)
    yield from _drawings("Old", revision.old_drawings, revision.old_findings)
    yield from _summary(revision, system)
    rows = change_rows(revision)
    parts = [r.part for r in rows if r.item == "part"]
    if parts:
        yield Heading("Parts that changed")
        yield Table(_parts_sheet(system, revision.tolerance_mm), parts, name="parts")
    edges = [r for r in rows if r.edge is not None]
    if edges:
        yield Heading("Edges that changed: straights and curves between corners")
        yield Table(_EDGES, edges, name="edges")
    openings = [r for r in rows if r.opening is not None]
    if openings:
        yield Heading("Openings that changed")
        yield Table(_openings_sheet(system, revision.tolerance_mm), openings, name="openings")
    if revision.changed:
        yield Heading("Edges by profile")
        yield Table(_PROFILES, revision.profiles, name="profiles")
        yield from _counts(revision, system)
    if revision.changed or revision.moved:
        yield from _times(revision, system)
        yield from _price(revision)
    yield from finding_parts(revision.findings, system)


def _drawings(
    label: str, drawings: Sequence[RevisedDrawing], findings: Sequence[Any]
) -> Iterator[Block]:
    for k, drawing in enumerate(drawings):
        said = "" if not findings or k else f", findings: {tally(findings)}"
        yield Fact(label, f"{drawing.path}: units {drawing.units}{said}")


def _summary(revision: Revision, system: UnitSystem) -> Iterator[Block]:
    counts = revision.counts
    within = format_length(revision.tolerance_mm, system)
    listed = [f"{n} {_WHAT.get(name, name)}" for name, n in counts.items() if n and name != "same"]
    if not revision.changed:
        yield Fact("Change", f"none: parts, edges and openings are the same within {within}")
    if listed:
        yield Fact("Parts", f"{', '.join(listed)}, {counts['same']} unchanged")
    if revision.shifted:
        x, y, rotation = revision.frame
        turned = (
            ""
            if abs(rotation) < 1e-6
            else (f", after a turn of {math.degrees(rotation):.2f}° about the origin")
        )
        yield Fact("Place", "the drawing as a whole moved by "
                   f"{format_length(x, system)} in X, {format_length(y, system)} in Y{turned}")  # fmt: skip


def _counts(revision: Revision, system: UnitSystem) -> Iterator[Block]:
    for what, own in (
        ("seam edges", revision.seams), ("cutouts", revision.cutouts), ("holes", revision.holes),
    ):  # fmt: skip
        said = _counted(own, system)
        if said:
            yield Line(f"{what[0].upper()}{what[1:]}: {said}", indent=2)


def _counted(own: Counted, system: UnitSystem) -> str:
    if own.count == own.old_count and abs(own.length_mm - own.old_length_mm) < _LEAST_MM:
        return ""
    unit = length_header(system)
    old, new = (
        f"{n} ({length_column(mm, system)} {unit})" if n else "none"
        for n, mm in ((own.old_count, own.old_length_mm), (own.count, own.length_mm))
    )
    return f"{old} before, {new} now"


def _times(revision: Revision, system: UnitSystem) -> Iterator[Block]:
    times = revision.times
    if times is None:
        if revision.why_not_timed is not None:
            yield Heading("Times")
            yield Line(f"Not calculated: {revision.why_not_timed}")
        return
    yield Heading(
        f"Machine time, min:s ({times.stone}, machine {times.machine}, stack {times.stack})"
    )
    yield Table(
        Sheet(
            (
                Column(heading="Tool", get=lambda t: t.tool, total=lambda _: "Cycle"),
                _tool_column("Old", "old_total_s", times.old_total_s),
                _tool_column("New", "total_s", times.total_s),
                Column(
                    heading="Difference", unit=CLOCK, get=lambda t: t.change_s,
                    show=lambda s, _: signed_clock(s), total=lambda _: times.change_s,
                ),
            )
        ),
        times.tools,
        name="times",
    )  # fmt: skip
    attended = times.attended_s - times.old_attended_s
    yield Line(f"Attended: {signed_clock(attended)} min:s", indent=2)
    hand = times.hand_mm - times.old_hand_mm
    if abs(hand) >= _LEAST_MM:
        yield Line(f"Finished by hand: {_signed(hand, system)} {length_header(system)}", indent=2)


def _price(revision: Revision) -> Iterator[Block]:
    price = revision.price
    if price is None:
        return
    numbers = Numbers(price.locale, price.currency)
    rows = [("Net", price.old_net, price.net, price.change_net)]
    if price.gross != price.net or price.old_gross != price.old_net:
        rows.append(("With tax", price.old_gross, price.gross, price.change_gross))
    yield Heading(f"Price, {price.currency}")
    yield Table(
        Sheet(
            (
                Column(heading=" ", get=lambda r: r[0]),
                numbers.column("", "Old", lambda r: r[1]),
                numbers.column("", "New", lambda r: r[2]),
                numbers.column("", "Difference", lambda r: r[3], show=numbers.change),
            )
        ),
        rows,
        name="price",
    )
