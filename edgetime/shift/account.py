"""What machine and person do with a shift, and what that yields."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from edgetime.shift.engine import Outcome
from edgetime.shift.figures import ShiftFigures
from edgetime.shift.model import ACCOUNT, SLACK_S, Span
from edgetime.shift.workday import Workday
from edgetime.tooling.model import ShiftDefaults


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


def _unattended(machine: Sequence[Span], person: Sequence[Span]) -> tuple[float, float, float]:
    """Return the time the machine runs and nobody is needed, and its longest stretch.

    Returns
    -------
    total, longest, at : float
        Sum, longest stretch and where it begins [s].
    """
    total, longest, at = 0.0, 0.0, 0.0
    current_start, current_stop = 0.0, -1.0
    for s in machine:
        if s.kind != "run":
            continue
        free = s.start_s
        gaps: list[tuple[float, float]] = []
        for task in person:
            if task.stop_s <= free or task.start_s >= s.stop_s:
                continue
            if task.start_s > free:
                gaps.append((free, task.start_s))
            free = max(free, task.stop_s)
        if free < s.stop_s:
            gaps.append((free, s.stop_s))
        for begin, end in gaps:
            total += end - begin
            if begin > current_stop + SLACK_S:
                current_start = begin
            current_stop = end
            if current_stop - current_start > longest:
                longest, at = current_stop - current_start, current_start
    return total, longest, at


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
        attended=tuple(attended.items()),
        unattended_s=total,
        longest_unattended_s=longest,
        longest_at_s=at,
        overtime_s=max(0.0, last - hours) if last > hours + SLACK_S else 0.0,
        break_s=workday.break_s(0.0, hours),
        runs_on=len(going_on),
        next_shift_s=sum(
            s.stop_s - s.start_s
            for s in outcome.person
            if s.load in going_on and s.start_s >= hours and s.kind != "attend"
        ),
    )
