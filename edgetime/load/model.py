"""Everything that lies on the router table for one cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from edgetime.findings import Finding
from edgetime.geometry.measure import bounds
from edgetime.records import as_json
from edgetime.takeoff.keepouts import KeepOut
from edgetime.takeoff.model import Part
from edgetime.tooling.model import Catalogue, Machine, Stack, Stone


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
        Real diameter of mounted tools by tool name, or by piece, the name with ``/profile``, where
        it differs from new [mm].
    feed_override : float
        Multiplies every cutting feed, as the knob on the controller does [-].
    order : str
        ``short-travel`` or ``as-drawn``.
    findings : tuple of Finding
        Of this stage only.
    keep_outs : tuple of KeepOut
        Where no tool may come: as drawn, in table coordinates, then the machine's own.
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
    keep_outs: tuple[KeepOut, ...] = ()

    @property
    def nominal_mm(self) -> float:
        """Nominal thickness of the load's slabs [mm]."""
        return self.parts[0].nominal_mm if self.parts else self.catalogue.shop.thickness_mm

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

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form: what lies where, in what, on what."""
        return {
            "schema": "edgetime.load/1",
            "machine": self.machine.name,
            "stack": self.stack.name,
            "stone": self.stone.name,
            "thickness_mm": self.nominal_mm,
            "cutout_method": self.cutout_method,
            "feed_override": self.feed_override,
            "order": self.order,
            "diameters_mm": dict(self.diameters_mm),
            "parts": [
                {
                    "part_id": p.part.part_id,
                    "name": p.part.name,
                    "drawing": p.part.drawing,
                    "nominal_mm": p.nominal_mm,
                    "actual_mm": p.actual_mm,
                    "bounds_mm": list(bounds(p.part.outline.path)),
                }
                for p in self.parts
            ],
            "keep_outs": [k.as_dict() for k in self.keep_outs],
            "findings": as_json(self.findings),
        }
