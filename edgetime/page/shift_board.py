"""The shift board: the day's loads by the clock, for the wall of the shop."""

from __future__ import annotations

import base64
import hashlib
import math
from collections.abc import Iterator, Mapping
from datetime import date
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from edgetime.choices import Paper
from edgetime.labour import KINDS
from edgetime.page.board_chart import chart_high, chart_svg
from edgetime.page.html import blocks_html
from edgetime.picture.plan import attribute, clean
from edgetime.report.columns import COUNT, Column, Sheet, Unit
from edgetime.report.cycle import CAUTION
from edgetime.report.document import Table
from edgetime.report.findings import cannot_run_parts
from edgetime.report.text import time_of_day
from edgetime.units import UnitSystem

if TYPE_CHECKING:
    from edgetime.shift import ShiftPlan
    from edgetime.shift.timetable import Errand, TimetableRow


_SHEET_MM: Final = {
    Paper.A4: (297.0, 210.0),
    Paper.A3: (420.0, 297.0),
    Paper.LETTER: (279.4, 215.9),
}
_MARGIN_MM: Final = 9.0
_PT_MM: Final = 25.4 / 72.0

_FIXED_REM: Final = 1.9 + 3.1 + 4 * 3.5 + 2 * 3.9
"""Columns of the table that have a width of their own in board.css, in heights of the type."""

_NAME: Final = 0.26
"""Share of the width for the name of a load, as in board.css [-]."""

_GLYPH: Final = 0.53
"""Width of a letter by the height of its type, on the safe side [-]."""

_BLANK: Final = Unit("", lambda value, _: str(value), right=False)


def _errand(errand: Errand, starts_s: float) -> str:
    at = time_of_day(starts_s + errand.start_s)
    until = time_of_day(starts_s + errand.stop_s)
    on = f": {', '.join(errand.on)}" if errand.on else ""
    return f"{at}–{until} {KINDS[errand.kind].do}{on}"


def _errands(row: TimetableRow, starts_s: float) -> str:
    return "\n".join(_errand(e, starts_s) for e in row.errands)


def board_sheet(starts_s: float) -> Sheet[TimetableRow]:
    """Declare the table of the board.

    Parameters
    ----------
    starts_s : float
        Time of the day the shift begins [s].
    """
    at = Unit("_s", lambda value, _: time_of_day(starts_s + value), right=False)

    def clear(row: TimetableRow) -> str:
        run = row.run
        return "next shift" if run.runs_on else time_of_day(starts_s + run.done_s)

    return Sheet(
        (
            Column(key="number", heading="#", unit=COUNT),
            Column(heading="Load", get=lambda r: f"{r.run.name} ({_parts(r.run.parts)})"),
            Column(heading="Zone", get=lambda r: " + ".join(map(str, r.run.on_zones))),
            Column(heading="Load at", unit=at, get=lambda r: r.run.loading_at_s),
            Column(heading="Start", unit=at, get=lambda r: r.run.starts_s),
            Column(heading="Operator at the machine", get=lambda r: _errands(r, starts_s)),
            Column(heading="End", unit=at, get=lambda r: r.run.ends_s),
            Column(heading="Clear", get=clear),
            Column(heading="Actual start", unit=_BLANK, get=lambda _: None),
            Column(heading="Actual end", unit=_BLANK, get=lambda _: None),
        )
    )  # fmt: skip


def _parts(number: int) -> str:
    return f"{number} part{'' if number == 1 else 's'}"


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _asset(name: str) -> str:
    return files("edgetime.page").joinpath(name).read_text(encoding="utf-8")


def _lines(text: str, rem: float) -> int:
    """Return on how many lines a text comes in a column."""
    letters = max(1.0, rem / _GLYPH)
    return sum(max(1, math.ceil(len(line) / letters)) for line in text.split("\n"))


def type_pt(plan: ShiftPlan, paper: Paper) -> float:
    """Return the largest type with which a board fits one sheet, not below 6.5 [pt].

    Browsers and WeasyPrint break lines each in their own way, so the lines are estimated, and
    on the safe side: a board must not run over to a second sheet for one line.
    """
    wide, high = ((side - 2.0 * _MARGIN_MM) / _PT_MM for side in _SHEET_MM[paper])
    chart = chart_high(plan) * wide
    head = 40 + sum(map(len, _facts(plan, None)))
    size = 26.0
    while size > 6.5:
        page = wide / size
        name = _NAME * page - 0.6
        do = page - _FIXED_REM - _NAME * page - 0.6
        if do >= (14.0 if any(r.errands for r in plan.timetable) else 8.0):
            rows = sum(
                1.25 * max(_lines(r.run.name + " (99 parts)", name),
                           _lines(_errands(r, plan.starts_s), do)) + 0.3
                for r in plan.timetable
            )  # fmt: skip
            below = sum(_lines(note, page) for note in _notes(plan))
            above = 1.8 + 1.3 * math.ceil(head * _GLYPH / page) + 2.9
            if (above + 1.4 * below + rows) * size + chart <= high:
                break
        size -= 0.25
    return size


def _notes(plan: ShiftPlan) -> list[str]:
    """Return what stands below the table: the operator's times, what is left, the caution."""
    starts = plan.starts_s

    def clock(seconds: float) -> str:
        return time_of_day(starts + seconds)

    needed = ", ".join(f"{clock(s.start_s)}–{clock(s.stop_s)}" for s in plan.operator_needed)
    f = plan.shift.figures
    free = f.longest_unattended_at_s
    out = [f"Operator needed: {needed}."]
    if f.longest_unattended_s > 0.0:
        out[0] += f" Longest time without: {clock(free)}–{clock(free + f.longest_unattended_s)}."
    attend = dict(f.attended).get("attend", 0.0)
    if attend > 0.0:
        out[0] += f" Besides, {attend / 60.0:.0f} min of attending cycles, at any time."
    if plan.shift.left:
        out.append(f"Not in this shift: {', '.join(dict.fromkeys(plan.shift.left))}.")
    return [*out, CAUTION]


def _facts(plan: ShiftPlan, day: date | None) -> list[str]:
    starts, f = plan.starts_s, plan.shift.figures
    facts = [
        f"{day:%A} {day.isoformat()}" if day is not None else "Date",
        plan.machine.title,
        f"{time_of_day(starts)}–{time_of_day(starts + f.hours_s)}",
        f"{len(plan.shift.runs)} load{'' if len(plan.shift.runs) == 1 else 's'}, {_parts(f.parts)}",
    ]
    breaks = [
        f"{time_of_day(starts + b.after_s)}–{time_of_day(starts + b.after_s + b.length_s)}"
        for b in plan.breaks
    ]
    if breaks:
        facts.append(f"Break{'' if len(breaks) == 1 else 's'} {', '.join(breaks)}")
    return facts


def _head(plan: ShiftPlan, day: date | None, system: UnitSystem) -> Iterator[str]:
    facts = [clean(fact) for fact in _facts(plan, day)]
    if day is None:
        facts[0] += ' <span class="hand">&#160;</span>'
    yield f"<header><h1>Shift board</h1><p>{'</p><p>'.join(facts)}</p></header>"
    yield from blocks_html(
        cannot_run_parts(plan.findings, system, what="A load of the shift"), system
    )


def _marks(row: TimetableRow) -> Mapping[str, str]:
    return {"from-s": f"{row.run.loading_at_s:.0f}", "to-s": f"{row.run.ends_s:.0f}"}


def shift_board(
    plan: ShiftPlan,
    *,
    day: date | None = None,
    paper: Paper = Paper.A4,
    system: UnitSystem = UnitSystem.METRIC,
) -> str:
    """Return the board of a planned shift.

    Parameters
    ----------
    plan : ShiftPlan
        The shift.
    day : date, optional
        Of the shift; a line to write it on when None.
    paper : Paper
        What it is printed on, on its side.
    system : UnitSystem
        Units of what people read.

    Returns
    -------
    str
        HTML in one file: on a screen the type grows until the board fills it, and the time is
        marked; on paper it fills one sheet. A content security policy admits its own style and
        script only.
    """
    style = (
        f"{_asset('board.css')}@page {{ size: {paper} landscape; margin: {_MARGIN_MM:g}mm; }}\n"
        f"@media print {{ html {{ font-size: {type_pt(plan, paper):g}pt; }} }}\n"
    )
    script = _asset("board.js")
    policy = (
        f"default-src 'none'; style-src '{_digest(style)}'; script-src '{_digest(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content={attribute(policy)}>',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>Shift board</title>\n<style>{style}</style>\n</head>\n<body>",
            *_head(plan, day, system),
            "<main>",
            chart_svg(plan, day),
            *blocks_html(
                [Table(board_sheet(plan.starts_s), plan.timetable)],
                system,
                marks=_marks,
                caption="Loads of the shift",
            ),
            *(f"<p>{clean(note)}</p>" for note in _notes(plan)),
            "</main>",
            f"<script>{script}</script>\n</body>\n</html>\n",
        ]
    )
