"""Tool stacks: the ordered steps that turn a sawn edge into a profile."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import Final, Literal

from edgetime.errors import CatalogueInvalid
from edgetime.places import Place
from edgetime.tooling.declare import Entry, Record, key, place
from edgetime.tooling.kinds import Choice, Count, Names, Quantity, Tables
from edgetime.tooling.shared_kinds import (
    FEED,
    FLAG,
    FRACTION,
    LENGTHS,
    ROOM,
    ROTATION,
    SECONDS,
    SHARE,
    SMALL,
    TEXT,
)
from edgetime.tooling.stones import Stone
from edgetime.tooling.toml_file import Spot


class Operation(StrEnum):
    """What a step does, in the order of a usual stack."""

    CORE = "core"
    CUT = "cut"
    ROUGH = "rough"
    SEAM = "seam"
    GAUGE = "gauge"
    PROFILE = "profile"
    FINE = "fine"
    POLISH = "polish"

    @property
    def takes_stock(self) -> bool:
        """Whether it takes off the stock that is on an edge."""
        return self in {Operation.ROUGH, Operation.SEAM}

    @property
    def finishing(self) -> bool:
        """Whether the step shapes or polishes a profile (hand work replaces it)."""
        return self in {Operation.PROFILE, Operation.FINE, Operation.POLISH}


_FINISH: Final = frozenset(o for o in Operation if o.finishing)
_WHEEL: Final = frozenset(Operation) - {Operation.CORE, Operation.CUT}
_PATH: Final = _WHEEL | {Operation.CUT}

NOMINAL_MATCH_MM: Final = 2.0
"""A nominal thickness counts as one of the catalogue when it is no further off [mm]: slabs
sold as 20 and 30 mm are made from about 18 to 22 and from 28 to 32."""

Lead = Literal["arc", "straight", "plunge"]

_PLACES: Final = {
    Operation.CORE: (Place.HOLE,),
    Operation.CUT: (Place.CUTOUT,),
    Operation.SEAM: (Place.OUTER,),
}


@dataclass(frozen=True, kw_only=True)
class Step(Record):
    """One step of a stack. Which keys apply depends on the operation."""

    SCOPE = ("operation", "a step of operation {}")

    operation: Operation = key(Choice(Operation), "What the step does.")
    tool: str = key(TEXT, "Name of the tool.")
    name: str = key(
        TEXT,
        "Name of the step, unique in the stack; the tool's name if absent, "
        "numbered when the tool is used again.",
        value="",
    )
    feed_mm_per_s: float = key(FEED, "Feed of the tool centre; the vertical feed of a core bit.")
    rotation_rad_per_s: float = key(ROTATION, "Spindle speed.", name="spindle")
    plunge_mm_per_s: float = key(FEED, "Vertical feed going down.", default="2 m/min")
    retract_mm_per_s: float = key(FEED, "Vertical feed coming up.", default="6 m/min")
    applies_to: tuple[str, ...] = key(
        Names(),
        "Profiles or families of profiles; all finished profiles if absent, the "
        "family seam for the operation seam.",
        fill=lambda step: ("seam",) if step.operation is Operation.SEAM else (),
        only=_WHEEL,
    )
    places: tuple[Place, ...] = key(
        Names(Place),
        "Where it applies; outer and cutout if absent (hole for core, cutout for "
        "cut, outer for seam).",
        fill=lambda step: _PLACES.get(step.operation, (Place.OUTER, Place.CUTOUT)),
    )
    passes: int = key(
        Count(1, 100),
        "Traverses of each run.",
        default=1,
        only=_FINISH | {Operation.SEAM},
    )
    engagement_mm: float = key(
        SMALL,
        "Rough and seam: greatest stock one pass takes, square to the edge. Gauge: width of a "
        "lane.",
        default="2 mm",
        only=(Operation.ROUGH, Operation.SEAM, Operation.GAUGE),
    )
    depth_step_mm: float = key(
        SMALL,
        "Cut and gauge: greatest depth of one pass. Core: depth of one peck.",
        default="10 mm",
        only=(Operation.CORE, Operation.CUT, Operation.GAUGE),
    )
    share: float = key(
        FRACTION,
        "Share of the profile's removed cross-section that this step takes. The shares of the "
        "steps that apply to a profile add up to 100 %.",
        default="0 %",
        only=_FINISH,
    )
    stock_left_mm: float = key(
        ROOM,
        "What the finger bit leaves on the edge for roughing.",
        default="1 mm",
        only=(Operation.CUT,),
    )
    lead: Lead = key(
        Choice(Lead),
        "How the tool comes to the edge: on an arc, on a straight line, or down on the edge "
        "line itself.",
        default="arc",
        only=_WHEEL,
    )
    lead_mm: float = key(
        ROOM,
        "Radius of the lead arc, or length of the straight lead.",
        name="lead_length",
        default="20 mm",
        only=_WHEEL,
    )
    overrun_mm: float = key(
        ROOM,
        "How far the tool centre runs past a free end of a run.",
        default="10 mm",
        only=_WHEEL,
    )
    overlap_mm: float = key(
        ROOM, "How far a closed run is repeated at its end.", default="20 mm", only=_WHEEL
    )
    hold_contact_feed: bool = key(
        FLAG,
        "true slows the centre on inside arcs so that the feed along the edge holds.",
        default=False,
        only=_PATH,
    )
    feed_floor: float = key(
        SHARE, "Least share of the feed that the centre keeps then.", default="30 %", only=_PATH
    )
    edge_feed_cap_mm_per_s: float = key(
        Quantity("speed", above="0 mm/min", at_most="100 m/min", word="none"),
        "Greatest feed along the edge on outer arcs and rolled corners.",
        default="none",
        only=_PATH,
    )
    dwell_s: float = key(
        SECONDS, "Wait at the start of each run, for water or the spindle.", default="0 s"
    )
    finish_feed_mm_per_s: float | None = key(
        FEED,
        "Greatest feed that still gives the finish; `edgetime feed` does not exceed it. If "
        "absent, fine and polish steps are not run faster than today.",
        default=None,
        only=_FINISH,
    )
    key: str = place("Its key in the stack's file, counted from 1: step[3].")

    def makes(self, *names: str) -> bool:
        """Return whether it applies to a profile of any of these names or families."""
        return not self.applies_to or not set(names).isdisjoint(self.applies_to)


@dataclass(frozen=True, kw_only=True)
class Stack(Entry):
    """The ordered steps for some stones."""

    stones: tuple[str, ...] = key(
        Names(),
        "Stones, or families of stones, it is for; all if empty.",
        value=(),
    )
    thicknesses_mm: tuple[float, ...] = key(
        LENGTHS, "Nominal thicknesses it is for; all if empty.", value=()
    )
    gauge_below_nominal_mm: float = key(
        ROOM, "Gauge thickness is the nominal thickness less this.", default="0.5 mm"
    )
    steps: tuple[Step, ...] = key(
        Tables(Step),
        "One table per step, in running order.",
        name="step",
        make=lambda steps: tuple(_named(steps)),
    )

    def suits_stone(self, stone: Stone) -> bool:
        """Return whether it is for a stone, by its name or family."""
        return not self.stones or not {stone.name, stone.family}.isdisjoint(self.stones)

    def suits_thickness(self, nominal_mm: float) -> bool:
        """Return whether it is for a nominal thickness [mm], within ``NOMINAL_MATCH_MM``."""
        near = (abs(t - nominal_mm) <= NOMINAL_MATCH_MM for t in self.thicknesses_mm)
        return not self.thicknesses_mm or any(near)

    def check(self, spot: Spot) -> Iterator[CatalogueInvalid]:
        """Yield missing steps, thicknesses out of order and names given twice."""
        if not self.steps:
            yield spot.error("The stack has no step.", key="step", remedy="Add a [[step]].")
        for before, thickness in pairwise(self.thicknesses_mm):
            if thickness <= before:
                yield spot.error(
                    f"{thickness:g} mm comes after {before:g} mm.",
                    key="thicknesses",
                    remedy="Give each thickness once, the thinnest first.",
                )
        names: set[str] = set()
        for step in self.steps:
            if step.name in names:
                yield spot.error(
                    f"There is already a step named {step.name!r}.",
                    key=f"{step.key}.name",
                    remedy="Give each step its own name.",
                )
            names.add(step.name)


def _named(steps: tuple[Step, ...]) -> Iterator[Step]:
    """Yield the steps, those without a name under their tool's, numbered when it is taken."""
    taken: set[str] = set()
    for step in steps:
        name, again = step.name or step.tool, 2
        while not step.name and name in taken:
            name, again = f"{step.tool}-{again}", again + 1
        taken.add(name)
        yield step if step.name else replace(step, name=name)
