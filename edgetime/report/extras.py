"""What can be asked for beside an estimate: sensitivity, time left after a stop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from edgetime.report.columns import CLOCK, TEXT, Column, Sheet, Unit
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.text import figure, signed_clock
from edgetime.units import format_time

if TYPE_CHECKING:
    from edgetime.estimating import Effect
    from edgetime.estimating.resume import Left, Resume

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
    """Return the section on the time left after a stop."""
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
