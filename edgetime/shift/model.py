"""Loads of a shift, what happens to them, and what comes of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from edgetime.errors import Where
from edgetime.findings import Finding

__all__ = [
    "ACCOUNT",
    "Interval",
    "Leverage",
    "LoadRun",
    "Shift",
    "ShiftFigures",
    "ShiftLoad",
    "Span",
    "Stop",
    "Variation",
]

ACCOUNT = ("run", "stop", "stoppage", "swap", "warm-up", "loading", "break", "rest")
"""What the machine does with the shift; the seconds of all of them make the shift.

``run``: the cycle runs. ``stop``: it waits for a person in the middle of a cycle. ``stoppage``:
something went wrong. ``swap``: tools are changed in the rack. ``warm-up``. ``loading``: nothing
is on the table that could run. ``break``: likewise, because the person has a break. ``rest``:
after the last cycle.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A place in a cycle where the machine waits for a person.

    Attributes
    ----------
    at_s : float
        On the machine's clock, from cycle start, stops excluded [s].
    seconds : float
        Attended [s].
    reason : str
        ``flip``, ``cups``, ``slug``, or ``pocket`` for a tool the rack has no room for.
    """

    at_s: float
    seconds: float
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftLoad:
    """What a shift must know of a load.

    Attributes
    ----------
    name : str
        Of the job.
    cycle_s : float
        Machine cycle, stops excluded [s].
    parts : int
        Parts.
    area_mm2 : float
        Area of all parts, gross of cutouts [mm²].
    load_part_s, unload_part_s : float
        Attended, per part [s].
    setup_s : float
        Attended, once, before it is laid down; the machine may run another load meanwhile [s].
    attend_s : float
        Attended during the cycle, while the machine runs [s].
    stops : tuple of Stop
        In order of time.
    pieces : tuple of (str, float or None)
        Tool pieces in order of first use, each with the share of its life used; None when
        no life is stated.
    zones : int
        Zones of the table it lies on.
    due : date or None
        When it must be done.
    ready_s : float
        It cannot be loaded before, from the beginning of the shift [s].
    drawings : tuple of str
        Paths.
    where : Where
        In the job list, for messages.
    cycle_at : Where or None
        Where the cycle is written that stands instead of the estimated one.
    """

    name: str
    cycle_s: float
    parts: int
    area_mm2: float
    load_part_s: float
    unload_part_s: float
    setup_s: float = 0.0
    attend_s: float = 0.0
    stops: tuple[Stop, ...] = ()
    pieces: tuple[tuple[str, float | None], ...] = ()
    zones: int = 1
    due: date | None = None
    ready_s: float = 0.0
    drawings: tuple[str, ...] = ()
    where: Where = field(default_factory=Where, compare=False)
    cycle_at: Where | None = field(default=None, compare=False)

    @property
    def loading_s(self) -> float:
        """Attended time before the cycle [s]."""
        return self.load_part_s * self.parts

    @property
    def unloading_s(self) -> float:
        """Attended time after the cycle, measuring excluded [s]."""
        return self.unload_part_s * self.parts

    @property
    def stop_s(self) -> float:
        """Attended time in the cycle [s]."""
        return sum(s.seconds for s in self.stops)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "name": self.name,
            "drawings": list(self.drawings),
            "cycle_s": self.cycle_s,
            "setup_s": self.setup_s,
            "attend_s": self.attend_s,
            "parts": self.parts,
            "area_mm2": self.area_mm2,
            "loading_s": self.loading_s,
            "unloading_s": self.unloading_s,
            "stops": [
                {"at_s": s.at_s, "attended_s": s.seconds, "reason": s.reason} for s in self.stops
            ],
            "pieces": [{"piece": name, "share": share} for name, share in self.pieces],
            "zones": self.zones,
            "due": None if self.due is None else self.due.isoformat(),
            "ready_s": self.ready_s,
        }


@dataclass(frozen=True, slots=True)
class Span:
    """Something that takes time.

    Attributes
    ----------
    kind : str
        For the machine as in :data:`ACCOUNT`; for the person a key of
        :data:`edgetime.labour.KINDS`, or ``stoppage``.
    start_s, stop_s : float
        From the beginning of the shift [s].
    load : int
        Index of the load, -1 for none.
    """

    kind: str
    start_s: float
    stop_s: float
    load: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadRun:
    """What happened to one load.

    Attributes
    ----------
    load : ShiftLoad
        Which.
    loading_at_s, loaded_at_s, starts_s, ends_s, done_s : float
        Loading begins and ends; the machine takes it up (tools are swapped first) and is
        done with it; it is unloaded [s].
    swapped : tuple of str
        Pieces changed before it.
    spoiled : int
        Parts.
    """

    load: ShiftLoad
    loading_at_s: float
    loaded_at_s: float
    starts_s: float
    ends_s: float
    done_s: float
    swapped: tuple[str, ...]
    spoiled: int

    @property
    def good_area_mm2(self) -> float:
        """Area of the parts that are not spoiled, each counted alike [mm²]."""
        if self.load.parts == 0:
            return self.load.area_mm2
        return self.load.area_mm2 * (1.0 - self.spoiled / self.load.parts)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "name": self.load.name,
            "loading_at_s": self.loading_at_s,
            "loaded_at_s": self.loaded_at_s,
            "starts_s": self.starts_s,
            "ends_s": self.ends_s,
            "done_s": self.done_s,
            "swapped": list(self.swapped),
            "parts": self.load.parts,
            "spoiled": self.spoiled,
            "area_mm2": self.load.area_mm2,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftFigures:
    """What one run of a shift yields; loads that end after the shift do not count.

    Attributes
    ----------
    hours_s : float
        Length of the shift [s].
    loads, parts : int
        Done within the shift.
    area_mm2 : float
        Of their parts, spoiled ones excluded [mm²].
    spoiled : int
        Parts spoiled.
    account : tuple of (str, float)
        Seconds of the machine by kind; they make the shift [s].
    attended : tuple of (str, float)
        Seconds of the person by kind, within the shift [s].
    unattended_s : float
        The machine runs and nobody is needed [s].
    longest_unattended_s, longest_at_s : float
        Longest stretch of that, and when it begins [s].
    overtime_s : float
        From the end of the shift until the last load that was begun is unloaded [s].
    break_s : float
        Breaks within the shift [s].
    """

    hours_s: float
    loads: int
    parts: int
    area_mm2: float
    spoiled: int
    account: tuple[tuple[str, float], ...]
    attended: tuple[tuple[str, float], ...]
    unattended_s: float
    longest_unattended_s: float
    longest_at_s: float
    overtime_s: float
    break_s: float

    @property
    def attended_s(self) -> float:
        """All time of the person at the machine [s]."""
        return sum(seconds for _, seconds in self.attended)

    @property
    def running_s(self) -> float:
        """Time the machine runs [s]."""
        return dict(self.account)["run"]

    @property
    def utilisation(self) -> float:
        """Share of the shift the machine runs [-]."""
        return self.running_s / self.hours_s

    @property
    def person_utilisation(self) -> float:
        """Share of the person's time, breaks excluded, at the machine [-]."""
        return self.attended_s / (self.hours_s - self.break_s)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "loads": self.loads,
            "parts": self.parts,
            "area_mm2": self.area_mm2,
            "spoiled": self.spoiled,
            "machine_s": dict(self.account),
            "attended_s": self.attended_s,
            "attended": [{"reason": why, "attended_s": s} for why, s in self.attended],
            "unattended_s": self.unattended_s,
            "longest_unattended_s": self.longest_unattended_s,
            "longest_unattended_at_s": self.longest_at_s,
            "utilisation": self.utilisation,
            "person_utilisation": self.person_utilisation,
            "overtime_s": self.overtime_s,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A figure over many simulated shifts.

    Attributes
    ----------
    mean, half_width : float
        Mean, and half the width of its 90 % confidence interval (normal approximation).
    low, high : float
        Between these lie at least 90 % of the shifts (nearest ranks of 5 % and 95 %).
    """

    mean: float
    half_width: float
    low: float
    high: float

    def as_dict(self) -> dict[str, float]:
        """Return the JSON form."""
        return {
            "mean": self.mean,
            "half_width": self.half_width,
            "low": self.low,
            "high": self.high,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Variation:
    """What to expect when cycles, tasks and tools vary and things go wrong.

    Attributes
    ----------
    replications, seed : int
        Shifts simulated, seed of the random numbers.
    figures : tuple of (str, Interval)
        ``loads``, ``parts``, ``area_mm2``, ``attended_s``, ``unattended_s``,
        ``longest_unattended_s``, ``utilisation``, ``overtime_s``, ``swaps``, ``spoiled``.
    """

    replications: int
    seed: int
    figures: tuple[tuple[str, Interval], ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "replications": self.replications,
            "seed": self.seed,
            "confidence": 0.9,
            **{name: interval.as_dict() for name, interval in self.figures},
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Leverage:
    """How much sooner the same loads would be done if something took 10 % less time.

    Attributes
    ----------
    what : str
        ``machine``, ``person``, ``tools``, ``breaks``, ``warm-up``, ``supply``.
    saved_s : float
        Of the time until the last load is unloaded [s].
    """

    what: str
    saved_s: float

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {"what": self.what, "saved_s": self.saved_s}


@dataclass(frozen=True, eq=False, kw_only=True)
class Shift:
    """A shift as planned, and as it may come.

    Attributes
    ----------
    runs : tuple of LoadRun
        Everything as planned, nothing going wrong.
    figures : ShiftFigures
        Of that plan.
    machine, person : tuple of Span
        What machine and person do, in order of time.
    left : tuple of str
        Names of listed loads that do not fit any more, one entry each.
    limit : str
        What limits the yield: the greatest of ``leverages``, or ``loads`` when all that were
        given are run.
    leverages : tuple of Leverage
        Greatest first.
    variation : Variation or None
        None when it was not asked for.
    findings : tuple of Finding
        Of this stage only.
    """

    runs: tuple[LoadRun, ...]
    figures: ShiftFigures
    machine: tuple[Span, ...]
    person: tuple[Span, ...]
    left: tuple[str, ...]
    limit: str
    leverages: tuple[Leverage, ...]
    variation: Variation | None
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of ``edgetime.shift/1`` that the simulation answers."""
        return {
            "hours_s": self.figures.hours_s,
            "runs": [r.as_dict() for r in self.runs],
            "left": list(self.left),
            "plan": self.figures.as_dict(),
            "limit": self.limit,
            "leverages": [x.as_dict() for x in self.leverages],
            "machine": _spans(self.machine),
            "person": _spans(self.person),
            "variation": None if self.variation is None else self.variation.as_dict(),
        }


def _spans(spans: Iterable[Span]) -> list[dict[str, Any]]:
    return [
        {"kind": s.kind, "start_s": s.start_s, "stop_s": s.stop_s, "load": s.load} for s in spans
    ]
