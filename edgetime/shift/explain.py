"""How the yield of a shift came about: each factor, its value, its file and key."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from edgetime.estimating.explain import Factor
from edgetime.shift.model import Shift, ShiftLoad
from edgetime.tooling.model import Catalogue, Machine, ShiftDefaults

__all__ = ["explain_shift"]

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
        ("shift.replications", "shifts simulated", float(rules.replications), "-"),
        ("shift.seed", "seed", float(rules.seed), "-"),
    ]
    if rules.zone_length_mm is not None:
        rows.insert(2, ("shift.zone_length", "length of a zone", rules.zone_length_mm, "mm"))
    if math.isfinite(rules.stoppage_every_s):
        row = ("shift.stoppage_every", "running from stoppage to stoppage", rules.stoppage_every_s)
        rows.insert(-5, (*row, "s"))
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
                key=f"--{bare.replace('_', '-')}" if replaced else key,
                written="" if replaced else raw.get((file, key), ""),
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
        out += _of_load(load, [r.load for r in shift.runs].count(load))
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


def _of_load(load: ShiftLoad, times: int) -> Sequence[Factor]:
    where = ", ".join(load.drawings)
    rows = (
        ("cycle", load.cycle_s, "s", "machine, attended stops excluded"),
        (
            "stops in the cycle",
            load.stop_s,
            "s",
            ", ".join(dict.fromkeys(s.reason for s in load.stops)),
        ),
        ("loading", load.loading_s, "s", f"{load.parts} parts"),
        ("unloading", load.unloading_s, "s", f"{load.parts} parts"),
        ("area", load.area_mm2, "mm2", "gross of cutouts"),
    )
    return [
        Factor(
            name=f"{load.name}: {name}",
            value=value,
            unit=unit,
            file=where,
            key="drawing" if where else "job list",
            note=f"{times} times; {note}" if note else f"{times} times",
        )
        for name, value, unit, note in rows
    ]
