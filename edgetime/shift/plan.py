"""From jobs to the plan of a shift: one call for all that ``edgetime shift`` answers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import ClassVar, NamedTuple

from edgetime.errors import UsageError, Where
from edgetime.estimating.pipeline import Estimate, estimate_take_off
from edgetime.estimating.reading import read_take_off
from edgetime.explained import Explained, factors_json
from edgetime.findings import Finding, Severity
from edgetime.jobs import Job, naming_the_row
from edgetime.records import HIDDEN, figure, written
from edgetime.shift import codes
from edgetime.shift.filling import Filling, fill_table, gap_mm, table_parts
from edgetime.shift.fit import Fit, fit_shift
from edgetime.shift.load_runs import LoadRun, ShiftLoad, Span
from edgetime.shift.make_shift_load import machine_of, shift_load, undrawn_load, zone_length_mm
from edgetime.shift.options import ShiftOptions
from edgetime.shift.pockets import PocketPlan, plan_pockets
from edgetime.shift.promise import Chance, Promise
from edgetime.shift.simulate import Shift, simulate_shift
from edgetime.shift.timetable import TimetableRow, needed, timetable
from edgetime.tooling import Catalogue, Machine, ShiftDefaults


class Break(NamedTuple):
    """A break of the person.

    Attributes
    ----------
    after_s, length_s : float
        Begin, from the beginning of the shift, and length [s].
    """

    after_s: float
    length_s: float


class PlanRow(NamedTuple):
    """A load that runs.

    Attributes
    ----------
    number : int
        Its place, from 1.
    run : LoadRun
        When what happens to it.
    chance : Chance or None
        How often a shift makes at least the loads up to this one; None when nothing was
        simulated.
    promise : Promise
        Of the whole shift.
    """

    number: int
    run: LoadRun
    chance: Chance | None
    promise: Promise


@dataclass(frozen=True, eq=False, kw_only=True)
class ShiftPlan:
    """All that was asked of a shift.

    Attributes
    ----------
    machine : Machine
        It runs on.
    rules : ShiftDefaults
        The shop's, with the options put in.
    pockets : int
        Tools the rack holds.
    waiting : tuple of ShiftLoad
        The loads that were given, one for each time a job is to be run.
    shift : Shift
        The shift as planned, and its simulated variation.
    fit : Fit or None
        Which loads were chosen.
    pocket_plan : PocketPlan or None
        The order with the fewest tool swaps.
    table_filling : Filling or None
        Which parts go together by area.
    explain : tuple of Explained
        Every value with its source.
    estimates : mapping
        Estimates of the drawn jobs, by :func:`estimate_key`.
    """

    SCHEMA: ClassVar[str] = "edgetime.shift/1"

    machine: Machine = field(metadata=HIDDEN)
    rules: ShiftDefaults = field(metadata=HIDDEN)
    pockets: int
    waiting: tuple[ShiftLoad, ...] = field(metadata=HIDDEN)
    shift: Shift = field(metadata=written(merged=True))
    fit: Fit | None = field(default=None, metadata=written(optional=True))
    pocket_plan: PocketPlan | None = field(default=None, metadata=written(optional=True))
    table_filling: Filling | None = field(default=None, metadata=written(optional=True))
    explain: tuple[Explained[float], ...] = field(
        default=(), metadata=written(write=factors_json, optional=True)
    )
    estimates: Mapping[EstimateKey, Estimate] = field(default_factory=dict, metadata=HIDDEN)

    @property
    @figure
    def machine_name(self) -> str:
        """Name of the machine in the catalogue."""
        return self.machine.name

    @property
    @figure
    def starts_s(self) -> float:
        """Time of the day the shift begins, from midnight [s]."""
        return self.rules.starts_s

    @property
    @figure
    def breaks(self) -> tuple[Break, ...]:
        """The breaks of the person."""
        return tuple(Break(*b) for b in self.rules.breaks)

    @property
    @figure
    def zones(self) -> int:
        """Zones of the table."""
        return self.rules.zones

    @property
    @figure
    def last_load(self) -> str:
        """``in-shift`` or ``runs-on``."""
        return self.rules.last_load

    @property
    @figure
    def loads(self) -> tuple[ShiftLoad, ...]:
        """Each load that was given, once."""
        return tuple(dict.fromkeys(self.waiting))

    @property
    def rows(self) -> tuple[PlanRow, ...]:
        """The loads that run, in order."""
        promise = self.shift.promise
        return tuple(
            PlanRow(n, run, promise.chance(n), promise) for n, run in enumerate(self.shift.runs, 1)
        )

    @property
    def timetable(self) -> tuple[TimetableRow, ...]:
        """The same loads, each with its zones and with what the operator does."""
        return timetable(self.shift)

    @property
    def operator_needed(self) -> tuple[Span, ...]:
        """When the operator must be at the machine."""
        return needed(self.shift)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What every stage found."""
        return self.shift.findings


EstimateKey = tuple[object, ...]


def estimate_key(job: Job) -> EstimateKey:
    """Return what the estimate of a job depends on, beside the options of the shift."""
    return job.drawings, job.stone, job.stack, job.thickness_mm


@dataclass
class _Loads:
    """The loads of jobs, each drawing estimated once."""

    jobs: Sequence[Job]
    catalogue: Catalogue
    machine: Machine
    rules: ShiftDefaults
    options: ShiftOptions
    estimates: dict[EstimateKey, Estimate]
    findings: list[Finding] = field(default_factory=list)

    def estimate(self, job: Job) -> Estimate:
        """Return the estimate of a job's drawings."""
        key = estimate_key(job)
        if key not in self.estimates:
            load = self.options.load
            chosen = replace(
                load,
                stone=job.stone or load.stone,
                stack=job.stack or load.stack,
                thickness_mm=job.thickness_mm or load.thickness_mm,
                place=tuple(p for p in load.place if self._places(p.drawing, job)),
            )
            with naming_the_row(job):
                parts = read_take_off(
                    job.drawings, self.catalogue, drawing_units=load.drawing_units
                )
                self.estimates[key] = estimate_take_off(parts, self.catalogue, chosen)
        return self.estimates[key]

    def _places(self, drawing: str | int, job: Job) -> bool:
        """Return whether a place that names a drawing is about this load."""
        # One load alone, or drawings that lie together: a name that is none of them is a slip.
        return len(self.jobs) == 1 or len(job.drawings) > 1 or drawing in {0, *job.drawings}

    def waiting(self, pockets: int) -> list[ShiftLoad]:
        """Return the loads in the order given, one for each time they are to be run."""
        out: list[ShiftLoad] = []
        for job in self.jobs:
            if job.drawings:
                est = self.estimate(job)
                load, findings = shift_load(est, self.rules, pockets=pockets, job=job)
                self.findings += [*est.findings, *findings]
            else:
                with naming_the_row(job):
                    load, findings = undrawn_load(job, self.machine, self.catalogue, self.rules)
                self.findings += [*findings, self._not_drawn(job)]
            out += [load] * job.quantity
        return out

    def _not_drawn(self, job: Job) -> Finding:
        """Return the finding on what cannot be known without a drawing."""
        asked = self.options
        lacks = ["it has no attended stop", "wears no tool in the plan"]
        lacks += ["needs none in the pocket plan"] * asked.pocket_plan
        lacks += ["is in no table filling"] * asked.table_filling
        level = Severity.WARNING if asked.pocket_plan or asked.table_filling else None
        text = f"{job.name} has no drawing: {', '.join(lacks[:-1])} and {lacks[-1]}."
        return Finding(codes.JOB_NOT_DRAWN, text, job.where, level)

    def filling(self) -> Filling:
        """Return which parts of the drawn jobs go together by area."""
        drawn = [job for job in self.jobs if job.drawings]
        gap = max((gap_mm(self.estimate(job)) for job in drawn), default=0.0)
        parts = [
            part
            for job in drawn
            for _ in range(job.quantity)
            for part in table_parts(self.estimate(job), gap, job=job.name, due=job.due)
        ]
        length, width = self.machine.table_mm
        zone = min(zone_length_mm(self.machine, self.rules), length)
        return fill_table(parts, (zone, width), gap)


def _check_used(used: Mapping[str, float], loads: Sequence[ShiftLoad]) -> None:
    tools = sorted({use.piece for load in loads for use in load.pieces})
    for tool in used:
        if tool not in tools:
            raise UsageError(
                f"No tool {tool!r} runs in these loads.",
                where=Where(key="--used"),
                remedy=f"Write TOOL=SHARE, such as {tools[0] if tools else 'polish-1'}=80%. "
                f"Tools: {', '.join(tools) or 'none'}.",
            )


def _not_proved(choice: Fit) -> Iterator[Finding]:
    """Yield the finding on a choice that may not be the best."""
    if not choice.optimal:
        gaps = [g for g in (choice.due_gap, choice.gap) if g]
        more = f" by up to {100.0 * max(gaps):.1f} %" if gaps else ""
        place = Where(key="--time-limit")
        yield Finding(codes.FIT_STOPPED, f"A better choice{more} may exist.", place)


def plan_shift(
    jobs: Sequence[Job],
    catalogue: Catalogue,
    options: ShiftOptions | None = None,
    *,
    estimates: Mapping[EstimateKey, Estimate] | None = None,
) -> ShiftPlan:
    """Plan a shift of jobs: which run, when, and how sure that is.

    Parameters
    ----------
    jobs : sequence of Job
        Waiting, such as :func:`edgetime.shift.read_waiting` returns them; ``Job(drawings=...)``
        for what is in no list.
    catalogue : Catalogue
        The shop's, as :func:`edgetime.tooling.load_catalogue` returns it.
    options : ShiftOptions, optional
        What is asked; the jobs in their order, once, when omitted.
    estimates : mapping, optional
        Estimates to use instead of new ones, by :func:`estimate_key`.

    Returns
    -------
    ShiftPlan
        The shift, and what else was asked for.

    Raises
    ------
    UsageError
        An option is unknown or contradicts another.
    InputError
        A drawing or a file of the shop cannot be used.
    PlanError
        A load does not fit the shift, or cannot be cut.
    """
    asked = options or ShiftOptions()
    rules = asked.rules(catalogue)
    machine = machine_of(catalogue, asked.load.machine)
    pockets = machine.pockets if asked.pockets is None else asked.pockets
    made = _Loads(jobs, catalogue, machine, rules, asked, dict(estimates or {}))
    waiting = made.waiting(max(0, pockets))
    _check_used(asked.used, waiting)
    loads, findings, limit = waiting, made.findings, asked.time_limit_s
    choice = order = filling = None
    if asked.fit:
        day = asked.day or datetime.now().astimezone().date()
        # Without pockets the simulation refuses the shift, with what to do.
        choice = fit_shift(
            loads, rules, pockets=max(1, pockets), day=day, time_limit_s=limit, used=asked.used
        )
        loads = [loads[i] for i in choice.chosen]
        findings += _not_proved(choice)
    if asked.pocket_plan:
        needs, names = [[use.piece for use in x.pieces] for x in loads], [x.name for x in loads]
        order = plan_pockets(needs, pockets, names=names, time_limit_s=limit)
        loads = [loads[i] for i in order.order]
    if asked.table_filling:
        filling = made.filling()
        findings += filling.findings
    plan = ShiftPlan(
        machine=machine,
        rules=rules,
        pockets=pockets,
        waiting=tuple(waiting),
        shift=simulate_shift(
            loads,
            rules,
            pockets=pockets,
            fill=asked.fill and not asked.fit,
            variation=asked.replications != 0,
            used=asked.used,
            findings=dict.fromkeys(findings),
            all_given=len(loads) == len(waiting),
        ),
        fit=choice,
        pocket_plan=order,
        table_filling=filling,
        estimates=made.estimates,
    )
    if not asked.explain:
        return plan
    from edgetime.shift.explain import explain_shift  # noqa: PLC0415  only when asked for

    return replace(plan, explain=explain_shift(plan, catalogue, asked))
