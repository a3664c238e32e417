"""Advice: what each change saves, and what all of them save together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from edgetime.report.columns import CLOCK, COUNT, TEXT, Column, Sheet, Unit
from edgetime.report.document import Block, Heading, Line, Table
from edgetime.report.findings import tally
from edgetime.report.quantities import format_edge
from edgetime.report.text import NONE, clock
from edgetime.report.wording import in_units, place_in_units
from edgetime.units import UnitSystem, format_time

if TYPE_CHECKING:
    from edgetime.estimating import Advice, Estimate, Together

_Numbered = tuple[int, "Advice"]

_LENGTH = Unit("_mm", format_edge)
"""Lengths, shown with their unit."""


def _saved_time(seconds: float, _: UnitSystem) -> str:
    if round(seconds) == 0:
        return NONE
    return clock(seconds) if seconds > 0.0 else f"-{clock(-seconds)}"


def _saved_length(length_mm: float, system: UnitSystem) -> str:
    return format_edge(length_mm, system) if round(length_mm, 1) else NONE


def _saving(
    key: str, title: str, unit: Unit, show: Callable[[Any, UnitSystem], str], sums: Together | None
) -> Column[_Numbered]:
    """Return the column of one saving; its total is what all changes save together."""
    return Column(
        key=key,
        heading=title,
        unit=unit,
        get=lambda row: getattr(row[1], key),
        show=show,
        total=None if sums is None else lambda _: getattr(sums, key),
    )


def advice_sheet(sums: Together | None = None) -> Sheet[_Numbered]:
    """Return the columns of advice, numbered from 1."""
    label = "" if sums is None else f"{', '.join(map(str, sums.numbers))} together"
    return Sheet(
        (
            Column(heading="#", unit=COUNT, get=lambda row: row[0]),
            Column(key="kind", heading="Kind", get=lambda row: row[1].kind,
                   total=None if sums is None else lambda _: label),
            Column(key="what", get=lambda row: row[1].what),
            _saving("saving_s", "Machine", CLOCK, _saved_time, sums),
            _saving("saving_attended_s", "Handling", CLOCK, _saved_time, sums),
            _saving("saving_hand_mm", "By hand", _LENGTH, _saved_length, sums),
            Column(key="how", get=lambda row: row[1].how),
            Column(key="where", get=lambda row: str(row[1].where)),
            Column(key="computed", get=lambda row: "yes" if row[1].computed else "no"),
            Column(key="brings", unit=TEXT, get=lambda row: " ".join(row[1].brings)),
        )
    )  # fmt: skip


def _said(number: int, advice: Advice, system: UnitSystem) -> list[Block]:
    where = place_in_units(advice.where, system)
    place = f" ({where})" if where else ""
    parts: list[Block] = [Line(f"{number:>2}  {in_units(advice.what, system)}{place}", hang=4)]
    parts += [
        Line(f"New warning: {in_units(warning, system)}", indent=4) for warning in advice.brings
    ]
    if not advice.computed:
        how = in_units(advice.how, system)
        parts.append(Line(f"{how[0].upper()}{how[1:]}.", indent=4))
    return parts


def _ends(found: Sequence[Advice], sums: Together) -> list[Block]:
    computed = [number for number, a in enumerate(found, 1) if a.computed]
    parts: list[Block] = []
    if computed:
        parts.append(
            Line(
                "\nEach saving is the difference of two estimates, for its change alone; they do "
                "not add up."
            )
        )
    left = [str(number) for number in computed if number not in sums.numbers]
    if left:
        done, rest = ", ".join(map(str, sums.numbers)), ", ".join(left)
        parts.append(
            Line(f"With {done} followed, {rest} would save nothing more, or exclude one of them.")
        )
    return parts


def advice_parts(
    est: Estimate, found: Sequence[Advice], sums: Together, system: UnitSystem
) -> list[Block]:
    """Return the screen of advice."""
    parts: list[Block] = [
        Line(
            f"As drawn: machine cycle {format_time(est.cycle.total_s)}, handling "
            f"{format_time(est.cycle.attended_s)}, by hand "
            f"{format_edge(est.cycle.hand_mm, system)}. Findings: {tally(est.findings)} "
            "(edgetime estimate lists them)."
        )
    ]
    if not found:
        return [*parts, Line("\nNo change found that would save time or hand work.")]
    sheet = advice_sheet(sums if len(sums.numbers) > 1 else None)
    parts += [
        Heading("Savings by change (min:s; negative: takes longer)"),
        Table(sheet, list(enumerate(found, 1))),
        Line(""),
    ]
    for number, advice in enumerate(found, 1):
        parts += _said(number, advice, system)
    return [*parts, *_ends(found, sums)]
