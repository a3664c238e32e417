"""Parts, edges, cutouts and holes read from drawings.

One convention runs through all later stages: **the stone is on the left** of every
contour. Outlines run counter-clockwise, cutouts and holes clockwise, so a tool works on
the right-hand side of whatever it follows, and a positive offset is always into the air.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import ClassVar, NamedTuple

from edgetime.choices import CutoutMethod
from edgetime.errors import Where
from edgetime.findings import Finding
from edgetime.geometry.path import Path
from edgetime.geometry.segments import Segments
from edgetime.places import Place
from edgetime.records import HIDDEN, figure, figure_named
from edgetime.takeoff.layer_use import LayerUse
from edgetime.tooling.keep_out import KeepOut


@dataclass(frozen=True, slots=True)
class Edge:
    """A stretch of a contour that gets one profile.

    Attributes
    ----------
    profile : str
        Profile name; also ``seam`` and ``unfinished``.
    layer, handle : str
        Layer and handle that gave the profile.
    first, stop : int
        Pieces ``first`` to ``stop - 1`` of the contour's path. A contour starts at an edge's
        start, so no edge wraps around the path's end.
    length_mm : float
        Exact length [mm].
    notch : str
        For an edge of an outline that was drawn as a cutout: ``milled`` or ``outline`` where
        its layer rule says what makes it, ``shop`` where it does not; else empty.
    """

    profile: str
    layer: str
    handle: str
    first: int
    stop: int
    length_mm: float
    notch: str = ""


@dataclass(frozen=True, eq=False)
class Contour:
    """A closed line of a part with its edges, in order around it.

    Attributes
    ----------
    path : Path
        Closed, with the stone on the left.
    edges : tuple of Edge
        They cover the path without gap or overlap.
    place : Place
        Outline or cutout.
    layer, handle : str
        Of the first curve of the contour.
    """

    path: Path
    edges: tuple[Edge, ...]
    place: Place
    layer: str
    handle: str


@dataclass(frozen=True, eq=False)
class Cutout:
    """An opening in a part.

    Attributes
    ----------
    contour : Contour
        Clockwise.
    diameter_mm : float or None
        Set for a circle [mm].
    method : CutoutMethod or None
        None for the shop's default (a layer rule may say).
    """

    contour: Contour = field(metadata=HIDDEN)
    diameter_mm: float | None = None
    method: CutoutMethod | None = None

    @property
    @figure
    def perimeter_mm(self) -> float:
        """Length around it [mm]."""
        return self.contour.path.length_mm

    @property
    @figure
    def layer(self) -> str:
        """Layer of its first curve."""
        return self.contour.layer

    @property
    @figure
    def handle(self) -> str:
        """Handle of its first curve."""
        return self.contour.handle


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole that a core bit makes.

    Attributes
    ----------
    x_mm, y_mm : float
        Centre [mm].
    diameter_mm : float
        As drawn, or of the circle that its chords follow [mm].
    layer, handle : str
        Of the circle.
    chords_mm : float or None
        Length of the chords drawn for the circle [mm], None where it is drawn as a circle.
    """

    x_mm: float
    y_mm: float
    diameter_mm: float
    layer: str
    handle: str
    chords_mm: float | None = field(default=None, metadata=HIDDEN)

    @property
    @figure
    def perimeter_mm(self) -> float:
        """Length of its line as drawn [mm]."""
        return math.pi * self.diameter_mm if self.chords_mm is None else self.chords_mm


@dataclass(frozen=True, slots=True)
class Recess:
    """Drainer grooves, hob rebates and other work listed but not timed.

    Attributes
    ----------
    layer, handle : str
        Of the curve.
    length_mm : float
        Exact length of the curve [mm].
    shape : Segments
        The curve.
    """

    layer: str
    handle: str
    length_mm: float
    shape: Segments = field(compare=False, metadata=HIDDEN)


class PartEdge(NamedTuple):
    """An edge of a part, and where it is."""

    profile: str
    length_mm: float
    layer: str
    place: Place
    handle: str


class _Sized:
    """What has an overall size."""

    size_mm: tuple[float, float]

    @property
    @figure
    def width_mm(self) -> float:
        """Overall width of what is visible [mm]."""
        return self.size_mm[0]

    @property
    @figure
    def height_mm(self) -> float:
        """Overall height of what is visible [mm]."""
        return self.size_mm[1]


@dataclass(frozen=True, eq=False)
class Part(_Sized):
    """One closed outline with its cutouts and holes.

    Attributes
    ----------
    part_id : str
        Unique in the take-off, stable from run to run (``p01`` … by position: rows from the
        top, left to right).
    name : str
        Block name, text inside it, or position.
    drawing : str
        Path of the drawing it is in.
    outline : Contour
        Counter-clockwise.
    cutouts : tuple of Cutout
        Openings.
    holes : tuple of Hole
        Core-bit holes.
    recesses : tuple of Recess
        Listed work.
    area_gross_mm2 : float
        Inside the outline [mm²].
    area_mm2 : float
        Net of cutouts and holes [mm²].
    size_mm : (float, float)
        Overall width and height of the outline [mm].
    """

    part_id: str
    name: str
    drawing: str = field(metadata=HIDDEN)
    outline: Contour = field(metadata=HIDDEN)
    cutouts: tuple[Cutout, ...]
    holes: tuple[Hole, ...]
    recesses: tuple[Recess, ...]
    area_gross_mm2: float
    area_mm2: float
    size_mm: tuple[float, float] = (0.0, 0.0)

    def contours(self) -> tuple[Contour, ...]:
        """Return the outline, then the cutouts."""
        return (self.outline, *(c.contour for c in self.cutouts))

    def where(self, at: Iterable[float], of: Contour | Hole | None = None) -> Where:
        """Return a place in the part's drawing, for a finding about it or a line of it."""
        x, y = (float(v) for v in at)
        layer, handle = (None, None) if of is None else (of.layer, of.handle)
        part = self.part_id
        return Where(path=self.drawing, layer=layer, handle=handle, part=part, x_mm=x, y_mm=y)

    @property
    @figure
    def outline_mm(self) -> float:
        """Length of the outline [mm]."""
        return self.outline.path.length_mm

    @property
    @figure
    def cutout_edge_mm(self) -> float:
        """Length around all cutouts [mm]."""
        return math.fsum(e.length_mm for c in self.cutouts for e in c.contour.edges)

    @property
    @figure_named("edges")
    def all_edges(self) -> tuple[PartEdge, ...]:
        """Edges of the outline, then of the cutouts, in order around each."""
        return tuple(
            PartEdge(e.profile, e.length_mm, e.layer, contour.place, e.handle)
            for contour in self.contours()
            for e in contour.edges
        )


@dataclass(frozen=True, eq=False)
class DrawingTakeOff(_Sized):
    """The take-off of one drawing.

    Attributes
    ----------
    path, units, mm_per_unit, digest
        As :class:`edgetime.drawing.Drawing`.
    size_mm : (float, float)
        Overall width and height of the visible geometry [mm].
    lengths_by_layer_mm : dict
        Exact length of everything drawn, per layer [mm].
    lengths_by_profile_mm : dict
        Length of outer and cutout edges after joining and removal of duplicates [mm].
    parts : tuple of Part
        In order of ``part_id``.
    findings : tuple of Finding
        Of reading and of take-off.
    keep_outs : tuple of KeepOut
        Clamps, stops and cups drawn beside and under the parts.
    layers : tuple of LayerUse
        Every layer that carries curves, and what the rules make of it.
    """

    path: str
    units: str
    mm_per_unit: float
    digest: str
    size_mm: tuple[float, float]
    lengths_by_layer_mm: dict[str, float]
    lengths_by_profile_mm: dict[str, float]
    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]
    keep_outs: tuple[KeepOut, ...] = ()
    layers: tuple[LayerUse, ...] = ()


@dataclass(frozen=True, eq=False)
class TakeOff:
    """The take-off of all drawings of a load.

    Attributes
    ----------
    drawings : tuple of DrawingTakeOff
        In the order given.
    """

    SCHEMA: ClassVar[str] = "edgetime.takeoff/1"

    drawings: tuple[DrawingTakeOff, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """All parts, drawing by drawing."""
        return tuple(p for d in self.drawings for p in d.parts)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, drawing by drawing."""
        return tuple(f for d in self.drawings for f in d.findings)
