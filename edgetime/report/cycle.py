"""The estimate: tool by tool, by part, by profile, and what stands beside the cycle."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING

from edgetime.cycle.model import Cycle
from edgetime.report.differ import edge_counts_all
from edgetime.report.document import Grid, Heading, Line, Tone
from edgetime.report.findings import cannot_run_parts, finding_parts
from edgetime.report.labour import tasks_text
from edgetime.report.quantities import format_edge, format_length, format_size, format_thickness
from edgetime.report.text import clock, length_column, length_header, share
from edgetime.report.visits import visit_parts
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.cycle import WallClock
    from edgetime.estimating import Estimate
    from edgetime.report.document import Block
    from edgetime.takeoff import DrawingTakeOff

CAUTION = (
    "An estimate, no release to run. Cut wet, keep every wheel below its marked maximum speed, "
    "guards closed, and follow the makers' instructions and your local codes."
)


def drawing_parts(drawings: Iterable[DrawingTakeOff], system: UnitSystem) -> list[Block]:
    """Return one line per drawing: its units, overall size and number of parts.

    Parameters
    ----------
    drawings : iterable of DrawingTakeOff
        In order.
    system : UnitSystem
        Units of the lengths.
    """
    parts: list[Block] = []
    for drawing in drawings:
        width, height = drawing.size_mm
        count = len(drawing.parts)
        parts.append(
            Line(
                f"Drawing    {drawing.path}: drawn in {drawing.units}, overall "
                f"{format_size(width, height, system)}, "
                f"{count} {'part' if count == 1 else 'parts'}",
                hang=11,
            )
        )
    return parts


def _head_parts(est: Estimate, system: UnitSystem) -> list[Block]:
    load = est.load
    actual = max((p.actual_mm for p in load.parts), default=load.nominal_mm)
    parts = drawing_parts(est.take_off.drawings, system)
    parts.append(
        Line(
            f"Stone      {load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal, "
            f"timed as {format_length(actual, system)} thick",
            hang=11,
        )
    )
    parts.append(Line(f"Machine    {load.machine.name}: {load.machine.title}", hang=11))
    parts.append(Line(f"Stack      {load.stack.name}: {load.stack.title}", hang=11))
    drawn = len(est.take_off.parts)
    if len(load.parts) != drawn:
        parts.append(Line(f"Parts      {len(load.parts)} on the table, {drawn} drawn", hang=11))
    if load.feed_override != 1.0:
        parts.append(Line(f"Feeds      at {100.0 * load.feed_override:g} %", hang=11))
    return parts


def _part_table(cycle: Cycle) -> list[Block]:
    paths = {p.drawing for p in cycle.parts}
    several = len(paths) > 1
    names = {path: PurePath(path).name for path in paths}
    alike = len(set(names.values())) < len(paths)
    columns = [("Part", "<"), ("Name", "<")]
    columns += [("Drawing", "<")] if several else []
    columns += [("Total", ">"), ("%", ">")]
    rows = [
        [
            part.part_id,
            part.name,
            *([part.drawing if alike else names[part.drawing]] if several else []),
            clock(part.time.total_s),
            share(part.time.total_s, cycle.total_s),
        ]
        for part in cycle.parts
    ]
    return [
        Heading("By part (shared time apportioned by each part's own time with a tool)"),
        Grid(columns, rows),
    ]


def _profile_table(cycle: Cycle, system: UnitSystem) -> list[Block]:
    unit = length_header(system)
    rows = [
        [
            row.profile,
            length_column(row.edge_mm, system),
            clock(row.time.total_s),
            share(row.time.total_s, cycle.total_s),
        ]
        for row in cycle.profiles
    ]
    return [
        Heading("By profile"),
        Grid(
            [("Profile", "<"), (f"Edge {unit}", ">"), ("Total", ">"), ("%", ">")],
            rows,
        ),
    ]


def _stop_parts(est: Estimate, wall: WallClock) -> list[Block]:
    """Return one line per attended stop, from when to when."""
    parts: list[Block] = []
    for stop, begin, end in wall.stop_times():
        row = stop.before_visit + 1
        place = f"before row {row}" if row <= len(est.cycle.visits) else "after the last tool"
        parts.append(
            Line(f"Stop       {wall.show(begin)} to {wall.show(end)}: {stop.reason}, {place}",
                 hang=11)
        )  # fmt: skip
    return parts


def _total_line(est: Estimate, wall: WallClock | None) -> Block:
    text = f"\nMachine cycle {format_time(est.cycle.total_s)}"
    if wall is not None:
        day = f"{wall.start:%Y-%m-%d} " if wall.dated else ""
        text += f": cycle start {day}{wall.show(wall.start)}, end {wall.show(wall.end)}"
        text += " with attended stops" if est.plan.stops else ""
    return Line(text, tone=Tone.STRONG)


def _beside_parts(est: Estimate, system: UnitSystem, wall: WallClock | None) -> list[Block]:
    cycle = est.cycle
    parts: list[Block] = [Heading("Beside the machine cycle")]
    parts.append(Line(f"Attended   {tasks_text(cycle.attended)}", hang=11))
    parts += [] if wall is None else _stop_parts(est, wall)
    parts.append(Line(f"Labour     {tasks_text(est.labour.by_kind)}", hang=11))
    hand = "none"
    if cycle.hand_mm > 0.0:
        hand = (
            f"{format_edge(cycle.hand_mm, system)} of edge in {len(est.paths.hand)} "
            f"{'place' if len(est.paths.hand) == 1 else 'places'} no finishing tool reaches"
        )
    parts.append(Line(f"By hand    {hand}", hang=11))
    for profile, length_mm in est.plan.elsewhere_mm.items():
        parts.append(
            Line(
                f"Elsewhere  {format_edge(length_mm, system)} {profile}, made elsewhere: "
                "listed, not timed",
                hang=11,
            )
        )
    return parts


def estimate_parts(
    est: Estimate,
    system: UnitSystem,
    extra: Sequence[Block] = (),
    wall: WallClock | None = None,
) -> list[Block]:
    """Return the screen of an estimate.

    Parameters
    ----------
    est : Estimate
        What to show.
    system : UnitSystem
        Units of lengths.
    extra : sequence of blocks
        Sections asked for beside it; they stand before the findings.
    wall : WallClock, optional
        To show times of day.

    Returns
    -------
    list of blocks
        Head, total, tools, parts, profiles, what stands beside the cycle, findings, caution.
    """
    cycle = est.cycle
    return [
        *cannot_run_parts(est.findings, system),
        *_head_parts(est, system),
        _total_line(est, wall),
        *visit_parts(cycle, wall),
        *_part_table(cycle),
        *_profile_table(cycle, system),
        *edge_counts_all(est),
        *_beside_parts(est, system, wall),
        *extra,
        *finding_parts(est.findings, system),
        Line(f"\n{CAUTION}"),
    ]
