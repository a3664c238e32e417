"""The estimate tool by tool, one row for each stay in the spindle."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from edgetime.cycle.timeline import Cycle, Flow, Visit
from edgetime.report.columns import CLOCK, COUNT, EDGE, PERCENT, VOLUME, Column, Sheet
from edgetime.report.document import Block, Heading, Table
from edgetime.report.order import clock_columns
from edgetime.report.text import clock
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.cycle import WallClock

WIDEST_NAME = 22
"""Tool names up to this length fit on one line at 80 columns."""

WIDEST_BY_THE_CLOCK = 20
"""As ``WIDEST_NAME``, beside a time of day, which is wider than minutes and seconds."""

WIDEST_PAST_MIDNIGHT = 17
"""As ``WIDEST_NAME``, where times of day end with ``+1``."""

Row = tuple[int, Visit]
"""Number of a visit, from 1, and the visit."""

_Columns = tuple[Column[Row], ...]


def numbered(cycle: Cycle) -> list[Row]:
    """Return the visits of a cycle with their numbers, as :func:`visit_sheet` takes them."""
    return list(enumerate(cycle.visits, 1))


def _shown(row: Row, widest: int) -> str:
    visit = row[1]
    name = visit.piece
    if len(name) > widest:
        # A name that must be broken is broken between tool and profile.
        name = name.replace("/", "/ ", 1)
    return f"{name} (turned)" if visit.side else name


def _start(value: float, _: UnitSystem) -> str:
    return clock(value) if value > 0.0 else "0:00"


def _term(
    key: str, title: str, get: Callable[[Flow], float], formula: str = ""
) -> tuple[Column[Row], Column[Row]]:
    """Return a column of seconds for files and one for the screen, which differ in order."""
    return (
        Column(key=key, unit=CLOCK, get=lambda row: get(row[1].time)),
        Column(
            heading=title,
            unit=CLOCK,
            get=lambda row: get(row[1].time),
            total=lambda rows: sum(get(visit.time) for _, visit in rows),
            formula=formula,
        ),
    )


def _starts(wall: WallClock | None) -> _Columns:
    machine: _Columns = (
        Column(key="starts_s", heading="" if wall else "Start", unit=CLOCK, show=_start,
               get=lambda row: row[1].starts_s),
    )  # fmt: skip
    if wall is None:
        return machine
    return machine + clock_columns(
        wall, "starts", "Start", lambda row: wall.at(row[0] - 1, row[1].starts_s)
    )


def visit_sheet(total_s: float, wall: WallClock | None = None) -> Sheet[Row]:
    """Return the columns of the table tool by tool.

    Parameters
    ----------
    total_s : float
        Time of the whole cycle [s].
    wall : WallClock, optional
        Adds the times of day; on the screen they replace the machine's clock.
    """
    widest = WIDEST_NAME
    if wall is not None:
        over = wall.end.date() > wall.start.date()
        widest = WIDEST_PAST_MIDNIGHT if over else WIDEST_BY_THE_CLOCK
    change, cut, plunge, lead, rapid, dwell, total = (
        _term("change_s", "Change", lambda t: t.change_s),
        _term("cut_s", "Cut", lambda t: t.cut_s),
        _term("plunge_s", "Plunge", lambda t: t.plunge_s),
        _term("lead_s", "Lead", lambda t: t.lead_s),
        _term("rapid_s", "Rapid", lambda t: t.rapid_s),
        _term("dwell_s", "Dwell", lambda t: t.dwell_s),
        _term(
            "total_s",
            "Total",
            lambda t: t.total_s,
            "change + cut + lead + plunge + rapid + dwell",
        ),
    )
    return Sheet(
        (
            Column(key="row", heading="#", unit=COUNT, get=lambda row: row[0]),
            Column(heading="Tool", get=lambda row: _shown(row, widest), total=lambda _: "Total"),
            Column(key="tool", get=lambda row: row[1].tool),
            Column(key="piece", get=lambda row: row[1].piece),
            Column(key="operation", get=lambda row: row[1].operation),
            Column(key="pocket", unit=COUNT, get=lambda row: row[1].pocket),
            Column(key="side", unit=COUNT, get=lambda row: row[1].side),
            *_starts(wall),
            *(files for files, _ in (change, cut, plunge, lead, rapid, dwell, total)),
            *(screen for _, screen in (change, cut, lead, plunge, rapid, dwell, total)),
            Column(heading="%", unit=PERCENT, get=lambda row: row[1].time.total_s / total_s,
                   total=lambda _: 1.0, formula="total / sum(visits.total)"),
            Column(key="passes", unit=COUNT, get=lambda row: row[1].passes),
            Column(key="treated_mm", unit=EDGE, get=lambda row: row[1].treated_mm),
            Column(key="edge_mm", unit=EDGE, get=lambda row: row[1].edge_mm),
            Column(key="pass_edge_mm", unit=EDGE, get=lambda row: row[1].pass_edge_mm),
            Column(key="cut_path_mm", unit=EDGE, get=lambda row: row[1].cut_path_mm),
            Column(key="volume_mm3", unit=VOLUME, get=lambda row: row[1].volume_mm3),
        )
    )  # fmt: skip


def visit_parts(cycle: Cycle, wall: WallClock | None = None) -> Sequence[Block]:
    """Return the table tool by tool with its heading."""
    note = "min:s; Start is the time of day" if wall is not None else "min:s"
    return [
        Heading(f"Tool by tool, in running order ({note})"),
        Table(visit_sheet(cycle.total_s, wall), numbered(cycle), name="visits"),
    ]
