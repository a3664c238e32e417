"""Clamps, stops and cups: what is on the table where no tool may come."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Literal

from edgetime.errors import CatalogueInvalid
from edgetime.records import HIDDEN, figure, written
from edgetime.tooling.declare import Record, key
from edgetime.tooling.kinds import Choice, Each
from edgetime.tooling.shared_kinds import LENGTH, SIZE, SPOT, TEXT
from edgetime.tooling.toml_file import Spot

if TYPE_CHECKING:
    from edgetime.geometry.path import Path


class KeepOutKind(StrEnum):
    """Which tools a keep-out area is in the way of."""

    SOLID = "solid"
    """All of them: clamps and stops are beside the slab or on it."""

    CUP = "cup"
    """Those that reach the underside of the slab: cups lie under it."""


def _or_none(text: str) -> str | None:
    return text or None


@dataclass(frozen=True, eq=False)
class KeepOut:
    """An area that no tool may sweep.

    Attributes
    ----------
    name : str
        For messages: the block's name or the layer, with the handle; or as the machine's file
        names it.
    kind : KeepOutKind
        Which tools it is in the way of.
    paths : tuple of Path
        Its lines; closed ones bound it [mm].
    source : str
        Drawing or machine file it comes from.
    layer, handle : str
        Of its first line, ``""`` in a machine's file.
    """

    name: str
    kind: KeepOutKind
    paths: tuple[Path, ...] = field(metadata=HIDDEN)
    source: str = field(metadata=HIDDEN)
    layer: str = field(default="", metadata=written(write=_or_none))
    handle: str = field(default="", metadata=written(write=_or_none))

    @property
    @figure
    def bounds_mm(self) -> tuple[float, ...]:
        """Left, bottom, right and top of its lines [mm]."""
        import numpy as np  # noqa: PLC0415  the words of a rule need none of it

        from edgetime.geometry.measure import bounds  # noqa: PLC0415  as above
        from edgetime.geometry.segments import box_around  # noqa: PLC0415  as above

        return box_around(np.array([bounds(p) for p in self.paths]))


_FORMS = (("centre", "diameter"), ("corner", "size"), ("points",))


@dataclass(frozen=True, kw_only=True)
class TableArea(Record):
    """An area of the table where no tool may come: a circle, a rectangle or a polygon.

    Give centre with diameter, corner with size, or points.
    """

    name: str = key(TEXT, "Name of the obstacle, for messages.")
    kind: Literal["clamp", "stop", "cup"] = key(
        Choice(Literal["clamp", "stop", "cup"]),
        "clamp and stop block every tool; a cup lies under the slab and blocks "
        "tools that reach the slab's underside.",
    )
    centre_mm: tuple[float, float] | None = key(
        SPOT, "Centre of a circle, in table coordinates.", default=None
    )
    diameter_mm: float | None = key(LENGTH, "Diameter of the circle.", default=None)
    corner_mm: tuple[float, float] | None = key(
        SPOT, "Corner of a rectangle with least X and Y.", default=None
    )
    size_mm: tuple[float, float] | None = key(
        SIZE, "Length in X and width in Y of the rectangle.", default=None
    )
    points_mm: tuple[tuple[float, float], ...] = key(
        Each(SPOT), "Vertices of a polygon, at least three.", value=()
    )

    def path(self) -> Path | None:
        """Return its outline [mm], None unless exactly one form is given, whole."""
        from edgetime.geometry.path import Path  # noqa: PLC0415  brings numpy

        given = {name for form in _FORMS for name in form if getattr(self, f"{name}_mm")}
        if given == {"centre", "diameter"} and self.centre_mm and self.diameter_mm:
            (x, y), r = self.centre_mm, 0.5 * self.diameter_mm
            return Path.from_bulges([(x + r, y), (x - r, y)], [1.0, 1.0], closed=True)
        if given == {"corner", "size"} and self.corner_mm and self.size_mm:
            (x, y), (w, h) = self.corner_mm, self.size_mm
            return Path.from_bulges([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)
        if given == {"points"} and len(self.points_mm) >= 3:
            return Path.from_bulges(self.points_mm, closed=True)
        return None

    def keep_out(self, file: str) -> KeepOut | None:
        """Return the area that no tool may sweep, None where it has no outline."""
        path = self.path()
        if path is None:
            return None
        kind = KeepOutKind.CUP if self.kind == "cup" else KeepOutKind.SOLID
        return KeepOut(f"{self.kind} {self.name}", kind, (path,), file)

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield why it bounds no area."""
        from edgetime.geometry.measure import is_simple  # noqa: PLC0415  brings numpy

        path = self.path()
        if path is None:
            yield spot.error(
                f"The area {self.name!r} is not a circle, rectangle or polygon.",
                remedy="Give centre and diameter, or corner and size, or three points or more.",
            )
        elif not is_simple(path):
            yield spot.error(
                f"The polygon {self.name!r} crosses itself.",
                key="points",
                remedy="List its vertices in order around it.",
            )
