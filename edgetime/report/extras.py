"""What is asked for beside an estimate: explanation, sensitivity, time left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.report.areas import area_text, area_unit
from edgetime.report.document import Grid, Heading, Line
from edgetime.report.quantities import format_edge, format_speed
from edgetime.report.text import clock, figure, signed_clock
from edgetime.report.wording import in_units
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Effect
    from edgetime.estimating.factors import Factor
    from edgetime.estimating.resume import Resume
    from edgetime.report.document import Block

_M2 = {"mm2": 1.0, "m2": 1e6}


def _value(factor: Factor, system: UnitSystem, *, as_tables: bool) -> str:
    if as_tables and factor.unit == "s":
        return format_time(factor.value)
    if as_tables and factor.unit in _M2:
        return f"{area_text(factor.value * _M2[factor.unit], system)} {area_unit(system)}"
    if factor.unit == "mm":
        return format_edge(factor.value, system)
    if factor.unit == "mm/s":
        return format_speed(factor.value, system)
    unit = "" if factor.unit == "-" else f" {factor.unit}"
    # Beside figures in the tables' units more digits than these tell nothing.
    value = float(f"{factor.value:.3g}") if as_tables and abs(factor.value) < 1.0 else factor.value
    return f"{figure(value)}{unit}"


def explain_parts(
    tool: str, factors: Sequence[Factor], system: UnitSystem, *, as_tables: bool = False
) -> list[Block]:
    """Return the section on how one tool's time came about.

    Parameters
    ----------
    tool : str
        As asked for.
    factors : sequence of Factor
        Those with seconds add up to the tool's total.
    system : UnitSystem
        Units of lengths and feeds.
    as_tables : bool
        Write times in hours and minutes and areas in square metres or feet, as the tables of
        long times do, instead of seconds and square millimetres.
    """
    seconds = format_time if as_tables else "{:.1f}".format
    parts: list[Block] = [
        Heading(f"How the time of {tool} comes about"),
        Grid(
            [("Factor", "<"), ("Value", ">"), ("How", "<")],
            [
                [f.name, _value(f, system, as_tables=as_tables), in_units(f.note, system)]
                for f in factors
                if f.seconds is None
            ],
        ),
    ]
    timed = [f for f in factors if f.seconds is not None]
    parts += [
        Heading("which makes"),
        Grid(
            [("Term", "<"), ("Time" if as_tables else "Seconds", ">"), ("How", "<")],
            [[f.name, seconds(f.seconds or 0.0), in_units(f.note, system)] for f in timed],
            total=["Total", seconds(sum(f.seconds or 0.0 for f in timed)), ""],
        ),
        Heading("Where the figures stand"),
    ]
    for factor in factors:
        source = ", ".join(bit for bit in (factor.file, factor.key) if bit)
        if source:
            written = f' = "{factor.written}"' if factor.written else ""
            parts.append(Line(f"{factor.name}: {source}{written}", indent=2, hang=4))
    return parts


def _change(delta_s: float | None) -> str:
    return "no plan" if delta_s is None else signed_clock(delta_s)


def sensitivity_parts(effects: Sequence[Effect], total_s: float) -> list[Block]:
    """Return the section on the assumptions that move the total most.

    Parameters
    ----------
    effects : sequence of Effect
        The greatest swing first.
    total_s : float
        Machine cycle as assumed [s].
    """
    parts: list[Block] = [
        Heading(f"What moves the total of {format_time(total_s)} most"),
        Grid(
            [
                ("Assumption", "<"),
                ("Low", ">"),
                ("Change", ">"),
                ("High", ">"),
                ("Change", ">"),
            ],
            [
                [
                    e.assumption,
                    f"x {figure(e.low_factor)}",
                    _change(e.low_delta_s),
                    f"x {figure(e.high_factor)}",
                    _change(e.high_delta_s),
                ]
                for e in effects
            ],
        ),
    ]
    reasons = [
        Line(f"{e.assumption}: {e.reason} ({e.file}, {e.key})", indent=2, hang=4) for e in effects
    ]
    return [*parts, *reasons]


def resume_parts(asked: str, rest: Resume) -> list[Block]:
    """Return the section on the time left after a stop.

    Parameters
    ----------
    asked : str
        As given with the option.
    rest : Resume
        What is left.
    """
    place = f", from part {rest.part_id}, {rest.place} on" if rest.part_id is not None else ""
    return [
        Heading(f"Started again at {asked}: {format_time(rest.left_s)} left"),
        Line(
            f"Row {rest.row + 1} of the table of tools, row {rest.number} of the order of work "
            f"({rest.tool}, {rest.operation}{place}); {format_time(rest.done_s)} need not run "
            "again. The tool is fetched anew.",
        ),
        Grid(
            [("Tool", "<"), ("Operation", "<"), ("Left", ">")],
            [[tool, operation, clock(left)] for tool, operation, left in rest.visits],
            total=["Total", "", clock(rest.left_s)],
        ),
    ]
