"""A shift as planned and as it may come, the choice of loads, pockets and table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.report.findings import finding_parts
from edgetime.report.screen import heading, line, table
from edgetime.report.text import NONE, clock, share
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from rich.console import RenderableType

    from edgetime.findings import Finding
    from edgetime.shift import Filling, Fit, PocketPlan, Shift, ShiftLoad
    from edgetime.shift.model import Interval

__all__ = [
    "SHIFT_HEADER",
    "filling_parts",
    "fit_parts",
    "pocket_parts",
    "shift_parts",
    "shift_rows",
]

SHIFT_HEADER = (
    "row",
    "load",
    "loading_at_s",
    "loaded_at_s",
    "starts_s",
    "ends_s",
    "done_s",
    "parts",
    "area_mm2",
    "swapped",
)
"""Columns of the CSV form, one row per load."""

_MM2_PER_M2 = 1e6
_MM2_PER_FT2 = 304.8**2

_LIMITS = {
    "machine": "the machine",
    "person": "the person",
    "tools": "tool swaps",
    "breaks": "breaks",
    "warm-up": "warming up",
    "supply": "the supply of loads",
}


def shift_rows(shift: Shift) -> list[list[object]]:
    """Return the rows of the CSV form.

    Parameters
    ----------
    shift : Shift
        Its plan.

    Returns
    -------
    list of list
        As :data:`SHIFT_HEADER`.
    """
    return [
        [
            number,
            r.load.name,
            r.loading_at_s,
            r.loaded_at_s,
            r.starts_s,
            r.ends_s,
            r.done_s,
            r.load.parts,
            r.load.area_mm2,
            " ".join(r.swapped),
        ]
        for number, r in enumerate(shift.runs, 1)
    ]


def _at(time_s: float) -> str:
    """Write a time of the day."""
    minutes = round(time_s / 60.0)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def _area(area_mm2: float, system: UnitSystem) -> str:
    if system is UnitSystem.METRIC:
        return f"{area_mm2 / _MM2_PER_M2:.2f}"
    return f"{area_mm2 / _MM2_PER_FT2:.1f}"


def _area_unit(system: UnitSystem) -> str:
    return "m²" if system is UnitSystem.METRIC else "sq ft"


def _hours(time_s: float) -> str:
    minutes = round(time_s / 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}"


def shift_parts(
    shift: Shift,
    *,
    machine: str,
    starts_s: float,
    system: UnitSystem,
    findings: Sequence[Finding],
    extra: Sequence[RenderableType] = (),
) -> list[RenderableType]:
    """Return the whole screen of a shift.

    Parameters
    ----------
    shift : Shift
        To be shown.
    machine : str
        Its title.
    starts_s : float
        Time of the day the shift begins [s].
    system : UnitSystem
        Units of areas.
    findings : sequence of Finding
        Of all stages.
    extra : sequence of renderables
        Sections before the findings.
    """
    f = shift.figures
    unit = _area_unit(system)
    parts: list[RenderableType] = [
        line(
            f"{f.loads} load{'' if f.loads == 1 else 's'}, {f.parts} parts, "
            f"{_area(f.area_mm2, system)} {unit} in {format_time(f.hours_s)} on {machine}.",
            style="bold",
        ),
        line(
            f"A person is needed for {format_time(f.attended_s)}; the machine runs unattended "
            f"for {format_time(f.unattended_s)}, at most {format_time(f.longest_unattended_s)} "
            f"at a stretch, from {_at(starts_s + f.longest_at_s)}."
        ),
        heading("The plan: everything takes its time, nothing goes wrong"),
        table(
            [
                ("Load", "<"),
                ("Loading", ">"),
                ("Starts", ">"),
                ("Ends", ">"),
                ("Unloaded", ">"),
                ("Parts", ">"),
                (unit, ">"),
                ("Swaps", ">"),
            ],
            [
                [
                    r.load.name,
                    _at(starts_s + r.loading_at_s),
                    _at(starts_s + r.starts_s),
                    _at(starts_s + r.ends_s),
                    _at(starts_s + r.done_s),
                    r.load.parts,
                    _area(r.load.area_mm2, system),
                    len(r.swapped) or NONE,
                ]
                for r in shift.runs
            ],
            total=[
                "Total",
                "",
                "",
                "",
                "",
                f.parts,
                _area(f.area_mm2, system),
                sum(len(r.swapped) for r in shift.runs) or NONE,
            ],
        ),
        *_swap_lines(shift),
        *_figures(shift, system),
        heading("What the machine does with the shift"),
        table(
            [("", "<"), ("h:min", ">"), ("%", ">")],
            [[_KINDS[k], _hours(s), share(s, f.hours_s)] for k, s in f.account if s > 0.0],
            total=["Shift", _hours(f.hours_s), "100"],
        ),
        heading("What the person does"),
        table(
            [("", "<"), ("h:min", ">"), ("%", ">")],
            [[_TASKS.get(k, k), _hours(s), share(s, f.hours_s)] for k, s in f.attended if s > 0.0],
            total=["Attended", _hours(f.attended_s), share(f.attended_s, f.hours_s)],
        ),
        heading(f"What limits the yield: {_LIMITS[shift.limit]}"),
        table(
            [("With a tenth less time for", "<"), ("these loads are done sooner by", ">")],
            [[_LIMITS[x.what], clock(x.saved_s)] for x in shift.leverages if x.saved_s > 0.5],
        ),
    ]
    parts += extra
    return [*parts, *finding_parts(findings)]


_KINDS = {
    "run": "Cycle runs",
    "stop": "Waits for the person in a cycle",
    "stoppage": "Stoppages",
    "swap": "Tools are swapped",
    "warm-up": "Warms up",
    "loading": "Has nothing loaded",
    "break": "Has nothing loaded, in a break",
    "rest": "After the last cycle",
}
_TASKS = {
    "load": "Loads parts",
    "unload": "Unloads parts",
    "measure": "Measures",
    "swap": "Swaps tools",
    "flip": "Turns parts over",
    "cups": "Moves cups",
    "slug": "Takes out slugs",
    "pocket": "Puts in tools without a pocket",
    "stoppage": "Ends stoppages",
}


def _swap_lines(shift: Shift) -> list[RenderableType]:
    out: list[RenderableType] = []
    for number, r in enumerate(shift.runs, 1):
        if r.swapped:
            out.append(
                line(f"Before load {number}, {r.load.name}: {', '.join(r.swapped)}.", indent=2)
            )
    return out


def _figures(shift: Shift, system: UnitSystem) -> list[RenderableType]:
    v, f = shift.variation, shift.figures
    if v is None:
        return []
    found = dict(v.figures)
    unit = _area_unit(system)

    def row(name: str, key: str, plan: str, write: object) -> list[str]:
        i: Interval = found[key]
        text = write if callable(write) else str
        return [name, plan, text(i.mean), text(i.low), text(i.high)]

    def plain(value: float) -> str:
        return f"{value:.2f}".rstrip("0").rstrip(".")

    def area(value: float) -> str:
        return _area(value, system)

    def percent(value: float) -> str:
        return f"{100.0 * value:.0f}"

    swaps = sum(len(r.swapped) for r in shift.runs)
    return [
        heading(f"With variation: {v.replications} shifts, nine of ten lie between the last two"),
        table(
            [("", "<"), ("Plan", ">"), ("Mean", ">"), ("From", ">"), ("To", ">")],
            [
                row("Loads", "loads", plain(f.loads), plain),
                row("Good parts", "parts", plain(f.parts), plain),
                row(f"Good {unit}", "area_mm2", area(f.area_mm2), area),
                row("Attended, h:min", "attended_s", _hours(f.attended_s), _hours),
                row("Unattended, h:min", "unattended_s", _hours(f.unattended_s), _hours),
                row(
                    "Longest unattended, h:min",
                    "longest_unattended_s",
                    _hours(f.longest_unattended_s),
                    _hours,
                ),
                row("Machine runs, %", "utilisation", percent(f.utilisation), percent),
                row("Tool swaps", "swaps", plain(swaps), plain),
                row("Overtime, h:min", "overtime_s", _hours(f.overtime_s), _hours),
            ],
        ),
    ]


_OTHER_ORDER = "They run in the order of the plan; by due date they would not be done in time."


def _proved(fit: Fit) -> str:
    """Say what is known of better choices."""
    if fit.optimal:
        return "No other choice, in whatever order, is better."
    out = ["That no choice is better is not proved."]
    if fit.due_gap is None:
        out.append(f"Of what is due, none has more than {fit.due_bound:.2f} m²; this one has none.")
    elif fit.due_gap > 0.0:
        out.append(f"Of what is due, none has over {100.0 * fit.due_gap:.1f} % more area.")
    if fit.gap > 0.0:
        out.append(
            f"Weighted by urgency, none with as much that is due has over {100.0 * fit.gap:.1f} % "
            "more."
        )
    return " ".join(out)


def fit_parts(fit: Fit, loads: Sequence[ShiftLoad], system: UnitSystem) -> list[RenderableType]:
    """Return the section on which waiting loads were chosen.

    Parameters
    ----------
    fit : Fit
        The choice.
    loads : sequence of ShiftLoad
        Those that wait.
    system : UnitSystem
        Units of areas.
    """
    chosen = set(fit.chosen)
    return [
        heading(f"Chosen: {len(chosen)} of {len(loads)} waiting loads"),
        line(f"{_proved(fit)}{'' if fit.in_turn else f' {_OTHER_ORDER}'}"),
        table(
            [("Load", "<"), ("Due", "<"), (_area_unit(system), ">"), ("Cycle", ">"), ("Runs", "<")],
            [
                [
                    x.name,
                    NONE if x.due is None else x.due.isoformat(),
                    _area(x.area_mm2, system),
                    clock(x.cycle_s),
                    "yes" if i in chosen else "no, late" if i in fit.late else "no",
                ]
                for i, x in enumerate(loads)
            ],
        ),
    ]


def pocket_parts(plan: PocketPlan, names: Sequence[str]) -> list[RenderableType]:
    """Return the section on the order with the fewest tool swaps.

    Parameters
    ----------
    plan : PocketPlan
        The order.
    names : sequence of str
        Of the loads, as given.
    """
    text = "no order has fewer" if plan.optimal else f"no order has fewer than {plan.bound}"
    return [
        heading(f"Pocket plan: {plan.swaps} swaps in {plan.pockets} pockets, {text}"),
        line(f"In the order given: {plan.as_given}."),
        table(
            [("", ">"), ("Load", "<"), ("Put into the rack before it", "<")],
            [
                [n, names[i], ", ".join(put) or NONE]
                for n, (i, put) in enumerate(zip(plan.order, plan.inserted, strict=True), 1)
            ],
        ),
    ]


def _counted(names: Sequence[str]) -> str:
    """Write names once each, with how often they stand there."""
    times = {name: names.count(name) for name in sorted(names)}
    return ", ".join(name if n == 1 else f"{n} × {name}" for name, n in times.items())


def filling_parts(filling: Filling, system: UnitSystem) -> list[RenderableType]:
    """Return the section on which parts go together by area.

    Parameters
    ----------
    filling : Filling
        The loads.
    system : UnitSystem
        Units of areas.
    """
    length, width = filling.table_mm
    rows = []
    for number, load in enumerate(filling.loads, 1):
        by_job: dict[str, list[str]] = {}
        for p in load.parts:
            by_job.setdefault(p.job, []).append(p.part_id)
        rows.append(
            [
                number,
                "; ".join(f"{job}: {_counted(ids)}" for job, ids in by_job.items()),
                len(load.parts),
                _area(sum(p.area_mm2 for p in load.parts), system),
                f"{100.0 * load.filled:.0f}",
            ]
        )
    return [
        heading("Table filling by area: an upper estimate, no nesting"),
        line(
            f"Table {length:.0f} × {width:.0f} mm, {filling.gap_mm:.0f} mm between parts for the "
            f"widest wheel. The parts need at least {filling.at_least} loads; whether they lie "
            f"so in {len(filling.loads)} must be tried."
        ),
        table(
            [
                ("", ">"),
                ("Parts", "<"),
                ("Number", ">"),
                (_area_unit(system), ">"),
                ("Filled %", ">"),
            ],
            rows,
        ),
    ]
