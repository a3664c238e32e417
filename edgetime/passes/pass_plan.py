"""Which tool runs where, how often, and in which order."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar, NamedTuple

from edgetime.findings import Finding
from edgetime.geometry.measure import point_at
from edgetime.geometry.path import Path
from edgetime.load.load import Load
from edgetime.passes.pockets import hand_swaps
from edgetime.places import Place
from edgetime.records import HIDDEN, figure, figure_named, written
from edgetime.tooling import Machine, Operation, ShopDefaults, Step


@dataclass(frozen=True, eq=False)
class EdgeRun:
    """A maximal unbroken stretch of edges to which one step applies.

    Attributes
    ----------
    part : int
        Index into the load's parts.
    contour : int
        0 for the outline, k for cutout k − 1 of the part, -1 for a hole.
    path : Path
        The edge itself, stone on the left; closed when it is a whole contour. The path's
        ``tags`` are indices into :attr:`PassPlan.profiles`, the profile of each segment. For
        a core bit the path is the circle it bores, two half circles with ``NO_INDEX`` as tag.
    place : Place
        Where it is.
    free_start, free_end : bool
        The edge line may be overrun at this end (air beyond it); False where stone, a wall
        edge or another profile goes on.
    begin_mm : float or None
        Where along a closed path the tool comes to the edge and leaves it [mm]; None where the
        tool path decides.
    """

    part: int = field(metadata=HIDDEN)
    contour: int
    path: Path = field(metadata=HIDDEN)
    place: Place
    free_start: bool
    free_end: bool
    begin_mm: float | None = field(default=None, metadata=HIDDEN)

    @property
    @figure
    def run_mm(self) -> float:
        """Length of the edge [mm]."""
        return self.path.length_mm

    @property
    @figure
    def closed(self) -> bool:
        """Whether it comes round."""
        return self.path.closed

    @property
    @figure
    def start_mm(self) -> list[float]:
        """X and Y of its begin [mm]."""
        return self.ends_mm[0]

    @property
    @figure
    def end_mm(self) -> list[float]:
        """X and Y of its end [mm]."""
        return self.ends_mm[1]

    @property
    def ends_mm(self) -> tuple[list[float], list[float]]:
        """Where the run begins and ends: (x, y) and (x, y) [mm]."""
        if self.begin_mm is None:
            return self.path.points[0].tolist(), self.path.points[-1].tolist()
        place = point_at(self.path, [self.begin_mm])[0].tolist()
        return place, place


@dataclass(frozen=True, eq=False)
class Pass:
    """One traverse of an edge run by one tool.

    Attributes
    ----------
    run : EdgeRun
        Where.
    visit : int
        Index into :attr:`PassPlan.visits`.
    step : Step
        What the stack says.
    offset_mm : float
        Signed distance of the tool centre from the finished edge, positive into the air
        (for ``core`` 0: the centre is the hole's) [mm]. A ``cut`` that leaves stock runs at
        it only where a later pass takes the stock off, elsewhere at ``reach_mm``.
    reach_mm : float
        Radius of the tool that must fit inside corners [mm].
    top_z_mm, bottom_z_mm : float
        The tool tip's depth at the start of the cut and at its lowest, below the slab's top
        face, negative down [mm].
    number, count : int
        This is pass ``number`` of ``count`` over its run by this step, from 1.
    feed_mm_per_s : float
        Feed of the tool centre with stone factor and override applied [mm/s].
    plunge_mm_per_s : float
        Vertical feed, factors applied [mm/s].
    removed_mm2 : tuple of float
        Cross-section this pass removes, per profile index of the plan [mm²]; of the real
        thickness, without what runs below the slab. For ``core`` the area of the bored disc,
        the same for every profile.
    """

    run: EdgeRun = field(metadata=HIDDEN)
    visit: int
    step: Step = field(metadata=written(write=lambda step: step.name))
    offset_mm: float
    reach_mm: float = field(metadata=HIDDEN)
    top_z_mm: float
    bottom_z_mm: float
    number: int
    count: int
    feed_mm_per_s: float
    plunge_mm_per_s: float
    removed_mm2: tuple[float, ...] = field(metadata=HIDDEN)


@dataclass(frozen=True, slots=True)
class PlannedVisit:
    """One stay of a tool in the spindle.

    Attributes
    ----------
    tool : str
        Tool name.
    piece : str
        What needs its own pocket: the tool's name, with ``/profile`` for a profiled wheel.
    operation : Operation
        Of its first step.
    rotation_rad_per_s : float
        Spindle speed [rad/s].
    side : int
        0, or 1 after the parts were turned over. The runs of side 1 are mirrored in place
        about the vertical line through the middle of their part's bounds.
    """

    tool: str
    piece: str
    operation: Operation
    rotation_rad_per_s: float
    side: int


@dataclass(frozen=True, slots=True)
class AttendedStop:
    """The machine waits for a person.

    Attributes
    ----------
    before_visit : int
        Index of the visit it precedes; ``len(visits)`` for after the last.
    reason : str
        ``slug``, ``flip``, ``cups``, or ``pocket`` for a tool that the rack has no pocket for.
    places : tuple of (int, int)
        What is handled, one entry each: part and contour (0 for the whole part).
    each_s, once_s : float
        Attended time for each place, and once for the stop [s].
    """

    before_visit: int
    reason: str
    places: tuple[tuple[int, int], ...]
    each_s: float
    once_s: float

    @property
    def parts(self) -> tuple[int, ...]:
        """Parts concerned, ascending."""
        return tuple(sorted({part for part, _ in self.places}))

    @property
    def seconds(self) -> float:
        """Attended time [s]."""
        return self.once_s + self.each_s * len(self.places)


def pocket_stops(
    visits: Sequence[PlannedVisit],
    machine: Machine,
    shop: ShopDefaults,
    *,
    pockets: int | None = None,
) -> list[AttendedStop]:
    """Return the stops for tools put in by hand, since the rack has no pocket for them.

    A piece that comes back after it made room for another is put in again.

    Parameters
    ----------
    visits : sequence of PlannedVisit
        In running order.
    machine : Machine
        Gives the pockets and the time of any stop.
    shop : ShopDefaults
        Gives the time to change one tool.
    pockets : int, optional
        Of the rack; the machine's when omitted.
    """
    places = machine.pockets if pockets is None else pockets
    swapped = hand_swaps([visit.piece for visit in visits], max(places, 0))
    return [
        AttendedStop(v, "pocket", (), 0.0, machine.stop_s + shop.shift.tool_swap_s) for v in swapped
    ]


@dataclass(frozen=True, slots=True)
class PassRow:
    """A pass as JSON lists it: what it is, and the run it goes along."""

    part_id: str
    profiles: Sequence[str]
    run: EdgeRun = field(metadata=written(merged=True))
    planned: Pass = field(metadata=written(merged=True))


class StopRow(NamedTuple):
    """An attended stop in the JSON form of a plan."""

    before_visit: int
    reason: str
    part_ids: tuple[str, ...]
    attended_s: float


class TreatedRow(NamedTuple):
    """Edge of one part and profile that asks for finishing on the machine."""

    part_id: str
    profile: str
    length_mm: float


@dataclass(frozen=True, eq=False)
class PassPlan:
    """All passes of a load.

    Attributes
    ----------
    load : Load
        What is planned.
    profiles : tuple of str
        Profile names, as indexed by runs and moves.
    visits : tuple of PlannedVisit
        In running order.
    passes : tuple of Pass
        Grouped by visit, in the order they run.
    stops : tuple of AttendedStop
        In order.
    elsewhere_mm : dict
        Edge length per profile made elsewhere [mm].
    treated_mm : dict
        Edge length per (part index, profile) that asks for finishing here [mm].
    findings : tuple of Finding
        Of this stage only.
    drawn : tuple of Pass
        The same passes visit by visit in the order drawn, to be timed as well; empty when
        ``passes`` are in that order.
    """

    SCHEMA: ClassVar[str] = "edgetime.plan/1"

    load: Load = field(metadata=HIDDEN)
    profiles: tuple[str, ...]
    visits: tuple[PlannedVisit, ...]
    passes: tuple[Pass, ...] = field(metadata=HIDDEN)
    stops: tuple[AttendedStop, ...] = field(metadata=HIDDEN)
    elsewhere_mm: dict[str, float]
    treated_mm: dict[tuple[int, str], float] = field(metadata=HIDDEN)
    findings: tuple[Finding, ...]
    drawn: tuple[Pass, ...] = field(default=(), metadata=HIDDEN)

    def diameter_mm(self, p: Pass) -> float:
        """Return the real diameter of the piece that runs a pass [mm]."""
        return self.load.diameter_mm(self.visits[p.visit].piece)

    def keeping(self, passes: Sequence[int], drawn: Sequence[int] = ()) -> PassPlan:
        """Return the plan with only some of its passes, in their order.

        Visits without a pass go, and so does what is attended for the sake of passes that
        went: no slug falls from an opening that is not cut, and no part is turned over for
        edges that no tool reaches.

        Parameters
        ----------
        passes, drawn : sequence of int
            Indices of the passes that stay, ascending, and of the same ones as drawn.
        """
        kept = [self.passes[k] for k in passes]
        visits = sorted({p.visit for p in kept})
        number = {v: k for k, v in enumerate(visits)}
        places = {(p.visit, p.step.operation, p.run.part, p.run.contour) for p in kept}
        turned = {p.run.part for p in kept if self.visits[p.visit].side}

        def needed(stop: AttendedStop, part: int, contour: int) -> bool:
            if stop.reason == "flip":
                return part in turned
            if stop.reason == "slug":
                # It falls in the visit that cuts it free.
                return (stop.before_visit - 1, Operation.CUT, part, contour) in places
            return (stop.before_visit, Operation.GAUGE, part, contour) in places

        stops = [
            replace(
                stop,
                before_visit=bisect_left(visits, stop.before_visit),
                places=tuple(place for place in stop.places if needed(stop, *place)),
            )
            for stop in self.stops
            if stop.reason != "pocket"
        ]
        stops = [stop for stop in stops if stop.places]
        running = tuple(self.visits[v] for v in visits)
        stops += pocket_stops(running, self.load.machine, self.load.catalogue.shop)
        return replace(
            self,
            visits=running,
            passes=tuple(replace(p, visit=number[p.visit]) for p in kept),
            drawn=tuple(replace(p, visit=number[p.visit]) for p in (self.drawn[k] for k in drawn)),
            stops=tuple(sorted(stops, key=lambda s: s.before_visit)),
        )

    def taking_drawn(self, visits: Sequence[int]) -> PassPlan:
        """Return the plan with some of its visits in the order drawn.

        Parameters
        ----------
        visits : sequence of int
            Indices of those visits.
        """
        some = frozenset(visits)
        own = [p for p in self.passes if p.visit not in some]
        own += [p for p in self.drawn if p.visit in some]
        return replace(self, passes=tuple(sorted(own, key=lambda p: p.visit)), drawn=())

    @property
    @figure_named("passes")
    def pass_rows(self) -> tuple[PassRow, ...]:
        """The passes as JSON has them."""
        return tuple(
            PassRow(
                self.load.parts[p.run.part].part_id,
                sorted(self.profiles[t] for t in set(p.run.path.tags.tolist()) if t >= 0),
                p.run,
                p,
            )
            for p in self.passes
        )

    @property
    @figure_named("stops")
    def stop_rows(self) -> tuple[StopRow, ...]:
        """The attended stops as JSON has them."""
        return tuple(
            StopRow(s.before_visit, s.reason, self.part_ids(s.parts), s.seconds) for s in self.stops
        )

    @property
    @figure_named("treated_mm")
    def treated_rows(self) -> tuple[TreatedRow, ...]:
        """Edge that asks for finishing here, by part and profile [mm]."""
        return tuple(
            TreatedRow(self.load.parts[part].part_id, name, length)
            for (part, name), length in self.treated_mm.items()
        )

    def part_ids(self, parts: Iterable[int]) -> tuple[str, ...]:
        """Return the ids of some of the load's parts, given by index."""
        return tuple(self.load.parts[p].part_id for p in parts)
