"""A shift as planned and as it may come."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.labour import KINDS as TASKS
from edgetime.report.areas import area_text, area_unit
from edgetime.report.document import Grid, Heading, Line
from edgetime.report.findings import cannot_run_parts, finding_parts
from edgetime.report.promise import chance_parts, leading_parts
from edgetime.report.text import NONE, clock, share
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.findings import Finding
    from edgetime.report.document import Block
    from edgetime.shift import Shift
    from edgetime.shift.figures import Interval

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
    "runs_on",
    "chance",
    "chance_low",
    "chance_high",
    "mean_loads",
    "sure_loads",
)
"""Columns of the CSV form, one row per load."""

_LIMITS = {
    "machine": "the machine",
    "person": "the person",
    "tools": "tool swaps",
    "breaks": "breaks",
    "warm-up": "warming up",
    "supply": "the supply of loads",
    "loads": "the loads given, for all are run",
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
        As :data:`SHIFT_HEADER`: ``chance`` is the share of shifts that make at least the loads
        up to this row, with its confidence interval; the last two are of the whole shift, alike
        in every row. Empty where nothing was simulated, and where the next shift unloads.
    """
    told = shift.promise.as_dict()
    chances = [shift.promise.chance(n) for n in range(1, len(shift.runs) + 1)]
    return [
        [
            number,
            r.load.name,
            r.loading_at_s,
            r.loaded_at_s,
            r.starts_s,
            r.ends_s,
            None if r.runs_on else r.done_s,
            r.load.parts,
            r.load.area_mm2,
            " ".join(r.swapped),
            int(r.runs_on),
            *((None, None, None) if c is None else (c.share, *c.interval)),
            told["mean_loads"],
            told["sure_loads"],
        ]
        for number, (r, c) in enumerate(zip(shift.runs, chances, strict=True), 1)
    ]


def _at(time_s: float) -> str:
    """Write a time of the day."""
    minutes = round(time_s / 60.0)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


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
    extra: Sequence[Block] = (),
) -> list[Block]:
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
    unit = area_unit(system)
    # The person's share is of the time there is for work, as in the JSON document.
    free_s = f.hours_s - f.break_s
    breaks = (
        [Line(f"Shares are of the {_hours(free_s)} h outside the breaks.", indent=2)]
        if f.break_s > 0.0
        else []
    )
    parts: list[Block] = [
        *cannot_run_parts(findings, system, what="A load of the shift"),
        *leading_parts(shift, machine=machine, starts_s=starts_s, system=system),
        Line(
            f"A person is needed for {format_time(f.attended_s)}; the machine runs unattended "
            f"for {format_time(f.unattended_s)}, at most {format_time(f.longest_unattended_s)} "
            f"at a stretch, from {_at(starts_s + f.longest_at_s)}."
        ),
        Heading("The plan: everything takes its time, nothing goes wrong"),
        Grid(
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
                    "next shift" if r.runs_on else _at(starts_s + r.done_s),
                    r.load.parts,
                    area_text(r.load.area_mm2, system),
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
                area_text(f.area_mm2, system),
                sum(len(r.swapped) for r in shift.runs) or NONE,
            ],
        ),
        Line("From start to end: cycle, tool swaps, stops, and waiting for the person.", indent=2),
        Line(
            f"{unit} with the openings in it, as kitchens are sold; takeoff leaves them out.",
            indent=2,
        ),
        *_swap_lines(shift),
        *_figures(shift, system),
        *chance_parts(shift.promise),
        Heading("What the machine does with the shift"),
        Grid(
            [("", "<"), ("h:min", ">"), ("%", ">")],
            [[_KINDS[k], _hours(s), share(s, f.hours_s)] for k, s in f.account if s > 0.0],
            total=["Shift", _hours(f.hours_s), "100"],
        ),
        Heading("What the person does"),
        Grid(
            [("", "<"), ("h:min", ">"), ("%", ">")],
            [[_TASKS.get(k, k), _hours(s), share(s, free_s)] for k, s in f.attended if s > 0.0],
            total=["Attended", _hours(f.attended_s), share(f.attended_s, free_s)],
        ),
        *breaks,
        Heading(f"What limits the yield: {_LIMITS[shift.limit]}"),
        Grid(
            [("With a tenth less time for", "<"), ("these loads are done sooner by", ">")],
            [[_LIMITS[x.what], clock(x.saved_s)] for x in shift.leverages if x.saved_s > 0.5],
        ),
    ]
    parts += extra
    return [*parts, *finding_parts(findings, system)]


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
    **{kind.key: kind.title.capitalize() for kind in TASKS.values()},
    "stoppage": "Ending stoppages",
}


def _swap_lines(shift: Shift) -> list[Block]:
    out: list[Block] = []
    for number, r in enumerate(shift.runs, 1):
        if r.swapped:
            out.append(
                Line(f"Before load {number}, {r.load.name}: {', '.join(r.swapped)}.", indent=2)
            )
    return out


def _figures(shift: Shift, system: UnitSystem) -> list[Block]:
    v, f = shift.variation, shift.figures
    if v is None:
        return []
    found = dict(v.figures)
    unit = area_unit(system)

    def row(name: str, key: str, plan: str, write: object) -> list[str]:
        i: Interval = found[key]
        text = write if callable(write) else str
        return [name, plan, text(i.mean), text(i.low), text(i.high)]

    def plain(value: float) -> str:
        return f"{value:.2f}".rstrip("0").rstrip(".")

    def area(value: float) -> str:
        return area_text(value, system)

    def percent(value: float) -> str:
        return f"{100.0 * value:.0f}"

    swaps = sum(len(r.swapped) for r in shift.runs)
    return [
        Heading(f"With variation: {v.replications} shifts, nine of ten lie between the last two"),
        Grid(
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
