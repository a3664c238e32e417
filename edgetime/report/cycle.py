"""The estimate: tool by tool, by part, by profile, and what stands beside the cycle."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING

from edgetime.cycle.model import Cycle, Visit
from edgetime.report.findings import finding_parts
from edgetime.report.screen import heading, line, table
from edgetime.report.text import clock, length_column, length_header, share
from edgetime.units import UnitSystem, format_length, format_time

if TYPE_CHECKING:
    from rich.console import RenderableType

    from edgetime.estimating import Estimate
    from edgetime.takeoff import DrawingTakeOff

__all__ = ["CAUTION", "drawing_parts", "estimate_parts", "visit_rows"]

CAUTION = (
    "An estimate, no release to run. Cut wet, keep every wheel below its marked maximum speed, "
    "guards closed, and follow the makers' instructions and your local codes."
)

WIDEST_NAME = 22
"""Tool names up to this length stand on one line at 80 columns."""

_VISIT_COLUMNS = (
    ("#", ">"),
    ("Tool", "<"),
    ("Start", ">"),
    ("Change", ">"),
    ("Cut", ">"),
    ("Lead", ">"),
    ("Plunge", ">"),
    ("Rapid", ">"),
    ("Dwell", ">"),
    ("Total", ">"),
    ("%", ">"),
)


def drawing_parts(drawings: Iterable[DrawingTakeOff], system: UnitSystem) -> list[RenderableType]:
    """Return one line per drawing: its units, overall size and number of parts.

    Parameters
    ----------
    drawings : iterable of DrawingTakeOff
        In order.
    system : UnitSystem
        Units of the lengths.
    """
    parts: list[RenderableType] = []
    for drawing in drawings:
        width, height = drawing.size_mm
        count = len(drawing.parts)
        parts.append(
            line(
                f"Drawing    {drawing.path}: drawn in {drawing.units}, overall "
                f"{format_length(width, system)} x {format_length(height, system)}, "
                f"{count} {'part' if count == 1 else 'parts'}",
                hang=11,
            )
        )
    return parts


def _shown(visit: Visit) -> str:
    name = visit.piece
    if len(name) > WIDEST_NAME:
        # A name that must be broken is broken between tool and profile.
        name = name.replace("/", "/ ", 1)
    return f"{name} (turned)" if visit.side else name


def visit_rows(visits: Sequence[Visit], total_s: float) -> list[list[object]]:
    """Return the cells of the per-tool table, one row per visit.

    Parameters
    ----------
    visits : sequence of Visit
        In running order.
    total_s : float
        Time of the whole cycle [s].
    """
    rows: list[list[object]] = []
    for number, visit in enumerate(visits, 1):
        time = visit.time
        rows.append(
            [
                number,
                _shown(visit),
                clock(visit.starts_s) if visit.starts_s > 0.0 else "0:00",
                clock(time.change_s),
                clock(time.cut_s),
                clock(time.lead_s),
                clock(time.plunge_s),
                clock(time.rapid_s),
                clock(time.dwell_s),
                clock(time.total_s),
                share(time.total_s, total_s),
            ]
        )
    return rows


def _visit_total(cycle: Cycle) -> list[object]:
    times = [visit.time for visit in cycle.visits]
    return [
        "",
        "Total",
        "",
        clock(sum(t.change_s for t in times)),
        clock(sum(t.cut_s for t in times)),
        clock(sum(t.lead_s for t in times)),
        clock(sum(t.plunge_s for t in times)),
        clock(sum(t.rapid_s for t in times)),
        clock(sum(t.dwell_s for t in times)),
        clock(cycle.total_s),
        share(cycle.total_s, cycle.total_s),
    ]


def visit_parts(cycle: Cycle) -> list[RenderableType]:
    """Return the per-tool table with its heading."""
    return [
        heading("Tool by tool, in running order (min:s)"),
        table(
            _VISIT_COLUMNS,
            visit_rows(cycle.visits, cycle.total_s),
            total=_visit_total(cycle),
        ),
    ]


def _head_parts(est: Estimate, system: UnitSystem) -> list[RenderableType]:
    load = est.load
    actual = max((p.actual_mm for p in load.parts), default=load.nominal_mm)
    parts = drawing_parts(est.take_off.drawings, system)
    parts.append(
        line(
            f"Stone      {load.stone.title}, {format_length(load.nominal_mm, system)} nominal, "
            f"{format_length(actual, system)} reckoned with",
            hang=11,
        )
    )
    parts.append(line(f"Machine    {load.machine.name}: {load.machine.title}", hang=11))
    parts.append(line(f"Stack      {load.stack.name}: {load.stack.title}", hang=11))
    if load.feed_override != 1.0:
        parts.append(line(f"Feeds      at {100.0 * load.feed_override:g} %", hang=11))
    return parts


def _part_table(cycle: Cycle) -> list[RenderableType]:
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
        heading("By part (shared time apportioned by each part's own time with a tool)"),
        table(columns, rows),
    ]


def _profile_table(cycle: Cycle, system: UnitSystem) -> list[RenderableType]:
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
        heading("By profile"),
        table(
            [("Profile", "<"), (f"Edge {unit}", ">"), ("Total", ">"), ("%", ">")],
            rows,
        ),
    ]


def _beside_parts(est: Estimate, system: UnitSystem) -> list[RenderableType]:
    cycle = est.cycle
    parts: list[RenderableType] = [heading("Beside the machine cycle")]
    pieces = ", ".join(f"{name} {clock(seconds)}" for name, seconds in cycle.attended if seconds)
    attended = (
        f"Attended   {format_time(cycle.attended_s)}" if cycle.attended_s else "Attended   none"
    )
    parts.append(line(f"{attended}: {pieces}" if pieces else attended, hang=11))
    hand = "none"
    if cycle.hand_mm > 0.0:
        hand = (
            f"{format_length(cycle.hand_mm, system)} of edge in {len(est.paths.hand)} "
            f"{'place' if len(est.paths.hand) == 1 else 'places'} no finishing tool reaches"
        )
    parts.append(line(f"By hand    {hand}", hang=11))
    for profile, length_mm in est.plan.elsewhere_mm.items():
        parts.append(
            line(
                f"Elsewhere  {format_length(length_mm, system)} {profile}, made elsewhere: "
                "listed, not timed",
                hang=11,
            )
        )
    return parts


def estimate_parts(
    est: Estimate, system: UnitSystem, extra: Sequence[RenderableType] = ()
) -> list[RenderableType]:
    """Return the screen of an estimate.

    Parameters
    ----------
    est : Estimate
        What to show.
    system : UnitSystem
        Units of lengths.
    extra : sequence of rich renderables
        Sections asked for beside it; they stand before the findings.

    Returns
    -------
    list of rich renderables
        Head, total, tools, parts, profiles, what stands beside the cycle, findings, caution.
    """
    cycle = est.cycle
    return [
        *_head_parts(est, system),
        line(f"\nMachine cycle {format_time(cycle.total_s)}", style="bold"),
        *visit_parts(cycle),
        *_part_table(cycle),
        *_profile_table(cycle, system),
        *_beside_parts(est, system),
        *extra,
        *finding_parts(est.findings),
        line(f"\n{CAUTION}"),
    ]
