"""What machine and person do with a shift, and what that yields."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from edgetime.records import HIDDEN, figure, written
from edgetime.shift.engine import Outcome
from edgetime.shift.load_runs import ACCOUNT, SLACK_S, Span
from edgetime.shift.workday import Workday
from edgetime.tooling import ShiftDefaults


class Attended(NamedTuple):
    """Time of the person at the machine.

    Attributes
    ----------
    reason : str
        A key of :data:`edgetime.labour.KINDS`, or ``stoppage``.
    attended_s : float
        Within the shift [s].
    """

    reason: str
    attended_s: float


class TimeUse(NamedTuple):
    """What machine or person do with the shift.

    Attributes
    ----------
    kind : str
        As in :data:`edgetime.shift.load_runs.ACCOUNT` or :class:`Attended`.
    seconds : float
        Time [s].
    share : float
        Of the shift; of the person's time outside the breaks [-].
    """

    kind: str
    seconds: float
    share: float


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
    attended : tuple of Attended
        Time of the person by kind.
    unattended_s : float
        The machine runs and nobody is needed [s].
    longest_unattended_s, longest_unattended_at_s : float
        Longest stretch of that, and when it begins [s].
    overtime_s : float
        From the end of the shift until the last load that was begun is unloaded [s].
    break_s : float
        Breaks within the shift [s].
    swaps : int
        Tools changed in the rack.
    runs_on : int
        Loads that count, and that the next shift has to unload.
    next_shift_s : float
        Attended time the next shift needs for that [s].
    """

    hours_s: float = field(metadata=HIDDEN)
    loads: int
    parts: int
    area_mm2: float
    spoiled: int
    account: tuple[tuple[str, float], ...] = field(metadata=written(key="machine_s", write=dict))
    attended: tuple[Attended, ...]
    unattended_s: float
    longest_unattended_s: float
    longest_unattended_at_s: float
    overtime_s: float
    break_s: float = field(metadata=HIDDEN)
    swaps: int = 0
    runs_on: int = 0
    next_shift_s: float = 0.0

    @property
    @figure
    def attended_s(self) -> float:
        """All time of the person at the machine [s]."""
        return sum(task.attended_s for task in self.attended)

    @property
    @figure
    def operator_s(self) -> float:
        """The same, by its name: set-up, handling, attendance and all else within the shift [s]."""
        return self.attended_s

    @property
    def running_s(self) -> float:
        """Time the machine runs [s]."""
        return dict(self.account)["run"]

    @property
    def working_s(self) -> float:
        """The shift without its breaks [s]."""
        return self.hours_s - self.break_s

    @property
    @figure
    def utilisation(self) -> float:
        """Share of the shift the machine runs [-]."""
        return self.running_s / self.hours_s

    @property
    @figure
    def person_utilisation(self) -> float:
        """Share of the person's time, breaks excluded, at the machine [-]."""
        return self.attended_s / self.working_s

    @property
    def machine_time(self) -> tuple[TimeUse, ...]:
        """What the machine does with the shift, where it is any time at all."""
        return tuple(TimeUse(k, s, s / self.hours_s) for k, s in self.account if s > 0.0)

    @property
    def person_time(self) -> tuple[TimeUse, ...]:
        """What the person does with the time outside the breaks, likewise."""
        return tuple(TimeUse(k, s, s / self.working_s) for k, s in self.attended if s > 0.0)


def _clip(spans: Iterable[Span], hours_s: float) -> Iterator[Span]:
    for s in spans:
        if s.start_s < hours_s:
            yield s if s.stop_s <= hours_s else replace(s, stop_s=hours_s)


def _account(
    machine: Sequence[Span], workday: Workday, hours_s: float
) -> tuple[tuple[str, float], ...]:
    """Return what the machine does with the shift; the seconds make the shift."""
    out = dict.fromkeys(ACCOUNT, 0.0)
    now = 0.0
    for s in machine:
        gap = max(0.0, s.start_s - now)
        if gap > 0.0:
            pause = workday.break_s(now, s.start_s)
            out["break"] += pause
            out["loading"] += gap - pause
        out[s.kind] += s.stop_s - s.start_s
        now = max(now, s.stop_s)
    out["rest"] += hours_s - now
    return tuple(out.items())


def _gaps(run: Span, person: Sequence[Span]) -> Iterator[tuple[float, float]]:
    """Yield when a machine runs and nobody is needed."""
    now = run.start_s
    for task in person:
        if task.stop_s > now and task.start_s < run.stop_s:
            if task.start_s > now:
                yield now, task.start_s
            now = max(now, task.stop_s)
    if now < run.stop_s:
        yield now, run.stop_s


def _unattended(machine: Sequence[Span], person: Sequence[Span]) -> tuple[float, float, float]:
    """Return the time the machine runs and nobody is needed, its longest stretch, and its begin."""
    gaps = [gap for s in machine if s.kind == "run" for gap in _gaps(s, person)]
    stretches: list[tuple[float, float]] = []
    for begin, end in gaps:
        # Cycles that follow one another without a task are one stretch.
        goes_on = stretches and begin <= stretches[-1][1] + SLACK_S
        stretches.append((stretches.pop()[0] if goes_on else begin, end))
    at, until = max(stretches, key=lambda s: s[1] - s[0], default=(0.0, 0.0))
    return sum(end - begin for begin, end in gaps), until - at, at


def figures_of(outcome: Outcome, rules: ShiftDefaults) -> ShiftFigures:
    """Return what a run of a shift yields.

    Parameters
    ----------
    outcome : Outcome
        From :func:`edgetime.shift.engine.run_shift`.
    rules : ShiftDefaults
        How the shift runs.

    Returns
    -------
    ShiftFigures
        Loads that the shift does not make do not count; time after it is overtime. Where the
        last load may run on, nobody begins anything after the shift: only what was begun
        within it is brought to its end.
    """
    hours = rules.hours_s
    workday = Workday(rules.breaks)
    machine = list(_clip(outcome.machine, hours))
    person = list(_clip(outcome.person, hours))
    done = [r for r in outcome.runs if r.made(rules)]
    going_on = {
        i for i, r in enumerate(outcome.runs) if r.made(rules) and r.done_s > hours + SLACK_S
    }
    attended: dict[str, float] = {}
    for task in person:
        attended[task.kind] = attended.get(task.kind, 0.0) + task.stop_s - task.start_s
    total, longest, at = _unattended(machine, person)
    last = max((s.stop_s for s in outcome.person if s.start_s < hours), default=0.0)
    if not rules.runs_on:
        last = max((r.done_s for r in outcome.runs), default=0.0)
    return ShiftFigures(
        hours_s=hours,
        loads=len(done),
        parts=sum(r.load.parts - r.spoiled for r in done),
        area_mm2=sum(r.good_area_mm2 for r in done),
        spoiled=sum(r.spoiled for r in done),
        account=_account(machine, workday, hours),
        attended=tuple(Attended(*item) for item in attended.items()),
        unattended_s=total,
        longest_unattended_s=longest,
        longest_unattended_at_s=at,
        overtime_s=max(0.0, last - hours) if last > hours + SLACK_S else 0.0,
        break_s=workday.break_s(0.0, hours),
        swaps=sum(len(r.swapped) for r in outcome.runs),
        runs_on=len(going_on),
        next_shift_s=sum(
            s.stop_s - s.start_s
            for s in outcome.person
            if s.load in going_on and s.start_s >= hours and s.kind != "attend"
        ),
    )
