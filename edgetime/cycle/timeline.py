"""The timeline of a load: seconds per visit, part and profile."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from edgetime.records import figure, written

TERMS = ("change_s", "cut_s", "plunge_s", "lead_s", "rapid_s", "dwell_s")
"""The terms every total is the sum of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """Seconds by term. ``change + cut + plunge + lead + rapid + dwell = total``.

    Attributes
    ----------
    change_s : float
        Travel to and from the rack, stop, exchange, length measuring, spindle run-up [s].
    cut_s : float
        In the cut along the edge, at depth [s].
    plunge_s : float
        All vertical feed moves [s].
    lead_s : float
        Leads, overruns, overlap [s].
    rapid_s : float
        The rest in the air [s].
    dwell_s : float
        Water on, probing, dressing, stated waits [s].
    """

    change_s: float = 0.0
    cut_s: float = 0.0
    plunge_s: float = 0.0
    lead_s: float = 0.0
    rapid_s: float = 0.0
    dwell_s: float = 0.0

    @property
    @figure
    def total_s(self) -> float:
        """Sum of the terms [s]."""
        return (
            self.change_s + self.cut_s + self.plunge_s + self.lead_s + self.rapid_s + self.dwell_s
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One row of the estimate: one stay of a tool in the spindle.

    Attributes
    ----------
    tool, piece, operation : str
        Tool name, what occupies the pocket, operation.
    pocket : int or None
        Pocket of the rack, from 1, in order of first use; None when there are not enough.
    side : int
        1 after the parts were turned over.
    starts_s : float
        On the machine's clock, from cycle start, stops excluded [s].
    time : Flow
        Seconds by term.
    passes : int
        Passes run.
    treated_mm : float
        Edge length treated, each stretch once [mm].
    edge_mm : float
        Edge length times passes; ``pass_edge_mm`` is the name that says so [mm].
    cut_path_mm : float
        Tool-centre length in the cut [mm].
    volume_mm3 : float
        Stone removed [mm³].
    """

    tool: str
    piece: str
    operation: str
    pocket: int | None
    side: int
    starts_s: float
    time: Flow = field(metadata=written(merged=True))
    passes: int
    treated_mm: float
    edge_mm: float
    cut_path_mm: float
    volume_mm3: float

    @property
    @figure
    def pass_edge_mm(self) -> float:
        """Edge length times passes [mm]."""
        return self.edge_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class PartTime:
    """Time of one part, shared time apportioned.

    Attributes
    ----------
    part_id, name, drawing : str
        The part.
    time : Flow
        Its own moves and dwells, plus its share of what belongs to no part (changes, travel
        between parts): within each visit in proportion to the parts' own time in that visit.
    own_s : float
        Its own time without any share [s].
    """

    part_id: str
    name: str
    drawing: str
    time: Flow = field(metadata=written(merged=True))
    own_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileTime:
    """Time of one profile over the load; ``(shared)`` for what belongs to none.

    Attributes
    ----------
    profile : str
        Name.
    edge_mm : float
        Edge length of that profile in the load [mm].
    time : Flow
        Seconds by term.
    """

    profile: str
    edge_mm: float
    time: Flow = field(metadata=written(merged=True))


class Attended(NamedTuple):
    """Why a person is needed, and how long."""

    reason: str
    attended_s: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Cycle:
    """The run of a whole load; the keys of ``edgetime.estimate/1`` that it answers.

    Attributes
    ----------
    visits : tuple of Visit
        In running order.
    parts : tuple of PartTime
        In load order.
    profiles : tuple of ProfileTime
        By name, then ``(shared)``.
    total_s : float
        Machine cycle, attended stops excluded [s].
    attended_s : float
        Attended work beside it: loading, stops, unloading [s].
    attended : tuple of Attended
        What the attended time is made of [s].
    hand_mm : float
        Left for hand finishing [mm].
    """

    visits: tuple[Visit, ...] = field(metadata=written(key="tools"))
    parts: tuple[PartTime, ...]
    profiles: tuple[ProfileTime, ...] = field(metadata=written(key="by_profile"))
    total_s: float
    attended_s: float
    attended: tuple[Attended, ...]
    hand_mm: float

    @property
    def time(self) -> Flow:
        """The machine cycle by term: the sum over all visits [s]."""
        return Flow(**{t: sum(getattr(v.time, t) for v in self.visits) for t in TERMS})

    @property
    @figure
    def handling_s(self) -> float:
        """Loading, attended stops and unloading [s]; set-up and other labour excluded."""
        return self.attended_s

    @property
    @figure
    def cycle_s(self) -> float:
        """Machine cycle, attended stops excluded [s]."""
        return self.total_s
