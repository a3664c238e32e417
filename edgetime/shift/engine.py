"""One run of a shift, event by event, with SimPy.

The same engine runs the plan, with nominal times, and each of the shifts with variation; only
where the figures are drawn from differs.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from edgetime.errors import InternalError
from edgetime.shift.load_runs import LoadRun, ShiftLoad, Span
from edgetime.shift.pockets import inserted
from edgetime.shift.workday import Workday
from edgetime.tooling import ShiftDefaults

_SLACK = 1e-9
"""Shares of a tool's life that add up to one within this are one [-]."""

_SPELL_S = 60.0
"""Setting up and attending are done in spells of this length; what the machine waits for comes
between them [s]."""

_SETUP = "set-up"
_IN_SPELLS = (_SETUP, "attend")

_URGENT = 0
"""Priority of what the machine waits for; loading and unloading come after it, the load that
is further on first."""

_Process = Generator[Any, Any, None]


@dataclass
class AsPlanned:
    """Where the figures of a run come from: here nominal times, no disturbances."""

    used_share: float
    known: Mapping[str, float]

    def cycle(self) -> float:
        """Return a cycle by its estimate [-]."""
        return 1.0

    def handling(self) -> float:
        """Return an attended task by its time [-]."""
        return 1.0

    def to_stoppage_s(self) -> float:
        """Return the running time until the next stoppage [s]."""
        return math.inf

    def stoppage_s(self) -> float:
        """Return how long ending a stoppage takes [s]."""
        return 0.0

    def spoiled(self, parts: int) -> int:
        """Return how many of a load's parts are spoiled."""
        del parts
        return 0

    def used(self, piece: str) -> float:
        """Return the share of its life that a tool has used [-]."""
        return self.known.get(piece, self.used_share)


@dataclass(frozen=True)
class Outcome:
    """What one run made.

    Attributes
    ----------
    runs : tuple of LoadRun
        Loads that were begun, in order; each was brought to its end.
    machine, person : tuple of Span
        In order of time.
    """

    runs: tuple[LoadRun, ...]
    machine: tuple[Span, ...]
    person: tuple[Span, ...]


def _joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Make one span of spells that follow one another without a pause."""
    out: list[Span] = []
    for span in spans:
        last = out[-1] if out else None
        alike = last is not None and (last.kind, last.load) == (span.kind, span.load)
        if last is not None and alike and span.kind in _IN_SPELLS and last.stop_s == span.start_s:
            out[-1] = replace(last, stop_s=span.stop_s)
        else:
            out.append(span)
    return tuple(out)


def _side_by_side(free: list[int], need: int) -> tuple[int, ...]:
    """Take zones that lie next to one another, where there are such; else the first ones."""
    free.sort()
    starts = range(len(free) - need + 1)
    at = next((k for k in starts if free[k + need - 1] - free[k] == need - 1), 0)
    taken = tuple(free[at : at + need])
    del free[at : at + need]
    return taken


class _Run:
    """The state of one run."""

    def __init__(
        self,
        loads: Sequence[ShiftLoad],
        rules: ShiftDefaults,
        draws: AsPlanned,
        *,
        pockets: int,
        begin_all: bool,
    ) -> None:
        import simpy  # noqa: PLC0415  only who asks for a shift needs it

        self.loads, self.rules, self.draws = loads, rules, draws
        self.begin_all = begin_all
        self.workday = Workday(rules.breaks)
        self.env = simpy.Environment()
        self.person = simpy.PriorityResource(self.env, capacity=1)
        self.spindle = simpy.Resource(self.env, capacity=1)
        self.zones = simpy.Container(self.env, capacity=rules.zones, init=rules.zones)
        self.free = [*range(1, rules.zones + 1)]
        self.inserted = inserted([[p for p, _ in load.pieces] for load in loads], pockets)
        self.life: dict[str, float] = {}
        self.to_stoppage_s = draws.to_stoppage_s()
        self.free_s = rules.warm_up_s
        self.expected_s: dict[int, float] = {}
        self.needed_s: dict[int, float] = {}
        self.begun_s: dict[int, float] = {}
        self.done: dict[int, LoadRun] = {}
        self.machine_log: list[Span] = []
        self.person_log: list[Span] = []

    def run(self) -> Outcome:
        self.env.process(self._warm_up())
        self.env.process(self._feed())
        self.env.run()
        return Outcome(
            tuple(self.done[i] for i in sorted(self.done)),
            tuple(sorted(self.machine_log, key=lambda s: s.start_s)),
            _joined(sorted(self.person_log, key=lambda s: s.start_s)),
        )

    def _attend(self, seconds: float, priority: int, kind: str, load: int) -> _Process:
        """Wait for the person, then for the work to be done."""
        if seconds > 0.0:
            yield from self._busy(seconds * self.draws.handling(), priority, kind, load)

    def _busy(self, work: float, priority: int, kind: str, load: int) -> _Process:
        with self.person.request(priority=priority) as turn:
            yield turn
            spans = self.workday.stretches(self.env.now, work)
            if kind != _SETUP:
                self.begun_s.setdefault(load, spans[0][0])
            self.person_log += [Span(kind, a, b, load) for a, b in spans]
            yield self.env.timeout(spans[-1][1] - self.env.now)

    def _held(self, kind: str, load: int, work: _Process) -> _Process:
        """Let something happen while the machine is held up by it."""
        since = self.env.now
        yield from work
        if self.env.now > since:
            self.machine_log.append(Span(kind, since, self.env.now, load))

    def _warm_up(self) -> _Process:
        if self.rules.warm_up_s > 0.0:
            with self.spindle.request() as turn:
                yield turn
                yield self.env.timeout(self.rules.warm_up_s)
                self.machine_log.append(Span("warm-up", 0.0, self.env.now))

    def _ends(self, index: int, load: ShiftLoad, laid_s: float) -> tuple[float, bool]:
        """Return when a load laid down then leaves the machine, and whether it is in time."""
        rules = self.rules
        swaps = len(self.inserted[index])
        loaded = self.workday.end(laid_s, load.loading_s)
        start = max(loaded, self.free_s) + swaps * rules.tool_swap_s
        free = start + load.cycle_s + load.stop_s
        if rules.runs_on:
            last = start + load.last_stop_s
        else:
            last = self.workday.end(free, rules.measure_s + load.unloading_s)
        return free, self.begin_all or last <= rules.hours_s + 1e-6

    def _room_s(self, need: int) -> float:
        """Return when this many zones are free, as planned; never too late [s]."""
        unloaded = sorted(
            (
                self.workday.end(free, self.rules.measure_s + self.loads[i].unloading_s),
                min(self.loads[i].zones, self.rules.zones),
            )
            for i, free in self.expected_s.items()
        )
        level, room = self.zones.level, self.env.now
        for done, zones in unloaded:
            if level >= need:
                break
            level, room = level + zones, max(room, done)
        return room

    def _fits(self, index: int, load: ShiftLoad) -> bool:
        """Return whether a load begun now would be made by this shift, as planned."""
        free, fits = self._ends(index, load, self.env.now)
        if fits:
            self.free_s = self.expected_s[index] = free
        return fits

    def _took(self, index: int) -> None:
        """Move what is expected of the machine by what a load took longer or shorter."""
        late = self.env.now - self.expected_s.pop(index)
        self.free_s += late
        for other in self.expected_s:
            self.expected_s[other] += late

    def _feed(self) -> _Process:
        """Begin one load after the other, as zones come free."""
        for index, load in enumerate(self.loads):
            if load.ready_s > self.env.now:
                yield self.env.timeout(load.ready_s - self.env.now)
            need = min(load.zones, self.rules.zones)
            # A load that cannot be done in time is not set up either.
            ready = self.workday.end(self.env.now, load.setup_s)
            if not self._ends(index, load, max(ready, self._room_s(need)))[1]:
                return
            # Whatever the load before needs now comes first.
            yield self.env.timeout(0.0)
            yield from self._set_up(index, load)
            yield self.zones.get(need)
            if not self._fits(index, load):
                return
            self.env.process(self._work(index, load, _side_by_side(self.free, need)))

    def _worn(self, load: ShiftLoad) -> list[str]:
        """Return the tools to be changed before a load, an entry per change; book its wear."""
        out: list[str] = []
        for piece, share in load.pieces:
            if share is None:
                continue
            used = self.life.get(piece)
            if used is None:
                used = self.draws.used(piece)
            used += share
            if used > 1.0 + _SLACK:
                # A worn tool is changed between loads; one load alone may wear out several.
                changes = max(1, math.ceil(share - _SLACK))
                out += [piece] * changes
                used = share - (changes - 1)
            self.life[piece] = used
        return out

    def _cycle(self, index: int, load: ShiftLoad) -> _Process:
        factor = self.draws.cycle()
        self.needed_s[index] = self.env.now
        if load.attend_s > 0.0:
            self.env.process(self._attended(index, load, factor))
        at = 0.0
        for stop in load.stops:
            yield from self._running((stop.at_s - at) * factor, index)
            work = self._attend(stop.seconds, _URGENT, stop.reason, index)
            yield from self._held("stop", index, work)
            self.needed_s[index] = self.env.now
            at = stop.at_s
        yield from self._running((load.cycle_s - at) * factor, index)

    def _set_up(self, index: int, load: ShiftLoad) -> _Process:
        """Set a load up, whenever nothing else asks for the person."""
        if load.setup_s <= 0.0:
            return
        work = load.setup_s * self.draws.handling()
        spells = math.ceil(work / _SPELL_S)
        for _ in range(spells):
            # After everything that any load on the table needs.
            yield from self._busy(work / spells, 1 + len(self.loads) + index, _SETUP, index)

    def _attended(self, index: int, load: ShiftLoad, factor: float) -> _Process:
        """Attend a cycle now and then, evenly; the machine does not wait for that."""
        spells = math.ceil(load.attend_s / _SPELL_S)
        begun = self.env.now
        for k in range(spells):
            due = begun + load.cycle_s * factor * k / spells
            if due > self.env.now:
                yield self.env.timeout(due - self.env.now)
            yield from self._attend(load.attend_s / spells, 1 + index, "attend", index)

    def _running(self, seconds: float, index: int) -> _Process:
        left = seconds
        while left > 0.0:
            stretch = min(left, self.to_stoppage_s)
            since = self.env.now
            if stretch > 0.0:
                yield self.env.timeout(stretch)
                self.machine_log.append(Span("run", since, self.env.now, index))
            left -= stretch
            self.to_stoppage_s -= stretch
            if self.to_stoppage_s <= 0.0:
                work = self._attend(self.draws.stoppage_s(), _URGENT, "stoppage", index)
                yield from self._held("stoppage", index, work)
                self.needed_s[index] = self.env.now
                self.to_stoppage_s = self.draws.to_stoppage_s()

    def _work(self, index: int, load: ShiftLoad, on: tuple[int, ...]) -> _Process:
        rules, draws = self.rules, self.draws
        begun = self.env.now
        for _ in range(load.parts):
            yield from self._attend(load.load_part_s, 1 + index, "load", index)
        loaded = self.env.now
        with self.spindle.request() as turn:
            yield turn
            starts = self.env.now
            worn = self._worn(load)
            swapped = (*worn, *(p for p in self.inserted[index] if p not in worn))
            work = self._attend(rules.tool_swap_s * len(swapped), _URGENT, "swap", index)
            yield from self._held("swap", index, work)
            yield from self._cycle(index, load)
            ends = self.env.now
            self._took(index)
        yield from self._attend(rules.measure_s, 1 + index, "measure", index)
        for _ in range(load.parts):
            yield from self._attend(load.unload_part_s, 1 + index, "unload", index)
        self.free += on
        yield self.zones.put(len(on))
        self.done[index] = LoadRun(
            load=load,
            on_zones=on,
            loading_at_s=min(self.begun_s.get(index, begun), loaded),
            loaded_at_s=loaded,
            starts_s=starts,
            needed_s=self.needed_s[index],
            ends_s=ends,
            done_s=self.env.now,
            swapped=swapped,
            spoiled=draws.spoiled(load.parts),
        )


def run_shift(
    loads: Sequence[ShiftLoad],
    rules: ShiftDefaults,
    draws: AsPlanned,
    *,
    pockets: int,
    begin_all: bool = False,
) -> Outcome:
    """Run loads in their order through machine, zones and person.

    Parameters
    ----------
    loads : sequence of ShiftLoad
        In order. A load is begun as soon as its zones are free, unless the shift would not make
        it as planned; then it and all after it are left.
    rules : ShiftDefaults
        How the shift runs.
    draws : AsPlanned
        Where the varying figures come from.
    pockets : int
        Tools the rack holds.
    begin_all : bool
        Begin every load, however late.

    Returns
    -------
    Outcome
        What was begun; all of it is brought to its end, if need be after the shift.
    """
    if pockets < 1:
        raise InternalError("A rack without pockets reached the simulation.")
    return _Run(loads, rules, draws, pockets=pockets, begin_all=begin_all).run()


def made_by_s(
    loads: Sequence[ShiftLoad], rules: ShiftDefaults, pockets: int, known: Mapping[str, float]
) -> float:
    """Return when all of some loads are made, as planned and however late [s]."""
    draws = AsPlanned(rules.used, known)
    outcome = run_shift(loads, rules, draws, pockets=pockets, begin_all=True)
    return max(r.reached_s(rules) for r in outcome.runs)
