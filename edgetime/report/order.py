"""The order of work: which part and run each tool is at, from when to when."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from edgetime.cycle.order import CHANGE, RETURN, OrderRow
from edgetime.report.columns import CLOCK, COUNT, EDGE, PLACE, TEXT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.text import clock
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.cycle import WallClock

_SUMS = "The rows of each tool add up to its time in the tool table."


def clock_columns(
    wall: WallClock, name: str, title: str, at: Callable[[Any], datetime]
) -> tuple[Column[Any], ...]:
    """Return the columns of a time of day: its text, and the days since cycle start.

    Parameters
    ----------
    wall : WallClock
        With the time of cycle start.
    name : str
        What the keys begin with: ``starts`` for ``starts_at`` and ``starts_day``.
    title : str
        Heading on the screen.
    at : callable
        Gets the moment from a row.
    """
    return (
        Column(key=f"{name}_at", get=lambda row: wall.iso(at(row))),
        Column(key=f"{name}_day", unit=COUNT, get=lambda row: wall.day(at(row))),
        Column(heading=title, unit=TEXT, get=at, show=lambda moment, _: wall.show(moment)),
    )


def _what(row: OrderRow) -> str:
    if row.kind == CHANGE:
        turned = " (turned)" if row.side else ""
        return f"{row.visit} {row.piece}{turned}: change and waits"
    if row.kind == RETURN:
        return "  back to the rack"
    run = dict.fromkeys(word for word in (row.place, row.profile) if word)
    return f"  {row.part_id} {row.name}: {', '.join(run)}"


def _clock(value: float, _: UnitSystem) -> str:
    return clock(value) if value > 0.0 else "0:00"


def order_sheet(wall: WallClock | None = None) -> Sheet[OrderRow]:
    """Return the columns of the order of work."""
    starts: tuple[Column[OrderRow], ...] = (
        Column(key="starts_s", heading="" if wall else "From", unit=CLOCK, show=_clock),
        Column(key="ends_s", heading="" if wall else "To", unit=CLOCK, show=_clock),
    )  # fmt: skip
    if wall is not None:
        starts += clock_columns(wall, "starts", "From", lambda r: wall.at(r.visit - 1, r.starts_s))
        starts += clock_columns(wall, "ends", "To", lambda r: wall.at(r.visit - 1, r.ends_s))
    return Sheet(
        (
            Column(key="number", heading="#", unit=COUNT),
            Column(heading="Tool, part and run", get=_what),
            Column(key="visit", unit=COUNT),
            Column(key="tool"),
            Column(key="piece"),
            Column(key="operation"),
            Column(key="side", unit=COUNT),
            Column(key="kind"),
            Column(key="part_id"),
            Column(key="name"),
            Column(key="place"),
            Column(key="profile"),
            Column(heading="Pass", unit=COUNT, get=lambda r: r.passes and f"{r.pass_number}/{r.passes}",
                   show=lambda value, _: value),
            Column(key="pass", unit=COUNT, get=lambda r: r.pass_number),
            Column(key="passes", unit=COUNT),
            *starts,
            Column(key="total_s", heading="Time", unit=CLOCK),
            Column(key="travel_s", unit=CLOCK),
            Column(key="edge_mm", heading="Edge", unit=EDGE),
            Column(key="x_mm", heading="X", unit=PLACE),
            Column(key="y_mm", heading="Y", unit=PLACE),
        )
    )  # fmt: skip


def order_parts(rows: Sequence[OrderRow], wall: WallClock | None = None) -> list[Block]:
    """Return the section on the order of work."""
    unit = "time of day" if wall is not None else "min:s"
    return [
        Heading(f"Order of work ({unit}; X, Y: tool centre where the cut starts)"),
        Table(order_sheet(wall), rows),
        Line(_SUMS),
    ]
