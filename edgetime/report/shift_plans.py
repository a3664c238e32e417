"""The choice of loads for a shift, the order of the loads, and what goes on the table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from edgetime.report.areas import area_text, area_unit
from edgetime.report.document import Grid, Heading, Line
from edgetime.report.quantities import format_length, format_size
from edgetime.report.text import NONE, clock
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.report.document import Block
    from edgetime.shift import Filling, Fit, PocketPlan, ShiftLoad

FIT_HEADER = (
    "row",
    "load",
    "due",
    "ready_s",
    "cycle_s",
    "parts",
    "area_mm2",
    "runs",
    "late",
    "due_value_m2",
    "due_bound_m2",
    "value_m2",
    "bound_m2",
    "optimal",
)
"""Columns of the CSV form with ``--fit``, one row per waiting load."""

POCKET_HEADER = ("row", "load", "listed", "inserted", "swaps", "as_given", "bound", "pockets")
"""Columns of the CSV form with ``--pocket-plan``, one row per load in its order."""

FILLING_HEADER = (
    "row",
    "load",
    "kind",
    "job",
    "part_id",
    "name",
    "area_mm2",
    "claim_mm2",
    "filled",
    "at_least_loads",
    "gap_mm",
)
"""Columns of the CSV form with ``--table-filling``, one row per part."""


def fit_rows(fit: Fit, loads: Sequence[ShiftLoad]) -> list[list[object]]:
    """Return the rows of the CSV form of a choice.

    Parameters
    ----------
    fit : Fit
        The choice.
    loads : sequence of ShiftLoad
        Those that wait.

    Returns
    -------
    list of list
        As :data:`FIT_HEADER`: ``runs`` is the place in the order, empty when not chosen; value
        and bound are of the whole choice, alike in every row.
    """
    place = {i: n for n, i in enumerate(fit.chosen, 1)}
    return [
        [
            number,
            x.name,
            None if x.due is None else x.due.isoformat(),
            x.ready_s,
            x.cycle_s,
            x.parts,
            x.area_mm2,
            place.get(number - 1),
            int(number - 1 in fit.late),
            fit.due_value,
            fit.due_bound,
            fit.value,
            fit.bound,
            int(fit.optimal),
        ]
        for number, x in enumerate(loads, 1)
    ]


def pocket_rows(plan: PocketPlan, loads: Sequence[ShiftLoad]) -> list[list[object]]:
    """Return the rows of the CSV form of a pocket plan.

    Parameters
    ----------
    plan : PocketPlan
        The order.
    loads : sequence of ShiftLoad
        As given.

    Returns
    -------
    list of list
        As :data:`POCKET_HEADER`: ``listed`` is the place as given; the last four are of the
        whole order, alike in every row.
    """
    return [
        [
            number,
            loads[i].name,
            i + 1,
            " ".join(put),
            plan.swaps,
            plan.as_given,
            plan.bound,
            plan.pockets,
        ]
        for number, (i, put) in enumerate(zip(plan.order, plan.inserted, strict=True), 1)
    ]


def filling_rows(filling: Filling) -> list[list[object]]:
    """Return the rows of the CSV form of a table filling.

    Parameters
    ----------
    filling : Filling
        The loads.

    Returns
    -------
    list of list
        As :data:`FILLING_HEADER`: ``load`` numbers the table's loads, ``filled`` is of one;
        the last two are alike in every row.
    """
    parts = [(n, x, p) for n, x in enumerate(filling.loads, 1) for p in x.parts]
    return [
        [
            row,
            number,
            p.kind,
            p.job,
            p.part_id,
            p.name,
            p.area_mm2,
            p.claim_mm2,
            load.filled,
            filling.at_least,
            filling.gap_mm,
        ]
        for row, (number, load, p) in enumerate(parts, 1)
    ]


_OTHER_ORDER = "They run in the order of the plan; by due date they would not be done in time."


def _proved(fit: Fit) -> str:
    """Say what is known of better choices."""
    if fit.optimal:
        return "No other choice, in whatever order, is better."
    out = ["That no choice is better is not proved."]
    if fit.due_gap is None:
        out.append(f"Of what is due, none has more than {fit.due_bound:.2f} m²; this one has none.")
    elif fit.due_gap > 0.0:
        out.append(f"Of what is due, none has over {100.0 * fit.due_gap:.1f} % more area.")
    if fit.gap > 0.0:
        out.append(
            f"Weighted by urgency, none with as much that is due has over {100.0 * fit.gap:.1f} % "
            "more."
        )
    return " ".join(out)


def fit_parts(fit: Fit, loads: Sequence[ShiftLoad], system: UnitSystem) -> list[Block]:
    """Return the section on which waiting loads were chosen.

    Parameters
    ----------
    fit : Fit
        The choice.
    loads : sequence of ShiftLoad
        Those that wait.
    system : UnitSystem
        Units of areas.
    """
    chosen = set(fit.chosen)
    return [
        Heading(f"Chosen: {len(chosen)} of {len(loads)} waiting loads"),
        Line(f"{_proved(fit)}{'' if fit.in_turn else f' {_OTHER_ORDER}'}"),
        Grid(
            [("Load", "<"), ("Due", "<"), (area_unit(system), ">"), ("Cycle", ">"), ("Runs", "<")],
            [
                [
                    x.name,
                    NONE if x.due is None else x.due.isoformat(),
                    area_text(x.area_mm2, system),
                    clock(x.cycle_s),
                    "yes" if i in chosen else "no, late" if i in fit.late else "no",
                ]
                for i, x in enumerate(loads)
            ],
        ),
    ]


def pocket_parts(plan: PocketPlan, loads: Sequence[ShiftLoad]) -> list[Block]:
    """Return the section on the order with the fewest tool swaps.

    Parameters
    ----------
    plan : PocketPlan
        The order.
    loads : sequence of ShiftLoad
        As given.
    """
    text = "no order has fewer" if plan.optimal else f"no order has fewer than {plan.bound}"
    swaps = f"{plan.swaps} swap{'' if plan.swaps == 1 else 's'}"
    pockets = f"{plan.pockets} pocket{'' if plan.pockets == 1 else 's'}"
    return [
        Heading(f"Pocket plan: {swaps} in {pockets}, {text}"),
        Line(f"In the order given: {plan.as_given}."),
        Grid(
            [("", ">"), ("Load", "<"), ("Put into the rack before it", "<")],
            [
                [
                    n,
                    loads[i].name,
                    ", ".join(put) or NONE if loads[i].drawings else "not known: not drawn",
                ]
                for n, (i, put) in enumerate(zip(plan.order, plan.inserted, strict=True), 1)
            ],
        ),
    ]


def _counted(names: Sequence[str]) -> str:
    """Write names once each, with how often they stand there."""
    times = {name: names.count(name) for name in sorted(names)}
    return ", ".join(name if n == 1 else f"{n} × {name}" for name, n in times.items())


def filling_parts(filling: Filling, system: UnitSystem) -> list[Block]:
    """Return the section on which parts go together by area.

    Parameters
    ----------
    filling : Filling
        The loads.
    system : UnitSystem
        Units of areas.
    """
    length, width = filling.table_mm
    rows = []
    for number, load in enumerate(filling.loads, 1):
        by_job: dict[str, list[str]] = {}
        for p in load.parts:
            by_job.setdefault(p.job, []).append(p.name or p.part_id)
        rows.append(
            [
                number,
                "; ".join(f"{job}: {_counted(ids)}" for job, ids in by_job.items()),
                len(load.parts),
                area_text(sum(p.area_mm2 for p in load.parts), system),
                f"{100.0 * load.filled:.0f}",
            ]
        )
    return [
        Heading("Table filling by area: an upper estimate, no nesting"),
        Line(
            f"Table {format_size(length, width, system)}, {format_length(filling.gap_mm, system)} between parts for the "
            f"widest wheel. The drawn parts need at least {filling.at_least} "
            f"load{'' if filling.at_least == 1 else 's'}; whether they lie so in "
            f"{len(filling.loads)} must be tried."
        ),
        Grid(
            [
                ("", ">"),
                ("Parts", "<"),
                ("Number", ">"),
                (area_unit(system), ">"),
                ("Filled %", ">"),
            ],
            rows,
        ),
    ]
