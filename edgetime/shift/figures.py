"""What comes of a shift."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from edgetime.findings import Finding
from edgetime.shift.model import LoadRun, Span
from edgetime.shift.promise import CONFIDENCE, Promise


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftFigures:
    """What one run of a shift yields; loads that it does not make do not count.

    Attributes
    ----------
    hours_s : float
        Length of the shift [s].
    loads, parts : int
        Made by the shift: unloaded within it or, where the shop lets them, running on by
        themselves.
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
    runs_on : int
        Loads that count, and that the next shift has to unload.
    next_shift_s : float
        Attended time the next shift needs for that [s].
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
    runs_on: int = 0
    next_shift_s: float = 0.0

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
            "runs_on": self.runs_on,
            "next_shift_s": self.next_shift_s,
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
    made : tuple of int
        How many shifts made no load, one, two, and so on.
    """

    replications: int
    seed: int
    figures: tuple[tuple[str, Interval], ...]
    made: tuple[int, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "replications": self.replications,
            "seed": self.seed,
            "confidence": CONFIDENCE,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """A change with which the next load would be made too, tried by running the plan.

    Attributes
    ----------
    what : str
        ``hours``: a longer shift. ``machine``, ``person``: shorter cycles, attended tasks.
        ``zones``: one more zone of the same length. ``last-load``: letting it run on.
    value : float
        Seconds, or the share by which the times are shorter; 1 for the others [s, -].
    """

    what: str
    value: float

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        key = {"hours": "longer_s", "machine": "less", "person": "less"}.get(self.what)
        return {"what": self.what, **({} if key is None else {key: self.value})}


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLoad:
    """The first load that a shift does not make.

    Attributes
    ----------
    name : str
        Of the load.
    number : int
        It would be this one of the shift.
    misses_s : float
        Time that is missing, as planned [s].
    mends : tuple of Mend
        What would let it fit, each by itself; empty when much is missing.
    """

    name: str
    number: int
    misses_s: float
    mends: tuple[Mend, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON form."""
        return {
            "name": self.name,
            "number": self.number,
            "misses_s": self.misses_s,
            "mends": [x.as_dict() for x in self.mends],
        }


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
    promise : Promise
        How often the planned loads, and other numbers of them, are made.
    near : NextLoad or None
        What the first load that is left misses the shift by; None when none is left.
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
    promise: Promise
    near: NextLoad | None
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of ``edgetime.shift/1`` that the simulation answers."""
        return {
            "hours_s": self.figures.hours_s,
            "runs": [r.as_dict() for r in self.runs],
            "left": list(self.left),
            "plan": self.figures.as_dict(),
            "promise": self.promise.as_dict(),
            "next_load": None if self.near is None else self.near.as_dict(),
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
