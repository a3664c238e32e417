"""How values are calculated: one table for every ``--explain``, in files and on the screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from edgetime.explained import Explained
from edgetime.report.areas import area_text, area_unit
from edgetime.report.columns import COUNT, Column, Sheet
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.quantities import format_edge, format_speed
from edgetime.report.text import figure
from edgetime.report.wording import in_units
from edgetime.units import UnitSystem, format_time

Show = Callable[[Explained[Any], UnitSystem], str]
"""Writes the value with its unit."""

_M2 = {"mm2": 1.0, "m2": 1e6}


def measured_text(made: Explained[Any], system: UnitSystem) -> str:
    """Write a measured value: lengths and feeds as tables do, terms in seconds."""
    if made.seconds is not None:
        return f"{made.seconds:z.1f} s"
    if made.unit == "mm":
        return format_edge(made.value, system)
    if made.unit == "mm/s":
        return format_speed(made.value, system)
    return f"{figure(made.value)}{'' if made.unit == '-' else f' {made.unit}'}"


def planned_text(made: Explained[Any], system: UnitSystem) -> str:
    """Write a value of a plan: times in hours and minutes, areas as tables do."""
    if made.unit == "s":
        return format_time(made.value)
    if made.unit in _M2:
        return f"{area_text(made.value * _M2[made.unit], system)} {area_unit(system)}"
    if abs(made.value) < 1.0 and not made.unit.startswith("mm"):
        # Beside rounded figures more digits than three say nothing.
        return f"{figure(float(f'{made.value:.3g}'))}{'' if made.unit == '-' else f' {made.unit}'}"
    return measured_text(made, system)


def _how(made: Explained[Any], system: UnitSystem) -> str:
    # Only the note is rewritten: what a file has is quoted as it is there.
    return "; ".join(bit for bit in (in_units(made.note, system), made.source.text) if bit)


def _sum(rows: Sequence[Explained[Any]]) -> Explained[Any]:
    total = sum(row.seconds or 0.0 for row in rows)
    return Explained("Total", total, "s", seconds=total)


def explained_sheet(
    show: Show, heading: str = "Input", *, total: bool = False
) -> Sheet[Explained[Any]]:
    """Declare the table of explained values.

    Parameters
    ----------
    show : callable
        Writes the values on the screen.
    heading : str
        Of the names.
    total : bool
        Whether the values are terms of a total, which is the last row.
    """
    return Sheet(
        (
            Column(key="name", heading=heading, total=(lambda _: "Total") if total else None),
            Column(
                heading="Value",
                unit=COUNT,
                get=lambda made: made,
                show=show,
                total=_sum if total else None,
            ),
            Column(heading="From", get=lambda made: made, show=_how),
            Column(key="value", unit=COUNT),
            Column(key="unit"),
            Column(key="seconds", unit=COUNT),
            Column(key="note"),
            Column(key="file", get=lambda made: made.source.file or None),
            Column(key="key", get=lambda made: made.source.key or None),
            Column(key="written", get=lambda made: made.source.written or None),
        )
    )


EXPLAINED = explained_sheet(measured_text)
"""Values that explain a time and its terms; those with ``seconds`` add up to it."""


def explained_blocks(
    title: str,
    values: Sequence[Explained[Any]],
    show: Show = measured_text,
    *,
    formula: str = "",
    note: str = "",
) -> Iterator[Block]:
    """Return the section on how something came about.

    Parameters
    ----------
    title : str
        What is explained.
    values : sequence of Explained
        Those with ``seconds`` are terms; their table has a total.
    show : callable
        Writes the values.
    formula, note : str
        Of the value that is explained, where it has a formula.
    """
    yield Heading(title)
    if formula:
        yield Line(f"= {formula}", indent=2, hang=4)
    if note:
        yield Line(note, indent=2)
    inputs = [value for value in values if value.seconds is None]
    terms = [value for value in values if value.seconds is not None]
    if inputs:
        yield Table(explained_sheet(show), inputs, name="inputs")
    if terms:
        yield Heading("Time by term")
        yield Table(explained_sheet(show, "Term", total=True), terms, name="terms")
