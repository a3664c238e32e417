"""The choice of loads for a shift, the order of the loads, and what goes on the table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from edgetime.report.columns import AREA, CLOCK, COUNT, PERCENT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.quantities import format_length, format_size
from edgetime.report.text import NONE
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.shift import Filling, Fit, PocketPlan
    from edgetime.shift.filling import TableLoad, TableRow
    from edgetime.shift.fit import FitRow
    from edgetime.shift.pockets import PocketRow


def _runs(row: FitRow, _: UnitSystem) -> str:
    if row.runs is not None:
        return "yes"
    return "no, late" if row.late else "no"


FIT: Final[Sheet[FitRow]] = Sheet(
    (
        Column(key="row", unit=COUNT, get=lambda r: r.number),
        Column(key="load", heading="Load", get=lambda r: r.load.name),
        Column(key="due", heading="Due", get=lambda r: r.load.due and r.load.due.isoformat()),
        Column(key="ready_s", unit=CLOCK, get=lambda r: r.load.ready_s),
        Column(heading="Area", unit=AREA, get=lambda r: r.load.area_mm2),
        Column(key="cycle_s", heading="Cycle", unit=CLOCK, get=lambda r: r.load.cycle_s),
        Column(key="parts", unit=COUNT, get=lambda r: r.load.parts),
        Column(key="area_mm2", unit=AREA, get=lambda r: r.load.area_mm2),
        Column(key="runs", unit=COUNT),
        Column(heading="Runs", get=lambda r: r, show=_runs),
        Column(key="late", unit=COUNT, get=lambda r: int(r.late)),
        Column(key="due_value_m2", unit=COUNT, get=lambda r: r.fit.due_value_m2),
        Column(key="due_bound_m2", unit=COUNT, get=lambda r: r.fit.due_bound_m2),
        Column(key="value_m2", unit=COUNT, get=lambda r: r.fit.value_m2),
        Column(key="bound_m2", unit=COUNT, get=lambda r: r.fit.bound_m2),
        Column(key="optimal", unit=COUNT, get=lambda r: int(r.fit.optimal)),
    )
)
"""The waiting loads. ``runs`` is the place in the order, empty when not chosen; values and
bounds are of the whole choice, alike in every row."""


def _inserted(value: tuple[str, ...] | str, _: UnitSystem) -> str:
    return value if isinstance(value, str) else ", ".join(value) or NONE


POCKETS: Final[Sheet[PocketRow]] = Sheet(
    (
        Column(key="row", heading="#", unit=COUNT, get=lambda r: r.number),
        Column(key="load", heading="Load", get=lambda r: r.name),
        Column(key="listed", unit=COUNT),
        Column(key="inserted", get=lambda r: " ".join(r.inserted or ())),
        Column(
            heading="Put into the rack before it",
            get=lambda r: "not known: not drawn" if r.inserted is None else r.inserted,
            show=_inserted,
        ),
        Column(key="swaps", unit=COUNT, get=lambda r: r.plan.swaps),
        Column(key="as_given", unit=COUNT, get=lambda r: r.plan.as_given),
        Column(key="bound", unit=COUNT, get=lambda r: r.plan.bound),
        Column(key="pockets", unit=COUNT, get=lambda r: r.plan.pockets),
    )
)
"""The loads in their order. ``listed`` is the place as given; the last four are of the whole
order, alike in every row."""

PARTS_ON_TABLE: Final[Sheet[TableRow]] = Sheet(
    (
        Column(key="row", unit=COUNT),
        Column(key="load", unit=COUNT, get=lambda r: r.number),
        Column(key="kind", get=lambda r: r.part.kind),
        Column(key="job", get=lambda r: r.part.job),
        Column(key="part_id", get=lambda r: r.part.part_id),
        Column(key="name", get=lambda r: r.part.name),
        Column(key="area_mm2", unit=AREA, get=lambda r: r.part.area_mm2),
        Column(key="claim_mm2", unit=AREA, get=lambda r: r.part.claim_mm2),
        Column(key="filled", unit=PERCENT, get=lambda r: r.load.filled),
        Column(key="at_least_loads", unit=COUNT, get=lambda r: r.filling.at_least),
        Column(key="gap_mm", unit=COUNT, get=lambda r: r.filling.gap_mm),
    )
)
"""The parts by load. ``load`` numbers the table's loads, ``filled`` is of one; the last two are
alike in every row."""


def _counted(names: Sequence[str]) -> str:
    """Write names once each, with how often they are there."""
    times = {name: names.count(name) for name in sorted(names)}
    return ", ".join(name if n == 1 else f"{n} × {name}" for name, n in times.items())


def _parts(load: TableLoad, _: UnitSystem) -> str:
    by_job: dict[str, list[str]] = {}
    for part in load.parts:
        by_job.setdefault(part.job, []).append(part.name or part.part_id)
    return "; ".join(f"{job}: {_counted(ids)}" for job, ids in by_job.items())


TABLE_LOADS: Final[Sheet[tuple[int, TableLoad]]] = Sheet(
    (
        Column(heading="#", unit=COUNT, get=lambda row: row[0]),
        Column(heading="Parts", get=lambda row: row[1], show=_parts),
        Column(heading="Number", unit=COUNT, get=lambda row: len(row[1].parts)),
        Column(heading="Area", unit=AREA, get=lambda row: row[1].area_mm2),
        Column(heading="Filled %", unit=PERCENT, get=lambda row: row[1].filled),
    )
)
"""What goes together on the table, on the screen."""


def _proved(fit: Fit) -> str:
    """Write what is known of better choices."""
    if fit.optimal:
        return "Proven optimal: no other choice, in any order, is better."
    out = ["Not proven optimal."]
    if fit.due_gap is None:
        out.append(f"Up to {fit.due_bound_m2:.2f} m² of what is due may fit; this choice has none.")
    elif fit.due_gap > 0.0:
        out.append(f"Up to {100.0 * fit.due_gap:.1f} % more area of what is due may fit.")
    if fit.gap > 0.0:
        out.append(
            f"With as much of what is due, up to {100.0 * fit.gap:.1f} % more area weighted by "
            "urgency may fit."
        )
    return " ".join(out)


def fit_blocks(fit: Fit) -> Iterator[Block]:
    """Yield the section on which waiting loads were chosen."""
    other = "They run in the order of the plan: by due date they would not finish in time."
    yield Heading(f"Chosen: {len(fit.chosen)} of {len(fit.waiting)} waiting loads")
    yield Line(_proved(fit) if fit.in_turn else f"{_proved(fit)} {other}")
    yield Table(FIT, fit.rows, name="fit")


def pocket_blocks(plan: PocketPlan) -> Iterator[Block]:
    """Yield the section on the order with the fewest tool swaps."""
    text = "no order has fewer" if plan.optimal else f"no order has fewer than {plan.bound}"
    swaps = f"{plan.swaps} swap{'' if plan.swaps == 1 else 's'}"
    pockets = f"{plan.pockets} pocket{'' if plan.pockets == 1 else 's'}"
    yield Heading(f"Pocket plan: {swaps} in {pockets}, {text}")
    yield Line(f"In the order given: {plan.as_given}.")
    yield Table(POCKETS, plan.rows, name="pocket_plan")


def filling_blocks(filling: Filling, system: UnitSystem) -> Iterator[Block]:
    """Yield the section on which parts go together by area."""
    length, width = filling.table_mm
    yield Heading("Table filling by area: an upper estimate, no nesting")
    yield Line(
        f"Table {format_size(length, width, system)}, {format_length(filling.gap_mm, system)} "
        "between parts for the widest wheel. The drawn parts need at least "
        f"{filling.at_least} load{'' if filling.at_least == 1 else 's'}; whether they fit into "
        f"{len(filling.loads)} must be tried."
    )
    yield Table(TABLE_LOADS, list(enumerate(filling.loads, 1)), name="table_filling")
