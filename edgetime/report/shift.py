"""A shift as planned, and its simulated variation."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from edgetime.labour import KINDS as TASKS
from edgetime.report.areas import area_text, area_unit
from edgetime.report.columns import AREA, CLOCK, COUNT, HOURS, PERCENT, Column, Sheet, Unit
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.explained import explained_blocks, planned_text
from edgetime.report.findings import cannot_run_parts, finding_parts
from edgetime.report.promise import chance_blocks, leading_blocks
from edgetime.report.shift_plans import (
    FIT,
    PARTS_ON_TABLE,
    POCKETS,
    filling_blocks,
    fit_blocks,
    pocket_blocks,
)
from edgetime.report.shift_what_if import cases_blocks, cases_table
from edgetime.report.text import NONE, hours, time_of_day
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.comparison import ShiftCase
    from edgetime.shift import ShiftPlan
    from edgetime.shift.account import TimeUse
    from edgetime.shift.leverage import Leverage
    from edgetime.shift.plan import PlanRow
    from edgetime.shift.simulate import VariedFigure

_LIMITS: Final = {
    "machine": "the machine",
    "person": "the operator",
    "tools": "tool swaps",
    "breaks": "breaks",
    "warm-up": "warm-up",
    "supply": "the supply of loads",
    "loads": "no more loads listed",
}

_MACHINE: Final = {
    "run": "Cycle runs",
    "stop": "Waits for the operator in a cycle",
    "stoppage": "Stoppages",
    "swap": "Tool swaps",
    "warm-up": "Warm-up",
    "loading": "Nothing loaded",
    "break": "Nothing loaded, during a break",
    "rest": "After the last cycle",
}
_PERSON: Final = {
    **{kind.key: kind.title.capitalize() for kind in TASKS.values()},
    "stoppage": "Ending stoppages",
}


def _swaps(value: int, _: UnitSystem) -> str:
    return str(value) if value else NONE


def plan_sheet(starts_s: float) -> Sheet[PlanRow]:
    """Declare the table of the loads that run.

    In files ``chance`` is the share of simulated shifts that make at least the loads up to
    the row, with its confidence interval; the last two are of the whole shift, alike in every
    row. All of them are empty where nothing was simulated.

    Parameters
    ----------
    starts_s : float
        Time of the day the shift begins, which the screen counts from [s].
    """

    def show(value: float, _: UnitSystem) -> str:
        return time_of_day(starts_s + value)

    at = Unit("_s", show)
    return Sheet(
        (
            Column(key="row", unit=COUNT, get=lambda r: r.number),
            Column(key="load", heading="Load", get=lambda r: r.run.name, total=lambda _: "Total"),
            Column(key="loading_at_s", heading="Loading", unit=at,
                   get=lambda r: r.run.loading_at_s),
            Column(key="loaded_at_s", unit=at, get=lambda r: r.run.loaded_at_s),
            Column(key="starts_s", heading="Starts", unit=at, get=lambda r: r.run.starts_s),
            Column(key="ends_s", heading="Ends", unit=at, get=lambda r: r.run.ends_s),
            Column(key="done_s", unit=at, get=lambda r: r.run.unloaded_s),
            Column(heading="Unloaded", unit=at, get=lambda r: r.run,
                   show=lambda run, system: "next shift" if run.runs_on
                   else show(run.done_s, system)),
            Column(key="parts", heading="Parts", unit=COUNT, get=lambda r: r.run.parts,
                   total=lambda rows: sum(r.run.parts for r in rows)),
            Column(key="area_mm2", heading="Area", unit=AREA, get=lambda r: r.run.area_mm2,
                   total=lambda rows: sum(r.run.area_mm2 for r in rows)),
            Column(key="swapped", get=lambda r: " ".join(r.run.swapped)),
            Column(heading="Swaps", unit=COUNT, get=lambda r: len(r.run.swapped), show=_swaps,
                   total=lambda rows: sum(len(r.run.swapped) for r in rows)),
            Column(key="runs_on", unit=COUNT, get=lambda r: int(r.run.runs_on)),
            Column(key="chance", unit=PERCENT, get=lambda r: r.chance and r.chance.share),
            Column(key="chance_low", unit=PERCENT, get=lambda r: r.chance and r.chance.low),
            Column(key="chance_high", unit=PERCENT, get=lambda r: r.chance and r.chance.high),
            Column(key="mean_loads", unit=COUNT, get=lambda r: r.promise.mean),
            Column(key="sure_loads", unit=COUNT, get=lambda r: r.promise.sure_loads),
        )
    )  # fmt: skip


def shift_table(plan: ShiftPlan, cases: Sequence[ShiftCase] = ()) -> Table[Any]:
    """Return the table that a file of a shift holds: of what was asked for, or the plan."""
    if cases:
        return cases_table(cases)
    if plan.fit is not None:
        return Table(FIT, plan.fit.rows, name="fit")
    if plan.pocket_plan is not None:
        return Table(POCKETS, plan.pocket_plan.rows, name="pocket_plan")
    if plan.table_filling is not None:
        return Table(PARTS_ON_TABLE, plan.table_filling.rows, name="table_filling")
    return _plan_table(plan)


def _plan_table(plan: ShiftPlan) -> Table[PlanRow]:
    return Table(plan_sheet(plan.starts_s), plan.rows, name="plan")


def _time_sheet(what: str, names: dict[str, str], total: str) -> Sheet[TimeUse]:
    return Sheet(
        (
            Column(heading=what, get=lambda row: names.get(row.kind, row.kind),
                   total=lambda _: total),
            Column(heading="Time", unit=HOURS, get=lambda row: row.seconds,
                   total=lambda rows: sum(row.seconds for row in rows)),
            Column(heading="%", unit=PERCENT, get=lambda row: row.share,
                   total=lambda rows: sum(row.share for row in rows)),
        )
    )  # fmt: skip


_MACHINE_TIME: Final = _time_sheet("State", _MACHINE, "Shift")
_PERSON_TIME: Final = _time_sheet("Task", _PERSON, "Operator time")

_LEVERAGES: Final[Sheet[Leverage]] = Sheet(
    (
        Column(heading="10 % less time for", get=lambda row: _LIMITS[row.what]),
        Column(heading="Loads finish earlier by (min:s)", unit=CLOCK, get=lambda row: row.saved_s),
    )
)


def _number(value: float, _: UnitSystem) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _hours(value: float, _: UnitSystem) -> str:
    return hours(value)


def _percent(value: float, _: UnitSystem) -> str:
    return f"{100.0 * value:.0f}"


_VARIED: Final[dict[str, tuple[str, Callable[[float, UnitSystem], str]]]] = {
    "loads": ("Loads", _number),
    "parts": ("Good parts", _number),
    "area_mm2": ("Good area", area_text),
    "attended_s": ("Operator time, h:min", _hours),
    "unattended_s": ("Unattended, h:min", _hours),
    "longest_unattended_s": ("Longest unattended, h:min", _hours),
    "utilisation": ("Utilisation, %", _percent),
    "swaps": ("Tool swaps", _number),
    "overtime_s": ("Overtime, h:min", _hours),
}
"""Name of each figure, and how it is written, in the order of the screen."""


def _varied(heading: str, get: Callable[[VariedFigure], float]) -> Column[VariedFigure]:
    """Return a column whose figures are of the kind of their row."""

    def show(value: tuple[str, float], system: UnitSystem) -> str:
        key, number = value
        return _VARIED[key][1](number, system)

    return Column(heading=heading, unit=COUNT, get=lambda row: (row.key, get(row)), show=show)


def _row_name(key: str, system: UnitSystem) -> str:
    name = _VARIED[key][0]
    return f"{name}, {area_unit(system)}" if key == "area_mm2" else name


_VARIATION: Final[Sheet[VariedFigure]] = Sheet(
    (
        Column(heading="Figure", get=lambda row: row.key, show=_row_name),
        _varied("Plan", lambda row: row.plan),
        _varied("Mean", lambda row: row.varied.mean),
        _varied("From", lambda row: row.varied.low),
        _varied("To", lambda row: row.varied.high),
    )
)


def _variation_blocks(plan: ShiftPlan) -> Iterator[Block]:
    variation = plan.shift.variation
    if variation is None:
        return
    found = {row.key: row for row in plan.shift.varied}
    yield Heading(f"With variation: {variation.replications} shifts (From, To: 90 % of them)")
    yield Table(_VARIATION, [found[key] for key in _VARIED], name="variation")


def _asked_blocks(plan: ShiftPlan, system: UnitSystem) -> Iterator[Block]:
    if plan.fit is not None:
        yield from fit_blocks(plan.fit)
    if plan.pocket_plan is not None:
        yield from pocket_blocks(plan.pocket_plan)
    if plan.table_filling is not None:
        yield from filling_blocks(plan.table_filling, system)
    if plan.explain:
        yield from explained_blocks("How the throughput is calculated", plan.explain, planned_text)


def shift_blocks(
    plan: ShiftPlan, system: UnitSystem, cases: Sequence[ShiftCase] = ()
) -> Iterator[Block]:
    """Yield all that people read of a shift, and of its what-ifs."""
    shift, f = plan.shift, plan.shift.figures
    yield from cannot_run_parts(plan.findings, system, what="A load of the shift")
    yield from leading_blocks(plan, system)
    yield Line(
        f"An operator is needed for {format_time(f.attended_s)}; the machine runs unattended "
        f"for {format_time(f.unattended_s)}, at most {format_time(f.longest_unattended_s)} "
        f"at a stretch, from {time_of_day(plan.starts_s + f.longest_unattended_at_s)}."
    )
    yield Heading("Plan (nominal times, no disturbances)")
    yield _plan_table(plan)
    yield Line(
        "From start to end: cycle, tool swaps, stops, and waiting for the operator.", indent=2
    )
    yield Line("Areas include openings, as kitchens are sold; takeoff leaves them out.", indent=2)
    for number, run in enumerate(shift.runs, 1):
        if run.swapped:
            text = f"Before load {number}, {run.name}: {', '.join(run.swapped)}."
            yield Line(text, indent=2)
    yield from _variation_blocks(plan)
    yield from chance_blocks(shift.promise)
    yield Heading("Machine time")
    yield Table(_MACHINE_TIME, f.machine_time, name="machine_time")
    yield Heading("Operator time")
    yield Table(_PERSON_TIME, f.person_time, name="operator_time")
    if f.break_s > 0.0:
        yield Line(f"% of {hours(f.working_s)} h (breaks excluded).", indent=2)
    yield Heading(f"Limit: {_LIMITS[shift.limit]}")
    yield Table(_LEVERAGES, [x for x in shift.leverages if x.saved_s > 0.5], name="limit")
    yield from _asked_blocks(plan, system)
    if cases:
        yield from cases_blocks(cases, system)
    yield from finding_parts(plan.findings, system)
