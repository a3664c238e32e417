"""Everything that lies on the router table for one cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from edgetime.findings import Finding
from edgetime.takeoff.model import Part
from edgetime.tooling.model import Catalogue, Machine, Stack, Stone

__all__ = ["Load", "PlacedPart"]


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

    part: Part
    nominal_mm: float
    actual_mm: float


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
    cutout_method : str
        Default for cutouts whose layer does not say: ``milled`` or ``precut``.
    diameters_mm : dict
        Real diameter of mounted tools by tool name, where it differs from new [mm].
    feed_override : float
        Multiplies every cutting feed, as the knob on the controller does [-].
    order : str
        ``short-travel`` or ``as-drawn``.
    findings : tuple of Finding
        Of this stage only.
    """

    parts: tuple[PlacedPart, ...]
    machine: Machine
    stack: Stack
    stone: Stone
    catalogue: Catalogue
    cutout_method: str
    diameters_mm: dict[str, float]
    feed_override: float
    order: str
    findings: tuple[Finding, ...]

    @property
    def nominal_mm(self) -> float:
        """Nominal thickness of the load's slabs [mm]."""
        return self.parts[0].nominal_mm if self.parts else self.catalogue.shop.thickness_mm

    def diameter_mm(self, tool: str) -> float:
        """Return the real diameter of a tool [mm]."""
        return self.diameters_mm.get(tool, self.catalogue.tools[tool].diameter_mm)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        raise NotImplementedError
