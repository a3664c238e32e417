"""Everything that lies on the router table for one cycle."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from edgetime.choices import CutoutMethod, RunOrder
from edgetime.findings import Finding
from edgetime.geometry.measure import bounds
from edgetime.records import HIDDEN, figure, figure_named, written
from edgetime.takeoff.parts import Part
from edgetime.tooling import Catalogue, Machine, Stack, Stone
from edgetime.tooling.keep_out import KeepOut


@dataclass(frozen=True, eq=False)
class PlacedPart:
    """A part where it lies, its contours in table coordinates.

    Attributes
    ----------
    part : Part
        With all geometry already moved to table coordinates.
    nominal_mm, actual_mm : float
        Nominal and actual thickness [mm].
    """

    part: Part = field(metadata=HIDDEN)
    nominal_mm: float
    actual_mm: float

    @property
    @figure
    def part_id(self) -> str:
        """Id of the part."""
        return self.part.part_id

    @property
    @figure
    def name(self) -> str:
        """Name of the part."""
        return self.part.name

    @property
    @figure
    def drawing(self) -> str:
        """Path of its drawing."""
        return self.part.drawing

    @property
    @figure
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of its outline on the table [mm]."""
        return bounds(self.part.outline.path)


def _name(entry: Machine | Stack | Stone) -> str:
    return entry.name


@dataclass(frozen=True, eq=False)
class Load:
    """The load.

    Attributes
    ----------
    parts : tuple of PlacedPart
        In take-off order.
    machine, stack, stone : Machine, Stack, Stone
        What it runs on, with and in.
    catalogue : Catalogue
        Profiles, tools and shop defaults.
    cutout_method : CutoutMethod
        Default for cutouts whose layer does not say.
    diameters_mm : dict
        Real diameter of mounted tools by tool name, or by piece, the name with ``/profile``, where
        it differs from new [mm].
    feed_override : float
        Multiplies every cutting feed, as the knob on the controller does [-].
    order : RunOrder
        In which order a tool visits the edge runs.
    findings : tuple of Finding
        Of this stage only.
    keep_outs : tuple of KeepOut
        Where no tool may come: as drawn, in table coordinates, then the machine's own.
    """

    SCHEMA: ClassVar[str] = "edgetime.load/1"

    parts: tuple[PlacedPart, ...]
    machine: Machine = field(metadata=written(write=_name))
    stack: Stack = field(metadata=written(write=_name))
    stone: Stone = field(metadata=written(write=_name))
    catalogue: Catalogue = field(metadata=HIDDEN)
    cutout_method: CutoutMethod
    diameters_mm: dict[str, float]
    feed_override: float
    order: RunOrder
    findings: tuple[Finding, ...]
    keep_outs: tuple[KeepOut, ...] = ()

    @property
    @figure_named("thickness_mm")
    def nominal_mm(self) -> float:
        """Nominal thickness of the load's slabs [mm]."""
        return self.parts[0].nominal_mm if self.parts else self.catalogue.shop.thickness_mm

    @property
    def thickest_mm(self) -> float:
        """Greatest actual thickness of a part, the nominal one without a part [mm]."""
        return max((p.actual_mm for p in self.parts), default=self.nominal_mm)

    def diameter_mm(self, piece: str) -> float:
        """Return the real diameter of a mounted piece [mm].

        Parameters
        ----------
        piece : str
            Tool name, with ``/profile`` for a wheel ground to one: its own diameter counts, then
            the tool's, then that of a new one.
        """
        tool = piece.partition("/")[0]
        new = self.catalogue.tools[tool].diameter_mm
        return self.diameters_mm.get(piece, self.diameters_mm.get(tool, new))
