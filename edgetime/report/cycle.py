"""The estimate: tool by tool, by part, by profile, and what is beside the cycle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from edgetime.cycle.timeline import Cycle, PartTime, ProfileTime
from edgetime.report.columns import CLOCK, EDGE, PERCENT, Column, Sheet
from edgetime.report.differ import edge_counts_all
from edgetime.report.document import Block, Fact, Heading, Line, Table, Tone
from edgetime.report.explained import EXPLAINED, explained_blocks
from edgetime.report.extras import EFFECTS, LEFT, resume_parts, sensitivity_parts
from edgetime.report.findings import cannot_run_parts, finding_parts
from edgetime.report.labour import tasks_text
from edgetime.report.order import order_parts, order_sheet
from edgetime.report.quantities import format_edge, format_length, format_size, format_thickness
from edgetime.report.text import count
from edgetime.report.visits import numbered, visit_parts, visit_sheet
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.cycle import WallClock
    from edgetime.estimating import Answer, Estimate
    from edgetime.takeoff import DrawingTakeOff

CAUTION = (
    "An estimate, not a release to run. Cut wet, keep every wheel below its marked maximum speed, "
    "guards closed, and follow the makers' instructions and your local codes."
)


def drawing_parts(drawings: Iterable[DrawingTakeOff], system: UnitSystem) -> list[Block]:
    """Return one fact per drawing: its units, overall size and number of parts."""
    return [
        Fact(
            "Drawing",
            f"{drawing.path}: units {drawing.units}, {format_size(*drawing.size_mm, system)} "
            f"overall, {count(len(drawing.parts), 'part')}",
        )
        for drawing in drawings
    ]


def _head_parts(est: Estimate, system: UnitSystem) -> Iterator[Block]:
    load = est.load
    yield from drawing_parts(est.take_off.drawings, system)
    yield Fact(
        "Stone",
        f"{load.stone.title}, {format_thickness(load.nominal_mm, system)} nominal, timed as "
        f"{format_length(load.thickest_mm, system)} thick",
    )
    yield Fact("Machine", f"{load.machine.name}: {load.machine.title}")
    yield Fact("Stack", f"{load.stack.name}: {load.stack.title}")
    drawn = len(est.take_off.parts)
    if len(load.parts) != drawn:
        yield Fact("Parts", f"{len(load.parts)} on the table, {drawn} drawn")
    if load.feed_override != 1.0:
        yield Fact("Feeds", f"at {100.0 * load.feed_override:g} %")


def _timed_columns(total_s: float) -> tuple[Column[Any], ...]:
    """Return a row's time and its share of the cycle."""
    return (
        Column(key="total_s", heading="Total", unit=CLOCK, get=lambda row: row.time.total_s),
        Column(heading="%", unit=PERCENT, get=lambda row: row.time.total_s / total_s),
    )  # fmt: skip


def _part_table(cycle: Cycle) -> list[Block]:
    paths = {p.drawing for p in cycle.parts}
    names = {path: PurePath(path).name for path in paths}
    alike = len(set(names.values())) < len(paths)
    sheet = Sheet[PartTime](
        (
            Column(key="part_id", heading="Part"),
            Column(key="name", heading="Name"),
            Column(
                key="drawing",
                heading="Drawing" if len(paths) > 1 else "",
                show=lambda path, _: path if alike else names[path],
            ),
            *_timed_columns(cycle.total_s),
        )
    )
    return [
        Heading("By part (shared time apportioned by each part's own time with a tool)"),
        Table(sheet, cycle.parts, name="parts"),
    ]


def _profile_table(cycle: Cycle) -> list[Block]:
    sheet = Sheet[ProfileTime](
        (
            Column(key="profile", heading="Profile"),
            Column(key="edge_mm", heading="Edge", unit=EDGE),
            *_timed_columns(cycle.total_s),
        )
    )
    return [Heading("By profile"), Table(sheet, cycle.profiles, name="profiles")]


def _stop_parts(est: Estimate, wall: WallClock) -> Iterator[Block]:
    """Yield one fact per attended stop, from when to when."""
    for stop, begin, end in wall.stop_times():
        row = stop.before_visit + 1
        place = f"before row {row}" if row <= len(est.cycle.visits) else "after the last tool"
        yield Fact("Stop", f"{wall.show(begin)} to {wall.show(end)}: {stop.reason}, {place}")


def _total_line(est: Estimate, wall: WallClock | None) -> Block:
    text = f"\nMachine cycle {format_time(est.cycle.total_s)}"
    if wall is not None:
        day = f"{wall.start:%Y-%m-%d} " if wall.dated else ""
        text += f": cycle start {day}{wall.show(wall.start)}, end {wall.show(wall.end)}"
        text += " with attended stops" if est.plan.stops else ""
    return Line(text, tone=Tone.STRONG)


def _beside_parts(est: Estimate, system: UnitSystem, wall: WallClock | None) -> Iterator[Block]:
    cycle = est.cycle
    yield Heading("Beside the machine cycle")
    yield Fact("Handling", tasks_text(cycle.attended))
    if wall is not None:
        yield from _stop_parts(est, wall)
    yield Fact("Labour", tasks_text(est.labour.by_kind))
    hand = "none"
    if cycle.hand_mm > 0.0:
        hand = (
            f"{format_edge(cycle.hand_mm, system)} of edge in "
            f"{count(len(est.paths.hand), 'place')} that no finishing tool reaches"
        )
    yield Fact("By hand", hand)
    for profile, length_mm in est.plan.elsewhere_mm.items():
        yield Fact(
            "Elsewhere",
            f"{format_edge(length_mm, system)} {profile}, made elsewhere: listed, not timed",
        )


def estimate_parts(
    est: Estimate,
    system: UnitSystem,
    extra: Sequence[Block] = (),
    wall: WallClock | None = None,
) -> list[Block]:
    """Return the screen of an estimate.

    Returns
    -------
    list of blocks
        Head, total, tools, parts, profiles, what is beside the cycle, findings, caution.
    """
    cycle = est.cycle
    return [
        *cannot_run_parts(est.findings, system),
        *_head_parts(est, system),
        _total_line(est, wall),
        *visit_parts(cycle, wall),
        *_part_table(cycle),
        *_profile_table(cycle),
        *edge_counts_all(est),
        *_beside_parts(est, system, wall),
        *extra,
        *finding_parts(est.findings, system),
        Line(f"\n{CAUTION}"),
    ]


def answer_table(found: Answer, wall: WallClock | None = None) -> Table[Any]:
    """Return the one table of an answer that goes into a CSV file."""
    if found.wear is not None:
        from edgetime.report.wear import wear_sheet  # noqa: PLC0415  only when asked for

        return Table(wear_sheet(found.wear), found.wear.tools)
    if found.runs is not None:
        return Table(order_sheet(wall), found.runs)
    if found.explain is not None:
        return Table(EXPLAINED, found.explain.factors)
    if found.sensitivity is not None:
        return Table(EFFECTS, found.sensitivity)
    if found.resume is not None:
        return Table(LEFT, found.resume.visits)
    cycle = found.estimate.cycle
    return Table(visit_sheet(cycle.total_s, wall), numbered(cycle))


def answer_parts(found: Answer, system: UnitSystem, wall: WallClock | None = None) -> list[Block]:
    """Return the screen of an estimate with what was asked beside it."""
    est = found.estimate
    extra: list[Block] = []
    if found.runs is not None:
        extra += order_parts(found.runs, wall)
    if found.explain is not None:
        title = f"How the time of {found.explain.tool} was calculated"
        extra += explained_blocks(title, found.explain.factors)
    if found.sensitivity is not None:
        extra += sensitivity_parts(found.sensitivity, est.cycle.total_s)
    if found.resume is not None:
        extra += resume_parts(found.resume)
    if found.wear is not None:
        from edgetime.report.wear import wear_parts  # noqa: PLC0415  only when asked for

        extra += wear_parts(found.wear, system)
    return estimate_parts(est, system, extra, wall)
