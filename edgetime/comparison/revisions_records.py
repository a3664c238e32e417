"""What changed from one revision of a drawing to the next."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import ClassVar, NamedTuple

from edgetime.choices import CutoutMethod
from edgetime.comparison.revisions_costs import PriceChange, TimeChange
from edgetime.comparison.revisions_sides import Side
from edgetime.findings import Finding
from edgetime.geometry.path import Path
from edgetime.places import Place
from edgetime.records import HIDDEN, figure
from edgetime.takeoff import Part, TakeOff


class PartStatus(StrEnum):
    """What became of a part."""

    SAME = "same"
    MOVED = "moved"
    CHANGED = "changed"
    ADDED = "added"
    REMOVED = "removed"


class EdgeStatus(StrEnum):
    """What became of an edge: of one straight or curve between corners, with one profile."""

    PROFILE = "profile"
    LENGTH = "length"
    PROFILE_AND_LENGTH = "profile-and-length"
    MOVED = "moved"
    ADDED = "added"
    REMOVED = "removed"


class OpeningStatus(StrEnum):
    """What became of a cutout or a hole."""

    MOVED = "moved"
    RESIZED = "resized"
    METHOD = "method"
    ADDED = "added"
    REMOVED = "removed"


class Displacement(NamedTuple):
    """How something moved: turned about its own centre, which shifts.

    Attributes
    ----------
    x_mm, y_mm : float
        Shift of the centre [mm].
    rotation_rad : float
        Counter-clockwise, in (-π, π] [rad].
    """

    x_mm: float
    y_mm: float
    rotation_rad: float


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class EdgeChange:
    """An edge that changed.

    Attributes
    ----------
    number : int
        Of the change, as the plan has it.
    change : EdgeStatus
        What became of it; ``moved`` where profile and length stay.
    place : Place
        Outline or cutout.
    opening : int or None
        Cutout of the new part, from 1; of the old one where it has gone.
    profile, old_profile : str or None
        None where it was added or has gone.
    length_mm, old_length_mm : float or None
        Exact lengths [mm].
    x_mm, y_mm : float
        Its middle in the new drawing; of one that has gone, where it would be [mm].
    old, new : Side or None
        Its line, where the new drawing has it or would have it.
    stays : bool
        Whether both lines coincide: only the profile is another.
    """

    number: int
    change: EdgeStatus
    place: Place
    opening: int | None
    profile: str | None
    old_profile: str | None
    length_mm: float | None
    old_length_mm: float | None
    x_mm: float
    y_mm: float
    old: Side | None = field(metadata=HIDDEN)
    new: Side | None = field(metadata=HIDDEN)
    stays: bool = field(metadata=HIDDEN)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class OpeningChange:
    """A cutout or a hole that changed.

    Attributes
    ----------
    number : int
        Of the change, as the plan has it.
    change : OpeningStatus
        What became of it; a resized one may also have moved.
    kind, old_kind : str or None
        ``cutout`` or ``hole``; None where it was added or has gone.
    perimeter_mm, old_perimeter_mm : float or None
        Length around it [mm].
    diameter_mm, old_diameter_mm : float or None
        Of a circle [mm].
    method, old_method : CutoutMethod or None
        How a cutout is made, where its layer says so.
    moved : Displacement or None
        How its centre moved on the part; None where it stayed, was added or has gone.
    x_mm, y_mm : float
        Its centre in the new drawing; of one that has gone, where it would be [mm].
    old, new : Path or None
        Its line, where the new drawing has it or would have it.
    """

    number: int
    change: OpeningStatus
    kind: str | None
    old_kind: str | None
    perimeter_mm: float | None
    old_perimeter_mm: float | None
    diameter_mm: float | None
    old_diameter_mm: float | None
    method: CutoutMethod | None
    old_method: CutoutMethod | None
    moved: Displacement | None
    x_mm: float
    y_mm: float
    old: Path | None = field(metadata=HIDDEN)
    new: Path | None = field(metadata=HIDDEN)


@dataclass(frozen=True, eq=False, kw_only=True)
class PartChange:
    """A part in both revisions, or in one.

    Attributes
    ----------
    status : PartStatus
        ``same`` and ``moved`` have one shape, openings and profiles.
    part_id, name, old_part_id, old_name : str or None
        None where it was added or has gone.
    number : int or None
        Of the change, as the plan has it; None where nothing became of the part as a whole.
    moved : Displacement or None
        How it moved beside the drawing as a whole.
    mirror_of : str or None
        Part of the other revision of which an added or removed one is the mirror image.
    area_mm2, old_area_mm2, outline_mm, old_outline_mm : float or None
        Net of openings; length around [mm², mm].
    recess_mm, old_recess_mm : float
        Length of recess curves [mm].
    recesses_changed : bool
        Whether recess curves have another length or place on the part.
    edges : tuple of EdgeChange
        Of a changed part.
    openings : tuple of OpeningChange
        Of a changed part.
    """

    status: PartStatus
    part_id: str | None
    name: str | None
    old_part_id: str | None
    old_name: str | None
    number: int | None
    moved: Displacement | None
    mirror_of: str | None
    area_mm2: float | None
    old_area_mm2: float | None
    outline_mm: float | None
    old_outline_mm: float | None
    recess_mm: float
    old_recess_mm: float
    recesses_changed: bool
    edges: tuple[EdgeChange, ...]
    openings: tuple[OpeningChange, ...]
    old: Part | None = field(metadata=HIDDEN)
    new: Part | None = field(metadata=HIDDEN)

    @property
    @figure
    def renamed(self) -> bool:
        """Whether it had another name; names by position do not count."""
        from edgetime.takeoff.naming import given_name  # noqa: PLC0415  brings numpy

        if self.name is None or self.old_name is None:
            return False
        names = given_name(self.name), given_name(self.old_name)
        return names[0] != names[1] and None not in names

    @property
    def title(self) -> str:
        """Id and name, of the new revision if it is there."""
        name = self.name if self.part_id is not None else self.old_name
        return f"{self.part_id or self.old_part_id} {name}"


@dataclass(frozen=True, slots=True)
class ProfileChange:
    """Edge of one profile before and after.

    Attributes
    ----------
    profile : str
        Its name.
    length_mm, old_length_mm : float
        As the take-offs have it, outlines and cutouts [mm].
    """

    profile: str
    length_mm: float
    old_length_mm: float

    @property
    @figure
    def change_mm(self) -> float:
        """How much longer it is [mm]."""
        return self.length_mm - self.old_length_mm


@dataclass(frozen=True, slots=True)
class Counted:
    """Seams or openings before and after.

    Attributes
    ----------
    count, old_count : int
        How many.
    length_mm, old_length_mm : float
        Their length; around openings [mm].
    """

    count: int
    old_count: int
    length_mm: float
    old_length_mm: float


class RevisedDrawing(NamedTuple):
    """A drawing of a revision."""

    path: str
    units: str
    digest: str


@dataclass(frozen=True, eq=False, kw_only=True)
class Revision:
    """Two revisions of the drawings of a load.

    Attributes
    ----------
    tolerance_mm : float
        Lines this near coincide [mm].
    drawings, old_drawings : tuple of RevisedDrawing
        What was read.
    frame : Displacement
        How the drawing moved as a whole, about the origin.
    parts : tuple of PartChange
        In the order of the new revision, then those that have gone.
    profiles : tuple of ProfileChange
        Every profile of either.
    seams, cutouts, holes : Counted
        Before and after.
    times : TimeChange or None
        None where times are not asked for or cannot be calculated.
    price : PriceChange or None
        None where it is not asked for.
    why_not_timed : str or None
        Why there are no times.
    findings : tuple of Finding
        Of the new revision.
    """

    SCHEMA: ClassVar[str] = "edgetime.revision/1"

    tolerance_mm: float
    drawings: tuple[RevisedDrawing, ...]
    old_drawings: tuple[RevisedDrawing, ...]
    frame: Displacement
    parts: tuple[PartChange, ...]
    profiles: tuple[ProfileChange, ...]
    seams: Counted
    cutouts: Counted
    holes: Counted
    times: TimeChange | None = None
    price: PriceChange | None = None
    why_not_timed: str | None = None
    findings: tuple[Finding, ...]
    old_findings: tuple[Finding, ...] = field(metadata=HIDDEN)
    take_offs: tuple[TakeOff, TakeOff] = field(metadata=HIDDEN)

    @property
    @figure
    def changed(self) -> bool:
        """Whether anything that is made differs: not where parts lie, nor their names."""
        return any(p.status not in {PartStatus.SAME, PartStatus.MOVED} for p in self.parts)

    @property
    @figure
    def moved(self) -> bool:
        """Whether parts lie elsewhere, by themselves or with the whole drawing."""
        return self.shifted or any(p.status is PartStatus.MOVED for p in self.parts)

    def not_timed(self, why: str) -> Revision:
        """Return the same with the reason why there are no times."""
        return replace(self, why_not_timed=why)

    @property
    def shifted(self) -> bool:
        """Whether the drawing moved as a whole."""
        x, y, rotation = self.frame
        return max(abs(x), abs(y)) > self.tolerance_mm or abs(rotation) > 1e-6

    @property
    @figure
    def counts(self) -> dict[str, int]:
        """Parts by what became of them."""
        return {str(s): sum(p.status is s for p in self.parts) for s in PartStatus}
