"""Today's plan of a shift beside what a change gives."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from edgetime.report.columns import AREA, COUNT, HOURS, Column, Sheet
from edgetime.report.document import Heading, Line, Table
from edgetime.report.numbers import Numbers
from edgetime.report.what_if import further_findings
from edgetime.report.wording import in_units

if TYPE_CHECKING:
    from edgetime.comparison import ShiftCase
    from edgetime.report.document import Block
    from edgetime.units import UnitSystem


def cases_sheet(numbers: Numbers, *, priced: bool, simulated: bool) -> Sheet[ShiftCase]:
    """Declare the table of a shift's what-ifs, for all surfaces.

    Parameters
    ----------
    numbers : Numbers
        Write money.
    priced, simulated : bool
        Whether people see costs, and means of simulated shifts.
    """

    def money(key: str, heading: str) -> Column[ShiftCase]:
        return numbers.column(key, heading if priced else "")

    return Sheet(
        (
            Column(key="what_if", get=lambda c: c.what_if),
            Column(heading="Plan", get=lambda c: c.what_if or "today's"),
            Column(key="loads", heading="Loads", unit=COUNT),
            Column(key="mean_loads", heading="Mean" if simulated else "", unit=COUNT,
                   show=lambda value, _: f"{value:.1f}"),
            Column(key="parts", unit=COUNT),
            Column(key="area_mm2", heading="Area", unit=AREA),
            Column(key="makespan_s", heading="Makespan", unit=HOURS),
            Column(key="operator_s", heading="Operator", unit=HOURS),
            Column(key="unattended_s", unit=HOURS),
            money("cost", f"Cost {numbers.currency}"),
            money("cost_per_load", "per load"),
            Column(key="currency"),
            Column(key="refused"),
        )
    )  # fmt: skip


def cases_table(cases: Sequence[ShiftCase]) -> Table[ShiftCase]:
    """Return the table of a shift's what-ifs."""
    currency = next((c.currency for c in cases if c.currency), "")
    sheet = cases_sheet(
        Numbers(cases[0].locale, currency or "EUR"),
        priced=bool(currency),
        simulated=any(c.mean_loads is not None for c in cases),
    )
    return Table(sheet, cases, name="what_if")


def cases_blocks(cases: Sequence[ShiftCase], system: UnitSystem) -> Iterator[Block]:
    """Yield the section on a shift's what-ifs: side by side, then what each finds or lacks."""
    yield Heading("What if")
    made = [c for c in cases if c.plan is not None]
    yield cases_table(made)
    if any(c.cost is not None for c in made):
        yield Line("Cost of the loads that run, before overhead and margin.", indent=2)
    base = made[0].plan
    known = () if base is None else base.findings
    for case in cases:
        if case.refused is not None:
            yield Line(f"{case.what_if}: cannot be planned. {in_units(case.refused, system)}",
                       indent=2)  # fmt: skip
        elif case.plan is not None:
            yield from further_findings(
                f"{case.what_if}:", case.plan.findings, known, lambda text: in_units(text, system)
            )
