"""What can be asked for beside an estimate: sensitivity, time left after a stop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from edgetime.report.areas import area_text, area_unit
from edgetime.report.columns import CLOCK, TEXT, Column, Sheet, Unit
from edgetime.report.document import Grid, Heading, Line, Table
from edgetime.report.quantities import format_edge, format_speed
from edgetime.report.text import figure, signed_clock
from edgetime.report.wording import in_units
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Effect
    from edgetime.estimating.factors import Factor
    from edgetime.estimating.resume import Left, Resume
    from edgetime.report.document import Block

_FACTOR: Final = Unit("", lambda value, _: f"x {figure(value)}")
_CHANGE: Final = Unit(
    "_s", lambda delta, _: "no plan" if delta[0] is None else signed_clock(delta[0])
)


def _change(key: str) -> tuple[Column[Effect], Column[Effect]]:
    """Return a change of the total for files, and for the screen, which has words for none."""
    return (
        Column(key=key, unit=CLOCK),
        Column(heading="Change", unit=_CHANGE, get=lambda e: (getattr(e, key),)),
    )


EFFECTS: Final[Sheet[Effect]] = Sheet(
    (
        Column(key="assumption", heading="Assumption"),
        Column(key="low_factor", heading="Low", unit=_FACTOR),
        *_change("low_delta_s"),
        Column(key="high_factor", heading="High", unit=_FACTOR),
        *_change("high_delta_s"),
        Column(key="file"),
        Column(key="key"),
        Column(key="reason", unit=TEXT),
    )
)
"""Assumptions and how far they move the total."""

LEFT: Final[Sheet[Left]] = Sheet(
    (
        Column(key="tool", heading="Tool", total=lambda _: "Total"),
        Column(key="operation", heading="Operation"),
        Column(
            key="left_s", heading="Left", unit=CLOCK, total=lambda rows: sum(r.left_s for r in rows)
        ),
    )
)
"""What is left of each visit of a tool after a stop."""


def sensitivity_parts(effects: Sequence[Effect], total_s: float) -> list[Block]:
    """Return the section on the assumptions that move the total most.

    Parameters
    ----------
    effects : sequence of Effect
        The greatest swing first.
    total_s : float
        Machine cycle as assumed [s].
    """
    return [
        Heading(f"Largest effects on the machine cycle of {format_time(total_s)}"),
        Table(EFFECTS, effects, name="sensitivity"),
        *(
            Line(f"{e.assumption}: {e.reason} ({e.file}, {e.key})", indent=2, hang=4)
            for e in effects
        ),
    ]


def resume_parts(rest: Resume) -> list[Block]:
    """Return the section on the time left after a stop.

    Parameters
    ----------
    rest : Resume
        What is left.
    """
    place = f", from part {rest.part_id}, {rest.place} on" if rest.part_id is not None else ""
    return [
        Heading(f"Time left after a restart: {format_time(rest.left_s)}"),
        Line(
            f"From row {rest.row + 1} of the tool table, row {rest.number} of the order of work "
            f"({rest.tool}, {rest.operation}{place}); {format_time(rest.done_s)} need not run "
            "again. The tool is fetched again.",
        ),
        Table(LEFT, rest.visits, name="left"),
    ]


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
