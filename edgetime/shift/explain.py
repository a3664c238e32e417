"""How the yield of a shift came about: each factor, its value, its file and key."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from edgetime.estimating.factors import Factor
from edgetime.shift.figures import Shift, ShiftFigures
from edgetime.shift.model import ShiftLoad
from edgetime.tooling.model import Catalogue, Machine, ShiftDefaults
from edgetime.units import format_time

_NOTES = {
    "run": "cycles, attended stops excluded",
    "stop": "the machine waits for the person in the middle of a cycle",
    "stoppage": "none in the plan; with variation they come at random",
    "swap": "tool pieces changed in the rack, waiting for the person included",
    "warm-up": "the machine by itself",
    "loading": "nothing on the table that could run: loading, measuring, unloading",
    "break": "likewise, during a break",
    "rest": "after the last cycle: unloading it, and what is too short for another load",
}

_LAWS = {
    "shift.used": "in the plan; with variation uniform from 0 to 1",
    "shift.scrap": "each by itself",
    "shift.stoppage_every": "exponential",
    "shift.stoppage": "exponential",
    "shift.cycle_spread": "cycle ÷ estimate is lognormal, mean 1",
    "shift.handling_spread": "task ÷ its time is lognormal, mean 1",
    "shift.seed": "each shift has a stream of its own",
}

_OPTIONS = {"breaks": "--break"}
"""Options that are not called as the key they replace."""

_MACHINE_KEYS = (
    ("load_part", "load_part_s", "loading one part"),
    ("unload_part", "unload_part_s", "unloading one part"),
    ("flip", "flip_s", "turning one part over"),
    ("cup_move", "cup_move_s", "moving the cups of one part"),
    ("slug", "slug_s", "taking out one slug"),
    ("stop", "stop_s", "stopping and starting the program"),
)


def _shop_rows(rules: ShiftDefaults) -> list[tuple[str, str, float, str]]:
    rows = [
        ("shift.hours", "length of the shift", rules.hours_s, "s"),
        ("shift.zones", "zones of the table", float(rules.zones), "-"),
        ("shift.warm_up", "warm-up", rules.warm_up_s, "s"),
        ("shift.measure", "measuring a load", rules.measure_s, "s"),
        ("shift.tool_swap", "changing one tool piece", rules.tool_swap_s, "s"),
        ("shift.used", "life behind each piece", rules.used, "-"),
        ("shift.scrap", "parts spoiled, with variation", rules.scrap, "-"),
        ("shift.stoppage", "one stoppage, with variation", rules.stoppage_s, "s"),
        ("shift.cycle_spread", "spread of cycles, with variation", rules.cycle_spread, "-"),
        ("shift.handling_spread", "spread of tasks, with variation", rules.handling_spread, "-"),
        ("shift.service_level", "share of shifts to make a promise", rules.service_level, "-"),
        ("shift.replications", "shifts simulated", float(rules.replications), "-"),
        ("shift.seed", "seed", float(rules.seed), "-"),
    ]
    if rules.runs_on:
        # A word has no value: what stands for it is whether it is so.
        rows.insert(2, ("shift.last_load", "the last load runs on", 1.0, "-"))
    if rules.zone_length_mm is not None:
        rows.insert(2, ("shift.zone_length", "length of a zone", rules.zone_length_mm, "mm"))
    if math.isfinite(rules.stoppage_every_s):
        row = ("shift.stoppage_every", "running from stoppage to stoppage", rules.stoppage_every_s)
        rows.insert(-6, (*row, "s"))
    for number, (after, length) in enumerate(rules.breaks, 1):
        rows.append((f"shift.breaks[{number}].after", f"break {number} begins", after, "s"))
        rows.append((f"shift.breaks[{number}].length", f"break {number} lasts", length, "s"))
    return rows


def explain_shift(
    shift: Shift,
    rules: ShiftDefaults,
    machine: Machine,
    catalogue: Catalogue,
    *,
    options: Collection[str] = (),
    pockets: int | None = None,
    used: Mapping[str, float] | None = None,
    plans: Sequence[Factor] = (),
) -> tuple[Factor, ...]:
    """Return how the yield of a shift came about.

    Parameters
    ----------
    shift : Shift
        The plan.
    rules : ShiftDefaults
        It was made by.
    machine : Machine
        It runs on.
    catalogue : Catalogue
        Says where each figure is written.
    options : collection of str
        Keys of ``[shift]`` that an option of the command replaces, such as ``hours``.
    pockets : int, optional
        Of the rack, where an option replaces the machine's.
    used : mapping of str to float, optional
        Life behind the pieces that an option speaks of.
    plans : sequence of Factor
        Of the choice, the order and the table, from
        :mod:`edgetime.shift.explain_plans`.

    Returns
    -------
    tuple of Factor
        Those with ``seconds`` add up to the shift.
    """
    raw, file = catalogue.raw, catalogue.shop.file
    out: list[Factor] = []
    for key, name, value, unit in _shop_rows(rules):
        bare = key.removeprefix("shift.").split("[")[0]
        replaced = bare in options
        out.append(
            Factor(
                name=name,
                value=value,
                unit=unit,
                file="" if replaced else file,
                key=_OPTIONS.get(bare, f"--{bare.replace('_', '-')}") if replaced else key,
                written="" if replaced else raw.get((file, key), ""),
                note=_LAWS.get(key, ""),
            )
        )
    if "breaks" in options and not rules.breaks:
        out.append(Factor(name="breaks", value=0.0, unit="-", key="--no-breaks"))
    out += [
        Factor(name=f"life behind {piece}", value=share, unit="-", key="--used")
        for piece, share in (used or {}).items()
    ]
    out.append(
        Factor(name="pockets of the rack", value=float(pockets), unit="-", key="--pockets")
        if pockets is not None
        else Factor(
            name="pockets of the rack",
            value=float(machine.pockets),
            unit="-",
            file=machine.file,
            key="pockets",
            written=raw.get((machine.file, "pockets"), ""),
        )
    )
    for key, attribute, name in _MACHINE_KEYS:
        out.append(
            Factor(
                name=name,
                value=getattr(machine, attribute),
                unit="s",
                file=machine.file,
                key=key,
                written=raw.get((machine.file, key), ""),
            )
        )
    for load in dict.fromkeys(r.load for r in shift.runs):
        out += _of_load(load, [r.load for r in shift.runs].count(load), machine, catalogue)
    out += _swaps(shift)
    out += _of_person(shift.figures)
    out += plans
    out += [
        Factor(
            name=f"a tenth less: {x.what}",
            value=x.saved_s,
            unit="s",
            note="the same loads would be done so much sooner",
        )
        for x in shift.leverages
    ]
    out += [
        Factor(name=kind, value=seconds, unit="s", seconds=seconds, note=_NOTES[kind])
        for kind, seconds in shift.figures.account
    ]
    return tuple(out)


def _of_load(
    load: ShiftLoad, times: int, machine: Machine, catalogue: Catalogue
) -> Iterator[Factor]:
    raw = catalogue.raw
    often = "once" if times == 1 else f"{times} times"
    place = load.where
    listed = f"{place.path}:{place.line}" if place.path and place.line else (place.path or "")
    drawn = ", ".join(load.drawings)

    def given(name: str, value: float, unit: str, key: str, note: str) -> Factor:
        """Return what the drawing gives, or the list for a job that is not drawn."""
        return Factor(
            name=f"{load.name}: {name}",
            value=value,
            unit=unit,
            file=drawn or listed,
            key="drawing" if drawn else key,
            note=f"{often}; {note}",
        )

    cycle = given("cycle", load.cycle_s, "s", "cycle", "machine, attended stops excluded")
    if load.cycle_at is not None:
        told = load.cycle_at
        file = f"{told.path}:{told.line}" if told.path else ""
        cycle = replace(cycle, file=file, key=told.key or "cycle")
    yield cycle
    if drawn:
        reasons = ", ".join(dict.fromkeys(s.reason for s in load.stops)) or "none"
        yield given("stops in the cycle", load.stop_s, "s", "drawing", reasons)
    price = catalogue.shop.price
    for key, note, seconds in (
        ("set-up", "once, while the machine may run another load", load.setup_s),
        ("attending", f"{price.attendance:.0%} of the cycle", load.attend_s),
    ):
        at = "price.setup" if key == "set-up" else "price.attendance"
        if seconds > 0.0:
            yield Factor(
                name=f"{load.name}: {key}",
                value=seconds,
                unit="s",
                file=catalogue.shop.file,
                key=at,
                written=raw.get((catalogue.shop.file, at), ""),
                note=f"{often}; {note}",
            )
    for name, key, each, total in (
        ("loading", "load_part", load.load_part_s, load.loading_s),
        ("unloading", "unload_part", load.unload_part_s, load.unloading_s),
    ):
        yield Factor(
            name=f"{load.name}: {name}",
            value=total,
            unit="s",
            file=machine.file,
            key=key,
            written=raw.get((machine.file, key), ""),
            note=f"{often}; {load.parts} part{'' if load.parts == 1 else 's'} × "
            f"{format_time(each)}",
        )
    yield given("parts", float(load.parts), "-", "parts", "laid down and taken off one by one")
    yield given("area", load.area_mm2, "mm2", "area", "gross of cutouts")


def _swaps(shift: Shift) -> Iterator[Factor]:
    for number, run in enumerate(shift.runs, 1):
        if run.swapped:
            yield Factor(
                name=f"tools swapped before load {number}",
                value=float(len(run.swapped)),
                unit="-",
                note=f"worn, or missing in the rack: {', '.join(run.swapped)}",
            )


def _of_person(f: ShiftFigures) -> Sequence[Factor]:
    kinds = ", ".join(f"{kind} {format_time(s)}" for kind, s in f.attended if s > 0.0)
    return (
        Factor(name="attended", value=f.attended_s, unit="s", note=f"sum of {kinds}"),
        Factor(
            name="share of the person's time",
            value=f.person_utilisation,
            unit="-",
            note=f"attended ÷ ({format_time(f.hours_s)} less breaks of {format_time(f.break_s)})",
        ),
        Factor(
            name="unattended",
            value=f.unattended_s,
            unit="s",
            note="the cycle runs and the person has no task at the machine",
        ),
        Factor(
            name="longest unattended",
            value=f.longest_unattended_s,
            unit="s",
            note="longest stretch of that, from "
            f"{format_time(f.longest_at_s)} after the beginning of the shift",
        ),
    )
