"""How the yield of a shift came about: each value, with the file and key it is from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.explained import Explained, Explanation
from edgetime.shift.explain_plans import (
    explain_filling,
    explain_fit,
    explain_pockets,
    explain_variation,
)
from edgetime.shift.load_runs import ShiftLoad
from edgetime.tooling import Catalogue
from edgetime.units import format_time

if TYPE_CHECKING:
    from edgetime.shift.options import ShiftOptions
    from edgetime.shift.plan import ShiftPlan

_NOTES = {
    "run": "cycles, attended stops excluded",
    "stop": "the machine waits for the operator in the middle of a cycle",
    "stoppage": "none in the plan; random with variation",
    "swap": "tools swapped in the rack, waiting for the operator included",
    "warm-up": "the machine by itself",
    "loading": "nothing on the table that could run: loading, measuring, unloading",
    "break": "likewise, during a break",
    "rest": "after the last cycle: unloading it, and time too short for another load",
}

_RULES = (
    ("hours", "length of the shift", "hours_s", "s", ""),
    ("zones", "zones of the table", "zones", "-", ""),
    ("zone_length", "length of a zone", "zone_length_mm", "mm", ""),
    # Of a word the value is whether it applies.
    ("last_load", "the last load runs on", "runs_on", "-", ""),
    ("warm_up", "warm-up", "warm_up_s", "s", ""),
    ("measure", "measuring a load", "measure_s", "s", ""),
    ("tool_swap", "one tool swap", "tool_swap_s", "s", ""),
    ("used", "life used of each tool", "used", "-",
     "in the plan; with variation uniform from 0 to 1"),
    ("scrap", "parts scrapped, with variation", "scrap", "-", "each by itself"),
    ("stoppage_every", "running from stoppage to stoppage", "stoppage_every_s", "s",
     "exponential"),
    ("stoppage", "one stoppage, with variation", "stoppage_s", "s", "exponential"),
    ("cycle_spread", "spread of cycles, with variation", "cycle_spread", "-",
     "cycle ÷ estimate is lognormal, mean 1"),
    ("handling_spread", "spread of tasks, with variation", "handling_spread", "-",
     "task ÷ its time is lognormal, mean 1"),
    ("service_level", "service level", "service_level", "-",
     "share of shifts that must reach the promised number"),
    ("replications", "shifts simulated", "replications", "-", ""),
    ("seed", "seed", "seed", "-", "each shift has its own random stream"),
)  # fmt: skip
"""Key in ``[shift]``, name, attribute, unit, note."""

_MACHINE = (
    ("load_part", "loading one part", "load_part_s"),
    ("unload_part", "unloading one part", "unload_part_s"),
    ("flip", "flipping one part", "flip_s"),
    ("cup_move", "moving the cups of one part", "cup_move_s"),
    ("slug", "taking out one slug", "slug_s"),
    ("stop", "stopping and starting the program", "stop_s"),
)


def explain_shift(
    plan: ShiftPlan, catalogue: Catalogue, options: ShiftOptions
) -> tuple[Explained[float], ...]:
    """Return how the yield of a shift came about.

    Parameters
    ----------
    plan : ShiftPlan
        The shift, and what else was asked for.
    catalogue : Catalogue
        Knows where each value is written.
    options : ShiftOptions
        What replaces the values of the files.

    Returns
    -------
    tuple of Explained
        Those with ``seconds`` add up to the shift.
    """
    out = Explanation(catalogue.raw)
    _explain_rules(out, plan, catalogue, options)
    _explain_machine(out, plan, options)
    loads = [run.load for run in plan.shift.runs]
    for load in dict.fromkeys(loads):
        _explain_load(out, load, loads.count(load), plan, catalogue)
    for number, run in enumerate(plan.shift.runs, 1):
        if run.swapped:
            out.add(
                f"tools swapped before load {number}",
                float(len(run.swapped)),
                "-",
                f"worn, or missing in the rack: {', '.join(run.swapped)}",
            )
    _explain_person(out, plan)
    if plan.fit is not None:
        explain_fit(out, plan.fit, options.time_limit_s)
    if plan.pocket_plan is not None:
        explain_pockets(out, plan.pocket_plan)
    if plan.table_filling is not None:
        explain_filling(out, plan.table_filling, plan.machine)
    if plan.shift.variation is not None:
        explain_variation(out, plan.shift.variation)
    for leverage in plan.shift.leverages:
        note = "the same loads would finish earlier by this"
        out.add(f"10 % less: {leverage.what}", leverage.saved_s, "s", note)
    for kind, seconds in plan.shift.figures.account:
        out.add_time(kind, seconds, _NOTES[kind])
    return tuple(out.values)


def _explain_rules(
    out: Explanation, plan: ShiftPlan, catalogue: Catalogue, options: ShiftOptions
) -> None:
    file, replaced = catalogue.shop.file, options.replaced

    def add(key: str, name: str, value: float, unit: str, note: str = "") -> None:
        bare = key.split("[", maxsplit=1)[0]
        if bare in replaced:
            option = "--break" if bare == "breaks" else f"--{bare.replace('_', '-')}"
            out.add(name, value, unit, note, key=option)
        else:
            out.add(name, value, unit, note, file=file, key=f"shift.{key}")

    for key, name, attribute, unit, note in _RULES:
        value = getattr(plan.rules, attribute)
        # No zone length, no stoppages, no last load that runs on: nothing came of them.
        if value is not None and value is not False and math.isfinite(value):
            add(key, name, float(value), unit, note)
    for number, (after, length) in enumerate(plan.rules.breaks, 1):
        add(f"breaks[{number}].after", f"break {number} begins", after, "s")
        add(f"breaks[{number}].length", f"break {number} lasts", length, "s")
    if "breaks" in replaced and not plan.rules.breaks:
        out.add("breaks", 0.0, "-", key="--no-breaks")
    for tool, share in options.used.items():
        out.add(f"life used of {tool}", share, "-", key="--used")


def _explain_machine(out: Explanation, plan: ShiftPlan, options: ShiftOptions) -> None:
    file = plan.machine.file
    given = options.pockets is not None
    place = {"key": "--pockets"} if given else {"file": file, "key": "pockets"}
    out.add("pockets of the rack", float(plan.pockets), "-", **place)
    for key, name, attribute in _MACHINE:
        out.add(name, getattr(plan.machine, attribute), "s", file=file, key=key)


def _explain_load(
    out: Explanation, load: ShiftLoad, times: int, plan: ShiftPlan, catalogue: Catalogue
) -> None:
    often = "once" if times == 1 else f"{times} times"
    path, line = load.where.path, load.where.line
    listed = f"{path}:{line}" if path and line else path or ""
    drawn = ", ".join(load.drawings)

    def given(name: str, value: float, unit: str, key: str, note: str) -> None:
        """Add what the drawing gives, or the list for a job that is not drawn."""
        out.add(
            f"{load.name}: {name}",
            value,
            unit,
            f"{often}; {note}",
            file=drawn or listed,
            key="drawing" if drawn else key,
        )

    note = "machine, attended stops excluded"
    at = load.cycle_at
    if at is None:
        given("cycle", load.cycle_s, "s", "cycle", note)
    else:
        file = f"{at.path}:{at.line}" if at.path else ""
        out.add(
            f"{load.name}: cycle", load.cycle_s, "s", f"{often}; {note}",
            file=file, key=at.key or "cycle",
        )  # fmt: skip
    if drawn:
        reasons = ", ".join(dict.fromkeys(s.reason for s in load.stops)) or "none"
        given("stops in the cycle", load.stop_s, "s", "drawing", reasons)
    shop, machine = catalogue.shop, plan.machine
    attendance = f"{shop.price.attendance:.0%} of the cycle"
    parts = f"{load.parts} part{'' if load.parts == 1 else 's'} ×"
    meanwhile = "once, while the machine may run another load"
    for name, seconds, note, file, key in (
        ("set-up", load.setup_s, meanwhile, shop.file, "price.setup"),
        ("attending", load.attend_s, attendance, shop.file, "price.attendance"),
        ("loading", load.loading_s, f"{parts} {format_time(load.load_part_s)}", machine.file,
         "load_part"),
        ("unloading", load.unloading_s, f"{parts} {format_time(load.unload_part_s)}",
         machine.file, "unload_part"),
    ):  # fmt: skip
        if seconds > 0.0 or file == machine.file:
            out.add(f"{load.name}: {name}", seconds, "s", f"{often}; {note}", file=file, key=key)
    given("parts", float(load.parts), "-", "parts", "laid down and taken off one by one")
    given("area", load.area_mm2, "mm2", "area", "gross of cutouts")


def _explain_person(out: Explanation, plan: ShiftPlan) -> None:
    f = plan.shift.figures
    kinds: Sequence[str] = [f"{kind} {format_time(s)}" for kind, s in f.attended if s > 0.0]
    out.add("operator time", f.attended_s, "s", f"sum of {', '.join(kinds)}")
    out.add(
        "utilisation of the operator",
        f.person_utilisation,
        "-",
        f"operator time ÷ ({format_time(f.hours_s)} less breaks of {format_time(f.break_s)})",
    )
    out.add("unattended", f.unattended_s, "s", "the cycle runs and the operator has no task")
    out.add(
        "longest unattended",
        f.longest_unattended_s,
        "s",
        f"from {format_time(f.longest_unattended_at_s)} after the beginning of the shift",
    )
